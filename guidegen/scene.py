"""A page as data, in millimetres, y up, the origin at the lower left corner of the page.

Sheets build scenes; writers turn a scene into bytes and never move anything. Rounding happens in the
writers only.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from guidegen.geometry.path import Outline, Path, translate


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
    """One or more paths drawn together (filled by the non-zero rule). ``name`` becomes an accessible title."""

    paths: Outline | tuple[Path, ...]
    style: Style
    name: str | None = None


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
    """Items of one purpose; ``id`` becomes the SVG group id, PDF layer or DXF layer.

    Several layers with the same id and different ``marker`` become subgroups of one group.
    """

    id: str
    items: tuple[Item, ...]
    marker: str | None = None


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


@dataclass(frozen=True, slots=True)
class Document:
    """Pages that belong together. ``notes`` are lines for whoever asked for them; they are not drawn."""

    pages: tuple[Page, ...]
    title: str
    description: str = ""
    notes: tuple[str, ...] = ()


def flattened(item: Item, by: complex = 0j) -> list[Line | Shape]:
    """Return the lines and shapes of ``item``, moved by ``by``, with symbols put in where they are placed."""
    if isinstance(item, Placed):
        return [flat for inner in item.symbol.items for flat in flattened(inner, by + item.at)]
    if by == 0:
        return [item]
    if isinstance(item, Line):
        return [replace(item, start=item.start + by, end=item.end + by)]
    return [replace(item, paths=translate(item.paths, by))]


def hull_bounds(items: tuple[Item, ...]) -> tuple[complex, complex]:
    """Return lower left and upper right of a box that holds ``items`` with their strokes, in mm.

    It encloses the control points, so it may be a little larger than the artwork itself.

    Raises:
        ValueError: when there is nothing to enclose.
    """
    corners = [corner for item in items for corner in _item_corners(item)]
    low = complex(min(z.real for z in corners), min(z.imag for z in corners))
    return low, complex(max(z.real for z in corners), max(z.imag for z in corners))


def _item_corners(item: Item) -> tuple[complex, ...]:
    if isinstance(item, Placed):
        return tuple(corner + item.at for corner in hull_bounds(item.symbol.items)) if item.symbol.items else ()
    if isinstance(item, Line):
        points: tuple[complex, ...] = (item.start, item.end)
    else:
        points = tuple(z for path in item.paths for segment in path.segments for z in segment)
    pad = (item.style.stroke_mm or 0.0) / 2 * (1 + 1j)
    return tuple(corner for z in points for corner in (z - pad, z + pad))
