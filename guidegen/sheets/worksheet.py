"""Practice sheets: the rows of :mod:`guidegen.sheets.practice` on pages, with head, words and numbered strokes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from functools import lru_cache

from guidegen.lettering.lettering import Lettering
from guidegen.profiles.printers import described
from guidegen.scene import BLACK, Document, Ink, Item, Layer, Line, Page, Placed, Purpose, Symbol, grey, moved
from guidegen.sheets.guides import slants_text
from guidegen.sheets.parts import frame as frames
from guidegen.sheets.parts.figures import mm_text
from guidegen.sheets.parts.forms import Form, as_symbol, letter_by_letter, start_ring_mm, written
from guidegen.sheets.parts.frame import Box, Frame, Setup
from guidegen.sheets.parts.labels import Anchor, label, label_width_mm
from guidegen.sheets.parts.order_pictures import order_pictures, picture_gap_mm, stretched_mm
from guidegen.sheets.parts.page_head import Title, page_head, running_head, title_fits, title_items
from guidegen.sheets.parts.phrases import Phrases, phrases
from guidegen.sheets.parts.rows import heights_of, row_lines, slant_lines
from guidegen.sheets.parts.schemes import CELL_GAP_MM, cell_mm
from guidegen.sheets.parts.stroke_order import marks_for
from guidegen.sheets.parts.words import DRILL, left_of, width_of
from guidegen.sheets.practice import (
    Practice,
    Row,
    all_rows,
    indent_mm,
    paginated,
    stacked_mm,
)

LABEL_MM = 2.5
_MODELS = frozenset(("solid", "hollow", "dotted", "copy"))
"""Kinds of rows in which the letters themselves are seen."""
_LETTERS_APART, _APART_BESIDE = 1.2, 0.5
"""White that letters in pictures have between them beside the usual, in x-heights: at most, and beside room to try."""
_LEAST_TO_TRY = 2.5
"""How many times as wide as its last picture the room beside a letter's pictures is, where the letter is tried."""


@dataclass(frozen=True, slots=True)
class Dress:
    """What a sheet says beside the rows, and how much wider the margin is at the binding edge."""

    title: str = ""
    note: str = ""
    name_line: bool = True
    binding_mm: float = 0.0


@dataclass(slots=True)
class _Sheet:
    """Collects what stands on one page."""

    lines: list[Line] = field(default_factory=list)
    ink: list[Item] = field(default_factory=list)
    trace: list[Item] = field(default_factory=list)
    labels: list[Item] = field(default_factory=list)
    arrows: list[Item] = field(default_factory=list)
    order: list[Item] = field(default_factory=list)

    def layers(self, marker: str) -> tuple[Layer, ...]:
        slanted = tuple(line for line in self.lines if line.role == "slant")
        ruled = tuple(line for line in self.lines if line.role != "slant")
        made = (
            Layer(Purpose.SLANT, slanted),
            Layer(Purpose.LINES, ruled),
            Layer(Purpose.INK, tuple(self.ink), marker),
            Layer(Purpose.TRACE, tuple(self.trace), marker),
            Layer(Purpose.ORDER, tuple(self.order)),
            Layer(Purpose.ARROWS, tuple(self.arrows)),
            Layer(Purpose.LABELS, tuple(self.labels)),
        )
        return tuple(layer for layer in made if layer.items)


def worksheet(practices: Sequence[Practice], setup: Setup, dress: Dress | None = None) -> Document:
    """Return the practice sheets: as many pages as the rows take, each marker beginning a new one.

    Raises:
        GuidegenError: when not even one row or one letter fits; the message names the smallest paper.
    """
    dress = dress or Dress()
    notes: list[str] = []
    pages = tuple(page for practice in practices for page in practice_pages(practice, setup, dress, notes))
    title = pages[0].title if len(practices) == 1 else dress.title or setup.say("worksheet.title")
    description = setup.say("worksheet.description", count=len(pages), paper=setup.paper_label)
    return Document(pages, title, described(description, setup.printer, setup.paper), tuple(dict.fromkeys(notes)))


def practice_pages(practice: Practice, setup: Setup, dress: Dress, notes: list[str]) -> tuple[Page, ...]:
    """Return the pages of one practice, corrected for the printer; what is worth telling is added to ``notes``."""
    binding = (0.0, dress.binding_mm) if practice.left_handed else (dress.binding_mm, 0.0)
    page = _frame(setup, binding)
    box = page.box
    say = setup.say
    title = dress.title or _title(practice, say)
    head = Title(title, _caption(practice, say), 1, 1, dress.name_line, practice.left_handed, dress.note, say)
    headed = setup.look.header
    heads = (_head(box, head, shared=practice.by_letter)[1], running_head(box, head)[1]) if headed else (0.0, 0.0)
    free = (box.height - heads[0], box.height - heads[1])
    rows, left_out = all_rows(practice, box, free, setup, dress.binding_mm, notes)
    if left_out:
        somewhere = any(kind in row.kinds for row in rows for kind in left_out)
        key = "worksheet.left_out_here_and_there" if somewhere else "worksheet.left_out"
        head = replace(head, more=say(key, forms=_forms(left_out, say)))
        told = f"left out for want of room: {_forms(left_out, phrases())}"
        notes.append(f"{told}; a larger paper has room for them, or ask for `rows` {','.join(practice.rows)}")
    highest = max(row.height_mm for row in rows)
    if head.more and box.height - _head(box, head, shared=practice.by_letter)[1] < highest:
        head = replace(head, more="")  # the command says it; the page has no room for it
    first = _head(box, head, shared=practice.by_letter)[1] if headed else 0.0
    further = running_head(box, head)[1] if headed else 0.0
    sheets = paginated(rows, practice, (box.height - first, box.height - further), setup, page)
    made = []
    for number, part in enumerate(sheets, start=1):
        here = replace(head, page=number, pages=len(sheets))
        items, used = _head(box, here, shared=practice.by_letter) if headed else ((), 0.0)
        layers = _laid(part, practice, box, box.top - used, items, say)
        proof = _proof(setup, binding) if practice.by_letter and page.proof else page.proof
        made.append(_page(page, (*layers, Layer(Purpose.PROOF, proof)), title, number, len(sheets), setup))
    return tuple(frames.finished(Document(tuple(made), title), setup).pages)


def _forms(kinds: Sequence[str], say: Phrases) -> str:
    return ", ".join(say(f"worksheet.{kind}") for kind in kinds)


def _page(page: Frame, layers: Sequence[Layer], title: str, number: int, pages: int, setup: Setup) -> Page:
    say = setup.say
    numbered = title if pages == 1 else say("head.titled_page", title=title, page=number, pages=pages)
    description = say("worksheet.page_description", paper=setup.paper_label)
    drawn = tuple(layer for layer in layers if layer.items)
    return Page(page.width_mm, page.height_mm, drawn, numbered, description, bookmark=numbered)


def _title(practice: Practice, say: Phrases) -> str:
    shown = [text.removeprefix(DRILL) for text in practice.texts]
    if all(text.startswith(DRILL) for text in practice.texts):
        return say("worksheet.drills")
    joined = (", " if all(len(text) == 1 for text in shown) else " ").join(shown)
    return joined if len(joined) <= 60 else joined[:59].rstrip() + "…"


def _caption(practice: Practice, say: Phrases) -> str:
    lettering = practice.lettering
    slants = practice.slants_deg or (lettering.hand.slant_deg,)
    parts = (
        say.label(lettering.marker.label),
        say.label(lettering.hand.label),
        say("head.x_height", size=mm_text(lettering.x_height_mm, say)),
        say("head.slant", angle=slants_text(slants, say)),
    )
    return "  ·  ".join(parts)


def _laid(
    rows: Sequence[Row], practice: Practice, box: Box, top: float, head: Sequence[Item], say: Phrases
) -> tuple[Layer, ...]:
    lettering = practice.lettering
    baselines = [
        top - stacked_mm(rows[:number]) + heights_of(row.lettering).descender_mm
        for number, row in enumerate(rows, start=1)
    ]
    slants = practice.slants_deg or (lettering.hand.slant_deg,)
    kinds = ["", *(row.kind for row in rows)]
    begun = [any(other.group == row.group for other in rows[:number]) for number, row in enumerate(rows)]
    side = box.right if practice.left_handed else box.left
    ruled = tuple(
        (
            () if row.kind == before == "order" else _words(row, practice, box, side, say, above=above),
            row.lettering,
            y,
            row.over_mm,
            row.kind != "order",
            slants,
            _stretches(row, practice, box),
        )
        for row, before, y, above in zip(rows, kinds, baselines, begun, strict=False)
    )
    lines, words = _furniture(ruled, practice.left_handed)
    sheet = _Sheet(list(lines), labels=[*head, *words])
    if practice.by_letter:
        shared = _shared_furniture(ruled, practice.left_handed)
        sheet = _Sheet(labels=[*head, shared[2]])
    for row, y in zip(rows, baselines, strict=True):
        if row.kind == "order":
            _show_order(sheet, row, practice, box, y)
        else:
            _fill(sheet, row, practice, box, y)
    layers = sheet.layers(lettering.marker.name)
    if not practice.by_letter:
        return layers
    return (Layer(Purpose.SLANT, shared[:1]), Layer(Purpose.LINES, shared[1:2]), *layers)


def _words(
    row: Row, practice: Practice, box: Box, side: float, say: Phrases, *, above: bool
) -> tuple[tuple[str, float], ...]:
    """Return what stands above a row and where it begins, for each of the row's parts.

    ``above`` tells that rows of the same text stand above it on the page.
    """
    if len(row.kinds) == 1:
        strokes = row.kind == "order" and all(picture.text.startswith(DRILL) for picture in row.pictures)
        words = say("worksheet.order_stroke" if strokes else _key(row, row.kind, above))
        if row.enlarged > 1.0:
            words = say("worksheet.enlarged", words=words, factor=say.number(f"{row.enlarged:g}"))
        tried = _tried_from(row, practice, box)
        beside = () if tried is None else ((say("worksheet.try"), tried),)
        return (_called(row, words, say), side), *beside
    cell = _cell_mm(row, practice, box)
    found = []
    for number, kind in enumerate(row.kinds):
        key = _key(row, kind, above)
        words = say(key) if number else _called(row, say(key), say)
        if kind == "memory" and label_width_mm(words, LABEL_MM) > cell:
            words = say("worksheet.memory_short")
        at = indent_mm(practice) + number * (cell + CELL_GAP_MM) if number else 0.0
        found.append((words, side - at if practice.left_handed else side + at))
    return tuple(found)


def _key(row: Row, kind: str, above: bool) -> str:
    """Return the key of the words over one part of a row; from memory is with the models covered that are in sight."""
    if kind != "memory":
        return f"worksheet.{kind}"
    if set(row.kinds) & _MODELS:
        return "worksheet.memory_beside"
    return "worksheet.memory" if above else "worksheet.memory_short"


def _called(row: Row, words: str, say: Phrases) -> str:
    """Return words with the name of what is practised before them, where a row has to say it."""
    if not row.called:
        return words
    name = say.drill(row.called)
    return say("worksheet.called", name=name[:1].upper() + name[1:], words=words)


def _cell_mm(row: Row, practice: Practice, box: Box) -> float:
    return cell_mm(box.width - 2 * indent_mm(practice), len(row.kinds))


_Stretches = tuple[tuple[float, float, bool], ...]
_Ruled = tuple[tuple[tuple[tuple[str, float], ...], Lettering, float, float, bool, tuple[float, ...], _Stretches], ...]
"""For each row its words and where they begin, how large it is written, the height of its baseline, how far above
the ascender line it reaches, whether it is a guide row, the slants of its lines, and from where to where they run and
whether slant lines are among them."""


def _stretches(row: Row, practice: Practice, box: Box) -> _Stretches:
    """Return from where to where the lines of a row run: with a gutter between what is practised side by side.

    Dots to be followed stand alone, without slant lines, and so do pictures of how a letter goes.
    """
    ends = [box.left, box.right]
    if (tried := _tried_from(row, practice, box)) is not None:
        gap = -CELL_GAP_MM if practice.left_handed else CELL_GAP_MM
        ends += [tried - gap, tried]
    indent, cell = indent_mm(practice), _cell_mm(row, practice, box)
    for number in range(1, len(row.kinds)):
        at = indent + number * (cell + CELL_GAP_MM)
        ends += [box.right - at, box.right - at + CELL_GAP_MM] if practice.left_handed else [
            box.left + at - CELL_GAP_MM, box.left + at
        ]  # fmt: skip
    ends.sort()
    slanted = [row.kind != "order" and kind != "dotted" for kind in row.kinds]
    slanted = slanted[::-1] if practice.left_handed else slanted
    stretches = list(zip(ends[::2], ends[1::2], strict=True))
    return tuple((*ends, slanted[min(number, len(slanted) - 1)]) for number, ends in enumerate(stretches))


def _tried_from(row: Row, practice: Practice, box: Box) -> float | None:
    """Return where, beside the pictures of a letter's strokes, the room to try it begins; None where there is none."""
    if row.kind != "order" or row.enlarged > 1.0:
        return None
    taken = stretched_mm(row.pictures, row.lettering) + 2.0 * marks_for(row.lettering.x_height_mm).ring_mm
    taken += sum(picture.last for picture in row.pictures[:-1]) * _APART_BESIDE * row.lettering.x_height_mm
    if box.width - taken - CELL_GAP_MM < _LEAST_TO_TRY * max(picture.width_mm for picture in row.pictures):
        return None
    return box.right - taken - CELL_GAP_MM if practice.left_handed else box.left + taken + CELL_GAP_MM


@lru_cache(maxsize=16)
def _furniture(rows: _Ruled, left_handed: bool) -> tuple[tuple[Line, ...], tuple[Item, ...]]:
    """Return the lines of all rows of a page and the words above each."""
    lines: list[Line] = []
    labels: list[Item] = []
    anchor: Anchor = "end" if left_handed else "start"
    number = 0
    for words, lettering, y, over, guiding, slants, stretches in rows:
        heights = heights_of(lettering)
        number += guiding
        for left, right, slanted in stretches:
            ruled = row_lines(heights, complex(left, y), right, number)
            # The lines of enlarged letters are a picture of guides and no guides: they carry neither role nor number.
            lines += ruled if guiding else [replace(line, role=None, row=None) for line in ruled]
            lines += slant_lines(heights, complex(left, y), right, number, slants) if slanted else ()
        # A ring may stand on the ascender line, so the words keep clear of one.
        above = y + heights.ascender_mm + over + max(1.5, 0.6 + _ring_mm(lettering))
        labels += [label(text, complex(x, above), LABEL_MM, anchor=anchor) for text, x in words if text]
    return tuple(lines), tuple(labels)


def _ring_mm(lettering: Lettering) -> float:
    return max(0.5 + start_ring_mm(lettering), marks_for(lettering.x_height_mm).ring_mm)


@lru_cache(maxsize=16)
def _shared_furniture(rows: _Ruled, left_handed: bool) -> tuple[Placed, Placed, Placed]:
    """Return slant lines, guide lines and words as symbols, for pages that come by the hundred."""
    lines, words = _furniture(rows, left_handed)
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
def _frame(setup: Setup, binding: tuple[float, float]) -> Frame:
    return frames.frame(setup, inset=binding)


@lru_cache(maxsize=8)
def _proof(setup: Setup, binding: tuple[float, float]) -> tuple[Item, ...]:
    return (as_symbol(_frame(setup, binding).proof),)


def _fill(sheet: _Sheet, row: Row, practice: Practice, box: Box, y: float) -> None:
    """Draw what stands in a row, one part of it after the other from the side where writing begins."""
    indent, cell = indent_mm(practice), _cell_mm(row, practice, box)
    for number, kind in enumerate(row.kinds):
        count = min(1, row.count) if kind == "copy" else row.count
        if not count or kind in ("blank", "memory"):
            continue
        at = number * (cell + CELL_GAP_MM)
        left = box.right - indent - at - cell if practice.left_handed else box.left + indent + at
        part = replace(row, kind=kind, count=count, arrows=row.arrows and number == 0)
        _fill_part(sheet, part, practice, (left, left + cell), y)


def _fill_part(sheet: _Sheet, row: Row, practice: Practice, part: tuple[float, float], y: float) -> None:
    lettering = practice.lettering
    width, left = width_of(lettering, row.text), left_of(lettering, row.text)
    form: Form = row.kind if row.kind in ("hollow", "dotted", "starts") else "solid"  # type: ignore[assignment]
    ink: Ink = grey(practice.tint) if practice.tint is not None and form != "solid" else BLACK
    start = part[1] - (row.count - 1) * row.pitch_mm - width if practice.left_handed else part[0]
    for number in range(row.count):
        at = complex(start + number * row.pitch_mm - left, y)
        target = sheet.ink if form == "solid" else sheet.trace
        if practice.by_letter:
            letters = letter_by_letter(lettering, row.text, form, ink, practice.drawn)
            target += [Placed(one.symbol, one.at + at) for one in letters]
        else:
            target.append(Placed(written(lettering, row.text, form, ink), at))
    if row.arrows:
        # The numbered model is the one the writing hand leaves in sight.
        shown = row.count - 1 if practice.left_handed else 0
        at = complex(start + shown * row.pitch_mm - left, y)
        sheet.arrows += [moved(item, at) for item in order_pictures(lettering, row.text)[0].marks]


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


def _show_order(sheet: _Sheet, row: Row, practice: Practice, box: Box, y: float) -> None:
    """Draw the pictures of a row one by one, each with its strokes numbered, letters well apart where there is room."""
    taken = stretched_mm(row.pictures, row.lettering)
    between = sum(picture.last for picture in row.pictures[:-1])
    more = 0.0
    if between:
        apart = _LETTERS_APART if _tried_from(row, practice, box) is None else _APART_BESIDE
        more = min(apart * row.lettering.x_height_mm, (box.width - taken) / between)
        taken += more * between
    x = box.right - taken if practice.left_handed else box.left
    for picture in row.pictures:
        at = complex(x - picture.left_mm, y)
        sheet.order += [moved(item, at) for item in picture.letter]
        sheet.arrows += [moved(item, at) for item in picture.marks]
        x += picture.width_mm + picture_gap_mm(row.lettering, picture) + (more if picture.last else 0.0)
