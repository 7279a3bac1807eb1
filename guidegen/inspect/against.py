"""Whether a file fits a marker: its rows, letters or glyphs are the size that marker writes well."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from guidegen.geometry.measure import bounds
from guidegen.inspect.thickness import thickest_mm
from guidegen.lettering.sizing import RightSize
from guidegen.readers.contents import Contents, PageContents
from guidegen.scene import Purpose
from guidegen.units import points


@dataclass(frozen=True, slots=True)
class Target:
    """What a file is held against: a marker's right size and band in one hand. Lengths in mm."""

    marker: str
    hand: str
    right_mm: float
    smallest_mm: float
    largest_mm: float
    downstroke_mm: float

    def verdict(self, x_height_mm: float) -> str:
        """Return ``too small``, ``right`` or ``too large`` for an x-height."""
        if x_height_mm < self.smallest_mm:
            return "too small"
        return "too large" if x_height_mm > self.largest_mm else "right"


def target(size: RightSize) -> Target:
    """Return the figures of a marker's right size that a file is held against."""
    band = size.smallest_x_height_mm, size.largest_x_height_mm
    return Target(size.marker.name, size.hand.name, size.x_height_mm, *band, size.marker.downstroke_mm)


SAME_STROKE = (0.9, 1.2)
"""The thickest stroke over the downstroke; where strokes join, a disc wider than either fits."""
INK_LAYERS = (Purpose.INK, Purpose.LETTER, Purpose.TRACE, Purpose.CUT)


def fit(contents: Contents, page: int, lines: Mapping[str, Any], size: Target) -> dict[str, Any]:
    """Return the verdict on a file: the x-height found and by what, ``too small``, ``right`` or ``too large``.

    For a font: the point sizes at which its x-height is the marker's right one, and at which its stems are as
    thick as the marker's downstroke. ``verdict`` is None when nothing in the file tells an x-height; ``fits``
    then goes by the thickest stroke. ``lines`` is what the page's lines measured.
    """
    result: dict[str, Any] = {
        "marker": size.marker,
        "hand": size.hand,
        "right_x_height_mm": size.right_mm,
        "smallest_x_height_mm": size.smallest_mm,
        "largest_x_height_mm": size.largest_mm,
        "downstroke_mm": size.downstroke_mm,
    }
    if contents.format == "font":
        return {**result, **_font(contents.facts, size)}
    shown = contents.pages[page - 1]
    found = lines.get("x_height_mm")
    thickest = _thickest(shown)
    result |= {"x_height_mm": found, "told_by": lines.get("rows_told_by"), "thickest_stroke_mm": thickest}
    result["verdict"] = None if found is None else size.verdict(found)
    if found is not None:
        result["fits"] = result["verdict"] == "right"
    elif thickest is not None:
        result["fits"] = SAME_STROKE[0] <= thickest / size.downstroke_mm <= SAME_STROKE[1]
    else:
        result["fits"] = None
    return result


def _thickest(page: PageContents) -> float | None:
    for layer in INK_LAYERS:
        mine = [d for d in page.drawn if d.layer == layer and (d.fill or layer is Purpose.CUT)]
        paths = tuple(p for d in mine for p in d.paths if p.closed)
        if paths:
            return thickest_mm(paths)
    filled = tuple(p for d in page.drawn if d.fill is not None and d.layer is None for p in d.paths if p.closed)
    if not filled or len(filled) > 2000:
        return None
    low, high = bounds(filled)
    return thickest_mm(filled) if abs(high - low) > 0 else None


def _font(facts: Any, size: Target) -> dict[str, Any]:
    units, x_height = facts["units_per_em"], facts["x_height"]
    stem = facts["stem"] and facts["stem"]["thickness"]
    right_pt = points(size.right_mm) * units / x_height if x_height else None
    same_pt = points(size.downstroke_mm) * units / stem if stem else None
    at_right = None if right_pt is None or stem is None else stem / units * right_pt * 25.4 / 72
    result = {"right_size_pt": right_pt, "true_stroke_pt": same_pt, "stem_at_right_size_mm": at_right}
    if same_pt is None or right_pt is None:
        return {**result, "verdict": None, "fits": None}
    x_at_true = x_height / units * same_pt * 25.4 / 72
    return {**result, "x_height_at_true_stroke_mm": x_at_true, "verdict": size.verdict(x_at_true),
            "fits": size.verdict(x_at_true) == "right"}  # fmt: skip
