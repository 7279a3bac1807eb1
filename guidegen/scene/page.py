"""A page as data, in millimetres, y up, the origin at the lower left corner of the page.

Sheets build scenes; writers turn a scene into bytes and never move anything. Rounding happens in the
writers only.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace

from guidegen.geometry.path import Outline, Path
from guidegen.scene.purpose import Purpose


@dataclass(frozen=True, slots=True)
class Ink:
    """A colour. ``cmyk`` is what a press gets, ``rgb`` what a screen gets, each 0..1; ``spot`` names a plate."""

    rgb: tuple[float, float, float] = (0.0, 0.0, 0.0)
    cmyk: tuple[float, float, float, float] = (0.0, 0.0, 0.0, 1.0)
    spot: str | None = None


BLACK = Ink()
WHITE = Ink((1.0, 1.0, 1.0), (0.0, 0.0, 0.0, 0.0))


def grey(tint: float) -> Ink:
    """Return a tint of black: 0 is paper white, 1 is black."""
    return Ink((1.0 - tint,) * 3, (0.0, 0.0, 0.0, tint))


@dataclass(frozen=True, slots=True)
class Style:
    """How a line or shape is drawn. A shape may be filled, stroked or both; a line is stroked."""

    stroke_mm: float | None = None
    dash_mm: tuple[float, ...] = ()
    stroke: Ink = BLACK
    fill: Ink | None = None
    round_ends: bool = False

    def painted(self, paint: Callable[[Ink], Ink]) -> Style:
        """Return the style with every colour replaced by what ``paint`` makes of it."""
        return replace(self, stroke=paint(self.stroke), fill=None if self.fill is None else paint(self.fill))


@dataclass(frozen=True, slots=True)
class Line:
    """A straight line. ``role`` is the contract's ``data-line`` (baseline, x-height, ...), ``row`` its row number."""

    start: complex
    end: complex
    style: Style
    role: str | None = None
    row: int | None = None


@dataclass(frozen=True, slots=True)
class Shape:
    """One or more paths drawn together (filled by the non-zero rule). ``name`` becomes an accessible title.

    ``letters`` are those it was written of, each with its origin on the baseline where the shape was made: what a
    message names them by, and nothing that is drawn.
    """

    paths: Outline | tuple[Path, ...]
    style: Style
    name: str | None = None
    letters: tuple[tuple[str, complex], ...] = ()


@dataclass(frozen=True, slots=True)
class Symbol:
    """Artwork used many times: PDF stores it once as a form; formats without such a thing repeat it."""

    name: str
    items: tuple[Line | Shape, ...]


@dataclass(frozen=True, slots=True)
class Placed:
    """A symbol moved by ``at``; never scaled or turned."""

    symbol: Symbol
    at: complex


Item = Line | Shape | Placed


@dataclass(frozen=True, slots=True)
class Layer:
    """Items of one purpose. Several layers of one purpose and different ``marker`` become subgroups of one group.

    One that is not ``shown`` is kept beside the work and never printed, plotted or cut: files with layers carry it
    switched off, others leave it out.

    Raises:
        ValueError: when ``purpose`` is none of those listed.
    """

    purpose: Purpose
    items: tuple[Item, ...]
    marker: str | None = None
    shown: bool = True

    def __post_init__(self) -> None:
        object.__setattr__(self, "purpose", Purpose(self.purpose))

    @property
    def id(self) -> str:
        """Return what the layer is called in a file: SVG group id, PDF layer, DXF layer."""
        return self.purpose.value


@dataclass(frozen=True, slots=True)
class Link:
    """A clickable rectangle (lower left, upper right) that leads to page number ``page`` (from 0)."""

    low: complex
    high: complex
    page: int


@dataclass(frozen=True, slots=True)
class Page:
    """One page. ``bookmark`` is its entry in a PDF's outline; ``background`` None means bare paper."""

    width_mm: float
    height_mm: float
    layers: tuple[Layer, ...]
    title: str = ""
    description: str = ""
    bookmark: str | None = None
    links: tuple[Link, ...] = field(default=())
    background: Ink | None = None

    def as_shown(self) -> Page:
        """Return the page without layers that are not shown."""
        if all(layer.shown for layer in self.layers):
            return self
        return replace(self, layers=tuple(layer for layer in self.layers if layer.shown))


@dataclass(frozen=True, slots=True)
class Document:
    """Pages that belong together. ``notes`` are lines for whoever asked for them; they are not drawn."""

    pages: tuple[Page, ...]
    title: str
    description: str = ""
    notes: tuple[str, ...] = ()
