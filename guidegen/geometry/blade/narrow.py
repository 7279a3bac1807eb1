"""Where ink or the white between it is thinner than a width: what a blade tears and a laser burns away.

By opening and closing with a disc (J. Serra, Image Analysis and Mathematical Morphology, 1982): what a disc of the
width cannot reach inside the ink is too thin, what it cannot reach outside is too narrow a gap. Sharp corners are
never reached and are left out by their size, and so are notches, the white that runs out into a point where two strokes
meet: nothing thin stands there.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from guidegen.geometry.measure import flatten
from guidegen.geometry.path import Path

CHORDS = 0.02  # of the width asked for: how exactly curves are followed
CORNER = 1.0  # pieces of ink shorter than this share of the width are corners
SLIT = 0.8  # white that ends in the ink fills its length times its width by more than this, or it is a notch
NEAR = 0.1  # pieces nearer to each other than this share of the width are one place


@dataclass(frozen=True, slots=True)
class Thin:
    """A place that is too thin: its middle, how far it reaches from there, and about how wide it is."""

    at: complex
    reach: float
    width: float
    is_gap: bool


def region(paths: Sequence[Path], tolerance: float) -> Any:
    """Return closed paths as a shapely area, filled by the even-odd rule."""
    import shapely

    rings = []
    for path in paths:
        points = flatten(path, tolerance)
        if len(points) >= 3:
            rings.append(shapely.linearrings(np.stack([points.real, points.imag], axis=-1)))
    if not rings:
        return shapely.MultiPolygon()
    return shapely.build_area(shapely.node(shapely.multilinestrings(rings)))


def thickest(paths: Sequence[Path], tolerance: float) -> float:
    """Return the diameter of the largest disc inside the ink, within 2 x ``tolerance``."""
    import shapely

    area = region(paths, tolerance / 4)
    if area.is_empty:
        return 0.0
    return float(max(2 * shapely.maximum_inscribed_circle(part, tolerance).length for part in shapely.get_parts(area)))


def thin_places(paths: Sequence[Path], width: float) -> list[Thin]:
    """Return where the ink of closed paths, or a gap between or inside them, is narrower than ``width``."""
    area = region(paths, CHORDS * width)
    if area.is_empty:
        return []
    half = width / 2
    opened = area.buffer(-half, quad_segs=16).buffer(half * 1.01, quad_segs=16)
    closed = area.buffer(half, quad_segs=16).buffer(-half * 1.01, quad_segs=16)
    strokes = [_place(part, False) for part in _parts(area.difference(opened)) if _is_thin(part, opened, width)]
    gaps = [_place(part, True) for part in _parts(closed.difference(area)) if _is_gap(part, area, width)]
    found = _one_each(strokes, width) + _one_each(gaps, width)
    return sorted(found, key=lambda place: (place.at.real, place.at.imag, place.is_gap))


def _parts(area: Any) -> list[Any]:
    import shapely

    return [part for part in shapely.get_parts(area).tolist() if part.geom_type == "Polygon" and part.area > 0]


def _extent(part: Any) -> float:
    low_x, low_y, high_x, high_y = part.bounds
    return math.hypot(high_x - low_x, high_y - low_y)


def _is_thin(part: Any, thick: Any, width: float) -> bool:
    """Tell whether a piece of ink is thin: longer than a corner, or a neck between thick ink."""
    import shapely

    if _extent(part) >= CORNER * width:
        return True
    beside = [whole for whole in shapely.get_parts(thick).tolist() if whole.distance(part) < 0.02 * width]
    return len(beside) != 1


def _is_gap(part: Any, ink: Any, width: float) -> bool:
    """Tell whether a piece of white is a gap: a hole that closes altogether, a channel, or a slit; no notch."""
    import shapely

    slack = CHORDS * width / 4
    walls = shapely.line_merge(part.boundary.intersection(ink.boundary.buffer(slack)))
    lines = [line for line in shapely.get_parts(walls).tolist() if line.length > 4 * slack]
    if not lines:
        return False
    if any(line.is_closed for line in lines):
        return bool(part.area > 0.01 * width**2)
    if _extent(part) < CORNER * width:
        return False
    if shapely.get_num_geometries(shapely.union_all([line.buffer(slack) for line in lines])) > 1:
        return True
    deep = 2 * shapely.maximum_inscribed_circle(part, slack).length
    return bool(part.area > SLIT * deep * (part.length / 2 - deep))


def _one_each(places: list[Thin], width: float) -> list[Thin]:
    """Return one place where several lie by each other, the narrowest; long ones count with their middle."""
    kept: list[Thin] = []

    def near(place: Thin) -> float:
        return min(place.reach, 1.5 * width)

    for place in sorted(places, key=lambda one: (one.width, one.at.real, one.at.imag)):
        if all(abs(place.at - other.at) > near(place) + near(other) + NEAR * width for other in kept):
            kept.append(place)
    return kept


def _place(part: Any, is_gap: bool) -> Thin:
    low_x, low_y, high_x, high_y = part.bounds
    spot = part.representative_point()
    reach = math.hypot(high_x - low_x, high_y - low_y) / 2
    return Thin(complex(spot.x, spot.y), reach, part.area / (part.length / 2), is_gap)
