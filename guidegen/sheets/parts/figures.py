"""Numbers as they are printed on a sheet."""

from __future__ import annotations

import math
from fractions import Fraction

from guidegen.hands.hand import Hand
from guidegen.profiles.markers import Marker
from guidegen.sheets.parts.phrases import Phrases
from guidegen.units import inches


def number_text(text: str, say: Phrases | None = None) -> str:
    """Return a number that was written with a point as the language of a page writes it; None is English."""
    return text if say is None else say.number(text)


def mm_text(mm: float, say: Phrases | None = None) -> str:
    """Return a length in mm: a tenth is enough to write by; under 1 mm there are two decimals."""
    text = f"{mm:.1f}" if mm >= 1 else f"{mm:.2f}".rstrip("0").rstrip(".")
    return number_text(text, say) + " mm"


def width_text(mm: float, say: Phrases | None = None) -> str:
    """Return a stroke's width in mm as it was measured, to three figures."""
    return number_text(f"{mm:.3g}", say) + " mm"


def inch_text(mm: float, say: Phrases | None = None) -> str:
    """Return a length in inches, to a hundredth."""
    return number_text(f"{inches(mm):.2f}", say) + " in"


def length_text(mm: float, with_inches: bool, say: Phrases | None = None) -> str:
    """Return a length in mm, and in inches beside it where the paper is measured in inches."""
    return f"{mm_text(mm, say)} ({inch_text(mm, say)})" if with_inches else mm_text(mm, say)


def times_text(ratio: float, x_height_mm: float, with_inches: bool, say: Phrases | None = None) -> str:
    """Return ``ratio`` x-heights as a length, reckoned from the x-height as :func:`length_text` prints it.

    Figures that stand side by side then agree: an x-height of 12.65 mm is printed as 12.7 mm, and twice that as
    25.4 mm. The last digit may so be off by ``ratio``/2; lines are drawn where they are.
    """
    mm, inch = times_texts(ratio, x_height_mm, say)
    return f"{mm} ({inch})" if with_inches else mm


def times_texts(ratio: float, x_height_mm: float, say: Phrases | None = None) -> tuple[str, str]:
    """Return the same in mm and in inches."""
    shown = round(x_height_mm, 1 if x_height_mm >= 1 else 2)
    inch = number_text(f"{ratio * round(inches(x_height_mm), 2):.2f}", say)
    return mm_text(ratio * shown, say), f"{inch} in"


def degrees_text(degrees: float, say: Phrases | None = None) -> str:
    """Return an angle."""
    return number_text(f"{degrees:.4g}", say) + "°"


def proportions_text(hand: Hand, say: Phrases | None = None) -> str:
    """Return above the x-height line : x-height : below the baseline, in small whole numbers where there are any."""
    parts = [Fraction(part).limit_denominator(12) for part in (hand.ascender - 1, 1.0, hand.descender)]
    common = math.lcm(*(part.denominator for part in parts))
    if common > 10:
        return " : ".join(number_text(f"{float(part):.3g}", say) for part in (hand.ascender - 1, 1.0, hand.descender))
    return " : ".join(str(int(part * common)) for part in parts)


def stem_mm(marker: Marker) -> float:
    """Return the width of a vertical stem: of a broad tip, nib width x cos(angle), else the downstroke."""
    if marker.tip != "broad":
        return marker.downstroke_mm
    return marker.downstroke_mm * math.cos(math.radians(marker.nib_angle_deg or 0.0))


_ALMOST_NONE = 0.1
_NO_DIFFERENCE = 0.05
"""A counter that differs from the stroke by less is as wide as the stroke, to the eye."""
_SHARES = {0.5: "half", 1.0: "equal", 1.5: "half_more", 2.0: "twice", 3.0: "thrice"}


def white_words(ratio: float | None, say: Phrases) -> str:
    """Return in words how wide the counter is beside the full downstroke; None is a counter that has closed."""
    if ratio is None:
        return say("white.closed")
    if ratio < _ALMOST_NONE:
        return say("white.nearly")
    share = 1.0 if abs(ratio - 1.0) < _NO_DIFFERENCE else float(f"{ratio:.2g}")
    if share in _SHARES:
        return say(f"white.{_SHARES[share]}")
    return say("white.part" if share < 1 else "white.times", ratio=say.number(f"{share:g}"))


def stroke_names(marker: Marker, say: Phrases) -> tuple[str, str]:
    """Return what the thick and the thin stroke of this tip are called on a page."""
    thick = say("strokes.nib_width") if marker.tip == "broad" else say("strokes.downstroke")
    return thick, say("strokes.hairline") if marker.tip in ("pointed", "broad") else say("strokes.upstroke")
