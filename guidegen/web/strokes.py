"""A marker's own two strokes at true width, as small pictures to choose by."""

from __future__ import annotations

import cmath
import math
from dataclasses import dataclass

from guidegen.profiles.markers import Marker
from guidegen.sheets.parts.figures import stem_mm

HEIGHT_MM = 12.0
_GAP_MM = 3.0
_SLANT_DEG = {"brush": 60.0, "pointed": 60.0, "broad": 90.0, "round": 90.0}


@dataclass(frozen=True, slots=True)
class WidthPicture:
    """Polygons in mm, y down, and the size of the picture. Round ends are drawn by a line of ``round_mm``."""

    width_mm: float
    height_mm: float
    polygons: tuple[str, ...]
    round_mm: float = 0.0


def stroke_picture(marker: Marker) -> WidthPicture:
    """Return the thick and the thin stroke of a marker beside each other; a round tip has one."""
    if marker.tip == "round":
        width = marker.downstroke_mm
        return WidthPicture(width + 1.0, HEIGHT_MM, (), width)
    lean = cmath.exp(1j * math.radians(_SLANT_DEG[marker.tip]))
    lean *= HEIGHT_MM / lean.imag
    cut = 0j
    if marker.tip == "broad":
        turn = cmath.exp(1j * math.radians(marker.nib_angle_deg or 0.0))
        cut = complex(0.0, (marker.downstroke_mm * turn).imag)
    x, polygons = 0.0, []
    for number, width in enumerate((stem_mm(marker), marker.hairline_mm)):
        across = width / (lean / abs(lean)).imag
        rise = cut if number == 0 else 0j
        lower, upper = complex(x, 0.0), complex(x, 0.0) + lean
        corners = (lower, lower + across + rise, upper + across, upper - rise)
        polygons.append(_points(corners))
        x += across + _GAP_MM
    return WidthPicture(x - _GAP_MM + lean.real, HEIGHT_MM, tuple(polygons))


def _points(corners: tuple[complex, ...]) -> str:
    return " ".join(f"{z.real:.3f},{HEIGHT_MM - z.imag:.3f}" for z in corners)
