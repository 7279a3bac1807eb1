"""Numbers as they are printed on a sheet."""

from __future__ import annotations

import math
from fractions import Fraction

from guidegen.hands.hand import Hand
from guidegen.profiles.markers import Marker
from guidegen.units import inches

TIP_WORDS = {"brush": "brush", "pointed": "pointed", "broad": "broad edge", "round": "round"}


def mm_text(mm: float) -> str:
    """Return a length in mm: a tenth is enough to write by; under 1 mm there are two decimals."""
    if mm >= 1:
        return f"{mm:.1f} mm"
    return f"{mm:.2f}".rstrip("0").rstrip(".") + " mm"


def width_text(mm: float) -> str:
    """Return a stroke's width in mm as it was measured, to three figures."""
    return f"{mm:.3g} mm"


def inch_text(mm: float) -> str:
    """Return a length in inches, to a hundredth."""
    return f"{inches(mm):.2f} in"


def length_text(mm: float, with_inches: bool) -> str:
    """Return a length in mm, and in inches beside it where the paper is measured in inches."""
    return f"{mm_text(mm)} ({inch_text(mm)})" if with_inches else mm_text(mm)


def degrees_text(degrees: float) -> str:
    """Return an angle."""
    return f"{degrees:.4g}°"


def proportions_text(hand: Hand) -> str:
    """Return above the x-height line : x-height : below the baseline, in small whole numbers where there are any."""
    parts = [Fraction(part).limit_denominator(12) for part in (hand.ascender - 1, 1.0, hand.descender)]
    common = math.lcm(*(part.denominator for part in parts))
    if common > 10:
        return " : ".join(f"{float(part):.3g}" for part in (hand.ascender - 1, 1.0, hand.descender))
    return " : ".join(str(int(part * common)) for part in parts)


def stem_mm(marker: Marker) -> float:
    """Return the width of a vertical stem: of a broad tip, nib width x cos(angle), else the downstroke."""
    if marker.tip != "broad":
        return marker.downstroke_mm
    return marker.downstroke_mm * math.cos(math.radians(marker.nib_angle_deg or 0.0))


def stroke_names(marker: Marker) -> tuple[str, str]:
    """Return what the thick and the thin stroke of this tip are called on a page."""
    thick = "nib width" if marker.tip == "broad" else "downstroke"
    return thick, "hairline" if marker.tip in ("pointed", "broad") else "upstroke"
