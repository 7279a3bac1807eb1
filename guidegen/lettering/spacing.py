"""Letters side by side: side bearings and kerning from the white between the ink, not from bounding boxes.

The white between two letters is the area between their facing sides over the height they share, as letterers
judge it (Edward Johnston, *Writing & Illuminating, & Lettering*, 1906: the white between the letters, not the
distance of their edges, is to look equal). White is counted row by row, no deeper than the hand's ``white`` plus
``depth``. A letter's bearings are those at which it stands evenly beside a straight stem; kerning corrects pairs
whose sides answer each other (``To``, ``LT``, ``ry``), tucks points under an arm and quotes over a foot (``T.``,
``L'``) and keeps the least ``gap``.

Ink sides are measured on dense samples of the strokes at fixed rows, with the slant taken out.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from types import MappingProxyType
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from guidegen.geometry.path import Path
from guidegen.geometry.stroke.radius_spans import width_at
from guidegen.geometry.stroke.stroke import AnyStroke, Nib, NibStroke
from guidegen.hands.accents import COMBINING, base_char, find_letter, has_side_mark
from guidegen.hands.hand import Hand
from guidegen.hands.joins import END, START
from guidegen.lettering.lettering import Lettering
from guidegen.lettering.letters import Letter, letter, pen_strokes
from guidegen.units import shift_per_height

_FLOATS = NDArray[np.float64]
_ROWS_PER_X_HEIGHT = 40
_STEPS = np.linspace(0.0, 1.0, 33)
_BELOW, _ABOVE = 0.8, 0.7
_KERN_THRESHOLD = 0.03
"""Kerning below this (x-heights) is not seen and is left out."""
_APART = 1.02
"""How far apart joined words stand to the eye, in widths of ``o``."""
_LEAST_BEARING = 0.0
_MOST_STEPS, _CLOSE_ENOUGH = 40, 1e-7
_CLOSEST, _FURTHEST = -0.3, 0.25
_QUOTES = frozenset("'\"\u2018\u2019\u201c\u201d")
_TUCKED = _QUOTES | frozenset(".,:;-\u2013\u2014\u201a\u201e\u2026")
"""Signs that leave the rest of their height white, into which a letter may reach."""
_QUOTE_SHARE = 0.65
"""Quotes belong to a word: this much of the white at which other signs stand."""


_PER_CENT = (
    8.167, 1.492, 2.782, 4.253, 12.702, 2.228, 2.015, 6.094, 6.966, 0.153, 0.772, 4.025, 2.406,
    6.749, 7.507, 1.929, 0.095, 5.987, 6.327, 9.056, 2.758, 0.978, 2.360, 0.150, 1.974, 0.074,
)  # fmt: skip
LETTER_FREQUENCY = MappingProxyType(dict(zip("abcdefghijklmnopqrstuvwxyz", _PER_CENT, strict=True)))
"""Letters of English text, per cent: H. Beker and F. Piper, *Cipher Systems* (1982); quoted from memory."""


@dataclass(frozen=True, slots=True, eq=False)
class RowExtents:
    """Leftmost and rightmost ink (mm, slant taken out) at each row; +inf and -inf where a row has none."""

    left: _FLOATS
    right: _FLOATS


class Spaced(NamedTuple):
    """A letter with its bearings: white (mm) from the origin to its ink and from its ink to the advance's end."""

    letter: Letter
    shift_mm: float
    advance_mm: float


def rows_mm(lettering: Lettering) -> _FLOATS:
    """Return the heights of the rows at which sides are measured."""
    hand = lettering.hand
    low, high = -(hand.descender + _BELOW), max(hand.ascender, hand.capital) + _ABOVE
    first, last = math.floor(low * _ROWS_PER_X_HEIGHT), math.ceil(high * _ROWS_PER_X_HEIGHT)
    return (np.arange(first, last) + 0.5) / _ROWS_PER_X_HEIGHT * lettering.x_height_mm


def row_extents(strokes: Sequence[AnyStroke], rows: _FLOATS, slant_deg: float) -> RowExtents:
    """Return the sides of the ink of ``strokes`` at ``rows``."""
    found = [_stroke_sides(stroke, rows.tobytes()) for stroke in strokes]
    lean = rows * shift_per_height(slant_deg)
    left = np.min([side.left for side in found], axis=0, initial=np.inf)
    right = np.max([side.right for side in found], axis=0, initial=-np.inf)
    return RowExtents(left - lean, right - lean)


@lru_cache(maxsize=4096)
def _stroke_sides(stroke: AnyStroke, rows_bytes: bytes) -> RowExtents:
    """Return the sides of one stroke, leaning as it does: letters that differ by an accent share their strokes."""
    rows = np.frombuffer(rows_bytes)
    points, lengths = path_samples(stroke.path)
    away = rows[:, None] - points.imag[None, :]
    if isinstance(stroke, NibStroke):
        low, high = _nib_reach(stroke.nib, away)
    else:
        radii = width_at(stroke.widths, lengths)[None, :] / 2
        high = np.sqrt(np.where(np.abs(away) <= radii, radii**2 - away**2, np.nan))
        low = -high
    left = np.min(np.where(np.isnan(low), np.inf, points.real + low), axis=1)
    right = np.max(np.where(np.isnan(high), -np.inf, points.real + high), axis=1)
    return RowExtents(left, right)


def path_samples(path: Path) -> tuple[_FLOATS, _FLOATS]:
    """Return points along a path and how far along it each lies."""
    pieces = []
    for segment in path.segments:
        t = _STEPS
        if len(segment) == 2:
            pieces.append(segment[0] + (segment[1] - segment[0]) * t)
        else:
            a, b, c, d = segment
            pieces.append(a * (1 - t) ** 3 + 3 * b * t * (1 - t) ** 2 + 3 * c * t * t * (1 - t) + d * t**3)
    points = np.concatenate(pieces)
    return points, np.concatenate(([0.0], np.cumsum(np.abs(np.diff(points)))))


def _nib_reach(nib: Nib, away: _FLOATS) -> tuple[_FLOATS, _FLOATS]:
    """Return how far left and right of its centre the nib's rectangle reaches at heights ``away`` from it."""
    turn = complex(math.cos(math.radians(nib.angle_deg)), math.sin(math.radians(nib.angle_deg)))
    half = complex(nib.width / 2, nib.thickness / 2)
    corners = np.array([turn * half, turn * half.conjugate(), -turn * half, -turn * half.conjugate()])
    order = np.argsort(corners.imag)
    ys, xs = corners.imag[order], corners.real[order]
    bottom, top = (xs[0], ys[0]), (xs[3], ys[3])
    chains = [sorted([bottom, (xs[i], ys[i]), top], key=lambda c: c[1]) for i in (1, 2)]
    reach = [np.interp(away, [c[1] for c in chain], [c[0] for c in chain]) for chain in chains]
    inside = (away >= ys[0]) & (away <= ys[3])
    low, high = np.minimum(*reach), np.maximum(*reach)
    return np.where(inside, low, np.nan), np.where(inside, high, np.nan)


@lru_cache(maxsize=4096)
def letter_sides(lettering: Lettering, char: str, before: str = START, after: str = END, shape: int = 0) -> RowExtents:
    """Return the sides of ``char`` as it is written, in the letter's own coordinates."""
    item = letter(lettering, char, before, after, shape)
    return row_extents(item.strokes, rows_mm(lettering), lettering.hand.slant_deg)


@lru_cache(maxsize=4096)
def spaced(lettering: Lettering, char: str) -> Spaced:
    """Return ``char`` with its bearings. ``shift_mm`` moves the letter so that its origin is the advance's start.

    Raises:
        GuidegenError: when the hand lacks the character.
    """
    item = letter(lettering, char)
    if char in COMBINING:
        return Spaced(item, 0.0, 0.0)
    base = base_char(char)
    if base != char and not has_side_mark(char):  # the accent stands above or below the rows that count
        plain = spaced(lettering, base)
        return Spaced(item, plain.shift_mm, plain.advance_mm)
    data = find_letter(lettering.hand, char)
    given = data.sides if data else None
    found = letter_sides(lettering, char)
    inked = np.isfinite(found.left)
    zone = (_zone(lettering, char) if char.isalnum() and not has_side_mark(char) else inked) & inked
    edge_left, edge_right = float(found.left[zone].min()), float(found.right[zone].max())
    if given is not None:
        before, after = given[0] * lettering.x_height_mm, given[1] * lettering.x_height_mm
    else:
        shared = _zone(lettering, char) if char.isalnum() else inked
        white = _white(lettering.hand, char) * lettering.x_height_mm
        before = _bearing(lettering, white, found.left[shared] - edge_left)
        after = _bearing(lettering, white, edge_right - found.right[shared])
    shift = before - edge_left
    return Spaced(item, shift, shift + edge_right + after)


def _zone(lettering: Lettering, char: str) -> NDArray[np.bool_]:
    """Return which rows count for the white beside ``char``: those it shares with its neighbours."""
    rows = rows_mm(lettering)
    top = 1.0 if char.islower() else lettering.hand.capital
    return np.asarray((rows > 0) & (rows < top * lettering.x_height_mm))


def _white(hand: Hand, char: str) -> float:
    tall = char.isalnum() and not char.islower()
    return hand.spacing.white * (hand.spacing.capitals if tall else 1.0)


def _bearing(lettering: Lettering, white_mm: float, depths: _FLOATS) -> float:
    """Return the bearing at which a straight stem, half the white from the boundary, would stand evenly."""
    limit = white_mm + lettering.hand.spacing.depth * lettering.x_height_mm
    white = (depths + white_mm / 2)[None, :]
    found = _even_white(white, white_mm, limit, lettering.x_height_mm, np.ones_like(white, dtype=np.bool_))
    return max(float(found[0]), _LEAST_BEARING * lettering.x_height_mm)


@lru_cache(maxsize=65536)
def kern_mm(lettering: Lettering, left: str, right: str) -> float:
    """Return what to add (mm, mostly negative) between two letters beside their advances; 0 for most pairs."""
    return kern_table(lettering, left, right).get((left, right), 0.0)


def kern_table(
    lettering: Lettering, lefts: Iterable[str], rights: Iterable[str]
) -> dict[tuple[str, str], float]:
    """Return the kerning (mm) of every pair of ``lefts`` with ``rights`` that needs any; see :func:`kern_mm`.

    Two letters come to even white and keep the least gap, their accents included. Points, quotes and dashes come as
    near to a letter, in any direction, as they stand to a straight stem. Other signs and figures keep their own
    bearings and are only moved off a letter or sign that they would touch; figures stand in columns.
    """
    before, after = _in_a_row(lefts), _in_a_row(rights)
    if not before or not after:
        return {}
    placed = [_placed_sides(lettering, char) for char in before]
    advances = np.array([spaced(lettering, char).advance_mm for char in before])
    ends = np.stack([side.right for side in placed]) - advances[:, None]
    starts = np.stack([_placed_sides(lettering, char).left for char in after])
    least = _least(lettering, (before, ends), (after, starts))
    kerns = np.maximum(least, 0.0)
    words = [np.array([char.isalpha() for char in chars]) for chars in (before, after)]
    figures = [np.array([char.isdecimal() for char in chars]) for chars in (before, after)]
    if words[0].any() and words[1].any():
        even = _even(lettering, (before, ends), (after, starts))
        even = np.clip(even, _CLOSEST * lettering.x_height_mm, _FURTHEST * lettering.x_height_mm)
        kerns = np.where(words[0][:, None] & words[1], np.maximum(even, least), kerns)
    near = np.clip(_near(lettering, (before, ends), (after, starts)), _CLOSEST * lettering.x_height_mm, None)
    kerns = np.where(np.isnan(near), kerns, np.maximum(near, least))
    kerns = np.where(figures[0][:, None] & figures[1], 0.0, kerns)
    return seen_kerns(before, after, kerns, lettering.x_height_mm)


def seen_kerns(
    before: Sequence[str], after: Sequence[str], kerns: _FLOATS, x_height_mm: float
) -> dict[tuple[str, str], float]:
    """Return the pairs of ``kerns`` (lefts x rights, mm) that are large enough to be seen."""
    found = zip(*np.nonzero(np.abs(kerns) > _KERN_THRESHOLD * x_height_mm), strict=True)
    return {(before[i], after[j]): float(kerns[i, j]) for i, j in found}


def _in_a_row(chars: Iterable[str]) -> list[str]:
    return [char for char in dict.fromkeys(chars) if char not in COMBINING and not char.isspace()]


LettersAndSides = tuple[Sequence[str], _FLOATS]
"""Characters and, row by row of :func:`rows_mm`, where their ink ends from their advance's end, or starts."""


def _least(lettering: Lettering, before: LettersAndSides, after: LettersAndSides) -> _FLOATS:
    """Return the shifts (lefts x rights) at which ink keeps the hand's gap, more between capitals."""
    gap = lettering.hand.spacing.gap * lettering.x_height_mm
    close, wide = (apart_mm(before[1], after[1], k * gap, lettering.x_height_mm) for k in (1, 1.4))
    tall = [np.array([char.isalpha() and not char.islower() for char in chars]) for chars, _ in (before, after)]
    return np.where(tall[0][:, None] & tall[1], wide, close)


def _near(lettering: Lettering, before: LettersAndSides, after: LettersAndSides) -> _FLOATS:
    """Return the shifts (lefts x rights) at which a sign stands as far from a letter as from a stem; NaN elsewhere."""
    hand, x_height_mm = lettering.hand, lettering.x_height_mm
    found = np.full((len(before[0]), len(after[0])), np.nan)
    letters = [np.array([char.isalpha() for char in chars]) for chars, _ in (before, after)]
    stems = [np.array([_white(hand, char) * x_height_mm / 2 for char in chars]) for chars, _ in (before, after)]
    for j, sign in enumerate(after[0]):
        if sign in _TUCKED:
            for stem in np.unique(stems[0][letters[0]]):
                rows = letters[0] & (stems[0] == stem)
                gap = _share(sign) * (stem + _reach(after[1][j], min))
                found[rows, j] = apart_mm(before[1][rows], after[1][j : j + 1], gap, x_height_mm)[:, 0]
    for i, sign in enumerate(before[0]):
        if sign in _TUCKED:
            for stem in np.unique(stems[1][letters[1]]):
                rows = letters[1] & (stems[1] == stem)
                gap = _share(sign) * (stem - _reach(before[1][i], max))
                found[i, rows] = apart_mm(before[1][i : i + 1], after[1][rows], gap, x_height_mm)[0]
    return found


def _share(sign: str) -> float:
    return _QUOTE_SHARE if sign in _QUOTES else 1.0


def apart_mm(ends: _FLOATS, starts: _FLOATS, gap_mm: float, x_height_mm: float) -> _FLOATS:
    """Return the shifts (lefts x rights) at which ink comes as near as ``gap_mm`` in any direction."""
    grown = _grown(ends, gap_mm, x_height_mm)
    first, where = np.unique(grown, axis=0, return_inverse=True)
    return np.stack([np.max(one - starts, axis=1) for one in first])[where.reshape(-1)]


def _even(lettering: Lettering, before: LettersAndSides, after: LettersAndSides) -> _FLOATS:
    """Return the shifts (lefts x rights) at which the white between two letters is even.

    Accents stand outside the rows that count, so that letters that differ by them alone are reckoned once.
    """
    rows = rows_mm(lettering)
    counted = (rows > 0) & (rows < lettering.hand.capital * lettering.x_height_mm)
    sides = []
    for chars, ink in (before, after):
        whites = [_white(lettering.hand, char) * lettering.x_height_mm for char in chars]
        zones = [_zone(lettering, char)[counted] for char in chars]
        every = np.column_stack([whites, np.array(zones, dtype=np.float64), ink[:, counted]])
        sides.append(np.unique(np.round(every, 9), axis=0, return_inverse=True))
    (lefts, left_of), (rights, right_of) = sides
    many = int(counted.sum())
    found = []
    for one in lefts:
        target = (one[0] + rights[:, 0]) / 2
        limit = target + lettering.hand.spacing.depth * lettering.x_height_mm
        zone = (rights[:, 1 : 1 + many] > 0) & (one[1 : 1 + many] > 0)
        found.append(_even_white(rights[:, 1 + many :] - one[1 + many :], target, limit, lettering.x_height_mm, zone))
    return np.stack(found)[left_of.reshape(-1)][:, right_of.reshape(-1)]


@lru_cache(maxsize=4096)
def _placed_sides(lettering: Lettering, char: str) -> RowExtents:
    """Return the sides of a letter measured from its advance's start."""
    found, shift = letter_sides(lettering, char), spaced(lettering, char).shift_mm
    return RowExtents(found.left + shift, found.right + shift)


def _even_white(
    white: _FLOATS, target: _FLOATS | float, limit: _FLOATS | float, x_height_mm: float, zone: NDArray[np.bool_]
) -> _FLOATS:
    """Return the shifts that bring the mean of each row of ``white`` to ``target``.

    The mean is piecewise linear in the shift: Newton's steps, halving the interval where one would leave it.

    Args:
        white: pairs x heights, in mm; infinite where a side has no ink.
        target: mm, per pair.
        limit: mm, up to which white is counted.
        x_height_mm: shifts lie within 1.5 of it.
        zone: the heights that count, pairs x heights.
    """
    shares = zone / zone.sum(axis=1, keepdims=True)
    wanted, limits = (np.broadcast_to(np.asarray(value, dtype=np.float64), len(white)) for value in (target, limit))
    furthest = 1.5 * x_height_mm
    low, high = np.full(len(white), -furthest), np.full(len(white), furthest)
    found = np.where(_mean_white(white, low, limits, shares) >= wanted, low, 0.0)
    left = np.flatnonzero(found == 0.0)
    for _ in range(_MOST_STEPS):
        if not len(left):
            break
        at = found[left]
        shifted = white[left] + at[:, None]
        open_rows = (shifted > 0) & (shifted < limits[left, None])
        short = wanted[left] - _mean_white(white[left], at, limits[left], shares[left])
        slope = np.where(open_rows, shares[left], 0.0).sum(axis=1)
        low[left], high[left] = np.where(short > 0, at, low[left]), np.where(short > 0, high[left], at)
        step = at + short / np.maximum(slope, 1e-12)
        inside = (step >= low[left]) & (step <= high[left])
        found[left] = np.where(inside, step, (low[left] + high[left]) / 2)
        left = left[np.abs(found[left] - at) > _CLOSE_ENOUGH * x_height_mm]
    return found


def _mean_white(white: _FLOATS, shift: _FLOATS, limits: _FLOATS, shares: _FLOATS) -> _FLOATS:
    counted = np.minimum(np.maximum(white + shift[:, None], 0.0), limits[:, None])
    return np.asarray((counted * shares).sum(axis=1))


def _grown(ends: _FLOATS, gap: float, x_height_mm: float) -> _FLOATS:
    """Return right sides (rows on the last axis) with ``gap`` around the ink."""
    row = x_height_mm / _ROWS_PER_X_HEIGHT
    steps = range(-math.floor(gap / row), math.floor(gap / row) + 1)
    reach = [math.sqrt(max(0.0, gap**2 - (step * row) ** 2)) for step in steps]  # a step may equal the gap, rounded
    grown = np.full(ends.shape, -np.inf)
    for step, far in zip(steps, reach, strict=True):
        np.maximum(grown, np.roll(ends, step, axis=-1) + far, out=grown)
    return grown


def even_shifts_mm(
    lettering: Lettering, ends: _FLOATS, starts: _FLOATS, counted: NDArray[np.bool_]
) -> _FLOATS:
    """Return the shifts (lefts x rights) that bring the mean white of two letters to the hand's.

    Of the rows ``counted`` those are taken in which both have ink; where there are none, the white is that between
    the furthest ink of the two.
    """
    target = lettering.hand.spacing.white * lettering.x_height_mm
    limit = target + lettering.hand.spacing.depth * lettering.x_height_mm
    (lefts, left_of), (rights, right_of) = (
        np.unique(np.round(side[:, counted], 9), axis=0, return_inverse=True) for side in (ends, starts)
    )
    found = np.empty((len(lefts), len(rights)))
    for number, one in enumerate(lefts):
        zone = np.isfinite(one) & np.isfinite(rights)
        some = zone.any(axis=1)
        found[number] = np.nan
        found[number, some] = _even_white(rights[some] - one, target, limit, lettering.x_height_mm, zone[some])
    shifts = found[left_of.reshape(-1)][:, right_of.reshape(-1)]
    furthest = np.max(np.where(np.isfinite(ends), ends, -np.inf), axis=1)
    nearest = np.min(np.where(np.isfinite(starts), starts, np.inf), axis=1)
    return np.where(np.isnan(shifts), target + furthest[:, None] - nearest, shifts)


def _reach(side: _FLOATS, furthest: Callable[[_FLOATS], float]) -> float:
    return float(furthest(side[np.isfinite(side)]))


@lru_cache(maxsize=512)
def word_space_mm(lettering: Lettering) -> float:
    """Return the advance of a space: with the bearings around it, words stand the width of ``o`` apart on average.

    Edward Johnston, *Writing & Illuminating, & Lettering* (1906), p. 79. Words of a joined hand end and begin in
    hairlines, which the eye counts as white: what the eye sees of them stands 1.02 of ``o`` apart, their tips nearer.
    """
    o = _width_of_o(lettering)
    if lettering.hand.joins:
        return _APART * o - 2 * free_bearing_mm(lettering)
    return max(o - _mean_bearings_mm(lettering), 0.5 * o)


def free_bearing_mm(lettering: Lettering) -> float:
    """Return the white a joined hand leaves before a word's first letter and after its last: common practice."""
    return lettering.hand.spacing.white * lettering.x_height_mm / 3


def _mean_bearings_mm(lettering: Lettering) -> float:
    """Return left plus right bearing of a letter in running words."""
    known = {char: weight for char, weight in LETTER_FREQUENCY.items() if char in lettering.hand.letters}
    total = sum(weight * _bearings_mm(lettering, char) for char, weight in known.items())
    return total / sum(known.values()) if known else 0.0


def _bearings_mm(lettering: Lettering, char: str) -> float:
    found = letter_sides(lettering, char)
    zone = _zone(lettering, char)
    ink = _reach(found.right[zone], max) - _reach(found.left[zone], min)
    return spaced(lettering, char).advance_mm - ink


@lru_cache(maxsize=512)
def _width_of_o(lettering: Lettering) -> float:
    data = find_letter(lettering.hand, "o")
    if data is None:  # a hand without an o yet
        return 0.6 * lettering.x_height_mm
    found = row_extents(pen_strokes(lettering, data.strokes), rows_mm(lettering), lettering.hand.slant_deg)
    return _reach(found.right, max) - _reach(found.left, min)
