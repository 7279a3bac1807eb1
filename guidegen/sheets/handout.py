"""The class handout: every marker's model letter, figures and guides at true size, one below the other."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from guidegen.errors import GuidegenError
from guidegen.geometry.path import polyline
from guidegen.lettering.lettering import Lettering
from guidegen.lettering.text import letters_per_line
from guidegen.scene import BLACK, Document, Item, Layer, Line, Link, Page, Placed, Purpose, Shape, Style, moved
from guidegen.sheets.handout_table import figures_table
from guidegen.sheets.parts import frame as frames
from guidegen.sheets.parts.enlarging import Enlarged, enlarged_sample
from guidegen.sheets.parts.figures import (
    degrees_text,
    length_text,
    mm_text,
    stem_mm,
    stroke_names,
    times_text,
    width_text,
)
from guidegen.sheets.parts.forms import written
from guidegen.sheets.parts.frame import Box, Frame, Setup, holding
from guidegen.sheets.parts.labels import ASCENT, STRONG, label, label_width_mm, rise_of
from guidegen.sheets.parts.page_head import Title, page_head, running_head
from guidegen.sheets.parts.phrases import Phrases
from guidegen.sheets.parts.rows import heights_of, row_lines, slant_lines
from guidegen.sheets.parts.words import left_of, width_of
from guidegen.units import shift_per_height

STROKE_MM = 7.6
_STROKE_WORDS_MM = 2.3
_STROKE_GAP_MM = 5.0
_NAME_MM = 4.4
_TEXT_MM = 2.5
_FIGURE_MM = 2.9
_HEAD_MM = 9.5
_BETWEEN_MM = 7.0
_UNDER_MM = 5.0
_WIDE_ENOUGH_MM = 110.0
_MODEL = "e"
_ASCENDERS = ("d", "h", "l", "b")
_SHORT_WORDS = ("tide", "sea", "on")


@dataclass(frozen=True, slots=True)
class _Entry:
    """A marker's part of the handout: what is written, and how many bare rows stand below the written one."""

    lettering: Lettering
    texts: tuple[str, ...]
    below: tuple[str, ...]
    bare: int
    enlarged: Enlarged | None = None

    @property
    def height_mm(self) -> float:
        return _HEAD_MM + heights_of(self.lettering).row_mm + self.bare * self.lettering.pitch_mm


def handout(letterings: Sequence[Lettering], setup: Setup, title: str | None = None) -> Document:
    """Return the handout, markers sorted by size, as few pages as hold them without crowding.

    Each marker has a head with its strokes and figures, a row with its model letter, ascender letter and a short
    word, and a bare row below to lay paper on (left out where it would not fit the page); more of them where a
    page has room. With more than one page the first carries a strip of contents, linked, and the last all figures
    in a table where it has room.

    Raises:
        GuidegenError: when a marker's row is larger than the paper; the message names the smallest that would do.
    """
    say = setup.say
    title = say("handout.title") if title is None else title
    ordered = sorted(letterings, key=lambda one: (one.x_height_mm, one.marker.name))
    first, further = frames.frame(setup), frames.frame(_later(setup))
    rooms = [_room(first, title, contents=0), _room(further, title, contents=0)]
    entries = [_entry(lettering, first.box, max(rooms), setup) for lettering in ordered]
    if entries[0].height_mm > rooms[0]:
        entries[0] = _entry(ordered[0], first.box, rooms[0], setup)
    parts = _paginated(entries, rooms)
    if len(parts) > 1 and entries[0].height_mm + _contents_height_mm(entries, first.box, say) <= rooms[0]:
        strip_mm = _contents_height_mm(entries, first.box, say)
        parts = _paginated(entries, [rooms[0] - strip_mm, rooms[1]])
    made = []
    for number, part in enumerate(parts, start=1):
        page = first if number == 1 else further
        last = number == len(parts) > 1
        made.append(_page(page, part, parts, number, title, setup, ordered if last else ()))
    description = say("handout.description", count=len(entries), paper=setup.paper_label)
    return frames.finished(Document(tuple(made), title, description), setup)


def _later(setup: Setup) -> Setup:
    return replace(setup, proof="bar") if setup.proof == "full" else setup


def _room(page: Frame, title: str, contents: int) -> float:
    head = Title(title, " ", 1, 2, name_line=False)
    return page.box.height - page_head(page.box, head)[1] - contents


def _entry(lettering: Lettering, box: Box, room: float, setup: Setup) -> _Entry:
    heights = heights_of(lettering)
    one = _HEAD_MM + heights.row_mm
    two = one + lettering.pitch_mm
    if one > room:
        needed = frames.frame(setup).box.height - room + one
        raise GuidegenError(
            f"{setup.paper.label}: the row of {lettering.marker.name} is {mm_text(heights.row_mm)} high; "
            f"{setup.suggestion(holding(0.0, needed))}"
        )
    strip = two <= room
    large = enlarged_sample(lettering) if box.width >= _WIDE_ENOUGH_MM else None
    bare = int(strip)
    if large is not None:  # as many bare rows below the first as the picture beside them is high
        more = math.ceil((large.height_mm + _UNDER_MM - heights.row_mm) / lettering.pitch_mm)
        bare = max(bare, more)
        if one + bare * lettering.pitch_mm > room:
            bare, large = int(strip), None
    texts, below = _texts(lettering, box.width - _beside_mm(large))
    return _Entry(lettering, texts, below if strip else (), bare, large)


def _beside_mm(large: Enlarged | None) -> float:
    """Return what a picture takes of the width of a marker's rows."""
    return 0.0 if large is None else large.width_mm + _UNDER_MM


def _texts(lettering: Lettering, width: float) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Return the model letter, an ascender letter and a short word; what the first row does not hold goes below."""
    have = lettering.hand.letters
    if _MODEL not in have:
        return (), ()
    tall = next(((char,) for char in _ASCENDERS if char in have), ())
    words = [(word,) for word in _SHORT_WORDS if all(char in have for char in word)]
    free = width - 4.0

    def fits(texts: tuple[str, ...], room: float) -> bool:
        return sum(width_of(lettering, text) for text in texts) + (len(texts) - 1) * _gap_mm(lettering) <= room

    first = words[:1] if words and fits(words[0], width - 4.0) else words  # rather the first word on a row of its own
    for word in (*first, ()):
        if fits((_MODEL, *tall, *word), free) and (word or not words):
            return (_MODEL, *tall, *word), ()
    below = next((word for word in words if fits(word, width - 4.0)), ())
    return next((texts for texts in ((_MODEL, *tall), (_MODEL,)) if fits(texts, free)), ()), below


def _gap_mm(lettering: Lettering) -> float:
    return max(5.0, 0.9 * lettering.x_height_mm)


def _paginated(entries: Sequence[_Entry], rooms: Sequence[float]) -> list[list[_Entry]]:
    pages: list[list[_Entry]] = [[]]
    for entry in entries:
        room = rooms[min(len(pages), len(rooms)) - 1]
        taken = sum(one.height_mm + _BETWEEN_MM for one in pages[-1])
        if pages[-1] and taken + entry.height_mm > room + 1e-9:
            pages.append([])
        pages[-1].append(entry)
    return pages


def _stacked_mm(part: Sequence[_Entry]) -> float:
    return sum(entry.height_mm for entry in part) + _BETWEEN_MM * (len(part) - 1)


def _with_more_rows(part: Sequence[_Entry], room: float) -> list[_Entry]:
    """Return the markers of a page with bare rows added as long as ``room`` holds one: fewest first, largest first."""
    found = list(part)
    while True:
        spare = room - _stacked_mm(found)
        fitting = [place for place, entry in enumerate(found) if entry.lettering.pitch_mm <= spare]
        if not fitting:
            return found
        place = min(fitting, key=lambda place: (found[place].bare, -found[place].lettering.pitch_mm))
        found[place] = replace(found[place], bare=found[place].bare + 1)


def _page(
    page: Frame,
    part: Sequence[_Entry],
    parts: Sequence[Sequence[_Entry]],
    number: int,
    title: str,
    setup: Setup,
    tabled: Sequence[Lettering],
) -> Page:
    say = setup.say
    head = Title(title, say("handout.caption"), number, len(parts), name_line=False, say=say)
    items, used = page_head(page.box, head) if number == 1 else running_head(page.box, head)
    y = page.box.top - used
    labels: list[Item] = list(items)
    links: list[Link] = []
    if number == 1 and len(parts) > 1:
        contents, links, depth = _contents(page.box, y, parts, say)
        if depth + part[0].height_mm > y - page.box.bottom + 1e-9:
            contents, links, depth = [], [], 0.0
        labels += contents
        y -= depth
    bottom = page.box.bottom
    table, depth = figures_table(tabled, page.box, say)
    if depth and bottom + depth + _BETWEEN_MM <= y - _stacked_mm(part):
        labels += [moved(item, complex(0, bottom + depth)) for item in table]
        bottom += depth + _BETWEEN_MM
    part = _with_more_rows(part, y - bottom)
    # What is left over becomes even white between the markers, within reason.
    spare = max(0.0, y - bottom - _stacked_mm(part))
    between = _BETWEEN_MM + (min(7.0, spare / len(part)) if len(part) > 1 else 0.0)
    lines: list[Line] = []
    enlarged: list[Item] = []
    layers: list[Layer] = []
    row = 1
    for entry in part:
        strokes, letters, words, ruled = _drawn(entry, page.box, y, row, setup)
        labels += words
        lines += ruled
        if entry.enlarged is not None:
            picture, caption = _picture(entry.enlarged, page.box, y - _HEAD_MM, setup)
            enlarged += picture
            labels.append(caption)
        marker = entry.lettering.marker.name
        layers += [Layer(Purpose.STROKES, tuple(strokes), marker), Layer(Purpose.LETTER, tuple(letters), marker)]
        row += 1 + entry.bare
        y -= entry.height_mm + between
    slanted = tuple(line for line in lines if line.role == "slant")
    ruled_lines = tuple(line for line in lines if line.role != "slant")
    every = (
        Layer(Purpose.SLANT, slanted),
        Layer(Purpose.LINES, ruled_lines),
        *(layer for layer in layers if layer.items),
        Layer(Purpose.ENLARGED, tuple(enlarged)),
        Layer(Purpose.LABELS, tuple(labels)),
        Layer(Purpose.PROOF, page.proof),
    )
    names = ", ".join(entry.lettering.marker.name for entry in part)
    return Page(
        page.width_mm,
        page.height_mm,
        tuple(layer for layer in every if layer.items),
        title=title if len(parts) == 1 else say("head.titled_page", title=title, page=number, pages=len(parts)),
        description=say("handout.page_description", names=names),
        bookmark=names,
        links=tuple(links),
    )


def _contents_height_mm(entries: Sequence[_Entry], box: Box, say: Phrases) -> float:
    return _contents(box, 0.0, [[entry] for entry in entries], say)[2]


def _contents(
    box: Box, y: float, parts: Sequence[Sequence[_Entry]], say: Phrases
) -> tuple[list[Item], list[Link], float]:
    """Return the strip of contents below ``y``: marker and page, linked; and the height it takes."""
    items: list[Item] = []
    links: list[Link] = []
    x, line = box.left, y - ASCENT * _TEXT_MM
    for number, part in enumerate(parts, start=1):
        for entry in part:
            text = say("handout.contents", marker=entry.lettering.marker.name, page=number)
            width = label_width_mm(text, _TEXT_MM)
            if x + width > box.right:
                x, line = box.left, line - 4.2
            items.append(label(text, complex(x, line), _TEXT_MM))
            links.append(Link(complex(x - 1, line - 1.2), complex(x + width + 1, line + 2.6), number - 1))
            x += width + 7.0
    return items, links, y - line + 6.0


def _drawn(
    entry: _Entry, box: Box, top: float, row: int, setup: Setup
) -> tuple[list[Item], list[Item], list[Item], list[Line]]:
    """Return one marker's strokes, letters, words and lines, its upper edge at ``top``."""
    lettering = entry.lettering
    heights = heights_of(lettering)
    y = top - _HEAD_MM - heights.ascender_mm
    baseline = complex(box.left, y)
    right = box.right - _beside_mm(entry.enlarged)
    strokes, words = _figures(lettering, box, top, setup)
    slant = (lettering.hand.slant_deg,)
    lines = [*row_lines(heights, baseline, right, row), *slant_lines(heights, baseline, right, row, slant)]
    for number in range(1, entry.bare + 1):
        below = baseline - 1j * number * lettering.pitch_mm
        lines += row_lines(heights, below, right, row + number)
        lines += slant_lines(heights, below, right, row + number, slant)
    x = box.left + 2.0
    letters: list[Item] = []
    for text in entry.texts:
        letters.append(Placed(written(lettering, text, "solid"), complex(x - left_of(lettering, text), y)))
        x += width_of(lettering, text) + _gap_mm(lettering)
    for text in entry.below:
        at = complex(box.left + 2.0 - left_of(lettering, text), y - lettering.pitch_mm)
        letters.append(Placed(written(lettering, text, "solid"), at))
    return strokes, letters, words, lines


def _picture(large: Enlarged, box: Box, top: float, setup: Setup) -> tuple[tuple[Item, ...], Item]:
    """Return a letter shown enlarged at the right of its rows, and the words below it."""
    corner = complex(box.right - large.width_mm, top - large.height_mm)
    times = setup.say("letter.times", factor=large.times)
    words = label(times, corner + complex(2.0, -1.4 - _TEXT_MM), _TEXT_MM, weight=STRONG)
    return large.at(corner), words


def _figures(lettering: Lettering, box: Box, top: float, setup: Setup) -> tuple[list[Item], list[Item]]:
    """Return a marker's strokes, and its name and figures: the name large at the left, the x-height at the right.

    The strokes stand between them, named, where there is room; elsewhere their widths are told in words.

    Letters a line are of a line from margin to margin, as the table counts them and ``size`` does: rows beside an
    enlarged letter are shorter.
    """
    marker, hand, x = lettering.marker, lettering.hand, lettering.x_height_mm
    inches, say = setup.paper.inches, setup.say
    name = say.label(marker.label)
    y = top - rise_of(name) * _NAME_MM
    items: list[Item] = [label(name, complex(box.left, y), _NAME_MM, weight=STRONG)]
    figure = mm_text(x, say)
    items.append(label(figure, complex(box.right, y), _NAME_MM, anchor="end", weight=STRONG))
    name_right = box.left + label_width_mm(name, _NAME_MM, STRONG)
    caption_at = box.right - label_width_mm(figure, _NAME_MM, STRONG) - 2.0
    items.append(label(say("handout.x_height"), complex(caption_at, y), _TEXT_MM, anchor="end"))
    count = letters_per_line(lettering, box.width)
    thick, thin = stroke_names(marker, say)
    thick_width, thin_width = mm_text(marker.downstroke_mm, say), mm_text(marker.hairline_mm, say)
    if marker.tip == "round":
        widths = say("handout.width", thick=thick, thick_width=thick_width)
    else:
        widths = say("handout.widths", thick=thick, thick_width=thick_width, thin=thin, thin_width=thin_width)
    slant = degrees_text(hand.slant_deg, say)
    strokes, named, left = _strokes(
        lettering, caption_at - label_width_mm(say("handout.x_height"), _TEXT_MM) - 7.0, top, say
    )
    facts = [
        say("handout.facts", tip=say(f"tips.{marker.tip}"), hand=say.within(hand.label), slant=slant),
        widths,
        say("handout.ascender_height", size=times_text(hand.ascender, x, inches, say)),
        *([say("handout.letters", count=count)] if count else []),
    ]
    if inches:
        facts.insert(2, say("head.x_height", size=length_text(x, with_inches=True, say=say)))
    def reach(told: Sequence[str]) -> float:
        return box.left + label_width_mm("  ·  ".join(told), _TEXT_MM)

    shown = [fact for fact in facts if fact != widths or marker.tip == "broad"]
    if max(name_right, reach(shown)) + 4.0 <= left:
        facts, items = shown, [*items, *named]
    else:
        strokes = []
    while len(facts) > 1 and reach(facts) > box.right:
        facts.pop(1)
    items.append(label("  ·  ".join(facts), complex(box.left, y - 4.2), _TEXT_MM))
    return strokes, items


def _strokes(
    lettering: Lettering, right: float, top: float, say: Phrases
) -> tuple[list[Item], list[Item], float]:
    """Return the marker's strokes at true width, each with its name and width beside it, and how far left they reach.

    They end at ``right`` and hang from ``top``. A round tip has one.
    """
    marker = lettering.marker
    shift = shift_per_height(lettering.hand.slant_deg)
    lean = complex(shift, 1.0) * STROKE_MM
    thick, thin = stroke_names(marker, say)
    shown = [(thick, stem_mm(marker)), (thin, marker.hairline_mm)][: 1 if marker.tip == "round" else 2]
    if marker.tip == "broad":
        angle = degrees_text(marker.nib_angle_deg or 0.0, say)
        shown[0] = (say("strokes.stem", angle=angle), stem_mm(marker))
    strokes: list[Item] = []
    words: list[Item] = []
    x = right
    for name, width in reversed(shown):
        size = width_text(width, say)
        x -= max(label_width_mm(name, _STROKE_WORDS_MM), label_width_mm(size, _STROKE_WORDS_MM, STRONG))
        words.append(label(name, complex(x, top - STROKE_MM / 2 + 0.6), _STROKE_WORDS_MM))
        words.append(label(size, complex(x, top - STROKE_MM / 2 - 2.6), _STROKE_WORDS_MM, weight=STRONG))
        across = width * abs(complex(shift, 1.0))
        x -= 1.4 + across + max(lean.real, 0.0)
        foot = complex(x - min(lean.real, 0.0), top - STROKE_MM)
        corners = (foot, foot + across, foot + across + lean, foot + lean)
        strokes.append(Shape((polyline(corners, closed=True),), Style(fill=BLACK), f"{mm_text(width)} wide"))
        x -= _STROKE_GAP_MM
    return strokes[::-1], words, x + _STROKE_GAP_MM
