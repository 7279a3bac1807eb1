"""Runs of a boundary: which curve, from where to where; detours and small loops are mended."""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from guidegen.geometry import cubic as cb
from guidegen.geometry.union import boundary_runs, faces
from guidegen.geometry.union.board import Drawing, Part, board, chords_of, grid_for
from guidegen.geometry.union.faces import Rings
from guidegen.geometry.union.provenance import sources

CHORD = 0.0015


def drawing(*loops):
    """Closed chains of segments (lines and cubics), each a part of its own."""
    segments = [s for loop in loops for s in loop]
    straight = np.array([len(s) == 2 for s in segments])
    first = np.cumsum([0, *(len(loop) for loop in loops)])
    parts = tuple(Part(np.arange(a, b)) for a, b in itertools.pairwise(first))
    return Drawing(cb.as_cubics(segments), straight, ~(straight | ~straight), straight | ~straight, parts)


def lines(*points):
    return list(zip(points, (*points[1:], points[0]), strict=True))


def runs_in(made):
    many = board([made], grid_for(made.curves, CHORD))
    chords = chords_of(many, CHORD)
    rings = faces.rings_of(many, chords, CHORD / 0.15, exact=True)
    owner, lost = sources(rings, chords, many)
    assert not lost.any()
    return boundary_runs.runs_of(rings, owner, chords), rings, many


def mended(runs, rings, many):
    return boundary_runs.mended(runs, rings, many.curves, many.shift[many.drawing], CHORD)


def test_a_run_is_as_much_of_a_curve_as_bounds_the_ink():
    circle = list(map(tuple, cb.arc(0j, 2.0, 0.3, 2 * np.pi, 1e-4).tolist()))
    circle[-1] = (*circle[-1][:3], circle[0][0])
    made = drawing(circle, lines(0, 5, 5 + 1j, 1j))
    runs, _, _ = runs_in(made)
    # the bar hides a piece of the circle from y = 0 to y = 1; of its four sides three show, two in part
    curves = set(runs.curve.tolist())
    assert curves == set(range(len(circle))) | {len(circle) + k for k in (0, 1, 2)}
    for k in range(len(runs.curve)):
        at = cb.point(made.curves[[runs.curve[k]] * 2], np.array([runs.a[k], runs.b[k]]))
        assert np.abs(at - [runs.start[k], runs.end[k]]).max() < 2 * CHORD
    shown = {c: (a, b) for c, a, b in zip(runs.curve.tolist(), runs.a.tolist(), runs.b.tolist(), strict=True)}
    assert shown[len(circle)] == pytest.approx((2 / 5, 1), abs=1e-3)  # y = 0 leaves the circle at x = 2
    assert shown[len(circle) + 1] == pytest.approx((0, 1), abs=1e-9)
    assert shown[len(circle) + 2] == pytest.approx((0, 1 - np.sqrt(3) / 5), abs=1e-3)  # y = 1 enters it at root 3
    before, after, count = runs.neighbours()
    assert (runs.end == runs.start[after]).all()
    assert (before[after] == np.arange(len(count))).all()
    assert set(count.tolist()) == {len(runs.curve)}


@pytest.mark.parametrize(("height", "more"), [(0.5 * CHORD, 0), (40 * CHORD, 2)])
def test_a_detour_within_the_chord_error_is_undone(height, more):
    low, peak = 4 - 0.3, 4 + height
    top = low + (peak - low) * 4 / 3  # a cubic rises to 3/4 of its control points
    bump = [(3 + low * 1j, 2.6 + top * 1j, 1.4 + top * 1j, 1 + low * 1j), (1 + low * 1j, 3 + low * 1j)]
    runs, rings, many = runs_in(drawing(lines(0, 4, 4 + 4j, 4j), bump))
    assert len(runs.curve) == 6  # the upper side in two, the bump between
    found = mended(runs, rings, many)
    assert len(found.curve) == 4 + more
    if not more:
        k = found.curve.tolist().index(2)
        assert (found.a[k], found.b[k]) == pytest.approx((0, 1), abs=1e-9)


def test_a_loop_too_small_to_be_seen_is_skipped():
    corners = np.array([0, 10, 9.99 - 0.01j, 9.99 + 5j, 5j])
    made = drawing(lines(*corners.tolist()))
    many = board([made], 2.0**-30)
    chords = chords_of(many, CHORD)
    rings = Rings(chords.start, np.array([0, 5]), np.zeros(1, dtype=int), np.zeros(0, dtype=int))
    runs = boundary_runs.runs_of(rings, np.arange(5), chords)
    assert runs.curve.tolist() == [0, 1, 2, 3, 4]
    found = mended(runs, rings, many)
    assert found.curve.tolist() == [0, 2, 3, 4]
    assert found.end[0] == found.start[1] == pytest.approx(9.99, abs=1e-6)
    assert found.b[0] == pytest.approx(0.999, abs=1e-6)
    assert found.a[1] == pytest.approx(0.01 / 5.01, abs=1e-4)


def test_an_edge_is_of_the_chord_that_holds_it_whole():
    # a short chord that ends in the middle of a long edge and goes its way is not where the edge comes from
    made = drawing(lines(1.5, 2, 2 + 0.5j), lines(0, 4, 4 + 1j, 1j))
    many = board([made], 2.0**-30)
    chords = chords_of(many, CHORD)
    rings = Rings(chords.start[3:], np.array([0, 4]), np.zeros(1, dtype=int), np.zeros(0, dtype=int))
    owner, lost = sources(rings, chords, many)
    assert owner.tolist() == [3, 4, 5, 6]
    assert not lost.any()
