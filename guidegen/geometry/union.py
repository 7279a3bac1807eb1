"""The filled area of many raw loops as one clean outline that keeps its curves.

Recipe: (1) flatten all curves to a small part of the tolerance, remembering curve and parameter; (2) node the
chords on a grid (snap rounding in GEOS, which cannot fail topologically) and build the faces between them; (3) keep
the faces that some part covers, by its winding number; (4) walk the boundary of what was kept and put the curves
back: a run of chords of one curve becomes a piece of that curve, and where two curves meet their
intersection is refined by Newton's method on the curves; (5) check the result and, should it cross itself, go over
it again with finer chords. If every attempt fails, the polygon of step 3 is the answer, correct to the same tolerance.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from guidegen.geometry import cracks, putback
from guidegen.geometry.cubic import Bools, Complexes, Floats, Ints
from guidegen.geometry.measure import flatten_curves, winding
from guidegen.geometry.path import Outline

CHORD_SHARE = 0.15  # of the tolerance: how far chords may stray from curves


@dataclass(frozen=True, slots=True)
class HalfPlane:
    """The points to the left of the line through ``point`` along ``direction``; ``inside`` False means the others."""

    point: complex
    direction: complex
    inside: bool = True

    def holds(self, p: Complexes) -> Bools:
        left = ((p - self.point) * np.conj(self.direction)).imag > 0
        return np.asarray(left == self.inside)


@dataclass(frozen=True, slots=True)
class Part:
    """Some curves (their numbers) that form closed loops, filled by the non-zero rule inside all ``planes``."""

    curves: Ints
    planes: tuple[HalfPlane, ...] = ()


@dataclass(frozen=True, slots=True)
class Drawing:
    """Curves (n, 4), which are straight, which run backwards, which take part in noding, and the parts they form.

    Backward curves lie inside the ink: where they seem to bound it, fitting errors have opened a crack.
    """

    curves: Complexes
    straight: Bools
    backwards: Bools
    bounding: Bools
    parts: tuple[Part, ...]


@dataclass(frozen=True, slots=True)
class Chords:
    """Flattened curves: chord ends on the grid, the curve of each chord and its parameters."""

    start: Complexes
    end: Complexes
    curve: Ints
    t0: Floats
    t1: Floats


def filled_outline(drawing: Drawing, tolerance: float) -> Outline:
    """Return the outline of all that the parts cover, within ``tolerance`` (half of it is used here)."""
    if not len(drawing.curves):
        return ()
    region: Any = None
    for attempt in range(4):
        chord = CHORD_SHARE * tolerance / 6**attempt
        grid = _grid(drawing.curves, chord)
        chords = _chords(drawing, chord, grid)
        region = _region(drawing, chords, grid, tolerance)
        rings = _rings(region)
        if not rings:
            return ()
        owner = putback.sources(rings, chords, grid)
        curves, straight = drawing.curves, drawing.straight
        if owner is not None and drawing.backwards[chords.curve[owner]].any():
            bridges = cracks.bridges(rings, drawing.backwards[chords.curve[owner]], tolerance)
            bridged, chords = _with_bridges(drawing, chords, bridges, grid)
            curves, straight = bridged.curves, bridged.straight
            region = _region(bridged, chords, grid, tolerance, bridges)
            rings = _rings(region)
            owner = putback.sources(rings, chords, grid)
        if owner is None:
            continue
        outline = putback.curved(rings, owner, curves, straight, chords, chord)
        if outline is not None and putback.is_clean(outline, chord / 8):
            return outline
    return putback.straight_outline(_rings(region))


def _with_bridges(drawing: Drawing, chords: Chords, bridges: Complexes, grid: float) -> tuple[Drawing, Chords]:
    """Return the drawing and its chords with straight bridges (n, 2) that bound but fill nothing."""
    n, first = len(bridges), len(drawing.curves)
    a, b = _snap(bridges[:, 0], grid), _snap(bridges[:, 1], grid)
    lines = np.stack([a, a + (b - a) / 3, b - (b - a) / 3, b], axis=-1)
    yes, no = np.ones(n, dtype=bool), np.zeros(n, dtype=bool)
    wider = Drawing(
        np.concatenate([drawing.curves, lines]),
        np.concatenate([drawing.straight, yes]),
        np.concatenate([drawing.backwards, no]),
        np.concatenate([drawing.bounding, yes]),
        drawing.parts,
    )
    real = a != b
    more = Chords(
        np.concatenate([chords.start, a[real]]),
        np.concatenate([chords.end, b[real]]),
        np.concatenate([chords.curve, first + np.flatnonzero(real)]),
        np.concatenate([chords.t0, np.zeros(real.sum())]),
        np.concatenate([chords.t1, np.ones(real.sum())]),
    )
    return wider, more


def _grid(curves: Complexes, chord: float) -> float:
    """A power of two far below the chord error and far above the rounding of the coordinates."""
    largest = float(np.abs(curves.view(np.float64)).max())
    return float(2.0 ** np.round(np.log2(max(chord * 2e-3, largest * 2e-13))))


def _snap(z: Complexes, grid: float) -> Complexes:
    return np.asarray(np.round(z.real / grid) * grid + 1j * (np.round(z.imag / grid) * grid))


def _chords(drawing: Drawing, chord: float, grid: float) -> Chords:
    points, owner, t = flatten_curves(drawing.curves, drawing.straight, chord)
    points = _snap(points, grid)
    inner = (owner[1:] == owner[:-1]) & (points[1:] != points[:-1])
    k = np.flatnonzero(inner)
    return Chords(points[k], points[k + 1], owner[k], t[k], t[k + 1])


def _region(
    drawing: Drawing, chords: Chords, grid: float, tolerance: float, bridges: Complexes | None = None
) -> Any:
    import shapely

    chains = _chains(chords, drawing.bounding[chords.curve])
    if not len(chains):
        return shapely.MultiPolygon()
    noded = shapely.union_all(chains, grid_size=grid)
    faces = shapely.get_parts(shapely.polygonize(shapely.get_parts(noded)))
    if not len(faces):
        return shapely.MultiPolygon()
    inside = shapely.get_coordinates(shapely.point_on_surface(faces))
    covered = _covered(drawing, chords, inside[:, 0] + 1j * inside[:, 1])
    if bridges is not None:
        covered |= cracks.closed_off(faces, covered, bridges, grid, tolerance)
    return _without_slivers(shapely.coverage_union_all(faces[covered]), tolerance)


def _chains(chords: Chords, shown: Bools) -> Any:
    """Return the chords to be noded as polylines, one for each uninterrupted run along a curve."""
    import shapely

    start, end, curve = chords.start[shown], chords.end[shown], chords.curve[shown]
    if not len(start):
        return np.zeros(0, dtype=object)
    last = np.append((curve[1:] != curve[:-1]) | (start[1:] != end[:-1]), True)
    chain = np.cumsum(last) - last
    vertex = np.repeat(np.arange(len(start)), 1 + last)
    closing = np.zeros(len(vertex), dtype=bool)
    closing[np.cumsum(1 + last)[last] - 1] = True
    z = np.where(closing, end[vertex], start[vertex])
    return shapely.linestrings(np.stack([z.real, z.imag], axis=-1), indices=chain[vertex])


def _covered(drawing: Drawing, chords: Chords, points: Complexes) -> Bools:
    covered = np.zeros(len(points), dtype=bool)
    for part in drawing.parts:
        mine = np.zeros(len(drawing.curves), dtype=bool)
        mine[part.curves] = True
        use = mine[chords.curve]
        if not use.any():
            continue
        start, end = chords.start[use], chords.end[use]
        ask = ~covered
        for plane in part.planes:
            ask &= plane.holds(points)
        ask &= (points.imag >= start.imag.min()) & (points.imag <= start.imag.max())
        ask &= (points.real >= start.real.min()) & (points.real <= start.real.max())
        if ask.any():
            covered[ask] = winding(points[ask], start, end) != 0
    return covered


def _without_slivers(region: Any, tolerance: float) -> Any:
    """Drop holes and islands too thin for the tolerance to tell from nothing.

    Every point of a hole less than 0.8 of the tolerance wide is within 0.4 of our ink, so within the tolerance
    of the true ink, and may be filled: fitting errors leave such cracks where curves coincide. Ink is left out
    only where it is much thinner. The quotient of area by perimeter finds the few candidates.
    """
    import shapely

    def real(polygon: Any, thin: float) -> bool:
        if polygon.area > thin * polygon.length:
            return True
        return not shapely.is_empty(shapely.buffer(polygon, -thin, quad_segs=2))

    polygons = []
    for polygon in shapely.get_parts(region):
        if not real(shapely.Polygon(polygon.exterior), 0.05 * tolerance):
            continue
        holes = [ring for ring in polygon.interiors if real(shapely.Polygon(ring), 0.4 * tolerance)]
        changed = len(holes) != len(polygon.interiors)
        polygons.append(shapely.Polygon(polygon.exterior, holes) if changed else polygon)
    return shapely.MultiPolygon(polygons)


def _rings(region: Any) -> list[Complexes]:
    """Return the boundary as closed vertex chains (first point not repeated), ink on the left."""
    import shapely

    rings = []
    for polygon in shapely.get_parts(region):
        for k, ring in enumerate([polygon.exterior, *polygon.interiors]):
            xy = shapely.get_coordinates(ring)[:-1]
            z = xy[:, 0] + 1j * xy[:, 1]
            after = np.roll(z, -1)
            anticlockwise = float((z.real * after.imag - after.real * z.imag).sum()) > 0
            rings.append(z if anticlockwise == (k == 0) else z[::-1])
    return rings
