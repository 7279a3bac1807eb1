"""Pages for digital planners: an index, a page for each marker and letter, linked there and back, light or dark."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Literal

from guidegen.errors import GuidegenError
from guidegen.lettering.lettering import Lettering
from guidegen.lettering.letters import SAMPLE_LETTER
from guidegen.scene import (
    BLACK,
    WHITE,
    Document,
    Ink,
    Item,
    Layer,
    Line,
    Link,
    Page,
    Placed,
    Purpose,
    Style,
    grey,
    moved,
    painted,
)
from guidegen.sheets.parts import frame as frames
from guidegen.sheets.parts.figures import degrees_text, mm_text
from guidegen.sheets.parts.forms import Form, written
from guidegen.sheets.parts.frame import Box, Setup, holding
from guidegen.sheets.parts.labels import STRONG, label, label_width_mm, rise_of
from guidegen.sheets.parts.order_pictures import OrderPicture, order_pictures, picture_gap_mm, stretched_mm
from guidegen.sheets.parts.phrases import Phrases
from guidegen.sheets.parts.rows import heights_of, row_layout, row_lines, slant_lines
from guidegen.sheets.parts.stroke_order import marks_for
from guidegen.sheets.parts.words import left_of, width_of

Theme = Literal["light", "dark"]
DARK_GROUND = grey(0.9)
DARK_INK = grey(0.12)
DARK_GUIDE = grey(0.5)
_TITLE_MM = 6.0
_TEXT_MM = 2.8
_HEAD_MM = 16.0
_ENTRY_MM = 10.0
"""A line to tap: no lower than a fingertip is wide."""
_CELL_MM = 14.0
_RULE = Style(stroke_mm=0.12)


def planner(
    letterings: Sequence[Lettering],
    setup: Setup,
    letters: Sequence[str] = (),
    *,
    theme: Theme = "light",
    title: str | None = None,
) -> Document:
    """Return an index page, a page of guides for each marker and, with ``letters``, one for each letter of it.

    Every entry of the index leads to its page, every page back to the index.

    Raises:
        GuidegenError: when a row does not fit the page, or the index does not.
    """
    say = setup.say
    title = say("planner.title") if title is None else title
    subjects: list[tuple[Lettering, str]] = []
    for lettering in letterings:
        subjects += [(lettering, ""), *((lettering, char) for char in letters)]
    pages = [_index(letterings, letters, setup, title)]
    pages += [_subject(lettering, char, setup) for lettering, char in subjects]
    made = frames.finished(Document(tuple(pages), title, say("planner.description")), setup)
    return replace(made, pages=tuple(themed(page, theme) for page in made.pages))


def _index(letterings: Sequence[Lettering], letters: Sequence[str], setup: Setup, title: str) -> Page:
    page, say = frames.frame(setup), setup.say
    box = page.box
    at = complex(box.left, box.top - rise_of(title) * _TITLE_MM)
    labels: list[Item] = [label(title, at, _TITLE_MM, weight=STRONG)]
    rules: list[Item] = []
    links: list[Link] = []
    y = box.top - _HEAD_MM
    for number, lettering in enumerate(letterings):
        target = 1 + number * (1 + len(letters))
        links.append(Link(complex(box.left, y - _ENTRY_MM), complex(box.right, y), target))
        middle = y - _ENTRY_MM / 2 - 0.33 * 4.0
        labels.append(label(say.label(lettering.marker.label), complex(box.left, middle), 4.0))
        size = say("planner.x_height", size=mm_text(lettering.x_height_mm, say))
        labels.append(label(size, complex(box.right, middle), _TEXT_MM, anchor="end"))
        rules.append(Line(complex(box.left, y - _ENTRY_MM), complex(box.right, y - _ENTRY_MM), _RULE))
        y -= _ENTRY_MM
        cells, cell_links, y = _letter_cells(letters, box, y, target + 1)
        labels += cells
        links += cell_links
    if y < box.bottom - 1e-6:
        needed = box.height + box.bottom - y
        advice = setup.suggestion(holding(box.width, needed), noun="page")
        raise GuidegenError(f"{setup.paper.label}: the index of so many pages does not fit; {advice}, or name fewer")
    layers = (
        Layer(Purpose.LINES, tuple(rules)),
        Layer(Purpose.LABELS, tuple(labels)),
        Layer(Purpose.PROOF, page.proof),
    )
    drawn = tuple(layer for layer in layers if layer.items)
    description, bookmark = say("planner.index_description"), say("planner.index")
    return Page(page.width_mm, page.height_mm, drawn, title, description, bookmark=bookmark, links=tuple(links))


def _letter_cells(
    letters: Sequence[str], box: Box, top: float, first_page: int
) -> tuple[list[Item], list[Link], float]:
    """Return a grid of letters below ``top``, each linked to its page, and where it ends."""
    if not letters:
        return [], [], top
    columns = max(1, int(box.width // _CELL_MM))
    items: list[Item] = []
    links: list[Link] = []
    for number, char in enumerate(letters):
        left = box.left + (number % columns) * _CELL_MM
        up = top - 2.0 - (number // columns) * _ENTRY_MM
        links.append(Link(complex(left, up - _ENTRY_MM), complex(left + _CELL_MM, up), first_page + number))
        items.append(label(char, complex(left + _CELL_MM / 2, up - _ENTRY_MM / 2 - 1.3), 4.0, anchor="middle"))
    rows = -(-len(letters) // columns)
    return items, links, top - rows * _ENTRY_MM - 6.0


def _subject(lettering: Lettering, char: str, setup: Setup) -> Page:
    page, say = frames.frame(setup), setup.say
    box = page.box
    hand, heights = lettering.hand, heights_of(lettering)
    name = say.label(lettering.marker.label)
    title = say("planner.letter", marker=name, char=char) if char else name
    labels, links = _head(box, title, lettering, say)
    layout = row_layout(box.height - _HEAD_MM, heights.row_mm, hand.row_gap * lettering.x_height_mm)
    if layout.count == 0:
        advice = setup.suggestion(holding(0.0, _HEAD_MM + heights.row_mm), noun="page")
        raise GuidegenError(f"{setup.paper.label}: no row of {lettering.marker.name} fits; {advice}")
    lines: list[Line] = []
    ink: list[Item] = []
    arrows: list[Item] = []
    forms: tuple[Form, ...] = ("solid", "hollow", "dotted") if char else ("solid",)
    for number, offset in enumerate(layout.tops_mm()):
        baseline = complex(box.left, box.top - _HEAD_MM - offset - heights.ascender_mm)
        lines += row_lines(heights, baseline, box.right, number + 1)
        if forms[min(number, len(forms) - 1)] != "dotted" or number >= len(forms):
            lines += slant_lines(heights, baseline, box.right, number + 1, (hand.slant_deg,))
        text = char or SAMPLE_LETTER
        if number < min(len(forms), max(1, layout.count - bool(char))) and text in hand.letters:
            marks = marks_for(lettering.x_height_mm)
            at = baseline + (2.6 * marks.ring_mm if char else 2.0) - left_of(lettering, text)
            pitch = width_of(lettering, text) + max(0.8 * lettering.x_height_mm, 5.0 * marks.ring_mm)
            # Models to trace fill their row; the one to look at stands alone.
            free = box.right - (at.real + left_of(lettering, text)) - width_of(lettering, text)
            pictures = order_pictures(lettering, text) if char and number == 0 else ()
            if pictures and stretched_mm(pictures, lettering) + 2.0 <= box.width:
                shown, beside = _pictured(pictures, lettering, baseline)
                ink += shown
                arrows += beside
                continue
            count = 1 + int(max(0.0, free) // pitch) if number else 1
            ink += [Placed(written(lettering, text, forms[number]), at + n * pitch) for n in range(count)]
    layers = (
        Layer(Purpose.SLANT, tuple(line for line in lines if line.role == "slant")),
        Layer(Purpose.LINES, tuple(line for line in lines if line.role != "slant")),
        Layer(Purpose.LETTER, tuple(ink), lettering.marker.name),
        Layer(Purpose.ARROWS, tuple(arrows)),
        Layer(Purpose.LABELS, tuple(labels)),
        Layer(Purpose.PROOF, page.proof),
    )
    return Page(
        page.width_mm,
        page.height_mm,
        tuple(layer for layer in layers if layer.items),
        title,
        say("planner.page_description", size=mm_text(lettering.x_height_mm, say)),
        bookmark=title,
        links=tuple(links),
    )


def _pictured(
    pictures: Sequence[OrderPicture], lettering: Lettering, baseline: complex
) -> tuple[list[Item], list[Item]]:
    """Return the pictures of a letter's strokes side by side, and their marks."""
    ink: list[Item] = []
    arrows: list[Item] = []
    at = baseline + 2.0
    for picture in pictures:
        ink += [moved(shape, at - picture.left_mm) for shape in picture.letter]
        arrows += [moved(shape, at - picture.left_mm) for shape in picture.marks]
        at += picture.width_mm + picture_gap_mm(lettering, picture)
    return ink, arrows


def _head(box: Box, title: str, lettering: Lettering, say: Phrases) -> tuple[list[Item], list[Link]]:
    y = box.top - rise_of(title) * 4.4
    back = say("planner.index")
    width = label_width_mm(back, _TEXT_MM)
    size, slant = mm_text(lettering.x_height_mm, say), degrees_text(lettering.hand.slant_deg, say)
    facts = say("planner.facts", size=size, slant=slant)
    items: list[Item] = [
        label(title, complex(box.left, y), 4.4, weight=STRONG),
        label(facts, complex(box.left, y - 4.6), _TEXT_MM),
        label(back, complex(box.right, y), _TEXT_MM, anchor="end", weight=STRONG),
        Line(complex(box.right - width, y - 0.8), complex(box.right, y - 0.8), _RULE),
    ]
    link = Link(complex(box.right - max(width, _CELL_MM), box.top - _ENTRY_MM), complex(box.right, box.top), 0)
    return items, [link]


def themed(page: Page, theme: Theme) -> Page:
    """Return ``page`` on white, or in light ink on a dark ground, where guides stay dimmer than the ink."""
    if theme == "light":
        return replace(page, background=Ink((1.0, 1.0, 1.0), (0.0, 0.0, 0.0, 0.0)))
    layers = []
    for layer in page.layers:
        paint = _dim if layer.purpose.is_guide else _dark
        layers.append(replace(layer, items=tuple(painted(item, paint, " dark") for item in layer.items)))
    return replace(page, layers=tuple(layers), background=DARK_GROUND)


def _dim(ink: Ink) -> Ink:
    return DARK_GUIDE if ink == BLACK else ink


def _dark(ink: Ink) -> Ink:
    return {BLACK: DARK_INK, WHITE: DARK_GROUND}.get(ink, ink)
