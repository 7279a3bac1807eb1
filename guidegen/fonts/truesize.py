"""The point size at which a font's letters have the marker's right size, and the units they are drawn in."""

from __future__ import annotations

from dataclasses import dataclass

from guidegen.errors import GuidegenError
from guidegen.units import MM_PER_POINT, points

LARGEST_POINT_SIZE = 999
"""The largest size that common word processors take."""
LARGEST_UNIT_MM = 0.02
WANTED_UNIT_MM = 0.0125
UNITS_PER_EM = (1024, 2048, 4096, 8192, 16384)
"""Powers of two, the quickest for TrueType rasterisers; OpenType allows 16 to 16384."""
LARGEST_COORDINATE = 32000
"""Font coordinates are signed 16-bit numbers; a little is kept for dots and rounding."""
WIDEST = 4.5
"""The widest glyph (em dash, ellipsis) in x-heights, with room to spare; :mod:`compile` checks the real ones."""


@dataclass(frozen=True, slots=True)
class TrueSize:
    """At ``point_size`` one em is ``units_per_em`` units of ``unit_mm`` each."""

    point_size: int
    units_per_em: int

    @property
    def unit_mm(self) -> float:
        return self.point_size * MM_PER_POINT / self.units_per_em

    def units(self, mm: float) -> float:
        """Return ``mm`` on paper in font units, not rounded."""
        return mm / self.unit_mm


def true_size(x_height_mm: float, above_mm: float, below_mm: float) -> TrueSize:
    """Return the true size of letters with this x-height, reaching ``above_mm`` and ``below_mm`` the baseline.

    The em is about as high as ascender plus descender, so the font sits in a line as others do; the point size
    is rounded to a number that is easy to type, and the units take up the rest: any x-height is met to half a
    unit, and a unit is at most 20 micrometres (12.5 where the em is not larger than OpenType allows).

    Raises:
        GuidegenError: no whole point size up to 999 gives this x-height in such units.
    """
    ideal = points(max(above_mm + below_mm, 2.4 * x_height_mm))  # 2.4: WIDEST then fits 16384 units to the em
    finest = LARGEST_COORDINATE * LARGEST_UNIT_MM / WIDEST
    largest_pt = int(UNITS_PER_EM[-1] * LARGEST_UNIT_MM / MM_PER_POINT)
    if x_height_mm > finest or ideal < 0.5:
        raise GuidegenError(
            f"x-height {x_height_mm:g} mm: no whole point size up to {LARGEST_POINT_SIZE} gives it in a font; "
            f"fonts reach from about 0.1 to {finest:.0f} mm" + ("; use `guidegen write`" if ideal > 1 else "")
        )
    size = min(_easy(ideal), largest_pt, LARGEST_POINT_SIZE)
    em_mm = size * MM_PER_POINT
    units = next((u for u in UNITS_PER_EM if em_mm / u <= WANTED_UNIT_MM), UNITS_PER_EM[-1])
    return TrueSize(size, units)


def _easy(ideal_pt: float) -> int:
    """Return the whole point size near ``ideal_pt`` that is easiest to remember: in steps of about 5 %."""
    step = next((s for limit, s in ((24, 1), (60, 2), (150, 5), (400, 10)) if ideal_pt < limit), 20)
    return max(1, round(ideal_pt / step) * step)
