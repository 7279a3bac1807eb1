"""The picture that teaches the rule: one word in every marker at one size, and again each at its right size.

At one size thick markers close up and thin ones look weak; each at its own size, all of them look right.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from itertools import pairwise
from typing import Literal

from guidegen.errors import GuidegenError
from guidegen.lettering.lettering import Lettering
from guidegen.lettering.letters import SAMPLE_LETTER
from guidegen.lettering.sizing import SampleCounter, counter_at, right_size
from guidegen.scene import BLACK, Document, Item, Layer, Line, Page, Placed, Purpose, Shape, Style, hull_bounds
from guidegen.sheets.parts import frame as frames
from guidegen.sheets.parts.figures import mm_text, white_words
from guidegen.sheets.parts.forms import written
from guidegen.sheets.parts.frame import Setup, holding
from guidegen.sheets.parts.labels import STRONG, label, label_width_mm, wrapped
from guidegen.sheets.parts.line_breaking import Breaks, Word, break_evenly, line_width
from guidegen.sheets.parts.page_head import Title, page_head, running_head
from guidegen.sheets.parts.phrases import Phrases
from guidegen.sheets.parts.rows import heights_of, row_lines
from guidegen.sheets.parts.words import ink_of, left_of, over_of, width_of

DEFAULT_WORD = "tide"
_HEADING_MM = 3.4
_TEXT_MM = 2.5
_LINE_MM = 3.5
_GAPS_MM = (9.0, 7.0, 5.0)
_WHITE_MM = ((5.0, 9.0), (3.0, 5.0))
"""White between rows and between sections: the usual, and what is enough where it saves a page."""
_MORE_WHITE_MM = 9.0
_LEAST_WIDTH_MM = 27.0
_WORDS_WIDTH_MM = 38.0
_INK = Style(fill=BLACK)


@dataclass(frozen=True, slots=True)
class Verdict:
    """What a marker's letters are at a size: ``closed``, ``right`` or ``weak``, and the measure behind it in words."""

    look: Literal["closed", "right", "weak"]
    measure: str


_LOOKS: dict[str, Literal["closed", "right", "weak"]] = {
    "too small": "closed", "right": "right", "too large": "weak"
}  # fmt: skip


def verdict(lettering: Lettering, say: Phrases) -> Verdict:
    """Return what the sample letter's counter says of a lettering at its x-height."""
    size = right_size(lettering.marker, lettering.hand)
    counter = _counter(lettering)
    look = _LOOKS[size.verdict(lettering.x_height_mm)]
    count = say.number(f"{lettering.x_height_mm / lettering.marker.downstroke_mm:.2g}")
    if size.rule == "nib widths":
        return Verdict(look, say("compare.nib_widths", count=count))
    if size.rule == "line height":
        return Verdict(look, say("compare.line_widths", count=count))
    white = white_words(counter.ratio if counter else None, say)
    return Verdict(look if counter else "closed", white)


def _counter(lettering: Lettering) -> SampleCounter | None:
    if SAMPLE_LETTER not in lettering.hand.letters:
        return None
    return counter_at(lettering)


@dataclass(frozen=True, slots=True)
class _Cell:
    """A word in one lettering with the lines that stand below it."""

    lettering: Lettering
    text: str
    below: tuple[str, ...]

    @property
    def width_mm(self) -> float:
        words = max(label_width_mm(line, _TEXT_MM, STRONG) for line in self.below)
        return max(width_of(self.lettering, self.text) + 3.0, words, _LEAST_WIDTH_MM)


@dataclass(frozen=True, slots=True)
class _Band:
    """Cells side by side on one baseline, under a heading where a section begins."""

    cells: tuple[_Cell, ...]
    gap_mm: float
    heading: str = ""
    shallow: bool = False
    """Leave the descender lines out, for nothing reaches down to them, and the words stand right below the baseline."""

    @property
    def ascender_mm(self) -> float:
        return max(heights_of(cell.lettering).ascender_mm + over_of(cell.lettering, cell.text) for cell in self.cells)

    @property
    def depth_mm(self) -> float:
        return max((_below_mm if self.shallow else _descender_mm)(cell) for cell in self.cells)

    @property
    def height_mm(self) -> float:
        words = max(len(cell.below) for cell in self.cells) * _LINE_MM
        return (
            (_HEADING_MM + 3.0 if self.heading else 0.0)
            + self.ascender_mm
            + self.depth_mm
            + 1.5
            + words
        )


def _descender_mm(cell: _Cell) -> float:
    return heights_of(cell.lettering).descender_mm


def _below_mm(cell: _Cell) -> float:
    """Return how far the ink of a cell reaches below the baseline."""
    return max(0.0, -hull_bounds((Shape(ink_of(cell.lettering, cell.text), _INK),))[0].imag)


@dataclass(slots=True)
class _Sheet:
    lines: list[Line] = field(default_factory=list)
    words: dict[str, list[Item]] = field(default_factory=dict)
    labels: list[Item] = field(default_factory=list)


def compare(
    letterings: Sequence[Lettering], setup: Setup, text: str = DEFAULT_WORD, x_height_mm: float | None = None
) -> Document:
    """Return the comparison of ``letterings``, each given at its right size.

    Args:
        letterings: the markers; the one in the middle by downstroke sets the one size, unless
        x_height_mm: sets it.
        setup: the paper.
        text: one word.

    Raises:
        GuidegenError: when a word is wider than the paper; the message names the smallest that would do.
    """
    ordered = sorted(letterings, key=lambda one: (one.marker.downstroke_mm, one.marker.name))
    one_size = x_height_mm or ordered[(len(ordered) - 1) // 2].x_height_mm
    page = frames.frame(setup)
    say = setup.say
    alike = [one.at(one_size) for one in ordered]
    same = [_Cell(one, text, (say.label(one.marker.label), verdict_words(one, say))) for one in alike]
    if sum(cell.width_mm + _GAPS_MM[0] for cell in same) > page.box.width + _GAPS_MM[0]:
        same = [_Cell(one, text, _below(one, text, verdict_words(one, say), say)) for one in alike]
    right = [_Cell(one, text, _below(one, text, _x_height_words(one, say), say)) for one in ordered]
    for cell in (*same, *right):
        if cell.width_mm > page.box.width:
            raise _too_wide(cell, setup)
    bands = [
        *_bands(same, page.box.width, say("compare.one_size", size=mm_text(one_size, say))),
        *_bands(right, page.box.width, say("compare.right_size")),
    ]
    title = say("compare.title", text=text)
    caption = say("compare.caption")
    if SAMPLE_LETTER not in text:
        caption += " " + say("compare.measured_on", letter=SAMPLE_LETTER)
    return frames.finished(_pages(bands, setup, page, title, caption), setup)


def _below(one: Lettering, text: str, measure: str, say: Phrases) -> tuple[str, ...]:
    """Return the lines below a word: the marker, and what is measured, broken where the word is narrow."""
    room = max(width_of(one, text), _WORDS_WIDTH_MM)
    return say.label(one.marker.label), *wrapped(measure, room, _TEXT_MM)


def verdict_words(one: Lettering, say: Phrases) -> str:
    """Return the verdict in a line."""
    found = verdict(one, say)
    return say("compare.verdict", verdict=say(f"compare.{found.look}"), measure=found.measure)


def _x_height_words(one: Lettering, say: Phrases) -> str:
    return say("head.x_height", size=mm_text(one.x_height_mm, say))


def _too_wide(cell: _Cell, setup: Setup) -> GuidegenError:
    size = mm_text(cell.lettering.x_height_mm)
    return GuidegenError(
        f"{setup.paper.label}: {cell.text!r} in {cell.lettering.marker.name} is {cell.width_mm:.0f} mm wide at "
        f"x-height {size}; {setup.suggestion(holding(cell.width_mm, 0.0))}, or use a shorter `text`"
    )


def _bands(cells: Sequence[_Cell], width: float, heading: str) -> list[_Band]:
    """Return the cells in as few bands as hold them, evenly filled, and as far apart as that allows."""
    breaks = min(
        (_breaks(cells, width, gap) for gap in _GAPS_MM),
        key=lambda found: len(found[0]),  # the widest gap comes first and wins a tie
    )
    ranges, gap = breaks
    return [
        _Band(tuple(cells[first:stop]), gap, heading if number == 0 else "")
        for number, (first, stop) in enumerate(ranges)
    ]


def _breaks(cells: Sequence[_Cell], width: float, gap: float) -> tuple[Breaks, float]:
    words = [Word(cell.lettering.marker.name, cell.width_mm, gap) for cell in cells]
    found = break_evenly(words, width)
    assert found is not None, "no cell is wider than the page: that was checked before"
    alike = _alike_many(len(words), len(found))
    return alike if all(line_width(words, *line) <= width for line in alike) else found, gap


def _alike_many(count: int, bands: int) -> Breaks:
    """Return bands of alike many cells, the first ones with one more where they don't come out even."""
    ends = [math.ceil(count * number / bands) for number in range(bands + 1)]
    return tuple(pairwise(ends))


def _pages(bands: Sequence[_Band], setup: Setup, page: frames.Frame, title: str, caption: str) -> Document:
    say = setup.say
    head = Title(title, caption, 1, 1, name_line=False, say=say)
    _, first = page_head(page.box, head)
    _, further = running_head(page.box, head)
    for band in bands:
        used = first if band is bands[0] else further
        if used + band.height_mm > page.box.height + 1e-9:
            advice = setup.suggestion(holding(page.box.width, used + band.height_mm))
            raise GuidegenError(f"{setup.paper.label}: {title} does not fit; {advice}")
    rooms = page.box.height - first, page.box.height - further
    tried = [(bands, white) for white in _WHITE_MM] + [(_shallow(bands), white) for white in _WHITE_MM]
    parts, white = min(((_parted(some, rooms, white), white) for some, white in tried), key=lambda found: len(found[0]))
    made = []
    for number, part in enumerate(parts, start=1):
        here = Title(title, caption, number, len(parts), name_line=False, say=say)
        items, used = page_head(page.box, here) if number == 1 else running_head(page.box, here)
        spare = page.box.height - used - _stacked_mm(part, white)
        more = max(0.0, min(_MORE_WHITE_MM, spare / len(part)))
        sheet = _drawn(part, page.box.left, page.box.top - used, (white[0] + more, white[1] + more))
        layers = (
            Layer(Purpose.LINES, tuple(sheet.lines)),
            *(Layer(Purpose.INK, tuple(words), marker) for marker, words in sheet.words.items()),
            Layer(Purpose.LABELS, (*items, *sheet.labels)),
            Layer(Purpose.PROOF, page.proof),
        )
        made.append(
            Page(
                page.width_mm,
                page.height_mm,
                tuple(layer for layer in layers if layer.items),
                title,
                caption,
                bookmark=title if len(parts) == 1 else say("head.titled_number", title=title, page=number),
            )
        )
    return Document(tuple(made), title, caption)


def _parted(bands: Sequence[_Band], rooms: tuple[float, float], white: tuple[float, float]) -> list[list[_Band]]:
    """Return the bands page by page; ``rooms`` are the heights of the first page and of a further one.

    What is compared stays together: where one page doesn't hold both sections but each fits one, each has its own.
    """
    second = next((place for place, band in enumerate(bands) if place and band.heading), 0)
    sections = [list(bands[:second]), list(bands[second:])]
    each_fits = all(_stacked_mm(part, white) <= room + 1e-9 for part, room in zip(sections, rooms, strict=True))
    if second and each_fits and _stacked_mm(bands, white) > rooms[0] + 1e-9:
        return sections
    parts: list[list[_Band]] = [[]]
    for band in bands:
        if parts[-1] and _stacked_mm([*parts[-1], band], white) > rooms[len(parts) > 1] + 1e-9:
            parts.append([])
        parts[-1].append(band)
    return parts


def _shallow(bands: Sequence[_Band]) -> list[_Band]:
    """Return the bands without descender lines, where their word has nothing that reaches far down."""
    return [
        replace(band, shallow=True) if all(_below_mm(cell) < 0.3 * _descender_mm(cell) for cell in band.cells) else band
        for band in bands
    ]


def _stacked_mm(bands: Sequence[_Band], white: tuple[float, float]) -> float:
    return sum(band.height_mm for band in bands) + sum(white[bool(band.heading)] for band in bands[1:])


def _drawn(bands: Sequence[_Band], left: float, top: float, white: tuple[float, float]) -> _Sheet:
    sheet = _Sheet()
    y, row = top, 0
    for number, band in enumerate(bands):
        if number:
            y -= white[bool(band.heading)]
        bottom = y - band.height_mm
        if band.heading:
            sheet.labels.append(label(band.heading, complex(left, y - 0.7 * _HEADING_MM), _HEADING_MM, weight=STRONG))
            y -= _HEADING_MM + 3.0
        baseline = y - band.ascender_mm
        depth = band.depth_mm
        x = left
        for cell in band.cells:
            row += 1
            width = cell.width_mm
            heights = heights_of(cell.lettering)
            heights = replace(heights, descender_mm=0.0) if band.shallow else heights
            sheet.lines += row_lines(heights, complex(x, baseline), x + width, row)
            at = complex(x + 1.5 - left_of(cell.lettering, cell.text), baseline)
            words = sheet.words.setdefault(cell.lettering.marker.name, [])
            words.append(Placed(written(cell.lettering, cell.text, "solid"), at))
            for line_number, line in enumerate(cell.below):
                below = complex(x, baseline - depth - 1.5 - (line_number + 0.72) * _LINE_MM)
                sheet.labels.append(label(line, below, _TEXT_MM, weight=STRONG if line_number == 0 else 400))
            x += width + band.gap_mm
        y = bottom
    return sheet
