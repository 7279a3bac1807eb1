"""SVG for programs that ignore millimetres and take one user unit for 1/72 or 1/90 inch."""

from __future__ import annotations

import re

from guidegen.scene import AffineMap, Page
from guidegen.units import MM_PER_INCH
from guidegen.writers.svg import svg_bytes

_SIDE = re.compile(rb' (width|height)="([0-9.]+)mm"')


def svg_px_bytes(page: Page, px_per_inch: float, title: str = "", description: str = "") -> bytes:
    """Return ``page`` as SVG whose plain numbers are 1/``px_per_inch`` inch, page size included.

    A program that reads millimetres makes it too large or too small: by 96 over ``px_per_inch`` the other way.
    """
    factor = px_per_inch / MM_PER_INCH
    grown = AffineMap(factor, 1j * factor, widths=factor).page(page)
    written = svg_bytes(grown, title, description)
    return _SIDE.sub(rb' \1="\2"', written, count=2)
