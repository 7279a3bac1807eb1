"""Items, layers and pages moved, stretched, mirrored or painted another colour: one affine map for all of them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from guidegen.geometry.path import affine, reverse, translate
from guidegen.scene.page import Ink, Item, Layer, Line, Link, Page, Placed, Shape, Style, Symbol


class AffineMap:
    """Maps every point x + iy to ``a*x + b*y + c``; ``a`` and ``b`` are the images of the axes.

    ``widths`` is what line widths and dashes are multiplied with. A map that mirrors runs every path the other way
    round, so that outer boundaries stay anticlockwise. Each symbol is mapped once and shared by all its places.
    """

    def __init__(self, a: complex = 1, b: complex = 1j, c: complex = 0, widths: float = 1.0) -> None:
        self.a, self.b, self.c, self.widths = a, b, c, widths
        self._symbols: dict[int, tuple[Symbol, Symbol]] = {}

    def point(self, z: complex) -> complex:
        """Return where the point ``z`` goes."""
        return self.a * z.real + self.b * z.imag + self.c

    def item(self, item: Item) -> Item:
        """Return ``item`` mapped. A symbol's place moves with ``c``, its artwork is mapped without."""
        if isinstance(item, Placed):
            return Placed(self._symbol(item.symbol), self.point(item.at))
        return self._drawing(item, self.c)

    def layer(self, layer: Layer) -> Layer:
        """Return ``layer`` with all its items mapped."""
        return replace(layer, items=tuple(self.item(item) for item in layer.items))

    def page(self, page: Page) -> Page:
        """Return ``page`` mapped as a whole by a map that keeps its lower left corner: artwork, links and size."""
        links = tuple(Link(self.point(link.low), self.point(link.high), link.page) for link in page.links)
        size = self.point(complex(page.width_mm, page.height_mm))
        layers = tuple(self.layer(layer) for layer in page.layers)
        return replace(page, width_mm=size.real, height_mm=size.imag, layers=layers, links=links)

    def _drawing(self, item: Line | Shape, c: complex) -> Line | Shape:
        style = self._style(item.style)
        if isinstance(item, Line):
            ends = [self.a * z.real + self.b * z.imag + c for z in (item.start, item.end)]
            return replace(item, start=ends[0], end=ends[1], style=style)
        paths = tuple(affine(path, self.a, self.b, c) for path in item.paths)
        mirrors = (self.a.conjugate() * self.b).imag < 0
        return replace(item, paths=tuple(reverse(path) for path in paths) if mirrors else paths, style=style)

    def _symbol(self, symbol: Symbol) -> Symbol:
        if id(symbol) not in self._symbols:
            mapped = Symbol(symbol.name, tuple(self._drawing(item, 0) for item in symbol.items))
            self._symbols[id(symbol)] = (symbol, mapped)
        return self._symbols[id(symbol)][1]

    def _style(self, style: Style) -> Style:
        if self.widths == 1.0 or style.stroke_mm is None:
            return style
        dash = tuple(part * self.widths for part in style.dash_mm)
        return replace(style, stroke_mm=style.stroke_mm * self.widths, dash_mm=dash)


def moved(item: Item, by: complex) -> Item:
    """Return ``item`` moved by the vector ``by``; a placed symbol stays the same symbol."""
    return Placed(item.symbol, item.at + by) if isinstance(item, Placed) else moved_drawing(item, by)


def moved_drawing(item: Line | Shape, by: complex) -> Line | Shape:
    """Return a line or shape moved by the vector ``by``."""
    if isinstance(item, Line):
        return replace(item, start=item.start + by, end=item.end + by)
    return replace(item, paths=translate(item.paths, by))


def painted(item: Item, paint: Callable[[Ink], Ink], name: str = "") -> Item:
    """Return ``item`` with every colour replaced by what ``paint`` makes of it.

    A symbol's name stands for its artwork, so a symbol painted anew has ``name`` put behind its own.
    """
    if isinstance(item, Placed):
        parts = tuple(replace(part, style=part.style.painted(paint)) for part in item.symbol.items)
        return Placed(Symbol(f"{item.symbol.name}{name}", parts), item.at)
    return replace(item, style=item.style.painted(paint))
