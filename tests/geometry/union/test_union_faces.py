"""Rings that bound the ink, against unions made by shapely."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import pytest
import shapely

from guidegen.geometry import cubic as cb
from guidegen.geometry.union import faces, provenance
from guidegen.geometry.union.board import Drawing, HalfPlane, Part, board, chords_of, grid_for
from guidegen.geometry.union.sure_ink import SureInk

TOLERANCE = 0.01


def drawing(loops, parts=None, planes=()):
    """Polygons (complex vertices) as one drawing; ``parts`` are lists of their numbers, one for each by default."""
    curves = [cb.as_cubics(list(zip(loop.tolist(), np.roll(loop, -1).tolist(), strict=True))) for loop in loops]
    first = np.cumsum([0, *(len(c) for c in curves)])
    every = np.concatenate(curves)
    yes, no = np.ones(len(every), dtype=bool), np.zeros(len(every), dtype=bool)
    parts = [[k] for k in range(len(loops))] if parts is None else parts
    numbers = [np.concatenate([np.arange(first[k], first[k + 1]) for k in some]) for some in parts]
    return Drawing(every, yes, no, yes, tuple(Part(n, planes) for n in numbers))


def rings(*drawings, exact=False):
    many = board(drawings, max(grid_for(d.curves, 0.15 * TOLERANCE) for d in drawings))
    found = faces.rings_of(many, chords_of(many, 0.15 * TOLERANCE), TOLERANCE, exact=exact)
    each = [[] for _ in drawings]
    for ring, k in zip(found.each(), found.drawing.tolist(), strict=True):
        each[k].append(ring - many.shift[k])
    return each


def region(some):
    """The area that rings bound, from their directions alone: outer ones anticlockwise, holes clockwise."""
    polygons = [shapely.Polygon(np.stack([z.real, z.imag], axis=-1)) for z in some]
    ccw = [shapely.is_ccw(p.exterior) for p in polygons]
    inked = shapely.union_all([p for p, outer in zip(polygons, ccw, strict=True) if outer])
    return shapely.difference(inked, shapely.union_all([p for p, o in zip(polygons, ccw, strict=True) if not o]))


def polygon(loop):
    return shapely.Polygon(np.stack([loop.real, loop.imag], axis=-1))


def stars(seed, count):
    rng = np.random.default_rng(seed)
    for _ in range(count):
        turn = np.linspace(0, 2 * np.pi, int(rng.integers(3, 14)), endpoint=False)
        yield complex(*rng.uniform(-4, 4, 2)) + rng.uniform(1, 3, len(turn)) * np.exp(1j * turn)


@pytest.mark.parametrize("exact", [False, True])
@pytest.mark.parametrize("seed", range(6))
def test_parts_are_united_as_shapely_unites_them(seed, exact):
    loops = list(stars(seed, 9))
    expected = shapely.union_all([polygon(loop) for loop in loops])
    (found,) = rings(drawing(loops), exact=exact)
    missed = shapely.symmetric_difference(region(found), expected)
    assert shapely.is_empty(shapely.buffer(missed, -0.45 * TOLERANCE))  # slits up to 0.8 of the tolerance are filled
    assert missed.area < TOLERANCE * expected.length


def test_loops_of_one_part_are_filled_by_the_non_zero_rule():
    square = np.array([0, 4, 4 + 4j, 4j])
    inner = 1 + 1j + square / 2
    (ring,), (outer, hole), (filled,) = rings(
        drawing([square, inner], [[0, 1]]), drawing([square, inner[::-1]], [[0, 1]]), drawing([square, inner[::-1]])
    )
    assert polygon(ring).area == polygon(filled).area == pytest.approx(16)
    assert (polygon(outer).area, polygon(hole).area) == pytest.approx((16, 4))
    assert shapely.is_ccw(polygon(outer).exterior)
    assert not shapely.is_ccw(polygon(hole).exterior)


def test_half_planes_cut_a_part():
    square = np.array([0, 4, 4 + 4j, 4j])
    line = np.array([2 - 1j, 2 + 5j, 2 - 1j + 1e-3, 2 - 2j])
    made = drawing([square, line], [[0]], (HalfPlane(2 + 0j, 1j),))  # left of a line that goes up
    ((ring,),) = rings(made)
    assert polygon(ring).bounds == pytest.approx((0, 0, 2, 4), abs=2e-3)


def test_holes_too_thin_to_be_told_from_nothing_are_filled():
    square = np.array([0, 4, 4 + 4j, 4j])
    for width, count in ((0.5 * TOLERANCE, 1), (2 * TOLERANCE, 2)):
        slit = 1 + 1j + np.array([0, 2j, 2j + width, width])
        assert len(rings(drawing([square, slit], [[0, 1]]))[0]) == count


def test_neighbours_on_a_board_do_not_meet():
    loops = list(stars(3, 5))
    alone = [rings(drawing([loop]))[0] for loop in loops]
    together = rings(*(drawing([loop]) for loop in loops))
    for a, b in zip(alone, together, strict=True):
        assert [polygon(r).area for r in a] == pytest.approx([polygon(r).area for r in b], rel=1e-6)


@dataclass(frozen=True)
class Ball:
    centre: np.ndarray
    radius: np.ndarray

    def discs(self):
        return self.centre, self.radius


def test_faces_within_discs_are_ink_without_being_asked_for(monkeypatch):
    turn = np.exp(1j * np.linspace(0, 2 * np.pi, 60, endpoint=False))
    centres = np.linspace(0, 6, 61) + 1j * np.sin(np.linspace(0, 6, 61))
    loops = [c + turn for c in centres]
    made = drawing(loops)
    plain = rings(made)[0]
    monkeypatch.setattr(faces, "_TOO_MANY", 0)
    asked = []
    monkeypatch.setattr(faces, "_inked", lambda d, p, *rest, was=faces._inked: asked.append(len(p)) or was(d, p, *rest))
    rings(made)
    found = rings(replace(made, sure=SureInk((Ball(centres, np.full(61, 0.99)),))))[0]
    assert [r.tolist() for r in found] == [r.tolist() for r in plain]
    assert asked[1] < 0.5 * asked[0]


def test_white_deep_inside_sure_ink_is_told():
    square = np.array([0, 4, 4 + 4j, 4j])
    slit = 1 + 1j + np.array([0, 2j, 2j + 0.002, 0.002])
    made = drawing([square, slit], [[0, 1]])
    sure = SureInk((Ball(np.array([2 + 2j]), np.array([1.9])),))
    for one, told in ((made, []), (replace(made, sure=sure), [0])):
        many = board([one], grid_for(one.curves, 0.0015))
        found = faces.rings_of(many, chords_of(many, 0.0015), TOLERANCE, exact=True)
        assert np.flatnonzero(faces.hollow(many, found, TOLERANCE)).tolist() == told


@pytest.mark.parametrize("chance", [False, True])
def test_of_chords_with_the_same_ends_the_first_is_taken(chance, monkeypatch):
    if chance:  # all have one key
        monkeypatch.setattr(faces, "key_of", lambda a, _: np.zeros(len(a), dtype=np.uint64))
    rng = np.random.default_rng(7)
    start, end = rng.integers(0, 4, (2, 300)) + 1j * rng.integers(0, 4, (2, 300))
    seen, expected = set(), []
    for k, ends in enumerate(zip(start.tolist(), end.tolist(), strict=True)):
        if frozenset(ends) not in seen:
            seen.add(frozenset(ends))
            expected.append(k)
    assert faces._once(start, end).tolist() == expected
    assert len(expected) < 140


@pytest.mark.parametrize("chance", [False, True])
def test_edges_are_found_on_chords_with_the_same_ends(chance, monkeypatch):
    if chance:
        monkeypatch.setattr(provenance, "key_of", lambda a, _: np.zeros(len(a), dtype=np.uint64))
    rng = np.random.default_rng(8)
    a, b, c, d = rng.integers(0, 5, (4, 200)) + 1j * rng.integers(0, 5, (4, 200))
    edge, chord = provenance._equal(a, b, c, d)
    alike = ((a[:, None] == c) & (b[:, None] == d)) | ((a[:, None] == d) & (b[:, None] == c))
    found = sorted(zip(edge.tolist(), chord.tolist(), strict=True))
    assert found == [tuple(pair) for pair in np.argwhere(alike).tolist()]
    assert alike.any()
