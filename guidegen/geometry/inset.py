"""An outline drawn in by an even amount: what is left of a shape further than that from its edge.

This is the erosion of the filled shape by a disc (its negative buffer), not the shape of narrower strokes, so the
rim between the two is even everywhere, crossings and corners too.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from guidegen.geometry.measure import flatten_outline
from guidegen.geometry.path import Outline, polyline

_LEAST_WIDTHS = 0.75
"""Slivers narrower than this share of the rim are left out: a printer would fill them anyway."""


def inset(outline: Outline, by: float, tolerance: float) -> Outline:
    """Return the part of ``outline`` that lies at least ``by`` from its edge, as closed polylines.

    Args:
        outline: outer paths anticlockwise, holes clockwise.
        by: positive distance, in the outline's unit.
        tolerance: how far the result's edge may lie from the true one.

    The result is empty where the shape is nowhere wider than twice ``by``. Parts narrower than 3/4 ``by`` are
    left out.
    """
    region = _region(outline, tolerance / 4)
    core = region.buffer(-by, quad_segs=_quadrant(by, tolerance / 4))
    speck = _LEAST_WIDTHS * by / 2
    core = core.buffer(-speck, quad_segs=8).buffer(speck * 1.02, quad_segs=8).intersection(core)
    core = core.simplify(tolerance / 4)
    paths = []
    for polygon in _polygons(core):
        if polygon.area < by * by:
            continue
        paths.append(_ring(polygon.exterior, anticlockwise=True))
        paths += [_ring(hole, anticlockwise=False) for hole in polygon.interiors]
    return tuple(paths)


def _region(outline: Outline, tolerance: float) -> Any:
    """Return the filled shape: outer rings less holes, as shapely sees it."""
    import shapely

    rings = [ring for ring in flatten_outline(outline, tolerance) if len(ring) > 3]
    polygons = [shapely.Polygon(np.column_stack((ring.real, ring.imag))) for ring in rings]
    outer = [polygon for polygon in polygons if polygon.exterior.is_ccw]
    holes = [polygon for polygon in polygons if not polygon.exterior.is_ccw]
    return shapely.union_all(outer).difference(shapely.union_all(holes))


def _quadrant(radius: float, tolerance: float) -> int:
    """Return how many chords a quarter circle needs to stay within ``tolerance``: n = pi / 4 acos(1 - e/r)."""
    return max(4, int(np.ceil(np.pi / (4 * np.arccos(max(0.0, 1 - tolerance / radius))))))


def _polygons(region: Any) -> list[Any]:
    parts = getattr(region, "geoms", [region])
    return [part for part in parts if part.geom_type == "Polygon" and not part.is_empty]


def _ring(ring: Any, *, anticlockwise: bool) -> Any:
    points = [complex(x, y) for x, y in ring.coords]
    if ring.is_ccw != anticlockwise:
        points.reverse()
    return polyline(points[:-1], closed=True)
