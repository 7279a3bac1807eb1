"""Millimetres inside, other units only at the edge.

1 in = 25.4 mm exactly (international inch, 1959), 1 pt = 1/72 in (PostScript and PDF).
"""

from __future__ import annotations

import math
import re

from guidegen.errors import bad_input

MM_PER_INCH = 25.4
MM_PER_POINT = MM_PER_INCH / 72.0
_MM_PER_UNIT = {"mm": 1.0, "cm": 10.0, "in": MM_PER_INCH, "pt": MM_PER_POINT, "": 1.0}
_NUMBER = r"(?>[0-9]++(?>\.[0-9]++)?+|\.[0-9]++)(?>e[-+]?+[0-9]++)?+"
_LENGTH = re.compile(rf"\s*+([-+]?+{_NUMBER})\s*+(mm|cm|in|pt|)\s*+", re.ASCII | re.IGNORECASE)


def parse_length_mm(text: str, where: str = "length", field: str = "") -> float:
    """Return a length like ``5mm``, ``1.2cm``, ``0.375in``, ``12pt`` or a bare ``5`` in mm.

    Raises:
        GuidegenError: when the text is no finite length in one of those units.
    """
    match = _LENGTH.fullmatch(text) if len(text) < 64 else None
    value = float(match.group(1)) * _MM_PER_UNIT[match.group(2).lower()] if match else math.nan
    if not math.isfinite(value):
        pointed = text.replace(",", ".")
        fix = f"write {pointed.strip()}" if "," in text and _LENGTH.fullmatch(pointed[:64]) else ""
        raise bad_input(where, field, text, "a length such as 5mm, 1.2cm, 0.5in, 12pt or a bare number of mm", fix)
    return value


def points(mm: float) -> float:
    """Return ``mm`` in points."""
    return mm / MM_PER_POINT


def inches(mm: float) -> float:
    """Return ``mm`` in inches."""
    return mm / MM_PER_INCH


def shift_per_height(slant_deg: float) -> float:
    """Return the sideways shift per unit of height of a line at ``slant_deg`` from the baseline (cotangent)."""
    return math.cos(math.radians(slant_deg)) / math.sin(math.radians(slant_deg))
