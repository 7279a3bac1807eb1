"""Centrelines, stretches, radii and end cuts of many strokes at once: against adaptive quadrature and closed forms."""

from __future__ import annotations

import math

import dense
import nasty
import numpy as np
import pytest

from guidegen.geometry import cubic as cb
from guidegen.geometry.measure import path_length
from guidegen.geometry.path import polyline
from guidegen.geometry.stroke.centreline import centrelines, law_cuts, stretches
from guidegen.geometry.stroke.end_cuts import end_cuts
from guidegen.geometry.stroke.radius_spans import radius_laws
from guidegen.geometry.stroke.stroke import Widths

PATHS = [path for items in nasty.shapes().values() for _, path in items][::4]
PROFILES = [list(nasty.profiles(path_length(path)).values())[k % 8] for k, path in enumerate(PATHS)]


def cut_up(paths, widths):
    lines = centrelines(paths)
    laws = radius_laws(widths, lines.length)
    return lines, stretches(lines, laws, law_cuts(lines, laws))


def test_lengths_agree_with_adaptive_quadrature():
    lines, _ = cut_up(PATHS, PROFILES)
    assert lines.length == pytest.approx([path_length(path) for path in PATHS], rel=1e-7)


def test_stretches_follow_each_other_along_their_paths():
    lines, pieces = cut_up(PATHS, PROFILES)
    for k, path in enumerate(PATHS):
        mine = slice(pieces.first[k], pieces.first[k + 1])
        if lines.length[k] == 0:
            assert pieces.first[k] == pieces.first[k + 1]
            continue
        curves = pieces.curves[mine]
        assert (curves[0, 0], curves[-1, 3]) == (path.start, path.end)
        assert np.array_equal(pieces.s1[mine][:-1], pieces.s0[mine][1:])
        assert pieces.s0[mine][0] == 0
        assert pieces.s1[mine][-1] == lines.length[k]
        assert np.abs(curves[1:, 0] - curves[:-1, 3]).max(initial=0) <= 1e-12 * lines.length[k]


def test_arc_lengths_on_stretches_agree_with_adaptive_quadrature():
    lines, pieces = cut_up(PATHS, PROFILES)
    every = np.arange(len(pieces.curves))
    for t in (0.0, 0.3, 1.0):
        there = np.full(len(every), t)
        expected = pieces.s0 + cb.lengths(pieces.curves, np.zeros(len(every)), there)
        assert pieces.s(every, there[:, None])[:, 0] == pytest.approx(expected, abs=1e-7 * lines.length.max())


def test_radii_are_half_the_stated_widths_and_slopes_their_changes():
    _, pieces = cut_up(PATHS, PROFILES)
    for k, widths in enumerate(PROFILES):
        rows = np.arange(pieces.first[k], pieces.first[k + 1])
        for share in (0.1, 0.5, 0.9):
            s = (pieces.s0 + share * (pieces.s1 - pieces.s0))[rows]
            r, slope, _ = pieces.radius(rows, s[:, None])
            assert r[:, 0] == pytest.approx(dense.width_of(widths, s) / 2, abs=1e-12)
            step = 1e-6 * (pieces.s1 - pieces.s0)[rows]
            change = dense.width_of(widths, s + step) - dense.width_of(widths, s - step)
            assert slope[:, 0] == pytest.approx(change / 4 / step, abs=1e-5)


def test_a_stretch_is_steep_all_along_or_nowhere():
    _, pieces = cut_up(PATHS, PROFILES)
    every = np.arange(len(pieces.curves))
    inside = pieces.s0[:, None] + (pieces.s1 - pieces.s0)[:, None] * np.linspace(1e-4, 1 - 1e-4, 33)
    slope = np.abs(pieces.radius(every, inside)[1])
    assert pieces.steep.any()
    assert (slope[pieces.steep] >= 1 - 1e-9).all()
    assert (slope[~pieces.steep] <= 1).all()
    eased = pieces.laws.eased[pieces.law]
    at_start = np.abs(pieces.radius(every, pieces.s0[:, None])[1][:, 0])
    assert np.array_equal(pieces.steep_start[eased], np.abs(at_start[eased] - 1) < 1e-6)


@pytest.mark.parametrize("angle_deg", [0.0, 30.0, 75.0, 150.0])
def test_a_cut_acts_up_to_the_disc_that_touches_its_line(angle_deg):
    # discs of radius r up a vertical line: the one at height s is s cos(angle) away from the line through the start
    r = 0.7
    _, pieces = cut_up([polyline([0, 10j]), polyline([5 + 10j, 5, 9])], [Widths(((0.0, 2 * r),))] * 2)
    ends = end_cuts(pieces, np.array([0, 0, 1]), np.array([False, True, False]), np.full(3, angle_deg))
    reach = r / abs(math.cos(math.radians(angle_deg)))
    assert ends.s == pytest.approx([reach, 10 - reach, reach], abs=1e-5)
    assert ends.point.tolist() == [0, 10j, 5 + 10j]
    for inside, point, direction in zip([1j, 9j, 5 + 9j], ends.point, ends.direction, strict=True):
        assert ((inside - point) * np.conj(direction)).imag > 0  # what is kept is on the left
