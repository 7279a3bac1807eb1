"""Pages for digital planners: an index, a page for each marker and letter, linked there, back and on, on any ground."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from guidegen.errors import GuidegenError
from guidegen.geometry.path import polyline
from guidegen.lettering.lettering import Lettering
from guidegen.lettering.letters import SAMPLE_LETTER
from guidegen.scene import Document, Item, Layer, Line, Link, Page, Placed, Purpose, Shape, Style, moved
from guidegen.sheets.grounds import ground, grounded
from guidegen.sheets.parts import frame as frames
from guidegen.sheets.parts.figures import degrees_text, mm_text
from guidegen.sheets.parts.forms import Form, written
from guidegen.sheets.parts.frame import Box, Setup, holding
from guidegen.sheets.parts.labels import STRONG, label, label_width_mm, rise_of
from guidegen.sheets.parts.order_pictures import OrderPicture, order_pictures, picture_gap_mm, stretched_mm
from guidegen.sheets.parts.phrases import Phrases
from guidegen.sheets.parts.proof import rounded_rectangle
from guidegen.sheets.parts.rows import heights_of, row_layout, row_lines, slant_lines
from guidegen.sheets.parts.stroke_order import marks_for
from guidegen.sheets.parts.words import left_of, width_of

_BUTTON = Style(stroke_mm=0.2)
_BUTTON_RADIUS_MM = 2.0
_BUTTON_GAP_MM = 2.0
_TITLE_MM = 6.0
_TEXT_MM = 2.8
_HEAD_MM = 16.0
_NARROW_MM, _BELOW_MM = 90.0, 10.5
"""On a screen narrower than this the words of a head stand below its buttons."""
_ENTRY_MM = 10.0
"""A line to tap: no lower than a fingertip is wide."""
_CELL_MM = 14.0
_ARROW = Style(stroke_mm=0.35)


def planner(
    letterings: Sequence[Lettering],
    setup: Setup,
    letters: Sequence[str] = (),
    *,
    theme: str = "light",
    title: str | None = None,
) -> Document:
    """Return an index page, a page of guides for each marker and, with ``letters``, one for each letter of it.

    Every entry of the index leads to its page, every page back to the index and to the pages beside it. ``theme`` is
    the ground, see :func:`guidegen.sheets.grounds.ground`.

    Raises:
        GuidegenError: when a row does not fit the page, or the index does not.
    """
    say, under = setup.say, ground(theme)
    title = say("planner.title") if title is None else title
    subjects: list[tuple[Lettering, str]] = []
    for lettering in letterings:
        subjects += [(lettering, ""), *((lettering, char) for char in letters)]
    pages = [_index(letterings, letters, setup, title)]
    pages += [
        _subject(lettering, char, setup, number, len(subjects))
        for number, (lettering, char) in enumerate(subjects, start=1)
    ]
    made = frames.finished(Document(tuple(pages), title, say("planner.description")), setup)
    return replace(made, pages=tuple(grounded(page, under) for page in made.pages))


def _index(letterings: Sequence[Lettering], letters: Sequence[str], setup: Setup, title: str) -> Page:
    page, say = frames.frame(setup), setup.say
    box = page.box
    at = complex(box.left, box.top - rise_of(title) * _TITLE_MM)
    labels: list[Item] = [label(title, at, _TITLE_MM, weight=STRONG)]
    rules: list[Item] = []
    links: list[Link] = []
    y = box.top - _HEAD_MM
    inset = 3.0
    for number, lettering in enumerate(letterings):
        target = 1 + number * (1 + len(letters))
        links.append(Link(complex(box.left, y - _ENTRY_MM), complex(box.right, y), target))
        middle = y - _ENTRY_MM / 2 - 0.33 * 4.0
        name = say.label(lettering.marker.label)
        size = say("planner.x_height", size=mm_text(lettering.x_height_mm, say))
        free = box.width - 2 * inset - 5.0
        name_mm = 4.0 * min(1.0, free / label_width_mm(name, 4.0))
        labels.append(label(name, complex(box.left + inset, middle), name_mm))
        if label_width_mm(name, 4.0) + label_width_mm(size, _TEXT_MM) + 3.0 <= free:
            labels.append(label(size, complex(box.right - inset - 5.0, middle), _TEXT_MM, anchor="end"))
        rules += [_button(links[-1]), _arrow(complex(box.right - inset, y - _ENTRY_MM / 2), 1)]
        y -= _ENTRY_MM + _BUTTON_GAP_MM
        cells, cell_links, y = _letter_cells(letters, box, y, target + 1)
        labels += cells
        rules += [_button(link) for link in cell_links]
        links += cell_links
    if y < box.bottom - 1e-6:
        needed = box.height + box.bottom - y
        advice = setup.suggestion(holding(box.width, needed), noun="page")
        raise GuidegenError(f"{setup.paper.label}: the index of so many pages does not fit; {advice}, or name fewer")
    layers = (
        Layer(Purpose.BLANKS, tuple(rules)),
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
    columns = max(1, int((box.width + _BUTTON_GAP_MM) // (_CELL_MM + _BUTTON_GAP_MM)))
    across, down = _CELL_MM + _BUTTON_GAP_MM, _ENTRY_MM + _BUTTON_GAP_MM
    items: list[Item] = []
    links: list[Link] = []
    for number, char in enumerate(letters):
        left = box.left + (number % columns) * across
        up = top - (number // columns) * down
        links.append(Link(complex(left, up - _ENTRY_MM), complex(left + _CELL_MM, up), first_page + number))
        items.append(label(char, complex(left + _CELL_MM / 2, up - _ENTRY_MM / 2 - 1.3), 4.0, anchor="middle"))
    rows = -(-len(letters) // columns)
    return items, links, top - rows * down - 4.0


def _button(link: Link) -> Item:
    """Return the outline of what may be tapped: what looks like a button is one."""
    size = link.high - link.low
    return Shape((rounded_rectangle(link.low, size.real, size.imag, _BUTTON_RADIUS_MM),), _BUTTON)


def _arrow(tip: complex, way: int) -> Item:
    """Return a small arrow head whose tip is at ``tip``, pointing right (1) or left (-1)."""
    return Shape((polyline((tip + complex(-way * 1.6, 1.6), tip, tip - complex(way * 1.6, 1.6))),), _ARROW)


def _subject(lettering: Lettering, char: str, setup: Setup, number: int, last: int) -> Page:
    page, say = frames.frame(setup), setup.say
    box = page.box
    hand, heights = lettering.hand, heights_of(lettering)
    name = say.label(lettering.marker.label)
    title = say("planner.letter", marker=name, char=char) if char else name
    labels, buttons, links = _head(box, title, lettering, say, (number, last))
    used = _HEAD_MM + (_BELOW_MM if box.width < _NARROW_MM else 0.0)
    layout = row_layout(box.height - used, heights.row_mm, hand.row_gap * lettering.x_height_mm)
    if layout.count == 0:
        advice = setup.suggestion(holding(0.0, used + heights.row_mm), noun="page")
        raise GuidegenError(f"{setup.paper.label}: no row of {lettering.marker.name} fits; {advice}")
    text = char or SAMPLE_LETTER
    wide = width_of(lettering, text) if text in hand.letters else 0.0
    if wide > box.width:
        advice = setup.suggestion(holding(wide, _HEAD_MM + heights.row_mm), noun="page")
        raise GuidegenError(f"{setup.paper.label}: {text} in {lettering.marker.name} is {wide:.0f} mm wide; {advice}")
    lines: list[Line] = []
    ink: list[Item] = []
    arrows: list[Item] = []
    forms: tuple[Form, ...] = ("solid", "hollow", "dotted") if char else ("solid",)
    for row, offset in enumerate(layout.tops_mm()):
        baseline = complex(box.left, box.top - used - offset - heights.ascender_mm)
        lines += row_lines(heights, baseline, box.right, row + 1)
        if forms[min(row, len(forms) - 1)] != "dotted" or row >= len(forms):
            lines += slant_lines(heights, baseline, box.right, row + 1, (hand.slant_deg,))
        if row < min(len(forms), max(1, layout.count - bool(char))) and text in hand.letters:
            marks = marks_for(lettering.x_height_mm)
            inset = min(2.6 * marks.ring_mm if char else 2.0, box.width - wide)
            at = baseline + inset - left_of(lettering, text)
            pitch = wide + max(0.8 * lettering.x_height_mm, 5.0 * marks.ring_mm)
            # Models to trace fill their row; the one to look at stands alone.
            free = box.right - (at.real + left_of(lettering, text)) - wide
            pictures = order_pictures(lettering, text) if char and row == 0 else ()
            if pictures and stretched_mm(pictures, lettering) + 2.0 <= box.width:
                shown, beside = _pictured(pictures, lettering, baseline)
                ink += shown
                arrows += beside
                continue
            count = 1 + int(max(0.0, free) // pitch) if row else 1
            ink += [Placed(written(lettering, text, forms[row]), at + n * pitch) for n in range(count)]
    layers = (
        Layer(Purpose.SLANT, tuple(line for line in lines if line.role == "slant")),
        Layer(Purpose.LINES, tuple(line for line in lines if line.role != "slant")),
        Layer(Purpose.LETTER, tuple(ink), lettering.marker.name),
        Layer(Purpose.ARROWS, tuple(arrows)),
        Layer(Purpose.BLANKS, tuple(buttons)),
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


def _head(
    box: Box, title: str, lettering: Lettering, say: Phrases, place: tuple[int, int]
) -> tuple[list[Item], list[Item], list[Link]]:
    """Return the words at the top of a page, its buttons and where those lead: to the index and the pages beside it."""
    back = say("planner.index")
    wide = max(label_width_mm(back, _TEXT_MM, STRONG) + 5.0, _CELL_MM)
    number, last = place
    widths = (_ENTRY_MM, wide, _ENTRY_MM)
    left = box.right - sum(widths) - 2 * _BUTTON_GAP_MM
    links: list[Link] = []
    buttons: list[Item] = []
    for width, target, way in zip(widths, (number - 1, 0, number + 1), (-1, 0, 1), strict=True):
        low, middle = complex(left, box.top - _ENTRY_MM), complex(left + width / 2, box.top - _ENTRY_MM / 2)
        if way == 0 or 1 <= target <= last:
            links.append(Link(low, low + complex(width, _ENTRY_MM), target))
            buttons.append(_button(links[-1]))
            buttons += [_arrow(middle + 0.8 * way, way)] if way else []
        left += width + _BUTTON_GAP_MM
    narrow = box.width < _NARROW_MM
    free = box.width - (0.0 if narrow else sum(widths) + 3 * _BUTTON_GAP_MM)
    name_mm = 4.4 * min(1.0, free / label_width_mm(title, 4.4, STRONG))
    size, slant = mm_text(lettering.x_height_mm, say), degrees_text(lettering.hand.slant_deg, say)
    facts = say("planner.facts", size=size, slant=slant)
    facts_mm = _TEXT_MM * min(1.0, free / label_width_mm(facts, _TEXT_MM))
    y = box.top - rise_of(title) * 4.4 - (_BELOW_MM + 1.0 if narrow else 0.0)
    centre = complex(box.right - _ENTRY_MM - _BUTTON_GAP_MM - wide / 2, box.top - _ENTRY_MM / 2 - 0.33 * _TEXT_MM)
    items: list[Item] = [
        label(title, complex(box.left, y), name_mm, weight=STRONG),
        label(facts, complex(box.left, y - 4.6), facts_mm),
        label(back, centre, _TEXT_MM, anchor="middle", weight=STRONG),
    ]
    return items, buttons, links
