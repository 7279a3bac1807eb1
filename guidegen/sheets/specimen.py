"""A specimen of a hand in a marker's ink: the strokes it is built of, its letters, and a paragraph."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from guidegen.errors import GuidegenError
from guidegen.geometry.path import translate
from guidegen.marks import lacking
from guidegen.scene import BLACK, Document, Layer, Line, Shape, Style, hull_bounds
from guidegen.sheets import frame as frames
from guidegen.sheets.figures import mm_text
from guidegen.sheets.frame import Box, Frame, Setup
from guidegen.sheets.labels import STRONG, label, label_width_mm
from guidegen.sheets.lettering import DRILL, Lettering, holding, joined_words
from guidegen.sheets.line_breaking import Word, break_evenly
from guidegen.sheets.rows import row_lines
from guidegen.sheets.worksheet import drill_names
from guidegen.sizing import RightSize

PARAGRAPH = (
    "The tide turns at half past six. Boats that lay on the sand since noon lift and swing to face the sea; "
    "a quick jibe, the ropes go taut. By eight the harbour is full, its lamps are lit, and a westerly brings rain."
)
LOWERCASE = "a b c d e f g h i j k l m n o p q r s t u v w x y z"
CAPITALS = LOWERCASE.upper()
FIGURES = "0 1 2 3 4 5 6 7 8 9 & ? ! @ % ( ) \u201c \u201d"
ACCENTED = "à é î õ ü å ç ğ ł ř š ß æ ø"

_TITLE_MM, _TITLE_HEIGHT_MM = 5.2, 11.0
_CAPTION_MM, _CAPTION_HEIGHT_MM = 2.6, 7.0
_NAME_MM, _NAME_HEIGHT_MM = 2.2, 4.5
_SECTION_GAP_MM = 6.0
_INK = Style(fill=BLACK)


@dataclass(frozen=True, slots=True)
class _Row:
    """One row of a specimen: ink texts at x positions, or names below them; ``caption`` opens a section."""

    texts: tuple[tuple[str, float], ...]
    caption: str = ""
    named: bool = False


@dataclass(frozen=True, slots=True)
class _Placed:
    row: _Row
    top: float


def specimen_sheet(size: RightSize, setup: Setup, *, paragraph: str = PARAGRAPH) -> Document:
    """Return the specimen of a hand at a marker's right size, on as many pages as it takes.

    Raises:
        GuidegenError: when the hand lacks letters, or a line does not fit the paper (the smallest is named).
    """
    lettering = Lettering(size.marker, size.hand, size.x_height_mm)
    missing = lacking(size.hand, (char for char in LOWERCASE if char != " "))
    if missing:
        raise GuidegenError(f"hand {size.hand.name}: no specimen without its letters {''.join(missing)}")
    page = frames.frame(setup)
    least = max(lettering.width(word) for word in ("windjammer", *CAPITALS.split()))
    tall = _TITLE_HEIGHT_MM + _CAPTION_HEIGHT_MM + lettering.heights.row_mm + _NAME_HEIGHT_MM
    if least > page.box.width or tall > page.box.height:
        better = setup.suggestion(holding(least, tall))
        raise GuidegenError(
            f"{setup.paper.label}: a row at x-height {mm_text(size.x_height_mm)} does not fit; {better}"
        )
    rows = list(_rows(lettering, page.box.width, paragraph))
    pages = [(page, _layers(lettering, page.box, placed)) for placed in _paginated(lettering, page, rows)]
    title = f"{size.hand.label}, {size.marker.label}"
    return frames.document(setup, pages, title, f"Specimen at x-height {mm_text(size.x_height_mm)}.", ())


def _rows(lettering: Lettering, width: float, paragraph: str) -> Iterator[_Row]:
    yield from _stroke_rows(lettering, width)
    hand = lettering.hand
    for caption, text in (("small letters", LOWERCASE), ("capitals", CAPITALS), ("figures and signs", FIGURES),
                          ("accents", ACCENTED)):  # fmt: skip
        shown = " ".join(char for char in text.split() if not lacking(hand, char))
        yield from _spread_rows(lettering, width, shown, caption)
    yield from _text_rows(lettering, width, "".join(c for c in paragraph if c == " " or not lacking(hand, c)))


def _stroke_rows(lettering: Lettering, width: float) -> Iterator[_Row]:
    """Basic strokes side by side, each with its name below."""
    texts: list[tuple[str, float]] = []
    x, caption, gap = 0.0, "basic strokes", 0.5 * lettering.x_height_mm + 2
    for name in drill_names(lettering):
        wide = max(lettering.width(DRILL + name), label_width_mm(name, _NAME_MM))
        if texts and x + wide > width:
            yield _Row(tuple(texts), caption, named=True)
            texts, x, caption = [], 0.0, ""
        texts.append((DRILL + name, x))
        x += wide + gap
    if texts:
        yield _Row(tuple(texts), caption, named=True)


def _spread_rows(lettering: Lettering, width: float, text: str, caption: str) -> Iterator[_Row]:
    """Characters one by one with even white between them."""
    gap = 0.55 * lettering.x_height_mm
    chars = text.split()
    words = [Word(char, lettering.width(char), gap) for char in chars]
    for first, stop in break_evenly(words, width) or ():
        x, texts = 0.0, []
        for word in words[first:stop]:
            texts.append((word.text, x - _ink_left(lettering, word.text)))
            x += word.width + gap
        yield _Row(tuple(texts), caption)
        caption = ""


def _text_rows(lettering: Lettering, width: float, text: str) -> Iterator[_Row]:
    words, _ = lettering.words(text, width)
    caption = "a paragraph"
    for first, stop in break_evenly(words, width) or ():
        line = joined_words(words[first:stop])
        yield _Row(((line, -min(0.0, _ink_left(lettering, line))),), caption)
        caption = ""


def _ink_left(lettering: Lettering, text: str) -> float:
    return hull_bounds((Shape(lettering.ink(text), _INK),))[0].real


def _paginated(lettering: Lettering, page: Frame, rows: Sequence[_Row]) -> list[list[_Placed]]:
    """Return the rows of each page with the height of each row's upper edge."""
    pages: list[list[_Placed]] = []
    y = -1.0
    for row in rows:
        above = (_CAPTION_HEIGHT_MM + _SECTION_GAP_MM) if row.caption else 0.0
        tall = above + _depth(lettering, row)
        if not pages or y - tall < page.box.bottom:
            pages.append([])
            y = page.box.top - (_TITLE_HEIGHT_MM if len(pages) == 1 else 0.0)
            tall -= _SECTION_GAP_MM if row.caption else 0.0
        pages[-1].append(_Placed(row, y - tall + _depth(lettering, row)))
        y -= tall + lettering.hand.row_gap * lettering.x_height_mm * 0.6
    return pages


def _depth(lettering: Lettering, row: _Row) -> float:
    return lettering.heights.row_mm + (_NAME_HEIGHT_MM if row.named else 0.0)


def _layers(lettering: Lettering, box: Box, rows: Sequence[_Placed]) -> tuple[Layer, ...]:
    marker = lettering.marker.name
    ink: list[Shape] = []
    words: list[Shape] = []
    lines: list[Line] = []
    if rows[0].top < box.top - _TITLE_HEIGHT_MM + 1e-6:
        words += _title(lettering, box)
    for number, placed in enumerate(rows):
        row, baseline = placed.row, complex(box.left, placed.top - lettering.heights.ascender_mm)
        if row.caption:
            words.append(label(row.caption, complex(box.left, placed.top + 2.2), _CAPTION_MM))
        if row.named:
            right = box.left + max(x + lettering.width(text) for text, x in row.texts)
            lines += row_lines(lettering.heights, baseline, right, number)
        for text, x in row.texts:
            ink.append(Shape(translate(lettering.ink(text), baseline + x), _INK, text.removeprefix(DRILL)))
            if row.named:
                below = baseline + complex(x, -lettering.heights.descender_mm - _NAME_HEIGHT_MM + 1.2)
                words.append(label(text.removeprefix(DRILL).replace("-", " "), below, _NAME_MM))
    return Layer("lines", tuple(lines)), Layer("ink", tuple(ink), marker), Layer("labels", tuple(words))


def _title(lettering: Lettering, box: Box) -> list[Shape]:
    top = complex(box.left, box.top - _TITLE_MM)
    name = label(lettering.hand.label, top, _TITLE_MM, weight=STRONG)
    said = f"{lettering.marker.label}, x-height {mm_text(lettering.x_height_mm)}"
    return [name, label(said, complex(box.right, top.imag), _CAPTION_MM, anchor="end")]
