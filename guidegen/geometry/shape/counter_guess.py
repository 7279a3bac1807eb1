"""The white that strokes will enclose, estimated from their discs alone: a first guess before anything is inked.

On a line across the discs each disc covers an interval, so the ink there is a union of intervals and the white what
is left between them. No outline is made, which is why it is quick, and why it only guesses: whoever needs the width
of a counter measures it on the ink (:mod:`guidegen.geometry.shape.counters`).
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from guidegen.geometry import cubic as cb
from guidegen.geometry.cubic import Complexes, Floats
from guidegen.geometry.stroke.radius_spans import width_at
from guidegen.geometry.stroke.stroke import Stroke

_COARSE, _FINE = 33, 257  # discs a segment, to find the widest place and to measure there
_LEVELS, _CLOSER = 40, 7  # lines across all discs, and around the widest
_LEAST_SHARE = 0.15  # of the largest radius: what is narrower may lie between two discs of one stroke


class White(NamedTuple):
    """A stretch of white on a line across the axis."""

    left: float
    right: float

    @property
    def width(self) -> float:
        return self.right - self.left


def bowl_estimate(strokes: Sequence[Stroke], axis_deg: float) -> White | None:
    """Return the longest white across the axis in the highest counter of ``strokes``, None where none is found.

    Against the outline of the same discs: within about a thousandth of the largest width. Ends that are cut are taken
    as round.
    """
    up = cmath.exp(1j * math.radians(axis_deg))
    upright = 1j * up.conjugate()
    z, r = _discs(strokes, _coarse(strokes))
    z = z * upright
    levels = np.linspace(float((z.imag + r).max()), float((z.imag - r).min()), _LEVELS + 2)[1:-1]
    bowl = _highest(z, r, levels, _whites(z, r, levels))
    if not bowl:
        return None
    best = max(bowl, key=lambda level: bowl[level].width)
    step = levels[0] - levels[1]
    z, r = _discs(strokes, _FINE)
    closer = _whites(z * upright, r, levels[best] + step * np.linspace(-1, 1, _CLOSER))
    near = [white for whites in closer for white in whites if _overlap(white, bowl[best])]
    return max(near, key=lambda white: white.width, default=None)


def _coarse(strokes: Sequence[Stroke]) -> int:
    """Return how many discs a segment takes, so that no line passes between two discs of the thinnest hairline."""
    curves = cb.as_cubics([segment for stroke in strokes for segment in stroke.path.segments])
    longest = float(np.abs(np.diff(curves, axis=1)).sum(axis=1).max())
    thinnest = min(width for stroke in strokes for _, width in stroke.widths.knots)
    return int(np.clip(2 * longest / max(thinnest, longest / _FINE), _COARSE, _FINE))


def _discs(strokes: Sequence[Stroke], per_segment: int) -> tuple[Complexes, Floats]:
    """Return centres and radii of discs along the strokes."""
    centres, radii = [], []
    t = np.linspace(0, 1, per_segment)
    for stroke in strokes:
        curves = cb.as_cubics(stroke.path.segments)
        z = cb.point(curves, np.broadcast_to(t, (len(curves), len(t)))).ravel()
        s = np.concatenate(([0.0], np.cumsum(np.abs(np.diff(z)))))
        centres.append(z)
        radii.append(width_at(stroke.widths, s) / 2)
    return np.concatenate(centres), np.concatenate(radii)


def _whites(turned: Complexes, r: Floats, levels: Floats) -> list[list[White]]:
    """Return, level by level, the white between discs; ``turned`` so that levels are imaginary, across is real."""
    off = turned.imag - levels[:, None]
    half = np.sqrt(np.maximum(r * r - off * off, 0))
    low = np.where(half > 0, turned.real - half, np.inf)
    order = np.argsort(low, axis=1)
    low = np.take_along_axis(low, order, axis=1)
    high = np.take_along_axis(np.where(half > 0, turned.real + half, -np.inf), order, axis=1)
    reach = np.maximum.accumulate(high, axis=1)
    white = (low[:, 1:] - reach[:, :-1] > _LEAST_SHARE * float(r.max())) & np.isfinite(low[:, 1:])
    found: list[list[White]] = []
    for row in range(len(levels)):
        ends = np.flatnonzero(white[row]).tolist()
        found.append([White(float(reach[row, k]), float(low[row, k + 1])) for k in ends])
    return found


def _highest(turned: Complexes, r: Floats, levels: Floats, found: Sequence[Sequence[White]]) -> dict[int, White]:
    """Return the first stretch of white from above, level by level for as long as no ink comes between."""
    bowl: dict[int, White] = {}
    for row, whites in enumerate(found):
        above = bowl.get(row - 1)
        here = [white for white in whites if above is None or _overlap(white, above)]
        if not here and bowl:
            break
        if here and above is not None:
            middle = (max(here[0].left, above.left) + min(here[0].right, above.right)) / 2
            nearest = np.clip(turned.imag, levels[row], levels[row - 1])
            if np.any(np.abs(turned - (middle + 1j * nearest)) < r):
                break
        if here:
            bowl[row] = here[0]
    return bowl


def _overlap(one: White, other: White) -> bool:
    return one.left < other.right and other.left < one.right
