"""The swatch page: cells for a marker's strokes or letters, between ring marks by which a picture is measured."""

from __future__ import annotations

import cmath
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import partial

from guidegen.errors import GuidegenError, bad_input
from guidegen.geometry.path import Outline, Path, polyline, reverse
from guidegen.scene import BLACK, Document, Item, Layer, Line, Purpose, Shape, Style
from guidegen.sheets.guides import merged
from guidegen.sheets.parts import frame as frames
from guidegen.sheets.parts.figures import mm_text
from guidegen.sheets.parts.frame import Box, Setup
from guidegen.sheets.parts.labels import CAP_HEIGHT, STRONG, label, label_width_mm, wrapped
from guidegen.sheets.parts.phrases import Phrases
from guidegen.sheets.parts.proof import rounded_rectangle
from guidegen.sheets.parts.rows import line_styles
from guidegen.sheets.parts.swatch_block import (
    BARS_MM,
    DOT_MM,
    LETTER_WIDTHS_MM,
    MOST_COPIES,
    RING_MM,
    RING_WIDTH_MM,
    WIDTHS_MM,
    SwatchBlock,
    SwatchCell,
    Use,
    letter_block,
    stroke_block,
    wide_stroke_block,
)
from guidegen.sheets.parts.swatch_examples import (
    Example,
    drawn_examples,
    examples_height_mm,
    letter_example,
    stroke_examples,
)
from guidegen.sheets.parts.swatch_head import HeadWords, swatch_head

_SMALL_MM = 2.5
_TWO_LINES_MM = 2.2
_CLEAR_MM = 2.5
"""Between the end of a line to write on and the next ring, beside the white that all words keep."""
_NUMBER_MM = (3.0, 9.0)
"""The least width at the left of a block for its number, and how large that may be."""
_COPY_GAP_MM, _MORE_GAP_MM = 3.5, 7.0
_CORNER_MM, _OUTSIDE_MM = 2.0, 0.25
_STUB_MM = 2.2
_CARD_ROOM_MM = 60.0
"""Bare paper for a bank card of 54 x 86 mm."""
_ARROW_MM = 9.0
_POINTER_MM = 1.7
_FINE = Style(stroke_mm=0.15)
_DIVIDER = Style(stroke_mm=0.12)
_THIN = Style(stroke_mm=0.25)
_SIDE = Style(stroke_mm=0.12, dash_mm=(0.5, 1.0))
_BLACK = Style(fill=BLACK)


@dataclass(frozen=True, slots=True)
class PlacedCell:
    """A cell as it lies on a page: ``x_mm``, ``y_mm`` its upper left corner from the page's; ``marker`` from 0."""

    kind: str
    marker: int
    page: int
    x_mm: float
    y_mm: float
    width_mm: float
    height_mm: float
    slant_deg: float


def swatch_sheet(
    setup: Setup,
    use: Use,
    *,
    copies: int = 1,
    slants_deg: tuple[float, float],
    x_height_mm: float | None = None,
    wide: bool = False,
    marker_label: str = "",
    letter_ink: Outline = (),
) -> tuple[Document, tuple[PlacedCell, ...]]:
    """Return the page and its cells.

    Args:
        setup: the page; cells are told in millimetres of the file, which a printer that is corrected for shrinks.
        use: the tip, or ``letters``.
        copies: blocks on the page, each for a marker of its own.
        slants_deg: of the strokes in the upper and the lower row, from the baseline; of letters the hand's, twice.
        x_height_mm: of letters.
        wide: few and wide cells, for the strokes of a wide tip.
        marker_label: what the marker is called; empty for a line to write it on.
        letter_ink: the outline of the letter at that size, on a baseline through 0, for the example.

    Raises:
        GuidegenError: more copies than four, letters or wide cells in several copies, or a paper too small.
    """
    if not 1 <= copies <= MOST_COPIES or (copies > 1 and (wide or use == "letters")):
        what = "letters" if use == "letters" else "wide boxes"
        wanted = f"1: {what} fill a page of their own" if wide or use == "letters" else f"1 to {MOST_COPIES}"
        raise bad_input("`copies`", "", copies, wanted)
    say = setup.say
    page = frames.frame(setup)
    blocks = _blocks(page.box, use, copies, x_height_mm, setup, wide=wide)
    if blocks is None:
        what = f"a swatch page of {copies} blocks" if copies > 1 else "a swatch page"

        def fits(where: Setup) -> bool:
            return _blocks(frames.frame(where).box, use, copies, x_height_mm, setup, wide=wide) is not None

        raise GuidegenError(f"{what} does not fit {setup.paper.label}; {setup.suggestion(fits, either_way=True)}")
    examples, size = _examples(use, slants_deg, x_height_mm, letter_ink, say)
    room_mm = examples_height_mm(examples, blocks[0].width_mm, size)
    head, top, with_examples = _longest_head(page.box, use, blocks, setup, room_mm)
    left = page.box.left + (page.box.width - blocks[0].width_mm) / 2
    layers = [head]
    if with_examples:
        room = Box(left, page.box.bottom, left + blocks[0].width_mm, top)
        layers += drawn_examples(room, examples, size, partial(_example_box, x_height_mm=x_height_mm), say)
        top -= room_mm
    spare = _spare_mm(page.box, top, blocks)
    gap = _COPY_GAP_MM + min(_MORE_GAP_MM, spare / copies)
    cells: list[PlacedCell] = []
    for number, block in enumerate(blocks):
        corner = complex(left, top)
        which = ""
        if copies > 1:
            layers += _number(number + 1, corner, left - page.box.left)
            if left - page.box.left < _NUMBER_MM[0]:
                which = say("swatch.copy", number=number + 1, copies=copies)
            if number:
                middle = complex(left, top + gap / 2)
                layers.append(Layer(Purpose.BLANKS, (Line(middle, middle + block.width_mm, _DIVIDER),)))
        layers += _drawn(say, block, corner, slants_deg, _BlockWords(which, marker_label, x_height_mm))
        shares = setup.printer.shares(setup.paper) if setup.printer else (1.0, 1.0)
        for cell in block.cells:
            x, y = corner.real + cell.x_mm, page.height_mm - corner.imag + cell.y_mm
            slant = slants_deg[cell.kind == "hairline"]
            size = (cell.width_mm / shares[0], cell.height_mm / shares[1])
            cells.append(PlacedCell(cell.kind, number, 1, x / shares[0], y / shares[1], *size, slant))
        top -= block.height_mm + gap
    key = "swatch.description_letters" if use == "letters" else "swatch.description"
    said = say(key, paper=setup.paper_label)
    document = frames.document(setup, [(page, merged(layers))], say("swatch.page_title"), said, ())
    return document, tuple(cells)


def letter_room_mm(x_height_mm: float) -> tuple[float, float]:
    """Return the width and height of a box that one ``e`` of that x-height is written in with ease."""
    return 1.3 * x_height_mm + 4.0, 1.3 * x_height_mm + 3.0


def _blocks(
    box: Box, use: Use, copies: int, x_height_mm: float | None, setup: Setup, *, wide: bool
) -> list[SwatchBlock] | None:
    """Return the blocks for the room of a page, the widest that fits; None where not even the narrowest does."""
    for size, width in (LETTER_WIDTHS_MM if use == "letters" else WIDTHS_MM).items():
        if width > box.width:
            continue
        if use == "letters":
            try:
                choices = [[letter_block(size, letter_room_mm(x_height_mm or 0.0))]]
            except GuidegenError:
                continue
        elif wide:
            block = wide_stroke_block(use, size)
            choices = [] if block is None else [[block]]
        else:
            choices = [
                [stroke_block(use, size, low=low, copy=copy) for copy in range(copies)]
                for low in ((True,) if copies > 1 else (False, True))
            ]
        for found in choices:
            if _spare_mm(box, swatch_head(box, found[0], _told(use, copies, setup), setup.say)[1], found) >= 0:
                return found
    return None


def _spare_mm(box: Box, top: float, blocks: Sequence[SwatchBlock]) -> float:
    """Return the height that is left below blocks from ``top`` on, as near to each other as they may stand."""
    height = sum(block.height_mm + _COPY_GAP_MM for block in blocks) - _COPY_GAP_MM
    return top - height - box.bottom


def _told(use: Use, copies: int, setup: Setup) -> HeadWords:
    """Return the fewest words of a page's head."""
    return HeadWords(use, copies, setup.paper_label, setup.proof != "none")


def _longest_head(
    box: Box, use: Use, blocks: Sequence[SwatchBlock], setup: Setup, examples_mm: float
) -> tuple[Layer, float, bool]:
    """Return the head with the most steps that leave room for the blocks, and whether examples have room too.

    A bank card needs room below the block where its own step is told.
    """
    told = _told(use, len(blocks), setup)
    rings = replace(told, rings=True)
    full = replace(rings, full=True)
    choices = [(full, examples_mm), (full, 0.0), (rings, examples_mm), (rings, 0.0), (told, 0.0)]
    if use != "letters" and len(blocks) == 1:
        card = replace(full, card=True)
        room_mm = examples_mm + _CARD_ROOM_MM
        choices = [(card, room_mm), (replace(card, small=True), room_mm), *choices]
    for words, needed_mm in choices:
        layer, top = swatch_head(box, blocks[0], words, setup.say)
        if _spare_mm(box, top, blocks) >= needed_mm:
            break
    return layer, top, bool(needed_mm and examples_mm)


@dataclass(frozen=True, slots=True)
class _BlockWords:
    """What a block says: which of the page's it is, its marker, the size of its letters."""

    which: str
    marker: str
    x_height_mm: float | None


def _examples(
    use: Use, slants_deg: tuple[float, float], x_height_mm: float | None, ink: Outline, say: Phrases
) -> tuple[list[Example], tuple[float, float] | None]:
    """Return the examples of a page and, of a letter, the size of its box."""
    if use != "letters":
        return stroke_examples(use, slants_deg, say), None
    if x_height_mm is None or not ink:
        return [], None
    size = letter_room_mm(x_height_mm)
    size = (max(size[0], 2 * _STUB_MM + 6.0), max(size[1], 2 * _CORNER_MM + 3.0))
    return letter_example(ink, x_height_mm, size, say), size


def _example_box(cell: SwatchCell, corner: complex, *, x_height_mm: float | None) -> list[Line]:
    """Return the lines of an example's box, as those of the block are drawn."""
    lines = _corners(cell, corner) + _sides(cell, corner)
    return lines if x_height_mm is None else lines + _short_lines(cell, corner, x_height_mm, 0)


def _number(number: int, corner: complex, room_mm: float) -> list[Layer]:
    """Return a block's number at the left of its upper left corner, where there is room."""
    least, most = _NUMBER_MM
    if room_mm < least:
        return []
    size = min(most, (room_mm - 1.5) / 0.55)
    at = corner - complex(1.5, CAP_HEIGHT * size)
    return [Layer(Purpose.LABELS, (label(str(number), at, size, anchor="end", weight=STRONG),))]


def _row_words(say: Phrases, use: Use, rows: int, room_mm: float) -> list[str]:
    """Return what stands over each row: the longest words of which all have room."""
    if use == "letters":  # every box is for the same, as the title says
        return []
    special = {"broad": ("across", "along"), "round": ("one",)}
    names = special.get(use, ("press", "push"))[:rows]
    for end in ("", "_short", "_shortest"):
        words = [say(f"swatch.{name}{end}") for name in names]
        if max(label_width_mm(text, _SMALL_MM) for text in words) <= room_mm:
            return words
    return [""] * rows


def _drawn(
    say: Phrases,
    block: SwatchBlock,
    corner: complex,
    slants_deg: Sequence[float],
    told: _BlockWords,
) -> list[Layer]:
    """Return one block with its upper left corner at ``corner``."""

    def at(z: complex) -> complex:
        return corner + z.conjugate()

    marks: list[Item] = []
    for ring, dotted in zip(block.rings, block.dots, strict=True):
        marks.append(Shape(_ring(at(ring)), _BLACK))
        if dotted:
            marks.append(Shape((_disc(at(ring), DOT_MM),), _BLACK))
    comb: list[Item] = []
    below = block.strips_mm[2]
    for x, width, height in block.bars:
        low = at(complex(x, below + height))
        sides = [low, low + width, low + complex(width, height), low + 1j * height]
        comb.append(Shape((polyline(sides, closed=True),), _BLACK, mm_text(width)))
    cells = [line for cell in block.cells for line in _corners(cell, at(complex(cell.x_mm, cell.y_mm)))]
    cells += [line for cell in block.cells for line in _sides(cell, at(complex(cell.x_mm, cell.y_mm)))]
    words, arrows, rules = _strip_words(say, block, at, slants_deg, told)
    layers = [
        Layer(Purpose.FIDUCIALS, tuple(marks)),
        Layer(Purpose.COMB, tuple(comb)),
        Layer(Purpose.CELLS, tuple(cells)),
        Layer(Purpose.LABELS, tuple(words)),
        Layer(Purpose.ARROWS, tuple(arrows)),
        Layer(Purpose.BLANKS, tuple(rules)),
    ]
    if block.use == "letters" and told.x_height_mm is not None:
        layers.append(Layer(Purpose.LINES, tuple(_stubs(block, at, told.x_height_mm))))
    return layers


def _strip_words(
    say: Phrases,
    block: SwatchBlock,
    at: Callable[[complex], complex],
    slants_deg: Sequence[float],
    told: _BlockWords,
) -> tuple[list[Item], list[Item], list[Item]]:
    """Return the words, arrows and blanks that stand between the rings."""
    gap = block.rings[1].real - block.rings[0].real
    room = gap - RING_MM - 3.0
    words: list[Item] = []
    arrows: list[Item] = []
    rules: list[Item] = []

    def foot(column: int, strip: int) -> complex:
        return at(complex(column * gap + RING_MM + 1.5, block.strips_mm[strip] + RING_MM / 2 + 0.9))

    lead = _POINTER_MM + 1.2
    for row, text in enumerate(_row_words(say, block.use, block.rows, room - _ARROW_MM - lead)):
        start = foot(0, row)
        arrows.append(_pointer(start))
        words.append(label(text, start + lead, _SMALL_MM))
        start += lead + (label_width_mm(text, _SMALL_MM) + 2.0 if text else 0.0)
        arrows += _arrow(start, slants_deg[row], up=row == 1)
    for column, name, known in ((1, say("swatch.marker"), told.marker), (2, say("swatch.paper"), "")):
        foot_at = foot(column, 0)
        words.append(label(name, foot_at, _SMALL_MM))
        start = foot_at + label_width_mm(name, _SMALL_MM) + 1.0
        given = _in_strip(known, start, room - (start - foot_at).real)
        words += given
        if not given:
            rules.append(Line(start - 0.3j, complex(foot_at.real + room - _CLEAR_MM, start.imag - 0.3), _FINE))
    if told.which:
        words.append(label(told.which, foot(2, 2), _SMALL_MM))
    if block.use == "letters" and told.x_height_mm is not None:
        size = mm_text(told.x_height_mm, say)
        words.append(_fitting([say("swatch.e_height", size=size), say("swatch.x_height", size=size)], foot(2, 2), room))
    sizes = say.number(" · ".join(f"{width:g}" for width in BARS_MM))
    words.append(_fitting([say("swatch.bars", sizes=sizes), say("swatch.bars_short"), ""], foot(1, 2), room))
    return [word for word in words if not isinstance(word, Shape) or word.paths], arrows, rules


def _fitting(choices: Sequence[str], at: complex, room_mm: float) -> Shape:
    """Return the first words that have room, else the last."""
    text = next((each for each in choices if label_width_mm(each, _SMALL_MM) <= room_mm), choices[-1])
    return label(text, at, _SMALL_MM)


def _in_strip(text: str, at: complex, room_mm: float) -> list[Item]:
    """Return a name in a strip, in two lines where one has no room; nothing where two have none."""
    if not text:
        return []
    if label_width_mm(text, _SMALL_MM, STRONG) <= room_mm:
        return [label(text, at, _SMALL_MM, weight=STRONG)]
    lines = wrapped(text, room_mm, _TWO_LINES_MM, STRONG)
    if len(lines) > 2 or max(label_width_mm(line, _TWO_LINES_MM, STRONG) for line in lines) > room_mm:
        return []
    pitch = 1.25 * _TWO_LINES_MM
    first = at + 1j * (len(lines) - 1) * pitch / 2
    return [label(line, first - 1j * pitch * n, _TWO_LINES_MM, weight=STRONG) for n, line in enumerate(lines)]


def _pointer(foot: complex) -> Shape:
    """Return a small triangle that points down, at the row the words after it are about."""
    top = foot + 1.6j
    sides = [top, top + _POINTER_MM / 2 - 1j * _POINTER_MM, top + _POINTER_MM]
    return Shape((polyline(sides, closed=True),), _BLACK)


def _corners(cell: SwatchCell, corner: complex) -> list[Line]:
    """Return the marks at the corners of a cell, just outside it."""
    lines = []
    for right in (False, True):
        for low in (False, True):
            x = cell.width_mm + _OUTSIDE_MM if right else -_OUTSIDE_MM
            y = -cell.height_mm - _OUTSIDE_MM if low else _OUTSIDE_MM
            tip = corner + complex(x, y)
            inward = complex(-_CORNER_MM if right else _CORNER_MM, 0), complex(0, _CORNER_MM if low else -_CORNER_MM)
            lines += [Line(tip, tip + by, _FINE) for by in inward]
    return lines


def _sides(cell: SwatchCell, corner: complex) -> list[Line]:
    """Return the dotted sides of a cell between the marks at its corners, just outside it."""
    low, high = complex(-_OUTSIDE_MM, -cell.height_mm - _OUTSIDE_MM), complex(cell.width_mm + _OUTSIDE_MM, _OUTSIDE_MM)
    clear = _CORNER_MM + 1.0
    return [
        *(Line(corner + complex(low.real + clear, y), corner + complex(high.real - clear, y), _SIDE)
          for y in (low.imag, high.imag)),
        *(Line(corner + complex(x, low.imag + clear), corner + complex(x, high.imag - clear), _SIDE)
          for x in (low.real, high.real)),
    ]  # fmt: skip


def _stubs(block: SwatchBlock, at: Callable[[complex], complex], x_height_mm: float) -> list[Line]:
    """Return the short pieces of baseline and x-height line at both sides of every box."""
    return [
        line
        for number, cell in enumerate(block.cells, start=1)
        for line in _short_lines(cell, at(complex(cell.x_mm, cell.y_mm)), x_height_mm, number)
    ]


def _short_lines(cell: SwatchCell, corner: complex, x_height_mm: float, number: int) -> list[Line]:
    """Return those of one box, whose upper left corner is ``corner``; ``number`` 0 for one that no row counts."""
    styles = line_styles(x_height_mm)
    baseline = corner - 0.5j * (cell.height_mm + x_height_mm)
    lines = []
    for role, height in (("x-height", x_height_mm), ("baseline", 0.0)):
        for x in (0.0, cell.width_mm - _STUB_MM):
            start = baseline + complex(x, height)
            told = (role, number) if number else (None, None)
            lines.append(Line(start, start + _STUB_MM, styles[role], *told))
    return lines


def _ring(centre: complex) -> tuple[Path, Path]:
    return _disc(centre, RING_MM), reverse(_disc(centre, RING_MM - 2 * RING_WIDTH_MM))


def _disc(centre: complex, diameter: float) -> Path:
    radius = diameter / 2
    return rounded_rectangle(centre - radius * (1 + 1j), diameter, diameter, radius)


def _arrow(start: complex, slant_deg: float, *, up: bool) -> list[Item]:
    """Return an arrow of a strip's height along the slant: which way to draw."""
    along = cmath.exp(1j * math.radians(slant_deg))
    reach = min(5.0, 4.6 / max(0.2, along.imag))
    left = max(0.0, -along.real * reach)
    low = start + complex(left, -1.0)
    high = low + along * reach
    tail, tip = (low, high) if up else (high, low)
    way = (tip - tail) / abs(tip - tail)
    head = [tip, tip - way * 1.7 + way * 0.65j, tip - way * 1.7 - way * 0.65j]
    return [Line(tail, tip - way, _THIN), Shape((polyline(head, closed=True),), _BLACK)]
