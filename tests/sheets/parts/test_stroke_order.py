"""Numbers and arrows touch neither ink nor each other, for all letters of all hands; shapely is the judge."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from lettered import lettering

from guidegen.geometry.measure import flatten_outline
from guidegen.geometry.shape.discs import along
from guidegen.geometry.stroke.expand import expand
from guidegen.lettering.letters import letter
from guidegen.sheets.parts.frame import Box
from guidegen.sheets.parts.rows import heights_of
from guidegen.sheets.parts.stroke_order import marks_for, ring, stroke_order

MARKERS = ("grit", "pebble", "cobble", "boulder", "thorn", "slate", "flint")


def filled(outline):
    """Return what an outline fills, by the even-odd rule (islands in holes are ink again)."""
    rings = [shapely.Polygon([(z.real, z.imag) for z in loop]).buffer(0) for loop in flatten_outline(outline, 0.003)]
    return shapely.symmetric_difference_all(rings).buffer(0)


def drawn(shape):
    """Return a mark as it is drawn: its lines with their width."""
    lines = [shapely.LineString([(z.real, z.imag) for z in loop]) for loop in flatten_outline(shape.paths, 0.01)]
    return shapely.union_all([line.buffer(shape.style.stroke_mm / 2) for line in lines])


def hull(shape):
    """Return a label's convex hull (the labels' face runs its outlines clockwise)."""
    points = [(z.real, z.imag) for loop in flatten_outline(shape.paths, 0.01) for z in loop]
    return shapely.MultiPoint(points).convex_hull


def marks_of(one, char):
    strokes = letter(one, char).strokes
    heights = heights_of(one)
    room = Box(-200, -heights.descender_mm, 200, heights.ascender_mm)
    return strokes, stroke_order(strokes, marks_for(one.x_height_mm), room=room), room


@pytest.mark.parametrize("marker", MARKERS)
def test_marks_touch_nothing(marker):
    one = lettering(marker)
    arrows = letters = 0
    for char in "abcdefghijklmnopqrstuvwxyz":
        strokes, items, room = marks_of(one, char)
        ink = filled(expand(strokes, 0.01))
        count = len(strokes)
        rings, numbers, shafts = items[: 2 * count : 2], items[1 : 2 * count : 2], items[2 * count :]
        assert [number.name for number in numbers] == [str(n) for n in range(1, count + 1)]
        discs = [shapely.convex_hull(drawn(shape)) for shape in rings]
        for disc, number in zip(discs, numbers, strict=True):
            assert disc.buffer(-0.1).covers(hull(number))
        parts = [*discs, *(drawn(shape) for shape in shafts)]
        for index, part in enumerate(parts):
            assert part.distance(ink) > 0.05, (char, index)
            for other in parts[index + 1 :]:
                assert part.distance(other) > 0.05, (char, index)
            _, low_y, _, high_y = part.bounds
            assert room.bottom <= low_y
            assert high_y <= room.top
        arrows, letters = arrows + len(shafts), letters + count
    assert arrows > 0.6 * letters  # an arrow may be left out where nothing is free, not as a rule


@pytest.mark.parametrize("marker", ["pebble", "slate", "flint"])
def test_an_arrow_runs_the_way_the_pen_goes(marker):
    one = lettering(marker)
    tested = 0
    for char in "abcdefghijklmnopqrstuvwxyz":
        strokes, items, _ = marks_of(one, char)
        if len(strokes) > 1 or len(items) < 3:
            continue
        shaft = items[2].paths[0]
        step = shaft.segments[0][1] - shaft.segments[0][0]
        length, points, tangents = along(strokes[0].path, 0.1)
        early = length < 1.5 * marks_for(one.x_height_mm).arrow_mm
        near = np.abs(points[early] - shaft.start).argmin()
        assert (step * np.conj(tangents[early][near])).real > 0, char
        tested += 1
    assert tested


def test_a_ring_holds_its_number_whatever_its_size():
    for radius in (1.15, 1.6, 2.1):
        for number in (1, 8, 12):
            edge, digits = ring(0j, radius, 0.2, number)
            inner = shapely.Point(0, 0).buffer(radius - 0.2)
            assert inner.covers(hull(digits))
            assert edge.style.fill is None
