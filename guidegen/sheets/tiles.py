"""A page larger than the printer's paper, in tiles that overlap, with register crosses and tile names.

Every tile shows its part of the page at true scale inside its own margins. Neighbours share a strip of
``OVERLAP_MM``; a cross stands in the middle of the strip, so the crosses of two tiles fall on each other when
the tiles are laid right. A printer that is off is corrected for tile by tile, as each lies on its paper: the page
is laid out true.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

from guidegen.errors import GuidegenError
from guidegen.geometry.blade.windows import needed
from guidegen.geometry.path import Path, polyline
from guidegen.profiles.papers import Paper
from guidegen.profiles.printers import Printer, corrected, printed_paper
from guidegen.scene import (
    WHITE,
    Document,
    Item,
    Layer,
    Line,
    Page,
    Placed,
    Purpose,
    Shape,
    Style,
    flattened,
    hull_bounds,
    moved,
)
from guidegen.sheets.parts.labels import label, label_width_mm
from guidegen.sheets.parts.phrases import ENGLISH, Phrases, phrases
from guidegen.sheets.parts.proof import corrected_words

OVERLAP_MM = 10.0
_NAME_MM = 2.4
_SLIVER_MM = 0.02
"""What reaches so little beyond the tiles beside it has been shown by them."""
_EDGE = Style(stroke_mm=0.15, dash_mm=(4.0, 2.0))
_GLUED = Style(stroke_mm=0.15, dash_mm=(0.4, 1.6))
_CROSS = Style(stroke_mm=0.15)
_MASK = Style(fill=WHITE)


@dataclass(frozen=True, slots=True)
class Tile:
    """One tile: its name (row letter, column number) and the lower left corner of its window on the page."""

    name: str
    row: int
    column: int
    corner: complex


@dataclass(frozen=True, slots=True)
class Tiling:
    """How a page is cut: the window each tile shows, and the tiles row by row from the top left."""

    window_mm: complex
    rows: int
    columns: int
    tiles: tuple[Tile, ...]


def tiling(width_mm: float, height_mm: float, paper: Paper, margin_mm: float) -> Tiling:
    """Return the tiling of a page onto ``paper`` lying as it is, with ``margin_mm`` of white round every tile.

    Raises:
        GuidegenError: when the paper is so small that a tile would be all overlap.
    """
    window = complex(paper.width_mm - 2 * margin_mm, paper.height_mm - 2 * margin_mm)
    if min(window.real, window.imag) < 3 * OVERLAP_MM:
        raise GuidegenError(
            f"`printer_paper` {paper.name}: {paper.width_mm:g} x {paper.height_mm:g} mm leaves no room for tiles "
            f"with a margin of {margin_mm:g} mm; use larger paper"
        )
    columns, rows = _count(width_mm, window.real), _count(height_mm, window.imag)
    step = window - complex(OVERLAP_MM, OVERLAP_MM)
    tiles = []
    for row in range(rows):
        for column in range(columns):
            corner = complex(column * step.real, height_mm - window.imag - row * step.imag)
            tiles.append(Tile(f"{_letters(row)}{column + 1}", row, column, corner))
    return Tiling(window, rows, columns, tuple(tiles))


def _count(length: float, window: float) -> int:
    return max(1, math.ceil((length - OVERLAP_MM) / (window - OVERLAP_MM) - 1e-9))


def _letters(row: int) -> str:
    return chr(ord("A") + row) if row < 26 else _letters(row // 26 - 1) + _letters(row % 26)


def best_way_round(
    width_mm: float, height_mm: float, paper: Paper, margin_mm: float, printer: Printer | None = None
) -> Paper:
    """Return ``paper`` upright or turned, whichever needs fewer tiles as ``printer`` makes them."""
    ways = (paper, paper.turned())
    counts = [len(tiling(width_mm, height_mm, printed_paper(way, printer), margin_mm).tiles) for way in ways]
    return ways[0] if counts[0] <= counts[1] else ways[1]


def larger(page: Page, paper: Paper) -> bool:
    """Tell whether ``page`` needs tiles: ``paper``, lying as it is, does not hold it."""
    return page.width_mm > paper.width_mm + 1e-6 or page.height_mm > paper.height_mm + 1e-6


def tile_document(
    document: Document, paper: Paper, margin_mm: float, printer: Printer | None = None, language: str = ENGLISH
) -> Document:
    """Return ``document`` with every page that is larger than ``paper`` cut into tiles.

    Pages that the paper holds stay as they are. Tiles with nothing on them are left out, which a note tells.
    ``printer`` is what the tiles are corrected for; the pages themselves are true. ``language`` is that of the words
    that name the tiles.
    """
    notes: list[str] = []
    say = phrases(language)
    pages = tuple(part for page in document.pages for part in _tiles(page, paper, margin_mm, printer, notes, say))
    return replace(document, pages=pages, notes=tuple(dict.fromkeys((*document.notes, *notes))))


def _tiles(
    page: Page, paper: Paper, margin_mm: float, printer: Printer | None, notes: list[str], say: Phrases
) -> Iterator[Page]:
    if not larger(page, paper):
        yield page
        return
    lying = best_way_round(page.width_mm, page.height_mm, paper, margin_mm, printer)
    true = printed_paper(lying, printer)
    layout = tiling(page.width_mm, page.height_mm, true, margin_mm)
    layout = _round_the_ink(page, layout, true, margin_mm)
    wanted = _needed(page, layout)
    bare = [tile.name for number, tile in enumerate(layout.tiles) if number not in wanted]
    if bare:
        notes.append(f"{len(bare)} of {len(layout.tiles)} tiles are bare and left out: {', '.join(bare)}")
    said = corrected_words(printer, say) if printer else ""
    shown = [tile for tile in layout.tiles if tile.name not in bare]
    names = frozenset(tile.name for tile in shown)
    made = [_tile_page(page, tile, layout, true, margin_mm, names, said, say) for tile in shown]
    turned = corrected(Document(tuple(made), ""), printer, lying)
    notes += turned.notes
    yield from turned.pages


def _round_the_ink(page: Page, layout: Tiling, paper: Paper, margin_mm: float) -> Tiling:
    """Return the tiling of what is drawn, in the middle of its tiles, where that takes fewer than the whole page."""
    items = tuple(item for layer in page.layers for item in layer.items if not _is_empty(item))
    if not items or page.background is not None:
        return layout
    low, high = hull_bounds(items)
    low = complex(max(low.real, 0.0), max(low.imag, 0.0))
    high = complex(min(high.real, page.width_mm), min(high.imag, page.height_mm))
    size = high - low
    close = tiling(size.real, size.imag, paper, margin_mm)
    if len(close.tiles) >= len(layout.tiles):
        return layout
    step = close.window_mm - complex(OVERLAP_MM, OVERLAP_MM)
    covered = complex(OVERLAP_MM, OVERLAP_MM) + complex(close.columns * step.real, close.rows * step.imag)
    spare = (covered - size) / 2
    by = complex(low.real - spare.real, low.imag + spare.imag)
    return replace(close, tiles=tuple(replace(tile, corner=tile.corner + by) for tile in close.tiles))


def _is_empty(item: Item) -> bool:
    return isinstance(item, Placed) and not item.symbol.items


def _needed(page: Page, layout: Tiling) -> set[int]:
    """Return the numbers of the tiles that show ink which none of their neighbours shows."""
    if page.background is not None:
        return set(range(len(layout.tiles)))
    strokes: list[tuple[Path, float]] = []
    areas: list[tuple[Path, ...]] = []
    for item in (flat for layer in page.layers for whole in layer.items for flat in flattened(whole)):
        style = item.style
        paths = (polyline((item.start, item.end)),) if isinstance(item, Line) else item.paths
        if style.stroke_mm is not None and style.stroke != WHITE:
            strokes += [(path, style.stroke_mm) for path in paths if path.segments]
        if style.fill is not None and style.fill != WHITE:
            areas.append(tuple(paths))
    windows = [(tile.corner, tile.corner + layout.window_mm) for tile in layout.tiles]
    return set(needed(strokes, areas, windows, _SLIVER_MM))


def _tile_page(
    page: Page,
    tile: Tile,
    layout: Tiling,
    paper: Paper,
    margin_mm: float,
    shown: frozenset[str],
    said: str,
    say: Phrases,
) -> Page:
    move = complex(margin_mm, margin_mm) - tile.corner
    low, high = tile.corner, tile.corner + layout.window_mm
    layers = [
        replace(layer, items=tuple(moved(item, move) for item in layer.items if _touches(item, low, high)))
        for layer in page.layers
    ]
    marks = (*_crosses(tile, layout, margin_mm), *_edges(tile, layout, margin_mm))
    told = _captions(tile, layout, shown, said, say)
    caption = next((words for words in told if label_width_mm(words, _NAME_MM) <= layout.window_mm.real), told[-1])
    baseline = complex(margin_mm, margin_mm - 1.5 * _NAME_MM)
    # Layers of one id are one group in SVG, drawn where the first stands: mask, name and the page's own crop marks
    # share the last group, or the mask would hide the name.
    own = tuple(item for layer in layers if layer.purpose is Purpose.CROP for item in layer.items)
    frame = Layer(Purpose.CROP, (*own, _mask(paper, margin_mm), *marks, label(caption, baseline, _NAME_MM)))
    untitled = say("tiles.untitled", tile=tile.name)
    title = say("tiles.title", title=page.title, tile=tile.name) if page.title else untitled
    return Page(
        paper.width_mm,
        paper.height_mm,
        (*(layer for layer in layers if layer.items and layer.purpose is not Purpose.CROP), frame),
        title=title,
        description=page.description,
        bookmark=say("tiles.title", title=page.bookmark or page.title or say("tiles.page"), tile=tile.name),
        background=page.background,
    )


def _captions(tile: Tile, layout: Tiling, shown: frozenset[str], said: str, say: Phrases) -> tuple[str, ...]:
    """Return what stands below a tile: which it is, what to cut and what to glue it over; shorter and shorter."""
    row, column = _letters(tile.row), tile.column + 1
    where = say("tiles.caption", row=row, column=column, rows=layout.rows, columns=layout.columns)
    left, above = f"{row}{tile.column}", f"{_letters(tile.row - 1)}{column}" if tile.row else ""
    covers_left, covers_above = left in shown and tile.column > 0, above in shown
    if covers_left and covers_above:
        how = say("tiles.cut_both", left=left, above=above)
    elif covers_left:
        how = say("tiles.cut_left", left=left)
    elif covers_above:
        how = say("tiles.cut_top", above=above)
    else:
        how = say("tiles.first")
    return f"{where}   {how}   {said}".rstrip(), f"{where}   {how}", where


def _touches(item: Item, low: complex, high: complex) -> bool:
    if _is_empty(item):
        return False
    item_low, item_high = hull_bounds((item,))
    return (
        item_low.real < high.real
        and item_high.real > low.real
        and item_low.imag < high.imag
        and item_high.imag > low.imag
    )


def _mask(paper: Paper, margin_mm: float) -> Shape:
    """White over the margins, so that nothing beyond the window is seen: the paper less the window.

    It reaches 1 mm over the paper's edge, where half-covered pixels would else let specks of lines through.
    """
    w, h, m = paper.width_mm, paper.height_mm, margin_mm
    over = 1.0
    ends = (complex(-over, -over), complex(w + over, -over), complex(w + over, h + over), complex(-over, h + over))
    outer = polyline(ends, closed=True)
    inner = polyline((complex(m, m), complex(m, h - m), complex(w - m, h - m), complex(w - m, m)), closed=True)
    return Shape((outer, inner), _MASK)


def _crosses(tile: Tile, layout: Tiling, margin_mm: float) -> Iterator[Line]:
    """Register crosses in the middle of each strip shared with a neighbour, at its two ends."""
    half, arm = OVERLAP_MM / 2, 3.0
    xs = [half] * (tile.column > 0) + [layout.window_mm.real - half] * (tile.column < layout.columns - 1)
    ys = [half] * (tile.row < layout.rows - 1) + [layout.window_mm.imag - half] * (tile.row > 0)
    spots = {(x, y) for x in xs for y in (half, layout.window_mm.imag - half)}
    spots |= {(x, y) for y in ys for x in (half, layout.window_mm.real - half)}
    corner = complex(margin_mm, margin_mm)
    for x, y in sorted(spots):
        at = corner + complex(x, y)
        yield Line(at - arm, at + arm, _CROSS)
        yield Line(at - 1j * arm, at + 1j * arm, _CROSS)


def _edges(tile: Tile, layout: Tiling, margin_mm: float) -> Iterator[Line]:
    """The window's edges that meet a neighbour: dashed at the left and the top, to be cut; dotted where it is glued."""
    low = complex(margin_mm, margin_mm)
    high = low + layout.window_mm
    if tile.column > 0:
        yield Line(low, complex(low.real, high.imag), _EDGE)
    if tile.column < layout.columns - 1:
        yield Line(complex(high.real, low.imag), high, _GLUED)
    if tile.row < layout.rows - 1:
        yield Line(low, complex(high.real, low.imag), _GLUED)
    if tile.row > 0:
        yield Line(complex(low.real, high.imag), high, _EDGE)
