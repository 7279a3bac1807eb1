"""Fitted envelopes against circles and lines known beforehand, and against what an envelope is."""

from __future__ import annotations

import numpy as np
import pytest
import wild_strokes

from guidegen.geometry import cubic as cb
from guidegen.geometry.path import Path, polyline
from guidegen.geometry.stroke.centreline import centrelines, law_cuts, stretches
from guidegen.geometry.stroke.envelope import fit_sides
from guidegen.geometry.stroke.radius_spans import radius_laws
from guidegen.geometry.stroke.stroke import Stroke, Widths

TOLERANCE = 0.002


def sides(stroke, tolerance=TOLERANCE):
    lines = centrelines([stroke.path])
    laws = radius_laws([stroke.widths], lines.length)
    pieces = stretches(lines, laws, law_cuts(lines, laws))
    return pieces, fit_sides(pieces, tolerance)


def walk(curves):
    return cb.point(curves, np.broadcast_to(np.linspace(0, 1, 33), (len(curves), 33)))


def chains(found, side):
    """The curves of all right (0) or left (1) sides, which run backwards, and of which stretch each is."""
    n = len(found.chains.count) // 2
    number = np.repeat(np.arange(2 * n), found.chains.count)
    mine = number // n == side
    return found.chains.curves[mine], found.chains.backwards[mine], number[mine] % n


def quarter(radius):
    (arc,) = cb.arc(0j, radius, 0.0, np.pi / 2, 1e-3 * radius)
    return Path((tuple(arc.tolist()),))


@pytest.mark.parametrize("width", [0.2, 1.0, 3.0])
def test_one_width_on_a_circle_is_two_circles(width):
    path = quarter(2.0)
    rim = np.abs(np.abs(walk(cb.as_cubics(path.segments))) - 2).max()  # a cubic is no circle
    _, found = sides(Stroke(path, Widths(((0.0, width),))))
    for side, radius in ((0, 2 + width / 2), (1, 2 - width / 2)):
        curves, backwards, _ = chains(found, side)
        assert np.abs(np.abs(walk(curves)) - radius).max() < TOLERANCE + 2 * rim
        assert not backwards.any()


def test_inside_a_bend_tighter_than_the_radius_the_envelope_runs_backwards():
    _, found = sides(Stroke(quarter(1.0), Widths(((0.0, 5.0),))))
    assert not chains(found, 0)[1].any()
    curves, backwards, _ = chains(found, 1)
    assert backwards.all()
    assert np.abs(np.abs(walk(curves)) - 1.5).max() < 2 * TOLERANCE
    start = np.angle(curves[0, 0])
    assert abs(start) == pytest.approx(np.pi, abs=1e-3)  # beyond the centre from where the quarter starts


def test_a_straight_taper_is_two_lines_that_touch_its_discs():
    # radii .5 to 1.5 over 8: the tangent lines lean by asin(1/8), touching points lie back by r/8
    _, found = sides(Stroke(polyline([0, 8]), Widths(((0.0, 1.0), (8.0, 3.0)))))
    lean = np.sqrt(1 - 1 / 64)
    for side, sign in ((0, -1), (1, 1)):
        curves, _, _ = chains(found, side)
        assert len(curves) == 1
        ends = [s - r / 8 + sign * 1j * r * lean for s, r in ((0, 0.5), (8, 1.5))]
        assert curves[0, [0, 3]] == pytest.approx(np.array(ends), abs=1e-12)


@pytest.mark.parametrize("seed", range(10))
def test_every_place_touches_a_disc_at_its_own_stretch(seed):
    """On the envelope, the distance from the discs along the stretch, less their radius, has a 0 where it is flat."""
    (stroke,) = wild_strokes.strokes("letters", 500 + seed)
    pieces, found = sides(stroke)
    t = np.linspace(0, 1, 1500)
    for side in (0, 1):
        curves, _, of = chains(found, side)
        for k in range(len(pieces.curves)):
            if not (of == k).any():
                assert pieces.steep[k]
                continue
            row = np.array([k])
            s = pieces.s(row, t[None])
            centre, r = cb.point(pieces.curves[row], t[None])[0], pieces.radius(row, s)[0][0]
            points = walk(curves[of == k])[:, 1:-1].ravel()
            gap = np.abs(points[:, None] - centre) - r
            rise = np.diff(gap, axis=1)
            flat = np.zeros(gap.shape, dtype=bool)
            flat[:, 1:-1] = rise[:, 1:] * rise[:, :-1] <= 0
            flat[:, [0, -1]] = True  # the ends' own discs
            assert np.where(flat, np.abs(gap), np.inf).min(axis=1).max() < 1.5 * TOLERANCE


def test_tangents_and_leans_at_the_ends_are_those_of_the_centreline():
    pieces, found = sides(Stroke(quarter(2.0), Widths(((0.0, 1.0), (2.0, 0.5)))))
    assert found.tangent[0, 0] == pytest.approx(1j, abs=1e-9)
    assert found.radius[0, 0] == pytest.approx(0.5)
    assert found.lean[0, 0] == pytest.approx(np.arccos(0.125))  # cos a = -r', r falls by .25 in 2
    assert found.centre[0, 0] == pieces.curves[0, 0]
