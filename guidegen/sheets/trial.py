"""A page to find a new marker's size by hand: numbered rows of rising x-height, and a comb of known widths."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import replace

from guidegen.errors import GuidegenError, bad_input
from guidegen.geometry.path import polyline
from guidegen.scene import BLACK, Document, Item, Layer, Line, Purpose, Shape, Style
from guidegen.sheets.guides import line_names, merged
from guidegen.sheets.parts import frame as frames
from guidegen.sheets.parts.figures import inch_text, mm_text
from guidegen.sheets.parts.frame import Box, Frame, Setup
from guidegen.sheets.parts.labels import ASCENT, SMALLEST_LABEL_MM, STRONG, label, label_width_mm, wrapped
from guidegen.sheets.parts.page_head import Title, running_head
from guidegen.sheets.parts.phrases import Phrases, phrases
from guidegen.sheets.parts.rows import RowHeights, row_lines, slant_lines

STEPS = ("step_1", "step_2", "step_3", "step_4")
LARGEST_MM = 30.0
"""The largest x-height unless one is asked for: what the largest of the shipped markers needs, and a little more."""
BLANKS = ("marker", "row", "x_height", "downstroke", "upstroke")
COMB_MM = (0.2, 0.3, 0.5, 0.8, 1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0)
COMB_HEIGHT_MM = 15.0
ASCENDER, DESCENDER, GAP = 2.0, 1.0, 0.5
_RATIO = 1.2
_STEP_MM = 0.5
_LIMITS_MM = (1.0, 100.0)
_TEXT_MM = 3.0
_TEXT_LINE_MM = 4.4
_CAPTION_MM = 2.5
_NUMBER_WIDTH_MM = 17.0
_LEAST_ROWS_MM = 20.0
_HEAD_GAP_MM = 8.0
_LEAST_GAP_MM = 3.5
"""White between rows, so that the eye sees which lines are one row."""
_BLANK_RULE = Style(stroke_mm=0.12)


def rising_x_heights_mm(from_mm: float, to_mm: float) -> tuple[float, ...]:
    """Return x-heights from ``from_mm`` to ``to_mm``, each about a fifth larger than the one before.

    Those between are whole halves of a millimetre, so that a ruler can follow.

    Raises:
        GuidegenError: when the ends are no sizes to write at, or the wrong way round.
    """
    low, high = _LIMITS_MM
    for field, value in (("`from_mm`", from_mm), ("`to_mm`", to_mm)):
        if not low <= value <= high:
            raise bad_input(field, "", value, f"an x-height from {low:g} to {high:g} mm")
    if from_mm > to_mm:
        raise bad_input("`from_mm`", "", from_mm, f"at most `to_mm`, which is {to_mm:g} mm")
    heights = [from_mm]
    while heights[-1] < to_mm:
        rounded = round(heights[-1] * _RATIO / _STEP_MM) * _STEP_MM
        following = max(rounded, heights[-1] + _STEP_MM)
        heights.append(to_mm if following > to_mm - _STEP_MM / 2 else following)
    return tuple(heights)


def trial_sheet(
    setup: Setup, *, from_mm: float = 3.0, to_mm: float | None = None, slants_deg: Sequence[float] = ()
) -> Document:
    """Return the trial pages: how to go about it, the rows, and on each page a comb.

    ``to_mm`` is the largest x-height, None for :data:`LARGEST_MM` or what the paper holds.

    Raises:
        GuidegenError: when the largest row fits no page of this paper (the smallest that would do is named).
    """
    to_mm = _largest_mm(setup, from_mm) if to_mm is None else to_mm
    x_heights = rising_x_heights_mm(from_mm, to_mm)

    def fits(where: Setup) -> bool:
        box = frames.frame(_later(where)).box
        room_for_head = _head(box, where.say)[1] + _HEAD_GAP_MM >= box.bottom
        return room_for_head and (ASCENDER + DESCENDER) * to_mm <= box.height and box.width >= 3 * _NUMBER_WIDTH_MM

    if not fits(setup):
        raise GuidegenError(
            f"a trial page with rows up to {mm_text(to_mm)} does not fit {setup.paper.label}; use a smaller `to_mm`, "
            f"or a larger paper: {setup.suggestion(fits)}"
        )
    pages = tuple(_pages(setup, x_heights, slants_deg))
    pages = tuple(_pages(setup, x_heights, slants_deg, len(pages)))
    say = setup.say
    low, high = mm_text(from_mm, say), mm_text(to_mm, say)
    description = say("trial.description", count=len(x_heights), low=low, high=high, paper=setup.paper_label)
    return frames.document(setup, pages, say("trial.page_title"), description, ())


def _later(setup: Setup) -> Setup:
    """Return the setup of the second page on: the card and square stand on the first only."""
    return replace(setup, proof="bar") if setup.proof == "full" else setup


def _largest_mm(setup: Setup, from_mm: float) -> float:
    """Return the largest x-height that is wanted and that a page holds, in whole halves of a millimetre."""
    held = frames.frame(_later(setup)).box.height / (ASCENDER + DESCENDER)
    return max(from_mm, min(LARGEST_MM, math.floor(held / _STEP_MM) * _STEP_MM))


def _pages(
    setup: Setup, x_heights: Sequence[float], slants: Sequence[float], pages: int = 1
) -> Iterable[tuple[Frame, tuple[Layer, ...]]]:
    """Yield the pages; ``pages`` is how many the head of a further one says that there are."""
    page, (layers, top) = _first_page(setup)
    empty, count = False, 1
    for number, x_height in enumerate(x_heights, start=1):
        heights = RowHeights(x_height, ASCENDER * x_height, DESCENDER * x_height)
        if top - heights.row_mm < page.box.bottom - 1e-9 and not empty:
            yield page, merged(layers)
            page, count = frames.frame(_later(setup)), count + 1
            layers, top = _further_head(page.box, setup.say, heights.row_mm, (count, pages))
            empty = True
        layers += _row(setup, page.box, top, heights, number, slants, named=number == 1 or empty)
        top -= heights.row_mm + max(GAP * x_height, _LEAST_GAP_MM)
        empty = False
    yield page, merged(layers)


def _further_head(box: Box, say: Phrases, row_mm: float, which: tuple[int, int]) -> tuple[list[Layer], float]:
    """Return the head of a further page: what it is, what to do, and a comb, or as much as leaves room for a row."""
    title = Title(say("trial.title"), "", *which, name_line=False, say=say)
    items, used = running_head(box, title)
    y = box.top - used
    words: list[Item] = []
    for line in wrapped(say("trial.again"), box.width, _TEXT_MM) if items else ():
        words.append(label(line, complex(box.left, y), _TEXT_MM))
        y -= _TEXT_LINE_MM
    bars, numbers, below = _named_comb(box, y, say)
    whole: list[Layer] = [Layer(Purpose.COMB, tuple(bars)), Layer(Purpose.LABELS, (*items, *words, *numbers))]
    heads: list[tuple[list[Layer], float]] = [
        (whole, below - 6.0),
        ([Layer(Purpose.LABELS, (*items, *words))], y - 2.0),
        ([Layer(Purpose.LABELS, items)], box.top - used),
    ]
    fitting = (head for head in heads if head[1] - row_mm >= box.bottom - 1e-9 and items)
    return next(fitting, ([], box.top))


def _first_page(setup: Setup) -> tuple[Frame, tuple[list[Layer], float]]:
    """Return the first page with its head; where the card leaves no room for rows, with the bar alone."""
    if setup.proof == "full" and not _holds_card(setup):
        setup = _later(setup)
    page = frames.frame(setup)
    return page, _head(page.box, setup.say)


def _holds_card(setup: Setup) -> bool:
    try:
        box = frames.frame(setup).box
    except GuidegenError:
        return False
    return _head(box, setup.say)[1] - box.bottom >= _LEAST_ROWS_MM


def _head(box: Box, say: Phrases) -> tuple[list[Layer], float]:
    """Return title, steps, the blanks to fill in and the comb, and the height below which the rows begin."""
    size = 6.4 if box.width > 120 else 4.8
    y = box.top - ASCENT * size
    words: list[Item] = [label(say("trial.title"), complex(box.left, y), size, weight=STRONG)]
    y -= 7.5
    for number, step in enumerate(STEPS, start=1):
        words.append(label(str(number), complex(box.left, y), _TEXT_MM, weight=STRONG))
        for line in wrapped(say(f"trial.{step}"), box.width - 5.0, _TEXT_MM):
            words.append(label(line, complex(box.left + 5.0, y), _TEXT_MM))
            y -= _TEXT_LINE_MM
    blanks, rules = _blanks(box, y - 1.0, say)
    bars, numbers, y = _named_comb(box, y - (7.0 if blanks else 0.5), say)
    return [
        Layer(Purpose.COMB, tuple(bars)),
        Layer(Purpose.LABELS, (*words, *numbers, *blanks)),
        Layer(Purpose.BLANKS, tuple(rules)),
    ], y - _HEAD_GAP_MM


def _named_comb(box: Box, y: float, say: Phrases) -> tuple[list[Item], list[Item], float]:
    """Return the comb below ``y`` with its name above it, its words, and the height of the words' baseline."""
    y -= ASCENT * _TEXT_MM
    name = say("trial.comb")
    bars, numbers = comb(complex(box.left, y - 2.2 - COMB_HEIGHT_MM), box.width, say)
    foot = y - 2.2 - COMB_HEIGHT_MM - 3.2
    if label_width_mm(name, _CAPTION_MM, STRONG) > box.width:
        return bars, numbers, foot
    return bars, [label(name, complex(box.left, y), _CAPTION_MM, weight=STRONG), *numbers], foot


def comb(at: complex, width_mm: float, say: Phrases | None = None) -> tuple[list[Item], list[Item]]:
    """Return bars of known width standing on ``at``, as many as fit ``width_mm``, and their numbers below."""
    said = say or phrases()
    bars: list[Item] = []
    numbers: list[Item] = []
    widths = [width for n, width in enumerate(COMB_MM) if sum(COMB_MM[: n + 1]) + (n + 2) * 4.0 <= width_mm]
    gap = min(8.0, (width_mm - sum(widths) - 5.0) / max(1, len(widths)))
    x = 1.5
    for width in widths:
        corner = at + x
        sides = [corner, corner + width, corner + complex(width, COMB_HEIGHT_MM), corner + 1j * COMB_HEIGHT_MM]
        bars.append(Shape((polyline(sides, closed=True),), Style(fill=BLACK), mm_text(width)))
        numbers.append(label(said.number(f"{width:g}"), corner + width / 2 - 3.2j, 2.5, anchor="middle"))
        x += width + gap
    if widths:
        last = at + x - gap - widths[-1] / 2
        after = label_width_mm(said.number(f"{widths[-1]:g}"), 2.5) / 2 + 0.7
        numbers.append(label("mm", last + after - 3.2j, 2.5))
    return bars, numbers


def _blanks(box: Box, y: float, say: Phrases) -> tuple[list[Item], list[Item]]:
    """Return words with a rule behind each to write on, spread over the width, as many as fit."""
    words: list[Item] = []
    rules: list[Item] = []
    names = [name for name in BLANKS if box.width >= 120 or name != "marker"]
    if box.width < 90:
        return [], []
    step = box.width / len(names)
    for number, name in enumerate(names):
        at = complex(box.left + number * step, y)
        shown = say(f"trial.{name}")
        words.append(label(shown, at, 2.5))
        rules.append(
            Line(at + label_width_mm(shown, 2.5) + 1.2, at + step - (4.0 if name != names[-1] else 0), _BLANK_RULE)
        )
    return words, rules


def _row(
    setup: Setup, box: Box, top: float, heights: RowHeights, number: int, slants: Sequence[float], *, named: bool
) -> list[Layer]:
    say = setup.say
    baseline = complex(box.left + _NUMBER_WIDTH_MM, top - heights.ascender_mm)
    right = box.right - (20.0 if named and 0.9 * heights.x_height_mm >= SMALLEST_LABEL_MM and box.width > 90 else 0.0)
    beside = complex(box.left, baseline.imag)
    words: list[Item] = [
        label(str(number), beside, 3.6, weight=STRONG),
        label(mm_text(heights.x_height_mm, say), beside + 6.5, 2.3),
    ]
    if setup.paper.inches:
        words.append(label(inch_text(heights.x_height_mm, say), beside + 6.5 - 2.8j, 2.3))
    if right < box.right:
        words += line_names(heights, complex(right + 2.0, baseline.imag), min(2.3, 0.9 * heights.x_height_mm), say)
    return [
        Layer(Purpose.SLANT, slant_lines(heights, baseline, right, number, slants)),
        Layer(Purpose.LINES, row_lines(heights, baseline, right, number)),
        Layer(Purpose.LABELS, tuple(words)),
    ]
