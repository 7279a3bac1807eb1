"""A specimen of a hand in a marker's ink: the strokes it is built of, its letters, a paragraph, every marker."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

from guidegen.errors import GuidegenError
from guidegen.geometry.measure import bounds
from guidegen.geometry.path import Outline, affine, translate
from guidegen.hands.accents import lacking
from guidegen.hands.hand import Hand
from guidegen.lettering.lettering import Lettering
from guidegen.lettering.sizing import RightSize
from guidegen.scene import BLACK, Document, Layer, Line, Purpose, Shape, Style, hull_bounds
from guidegen.sheets.families import Order, families
from guidegen.sheets.parts import frame as frames
from guidegen.sheets.parts.basic_strokes import basic_strokes
from guidegen.sheets.parts.figures import mm_text
from guidegen.sheets.parts.frame import Box, Setup, holding
from guidegen.sheets.parts.labels import STRONG, label, label_width_mm
from guidegen.sheets.parts.line_breaking import Word, break_evenly
from guidegen.sheets.parts.phrases import Phrases, phrases
from guidegen.sheets.parts.rows import heights_of, row_lines
from guidegen.sheets.parts.words import DRILL, ink_of, joined_words, width_of, words_of
from guidegen.units import shift_per_height

PARAGRAPH = (
    "The tide turns at half past six. Boats that lay on the sand since noon lift and swing to face the sea; "
    "a quick jibe, the ropes go taut. By eight the harbour is full, its lamps are lit, and a westerly brings rain."
)
LOWERCASE = "a b c d e f g h i j k l m n o p q r s t u v w x y z"
CAPITALS = LOWERCASE.upper()
DIGITS = "0 1 2 3 4 5 6 7 8 9"
SIGNS = "& ? ! @ % ( ) \u201c \u201d"
FIGURES = f"{DIGITS} {SIGNS}"
ACCENTED = "à é î õ ü å ç ğ ł ř š ß æ ø"
MARKER_WORD = "tide"
_SECTIONS = (("small_letters", LOWERCASE), ("capitals", CAPITALS), ("figures", FIGURES), ("accents", ACCENTED))

_TITLE_MM, _TITLE_HEIGHT_MM = 6.4, 14.0
_RUNNING_HEIGHT_MM = 6.0
_CAPTION_MM, _CAPTION_HEIGHT_MM = 2.6, 6.5
_NAME_MM, _NAME_HEIGHT_MM, _NAME_GAP_MM = 2.2, 4.5, 3.0
_SECTION_GAP_MM = 6.0
_MARKER_GAP_MM = 8.0
_LETTER_GAPS = (0.45, 1.25)
"""Least and most white between letters that stand apart, in x-heights."""
_MANY_PAGES = 4
"""More pages than this make the rows close up."""
_MOST_PAGES = 8
"""More pages than this make the accents stay out."""
_CLOSE_GAP_MM = 4.0
_SHALLOW = 0.3
_INK, _RULE = Style(fill=BLACK), Style(stroke_mm=0.12)


@dataclass(frozen=True, slots=True)
class _Item:
    """A text in ink, its origin ``x`` from the left margin; ``name`` stands below it from ``name_x`` on."""

    lettering: Lettering
    text: str
    x: float
    name: str = ""
    name_x: float = 0.0


@dataclass(frozen=True, slots=True)
class _Row:
    """One row of a specimen; ``caption`` opens a section; ``lined`` rows show their guide lines.

    ``close`` rows stand nearer to each other, and go without a descender line that nothing reaches down to.
    """

    items: tuple[_Item, ...]
    caption: str = ""
    lined: bool = False
    close: bool = False

    @property
    def above(self) -> float:
        return max(heights_of(item.lettering).ascender_mm for item in self.items)

    @property
    def below(self) -> float:
        names = _NAME_HEIGHT_MM if any(item.name for item in self.items) else 0.0
        return (self.ink_below if self.shallow else self.descender) + names

    @property
    def descender(self) -> float:
        return max(heights_of(item.lettering).descender_mm for item in self.items)

    @property
    def ink_below(self) -> float:
        return max(0.0, *(-_ink_bottom(item.lettering, item.text) for item in self.items))

    @property
    def shallow(self) -> bool:
        return self.close and self.ink_below < _SHALLOW * self.descender

    @property
    def gap(self) -> float:
        lettering = self.items[0].lettering
        if self.close:
            return _CLOSE_GAP_MM
        return (1.0 if self.lined else 0.6) * lettering.hand.row_gap * lettering.x_height_mm


@dataclass(frozen=True, slots=True)
class _PlacedRow:
    row: _Row
    baseline: float


def specimen_sheet(
    size: RightSize,
    setup: Setup,
    *,
    x_height_mm: float | None = None,
    paragraph: str = PARAGRAPH,
    others: Sequence[RightSize] = (),
    order: Order = "abc",
    guides: bool = False,
) -> Document:
    """Return the specimen of a hand at a marker's right size, on as many pages as it takes.

    Args:
        size: the hand, the marker that writes the specimen, and its right size.
        setup: the page.
        x_height_mm: in place of the right size.
        paragraph: the running text, "" for none.
        others: markers at their right sizes, each of which writes one word in the hand at the end.
        order: of the letters: a to z, or by family.
        guides: draw the guide lines of every row, not only below the basic strokes.

    Raises:
        GuidegenError: when the hand lacks letters, or a line does not fit the paper (the smallest is named).
    """
    lettering = size.lettering if x_height_mm is None else size.lettering.at(x_height_mm)
    missing = lacking(size.hand, (char for char in LOWERCASE if char != " "))
    if missing:
        raise GuidegenError(f"hand {size.hand.name}: no specimen without its letters {''.join(missing)}")
    page = frames.frame(setup)
    shown = [other.lettering for other in others]
    wide = [width_of(lettering, char) for char in CAPITALS.split()]
    least = max(wide + [width_of(one, MARKER_WORD) for one in shown])
    tall = max(heights_of(one).row_mm for one in (lettering, *shown))
    tall += _TITLE_HEIGHT_MM + _CAPTION_HEIGHT_MM + _NAME_HEIGHT_MM
    if least > page.box.width or tall > page.box.height:
        better = setup.suggestion(holding(least, tall))
        raise GuidegenError(
            f"{setup.paper.label}: a row at x-height {mm_text(lettering.x_height_mm)} does not fit; {better}"
        )
    say = setup.say
    longest = max((width_of(lettering, word) for word in _writable(lettering.hand, paragraph).split()), default=0.0)
    notes = []
    if longest > page.box.width:
        whole = setup.suggestion(holding(longest, tall))
        notes.append(f"the longest word of the paragraph is wider than {setup.paper.label}; it is left out; {whole}")
        paragraph = ""
    written = list(_rows(lettering, page.box.width, paragraph, say, order, _SECTIONS))
    written = [replace(row, lined=True) for row in written] if guides else written
    more = list(_marker_rows(shown, page.box.width, say))
    if len(_paginated(page.box, written)) > _MANY_PAGES:
        written = [replace(row, close=True) for row in written]
        if len(_paginated(page.box, written)) > _MOST_PAGES:
            kept = _rows(lettering, page.box.width, paragraph, say, order, _SECTIONS[:-1])
            written = [replace(row, lined=guides or row.lined, close=True) for row in kept]
            notes.append(
                f"left out to keep to few pages: {phrases()('specimen.accents')}; a larger paper has room for them, "
                "or write them with `guidegen write`"
            )
    placed_rows = _paginated(page.box, [*written, *more])
    pages = [
        (page, _layers(lettering, page.box, placed, say, (number, len(placed_rows))))
        for number, placed in enumerate(placed_rows, start=1)
    ]
    title = say("specimen.title", hand=say.label(size.hand.label), marker=say.label(size.marker.label))
    description = say("specimen.description", size=mm_text(lettering.x_height_mm, say))
    return frames.document(setup, pages, title, description, notes)


def _writable(hand: Hand, text: str) -> str:
    """Return a text without the characters that a hand lacks."""
    return "".join(char for char in text if char == " " or not lacking(hand, char))


def _rows(
    lettering: Lettering,
    width: float,
    paragraph: str,
    say: Phrases,
    order: Order,
    sections: Sequence[tuple[str, str]],
) -> Iterator[_Row]:
    yield from _stroke_rows(lettering, width, say)
    hand = lettering.hand
    for key, text in sections:
        chars = [char for char in text.split() if not lacking(hand, char)]
        caption = say(f"specimen.{key}")
        parts = families(hand, chars) if order == "family" else (tuple(chars),) if chars else ()
        rows = [list(_spread_rows(lettering, width, part)) for part in parts]
        if key == "figures" and len(rows) == 1 < len(rows[0]):  # a 9 alone among the signs would be taken for one
            digits = [char for char in chars if char.isdigit()]
            signs = [char for char in chars if not char.isdigit()]
            rows = [list(_spread_rows(lettering, width, part)) for part in (digits, signs) if part]
        for number, row in enumerate(row for part in rows for row in part):
            yield row if number else replace(row, caption=caption)
    if text := _writable(hand, paragraph):
        yield from _text_rows(lettering, width, text, say("specimen.paragraph"))


def _stroke_rows(lettering: Lettering, width: float, say: Phrases) -> Iterator[_Row]:
    """The basic strokes of the hand, side by side, each with its name below."""
    caption, gap = say("specimen.strokes"), max(_NAME_GAP_MM, 0.4 * lettering.x_height_mm)
    found = [_drill(lettering, name, say) for name in basic_strokes(lettering.hand)]
    for first, stop in break_evenly([Word(item.text, wide, gap) for item, wide in found], width) or ():
        row, x, items = found[first:stop], 0.0, []
        spread = (width - sum(wide for _, wide in row)) / max(1, len(row) - 1)
        for item, wide in row:
            items.append(replace(item, x=x + item.x, name_x=x))
            x += wide + min(spread, 3 * gap)
        yield _Row(tuple(items), caption, lined=True)
        caption = ""


def _drill(lettering: Lettering, name: str, say: Phrases) -> tuple[_Item, float]:
    """Return a basic stroke with its name, and the width of both; its ink begins at 0."""
    left, right = _ink_range(lettering, DRILL + name)
    words = say.drill(name)
    return _Item(lettering, DRILL + name, -left, words), max(right - left, label_width_mm(words, _NAME_MM))


def _spread_rows(lettering: Lettering, width: float, chars: Sequence[str]) -> Iterator[_Row]:
    """Characters one by one, the white between them, measured along the slant, the same over the whole row."""
    least, most = (share * lettering.x_height_mm for share in _LETTER_GAPS)
    lean = {char: _lean_range(lettering, char) for char in chars}
    heights, shift = heights_of(lettering), shift_per_height(lettering.hand.slant_deg)
    words = [Word(char, lean[char][1] - lean[char][0], least) for char in chars]
    for first, stop in break_evenly(words, width - heights.row_mm * shift) or ():
        row = chars[first:stop]
        spread = min(most, least + (width - _extent(lettering, row, lean, least)) / max(1, len(row) - 1))
        x = _origins(row, lean, spread)
        left = min(_ink_range(lettering, char)[0] + at for char, at in zip(row, x, strict=True))
        yield _Row(tuple(_Item(lettering, char, at - left) for char, at in zip(row, x, strict=True)))


def _origins(chars: Sequence[str], lean: dict[str, tuple[float, float]], gap: float) -> list[float]:
    x, origins = 0.0, []
    for char in chars:
        low, high = lean[char]
        origins.append(x - low)
        x += high - low + gap
    return origins


def _extent(lettering: Lettering, chars: Sequence[str], lean: dict[str, tuple[float, float]], gap: float) -> float:
    """Return how wide the ink of a row is, leaning ends included."""
    ends = [
        (low + x, high + x)
        for char, x in zip(chars, _origins(chars, lean, gap), strict=True)
        for low, high in [_ink_range(lettering, char)]
    ]
    return max(high for _, high in ends) - min(low for low, _ in ends)


def _text_rows(lettering: Lettering, width: float, text: str, caption: str) -> Iterator[_Row]:
    words, _ = words_of(lettering, text, width)
    for first, stop in break_evenly(words, width) or ():
        line = joined_words(words[first:stop])
        yield _Row((_Item(lettering, line, -min(0.0, _ink_range(lettering, line)[0])),), caption)
        caption = ""


def _marker_rows(shown: Sequence[Lettering], width: float, say: Phrases) -> Iterator[_Row]:
    """One word in each marker at its right size, as many on a row as fit, small ones first."""
    caption = say("specimen.markers")
    items: list[_Item] = []
    x = 0.0
    for lettering in sorted(shown, key=lambda one: one.x_height_mm):
        left, right = _ink_range(lettering, MARKER_WORD)
        size = mm_text(lettering.x_height_mm, say)
        name = say("specimen.marker", marker=lettering.marker.name, size=size)
        wide = max(right - left, label_width_mm(name, _NAME_MM))
        if items and x + wide > width:
            yield _Row(tuple(items), caption)
            items, x, caption = [], 0.0, ""
        items.append(_Item(lettering, MARKER_WORD, x - left, name, x))
        x += wide + _MARKER_GAP_MM
    if items:
        yield _Row(tuple(items), caption)


@lru_cache(maxsize=256)
def _ink(lettering: Lettering, text: str) -> Outline:
    """Return the ink of ``text``, kept for as many texts as a specimen asks for again and again."""
    return ink_of(lettering, text)


def _ink_range(lettering: Lettering, text: str) -> tuple[float, float]:
    low, high = hull_bounds((Shape(_ink(lettering, text), _INK),))
    return low.real, high.real


def _ink_bottom(lettering: Lettering, text: str) -> float:
    return hull_bounds((Shape(_ink(lettering, text), _INK),))[0].imag


def _lean_range(lettering: Lettering, text: str) -> tuple[float, float]:
    """Return how far the ink reaches left and right when its slant is taken out."""
    upright = complex(-shift_per_height(lettering.hand.slant_deg), 1)
    low, high = bounds(tuple(affine(path, 1, upright, 0) for path in _ink(lettering, text)))
    return low.real, high.real


def _paginated(box: Box, rows: Sequence[_Row]) -> list[list[_PlacedRow]]:
    """Return the rows of each page with the height of each row's baseline. A section's first two rows stay together."""
    pages: list[list[_PlacedRow]] = []
    y = 0.0
    for number, row in enumerate(rows):
        section = _SECTION_GAP_MM + _CAPTION_HEIGHT_MM if row.caption else 0.0
        tall = section + row.above + row.below
        following = rows[number + 1] if row.caption and number + 1 < len(rows) else None
        kept = row.gap + following.above + following.below if following and not following.caption else 0.0
        if not pages or (y - tall - kept < box.bottom and (y - tall < box.bottom or section)):
            top = box.top - (_RUNNING_HEIGHT_MM if pages else _TITLE_HEIGHT_MM)
            pages.append([])
            y = top + (_SECTION_GAP_MM if section else 0.0)
        baseline = y - section - row.above
        pages[-1].append(_PlacedRow(row, baseline))
        y = baseline - row.below - row.gap
    return pages


def _layers(
    lettering: Lettering, box: Box, rows: Sequence[_PlacedRow], say: Phrases, which: tuple[int, int]
) -> tuple[Layer, ...]:
    ink: list[Shape] = []
    words: list[Shape] = _title(lettering, box, say, which)
    lines: list[Line] = []
    for number, placed in enumerate(rows):
        row, baseline = placed.row, complex(box.left, placed.baseline)
        if row.caption:
            top = placed.baseline + row.above + _CAPTION_HEIGHT_MM
            lines.append(Line(complex(box.left, top), complex(box.right, top), _RULE))
            words.append(label(row.caption, complex(box.left, top - _CAPTION_MM - 1.0), _CAPTION_MM))
        if row.lined:
            heights = heights_of(lettering)
            heights = replace(heights, descender_mm=0.0) if row.shallow else heights
            lines += row_lines(heights, baseline, box.right, number)
        for item in row.items:
            name = item.text.removeprefix(DRILL)
            ink.append(Shape(translate(_ink(item.lettering, item.text), baseline + item.x), _INK, name))
            if item.name:
                below = complex(item.name_x, -row.below + 1.2)
                words.append(label(item.name, baseline + below, _NAME_MM))
    return (
        Layer(Purpose.LINES, tuple(lines)),
        Layer(Purpose.INK, tuple(ink), lettering.marker.name),
        Layer(Purpose.LABELS, tuple(words)),
    )


def _title(lettering: Lettering, box: Box, say: Phrases, which: tuple[int, int]) -> list[Shape]:
    """Return the title of the first page, or the small line at the top of a further one."""
    page, pages = which
    name = say.label(lettering.hand.label)
    said = say(
        "specimen.said", marker=say.label(lettering.marker.label), size=mm_text(lettering.x_height_mm, say)
    )
    number = say("head.page", page=page, pages=pages)
    if page > 1:
        at = complex(box.left, box.top - _CAPTION_MM)
        told = say("join.listed", first=name, second=said)
        first = label(told, at, _CAPTION_MM, weight=STRONG)
        return [first, label(number, complex(box.right, at.imag), _CAPTION_MM, anchor="end")]
    top = complex(box.left, box.top - _TITLE_MM)
    told = said if pages == 1 else say("join.listed", first=said, second=number)
    return [
        label(name, top, _TITLE_MM, weight=STRONG),
        label(told, complex(box.right, top.imag), _CAPTION_MM, anchor="end"),
    ]
