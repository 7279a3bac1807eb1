"""Practice rows that fade by form, from the model to the learner's own hand.

By default a text goes through solid, hollow, dotted and starts only, and ends in copying and in writing from
memory: copying beat tracing in Hirsch and Niedermeyer (1973) and in Askov and Greff (1975), and numbered arrows
with writing from memory did best of the treatments in Berninger et al. (1997).
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import lru_cache
from itertools import pairwise
from typing import Literal

from guidegen.errors import GuidegenError, bad_input
from guidegen.printers import corrected
from guidegen.scene import BLACK, Document, Ink, Item, Layer, Line, Page, Placed, Symbol, grey
from guidegen.sheets import frame as frames
from guidegen.sheets.classroom import Title, page_head, running_head, title_fits, title_items
from guidegen.sheets.figures import degrees_text, mm_text
from guidegen.sheets.forms import Form, as_symbol, letter_by_letter, start_ring_mm, written
from guidegen.sheets.frame import Box, Frame, Setup
from guidegen.sheets.labels import Anchor, label
from guidegen.sheets.lettering import DRILL, Lettering, holding, joined_words
from guidegen.sheets.line_breaking import break_evenly
from guidegen.sheets.rows import row_lines, slant_lines
from guidegen.sheets.stroke_order import marks_for, stroke_order
from guidegen.sheets.tiles import moved

RowKind = Literal["solid", "hollow", "dotted", "starts", "blank", "copy", "memory"]
ROW_KINDS: tuple[RowKind, ...] = ("solid", "hollow", "dotted", "starts", "blank", "copy", "memory")
DRILL_ROWS: tuple[RowKind, ...] = ("solid", "hollow", "dotted", "starts", "blank")
DEFAULT_ROWS: tuple[RowKind, ...] = ("solid", "hollow", "dotted", "starts", "copy", "memory")
WORDS: dict[str, str] = {
    "solid": "Look",
    "hollow": "Fill in",
    "dotted": "Follow the dots",
    "starts": "Begin at the rings",
    "blank": "Write",
    "copy": "Copy",
    "below": "Copy it here",
    "more": "",
    "memory": "From memory, with the rows above covered",
}
LABEL_MM = 2.5
_GROUP_GAP_MM = 5.0
"""White that parts the rows of one text from those of the next."""
_LABEL_ROOM_MM = 6.0
_BESIDE_SHARE = 0.48
_NOT_DRILLS = ("in", "out", "cap", "dot", "comma", "serif", "hook", "tick", "mark")


@dataclass(frozen=True, slots=True)
class Practice:
    """What is practised with one marker.

    ``texts`` are lines or letters, each with rows of its own; a text that begins with ``DRILL`` names a basic
    stroke. ``repeats`` is how often a text stands in a row, None for as often as fits. ``tint`` (0..1) prints the
    rows to trace in grey. With ``by_letter`` words are set from letters that all sheets share,
    so that a file of a thousand names holds each letter once; ``drawn`` names those whose artwork is in the file
    already. With ``fill_page`` what is left of a page becomes bare rows.
    """

    lettering: Lettering
    texts: tuple[str, ...]
    rows: tuple[RowKind, ...] = DEFAULT_ROWS
    repeats: int | None = 1
    arrows: bool = False
    left_handed: bool = False
    tint: float | None = None
    by_letter: bool = False
    fill_page: bool = False
    drawn: frozenset[str] = frozenset()
    slants_deg: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class Dress:
    """What a sheet says beside the rows, and how much wider the margin is at the binding edge."""

    title: str = ""
    note: str = ""
    name_line: bool = True
    binding_mm: float = 0.0


@dataclass(frozen=True, slots=True)
class _Row:
    kind: str
    text: str
    count: int = 1
    pitch_mm: float = 0.0
    arrows: bool = False
    group: int = 0


@dataclass(slots=True)
class _Sheet:
    """Collects what stands on one page."""

    lines: list[Line] = field(default_factory=list)
    ink: list[Item] = field(default_factory=list)
    trace: list[Item] = field(default_factory=list)
    labels: list[Item] = field(default_factory=list)
    arrows: list[Item] = field(default_factory=list)

    def layers(self, marker: str) -> tuple[Layer, ...]:
        slanted = tuple(line for line in self.lines if line.role == "slant")
        ruled = tuple(line for line in self.lines if line.role != "slant")
        made = (
            Layer("slant", slanted),
            Layer("lines", ruled),
            Layer("ink", tuple(self.ink), marker),
            Layer("trace", tuple(self.trace), marker),
            Layer("arrows", tuple(self.arrows)),
            Layer("labels", tuple(self.labels)),
        )
        return tuple(layer for layer in made if layer.items)


def drill_names(lettering: Lettering) -> tuple[str, ...]:
    """Return the basic strokes of the hand that are worth a row: those that reach from line to line."""
    names = []
    for name, nodes in lettering.hand.strokes.items():
        heights = [node.at.imag for node in nodes]
        tall = max(heights) - min(heights) > 0.85
        if tall and not name.split("-")[0].startswith(_NOT_DRILLS):
            names.append(name)
    return tuple(names)


def worksheet(practices: Sequence[Practice], setup: Setup, dress: Dress | None = None) -> Document:
    """Return the practice sheets: as many pages as the rows take, each marker beginning a new one.

    Raises:
        GuidegenError: when not even one row or one letter fits; the message names the smallest paper.
    """
    dress = dress or Dress()
    notes: list[str] = []
    pages = tuple(page for practice in practices for page in practice_pages(practice, setup, dress, notes))
    title = pages[0].title if len(practices) == 1 else dress.title or "Practice"
    description = f"{len(pages)} practice pages at true scale on {setup.paper.label}."
    return Document(pages, title, description, tuple(dict.fromkeys(notes)))


def practice_pages(practice: Practice, setup: Setup, dress: Dress, notes: list[str]) -> tuple[Page, ...]:
    """Return the pages of one practice, corrected for the printer; what is worth telling is added to ``notes``."""
    page = _frame(setup)
    box = _inside_binding(page.box, dress.binding_mm, mirrored=practice.left_handed)
    rows = _all_rows(practice, box, setup, dress.binding_mm, notes)
    title = dress.title or _title(practice)
    head = Title(title, _caption(practice), 1, 1, dress.name_line, practice.left_handed, dress.note)
    _, first = _head(box, head, shared=practice.by_letter)
    _, further = running_head(box, head)
    sheets = _paginated(rows, practice, (box.height - first, box.height - further), setup, page)
    made = []
    for number, part in enumerate(sheets, start=1):
        here = replace(head, page=number, pages=len(sheets))
        items, used = _head(box, here, shared=practice.by_letter)
        layers = _laid(part, practice, box, box.top - used, items)
        made.append(_page(page, layers, title, number, len(sheets), setup, shared=practice.by_letter))
    return tuple(corrected(Document(tuple(made), title), setup.printer).pages)


def _page(
    page: Frame, layers: tuple[Layer, ...], title: str, number: int, pages: int, setup: Setup, *, shared: bool
) -> Page:
    proof = (Layer("proof", _proof(setup) if shared else page.proof),) if page.proof else ()
    numbered = title if pages == 1 else f"{title}, page {number} of {pages}"
    description = f"Practice rows at true scale on {setup.paper.label}."
    return Page(page.width_mm, page.height_mm, (*layers, *proof), numbered, description, bookmark=numbered)


def _inside_binding(box: Box, binding_mm: float, *, mirrored: bool) -> Box:
    if mirrored:
        return Box(box.left, box.bottom, box.right - binding_mm, box.top)
    return Box(box.left + binding_mm, box.bottom, box.right, box.top)


def _title(practice: Practice) -> str:
    shown = [text.removeprefix(DRILL) for text in practice.texts]
    if all(text.startswith(DRILL) for text in practice.texts):
        return "Basic strokes"
    joined = " ".join(shown)
    return joined if len(joined) <= 60 else joined[:59].rstrip() + "…"


def _caption(practice: Practice) -> str:
    lettering = practice.lettering
    slants = practice.slants_deg or (lettering.hand.slant_deg,)
    parts = (
        lettering.marker.label,
        lettering.hand.label,
        f"x-height {mm_text(lettering.x_height_mm)}",
        "slant " + " and ".join(degrees_text(slant) for slant in slants),
    )
    return "  ·  ".join(parts)


def _gap_mm(lettering: Lettering) -> float:
    """Return the white between rows: the hand's, and at least enough for the row's words."""
    return max(_LABEL_ROOM_MM, lettering.hand.row_gap * lettering.x_height_mm)


def _indent_mm(practice: Practice) -> float:
    """Return the white between a row's ends and what stands in it; numbered rings need room beside a letter."""
    lettering = practice.lettering
    marks = marks_for(lettering.x_height_mm)
    return max(min(4.0, 0.2 * lettering.x_height_mm), 2.6 * marks.ring_mm if practice.arrows else 0.0)


def _room_mm(practice: Practice, box: Box) -> float:
    return box.width - 2 * _indent_mm(practice)


def _all_rows(practice: Practice, box: Box, setup: Setup, binding_mm: float, notes: list[str]) -> list[_Row]:
    room = _room_mm(practice, box)
    rows: list[_Row] = []
    lines = [line for text in practice.texts for line in _broken(practice, text, room, setup, binding_mm, notes)]
    for group, text in enumerate(lines):
        rows += [replace(row, group=group) for row in _rows_of(practice, text, room)]
    return rows


def _broken(
    practice: Practice, text: str, room: float, setup: Setup, binding_mm: float, notes: list[str]
) -> list[str]:
    """Return ``text`` as lines that fit: broken at words, and inside a word that no line can hold."""
    lettering = practice.lettering
    if text.startswith(DRILL) or lettering.width(text) <= room:
        if lettering.width(text) > room:
            raise _too_wide(practice, text, setup, binding_mm)
        return [text]
    words, cut = lettering.words(text, room)
    if any(word.width > room for word in words):
        raise _too_wide(practice, max(words, key=lambda word: word.width).text, setup, binding_mm)
    notes += [f"{word!r} is wider than a row and was cut where the row ends" for word in cut]
    breaks = break_evenly(words, room)
    assert breaks is not None, "every word fits, so a breaking exists"
    lines = [joined_words(words[first:stop]) for first, stop in breaks]
    # A joined line may reach a little further than its words add up to.
    widest = max(lettering.width(line) for line in lines)
    if widest > room + 1e-6:
        tighter = break_evenly(words, room - (widest - room) - 0.01)
        lines = [joined_words(words[first:stop]) for first, stop in tighter] if tighter else lines
    return lines


def _too_wide(practice: Practice, text: str, setup: Setup, binding_mm: float) -> GuidegenError:
    lettering = practice.lettering
    needed = lettering.width(text) + 2 * _indent_mm(practice) + binding_mm
    shown = text.removeprefix(DRILL)
    return GuidegenError(
        f"{setup.paper.label}: {shown!r} is {lettering.width(text):.0f} mm wide at x-height "
        f"{mm_text(lettering.x_height_mm)} and no row holds it; {setup.suggestion(holding(needed, 0.0))}"
    )


def _rows_of(practice: Practice, text: str, room: float) -> Iterator[_Row]:
    lettering = practice.lettering
    width = lettering.width(text)
    count, pitch = _repeats(practice, text, room)
    first = True
    for kind in practice.rows:
        if kind in ("blank", "memory"):
            yield _Row(kind, text, 0)
        elif kind == "copy":
            beside = width <= _BESIDE_SHARE * room
            yield _Row("copy", text)
            if not beside:
                yield _Row("below", text, 0)
        else:
            yield _Row(kind, text, count, pitch, practice.arrows and first)
            first = False


def _repeats(practice: Practice, text: str, room: float) -> tuple[int, float]:
    """Return how often ``text`` stands in a row and the distance from one to the next."""
    lettering = practice.lettering
    width = lettering.width(text)
    gap = max(0.8 * lettering.x_height_mm, lettering.word_space_mm)
    if practice.arrows:
        gap = max(gap, 5.0 * marks_for(lettering.x_height_mm).ring_mm)
    fitting = max(1, math.floor((room + gap) / (width + gap)))
    if practice.repeats is None:
        count = fitting
    elif practice.repeats > fitting:
        raise bad_input("--repeats", "", practice.repeats, f"at most {fitting} for {text.removeprefix(DRILL)!r} here")
    else:
        count = practice.repeats
    pitch = (room - width) / (count - 1) if count >= 4 and practice.repeats is None else width + gap
    return count, pitch


def _paginated(
    rows: list[_Row], practice: Practice, heights: tuple[float, float], setup: Setup, page: Frame
) -> list[list[_Row]]:
    """Return the rows page by page; rows of one text stay together where a page holds them.

    ``heights`` is the room on the first page and on a further one.
    """
    lettering = practice.lettering
    pitch = lettering.heights.row_mm + _gap_mm(lettering)
    if min(heights) < pitch - 1e-9:
        needed = page.box.height - min(heights) + pitch
        raise GuidegenError(
            f"{setup.paper.label}: no row of {mm_text(lettering.heights.row_mm)} fits; "
            f"{setup.suggestion(holding(0.0, needed))}"
        )
    pages: list[list[_Row]] = [[]]
    groups: dict[int, list[_Row]] = {}
    for row in rows:
        groups.setdefault(row.group, []).append(row)

    def fits(more: Sequence[_Row]) -> bool:
        return _height_mm([*pages[-1], *more], pitch) <= heights[len(pages) > 1] + 1e-9

    def fill() -> None:
        """Put bare rows on what is left of the page, for more of the text last practised there."""
        last = pages[-1][-1]
        bare = replace(last, kind="more" if last.kind == "blank" else "blank", count=0, arrows=False)
        while practice.fill_page and fits([bare]):
            pages[-1].append(bare)
            bare = replace(bare, kind="more")

    for group in groups.values():
        if pages[-1] and not fits(group) and _height_mm(group, pitch) <= heights[1]:
            fill()
            pages.append([])
        for row, following in zip(group, [*group[1:], None], strict=True):
            # A model to copy stays on one page with the row below it.
            pair = [row, following] if following is not None and following.kind == "below" else [row]
            if pages[-1] and not fits(pair):
                pages.append([])
            pages[-1].append(row)
    fill()
    return pages


def _height_mm(rows: Sequence[_Row], pitch: float) -> float:
    parts = sum(here.group != before.group for before, here in pairwise(rows))
    return len(rows) * pitch + parts * _GROUP_GAP_MM


def _laid(rows: Sequence[_Row], practice: Practice, box: Box, top: float, head: Sequence[Item]) -> tuple[Layer, ...]:
    lettering = practice.lettering
    pitch = lettering.heights.row_mm + _gap_mm(lettering)
    baselines = tuple(
        top - _height_mm(rows[:number], pitch) + lettering.heights.descender_mm for number in range(1, len(rows) + 1)
    )
    slants = practice.slants_deg or (lettering.hand.slant_deg,)
    kinds = tuple(row.kind for row in rows)
    lines, words = _furniture(lettering, box, baselines, kinds, slants, practice.left_handed)
    sheet = _Sheet(list(lines), labels=[*head, *words])
    if practice.by_letter:
        shared = _shared_furniture(lettering, box, baselines, kinds, slants, practice.left_handed)
        sheet = _Sheet(labels=[*head, shared[2]])
    for row, y in zip(rows, baselines, strict=True):
        _fill(sheet, row, practice, box, y)
    layers = sheet.layers(lettering.marker.name)
    return (Layer("slant", shared[:1]), Layer("lines", shared[1:2]), *layers) if practice.by_letter else layers


@lru_cache(maxsize=16)
def _furniture(
    lettering: Lettering,
    box: Box,
    baselines: tuple[float, ...],
    kinds: tuple[str, ...],
    slants: tuple[float, ...],
    left_handed: bool,
) -> tuple[tuple[Line, ...], tuple[Item, ...]]:
    """Return the lines of all rows of a page and the words above each."""
    heights = lettering.heights
    lines: list[Line] = []
    words: list[Item] = []
    side = box.right if left_handed else box.left
    anchor: Anchor = "end" if left_handed else "start"
    for number, (kind, y) in enumerate(zip(kinds, baselines, strict=True), start=1):
        lines += row_lines(heights, complex(box.left, y), box.right, number)
        lines += slant_lines(heights, complex(box.left, y), box.right, number, slants)
        # A ring may stand on the ascender line, so the words keep clear of one.
        at = complex(side, y + heights.ascender_mm + max(1.5, 1.1 + start_ring_mm(lettering)))
        words += [label(WORDS[kind], at, LABEL_MM, anchor=anchor)] if WORDS[kind] else []
    return tuple(lines), tuple(words)


@lru_cache(maxsize=16)
def _shared_furniture(
    lettering: Lettering,
    box: Box,
    baselines: tuple[float, ...],
    kinds: tuple[str, ...],
    slants: tuple[float, ...],
    left_handed: bool,
) -> tuple[Placed, Placed, Placed]:
    """Return slant lines, guide lines and words as symbols, for pages that come by the hundred."""
    lines, words = _furniture(lettering, box, baselines, kinds, slants, left_handed)
    slanted = tuple(line for line in lines if line.role == "slant")
    ruled = tuple(line for line in lines if line.role != "slant")
    return as_symbol(slanted), as_symbol(ruled), as_symbol(words)


def _head(box: Box, head: Title, *, shared: bool) -> tuple[Sequence[Item], float]:
    """Return the head of a page; in ``shared`` pages all but the title is one symbol."""
    if head.page > 1:
        return running_head(box, head)
    if not shared or not title_fits(box, head):
        return page_head(box, head)
    items, used = _untitled(box, replace(head, title=""))
    return (*items, *title_items(box, head)), used


@lru_cache(maxsize=16)
def _untitled(box: Box, head: Title) -> tuple[tuple[Item, ...], float]:
    items, used = page_head(box, head)
    return ((as_symbol(items),) if items else ()), used


@lru_cache(maxsize=8)
def _frame(setup: Setup) -> Frame:
    return frames.frame(setup)


@lru_cache(maxsize=8)
def _proof(setup: Setup) -> tuple[Item, ...]:
    return (as_symbol(_frame(setup).proof),)


def _fill(sheet: _Sheet, row: _Row, practice: Practice, box: Box, y: float) -> None:
    lettering = practice.lettering
    indent = _indent_mm(practice)
    width, left = lettering.width(row.text), lettering.left(row.text)
    form: Form = row.kind if row.kind in ("hollow", "dotted", "starts") else "solid"  # type: ignore[assignment]
    ink: Ink = grey(practice.tint) if practice.tint is not None and form != "solid" else BLACK
    taken = (row.count - 1) * row.pitch_mm + width
    start = box.right - indent - taken if practice.left_handed else box.left + indent
    for number in range(row.count):
        at = complex(start + number * row.pitch_mm - left, y)
        target = sheet.ink if form == "solid" else sheet.trace
        if practice.by_letter:
            letters = letter_by_letter(lettering, row.text, form, ink, practice.drawn)
            target += [Placed(one.symbol, one.at + at) for one in letters]
        else:
            target.append(Placed(written(lettering, row.text, form, ink), at))
    if row.arrows and row.count:
        # The numbered model is the one the writing hand leaves in sight.
        shown = row.count - 1 if practice.left_handed else 0
        sheet.arrows += _order(lettering, row.text, complex(start + shown * row.pitch_mm - left, y), box)


def drawn_letters(practice: Practice, text: str, places: Sequence[int]) -> tuple[Symbol, ...]:
    """Return the artwork of the letters at ``places`` of ``text`` in every form that the practice's rows show."""
    forms: dict[Form, None] = {}
    for kind in practice.rows:
        if kind not in ("blank", "memory"):
            forms[kind if kind in ("hollow", "dotted", "starts") else "solid"] = None
    found: list[Symbol] = []
    for form in forms:
        ink = grey(practice.tint) if practice.tint is not None and form != "solid" else BLACK
        letters = letter_by_letter(practice.lettering, text, form, ink)
        found += [letters[place].symbol for place in places]
    return tuple(found)


def _order(lettering: Lettering, text: str, at: complex, box: Box) -> list[Item]:
    heights = lettering.heights
    room = Box(box.left - at.real, -heights.descender_mm, box.right - at.real, heights.ascender_mm + 0.6)
    marks = stroke_order(lettering.line(text).strokes, marks_for(lettering.x_height_mm), room=room)
    return [moved(item, at) for item in marks]
