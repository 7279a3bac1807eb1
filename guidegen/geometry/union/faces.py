"""From chords to the rings that bound their ink: nodes, faces, winding numbers (the first steps of a union)."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from guidegen.geometry.cubic import Bools, Complexes, Floats, Ints
from guidegen.geometry.measure import windings
from guidegen.geometry.union import cracks
from guidegen.geometry.union.board import Board, Chords, Drawing, Part, key_of, spans
from guidegen.geometry.union.sure_ink import SURE_SHARE

_NONE = np.zeros(0, dtype=np.int64)
_NOWHERE = np.zeros(0, dtype=np.complex128)
_CLEAR = 8  # times the grid that a point which stands for a face is away from its edges
_MANY = 1_000_000  # pairs of points and chords from which on each part is asked only for the points near it
_TOO_MANY = 200_000_000  # a part, from which on discs are asked first


@dataclass(frozen=True, slots=True)
class Rings:
    """Closed chains of vertices (the first not repeated), ink on their left: outer ones first, their holes after them.

    ``first`` (rings + 1) says where each begins; edge i goes from ``z[i]`` to ``z[after[i]]``. The vertices are in
    board coordinates. Each begins at its lowest vertex, so that it is the same whatever else is on the board.
    """

    z: Complexes
    first: Ints
    drawing: Ints  # of every ring
    slivers: Complexes  # corners and middles of the edges of thin white faces between them

    @property
    def after(self) -> Ints:
        """Return the number of the vertex after each."""
        after = np.arange(1, len(self.z) + 1)
        after[self.first[1:] - 1] = self.first[:-1]
        return after

    @property
    def before(self) -> Ints:
        """Return the number of the vertex before each."""
        before = np.arange(-1, len(self.z) - 1)
        before[self.first[:-1]] = self.first[1:] - 1
        return before

    @property
    def of_vertex(self) -> Ints:
        """Return the ring of every vertex."""
        return np.repeat(np.arange(len(self.first) - 1), np.diff(self.first))

    def each(self) -> list[Complexes]:
        """Return the rings one by one."""
        return [self.z[a:b] for a, b in zip(self.first[:-1].tolist(), self.first[1:].tolist(), strict=True)]


def rings_of(board: Board, chords: Chords, tolerance: float, *, exact: bool, across: Complexes | None = None) -> Rings:
    """Return the boundary of the ink of every drawing.

    ``exact`` rounds all nodes to the grid (snap rounding, which cannot fail topologically); otherwise nodes keep
    their floating-point places, which is much faster. ``across`` are bridges over the mouths of cracks
    (:mod:`guidegen.geometry.union.cracks`), on boards with one drawing.
    """
    import shapely

    faces = _faces(chords, board, exact)
    if not len(faces):
        return _rings(shapely.MultiPolygon(), board, tolerance, _NOWHERE)
    inside = shapely.get_coordinates(_places_in(faces, _CLEAR * board.grid))
    points = inside[:, 0] + 1j * inside[:, 1]
    covered = _covered(board, chords, points, shapely.bounds(faces))
    slivers = _of_slivers(faces[~covered], tolerance)
    if across is not None:
        covered |= cracks.closed_off(faces, covered, across, board.grid, tolerance)
    return _rings(shapely.coverage_union_all(faces[covered]), board, tolerance, slivers)


def _places_in(faces: Any, least: float) -> Any:
    """Return a point in every face, at least about ``least`` from its edges where the face is wide enough anywhere.

    The widest place on one level of a face may be in a tail of no width, where nodes that were moved to the grid are
    on the other side of the chords, and say nothing of the rest.
    """
    import shapely

    places = shapely.point_on_surface(faces)
    near = np.flatnonzero(shapely.distance(places, shapely.boundary(faces)) < least)
    inner = shapely.buffer(faces[near], -2 * least, quad_segs=2)
    wide = ~shapely.is_empty(inner)
    places[near[wide]] = shapely.point_on_surface(inner[wide])
    return places


def _of_slivers(faces: Any, tolerance: float) -> Complexes:
    """Return the corners and the middles of the edges of those faces that are thin."""
    import shapely

    thin = faces[shapely.area(faces) < tolerance * shapely.length(faces)]
    xy, of = shapely.get_coordinates(thin, return_index=True)
    z = xy[:, 0] + 1j * xy[:, 1]
    return np.append(z, ((z[1:] + z[:-1]) / 2)[of[1:] == of[:-1]])


def hollow(board: Board, rings: Rings, tolerance: float) -> Bools:
    """Return which drawings of a board have a sliver of white where there is ink for sure."""
    where = board.drawing_at(rings.slivers)
    deep = board.in_sure_ink(rings.slivers - board.shift[where], where, SURE_SHARE * tolerance)
    result = np.zeros(len(board.drawings), dtype=bool)
    result[where[deep]] = True
    return result


def _faces(chords: Chords, board: Board, exact: bool) -> Any:
    import shapely

    chains = _chains(chords, board.bounding[chords.curve])
    if not len(chains):
        return np.zeros(0, dtype=object)
    noded = shapely.union_all(chains, grid_size=board.grid if exact else None)
    return shapely.get_parts(shapely.polygonize([noded]))


def _chains(chords: Chords, shown: Bools) -> Any:
    """Return the chords to be noded as polylines, one for each uninterrupted run of chords; of equal ones only one."""
    import shapely

    start, end = chords.start[shown], chords.end[shown]
    if not len(start):
        return np.zeros(0, dtype=object)
    once = _once(start, end)
    start, end = start[once], end[once]
    last = np.append(start[1:] != end[:-1], True)
    chain = np.cumsum(last) - last
    vertex = np.repeat(np.arange(len(start)), 1 + last)
    closing = np.zeros(len(vertex), dtype=bool)
    closing[np.cumsum(1 + last)[last] - 1] = True
    z = np.where(closing, end[vertex], start[vertex])
    return shapely.linestrings(np.stack([z.real, z.imag], axis=-1), indices=chain[vertex])


def _once(start: Complexes, end: Complexes) -> Ints:
    """Return the numbers of the chords that differ, in order: of those with the same ends the first."""
    key = key_of(start, end)
    order = np.argsort(key)
    new = np.append(True, key[order][1:] != key[order][:-1])
    i, j = order[:-1][~new[1:]], order[1:][~new[1:]]
    alike = ((start[i] == start[j]) & (end[i] == end[j])) | ((start[i] == end[j]) & (end[i] == start[j]))
    if not alike.all():  # hardly ever: the same key by chance
        return _once_for_sure(start, end)
    return np.sort(np.minimum.reduceat(order, np.flatnonzero(new)))


def _once_for_sure(start: Complexes, end: Complexes) -> Ints:
    swap = (start.real > end.real) | ((start.real == end.real) & (start.imag > end.imag))
    a, b = np.where(swap, end, start), np.where(swap, start, end)
    order = np.lexsort((b.imag, b.real, a.imag, a.real))
    new = np.append(True, (np.diff(a[order]) != 0) | (np.diff(b[order]) != 0))
    return np.sort(order[new])


def _covered(board: Board, chords: Chords, points: Complexes, bounds: Floats) -> Bools:
    """Return which faces, given by a point in each and their boxes (n, 4), lie in the ink of their square's drawing."""
    covered = np.zeros(len(points), dtype=bool)
    count = np.bincount(chords.curve, minlength=len(board.curves))
    first = np.cumsum(count) - count
    offsets = board.first_curve()
    where = board.drawing_at(points)
    order = np.argsort(where, kind="stable")
    begins = np.searchsorted(where[order], np.arange(len(board.drawings) + 1))
    low, high = bounds[:, 0] + 1j * bounds[:, 1], bounds[:, 2] + 1j * bounds[:, 3]
    for k, drawing in enumerate(board.drawings):
        mine, lead = order[begins[k] : begins[k + 1]], offsets[k]
        if len(mine) * count[lead : offsets[k + 1]].sum() > _TOO_MANY * len(drawing.parts):
            # most faces lie within one disc
            shift = board.shift[k]
            covered[mine] = drawing.sure.holds(points[mine] - shift, low[mine] - shift, high[mine] - shift)
            mine = mine[~covered[mine]]
        if len(mine):
            covered[mine] = _inked(drawing, points[mine], board.shift[k], chords, first[lead:], count[lead:])
    return covered


def _inked(drawing: Drawing, points: Complexes, shift: complex, chords: Chords, first: Ints, count: Ints) -> Bools:
    """Return which points some part of a drawing covers; first chord and number of chords are given for its curves."""
    parts = [part for part in drawing.parts if count[part.curves].any()]
    edges = [spans(first[part.curves], count[part.curves]) for part in parts]
    if not parts:
        return np.zeros(len(points), dtype=bool)
    inked = np.zeros(len(points), dtype=bool)
    if len(points) * sum(len(e) for e in edges) > _MANY:
        for part, mine in zip(parts, edges, strict=True):
            ask = np.flatnonzero(~inked & _around(points, chords, mine))
            inked[ask] = _inside(part, points[ask], shift, chords, mine)
        return inked
    return _inside_any(parts, points, shift, chords, edges)


def _around(points: Complexes, chords: Chords, edges: Ints) -> Bools:
    """Return which points lie in the box around some chords."""
    start = chords.start[edges]
    across = (points.real >= start.real.min()) & (points.real <= start.real.max())
    return np.asarray(across & (points.imag >= start.imag.min()) & (points.imag <= start.imag.max()))


def _inside(part: Part, points: Complexes, shift: complex, chords: Chords, edges: Ints) -> Bools:
    """Return which points one part covers, some at a time: it may be one of many, or have many chords."""
    block = max(1, 4_000_000 // len(edges))
    found = [
        _inside_any([part], points[at : at + block], shift, chords, [edges]) for at in range(0, len(points), block)
    ]
    return np.concatenate([np.zeros(0, dtype=bool), *found])


def _inside_any(parts: list[Part], points: Complexes, shift: complex, chords: Chords, edges: list[Ints]) -> Bools:
    """Return which points some of the parts, with the numbers of their chords, cover."""
    inked = np.zeros(len(points), dtype=bool)
    every = np.concatenate(edges)
    owner = np.repeat(np.arange(len(edges)), [len(mine) for mine in edges])
    winds = windings(points, chords.start[every], chords.end[every], owner, len(edges))
    for part, wind in zip(parts, winds.T, strict=True):
        here = wind != 0
        for plane in part.planes:
            here &= plane.holds(points - shift)
        inked |= here
    return inked


def _rings(region: Any, board: Board, tolerance: float, slivers: Complexes) -> Rings:
    """Return the boundary of a region without what is too thin, every ring turned to its place and direction."""
    import shapely

    lines, polygon = shapely.get_rings(shapely.get_parts(region), return_index=True)
    if not len(lines):
        return Rings(np.zeros(0, dtype=np.complex128), np.zeros(1, dtype=np.int64), _NONE, slivers)
    outer = np.append(True, polygon[1:] != polygon[:-1])
    kept = _not_slivers(lines, outer, tolerance)
    kept &= kept[outer][np.cumsum(outer) - 1]  # holes go with their polygon
    if not kept.any():
        return _rings(shapely.MultiPolygon(), board, tolerance, slivers)
    lines, polygon, outer = lines[kept], polygon[kept], outer[kept]
    xy, of = shapely.get_coordinates(lines, return_index=True)
    z = xy[:, 0] + 1j * xy[:, 1]
    count = np.bincount(of) - 1  # the last vertex repeats the first
    first = np.cumsum(count + 1) - (count + 1)
    lowest = _lowest(z, first, count)
    forward = shapely.is_ccw(lines) == outer
    order = _in_order(board.drawing_at(z[first]), z[lowest], polygon, outer)
    first, count, lowest, forward = first[order], count[order], lowest[order], forward[order]
    step = np.arange(count.sum()) - np.repeat(np.cumsum(count) - count, count)
    step = np.where(np.repeat(forward, count), step, -step) + np.repeat(lowest - first, count)
    vertex = np.repeat(first, count) + step % np.repeat(count, count)
    starts = np.concatenate([[0], np.cumsum(count)])
    return Rings(z[vertex], starts, board.drawing_at(z[first]), slivers)


def _not_slivers(lines: Any, outer: Bools, tolerance: float) -> Bools:
    """Return which rings are more than slivers: holes and islands too thin for the tolerance to tell from nothing.

    Every point of a hole less than 0.8 of the tolerance wide is within 0.4 of our ink, so within the tolerance
    of the true ink, and may be filled: fitting errors leave such cracks where curves coincide. Ink is left out
    only where it is much thinner. The quotient of area by perimeter finds the few candidates.
    """
    import shapely

    thin = np.where(outer, 0.05, 0.4) * tolerance
    polygons = shapely.polygons(lines)
    real = np.asarray(shapely.area(polygons) > thin * shapely.length(lines))
    for k in np.flatnonzero(~real).tolist():
        real[k] = not shapely.is_empty(shapely.buffer(polygons[k], -thin[k], quad_segs=2))
    return real


def _lowest(z: Complexes, first: Ints, count: Ints) -> Ints:
    """Return the number of every ring's lowest vertex, of several the leftmost."""
    y = np.repeat(np.minimum.reduceat(z.imag, first), count + 1)
    x = np.where(z.imag == y, z.real, np.inf)
    least = np.repeat(np.minimum.reduceat(x, first), count + 1)
    at = np.flatnonzero(x == least)
    ring = np.searchsorted(first, at, side="right") - 1
    return np.asarray(at[np.append(True, ring[1:] != ring[:-1])])


def _in_order(drawing: Ints, lowest: Complexes, polygon: Ints, outer: Bools) -> Ints:
    """Return an order of rings: by drawing, polygons by their lowest vertex, the outer ring first, holes by theirs."""
    head = np.zeros(polygon.max() + 1, dtype=np.complex128)
    head[polygon[outer]] = lowest[outer]
    mine = head[polygon]
    return np.asarray(np.lexsort((lowest.real, lowest.imag, ~outer, mine.real, mine.imag, drawing)))
