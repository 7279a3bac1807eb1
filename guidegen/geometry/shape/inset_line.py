"""The contour of a shape as a line of even weight inside it, and dense polygons turned back into cubics."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from guidegen.geometry.cubic import Complexes, Floats, Ints
from guidegen.geometry.fit import fit_pieces
from guidegen.geometry.measure import flatten_outline
from guidegen.geometry.path import Outline, Path, Segment

_CORNER_RAD = math.radians(25)
_SPECK = 0.35
"""White narrower than this share of the line's weight would be filled by any printer and is left out."""


@dataclass(frozen=True, slots=True)
class Opening:
    """An end at which the shape runs on elsewhere: ``at`` on its centreline, ``heading`` outwards, its width."""

    at: complex
    heading: complex
    width: float


def rim(outline: Outline, weight: float, tolerance: float, openings: Sequence[Opening] = ()) -> Outline:
    """Return the part of a filled ``outline`` nearer than ``weight`` to its edge.

    The inner edge is that of the erosion by a disc, so the line is even everywhere, corners and crossings too. Where
    the shape is narrower than two lines it stays filled. At an opening the rim is cut square and its two sides
    run out open; the shape must end there in the half disc of the opening's width.
    """
    import shapely

    fine = tolerance / 8
    region = _region(outline, fine)
    quadrant = max(8, math.ceil(math.pi / 4 / math.acos(1 - fine / weight)))
    longer = [region, *(_strip(end, weight) for end in openings)]
    white = shapely.union_all(longer).buffer(-weight, quad_segs=quadrant)
    speck = _SPECK * weight / 2
    white = white.buffer(-speck, quad_segs=8).buffer(3 * speck, quad_segs=8).intersection(white)  # corners stay
    for end in openings:
        region = region.difference(_cap(end, fine))
    # a touch longer than the cut, so that no closing line as thin as the rounding is left across the opening
    white = shapely.union_all([white, *(_sill(white, end, weight, fine) for end in openings)])
    return outline_of(region.difference(white).simplify(fine), 0.7 * tolerance)  # the rest went to polygons


def _region(outline: Outline, tolerance: float) -> Any:
    import shapely

    rings = [ring for ring in flatten_outline(outline, tolerance) if len(ring) > 2]
    polygons = [shapely.Polygon(np.column_stack((ring.real, ring.imag))) for ring in rings]
    outer = shapely.union_all([polygon for polygon in polygons if polygon.exterior.is_ccw])
    return outer.difference(shapely.union_all([polygon for polygon in polygons if not polygon.exterior.is_ccw]))


def _box(end: Opening, back: float, ahead: float, width: float) -> Any:
    """Return a rectangle along the heading from ``back`` before the opening to ``ahead`` beyond it."""
    import shapely

    along, across = end.heading, 1j * end.heading * width / 2
    corners = [end.at - back * along - across, end.at + ahead * along - across]
    corners += [end.at + ahead * along + across, end.at - back * along + across]
    return shapely.Polygon([(z.real, z.imag) for z in corners])


def _strip(end: Opening, weight: float) -> Any:
    """Return what makes the shape longer by one line, ending flat: eroded, it then ends at the opening."""
    return _box(end, 0.0, weight, end.width)


def _cap(end: Opening, fine: float) -> Any:
    """Return the half disc beyond the opening, a little wider than the shape's own."""
    import shapely

    disc = shapely.Point(end.at.real, end.at.imag).buffer(end.width / 2 + 4 * fine, quad_segs=32)
    return disc.intersection(_box(end, 0.0, end.width, 2 * end.width))


def _sill(white: Any, end: Opening, weight: float, fine: float) -> Any:
    """Return a sliver of white across the opening, as wide as the white is there."""
    width = end.width - 2 * weight
    if width <= 0 or not white.intersects(_box(end, 4 * fine, 0.0, width / 2)):
        return white.difference(white)
    return _box(end, 2 * fine, 2 * fine, width)


def outline_of(region: Any, tolerance: float) -> Outline:
    """Return dense polygons (of shapely) as an outline of cubics and lines, within ``tolerance`` of their points."""
    parts = [part for part in getattr(region, "geoms", [region]) if part.geom_type == "Polygon" and not part.is_empty]
    rings = []
    for part in parts:
        for ring, outer in [(part.exterior, True), *((hole, False) for hole in part.interiors)]:
            points = np.array([complex(x, y) for x, y in ring.coords][:-1])
            rings.append(points if ring.is_ccw == outer else points[::-1])
    return smoothed(rings, tolerance)


def smoothed(rings: Sequence[Complexes], tolerance: float) -> Outline:
    """Return closed polygons that sample smooth curves as paths of cubics, corners and long straight sides kept.

    A vertex that turns by more than 25 degrees is a corner; the polygon's own chords must turn by less.
    """
    chains: list[Complexes] = []
    owner: list[int] = []
    for k, ring in enumerate(rings):
        if len(ring) < 3:
            continue
        for chain in _chains(_without_doubles(ring)):
            chains.append(chain)
            owner.append(k)
    bent = [i for i, chain in enumerate(chains) if len(chain) > 2]
    fitted: dict[int, list[Segment]] = {i: [(complex(chain[0]), complex(chain[1]))] for i, chain in enumerate(chains)}
    fitted |= dict(zip(bent, _fitted([chains[i] for i in bent], tolerance), strict=True))
    paths = []
    for k in dict.fromkeys(owner):
        segments = [segment for i in range(len(chains)) if owner[i] == k for segment in fitted[i]]
        paths.append(Path(tuple(segments), closed=True))
    return tuple(paths)


def _without_doubles(ring: Complexes) -> Complexes:
    size = float(np.abs(ring - ring.mean()).max())
    keep = np.abs(ring - np.roll(ring, 1)) > 1e-7 * size
    return ring[keep]


def _chains(ring: Complexes) -> list[Complexes]:
    """Split a ring at its corners and at the ends of long straight sides; without any, at its first point."""
    steps = np.roll(ring, -1) - ring
    turns = np.abs(np.angle(steps / np.roll(steps, 1)))
    sizes = np.abs(steps)
    # a chord many times longer than both its neighbours is a straight side
    long = (sizes > 6 * np.roll(sizes, 1)) & (sizes > 6 * np.roll(sizes, -1))
    corner = (turns > _CORNER_RAD) | long | np.roll(long, 1)
    at = np.flatnonzero(corner)
    if not len(at):
        return [np.concatenate([ring, ring[:1]])]
    ring = np.roll(ring, -at[0])
    at = np.append(at - at[0], len(ring))
    ring = np.append(ring, ring[0])
    return [ring[a : b + 1] for a, b in itertools.pairwise(at)]


def _fitted(chains: Sequence[Complexes], tolerance: float) -> list[list[Segment]]:
    if not chains:
        return []
    runs = [np.concatenate([[0.0], np.cumsum(np.abs(np.diff(chain)))]) for chain in chains]
    angles = [_vertex_angles(chain) for chain in chains]

    def sampler(piece: Ints, s: Floats) -> tuple[Complexes, Complexes]:
        points, headings = np.empty(s.shape, dtype=np.complex128), np.empty(s.shape)
        for k in np.unique(piece):
            mine = piece == k
            at = s[mine]
            points[mine] = np.interp(at, runs[k], chains[k].real) + 1j * np.interp(at, runs[k], chains[k].imag)
            headings[mine] = np.interp(at, runs[k], angles[k])
        return points, np.exp(1j * headings)

    cubics, pieces, _ = fit_pieces(sampler, np.zeros(len(chains)), np.array([run[-1] for run in runs]), tolerance)
    found: list[list[Segment]] = [[] for _ in chains]
    for cubic, piece in zip(cubics, pieces, strict=True):
        found[int(piece)].append(tuple(complex(z) for z in cubic))
    return found


def _vertex_angles(chain: Complexes) -> Floats:
    """Return the direction of travel at every vertex, unwrapped: between its two chords, at the ends carried on."""
    steps = np.diff(chain)
    angles = np.unwrap(np.angle(steps))
    sizes = np.abs(steps)
    if chain[0] == chain[-1]:
        turn = np.angle(steps[0] / steps[-1])
        both = sizes[0] + sizes[-1]
        ends = angles[0] - turn * sizes[0] / both, angles[-1] + turn * sizes[-1] / both
    elif len(steps) > 1:
        ends = angles[0] - (angles[1] - angles[0]) / 2, angles[-1] + (angles[-1] - angles[-2]) / 2
    else:
        ends = angles[0], angles[-1]
    middle = (angles[:-1] * sizes[1:] + angles[1:] * sizes[:-1]) / (sizes[:-1] + sizes[1:])
    return np.concatenate([[ends[0]], middle, [ends[1]]])
