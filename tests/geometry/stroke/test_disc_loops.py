"""Raw loops wind round a point as often as there are stretches of the stroke whose discs cover it.

The count comes from discs sampled densely along the stroke, by numpy alone.
"""

from __future__ import annotations

import itertools

import ink_check
import numpy as np
import pytest
import wild_strokes

from guidegen.geometry.measure import flatten_curves, winding
from guidegen.geometry.path import Path, polyline
from guidegen.geometry.stroke.expand import raw_drawing
from guidegen.geometry.stroke.stroke import Stroke, Widths

TOLERANCE = 0.005


def winds(stroke, points):
    made = raw_drawing([stroke], TOLERANCE)
    z, owner, _ = flatten_curves(made.curves, made.straight, TOLERANCE / 10)
    k = np.flatnonzero(owner[1:] == owner[:-1])
    return winding(points, z[k], z[k + 1])


def discs(stroke):
    some = ink_check.discs_of(stroke, TOLERANCE / 20)
    t = np.linspace(0, 1, 9)[:-1]
    return (some.a[:, None] + some.d[:, None] * t).ravel(), (some.r[:, None] + some.dr[:, None] * t).ravel()


def stretches_over(centre, radius, points):
    """How many stretches cover each point, and which points are too near to an end of one to tell."""
    away = np.abs(points[:, None] - centre) - radius
    counts = []
    for slack in (2 * TOLERANCE, 0, -2 * TOLERANCE):
        covered = away < slack
        counts.append((covered[:, 1:] & ~covered[:, :-1]).sum(axis=1) + covered[:, 0])
    return counts[1], (counts[0] != counts[1]) | (counts[2] != counts[1])


def agree(stroke, *, closed=False):
    centre, radius = discs(stroke)
    rng = np.random.default_rng(0)
    points = rng.choice(centre, 300) + 1.3 * radius.max() * (rng.normal(size=300) + 1j * rng.normal(size=300)) / 2
    count, unsure = stretches_over(centre, radius, points)
    if closed:  # a stretch over the seam is one, and the seam's disc counts once more: two, as if cut there
        unsure |= np.abs(np.abs(points - centre[0]) - radius[0]) < 2 * TOLERANCE
    assert (~unsure).sum() > 150
    assert winds(stroke, points)[~unsure].tolist() == count[~unsure].tolist()
    return count[~unsure]


def gentle(stroke, share):
    """The same centreline under widths that change by less than one disc swallows the next."""
    length = sum(abs(b - a) for s in stroke.path.segments for a, b in itertools.pairwise(s))
    rng = np.random.default_rng(len(stroke.path.segments))
    knots = tuple((share * length * k / 4, float(rng.uniform(0.2, 1.6))) for k in range(5))
    return Stroke(stroke.path, Widths(knots))


@pytest.mark.parametrize("seed", range(12))
def test_curves_that_cross_themselves(seed):
    (stroke,) = wild_strokes.strokes("cubics", 300 + seed)
    agree(gentle(stroke, 0.8))


def test_a_stroke_over_itself_counts_twice():
    loop = polyline([0, 10, 10 + 5j, 4 + 5j, 4 - 5j])
    assert agree(Stroke(loop, Widths(((0.0, 1.0),)))).max() == 2


@pytest.mark.parametrize("seed", range(6))
def test_closed_strokes_count_a_stretch_over_the_seam_as_two(seed):
    (stroke,) = wild_strokes.strokes("closed", 40 + seed)
    path = Path(stroke.path.segments, closed=True)
    agree(Stroke(path, Widths(((0.0, 1.2),))), closed=True)


def test_discs_larger_than_a_closed_path_cover_its_middle_once():
    ring = polyline([0, 1, 1 + 1j, 1j, 0], closed=True)
    assert winds(Stroke(ring, Widths(((0.0, 4.0),))), np.array([0.5 + 0.5j, 9])).tolist() == [1, 0]


@pytest.mark.parametrize("seed", range(8))
def test_where_discs_swallow_each_other_all_ink_is_still_wound_round(seed):
    (stroke,) = wild_strokes.strokes("short_long", 70 + seed)
    centre, radius = discs(stroke)
    rng = np.random.default_rng(seed)
    points = rng.choice(centre, 200) + (rng.normal(size=200) + 1j * rng.normal(size=200))
    away = (np.abs(points[:, None] - centre) - radius).min(axis=1)
    wind = winds(stroke, points)
    assert (wind[away < -2 * TOLERANCE] > 0).all()
    assert (wind[away > 2 * TOLERANCE] == 0).all()
