"""Fonts through fontTools: heights, stems and nodes, in font units."""

from __future__ import annotations

import cmath
import io
import math
import re
from collections.abc import Mapping, Sequence
from typing import Any

from guidegen.errors import GuidegenError
from guidegen.geometry.measure import bounds, flatten
from guidegen.geometry.path import Path
from guidegen.limits import MAX_MEASURED_GLYPHS
from guidegen.readers.budget import Budget, damaged
from guidegen.readers.contents import Contents
from guidegen.readers.pen import PathPen
from guidegen.units import MM_PER_POINT

_TRUE_SIZE = re.compile(r"True size ([0-9]{1,3}+(?>\.[0-9]{1,6}+)?) pt", re.ASCII)


def read_font(data: bytes, name: str) -> Contents:
    """Return what stands in a TTF, OTF, WOFF, WOFF2 or (its first face) TTC file; a font has no pages.

    ``facts``: units_per_em, x_height, cap_height, ascender, descender (font units; heights measured on the
    glyphs x and H, ``os2_x_height`` as stated), stems (along the baseline, at half the x-height), stem (that of
    them which a marker's downstroke is compared with: its letter, and its thickness across itself), slant_deg (of
    it, from the baseline), glyphs, nodes; true_size_pt and true_x_height_mm where the font's description says at
    which size its letters are true.

    Raises:
        GuidegenError: for a damaged file.
    """
    from fontTools.ttLib import TTFont, TTLibError

    try:
        with TTFont(io.BytesIO(data), lazy=True, fontNumber=0) as font:
            return Contents("font", (), _facts(font, name))
    except GuidegenError:
        raise
    except TTLibError as error:
        raise damaged(name, "font", str(error)[:80]) from None
    except Exception as error:  # noqa: BLE001  whatever damaged tables make fontTools meet
        raise damaged(name, "font", type(error).__name__) from None


def _facts(font: Any, name: str) -> dict[str, Any]:
    glyphs = font.getGlyphSet()
    characters = font.getBestCmap() or {}
    budget = Budget(name)

    def outline(letter: str) -> tuple[Path, ...]:
        return _outline(glyphs, characters.get(ord(letter)), budget)

    lower, upper, ascending = outline("x"), outline("H"), outline("d")
    os2, head, hhea = font.get("OS/2"), font["head"], font["hhea"]
    names = list(glyphs.keys())
    count = len(names)
    nodes = sum(len(p.segments) for glyph in names[:MAX_MEASURED_GLYPHS] for p in _outline(glyphs, glyph, budget))
    said = (font["name"].getDebugName(10) or "")[:500] if "name" in font else ""
    stems = {letter: runs for letter in "lnoi" if (runs := _runs(outline(letter), (_top(lower) or 0.0) / 2))}
    slant_deg = _slant(outline("n") or outline("l"), _top(lower) or 0.0)
    return {
        "family": (font["name"].getDebugName(1) or "") if "name" in font else "",
        "outlines": "cubic" if "CFF " in font or "CFF2" in font else "quadratic",
        "variable": "fvar" in font,
        "units_per_em": int(head.unitsPerEm),
        "glyphs": count,
        "characters": len(characters),
        "nodes": nodes,
        "x_height": _top(lower),
        "cap_height": _top(upper),
        "ascender_height": _top(ascending),
        "descender": _bottom(outline("p")),
        "os2_x_height": getattr(os2, "sxHeight", None),
        "hhea_ascent": int(hhea.ascent),
        "hhea_descent": int(hhea.descent),
        "stems": stems,
        "stem": _stem(stems, slant_deg),
        "slant_deg": slant_deg,
        "italic_angle": float(font["post"].italicAngle) if "post" in font else 0.0,
        **_true_size(said, _top(lower), int(head.unitsPerEm)),
        "features": sorted({record.FeatureTag for record in font["GSUB"].table.FeatureList.FeatureRecord})
        if "GSUB" in font and font["GSUB"].table.FeatureList is not None
        else [],
        "description": said,
    }


def _true_size(said: str, x_height: float | None, units: int) -> dict[str, Any]:
    match = _TRUE_SIZE.search(said)
    if match is None:
        return {}
    size_mm = float(match[1]) * MM_PER_POINT
    return {"true_size_pt": float(match[1]), "true_x_height_mm": x_height / units * size_mm if x_height else None}


def _stem(stems: Mapping[str, Sequence[float]], slant_deg: float) -> dict[str, Any] | None:
    """Return the stem that stands for the font, its thickness across itself.

    The last one of n, for nothing runs into it; l and i may have a way in beside theirs.
    """
    letter = next((letter for letter in "nli" if letter in stems), None)
    if letter is None:
        return None
    return {"letter": letter, "thickness": stems[letter][-1] * math.sin(math.radians(slant_deg))}


def _slant(paths: tuple[Path, ...], x_height: float) -> float:
    """Return the direction of a letter's last stem from the baseline in degrees, by its middles at two heights.

    The last stem of n is straight there in upright, slanted and joined hands, and nothing runs into it.
    """
    middles = []
    for height in (0.4 * x_height, 0.6 * x_height):
        spans = _spans(paths, height)
        if not spans:
            return 90.0
        start, end = max(spans)
        middles.append(complex((start + end) / 2, height))
    return math.degrees(cmath.phase(middles[1] - middles[0]))


def _outline(glyphs: Any, name: str | None, budget: Budget) -> tuple[Path, ...]:
    from fontTools.pens.basePen import DecomposingPen

    if name is None:
        return ()

    class Taken(PathPen, DecomposingPen):  # type: ignore[misc]
        """Takes components apart with fontTools' own code."""

        addComponent = DecomposingPen.addComponent  # noqa: N815

        def __init__(self) -> None:
            DecomposingPen.__init__(self, glyphs, skipMissingComponents=True)
            PathPen.__init__(self, lambda n: budget.spend("segments", n))

    pen = Taken()
    glyphs[name].draw(pen)
    return pen.take()


def _top(paths: tuple[Path, ...]) -> float | None:
    return bounds(paths)[1].imag if paths else None


def _bottom(paths: tuple[Path, ...]) -> float | None:
    return bounds(paths)[0].imag if paths else None


def _runs(paths: tuple[Path, ...], height: float) -> list[float]:
    """Return the widths of ink that a horizontal line at ``height`` crosses."""
    return [end - start for start, end in _spans(paths, height)]


def _spans(paths: tuple[Path, ...], height: float) -> list[tuple[float, float]]:
    """Return where a horizontal line at ``height`` enters and leaves the ink, by the non-zero rule."""
    crossings: list[tuple[float, int]] = []
    for path in paths:
        points = flatten(path, 0.5)
        for a, b in zip(points, [*points[1:], points[0]], strict=True):
            if (a.imag <= height) != (b.imag <= height):
                share = (height - a.imag) / (b.imag - a.imag)
                crossings.append((float(a.real + share * (b.real - a.real)), 1 if b.imag > a.imag else -1))
    spans: list[tuple[float, float]] = []
    wound, start = 0, 0.0
    for x, turn in sorted(crossings):
        if wound == 0:
            start = x
        wound += turn
        if wound == 0:
            spans.append((start, x))
    return spans
