"""Planning a piece: does the text fit the paper, and what would make it fit?"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from functools import lru_cache

from guidegen.errors import GuidegenError
from guidegen.lettering.lettering import Lettering
from guidegen.lettering.sizing import right_size
from guidegen.lettering.text import Align
from guidegen.profiles.papers import CUSTOM_FAMILY, Paper
from guidegen.scene import Document, Item, Layer, Line, Placed, Purpose, Style
from guidegen.sheets.guides import band_warning
from guidegen.sheets.parts import frame as frames
from guidegen.sheets.parts.block import Block, broken, stack
from guidegen.sheets.parts.figures import mm_text
from guidegen.sheets.parts.forms import Form, written
from guidegen.sheets.parts.frame import Box, Frame, Setup
from guidegen.sheets.parts.labels import RISE, STRONG, label
from guidegen.sheets.parts.line_breaking import Word, fewest_lines
from guidegen.sheets.parts.page_head import shortened
from guidegen.sheets.parts.phrases import Phrases
from guidegen.sheets.parts.rows import heights_of
from guidegen.sheets.parts.words import width_of, words_of
from guidegen.sheets.write import centred, guide_layers

_LARGEST_SHARE = 100.0
_SMALLEST_SHARE = 0.05
_TITLE_MM, _FACTS_MM, _FACTS_LINE_MM, _HEAD_MM = 3.6, 2.5, 3.6, 12.0
STAMP_MM = (74.0, 40.0)
"""Room left free at an envelope's upper right corner (common practice, no source; postal rules differ)."""


@dataclass(frozen=True, slots=True)
class Piece:
    """What is to be lettered: paragraphs in one lettering, or lines each with its own.

    ``lines`` asks for a number of lines (one paragraph only). With several ``own`` lines nothing is broken.
    """

    lettering: Lettering
    paragraphs: tuple[str, ...]
    align: Align = "left"
    lines: int | None = None
    own: tuple[tuple[Lettering, str], ...] = ()

    def set(self, measure: float, share: float = 1.0) -> Block | None:
        """Return the piece broken to ``measure`` at ``share`` of its x-height, or None when a line is wider."""
        if self.own:
            block = stack([(one.at(one.x_height_mm * share), text) for one, text in self.own], self.align)
            return block if block.width_mm <= measure + 1e-6 else None
        lettering = self.lettering.at(self.lettering.x_height_mm * share)
        return broken(lettering, self.paragraphs, measure, self.align, self.lines)

    def with_marker(self, lettering: Lettering) -> Piece:
        """Return the same words in another lettering."""
        return Piece(lettering, self.paragraphs, self.align, self.lines)


@dataclass(frozen=True, slots=True)
class Plan:
    """What planning found. ``block`` is how the piece is set: on the paper if it fits, else as near as it comes."""

    fits: bool
    block: Block
    box_mm: complex
    smallest_paper: Paper | None
    largest_marker: str | None
    fitting_x_height_mm: float | None
    in_band: bool | None

    @property
    def white_mm(self) -> complex:
        """Return the white left beside and below the block (negative: what is missing)."""
        return self.box_mm - complex(self.block.width_mm, self.block.height_mm)


def whole_box(page: Frame) -> Box:
    """Return all that is free on a page."""
    return page.box


def plan(
    piece: Piece, setup: Setup, others: Iterable[Lettering] = (), room_of: Callable[[Frame], Box] = whole_box
) -> Plan:
    """Return whether ``piece`` fits the paper of ``setup``, and what else would do.

    Args:
        piece: what is lettered.
        setup: the paper; its ``papers`` are those that may be named instead.
        others: markers that may be named as the biggest that fits, thickest first, each at its right size.
        room_of: what of a page is free to letter on; :func:`envelope_box` for an envelope.
    """
    room = room_of(frames.frame(setup))
    block = piece.set(room.width)
    fits = block is not None and block.height_mm <= room.height + 1e-6
    shown = block or _as_near_as_it_comes(piece, room.width)
    share = fitting_share(piece, room)
    x_height = piece.lettering.x_height_mm
    fitting = None if share is None else share * x_height
    size = right_size(piece.lettering.marker, piece.lettering.hand)
    return Plan(
        fits,
        shown,
        complex(room.width, room.height),
        _smallest_paper(piece, setup, room_of),
        None if piece.own else _largest_marker(piece, room, others),
        fitting,
        None if fitting is None else size.verdict(fitting) == "right",
    )


def _fits(piece: Piece, width: float, height: float, share: float = 1.0) -> bool:
    block = piece.set(width, share)
    return block is not None and block.height_mm <= height + 1e-6


def fitting_share(piece: Piece, room: Box) -> float | None:
    """Return the largest share of the x-height at which ``piece`` fits ``room``, within 0.1 %; None for none.

    More lines need less width and more height, so fitting is monotone in the size: it is found by halving.
    """
    guess: float | None = _largest_share(lambda share: _fits_about(piece, room, share))
    if guess is None or guess >= _LARGEST_SHARE:
        return guess
    # The estimate adds widths up as if all grew alike; the true setting has the last word.
    return _settled(lambda share: _fits(piece, room.width, room.height, share), guess)


def _settled(fits: Callable[[float], bool], guess: float) -> float | None:
    """Return the largest share that fits, within 0.1 %, searched from a guess outwards by doubling steps."""
    low, high, step = guess, guess, 0.0005
    if fits(guess):
        while fits(high):
            low, high, step = high, high * (1 + step), 2 * step
    else:
        while not fits(low):
            low, high, step = low * (1 - min(step, 0.5)), low, 2 * step
            if low < _SMALLEST_SHARE:
                return None
    while high / low > 1.0008:
        middle = math.sqrt(low * high)
        low, high = (middle, high) if fits(middle) else (low, middle)
    return low


def _largest_share(fits: Callable[[float], bool]) -> float | None:
    low, high = _SMALLEST_SHARE, 1.0
    if not fits(low):
        return None
    while fits(high):
        low, high = high, high * 1.6
        if high > _LARGEST_SHARE:
            return low
    while high / low > 1.0005:
        middle = math.sqrt(low * high)
        low, high = (middle, high) if fits(middle) else (low, middle)
    return low


def _fits_about(piece: Piece, room: Box, share: float) -> bool:
    """Estimate whether ``piece`` fits: widths of words grow linearly with the size, so two sizes tell all."""
    if piece.own:
        return _fits(piece, room.width, room.height, share)
    count = 0
    for paragraph in piece.paragraphs:
        words = [_word_at(word, share) for word in _measured(piece.lettering, paragraph)]
        needed = fewest_lines(words, room.width)
        if needed is None:
            return False
        count += max(needed, piece.lines or 0) if len(piece.paragraphs) == 1 else needed
    lettering = piece.lettering
    height = heights_of(lettering).row_mm + (count - 1) * lettering.pitch_mm
    return height * share <= room.height + 1e-6


@lru_cache(maxsize=64)
def _measured(lettering: Lettering, text: str) -> tuple[tuple[Word, Word], ...]:
    """Return the words of ``text`` at the planned x-height and at half of it."""
    whole, _ = words_of(lettering, text, math.inf)
    half, _ = words_of(lettering.at(lettering.x_height_mm / 2), text, math.inf)
    return tuple(zip(whole, half, strict=True))


def _word_at(word: tuple[Word, Word], share: float) -> Word:
    whole, half = word

    def along(at_whole: float, at_half: float) -> float:
        return max(0.0, at_whole + (share - 1.0) * 2 * (at_whole - at_half))

    return Word(whole.text, along(whole.width, half.width), along(whole.space, half.space))


def _as_near_as_it_comes(piece: Piece, measure: float) -> Block:
    """Return the piece set at the narrowest measure above ``measure`` that holds every word (one word a line)."""
    if piece.own:
        return stack(list(piece.own), piece.align)
    widest = max(width_of(piece.lettering, word) for text in piece.paragraphs for word in text.split(" "))
    for wider in (measure, widest * 1.001, widest * 1.2, widest * 2, widest * 50):
        block = piece.set(max(wider, measure))
        if block is not None:
            return block
    # So many lines were asked for that no breaking has them: one word a line comes nearest.
    words = [(piece.lettering, word) for text in piece.paragraphs for word in text.split(" ")]
    return stack(words, piece.align)


def _smallest_paper(piece: Piece, setup: Setup, room_of: Callable[[Frame], Box]) -> Paper | None:
    def holds(paper: Paper) -> bool:
        try:
            room = room_of(frames.frame(replace(setup, paper=paper)))
        except GuidegenError:  # the margins leave nothing
            return False
        return _fits(piece, room.width, room.height)

    return smallest_lying(setup, holds)


def smallest_lying(setup: Setup, holds: Callable[[Paper], bool]) -> Paper | None:
    """Return the smallest known paper of the same family that ``holds``, tried as the present one lies and turned."""
    wide = setup.paper.width_mm > setup.paper.height_mm
    family = setup.paper.family if setup.paper.family != CUSTOM_FAMILY else "iso-a"
    known = sorted(
        (paper for paper in setup.papers if paper.family == family), key=lambda paper: paper.width_mm * paper.height_mm
    )
    for paper in known:
        first = paper.landscape() if wide else paper
        for lying in (first, first.turned()):
            if holds(lying):
                return lying
    return None


def _largest_marker(piece: Piece, room: Box, others: Iterable[Lettering]) -> str | None:
    """Return the first of ``others`` (thickest first, sized as they are asked for) in which the piece fits."""
    for lettering in others:
        if _fits(piece.with_marker(lettering), room.width, room.height):
            return lettering.marker.name
    return None


def envelope_box(page: Frame) -> Box:
    """Return the part of an envelope to write on: right of the sender's side, below and left of the stamp.

    Raises:
        GuidegenError: when the envelope is too small for that.
    """
    box = Box(
        page.box.left + 0.06 * page.width_mm,
        page.box.bottom,
        page.box.right,
        min(page.box.top, page.height_mm - STAMP_MM[1]),
    )
    if box.width < 40 or box.height < 20:
        raise GuidegenError("`envelope`: the paper is too small to keep the stamp's corner free; use a larger one")
    return box


def layout_sheet(
    found: Plan, piece: Piece, setup: Setup, *, envelope: bool = False, form: Form = "ghost"
) -> Document:
    """Return the planned piece as ghosted guides: guide lines and thin contours to letter over or on a light box.

    ``form`` is ``solid`` for a cut file: a contour has two edges, and a blade would cut both.

    Raises:
        GuidegenError: when the piece does not fit the paper.
    """
    if not found.fits:
        raise GuidegenError(f"{setup.paper.label}: the piece does not fit, so there is no layout; see `guidegen plan`")
    page = frames.frame(setup)
    box = envelope_box(page) if envelope else page.box
    corner = centred(found.block, box, piece.align)
    left, right = (box.left, box.right) if not envelope else (corner.real, corner.real + found.block.width_mm)
    title = " / ".join(line.text for line in found.block.lines if line.text)
    headed = form == "ghost" and not envelope and setup.look.header
    layers = (
        *guide_layers(found.block.guides(corner, left, right)),
        Layer(Purpose.TRACE, ghost(found.block, corner, form), piece.lettering.marker.name),
        *((_head(page.box, page.box.top - corner.imag, title, piece, setup.say),) if headed else ()),
        *(stamp_corner(page, setup.say) if envelope else ()),
    )
    x_height = mm_text(piece.lettering.x_height_mm, setup.say)
    description = setup.say("piece.layout", size=x_height, paper=setup.paper_label)
    size = right_size(piece.lettering.marker, piece.lettering.hand)
    note = "" if piece.own else band_warning(size, piece.lettering.x_height_mm)
    return frames.document(setup, [(page, layers)], title, description, [note])


def _head(box: Box, free_mm: float, title: str, piece: Piece, say: Phrases) -> Layer:
    """Return what the layout is of at the top of a page, in as many lines as ``free_mm`` above the piece holds."""
    if len({one for one, _ in piece.own}) > 1:
        found = dict.fromkeys(one for one, _ in piece.own)
        facts = "  ·  ".join(
            say("piece.head_one", marker=say.label(one.marker.label), size=mm_text(one.x_height_mm, say))
            for one in found
        )
    else:
        one = piece.own[0][0] if piece.own else piece.lettering
        size = mm_text(one.x_height_mm, say)
        facts = say("piece.head", marker=say.label(one.marker.label), hand=say.label(one.hand.label), size=size)
    lines = [(facts, _FACTS_MM, 400)]
    if free_mm >= _HEAD_MM:
        lines.insert(0, (title, _TITLE_MM, STRONG))
    words: list[Item] = []
    y = box.top
    for text, size_mm, weight in lines if free_mm >= _FACTS_LINE_MM + 1.0 else ():
        y -= RISE * size_mm
        words.append(label(shortened(text, box.width, size_mm), complex(box.left, y), size_mm, weight=weight))
        y -= 2.2
    return Layer(Purpose.LABELS, tuple(words))


def ghost(block: Block, corner: complex, form: Form = "ghost") -> tuple[Placed, ...]:
    """Return every line of ``block`` as thin contours, or in another form."""
    return tuple(
        Placed(written(line.lettering, line.text, form), corner + line.at) for line in block.lines if line.text
    )


def stamp_corner(page: Frame, say: Phrases) -> tuple[Layer, ...]:
    """Return the mark that keeps the stamp's corner free."""
    left, bottom = page.width_mm - STAMP_MM[0], page.height_mm - STAMP_MM[1]
    style = Style(stroke_mm=0.12, dash_mm=(1.5, 1.5))
    top, right = page.box.top, page.box.right
    lines = (
        Line(complex(left, bottom), complex(right, bottom), style),
        Line(complex(left, bottom), complex(left, top), style),
    )
    words = label(say("piece.stamp"), complex(left + 3, bottom + 3), 2.3)
    return Layer(Purpose.STAMP, lines), Layer(Purpose.LABELS, (words,))
