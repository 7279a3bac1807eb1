"""A joined hand where its letters do not join: bearings at a word's start and end, kerning there and at spaces.

Where a letter is not joined its ink keeps a bearing within the height it shares with its neighbours, and nothing of
it reaches over the bounds of its advance, so that words, signs and figures stand apart even where a program kerns
nothing. Kerning then brings two letters that do not join to the hand's mean white, and words as far apart as
:func:`~guidegen.lettering.spacing.word_space_mm` says, tall letters, figures and signs included. Apostrophes and quotes
stand over the strokes that lead into a word and out of it, as close to the letter before as to the one after.

All of it depends on single characters, not on the forms around them, so that a font can say it.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Iterable, Sequence
from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from guidegen.geometry.stroke.radius_spans import width_at
from guidegen.geometry.stroke.stroke import NibStroke
from guidegen.hands.accents import COMBINING
from guidegen.hands.hand import Hand
from guidegen.hands.joins import END, START
from guidegen.lettering.lettering import Lettering
from guidegen.lettering.letters import letter, letter_data, skeleton_map
from guidegen.lettering.spacing import (
    apart_mm,
    even_shifts_mm,
    free_bearing_mm,
    letter_sides,
    path_samples,
    rows_mm,
    seen_kerns,
)
from guidegen.units import shift_per_height

SPACE = " "
_KINDS = ("small", "capital", "figure", "sign", "other")
_RARE = frozenset(
    (one, other)
    for one, other in itertools.product(_KINDS, _KINDS)
    if "other" in (one, other)
    or (one, other) == ("small", "capital")
    or (("figure" in (one, other) and one != other)
    and "sign" not in (one, other))
)
"""Kinds of characters that hardly ever follow each other: the bearings keep these apart well enough."""
_SIGNS = frozenset(".,;:!?'\"()[]-/&\u2013\u2014\u2018\u2019\u201a\u201c\u201d\u201e\u2026\u00ab\u00bb\u2039\u203a")
_FLOATS = NDArray[np.float64]
_OVER, _UNDER = 0.6, 0.25
"""From the first height (x-heights) on the strokes that lead in and out are left behind, and apostrophes may stand;
over a letter without an ascender they stand this much nearer."""
_BEFORE, _AFTER = 0.4, 0.44
"""Shares of the white between letters that stand before and after a sign above the x-height line."""
_POINT = 0.45
"""Below this height (x-heights) stands a sign that ends a phrase: comma and full stop."""

_DEEPEST, _ROUND, _TO_BODY = 0.4, 0.12, 0.75
"""Beside a space: how deep the white over and under a leading stroke counts, what of it a bowl has too (x-heights; a
straight side has less and stands further away), and how much of the rest is taken from the space."""
_BARS = 1.35
"""Up to this height (x-heights) the bar of a ``t`` stands in a space."""
_POINTS = frozenset(",.")
_FIGURE, _AFTER_POINT, _UNDER_WORD = 0.22, 0.1, 0.1
"""The white (x-heights) that a space has more after figures, heavy as tall as they are (half of it before them), and
less after points; how far a tail may reach under the word before."""


class FreeEnds(NamedTuple):
    """What a letter adds (mm) where it is not joined: ``start_mm`` moves it right, ``end_mm`` widens its advance."""

    start_mm: float
    end_mm: float


@lru_cache(maxsize=4096)
def free_ends(lettering: Lettering, char: str, shape: int = 0) -> FreeEnds:
    """Return what ``char``, or one of its alternates, adds where it is not joined before and where not after.

    Raises:
        GuidegenError: when the hand lacks the character.
    """
    found, rows = letter_sides(lettering, char, START, END, shape), rows_mm(lettering)
    bearing, least = free_bearing_mm(lettering), lettering.hand.spacing.gap * lettering.x_height_mm / 2
    shared = (rows > 0) & (rows < (1.0 if _is_low(char) else lettering.hand.capital) * lettering.x_height_mm)
    whole = rows > (0.0 if char.isalnum() else rows[0] - 1)  # a descender reaches under the letter beside it
    start = max(bearing - _edge(found.left, shared, min), least - _edge(found.left, whole, min))
    end = max(bearing + _edge(found.right, shared, max), least + _edge(found.right, whole, max))
    return FreeEnds(start, end - letter_data(lettering.hand, char, shape).advance * skeleton_map(lettering).scale_mm)


def _is_small(char: str) -> bool:
    return char.isalpha() and char.islower()


def _is_low(char: str) -> bool:
    return not char.isalnum() or char.islower()


def _edge(side: _FLOATS, zone: NDArray[np.bool_], furthest: Callable[[_FLOATS], float]) -> float:
    """Return how far a side reaches inside a zone; anywhere, when the zone has none of its ink."""
    inked = np.isfinite(side)
    return float(furthest(side[inked & zone if (inked & zone).any() else inked]))


def _seen_edge(lettering: Lettering, char: str, side: _FLOATS, furthest: Callable[[_FLOATS], float]) -> float:
    """Return where the eye sees a small letter begin or end beside a space.

    Between the tip of the stroke that leads in or out and the letter's body, for the white over and under a hairline
    counts as white; a heavy tip stands for itself. A bowl is what others are compared with.
    """
    x_height_mm, rows = lettering.x_height_mm, rows_mm(lettering)
    body, bars = ((rows > a * x_height_mm) & (rows < b * x_height_mm) for a, b in ((0.0, 1.0), (1.0, _BARS)))
    tip = _edge(side, body, furthest)
    depth = np.minimum(np.abs(np.where(np.isfinite(side), side - tip, np.inf)), _DEEPEST * x_height_mm)
    deep = float(depth[body].mean()) - _ROUND * x_height_mm
    past = deep * _TO_BODY * (1 - _weight_at_tip(lettering, char, furthest is min))
    inward = 1 if furthest is min else -1
    seen = tip + inward * past
    bar = side[bars & np.isfinite(side)]
    return float(furthest(np.append(bar, seen)))


def _weight_at_tip(lettering: Lettering, char: str, left: bool) -> float:
    """Return how heavy a letter's outermost stroke is at one side, below the x-height line: 0 a hairline, 1 full."""
    marker, lean = lettering.marker, shift_per_height(lettering.hand.slant_deg)
    found = (-math.inf, 0.0)
    for stroke in letter(lettering, char).strokes:
        if isinstance(stroke, NibStroke):
            continue
        points, lengths = path_samples(stroke.path)
        widths = width_at(stroke.widths, lengths)
        across = points.real - points.imag * lean
        reach = (-across if left else across) + widths / 2
        reach[(points.imag < 0) | (points.imag > lettering.x_height_mm)] = -math.inf
        found = max(found, (float(reach.max()), float(widths[reach.argmax()])))
    pressed = marker.downstroke_mm - marker.hairline_mm
    return min(1.0, max(0.0, (found[1] - marker.hairline_mm) / pressed)) if pressed > 0 else 1.0


@lru_cache(maxsize=65536)
def unjoined_mm(lettering: Lettering, left: str, right: str) -> float:
    """Return the kerning of one pair; see :func:`unjoined_table`."""
    return unjoined_table(lettering, [left], [right]).get((left, right), 0.0)


def unjoined_table(
    lettering: Lettering, lefts: Iterable[str], rights: Iterable[str]
) -> dict[tuple[str, str], float]:
    """Return the kerning (mm) of every pair that does not join and needs any; :data:`SPACE` stands for a space."""
    before, after = _without_marks(lefts), _without_marks(rights)
    inked = [char for char in before if char != SPACE], [char for char in after if char != SPACE]
    table: dict[tuple[str, str], float] = {}
    ends = [_ends(lettering, char) for char in inked[0]]
    starts = [_starts(lettering, char) for char in inked[1]]
    if ends and starts:
        table = _between(lettering, (inked[0], np.stack(ends)), (inked[1], np.stack(starts)))
    bearing, rows = free_bearing_mm(lettering), rows_mm(lettering)
    tall = (rows > 0) & (rows < lettering.hand.capital * lettering.x_height_mm)
    if SPACE in after:
        for char, end in zip(inked[0], ends, strict=True):
            seen = _seen_edge(lettering, char, end, max) if _is_small(char) else _edge(end, tall, max)
            seen += (_FIGURE * char.isdecimal() - _AFTER_POINT * (char in _POINTS)) * lettering.x_height_mm
            table[char, SPACE] = bearing + seen
            if _stands_high(end[None], rows, lettering.x_height_mm)[0]:  # it was set back over its letter
                table[char, SPACE] += lettering.hand.spacing.white * lettering.x_height_mm / 2
    if SPACE in before:
        for char, side in zip(inked[1], starts, strict=True):
            seen = _seen_edge(lettering, char, side, min) if _is_small(char) else _edge(side, tall, min)
            if (tails := side[(rows < 0) & np.isfinite(side)]).size:  # of j and J, under the word before
                seen = min(seen, float(tails.min()) + _UNDER_WORD * lettering.x_height_mm)
            table[SPACE, char] = bearing - seen + _FIGURE / 2 * lettering.x_height_mm * char.isdecimal()
    return table


def _without_marks(chars: Iterable[str]) -> list[str]:
    return [char for char in dict.fromkeys(chars) if char not in COMBINING]


def _ends(lettering: Lettering, char: str) -> _FLOATS:
    """Return the right side of a letter that is not joined after it, from the end of its advance."""
    advance = letter_data(lettering.hand, char).advance * skeleton_map(lettering).scale_mm
    end = free_ends(lettering, char).end_mm
    return letter_sides(lettering, char).right - advance - end


def _starts(lettering: Lettering, char: str) -> _FLOATS:
    """Return the left side of a letter that is not joined before it, from its origin."""
    return letter_sides(lettering, char).left + free_ends(lettering, char).start_mm


def _between(
    lettering: Lettering, before: tuple[Sequence[str], _FLOATS], after: tuple[Sequence[str], _FLOATS]
) -> dict[tuple[str, str], float]:
    """Return the kerning of letters side by side: the mean white within the x-height, nowhere closer than the gap.

    Beside a sign that stands above the x-height line it is less than half that white, and less still over a small
    letter's shoulder; before a comma or full stop it is half, for they belong to the word before, and so it is from a
    capital that joins nothing to the small letter after it.
    """
    hand, x_height_mm, rows = lettering.hand, lettering.x_height_mm, rows_mm(lettering)
    even = even_shifts_mm(lettering, before[1], after[1], (rows > 0) & (rows < x_height_mm))
    furthest, nearest = -_nearest_above(-before[1], rows, x_height_mm), _nearest_above(after[1], rows, x_height_mm)
    less = np.maximum(_is_point(after[1], rows, x_height_mm), _begins_a_word(before[0], after[0]))
    even = even - less * hand.spacing.white * x_height_mm / 2
    high = [_stands_high(side, rows, x_height_mm) for side in (before[1], after[1])]
    beside = high[0][:, None] | high[1]
    near = hand.spacing.white * x_height_mm * np.where(high[0][:, None], _AFTER, _BEFORE)
    even = np.where(beside, near + furthest[:, None] - nearest, even)
    kerns = np.maximum(even, apart_mm(before[1], after[1], hand.spacing.gap * x_height_mm, x_height_mm))
    kerned = _kerned(before[0], after[0]) & ~_joined(hand, before[0], after[0])
    return seen_kerns(before[0], after[0], np.where(kerned, kerns, 0.0), x_height_mm)


def _stands_high(sides: _FLOATS, rows: _FLOATS, x_height_mm: float) -> NDArray[np.bool_]:
    return np.asarray(~np.isfinite(sides[:, rows < x_height_mm]).any(axis=1))


def _is_point(sides: _FLOATS, rows: _FLOATS, x_height_mm: float) -> NDArray[np.bool_]:
    return np.asarray(~np.isfinite(sides[:, rows > _POINT * x_height_mm]).any(axis=1))


def _nearest_above(sides: _FLOATS, rows: _FLOATS, x_height_mm: float) -> _FLOATS:
    """Return where left sides stand for a sign above the x-height line; those with nothing so high, where they are."""
    shoulder = (rows > _OVER * x_height_mm) & (rows <= x_height_mm)
    ink = np.where(np.isfinite(sides), sides, np.inf)
    low = np.min(ink[:, shoulder], axis=1) + _UNDER * x_height_mm
    found = np.minimum(low, np.min(ink[:, rows > x_height_mm], axis=1))
    return np.asarray(np.where(np.isfinite(found), found, np.min(ink, axis=1)))


def _kerned(before: Sequence[str], after: Sequence[str]) -> NDArray[np.bool_]:
    """Return which pairs are kerned: all but the rare ones."""
    rows, columns = [_kind(char) for char in before], [_kind(char) for char in after]
    return np.array([[(one, other) not in _RARE for other in columns] for one in rows], dtype=np.bool_)


def _begins_a_word(before: Sequence[str], after: Sequence[str]) -> NDArray[np.bool_]:
    """Return which pairs are a capital and a small letter."""
    capitals = [_kind(char) == "capital" for char in before]
    return np.outer(capitals, [_kind(char) == "small" for char in after])


def _kind(char: str) -> str:
    if char.isalpha():
        return "small" if char.islower() else "capital"
    return "figure" if char.isdecimal() else "sign" if char in _SIGNS else "other"


def _joined(hand: Hand, before: Sequence[str], after: Sequence[str]) -> NDArray[np.bool_]:
    """Return which pairs join: one exit and one entry of the same name."""
    exits = [frozenset(letter_data(hand, char).exits) for char in before]
    entries = [frozenset(letter_data(hand, char).entries) for char in after]
    joins = set(hand.joins)
    kinds = {(one, other): bool(one & other & joins) for one in set(exits) for other in set(entries)}
    return np.array([[kinds[one, other] for other in entries] for one in exits], dtype=np.bool_)
