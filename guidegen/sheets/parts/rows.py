"""Guide rows: how many fit, where they lie, and the lines of one row."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from guidegen.errors import Plain, bad_input
from guidegen.lettering.lettering import Lettering
from guidegen.limits import MAX_ROWS
from guidegen.scene import Line, Style
from guidegen.sheets.parts.frame import Box
from guidegen.units import shift_per_height

MIN_SLANT_SPACING_MM = 5.0
LEAST_LINE_MM = 0.09
_SPARSEST = 0.35
_TINY_MM = 3.5
_SLACK_MM = 1e-6


@dataclass(frozen=True, slots=True)
class RowLayout:
    """Rows stacked in a height. ``depth_mm`` is what they take, ``left_over_mm`` what remains below them."""

    count: int
    pitch_mm: float
    depth_mm: float
    left_over_mm: float

    def spread(self, most_mm: float) -> RowLayout:
        """Return the rows with what is left over between them, at most ``most_mm`` more than there was."""
        if self.count < 2:
            return self
        more = min(most_mm, self.left_over_mm / (self.count - 1))
        added = more * (self.count - 1)
        return RowLayout(self.count, self.pitch_mm + more, self.depth_mm + added, self.left_over_mm - added)

    def tops_mm(self) -> tuple[float, ...]:
        """Return how far each row's upper edge lies below the upper edge of the first."""
        return tuple(number * self.pitch_mm for number in range(self.count))


def row_layout(available_mm: float, row_mm: float, gap_mm: float = 0.0, wanted: int | None = None) -> RowLayout:
    """Return as many rows of ``row_mm`` as fit ``available_mm`` with ``gap_mm`` between them, or ``wanted``.

    Fewer than ``wanted`` when they don't fit. No gap follows the last row.

    Raises:
        GuidegenError: for more rows than anybody writes on one page.
    """
    pitch = row_mm + gap_mm
    fitting = max(0, math.floor((available_mm + gap_mm + _SLACK_MM) / pitch))
    count = fitting if wanted is None else min(fitting, wanted)
    if count > MAX_ROWS:
        fix = "choose a larger x-height or a smaller paper"
        raise bad_input("rows", "", Plain(f"{count} rows on one page"), f"at most {MAX_ROWS}", fix)
    depth = count * pitch - gap_mm if count else 0.0
    return RowLayout(count, pitch, depth, available_mm - depth)


@dataclass(frozen=True, slots=True)
class RowHeights:
    """The lines of a row, in mm from the baseline; ``hairline_mm`` is the thinnest stroke written on it, if known."""

    x_height_mm: float
    ascender_mm: float
    descender_mm: float
    hairline_mm: float | None = None

    @property
    def row_mm(self) -> float:
        """Return the height from the descender line to the ascender line."""
        return self.ascender_mm + self.descender_mm

    def lines(self) -> tuple[tuple[str, float], ...]:
        """Return role and height of each line, from the top; lines that would lie on another are left out."""
        lines = [("x-height", self.x_height_mm), ("baseline", 0.0)]
        if self.ascender_mm > self.x_height_mm + _SLACK_MM:
            lines.insert(0, ("ascender", self.ascender_mm))
        if self.descender_mm > _SLACK_MM:
            lines.append(("descender", -self.descender_mm))
        return tuple(lines)


def heights_of(lettering: Lettering) -> RowHeights:
    """Return the heights of a lettering's rows."""
    x = lettering.x_height_mm
    return RowHeights(x, lettering.hand.ascender * x, lettering.hand.descender * x, lettering.marker.hairline_mm)


def line_styles(x_height_mm: float, hairline_mm: float | None = None) -> dict[str, Style]:
    """Return the style of each line, in black, quieter than the ink written on it: one language at every size.

    The baseline is the only solid line of a row; the x-height line has long dashes, the ascender line shorter ones, the
    descender line the shortest. No line is heavier than a third of ``hairline_mm``, the thinnest stroke that is
    written, nor thinner than a quarter point (0.088 mm), the least that print shops and copiers keep. Where the third
    is less than that, all but the baseline become sparser instead: dashes farther apart, which a copier still keeps.
    """
    small = min(1.0, max(0.0, (x_height_mm - 2.0) / 8.0))
    most = math.inf if hairline_mm is None else max(LEAST_LINE_MM, hairline_mm / 3)
    fine = min(0.1 + 0.04 * small, most)
    heavy = min(fine * (1.5 + 0.5 * small), most)
    share = 1.0 if hairline_mm is None else min(1.0, max(_SPARSEST, hairline_mm / 3 / LEAST_LINE_MM))
    size = min(1.0, max(0.35, x_height_mm / 8.0))  # dashes keep in proportion to small letters
    return {
        "ascender": Style(stroke_mm=fine, dash_mm=_dashes(2.0 * size, 0.6 * share)),
        "x-height": Style(stroke_mm=fine, dash_mm=_dashes(4.0 * size, 0.8 * math.sqrt(share))),
        "baseline": Style(stroke_mm=heavy),
        "descender": Style(stroke_mm=fine, dash_mm=_dashes(0.8 * size, 0.5 * share)),
        "slant": Style(stroke_mm=min(0.1, most), dash_mm=_dashes(0.3, 0.25)),
    }


def _dashes(mark_mm: float, share: float) -> tuple[float, float]:
    """Return dashes of ``mark_mm`` that cover ``share`` of their line."""
    return mark_mm, mark_mm * (1 / share - 1)


def row_lines(heights: RowHeights, baseline: complex, right: float, row: int) -> tuple[Line, ...]:
    """Return the lines of one row from ``baseline`` (its left end) to ``right``."""
    styles = line_styles(heights.x_height_mm, heights.hairline_mm)
    return tuple(
        Line(baseline + 1j * height, complex(right, baseline.imag + height), styles[role], role, row)
        for role, height in heights.lines()
    )


def slant_spacing_mm(x_height_mm: float) -> float:
    """Return the distance of slant lines: one x-height but at least 5 mm, and 10 mm where the writing is tiny."""
    return max(x_height_mm, MIN_SLANT_SPACING_MM) if x_height_mm >= _TINY_MM else 2 * MIN_SLANT_SPACING_MM


def slant_lines(
    heights: RowHeights, baseline: complex, right: float, row: int, slants_deg: Iterable[float]
) -> tuple[Line, ...]:
    """Return the slant lines of one row, clipped to it, :func:`slant_spacing_mm` apart."""
    box = Box(baseline.real, baseline.imag - heights.descender_mm, right, baseline.imag + heights.ascender_mm)
    style = line_styles(heights.x_height_mm, heights.hairline_mm)["slant"]
    spacing = slant_spacing_mm(heights.x_height_mm)
    return tuple(
        Line(*ends, style, "slant", row)
        for slant in slants_deg
        for ends in _slanted(box, baseline.imag, slant, spacing)
    )


def _slanted(box: Box, baseline: float, slant_deg: float, spacing: float) -> list[tuple[complex, complex]]:
    shift = shift_per_height(slant_deg)
    reach = [shift * (y - baseline) for y in (box.bottom, box.top)]
    first = math.ceil((-max(reach)) / spacing)
    last = math.floor((box.width - min(reach)) / spacing)
    ends = (_clipped(box, complex(box.left + n * spacing, baseline), shift) for n in range(first, last + 1))
    return [pair for pair in ends if pair is not None]


def _clipped(box: Box, foot: complex, shift: float) -> tuple[complex, complex] | None:
    """Return the part inside ``box`` of the line through ``foot`` that moves by ``shift`` per unit of height."""
    low, high = box.bottom - foot.imag, box.top - foot.imag
    if abs(shift) > 1e-12:
        sides = sorted((side - foot.real) / shift for side in (box.left, box.right))
        low, high = max(low, sides[0]), min(high, sides[1])
    elif not box.left <= foot.real <= box.right:
        return None
    if high - low < 1.0:  # a crumb in the corner is no guide
        return None
    return foot + complex(shift * low, low), foot + complex(shift * high, high)
