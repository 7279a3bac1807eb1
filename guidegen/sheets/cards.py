"""Place cards: one name on each, all at one size, several on a sheet with cut marks between them."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from guidegen.errors import GuidegenError
from guidegen.lettering.lettering import Lettering
from guidegen.scene import Document, Item, Layer, Line, Placed, Purpose, Style
from guidegen.sheets.parts import frame as frames
from guidegen.sheets.parts.forms import Form, written
from guidegen.sheets.parts.frame import Box, Setup
from guidegen.sheets.parts.rows import heights_of, row_lines
from guidegen.sheets.parts.words import left_of, width_of

_CUT = Style(stroke_mm=0.12)
_CUT_MM = 4.0
_CARD_MARGIN_MM = 6.0
_SMALLEST_CARD_MM = (30.0, 15.0)


@dataclass(frozen=True, slots=True)
class Grid:
    """Cards on a sheet: how many across and down, and the box of the first (top left)."""

    columns: int
    rows: int
    card: complex
    corner: complex

    def boxes(self) -> Iterator[Box]:
        """Yield the boxes row by row from the top left."""
        for row in range(self.rows):
            for column in range(self.columns):
                left = self.corner.real + column * self.card.real
                top = self.corner.imag - row * self.card.imag
                yield Box(left, top - self.card.imag, left + self.card.real, top)


def card_grid(setup: Setup, up: int | None) -> Grid:
    """Return ``up`` equal cards on the sheet (the whole sheet as one card for None), as wide in shape as they get.

    Raises:
        GuidegenError: when the cards would be too small to write on.
    """
    page = frames.frame(setup)
    if up is None:
        return Grid(1, 1, complex(page.width_mm, page.height_mm), complex(0, page.height_mm))
    arm = _CUT_MM / 2  # the marks at the block's edge stay inside the margins too
    room = Box(page.box.left + arm, page.box.bottom + arm, page.box.right - arm, page.box.top - arm)
    choices = [(columns, math.ceil(up / columns)) for columns in range(1, up + 1)]
    # Cards are read as cards near 1.7 : 1; empty places count against a grid.
    columns, rows = min(
        choices,
        key=lambda grid: (
            grid[0] * grid[1] - up,
            abs(math.log((room.width / grid[0]) / (room.height / grid[1]) / 1.7)),
        ),
    )
    card = complex(room.width / columns, room.height / rows)
    if card.real < _SMALLEST_CARD_MM[0] or card.imag < _SMALLEST_CARD_MM[1]:
        raise GuidegenError(f"`up` {up}: cards of {card.real:.0f} × {card.imag:.0f} mm are too small; ask for fewer")
    return Grid(columns, rows, card, complex(room.left, room.top))


def card_box(setup: Setup, up: int | None) -> Box:
    """Return the part of one card to write on, as a box at the origin."""
    card = card_grid(setup, up).card
    margin = _CARD_MARGIN_MM if up is not None else max(setup.margin_mm, 1.0)
    return Box(0.0, 0.0, card.real - 2 * margin, card.imag - 2 * margin)


def card_sheets(
    lettering: Lettering, names: Sequence[str], setup: Setup, up: int | None, form: Form = "ghost"
) -> Document:
    """Return the names as ghosted guides (solid for a cut file), one card each, ``up`` on a sheet (one for None).

    A card whose name does not fit has its guide lines only: no name runs into another card.
    """
    grid, room = card_grid(setup, up), card_box(setup, up)
    each = up or 1
    page = frames.frame(setup)
    pages = []
    for first in range(0, len(names), each):
        lines: list[Line] = []
        ghosts: list[Item] = []
        boxes = list(grid.boxes())[: len(names[first : first + each])]
        for number, (name, box) in enumerate(zip(names[first : first + each], boxes, strict=True), start=1):
            card_lines, ghost = _card(lettering, name, box, number, form)
            lines += card_lines
            if card_lines and width_of(lettering, name) <= room.width + 1e-6:
                ghosts.append(ghost)
        marks = tuple(_cut_marks(grid)) if up is not None else ()
        trace = Layer(Purpose.TRACE, tuple(ghosts), lettering.marker.name)
        layers = (Layer(Purpose.LINES, tuple(lines)), trace, Layer(Purpose.CROP, marks))
        pages.append((page, layers))
    say = setup.say
    description = say("piece.cards_description", marker=say.label(lettering.marker.label))
    return frames.document(setup, pages, say("piece.cards", count=len(names)), description, ())


def _card(
    lettering: Lettering, name: str, box: Box, number: int, form: Form
) -> tuple[tuple[Line, ...], Placed]:
    heights = heights_of(lettering)
    middle = (heights.ascender_mm - heights.descender_mm) / 2
    baseline = (box.top + box.bottom) / 2 - middle
    width = width_of(lettering, name)
    left = (box.left + box.right - width) / 2
    inner = _CARD_MARGIN_MM / 2
    if heights.row_mm > box.height:  # lines that no card holds are no help
        return (), Placed(written(lettering, name, form), 0j)
    lines = row_lines(heights, complex(box.left + inner, baseline), box.right - inner, number)
    return lines, Placed(written(lettering, name, form), complex(left - left_of(lettering, name), baseline))


def _cut_marks(grid: Grid) -> Iterator[Line]:
    """Short lines at every corner where cards meet: outside the block at its edge, crosses inside."""
    for row in range(grid.rows + 1):
        for column in range(grid.columns + 1):
            at = grid.corner + complex(column * grid.card.real, -row * grid.card.imag)
            yield Line(at - _CUT_MM / 2, at + _CUT_MM / 2, _CUT)
            yield Line(at - 1j * _CUT_MM / 2, at + 1j * _CUT_MM / 2, _CUT)
