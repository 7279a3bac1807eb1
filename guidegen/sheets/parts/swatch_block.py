"""The block of a swatch page: ring marks, cells to draw in and bars, as the page draws them and a picture shows them.

Millimetres from the block's upper left corner, y down, as pictures run. Twelve rings stand in three rows of four and
say where everything is. The ring at the upper left has no dot and those in the other corners have one, which tells how
the page lies; the dots of the other eight are a number that says which block it is, the last of them its parity.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Literal

from guidegen.errors import Plain, bad_input

Use = Literal["brush", "pointed", "broad", "round", "letters"]
CellKind = Literal["downstroke", "hairline", "letter"]

RING_MM = 6.0
"""Outer diameter of a ring."""
RING_WIDTH_MM = 1.0
DOT_MM = 2.0
COLUMNS, ROWS = 4, 3
WIDTHS_MM = {9: 172.0, 6: 117.0, 4: 80.0}
"""The block's width by its number of stroke cells in a row."""
LETTER_WIDTHS_MM = {**WIDTHS_MM, 13: 250.0}
"""Those of letters: the last for large ones, on pages that lie or are larger than usual."""
WIDE_STROKES_MM = 7.0
"""Strokes from this width on need wide cells, or they are too short to be measured."""
TALL_MM, LOW_MM = 94.0, 51.0
MOST_COPIES = 4
BARS_MM = (1.0, 0.5, 0.3, 0.2)
"""Widths of the printed bars and of the gaps between them, for the eye and for a look at print and picture."""
_AIR_MM = 1.2
_BETWEEN_MM = 1.6
_CODE_RINGS = (1, 2, 4, 5, 6, 7, 9, 10)
_CORNERS = {0: False, 3: True, 8: True, 11: True}
_LETTER_COLUMNS = {9: (9, 5), 6: (6, 3), 4: (4, 2)}
_WIDE_COLUMNS = {9: 5, 6: 3}


@dataclass(frozen=True, slots=True)
class SwatchCell:
    """A rectangle to draw one stroke or write one letter in, with nothing printed inside. Upper left corner, mm."""

    kind: CellKind
    x_mm: float
    y_mm: float
    width_mm: float
    height_mm: float

    @property
    def centre(self) -> complex:
        """Return the middle, x right and y down."""
        return complex(self.x_mm + self.width_mm / 2, self.y_mm + self.height_mm / 2)


@dataclass(frozen=True, slots=True)
class SwatchBlock:
    """One kind of block: what is drawn on it, how wide and high it is, how many cells, which copy on its page."""

    use: Use
    size: int
    """Stroke cells in a row at this width, usually: 9, 6 or 4."""
    columns: int
    rows: int
    low: bool = False
    copy: int = 0

    @property
    def width_mm(self) -> float:
        return LETTER_WIDTHS_MM[self.size]

    @property
    def height_mm(self) -> float:
        return LOW_MM if self.low else TALL_MM

    @property
    def rings(self) -> tuple[complex, ...]:
        """Return the centres of the rings, row by row."""
        across = (self.width_mm - RING_MM) / (COLUMNS - 1)
        down = (self.height_mm - RING_MM) / (ROWS - 1)
        first = complex(RING_MM / 2, RING_MM / 2)
        return tuple(first + complex(i * across, j * down) for j in range(ROWS) for i in range(COLUMNS))

    @property
    def dots(self) -> tuple[bool, ...]:
        """Return which rings have a dot in them."""
        return _dots(every_block().index(self))

    @property
    def strips_mm(self) -> tuple[float, float, float]:
        """Return the upper edges of the three strips that the rings stand in; each is a ring high."""
        return 0.0, (self.height_mm - RING_MM) / 2, self.height_mm - RING_MM

    @property
    def cells(self) -> tuple[SwatchCell, ...]:
        """Return the cells, row by row."""
        return tuple(self._cells())

    def _cells(self) -> Iterator[SwatchCell]:
        if self.use == "letters" and self.rows == 1:
            rings = self.rings
            gap = rings[1].real - rings[0].real
            width = gap - RING_MM - 2 * _AIR_MM
            height = self.height_mm - 2 * (RING_MM + _AIR_MM)
            for i in range(COLUMNS - 1):
                yield SwatchCell("letter", rings[i].real + RING_MM / 2 + _AIR_MM, RING_MM + _AIR_MM, width, height)
            return
        pitch = self.width_mm / self.columns
        height = self.strips_mm[1] - RING_MM - 2 * _AIR_MM
        kinds: tuple[CellKind, ...] = ("letter", "letter") if self.use == "letters" else ("downstroke", "hairline")
        for row in range(self.rows):
            top = self.strips_mm[row] + RING_MM + _AIR_MM
            for i in range(self.columns):
                yield SwatchCell(kinds[row], i * pitch + _BETWEEN_MM / 2, top, pitch - _BETWEEN_MM, height)

    @property
    def bars(self) -> tuple[tuple[float, float, float], ...]:
        """Return the printed bars as (left, width, height), in the lower strip between its first two rings."""
        x = RING_MM + 3.0
        found = []
        for width in BARS_MM:
            for _ in range(2):
                found.append((x, width, RING_MM))
                x += 2 * width
            x += 1.0
        return tuple(found)


def stroke_block(use: Use, size: int, *, low: bool = False, copy: int = 0) -> SwatchBlock:
    """Return the block for strokes of a tip; a round tip has one row of cells."""
    return SwatchBlock(use, size, size, 1 if use == "round" else 2, low, copy)


def wide_stroke_block(use: Use, size: int) -> SwatchBlock | None:
    """Return the block of few and wide cells for strokes of a wide tip; None where so narrow a one has too few."""
    columns = _WIDE_COLUMNS.get(size)
    return None if columns is None else SwatchBlock(use, size, columns, 1 if use == "round" else 2)


def letter_block(size: int, room_mm: tuple[float, float]) -> SwatchBlock:
    """Return the block for letters with the most boxes of at least ``room_mm`` (width, height).

    Raises:
        GuidegenError: no box of this width of block is large enough.
    """
    for block in every_block():
        if block.use == "letters" and block.size == size:
            cell = block.cells[0]
            if cell.width_mm >= room_mm[0] and cell.height_mm >= room_mm[1]:
                return block
    room = f"a letter that takes {room_mm[0]:.0f} x {room_mm[1]:.0f} mm"
    raise bad_input("swatch", "", Plain(room), "one that fits a box of the page", "use a larger paper")


def block_of(dots: Sequence[bool]) -> SwatchBlock | None:
    """Return the block whose rings have these dots; None where no block has."""
    if any(dots[ring] != dotted for ring, dotted in _CORNERS.items()):
        return None
    bits = [dots[ring] for ring in _CODE_RINGS]
    number = sum(bit << place for place, bit in enumerate(bits[:-1]))
    if bits[-1] != (sum(bits[:-1]) % 2 == 0) or number >= len(every_block()):
        return None
    return every_block()[number]


def _dots(number: int) -> tuple[bool, ...]:
    bits = [bool(number >> place & 1) for place in range(len(_CODE_RINGS) - 1)]
    code = dict(zip(_CODE_RINGS, [*bits, sum(bits) % 2 == 0], strict=True))
    return tuple({**_CORNERS, **code}[ring] for ring in range(ROWS * COLUMNS))


@cache
def every_block() -> tuple[SwatchBlock, ...]:
    """Return every kind of block in the order of their numbers. New kinds go at the end: printed pages stay valid."""
    tips: tuple[Use, ...] = ("brush", "pointed", "broad", "round")
    found = [stroke_block(use, size) for use in tips for size in WIDTHS_MM]
    found += [
        stroke_block(use, size, low=True, copy=copy)
        for use in tips for size in WIDTHS_MM for copy in range(MOST_COPIES)
    ]  # fmt: skip
    for size, columns in _LETTER_COLUMNS.items():
        found += [SwatchBlock("letters", size, count, 2) for count in columns]
        found.append(SwatchBlock("letters", size, COLUMNS - 1, 1))
    found.append(SwatchBlock("letters", 13, COLUMNS - 1, 1))
    found += [block for use in tips for size in WIDTHS_MM if (block := wide_stroke_block(use, size)) is not None]
    return tuple(found)
