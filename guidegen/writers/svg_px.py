"""SVG for programs that ignore millimetres and take one user unit for 1/72 or 1/90 inch."""

from __future__ import annotations

import re
from dataclasses import replace

from guidegen.geometry.path import scale
from guidegen.scene import Item, Line, Page, Placed, Shape, Style, Symbol
from guidegen.units import MM_PER_INCH
from guidegen.writers.svg import svg_bytes

_SIDE = re.compile(rb' (width|height)="([0-9.]+)mm"')


def svg_px_bytes(page: Page, px_per_inch: float, title: str = "", description: str = "") -> bytes:
    """Return ``page`` as SVG whose plain numbers are 1/``px_per_inch`` inch, page size included.

    A program that reads millimetres makes it too large or too small: by 96 over ``px_per_inch`` the other way.
    """
    factor = px_per_inch / MM_PER_INCH
    layers = tuple(replace(layer, items=tuple(_scaled(i, factor) for i in layer.items)) for layer in page.layers)
    width, height = page.width_mm * factor, page.height_mm * factor
    grown = replace(page, width_mm=width, height_mm=height, layers=layers)
    written = svg_bytes(grown, title, description)
    return _SIDE.sub(rb' \1="\2"', written, count=2)


def _scaled(item: Item, factor: float) -> Item:
    if isinstance(item, Placed):
        symbol = Symbol(item.symbol.name, tuple(_scaled_flat(inner, factor) for inner in item.symbol.items))
        return Placed(symbol, item.at * factor)
    return _scaled_flat(item, factor)


def _scaled_flat(item: Line | Shape, factor: float) -> Line | Shape:
    style = _scaled_style(item.style, factor)
    if isinstance(item, Line):
        return replace(item, start=item.start * factor, end=item.end * factor, style=style)
    return replace(item, paths=scale(item.paths, factor), style=style)


def _scaled_style(style: Style, factor: float) -> Style:
    width = None if style.stroke_mm is None else style.stroke_mm * factor
    return replace(style, stroke_mm=width, dash_mm=tuple(part * factor for part in style.dash_mm))
