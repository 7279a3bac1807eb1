"""From the direction of travel to widths along a stroke: down is thick, up is thin, the change is in the turns."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from guidegen.hands.hand import Pressure

_FLOATS = NDArray[np.float64]
_LEAST_FULL = 0.18
"""Share of a pressed stretch that is drawn at full pressure even where both eases together are longer."""


def pressed_runs(down_deg: _FLOATS, s: _FLOATS, pressure: Pressure) -> list[tuple[int, int]]:
    """Return index ranges (first, last) of the samples on which the pen presses.

    Args:
        down_deg: angle between travel and straight down the slant axis at each sample, 0..180.
        s: arc length at each sample.
        pressure: the hand's settings.
    """
    runs: list[tuple[int, int]] = []
    start: int | None = None
    for i, angle in enumerate(down_deg):
        closing = i == 0 or angle <= down_deg[i - 1]
        if start is None and closing and angle < pressure.on_deg:
            start = i
        elif start is not None and angle > pressure.off_deg and not closing:
            runs.append((start, i))
            start = None
    if start is not None:
        runs.append((start, len(s) - 1))
    return [(a, b) for a, b in runs if s[b] - s[a] > 1e-9]


def width_knots(
    s: _FLOATS,
    down_deg: _FLOATS,
    pressure: Pressure,
    scale: float,
    thin: float,
    thick: float,
    fixed: Sequence[tuple[float, float | None]] = (),
) -> tuple[tuple[float, float], ...]:
    """Return the knots ``(s, width)`` of one stroke, for eased :class:`~guidegen.geometry.stroke.stroke.Widths`.

    Args:
        s, down_deg: samples along the stroke, as in :func:`pressed_runs`.
        pressure: the hand's settings.
        scale: length of one x-height in the unit of ``s``.
        thin, thick: width without and under full pressure.
        fixed: per node of the skeleton its s and the pressure (0..1) it states, or None. Between two neighbours
            that both state one, the pressure is eased from one to the other; elsewhere direction decides. A rise or
            a fall through several of them is one ease, for a pen does not stop in between.
    """
    knots: list[tuple[float, float]] = []
    done, held, last = 0.0, False, float(s[-1])
    for (a, p), (b, q) in pairwise(fixed):
        if p is not None and q is not None:
            knots += _by_direction(s, down_deg, (done, a), (held, p > 0), pressure, scale, thin, thick)
            knots += [(a, thin + p * (thick - thin)), (b, thin + q * (thick - thin))]
            done, held = b, q > 0
    knots += _by_direction(s, down_deg, (done, last), (held, False), pressure, scale, thin, thick)
    return _smooth(_increasing(knots)) or ((0.0, thin),)


def _by_direction(
    s: _FLOATS,
    down_deg: _FLOATS,
    span: tuple[float, float],
    held: tuple[bool, bool],
    pressure: Pressure,
    scale: float,
    thin: float,
    thick: float,
) -> list[tuple[float, float]]:
    """Knots of the stretch ``span``; ``held`` tells on which ends it meets a stated pressure above 0."""
    inside = np.flatnonzero((s >= span[0] - 1e-9) & (s <= span[1] + 1e-9))
    if len(inside) < 2:
        return []
    first, last = int(inside[0]), int(inside[-1])
    knots: list[tuple[float, float]] = []
    for a, b in pressed_runs(down_deg[first : last + 1], s[first : last + 1], pressure):
        i, j = a + first, b + first
        if s[j] - s[i] < pressure.shortest * scale:
            continue
        eases = (
            0.0 if i == 0 else pressure.press * scale,
            0.0 if j == len(s) - 1 else pressure.release * scale,
        )
        open_ends = (eases[0] > 0 and not (held[0] and i == first), eases[1] > 0 and not (held[1] and j == last))
        knots += _run(float(s[i]), float(s[j]), eases, open_ends, thin, thick)
    return knots


def _run(
    a: float, b: float, eases: tuple[float, float], open_ends: tuple[bool, bool], thin: float, thick: float
) -> list[tuple[float, float]]:
    press, release = eases
    total, eased = press + release, (1 - _LEAST_FULL) * (b - a)
    if total > eased:
        press, release = press * eased / total, release * eased / total
    knots = [(a, thin)] if open_ends[0] else []
    knots += [(a + press, thick), (b - release, thick)]
    return knots + ([(b, thin)] if open_ends[1] else [])


def _increasing(knots: Sequence[tuple[float, float]]) -> tuple[tuple[float, float], ...]:
    kept: list[tuple[float, float]] = []
    for s, width in knots:
        if not kept or s > kept[-1][0] + 1e-9:
            kept.append((s, width))
    return tuple(kept)


def _smooth(knots: Sequence[tuple[float, float]]) -> tuple[tuple[float, float], ...]:
    """Return the knots without those in the midst of a rise or a fall, where an ease would come to a stand."""
    kept: list[tuple[float, float]] = []
    for i, (s, width) in enumerate(knots):
        inside = 0 < i < len(knots) - 1
        if not inside or (width - knots[i - 1][1]) * (knots[i + 1][1] - width) <= 0:
            kept.append((s, width))
    return tuple(kept)
