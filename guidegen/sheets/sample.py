"""The sample letter at its right size, with what decides it measured beside it, and the ends of its band."""

from __future__ import annotations

import cmath
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import product

from guidegen.errors import GuidegenError
from guidegen.geometry.path import Outline, translate
from guidegen.geometry.shape.counters import Chord
from guidegen.lettering.lettering import Lettering
from guidegen.lettering.letters import SAMPLE_LETTER, ink, letter
from guidegen.lettering.sizing import At, RightSize, SampleCounter, counter_at
from guidegen.scene import BLACK, WHITE, Document, Item, Layer, Line, Purpose, Shape, Style, hull_bounds, moved
from guidegen.sheets.guides import angle_note, band_warning, chosen_x_height_mm, guide_head, merged, nib_ladder
from guidegen.sheets.parts import frame as frames
from guidegen.sheets.parts.enlarging import enlarged, times_larger
from guidegen.sheets.parts.figures import length_text, mm_text, white_words
from guidegen.sheets.parts.frame import Box, Frame, Setup
from guidegen.sheets.parts.header import Head, headers
from guidegen.sheets.parts.labels import STRONG, label, label_width_mm, wrapped
from guidegen.sheets.parts.phrases import Phrases, phrases
from guidegen.sheets.parts.rows import RowHeights, heights_of, row_lines

_DIMENSION_MM = 2.5
_ABOVE_MM = 2.5
_BLOCK_GAP_MM = 9.0
_WIDEST_GAP_MM = 20.0
_ROW_GAP_MM, _RULE_GAP_MM = 8.0, 6.0
_RULE_WIDTH = 36.0
"""A line of the rule takes at most this many times the height of its type."""
_EXTENSION = Style(stroke_mm=0.1)
_MEASURE = Style(stroke_mm=0.3)
_TOUCHING, _STEP_MM = 0.02, 1.4
"""Marks that overlap by no more than this share of the counter stand on one line, others a step apart."""


@dataclass(frozen=True, slots=True)
class _Type:
    """Sizes of the words of the page, in mm: name, figures, the distance between their lines, the rule."""

    name: float
    figure: float
    line: float
    rule: float
    looks: bool = True
    """Whether the captions say how a letter looks beside what it measures."""

    @property
    def gap(self) -> float:
        """Return the distance from the lowest line to the foot of the first caption."""
        return 2.5 + self.name


_GENEROUS = _Type(4.0, 3.0, 4.6, 4.4)
_SMALL = _Type(2.5, 2.5, 3.6, 3.3)
_TERSE = replace(_SMALL, looks=False)


@dataclass(frozen=True, slots=True)
class Dimensions:
    """The two dimension marks of a letter standing at the origin: lines, words and how far they reach."""

    lines: tuple[Line, ...]
    words: tuple[Shape, ...]
    low: complex
    high: complex


@dataclass(frozen=True, slots=True)
class Specimen:
    """One letter on its own four lines. The letter stands at the origin; ``left`` and ``right`` are its lines' ends."""

    purpose: Purpose
    outline: Outline
    char: str
    heights: RowHeights
    captions: tuple[str, ...]
    dimensions: Dimensions | None
    left: float
    right: float
    ladder: tuple[Item, ...] = ()
    type: _Type = _SMALL

    @property
    def width_mm(self) -> float:
        return self.right - self.left

    @property
    def above_mm(self) -> float:
        """Return how far the specimen reaches above its baseline, marks included."""
        ink = hull_bounds((Shape(self.outline, Style(fill=BLACK)),))[1].imag
        return max(self.heights.ascender_mm, ink, self.dimensions.high.imag if self.dimensions else 0.0)

    @property
    def below_mm(self) -> float:
        """Return how far the specimen reaches below its baseline, captions included."""
        lines = len(self.captions)
        return self.heights.descender_mm + (self.type.gap + (lines - 1) * self.type.line + 0.8 if lines else 0.6)

    def widened(self, by: float) -> Specimen:
        """Return it with its lines longer by ``by``, half on either side; a ladder stays at their left end."""
        ladder = tuple(moved(square, -by / 2 + 0j) for square in self.ladder)
        return replace(self, left=self.left - by / 2, right=self.right + by / 2, ladder=ladder)


def sample_sheet(
    size: RightSize, setup: Setup, *, char: str = SAMPLE_LETTER, x_height_mm: float | None = None, at: At = "right"
) -> Document:
    """Return the sample letter dimensioned, between the same letter at both ends of the band.

    Beside each other they stand smallest first, spread over the width. Where there is no room for that the letter
    comes first and the others take further rows, and further pages where they must.

    Raises:
        GuidegenError: the hand lacks ``char``, or not even the first letter fits (the smallest paper is named).
    """
    x_height = x_height_mm or chosen_x_height_mm(size, at)
    place = at if x_height_mm is None else None
    say = setup.say
    rule = rule_words(size, char, say)
    head = guide_head(size, x_height, place, (size.hand.slant_deg,), setup)

    # A picture of a tiny letter, too, where all of them stand beside each other.
    for large, sizes in product((True, False), (_GENEROUS, _SMALL, _TERSE)):
        specimens = _specimens(size, char, x_height, place, setup, sizes, large=large)
        if _one_row(setup, head, specimens, rule):
            break

    def fits(where: Setup, specimen: Specimen = specimens[0]) -> bool:
        return _room(where, head, specimen.width_mm, _depth([specimen])) is not None

    if not fits(setup):
        specimens = [replace(specimen, captions=()) for specimen in specimens]
    if not fits(setup, specimens[0]):
        raise GuidegenError(
            f"the letter at {mm_text(x_height)} does not fit {setup.paper.label}; "
            + setup.suggestion(fits, either_way=True)
        )
    left_out = [specimen for specimen in specimens if not fits(setup, specimen)]
    notes = [band_warning(size, x_height), angle_note(size)]
    notes += [
        f"{specimen.purpose.replace('-', ' ')} ({mm_text(specimen.heights.x_height_mm)}) does not fit "
        f"{setup.paper.label} and is left out; {setup.suggestion(lambda where, s=specimen: fits(where, s))}"  # type: ignore[misc]
        for specimen in left_out
    ]
    pages = _pages(setup, head, [specimen for specimen in specimens if specimen not in left_out], rule)
    title = say("letter.title", marker=say.label(size.marker.label), char=char, size=mm_text(x_height, say))
    description = say("letter.description", char=char, hand=say.label(size.hand.label), paper=setup.paper_label)
    return frames.document(setup, pages, title, description, notes)


def rule_words(size: RightSize, char: str, say: Phrases) -> str:
    """Return the rule of the right size in a sentence or two, for a student who sees ``char``."""
    value = say.number(f"{size.hand.size.value:g}")
    if size.rule == "nib widths":
        return say("letter.nib_rule", value=value)
    if size.rule == "line height":
        return say("letter.line_rule", value=value)
    return say("letter.counter_rule" if char == SAMPLE_LETTER else "letter.other_rule")


def _specimens(
    size: RightSize, char: str, x_height: float, place: At | None, setup: Setup, sizes: _Type, *, large: bool = True
) -> list[Specimen]:
    say = setup.say
    chosen = [(Purpose.LETTER, say(f"letter.{place or 'chosen'}"), x_height, True)]
    ends: tuple[tuple[Purpose, At], ...] = (
        (Purpose.LETTER_SMALLEST, "smallest"),
        (Purpose.LETTER_LARGEST, "largest"),
    )
    chosen += [(purpose, say(f"letter.{end}"), chosen_x_height_mm(size, end), False) for purpose, end in ends]
    times = times_larger(x_height) if large else 1
    if times == 1:
        return [_specimen(size, char, *entry, setup, sizes) for entry in chosen]
    # What is too small to see is measured on a picture of it, several times as large.
    name = say("letter.enlarged", name=say(f"letter.{place or 'chosen'}"), factor=times)
    picture = _specimen(size, char, Purpose.ENLARGED, name, x_height, True, setup, sizes, times)
    return [*(_specimen(size, char, *entry[:3], False, setup, sizes) for entry in chosen), picture]


def _specimen(
    size: RightSize,
    char: str,
    purpose: Purpose,
    name: str,
    x_height: float,
    dimensioned: bool,
    setup: Setup,
    sizes: _Type,
    times: int = 1,
) -> Specimen:
    hand, say = size.hand, setup.say
    lettering = enlarged(Lettering(size.marker, hand, x_height), times)
    outline = ink([letter(lettering, char)])
    heights = heights_of(lettering)
    counter = counter_at(lettering) if char == SAMPLE_LETTER else None
    ratio = _ratio_words(size, char, x_height, counter, say)
    x_height_words = say("head.x_height", size=length_text(x_height, setup.paper.inches, say))
    captions = (name, x_height_words, *ratio[: None if sizes.looks else 1])
    shown = counter if dimensioned else None
    marks = dimensions(shown, hand.slant_deg, heights.ascender_mm, size, say, times) if shown else None
    low, high = hull_bounds((Shape(outline, Style(fill=BLACK)),))
    pad = max(2.5, 0.5 * x_height)
    if times > 1:
        captions = captions[:1]
    figures = (label_width_mm(text, sizes.figure) for text in captions[1:])
    widest = max([label_width_mm(name, sizes.name, STRONG), *figures])
    left = min(low.real - pad - _ladder_mm(size), marks.low.real if marks else low.real)
    right = max(high.real + pad, marks.high.real if marks else high.real, left + widest)
    ladder = tuple(nib_ladder(size.marker, heights, left + 0j, filled=dimensioned)) if _ladder_mm(size) else ()
    return Specimen(purpose, outline, char, heights, captions, marks, left, right, ladder, sizes)


def _ladder_mm(size: RightSize) -> float:
    """Return the width of the nib ladder that a broad tip's rows begin with."""
    return 2 * size.marker.downstroke_mm if size.marker.tip == "broad" else 0.0


def _ratio_words(
    size: RightSize, char: str, x_height: float, counter: SampleCounter | None, say: Phrases
) -> tuple[str, ...]:
    widths = say.number(f"{x_height / size.marker.downstroke_mm:.3g}")
    if size.rule == "nib widths":
        return (say("letter.nib_widths", count=widths),)
    if size.rule == "line height":
        return (say("letter.line_widths", count=widths),)
    if char != SAMPLE_LETTER:
        return ()
    verdict = size.verdict(x_height)
    white = white_words(counter.ratio if counter else None, say)
    if verdict != "right":
        white = say("letter.too_small" if verdict == "too small" else "letter.too_large", white=white)
    if counter is None:
        return (white,)
    if abs(counter.ratio - 1) < 0.01:
        return white, say("letter.equal_looks")
    return white, say("letter.small_looks") if counter.ratio < 1 else say("letter.large_looks")


def dimensions(
    counter: SampleCounter,
    slant_deg: float,
    above_mm: float,
    size: RightSize,
    say: Phrases | None = None,
    times: int = 1,
) -> Dimensions:
    """Return the marks for a letter's counter and its full downstroke, drawn across the slant above ``above_mm``.

    Each is shown where it lies, the counter black in the white and the downstroke white in the black, and carried up
    along the slant, which keeps its length. Where one lies above the other the downstroke's mark stands higher.
    Of a letter shown ``times`` as large the true measures are told.
    """
    up = cmath.exp(1j * math.radians(slant_deg))
    right = -1j * up
    clear = ((counter.chord.left - counter.downstroke.right) * right.conjugate()).real > -_TOUCHING * counter.width_mm
    low = _on_line(counter.chord, up, above_mm)
    high = _on_line(counter.downstroke, up, above_mm)
    step = 0.0 if clear else _STEP_MM
    level = max((end * up.conjugate()).real for end in (low.left, high.left))
    marks = [
        (counter.chord, _raised(low, up, level), BLACK),
        (counter.downstroke, _raised(high, up, level + step), WHITE),
    ]
    lines: list[Line] = []
    for chord, mark, colour in marks:
        lines += [Line(a, b + up, _EXTENSION) for a, b in ((chord.left, mark.left), (chord.right, mark.right))]
        thin = min(0.2, 0.12 * chord.width)
        lines += [
            Line(mark.left, mark.right, _MEASURE),
            Line(chord.left, chord.right, Style(stroke_mm=thin, stroke=colour)),
        ]
    said = say or phrases()
    stroke = "letter.downstroke" if size.rule == "counter" else "letter.stroke"
    black_words = said(stroke, size=mm_text(counter.downstroke_mm / times, said))
    (_, white, _), (_, black, _) = marks
    white_words = said("letter.counter", size=mm_text(counter.width_mm / times, said))
    words = (
        label(black_words, black.left - (1.6 + 0.8j), _DIMENSION_MM, anchor="end"),
        label(white_words, white.right + (1.6 - 0.8j), _DIMENSION_MM),
    )
    near, far = hull_bounds((*lines, *words))
    return Dimensions(tuple(lines), words, near, far)


def _on_line(chord: Chord, up: complex, above_mm: float) -> Chord:
    """Return a chord moved up along the slant until its lower end stands clear above ``above_mm``."""
    lowest = min(chord.left.imag, chord.right.imag)
    by = up * ((above_mm + _ABOVE_MM - lowest) / up.imag)
    return Chord(chord.left + by, chord.right + by)


def _raised(chord: Chord, up: complex, level: float) -> Chord:
    """Return a chord moved along the slant to ``level``, its distance along the axis from the origin."""
    by = up * (level - (chord.left * up.conjugate()).real)
    return Chord(chord.left + by, chord.right + by)


def _room(setup: Setup, head: Head, width_mm: float, depth_mm: float) -> tuple[Frame, tuple[Layer, ...], Box] | None:
    """Return a page with the fullest header that leaves that much room, None where there is not so much."""
    page = frames.frame(setup)
    for heads, used in headers(page.box, replace(head, strokes=setup.look.strokes)):
        if heads and not setup.look.header:
            continue
        box = replace(page.box, top=page.box.top - used)
        if width_mm <= box.width and depth_mm <= box.height:
            return page, heads, box
    return None


def _one_row(setup: Setup, head: Head, specimens: list[Specimen], rule: str) -> bool:
    """Return whether all letters and the rule fit one page with the letters beside each other."""
    width = sum(specimen.width_mm for specimen in specimens) + (len(specimens) - 1) * _BLOCK_GAP_MM
    room = _room(setup, head, specimens[0].width_mm, _depth(specimens[:1]))
    if room is None or width > room[2].width:
        return False
    lines = _rule_lines(rule, room[2], specimens[0].type)
    return _depth(specimens) + _RULE_GAP_MM + len(lines) * specimens[0].type.rule * 1.4 <= room[2].height


def _rule_lines(rule: str, box: Box, sizes: _Type) -> tuple[str, ...]:
    return wrapped(rule, min(box.width, _RULE_WIDTH * sizes.rule), sizes.rule)


def _pages(setup: Setup, head: Head, specimens: list[Specimen], rule: str) -> Iterable[tuple[Frame, tuple[Layer, ...]]]:
    room = _room(setup, head, specimens[0].width_mm, _depth(specimens[:1]))
    assert room is not None
    page, heads, box = room
    layers = list(heads)
    rows = _flowed(specimens, box)
    sizes = specimens[0].type
    lines = _rule_lines(rule, box, sizes)
    pitch = sizes.rule * 1.4
    slack = box.height - sum(_depth(row) + _ROW_GAP_MM for row in rows) - len(lines) * pitch
    top = box.top - max(0.0, min(0.3 * slack, 0.16 * box.height))
    numbers = {specimen.purpose: number for number, specimen in enumerate(specimens, start=1)}
    started = False
    for row in rows:
        gap = min(_WIDEST_GAP_MM, (box.width - sum(specimen.width_mm for specimen in row)) / max(1, len(row) - 1))
        if started and top - _depth(row) < box.bottom:
            if below := _rule_below(lines, box, top + _ROW_GAP_MM - _RULE_GAP_MM, sizes):
                layers.append(below)
                lines = ()
            yield page, merged(layers)
            room = _room(setup, head, 0.0, _depth(row))
            assert room is not None
            page, heads, box = room
            layers, top = list(heads), box.top
        baseline = top - max(specimen.above_mm for specimen in row)
        captions_y = baseline - max(specimen.heights.descender_mm for specimen in row) - sizes.gap
        x = box.left
        drawn = []
        for specimen in row:
            number = numbers[specimen.purpose]
            drawn.append((number, _drawn(specimen, complex(x - specimen.left, baseline), number, captions_y)))
            x += specimen.width_mm + gap
        layers += [layer for _, found in sorted(drawn, key=lambda entry: entry[0]) for layer in found]
        top, started = top - _depth(row) - _ROW_GAP_MM, True
    if below := _rule_below(lines, box, top + _ROW_GAP_MM - _RULE_GAP_MM, sizes):
        layers.append(below)
    yield page, merged(layers)


def _rule_below(lines: Sequence[str], box: Box, top: float, sizes: _Type) -> Layer | None:
    """Return the rule of the right size below ``top``, None where there is none to tell or no room for it."""
    pitch = sizes.rule * 1.4
    if not lines or top - len(lines) * pitch < box.bottom:
        return None
    text = [label(line, complex(box.left, top - sizes.rule - n * pitch), sizes.rule) for n, line in enumerate(lines)]
    return Layer(Purpose.LABELS, tuple(text))


def _depth(row: list[Specimen]) -> float:
    """Return the height a row of specimens takes: their captions stand on one line below the deepest."""
    captions = max(specimen.below_mm - specimen.heights.descender_mm for specimen in row)
    return max(specimen.above_mm for specimen in row) + max(s.heights.descender_mm for s in row) + captions


def _flowed(specimens: list[Specimen], box: Box) -> list[list[Specimen]]:
    """Return the specimens in rows that fit ``box``, as many beside each other as its width and height allow."""
    rows: list[list[Specimen]] = []
    for specimen in specimens:
        longer = [*rows[-1], specimen] if rows else []
        width = sum(each.width_mm for each in longer) + (len(longer) - 1) * _BLOCK_GAP_MM
        if longer and width <= box.width and _depth(longer) <= box.height:
            rows[-1] = longer
        else:
            rows.append([specimen])
    return [_spread(rows[0], box)] if len(rows) == 1 else rows


def _spread(row: list[Specimen], box: Box) -> list[Specimen]:
    """Return the letters of a row by size, their lines so long that the row fills the width."""
    spare = box.width - sum(specimen.width_mm for specimen in row) - (len(row) - 1) * _BLOCK_GAP_MM
    by_size = sorted(row, key=lambda specimen: specimen.heights.x_height_mm)
    return [specimen.widened(spare / len(row)) for specimen in by_size]


def _drawn(specimen: Specimen, origin: complex, number: int, captions_y: float) -> list[Layer]:
    left, right = origin + specimen.left, origin.real + specimen.right
    filled = Shape(translate(specimen.outline, origin), Style(fill=BLACK), specimen.char)
    foot = complex(left.real, captions_y)
    sizes = specimen.type
    captions: list[Item] = [
        label(text, foot - 1j * n * sizes.line, sizes.figure if n else sizes.name, weight=400 if n else STRONG)
        for n, text in enumerate(specimen.captions)
    ]
    lines = row_lines(specimen.heights, left, right, number)
    guiding = specimen.purpose is not Purpose.ENLARGED
    layers = [
        Layer(Purpose.LINES, lines) if guiding else Layer(specimen.purpose, tuple(map(_unnamed, lines))),
        Layer(specimen.purpose, (filled,)),
        Layer(Purpose.LADDER, tuple(moved(square, origin) for square in specimen.ladder)),
        Layer(Purpose.LABELS, tuple(captions)),
    ]
    if specimen.dimensions is not None:
        measured = tuple(moved(line, origin) for line in specimen.dimensions.lines)
        words = tuple(moved(word, origin) for word in specimen.dimensions.words)
        layers += [Layer(Purpose.DIMENSIONS, measured), Layer(Purpose.LABELS, words)]
    return layers


def _unnamed(line: Line) -> Line:
    """Return a line of a picture of guides, which is no guide."""
    return replace(line, role=None, row=None)


def small_paper(
    size: RightSize,
    papers: Sequence[Setup],
    *,
    char: str = SAMPLE_LETTER,
    x_height_mm: float | None = None,
    at: At = "right",
) -> Setup | None:
    """Return the first of ``papers`` on which the letter stands beside both ends of its band, in full; or None."""
    x_height = x_height_mm or chosen_x_height_mm(size, at)
    place = at if x_height_mm is None else None
    for setup in papers:
        rule = rule_words(size, char, setup.say)
        head = guide_head(size, x_height, place, (size.hand.slant_deg,), setup)
        try:
            if any(
                _one_row(setup, head, _specimens(size, char, x_height, place, setup, sizes), rule)
                for sizes in (_GENEROUS, _SMALL)
            ):
                return setup
        except GuidegenError:  # no room for the footer
            continue
    return None
