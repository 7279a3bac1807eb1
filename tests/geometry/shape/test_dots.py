"""Dots along paths, measured with dense sampling."""

from __future__ import annotations

import math

import dense
import nasty
import numpy as np
import pytest

from guidegen.geometry.blade.resample import resample
from guidegen.geometry.measure import path_length
from guidegen.geometry.path import Path, polyline
from guidegen.geometry.shape.dots import CORNER_DEG, dot_rows


def dots_along(path, spacing, corner_deg=CORNER_DEG):
    return dot_rows([path], spacing, corner_deg=corner_deg)[0]


def arc_lengths_between(path, dots):
    """Return the arc lengths at which dots lie, found on a dense walk that knows nothing of the dots' code."""
    points, lengths = [], []
    run = 0.0
    for segment in path.segments:
        p = dense.controls(segment)
        t = np.linspace(0, 1, 20001)
        points.append(dense.bezier(p, t))
        along = dense.arc_lengths(p, t)
        lengths.append(run + along)
        run += along[-1]
    points, lengths = np.concatenate(points), np.concatenate(lengths)
    places = []
    for dot in dots:
        away = np.abs(points - dot)
        ahead = np.flatnonzero((away < away.min() + 1e-3) & (lengths >= (places[-1] if places else 0) - 1e-6))
        places.append(lengths[ahead[np.argmin(away[ahead])]])
    return np.array(places)


CURVES = {
    "arch": nasty.one(0, 1 + 3j, 3 + 3j, 4),
    "serpentine": nasty.one(0, 8j, 4 - 8j, 4),
    "chain": nasty.chain((0, 3), (3, 5, 5 + 2j, 4 + 3j)),
}


@pytest.mark.parametrize("name", CURVES)
@pytest.mark.parametrize("spacing", [0.1, 0.33, 1.0])
def test_dots_lie_at_equal_arc_lengths_ends_included(name, spacing):
    path = CURVES[name]
    dots = dots_along(path, spacing)
    assert dots[0] == path.start
    assert abs(dots[-1] - path.end) < 1e-12
    steps = np.diff(arc_lengths_between(path, dots))
    assert np.ptp(steps) < 2e-3
    assert steps.mean() == pytest.approx(path_length(path) / round(path_length(path) / spacing), rel=1e-6)


def test_every_corner_and_cusp_has_a_dot():
    for path in (polyline([0, 3.1, 3.1 + 2.3j, 5]), Path(((0, 4 + 4j, 4j, 4),))):
        corners = [s[0] for s in path.segments] if len(path.segments) > 1 else [2 + 3j]
        dots = np.array(dots_along(path, 0.4))
        for corner in corners:
            assert np.abs(dots - corner).min() < 1e-9
    angle = polyline([0, 3.1, 3.1 + 2.3j])
    even = np.diff(arc_lengths_between(angle, dots_along(angle, 0.5, corner_deg=math.inf)))
    assert np.ptp(even) < 1e-3


def test_closed_paths_and_points():
    dots = dots_along(nasty.circle(3), 0.5)
    assert len(dots) == round(6 * math.pi / 0.5)
    gaps = np.abs(np.diff([*dots, dots[0]]))
    assert np.ptp(gaps) < 1e-3
    assert dots_along(polyline([1 + 1j, 1 + 1j]), 0.5) == [1 + 1j]
    with pytest.raises(ValueError, match="spacing"):
        dots_along(nasty.circle(3), 0)


def distance(p, chain):
    """Distance from a point to the two chords at the nearest vertex of a fine polyline."""
    k = int(np.clip(np.abs(chain - p).argmin() - 1, 0, len(chain) - 3))
    a, d = chain[k : k + 2], np.diff(chain[k : k + 3])
    share = np.clip(((p - a) * np.conj(d)).real / np.maximum(np.abs(d) ** 2, 1e-300), 0, 1)
    return np.abs(a + share * d - p).min()


@pytest.mark.parametrize("tolerance", [0.05, 0.01, 0.001])
def test_resampling_keeps_tolerance_ends_and_corners(tolerance):
    wave = nasty.smooth([complex(x, math.sin(2 * x)) for x in np.arange(0, 6, 0.25)])
    path = Path((*wave.segments, (wave.end, wave.end + 2j)))
    new = resample(path, tolerance)
    assert (new.start, new.end) == (path.start, path.end)
    assert len(new.segments) < len(path.segments) or tolerance < 0.01  # the wave itself has 24 pieces
    fine = np.linspace(0, 1, 2001)
    ours = np.concatenate([dense.bezier(dense.controls(s), fine) for s in new.segments])
    theirs = np.concatenate([dense.bezier(dense.controls(s), fine[::20]) for s in path.segments])
    assert max(distance(z, ours) for z in theirs) <= tolerance
    assert min(abs(s[0] - wave.end) for s in new.segments) < 1e-12
