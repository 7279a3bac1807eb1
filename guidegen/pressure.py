"""From the direction of travel to widths along a stroke: down is thick, up is thin, the change is in the turns."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from guidegen.hands import Pressure

_FLOATS = NDArray[np.float64]


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
    s: _FLOATS, down_deg: _FLOATS, pressure: Pressure, scale: float, thin: float, thick: float
) -> tuple[tuple[float, float], ...]:
    """Return the knots ``(s, width)`` of one stroke, for eased :class:`~guidegen.geometry.stroke.Widths`.

    Args:
        s, down_deg: samples along the stroke, as in :func:`pressed_runs`.
        pressure: the hand's settings.
        scale: length of one x-height in the unit of ``s``.
        thin, thick: width without and under full pressure.
    """
    knots: list[tuple[float, float]] = []
    last = len(s) - 1
    for a, b in pressed_runs(down_deg, s, pressure):
        knots += _run(float(s[a]), float(s[b]), a == 0, b == last, pressure, scale, thin, thick)
    if not knots:
        return ((0.0, thin),)
    if knots[0][0] > 0 and knots[0][1] != thin:
        knots.insert(0, (0.0, thin))
    return _increasing(knots)


def _run(
    a: float, b: float, at_start: bool, at_end: bool, pressure: Pressure, scale: float, thin: float, thick: float
) -> list[tuple[float, float]]:
    press = 0.0 if at_start else pressure.press * scale
    release = 0.0 if at_end else pressure.release * scale
    total, length = press + release, b - a
    if total > 0.96 * length:
        press, release = (part * 0.96 * length / total for part in (press, release))
    knots = [(a, thin)] if press else []
    knots += [(a + press, thick), (b - release, thick)]
    return knots + ([(b, thin)] if release else [])


def _increasing(knots: Sequence[tuple[float, float]]) -> tuple[tuple[float, float], ...]:
    kept: list[tuple[float, float]] = []
    for s, width in knots:
        if not kept or s > kept[-1][0] + 1e-9:
            kept.append((s, width))
    return tuple(kept)
