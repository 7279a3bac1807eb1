"""The swatch page: cells for a marker's strokes or letters, between ring marks by which a picture is measured."""

from __future__ import annotations

import cmath
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from guidegen.errors import GuidegenError, bad_input
from guidegen.geometry.path import Path, polyline, reverse
from guidegen.scene import BLACK, Document, Item, Layer, Line, Purpose, Shape, Style
from guidegen.sheets.guides import merged
from guidegen.sheets.parts import frame as frames
from guidegen.sheets.parts.figures import mm_text
from guidegen.sheets.parts.frame import Box, Setup
from guidegen.sheets.parts.labels import ASCENT, STRONG, label, label_width_mm, wrapped
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

_TEXT_MM, _TEXT_LINE_MM = 3.0, 4.4
_SMALL_MM = 2.5
_COPY_GAP_MM, _MORE_GAP_MM = 3.5, 7.0
_CORNER_MM, _OUTSIDE_MM = 2.0, 0.25
_STUB_MM = 2.2
_PICTURE_MM = 17.0
"""The height of the boxes with a good stroke and two bad ones."""
_PICTURE_GAP_MM = 7.0
_CARD_ROOM_MM = 60.0
"""Bare paper for a bank card of 54 x 86 mm."""
_ARROW_MM = 9.0
_FINE = Style(stroke_mm=0.15)
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
) -> tuple[Document, tuple[PlacedCell, ...]]:
    """Return the page and its cells.

    Args:
        setup: the page; cells are told in millimetres of the file, which a printer that is corrected for shrinks.
        use: the tip, or ``letters``.
        copies: blocks on the page, each for a marker of its own.
        slants_deg: of the strokes in the upper and the lower row, from the baseline; of letters the hand's, twice.
        x_height_mm: of letters.
        wide: few and wide cells, for the strokes of a wide tip.

    Raises:
        GuidegenError: more copies than four, letters or wide cells in several copies, or a paper too small.
    """
    if not 1 <= copies <= MOST_COPIES or (copies > 1 and (wide or use == "letters")):
        what = "letters" if use == "letters" else "wide boxes"
        wanted = f"1: {what} fill a page of their own" if wide or use == "letters" else f"1 to {MOST_COPIES}"
        raise bad_input("`copies`", "", copies, wanted)
    say = setup.say
    page = frames.frame(setup)
    blocks = _blocks(page.box, use, copies, x_height_mm, say, wide=wide)
    if blocks is None:
        what = f"a swatch page of {copies} blocks" if copies > 1 else "a swatch page"

        def fits(where: Setup) -> bool:
            return _blocks(frames.frame(where).box, use, copies, x_height_mm, say, wide=wide) is not None

        raise GuidegenError(f"{what} does not fit {setup.paper.label}; {setup.suggestion(fits, either_way=True)}")
    with_picture = use not in ("letters", "broad")
    above_mm = _PICTURE_MM + _PICTURE_GAP_MM if with_picture and copies == 1 else 0.0
    head, top = _longest_head(page.box, use, blocks, say, above_mm)
    spare = _spare_mm(page.box, top, blocks)
    left = page.box.left + (page.box.width - blocks[0].width_mm) / 2
    layers = [head]
    if above_mm and spare >= above_mm:
        layers += _picture(Box(left, page.box.bottom, left + blocks[0].width_mm, top), slants_deg[0], say)
        top -= above_mm
        spare -= above_mm
    gap = _COPY_GAP_MM + min(_MORE_GAP_MM, spare / copies)
    cells: list[PlacedCell] = []
    for number, block in enumerate(blocks):
        corner = complex(left, top)
        which = say("swatch.copy", number=number + 1, copies=copies) if copies > 1 else ""
        layers += _drawn(say, block, corner, slants_deg, which, x_height_mm)
        shares = setup.printer.shares(setup.paper) if setup.printer else (1.0, 1.0)
        for cell in block.cells:
            x, y = corner.real + cell.x_mm, page.height_mm - corner.imag + cell.y_mm
            slant = slants_deg[cell.kind == "hairline"]
            size = (cell.width_mm / shares[0], cell.height_mm / shares[1])
            cells.append(PlacedCell(cell.kind, number, 1, x / shares[0], y / shares[1], *size, slant))
        top -= block.height_mm + gap
    if with_picture and not above_mm:
        layers += _picture(Box(left, page.box.bottom, left + blocks[0].width_mm, top - 1.0), slants_deg[0], say)
    key = "swatch.description_letters" if use == "letters" else "swatch.description"
    said = say(key, paper=setup.paper_label)
    document = frames.document(setup, [(page, merged(layers))], say("swatch.page_title"), said, ())
    return document, tuple(cells)


def letter_room_mm(x_height_mm: float) -> tuple[float, float]:
    """Return the width and height of a box that one ``e`` of that x-height is written in with ease."""
    return 1.3 * x_height_mm + 4.0, 1.3 * x_height_mm + 3.0


def _blocks(
    box: Box, use: Use, copies: int, x_height_mm: float | None, say: Phrases, *, wide: bool
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
            if _spare_mm(box, _head(box, use, found[0], say)[1], found) >= 0:
                return found
    return None


def _spare_mm(box: Box, top: float, blocks: Sequence[SwatchBlock]) -> float:
    """Return the height that is left below blocks from ``top`` on, as near to each other as they may stand."""
    height = sum(block.height_mm + _COPY_GAP_MM for block in blocks) - _COPY_GAP_MM
    return top - height - box.bottom


def _longest_head(
    box: Box, use: Use, blocks: Sequence[SwatchBlock], say: Phrases, above_mm: float
) -> tuple[Layer, float]:
    """Return the head with the most steps that leave room for the blocks; a bank card needs room below its own."""
    last = "step_check" if use == "letters" else "step_measure"
    choices: list[tuple[tuple[str, ...], float]] = [((last,), 0.0)]
    if use != "letters" and len(blocks) == 1:
        choices.insert(0, (("step_card", last), above_mm + _CARD_ROOM_MM))
    for further, room_mm in choices:
        head = _head(box, use, blocks[0], say, further)
        if _spare_mm(box, head[1], blocks) >= room_mm:
            return head
    return _head(box, use, blocks[0], say)


def _head(box: Box, use: Use, block: SwatchBlock, say: Phrases, further: Sequence[str] = ()) -> tuple[Layer, float]:
    """Return title and steps, and the height at which the first block begins.

    ``further``: the steps that come after the picture, with which a page also says what to leave clean; a small one
    does without.
    """
    size = 6.4 if box.width > 120 else 4.4
    left = box.left + (box.width - block.width_mm) / 2
    y = box.top - ASCENT * size
    title = say("swatch.title_letters" if use == "letters" else "swatch.title")
    words: list[Item] = [label(title, complex(left, y), size, weight=STRONG)]
    y -= 1.1 * size
    small = box.width < 120
    text, pitch = (_SMALL_MM, 3.4) if small else (_TEXT_MM, _TEXT_LINE_MM)
    steps = [say(f"swatch.step_{use}"), say("swatch.step_picture")]
    if further:
        steps.insert(1, say("swatch.step_clean"))
        steps += [say(f"swatch.{key}") for key in further]
    for number, step in enumerate(steps, start=1):
        words.append(label(str(number), complex(left, y), text, weight=STRONG))
        for line in wrapped(step, block.width_mm - 5.0, text):
            words.append(label(line, complex(left + 5.0, y), text))
            y -= pitch
    return Layer(Purpose.LABELS, tuple(words)), y - (0.5 if small or block.low else 4.0)


def _row_words(say: Phrases, use: Use, rows: int) -> list[tuple[str, ...]]:
    """Return what stands over each row, longest first."""
    if use == "letters":  # every box is for the same, as the title says
        return []
    special = {"broad": ("across", "along"), "round": ("one",)}
    names = special.get(use, ("press", "push"))
    return [(say(f"swatch.{name}"), say(f"swatch.{name}_short")) for name in names[:rows]]


def _drawn(
    say: Phrases,
    block: SwatchBlock,
    corner: complex,
    slants_deg: Sequence[float],
    which: str,
    x_height_mm: float | None,
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
    if block.use == "letters":
        cells += [line for cell in block.cells for line in _sides(cell, at(complex(cell.x_mm, cell.y_mm)))]
    words, arrows, rules = _strip_words(say, block, at, slants_deg, which, x_height_mm)
    layers = [
        Layer(Purpose.FIDUCIALS, tuple(marks)),
        Layer(Purpose.COMB, tuple(comb)),
        Layer(Purpose.CELLS, tuple(cells)),
        Layer(Purpose.LABELS, tuple(words)),
        Layer(Purpose.ARROWS, tuple(arrows)),
        Layer(Purpose.BLANKS, tuple(rules)),
    ]
    if block.use == "letters" and x_height_mm is not None:
        layers.append(Layer(Purpose.LINES, tuple(_stubs(block, at, x_height_mm))))
    return layers


def _strip_words(
    say: Phrases,
    block: SwatchBlock,
    at: Callable[[complex], complex],
    slants_deg: Sequence[float],
    which: str,
    x_height_mm: float | None,
) -> tuple[list[Item], list[Item], list[Item]]:
    """Return the words, arrows and blanks that stand between the rings."""
    gap = block.rings[1].real - block.rings[0].real
    room = gap - RING_MM - 3.0
    words: list[Item] = []
    arrows: list[Item] = []
    rules: list[Item] = []

    def foot(column: int, strip: int) -> complex:
        return at(complex(column * gap + RING_MM + 1.5, block.strips_mm[strip] + RING_MM / 2 + 0.9))

    for row, choices in enumerate(_row_words(say, block.use, block.rows)):
        text = next((t for t in choices if label_width_mm(t, _SMALL_MM) <= room - _ARROW_MM), "")
        words.append(label(text, foot(0, row), _SMALL_MM))
        if label_width_mm(text, _SMALL_MM) + _ARROW_MM <= room + 2.0:
            start = foot(0, row) + label_width_mm(text, _SMALL_MM) + 2.0
            arrows += _arrow(start, slants_deg[row], up=row == 1)
    for column, name in ((1, say("swatch.marker")), (2, say("swatch.paper"))):
        foot_at = foot(column, 0)
        words.append(label(name, foot_at, _SMALL_MM))
        start = foot_at + label_width_mm(name, _SMALL_MM) + 1.0
        rules.append(Line(start - 0.3j, complex(foot_at.real + room, start.imag - 0.3), _FINE))
    told = [which] if which else []
    if block.use == "letters" and x_height_mm is not None:
        told.append(say("swatch.x_height", size=mm_text(x_height_mm, say)))
    if told:
        words.append(label(", ".join(told), foot(2, 2), _SMALL_MM))
    sizes = say.number(" · ".join(f"{width:g}" for width in BARS_MM))
    bar_words = (say("swatch.bars", sizes=sizes), f"{sizes} mm", "")
    words.append(label(next(t for t in bar_words if label_width_mm(t, _SMALL_MM) <= room), foot(1, 2), _SMALL_MM))
    return [word for word in words if not isinstance(word, Shape) or word.paths], arrows, rules


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
    styles = line_styles(x_height_mm)
    lines = []
    for number, cell in enumerate(block.cells):
        baseline = cell.y_mm + (cell.height_mm + x_height_mm) / 2
        for role, height in (("x-height", x_height_mm), ("baseline", 0.0)):
            for x in (cell.x_mm, cell.x_mm + cell.width_mm - _STUB_MM):
                start = at(complex(x, baseline - height))
                lines.append(Line(start, start + _STUB_MM, styles[role], role, number + 1))
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


def _picture(box: Box, slant_deg: float, say: Phrases) -> list[Layer]:
    """Return a good stroke and two that cannot be measured, each in a box with words beside it, where there is room."""
    height, width = _PICTURE_MM, 13.0
    if box.height < height + 2.0 or box.width < 110:
        return []
    said = (say("swatch.good"), say("swatch.lost"), say("swatch.out"))
    step = box.width / len(said)
    shapes: list[Item] = []
    words: list[Item] = []
    cells: list[Item] = []
    for number, text in enumerate(said):
        corner = complex(box.left + number * step, box.top)
        cell = SwatchCell("downstroke", 0.0, 0.0, width, height)
        cells += _corners(cell, corner)
        middle = corner + complex(width / 2, -height / 2)
        reach = 8.5 if number == 2 else 6.0
        shapes.append(Shape((_example(middle, slant_deg, reach, tapering=number == 1),), _BLACK))
        lines = wrapped(text, step - width - 5.0, _SMALL_MM)
        first = middle + complex(width / 2 + 2.5, (len(lines) - 1) * 1.8 - 0.8)
        words += [label(line, first - 3.6j * n, _SMALL_MM) for n, line in enumerate(lines)]
    made = ((Purpose.CELLS, cells), (Purpose.STROKES, shapes), (Purpose.LABELS, words))
    return [Layer(purpose, tuple(found)) for purpose, found in made]


def _example(middle: complex, slant_deg: float, reach: float, *, tapering: bool) -> Path:
    """Return the outline of a drawn stroke: even with soft ends, or losing its width from half of its way on."""
    along = cmath.exp(1j * math.radians(slant_deg))
    sides: list[complex] = []
    back: list[complex] = []
    count = 48
    for n in range(count + 1):
        s = 1 - 2 * n / count
        ends = min(1.0, ((1 - abs(s)) / 0.16)) if abs(s) > 0.84 else 1.0
        half = 1.3 * math.sqrt(max(0.0, ends * (2 - ends)))
        if tapering and s < 0.35:
            half *= max(0.16, 1 - 0.95 * (0.35 - s) / 1.1)
        centre = middle + along * reach * s
        sides.append(centre - 1j * along * half)
        back.append(centre + 1j * along * half)
    return polyline([*back, *reversed(sides)], closed=True)
