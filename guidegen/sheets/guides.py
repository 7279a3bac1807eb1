"""The guideline sheet: rows of four lines that fill a paper, for one marker in one hand."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from guidegen.errors import GuidegenError, bad_input
from guidegen.geometry.path import polyline
from guidegen.lettering.lettering import Lettering
from guidegen.lettering.letters import SAMPLE_LETTER
from guidegen.lettering.sizing import At, RightSize, sample_outline
from guidegen.profiles.markers import Marker
from guidegen.scene import BLACK, Document, Item, Layer, Line, Purpose, Shape, Style, hull_bounds, moved
from guidegen.sheets.parts import frame as frames
from guidegen.sheets.parts.enlarging import TINY_MM, Enlarged, enlarged_sample
from guidegen.sheets.parts.figures import degrees_text, inch_text, mm_text, proportions_text, times_text
from guidegen.sheets.parts.frame import Box, Setup
from guidegen.sheets.parts.header import Head, headers
from guidegen.sheets.parts.labels import SMALLEST_LABEL_MM, label, label_width_mm
from guidegen.sheets.parts.phrases import Phrases, phrases
from guidegen.sheets.parts.row_choice import Rows
from guidegen.sheets.parts.rows import RowHeights, RowLayout, heights_of, row_layout, row_lines, slant_lines

_NAME_MM = 2.3
_LEAST_NAME_MM = SMALLEST_LABEL_MM
_NAME_GAP_MM = 2.0


def chosen_x_height_mm(size: RightSize, at: At = "right") -> float:
    """Return the x-height at that place of the band."""
    if at == "right":  # the band is worked out only for those who ask for it
        return size.x_height_mm
    return size.smallest_x_height_mm if at == "smallest" else size.largest_x_height_mm


def band_warning(size: RightSize, x_height_mm: float) -> str:
    """Return what to say of an x-height outside the marker's band, "" inside it."""
    verdict = size.verdict(x_height_mm)
    if verdict == "right":
        return ""
    return (
        f"an x-height of {mm_text(x_height_mm)} is {verdict} for {size.marker.name}: "
        f"its band is {mm_text(size.smallest_x_height_mm)} to {mm_text(size.largest_x_height_mm)}"
    )


def guide_sheet(
    size: RightSize,
    setup: Setup,
    *,
    x_height_mm: float | None = None,
    at: At = "right",
    slants_deg: Sequence[float] = (),
    rows: Rows | None = None,
) -> Document:
    """Return one page of guide rows.

    ``x_height_mm`` overrides the place in the band that ``at`` names; ``slants_deg`` override the hand's slant.

    Raises:
        GuidegenError: when no row fits; the message names the smallest paper that holds one.
    """
    wanted = rows or Rows()
    x_height = x_height_mm or chosen_x_height_mm(size, at)
    own = size.hand.slant_deg
    slants = tuple(slants_deg) or (180.0 - own if wanted.left_handed else own,)
    if not all(20 <= slant <= 160 for slant in slants):
        raise bad_input("`slants_deg`", "", min(slants, key=lambda s: -abs(s - 90)), "degrees from 20 to 160")
    place = at if x_height_mm is None else None
    heights = heights_of(size.lettering.at(x_height))

    enlarged = _enlarged(size.lettering.at(x_height), slants[0]) if setup.look.model else None

    def room(where: Setup) -> _Room:
        head = replace(guide_head(size, x_height, place, slants, where), enlarged=enlarged)
        return _room(size, where, head, heights, wanted)

    page = room(setup)
    notes = [band_warning(size, x_height), angle_note(size)]
    if page.layout.count == 0:
        raise GuidegenError(
            f"no row of {mm_text(heights.row_mm)} fits {setup.paper.label}; "
            + setup.suggestion(lambda where: room(where).layout.count > 0, either_way=True)
        )
    if wanted.count is not None and page.layout.count < wanted.count:
        holding = "that holds so many"
        fix = setup.suggestion(lambda where: room(where).layout.count == wanted.count, holding, either_way=True)
        raise bad_input("`row_count`", "", wanted.count, f"at most {page.layout.count} on {setup.paper.label}", fix)
    if page.layout.count == 1 != wanted.count:
        more = setup.suggestion(lambda where: room(where).layout.count > 1, "that holds two", either_way=True)
        notes.append(f"only one row fits {setup.paper.label}; {more}")
    layers = (*page.heads, *_rows(size, page, heights, slants, wanted, setup))
    say = setup.say
    title = say("guides.title", marker=say.label(size.marker.label), size=mm_text(x_height, say))
    description = say(
        "guides.description",
        count=page.layout.count,
        hand=say.label(size.hand.label),
        proportions=proportions_text(size.hand, say),
        slant=slants_text(slants, say),
        paper=setup.paper_label,
    )
    return frames.document(setup, [(page.frame, merged(layers))], title, description, notes)


@dataclass(frozen=True, slots=True)
class _Room:
    """A page with its header set, the box left for rows, and how they lie in it."""

    frame: frames.Frame
    heads: tuple[Layer, ...]
    box: Box
    layout: RowLayout


def _room(size: RightSize, setup: Setup, head: Head, heights: RowHeights, rows: Rows) -> _Room:
    """Return the page with the fullest header that leaves room for two rows, or else for one."""
    page = frames.frame(setup)
    gap = size.hand.row_gap * heights.x_height_mm if rows.gap_mm is None else rows.gap_mm
    rooms = []
    for heads, used in headers(page.box, replace(head, strokes=setup.look.strokes)):
        if heads and not setup.look.header:
            continue
        box = replace(page.box, top=page.box.top - used)
        layout = row_layout(box.height, heights.row_mm, gap, rows.count)
        if rows.count is not None and rows.gap_mm is None:
            layout = layout.spread(heights.row_mm)
        rooms.append(_Room(page, heads, box, layout))
    enough = (2, 1, 0) if rows.count is None else (rows.count, min(2, rows.count), 1, 0)
    best = next(room for wanted in enough for room in rooms if room.layout.count >= wanted)
    return best if best.heads or setup.proof == "none" else _named_below(setup, head, best)


def _named_below(setup: Setup, head: Head, room: _Room) -> _Room:
    """Return a page without header, with marker and size named in the footer where that takes no height."""
    page = frames.frame(setup, setup.say("guides.named", marker=head.title, size=head.figure))
    return replace(room, frame=page) if page.box.bottom <= room.box.bottom else room


def guide_head(size: RightSize, x_height_mm: float, at: At | None, slants: Sequence[float], setup: Setup) -> Head:
    """Return the words of the header."""
    hand = size.hand
    say, with_inches = setup.say, setup.paper.inches
    place = at or "chosen"
    inch = inch_text(x_height_mm, say)
    caption = say(f"guides.{place}_inches", inches=inch) if with_inches else say(f"guides.{place}")
    figure = mm_text(x_height_mm, say)
    below = (
        say("guides.ascender_height", size=times_text(hand.ascender, x_height_mm, with_inches, say)),
        say("guides.descender", size=times_text(hand.descender, x_height_mm, with_inches, say)),
    )
    facts = (
        (say("guides.tip"), say(f"tips.{size.marker.tip}")),
        (say("guides.hand"), say.label(hand.label)),
        (say("guides.slant"), slants_text(slants, say)),
        (say("guides.proportions"), proportions_text(hand, say)),
    )
    return Head(say.label(size.marker.label), figure, caption, below, facts, _held(size), slants[0], say=say)


def angle_note(size: RightSize) -> str:
    """Return what to say where a hand wants a broad edge held otherwise than the marker's profile, "" elsewhere."""
    angle, own = size.hand.pen_angle_deg, size.marker.nib_angle_deg
    if size.marker.tip != "broad" or angle is None or own is None or angle == own:
        return ""
    return (
        f"the pen angle shown is {degrees_text(angle)}, as {size.hand.name} is written; "
        f"the profile of {size.marker.name} says {degrees_text(own)}"
    )


def _held(size: RightSize) -> Marker:
    """Return the marker held as its hand wants it."""
    angle = size.hand.pen_angle_deg
    return size.marker if angle is None or size.marker.tip != "broad" else replace(size.marker, nib_angle_deg=angle)


def slants_text(slants: Sequence[float], say: Phrases) -> str:
    """Return one slant or several."""
    told = degrees_text(slants[0], say)
    for slant in slants[1:]:
        told = say("join.two", first=told, second=degrees_text(slant, say))
    return told


def _rows(
    size: RightSize, page: _Room, heights: RowHeights, slants: Sequence[float], rows: Rows, setup: Setup
) -> tuple[Layer, ...]:
    look, say = setup.look, setup.say
    lines: list[Line] = []
    slanted: list[Line] = []
    ladder: list[Item] = []
    box = page.box
    gap_mm = page.layout.pitch_mm - heights.row_mm
    name_mm = _name_size_mm(heights, box.width, gap_mm, say) if page.heads else 0.0
    names_mm = _names_width_mm(heights, name_mm, say)
    beside = names_mm + _NAME_GAP_MM if name_mm else 0.0
    rungs = 2 * size.marker.downstroke_mm if size.marker.tip == "broad" else 0.0
    for number, offset in enumerate(page.layout.tops_mm(), start=1):
        baseline = complex(box.left, box.top - offset - heights.ascender_mm)
        right = box.right
        if number == 1 and rows.left_handed:
            baseline += beside
        elif number == 1:
            right -= beside
        lines += row_lines(heights, baseline, right, number)
        slanted += slant_lines(heights, baseline + rungs, right, number, slants)
        if rungs:
            ladder += nib_ladder(size.marker, heights, baseline, filled=number == 1)
    first = complex(box.left, box.top - heights.ascender_mm)
    names_at = first if rows.left_handed else complex(box.right - names_mm, first.imag)
    names = line_names(heights, names_at, name_mm, say) if name_mm else []
    sample = _sample(size, heights.x_height_mm, slants) if look.model else ()
    return (
        Layer(Purpose.SLANT, tuple(slanted)),
        Layer(Purpose.LINES, tuple(lines)),
        Layer(Purpose.LADDER, tuple(ladder)),
        Layer(Purpose.LETTER, _placed(sample, first, rungs, heights, box, rows)),
        Layer(Purpose.LABELS, tuple(names)),
    )


def _enlarged(lettering: Lettering, slant_deg: float) -> Enlarged | None:
    """Return the sample letter of a tiny marker enlarged; None where it can be seen as it is."""
    if lettering.x_height_mm >= TINY_MM:
        return None
    return enlarged_sample(replace(lettering, hand=lettering.hand.slanted(slant_deg)))


def _sample(size: RightSize, x_height_mm: float, slants: Sequence[float]) -> tuple[Shape, ...]:
    """Return the sample letter; nothing for a hand that has guides only."""
    hand = size.hand if size.hand.slant_deg == slants[0] else size.hand.slanted(slants[0])
    if SAMPLE_LETTER not in hand.letters:
        return ()
    outline = sample_outline(Lettering(size.marker, hand, x_height_mm))
    return (Shape(outline, Style(fill=BLACK), SAMPLE_LETTER),)


def _placed(
    sample: Sequence[Shape], first: complex, rungs: float, heights: RowHeights, box: Box, rows: Rows
) -> tuple[Item, ...]:
    """Return the sample letter standing at the beginning of the first row, for left-handers at its end."""
    if not sample:
        return ()
    low, high = hull_bounds(tuple(sample))
    side = 0.15 * heights.x_height_mm
    x = box.right - side - high.real if rows.left_handed else first.real + rungs + side - low.real
    return tuple(moved(shape, complex(x, first.imag)) for shape in sample)


def _name_size_mm(heights: RowHeights, width_mm: float, gap_mm: float, say: Phrases) -> float:
    """Return how large the line names are set, 0 where lines are too close or too short for them."""
    levels = [height for _, height in heights.lines()]
    # The lowest name hangs half its size below its line, and the next row must not run through it.
    size = min(_NAME_MM, 0.9 * min(high - low for high, low in pairwise(levels)), 2.0 * gap_mm)
    return size if size >= _LEAST_NAME_MM and _names_width_mm(heights, size, say) < 0.25 * width_mm else 0.0


def _names_width_mm(heights: RowHeights, size_mm: float, say: Phrases) -> float:
    return max(label_width_mm(say(f"lines.{role}"), size_mm) for role, _ in heights.lines())


def line_names(heights: RowHeights, at: complex, size_mm: float, say: Phrases | None = None) -> list[Item]:
    """Return the names of a row's lines, each level with its line, from ``at`` on the baseline to the right."""
    said = say or phrases()
    return [
        label(said(f"lines.{role}"), at + 1j * (height - 0.24 * size_mm), size_mm) for role, height in heights.lines()
    ]


def nib_ladder(marker: Marker, heights: RowHeights, baseline: complex, *, filled: bool) -> list[Shape]:
    """Return stepped squares of the nib's width, from the baseline up and down as far as whole ones fit."""
    nib = marker.downstroke_mm
    up = int(heights.ascender_mm / nib + 1e-6)
    down = int(heights.descender_mm / nib + 1e-6)
    style = Style(fill=BLACK) if filled else Style(stroke_mm=0.12)
    squares: list[Shape] = []
    for step in range(-down, up):
        corner = baseline + complex(nib * (step % 2), nib * step)
        sides = [corner, corner + nib, corner + nib * (1 + 1j), corner + nib * 1j]
        squares.append(Shape((polyline(sides, closed=True),), style))
    return squares


def merged(layers: Sequence[Layer]) -> tuple[Layer, ...]:
    """Return the layers with those of one purpose put together, at the place of the first."""
    merged: dict[Purpose, tuple[Item, ...]] = {}
    for layer in layers:
        merged[layer.purpose] = merged.get(layer.purpose, ()) + layer.items
    return tuple(Layer(purpose, items) for purpose, items in merged.items())
