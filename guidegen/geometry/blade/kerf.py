"""Outlines moved out or in by half of what a beam burns away, so that the piece left keeps its size."""

from __future__ import annotations

import numpy as np

from guidegen.geometry.blade.narrow import region
from guidegen.geometry.blade.resample import resample
from guidegen.geometry.path import Outline, polyline

_CORNER_DEG = 15.0  # chords of curves turn by less at a fine tolerance, corners by more
_FINE = 1 / 8


def grown(outline: Outline, by: float, tolerance: float) -> Outline:
    """Return the filled area of ``outline`` (even-odd) grown by ``by``, shrunk where that is negative.

    Corners stay sharp up to twice the distance. What shrinks to nothing is gone; the result may be empty.
    """
    import shapely

    fine = _FINE * tolerance
    area = region(outline, fine).buffer(by, join_style="mitre", mitre_limit=2.0)
    area = shapely.simplify(area, fine)
    found = []
    for part in shapely.get_parts(area).tolist():
        for ring, outer in ((part.exterior, True), *((hole, False) for hole in part.interiors)):
            spots = shapely.get_coordinates(ring)[:-1]
            points = (spots[:, 0] + 1j * spots[:, 1]).astype(np.complex128)
            turned = points if bool(ring.is_ccw) == outer else points[::-1]
            path = polyline(_from_a_corner(turned).tolist(), closed=True)
            found.append(resample(path, tolerance / 2, _CORNER_DEG))
    return tuple(found)


def _from_a_corner(points: np.ndarray) -> np.ndarray:
    """Return a closed polygon's corners beginning at its sharpest, where a fitted curve may begin and end."""
    into, out = points - np.roll(points, 1), np.roll(points, -1) - points
    return np.roll(points, -int(np.argmax(np.abs(np.angle(out / into)))))
