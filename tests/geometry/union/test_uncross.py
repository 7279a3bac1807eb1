"""Rings taken apart where they cross by next to nothing."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from guidegen.geometry import cubic as cb
from guidegen.geometry.union.pieces import Pieces
from guidegen.geometry.union.uncross import uncrossed

TOLERANCE = 0.01


def rings(*loops):
    each = [list(zip(loop, (*loop[1:], loop[0]), strict=True)) for loop in loops]
    curves = cb.as_cubics([s for loop in each for s in loop])
    number = np.repeat(np.arange(len(loops)), [len(loop) for loop in each])
    return Pieces(curves, np.ones(len(curves), dtype=bool), number)


def polygons(pieces):
    loops = [pieces.curves[pieces.ring == k, 0] for k in range(int(pieces.ring.max()) + 1)]
    return [shapely.Polygon(np.stack([z.real, z.imag], axis=-1)) for z in loops]


@pytest.mark.parametrize("part", [50, 400, 3000])
def test_a_spike_whose_sides_change_places_ends_where_they_do(part):
    square = [0, 4, 4 + 4j, 4j]
    pieces = rings([*square, 2.001j, -2 + 1.999j, -2 + 2.001j, 1.999j])
    (before,) = polygons(pieces)
    assert not before.is_valid
    (after,) = polygons(uncrossed(pieces, TOLERANCE / part, TOLERANCE))
    assert after.is_valid
    assert after.area == pytest.approx(16 + 0.001, abs=1e-4)  # a triangle, 1 long and .002 wide
    assert after.bounds[0] == pytest.approx(-1, abs=0.01)


def test_rings_that_cross_at_a_node_of_both_are_taken_apart_there_too():
    node = 4 + 2j
    outer = [0, 4, node, 4 + 4j, 4j]
    hole = [node, 4.001 + 1j, 3 + 0.5j, 2 + 2j, 3 + 3j]  # leaves the ink through the node, comes back a little below
    (found,) = polygons(uncrossed(rings(outer, hole), TOLERANCE / 400, TOLERANCE))
    assert found.is_valid
    expected = shapely.Polygon([(z.real, z.imag) for z in map(complex, outer)]).difference(
        shapely.Polygon([(z.real, z.imag) for z in map(complex, hole)])
    )
    assert found.symmetric_difference(expected).area < 1e-3


def test_rings_that_touch_at_a_node_stay_as_they_are():
    node = 4 + 2j
    pieces = rings([0, 4, node, 4 + 4j, 4j], [node, 3 + 1j, 2 + 2j, 3 + 3j])
    found = uncrossed(pieces, TOLERANCE / 400, TOLERANCE)
    assert found.curves.tolist() == pieces.curves.tolist()
