"""Lengths, viewBox and viewport of SVG elements. One CSS pixel is 1/96 inch (CSS 2.1, 4.3.2)."""

from __future__ import annotations

import math
import re
from typing import Any
from xml.etree.ElementTree import Element

from guidegen.limits import NUMBER

MM_PER_PX = 25.4 / 96
_PX = {"": 1.0, "px": 1.0, "mm": 96 / 25.4, "cm": 960 / 25.4, "in": 96.0, "pt": 96 / 72, "pc": 16.0, "q": 24 / 25.4}
_LENGTH = re.compile(rf"\s*+([-+]?+{NUMBER})\s*+([a-zA-Z%]*+)\s*+", re.ASCII)
_NUMBERS = re.compile(r"[-+]?+" + NUMBER)


def local(element: Element) -> str:
    """Return an element's name without its namespace; "" for comments and the like."""
    tag: Any = element.tag  # a function for comments
    return tag.rpartition("}")[2] if isinstance(tag, str) else ""


def length_px(text: str | None, whole_px: float, default: float = 0.0) -> float:
    """Return a length in CSS pixels; ``whole_px`` is what 100 % means, em is taken as 16 px."""
    match = _LENGTH.fullmatch(text) if text is not None and len(text) < 80 else None
    if match is None:
        return default
    value, unit = float(match[1]), match[2].lower()
    if unit == "%":
        return value / 100 * whole_px
    if unit in ("em", "rem", "ex"):
        return value * (8.0 if unit == "ex" else 16.0)
    return value * _PX[unit] if unit in _PX else default


def unit_of(text: str | None) -> str | None:
    """Return the unit a length is written in, "" for none; None when it is no length."""
    match = _LENGTH.fullmatch(text) if text is not None and len(text) < 80 else None
    return match[2].lower() if match else None


def view_box(element: Element) -> tuple[float, float, float, float] | None:
    """Return x, y, width and height of a usable ``viewBox``."""
    numbers = _NUMBERS.findall(element.get("viewBox", "")[:300])
    if len(numbers) != 4:
        return None
    x, y, w, h = (float(part) for part in numbers)
    return (x, y, w, h) if w > 0 and h > 0 and math.isfinite(x + y + w + h) else None


def view_matrix(
    element: Element, view: tuple[float, float, float, float] | None, size: tuple[float, float]
) -> tuple[complex, complex, complex]:
    """Return the map from a ``viewBox`` to a viewport of ``size`` px (SVG 1.1, 7.8 preserveAspectRatio)."""
    if view is None:
        return 1 + 0j, 1j, 0j
    x, y, w, h = view
    sx, sy = size[0] / w, size[1] / h
    keep = element.get("preserveAspectRatio", "xMidYMid meet").split()
    keep = keep[1:] if keep and keep[0] == "defer" else keep
    align = keep[0] if keep else "xMidYMid"
    if align == "none":
        return complex(sx, 0), complex(0, sy), complex(-x * sx, -y * sy)
    s = max(sx, sy) if "slice" in keep else min(sx, sy)
    share = {"Min": 0.0, "Mid": 0.5, "Max": 1.0}
    dx = share.get(align[1:4], 0.5) * (size[0] - s * w)
    dy = share.get(align[5:8], 0.5) * (size[1] - s * h)
    return complex(s, 0), complex(0, s), complex(dx - x * s, dy - y * s)
