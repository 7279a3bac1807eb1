"""The right size by one curve: x-height over downstroke, by hairline over downstroke.

Scale a marker and its letter alike and the picture stays the same, so the counter rule gives every marker of a hand
its x-height by one function of hairline over downstroke, for each counter the rule asks for (the right size and both
ends of its band). For the hands that ship it was worked out with the search of :mod:`guidegen.lettering.sizing`, at
points set closer where it bends, and kept in ``size_curves.json``; between the points runs a cubic.

A curve is found by a digest of all that the rule reads of a hand: the skeleton of the sample letter, slant, pressure,
the heights that lines are placed by, the band. Another hand, another slant, an edited letter have no curve, and are
searched for. What the digest can't see is the code that inks and measures; `tests/lettering/test_size_curve.py`
compares curve and search, and `tests/lettering/make_size_curves.py` writes the file anew.
"""

from __future__ import annotations

import hashlib
from bisect import bisect_right
from collections.abc import Callable, Sequence
from functools import cache
from pathlib import Path
from typing import NamedTuple

from guidegen.hands.accents import find_letter
from guidegen.hands.hand import Hand
from guidegen.hands.joins import END, START, letter_form
from guidegen.lettering.letters import SAMPLE_LETTER

KEPT = Path(__file__).with_name("size_curves.json")
TIPS = ("brush", "pointed")
MOST_SHARE = 0.7
"""Thicker hairlines, which no pen that swells has, are searched for: there the counter's widest place may jump."""
_FIRST, _MOST_HALVINGS = 7, 8
_CLOSE_ENOUGH = 4e-4


class SizeCurve(NamedTuple):
    """Points of a hand's curves.

    ``ratios`` are the counters asked for, in downstrokes; ``shares`` hairlines over downstrokes, rising; ``heights``
    for each ratio the x-heights in downstrokes at the shares.
    """

    ratios: tuple[float, ...]
    shares: tuple[float, ...]
    heights: tuple[tuple[float, ...], ...]

    def height(self, share: float, ratio: float) -> float | None:
        """Return the x-height in downstrokes; None beyond the curve, or for a ratio it was not worked out for.

        A cubic between two points, its slope at each that of the parabola through the point and its neighbours.
        """
        if ratio not in self.ratios or not self.shares[0] <= share <= self.shares[-1]:
            return None
        x, y = self.shares, self.heights[self.ratios.index(ratio)]
        i = min(bisect_right(x, share), len(x) - 1) - 1
        step = x[i + 1] - x[i]
        t = (share - x[i]) / step
        rise = y[i + 1] - y[i]
        start, end = (step * _slope(x, y, k) for k in (i, i + 1))
        return y[i] + t * (start + t * (3 * rise - 2 * start - end + t * (start + end - 2 * rise)))


def _slope(x: Sequence[float], y: Sequence[float], at: int) -> float:
    """Return the slope at point ``at`` of the parabola through it and its neighbours (at an end, the nearest three)."""
    k = min(max(at, 1), len(x) - 2)
    before, after = x[k] - x[k - 1], x[k + 1] - x[k]
    one, other = (y[k] - y[k - 1]) / before, (y[k + 1] - y[k]) / after
    bend = (other - one) / (before + after)
    return one + bend * (2 * x[at] - x[k - 1] - x[k])


def fitted(
    truth: Callable[[float], Sequence[float]], ratios: Sequence[float], low: float, high: float
) -> SizeCurve:
    """Return a curve through points of ``truth``, which gives for a share the height of each ratio.

    Between two points the middle is tried; where the curve misses it by more than 0.0004 downstrokes, so are the
    middles beside it, eight times at most, for a curve may have a corner.
    """
    step = (high - low) / (_FIRST - 1)
    points = {low + step * k: tuple(truth(low + step * k)) for k in range(_FIRST)}
    open_spans = [(low + step * k, low + step * (k + 1)) for k in range(_FIRST - 1)]
    for _ in range(_MOST_HALVINGS):
        curve = _through(points, ratios)
        missed = []
        for left, right in open_spans:
            middle = (left + right) / 2
            points[middle] = tuple(truth(middle))
            guess = [curve.height(middle, ratio) or 0.0 for ratio in ratios]
            if max(abs(a - b) for a, b in zip(guess, points[middle], strict=True)) > _CLOSE_ENOUGH:
                missed += [(left, middle), (middle, right)]
        open_spans = missed
    return _through(points, ratios)


def _through(points: dict[float, tuple[float, ...]], ratios: Sequence[float]) -> SizeCurve:
    shares = sorted(points)
    return SizeCurve(tuple(ratios), tuple(shares), tuple(zip(*(points[share] for share in shares), strict=True)))


def digest(hand: Hand, tip: str) -> str | None:
    """Return the SHA-256 of all that the counter rule reads of a hand for a tip; None when it lacks the letter."""
    data = find_letter(hand, SAMPLE_LETTER)
    if data is None:
        return None
    pressure = hand.pressure
    read = (
        letter_form(hand, data, START, END).strokes,
        (hand.slant_deg, hand.ascender, hand.descender, hand.capital),
        (pressure.on_deg, pressure.off_deg, pressure.press, pressure.release, pressure.shortest),
        pressure.cut_deg.get(tip),
        (hand.size.value, hand.size.smallest, hand.size.largest),
    )
    return hashlib.sha256(repr(read).encode()).hexdigest()


@cache
def kept_curves() -> dict[str, SizeCurve]:
    """Return the curves that ship, by :func:`digest`."""
    import json

    found = json.loads(KEPT.read_text(encoding="utf-8"))
    return {
        key: SizeCurve(tuple(one["ratios"]), tuple(one["shares"]), tuple(map(tuple, one["heights"])))
        for entries in found.values()
        for one in entries
        for key in one["digests"]
    }


@cache
def size_curve(hand: Hand, tip: str) -> SizeCurve | None:
    """Return the curve of a hand for a tip; None where there is none and the size is to be searched for."""
    if tip not in TIPS:
        return None
    key = digest(hand, tip)
    return None if key is None else kept_curves().get(key)
