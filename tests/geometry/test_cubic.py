"""Cubics in bulk, against closed forms and against svgpathtools."""

from __future__ import annotations

import math

import nasty
import numpy as np
import pytest
import svgpathtools

from guidegen.geometry import cubic as cb
from guidegen.geometry.stroke.slow_points import slow_points_of

CUBICS = [s for items in nasty.shapes().values() for _, path in items for s in path.segments if len(s) == 4]


def test_arc_lengths_agree_with_svgpathtools():
    smooth = [s for s in CUBICS if min(abs(s[0] - s[1]), abs(s[1] - s[2]), abs(s[2] - s[3])) > 0.1][:40]
    c = cb.as_cubics(smooth)
    ours = cb.lengths(c, np.zeros(len(c)), np.ones(len(c)))
    table = cb.length_table(c, cb.MARKS)[:, -1]
    for k, s in enumerate(smooth):
        # an integral over halves, so that their quadrature meets no cusp inside
        theirs = sum(svgpathtools.CubicBezier(*s).length(a, b, error=1e-10) for a, b in ((0, 0.5), (0.5, 1)))
        assert ours[k] == pytest.approx(theirs, rel=1e-6)
        if not slow_points_of(cb.as_cubics([s]))[0]:
            assert table[k] == pytest.approx(ours[k], rel=1e-9)


def test_length_and_parameter_are_inverse():
    c = cb.as_cubics([s for s in CUBICS if not slow_points_of(cb.as_cubics([s]))[0] and len(set(s)) == 4])
    whole = cb.length_table(c, cb.MARKS)[:, -1]
    for share in (0.0, 0.1, 0.5, 0.99, 1.0):
        t = cb.parameter_at(c, share * whole)
        assert cb.lengths(c, np.zeros(len(c)), t) == pytest.approx(share * whole, abs=1e-8)


@pytest.mark.parametrize("tolerance", [1e-2, 1e-4, 1e-6])
@pytest.mark.parametrize("sweep", [2 * math.pi, math.pi / 2, -3.0, 0.01])
def test_arcs_are_within_tolerance_and_waste_nothing(sweep, tolerance):
    # a second arc beside it, one of no size, and one of no length
    both, count = cb.arcs(
        np.array([1 + 2j, 5, 1 + 2j, 1 + 2j]),
        np.array([3.0, 1.0, 0.0, 3.0]),
        np.full(4, 0.4),
        np.array([sweep, 1.0, sweep, 0.0]),
        tolerance,
    )
    assert count[1:].tolist() == [len(both) - count[0], 0, 0]
    arcs = both[: count[0]]
    assert np.abs(arcs[1:, 0] - arcs[:-1, 3]).max(initial=0) < 1e-12
    ends = 1 + 2j + 3 * np.exp(1j * np.array([0.4, 0.4 + sweep]))
    assert np.abs([arcs[0, 0], arcs[-1, 3]] - ends).max() < 1e-12
    r = np.abs(cb.point(arcs, np.tile(np.linspace(0, 1, 101), (len(arcs), 1))) - (1 + 2j))
    assert np.abs(r - 3).max() <= tolerance
    # the error of one cubic falls with the sixth power of its angle, 1.9608e-4 of the radius for a quarter
    least = abs(sweep) / (math.pi / 2) / (tolerance / (1.9608e-4 * 3)) ** (1 / 6)
    assert len(arcs) <= max(1, math.ceil(least * 1.01), math.ceil(abs(sweep) / (math.pi / 2)))


def test_quarter_circle_has_the_known_best_error():
    quarter = cb.arc(0, 1.0, 0, math.pi / 2, 1e-3)
    assert len(quarter) == 1
    r = np.abs(cb.point(quarter, np.linspace(0, 1, 2001)[None, :]))
    assert np.abs(r - 1).max() == pytest.approx(1.9608e-4, rel=0.02)


def test_splitting_gives_the_same_curve():
    s = (0j, 1 + 3j, 3 + 3j, 4 + 0j)
    a, b = cb.split(s, 0.3)
    t = np.linspace(0, 1, 11)
    whole = cb.point(cb.as_cubics([s]), t[None, :] * 0.3)
    assert np.abs(cb.point(cb.as_cubics([a]), t[None, :]) - whole).max() < 1e-12
    assert (a[0], a[3], b[3]) == (s[0], b[0], s[3])
    assert cb.split((0j, 2 + 0j), 0.25) == ((0j, 0.5 + 0j), (0.5 + 0j, 2 + 0j))


def test_tangents_at_repeated_control_points_are_the_direction_of_travel():
    c = cb.as_cubics([(0j, 0j, 2 + 2j, 4 + 0j), (0j, 0j, 0j, 1j), (0j, 1 + 0j, 2j, 2j)])
    start = cb.tangent(c, np.zeros(3))
    end = cb.tangent(c, np.ones(3))
    assert start == pytest.approx([(1 + 1j) / math.sqrt(2), 1j, 1])
    assert end[1] == pytest.approx(1j)
    assert end[2] == pytest.approx((-1 + 2j) / abs(-1 + 2j))
