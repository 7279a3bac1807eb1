"""The tolerance test of swept nibs by distance, beside the area test of :mod:`dense`, quick enough for many strokes.

Nothing of the stroke engine is used. A centreline is walked in chords that stray from it by a fiftieth of the
tolerance. Along one chord a nib sweeps a hexagon, the sum of a segment and a rectangle: how deep a point lies inside it
is the least of its distances from three pairs of parallel lines, the nib's two ways and the chord's own. Then

- no point of the outline is further than the tolerance outside all hexagons, nor deeper than that inside one: no ink is
  lost, none added, and no crack or speck lies inside;
- points of the ink, by that much, are wound round once, points of the white not at all;
- no ring crosses itself or another one.

Outside, the distance from a corner is at least that from its two sides' lines, so that what is near enough to those
may be up to a root of two further off.
"""

from __future__ import annotations

import cmath
import math

import ink_check
import numpy as np


def depth(points, strokes, chord):
    """Return how deep each point lies in the hexagon in which it lies deepest, negative: outside them all."""
    best = np.full(len(points), -np.inf)
    for stroke in strokes:
        a, b, c, d = ink_check.as_cubics(stroke.path).T
        bend = np.maximum(np.abs(a - 2 * b + c), np.abs(b - 2 * c + d))
        n = np.maximum(1, np.ceil(np.sqrt(0.75 * bend / chord))).astype(int)
        owner = np.repeat(np.arange(len(n)), n)
        t = (np.arange(len(owner)) - np.repeat(np.cumsum(n) - n, n)) / n[owner]
        curves = ink_check.as_cubics(stroke.path)[owner]
        turn = cmath.exp(-1j * math.radians(stroke.nib.angle_deg))
        start, end = (ink_check.bezier(curves, at) * turn for at in (t, t + 1 / n[owner]))
        wide, high = stroke.nib.width / 2, stroke.nib.thickness / 2
        step, middle = end - start, (start + end) / 2
        size = np.abs(step)
        unit = np.where(size > 0, step / np.where(size > 0, size, 1), 1)
        reach = np.abs(unit.imag) * wide + np.abs(unit.real) * high  # of the nib, across the chord
        for at in range(0, len(points), 500):
            gap = points[at : at + 500, None] * turn - middle
            inside = wide + np.abs(step.real) / 2 - np.abs(gap.real)
            np.minimum(inside, high + np.abs(step.imag) / 2 - np.abs(gap.imag), out=inside)
            np.minimum(inside, reach - np.abs((gap * np.conj(unit)).imag), out=inside)
            np.maximum(best[at : at + 500], inside.max(axis=1), out=best[at : at + 500])
    return best


def complaint(outline, strokes, tolerance, seed=0):
    """Return what is wrong with the outline of nib strokes, None if nothing is found."""
    wrong = ink_check.malformed(outline)
    if wrong or not outline:
        return wrong
    chord = tolerance / 50
    most = tolerance + chord
    z, _ = ink_check.samples_of(outline, 20 * tolerance)
    deep = depth(z, strokes, chord)
    k = int(np.argmax(np.abs(deep)))
    if abs(deep[k]) > most:
        return f"edge {abs(deep[k]):.3g} {'inside' if deep[k] > 0 else 'outside'} the ink at {z[k]:.6g}"
    for part in ink_check.LOOKS:
        wrong = ink_check.crossing(outline, tolerance / part)
        if wrong:
            return wrong
    rng = np.random.default_rng(seed)
    low, high = complex(z.real.min(), z.imag.min()), complex(z.real.max(), z.imag.max())
    points = low + (high - low).real * rng.random(300) + 1j * (high - low).imag * rng.random(300)
    deep = depth(points, strokes, chord)
    wind = ink_check.windings(points, ink_check.flat_rings(outline, chord))
    bad = ((deep < -most) & (wind != 0)) | ((deep > most) & (wind != 1))
    return f"winding {wind[bad][0]} at {points[bad][0]:.6g}" if bad.any() else None
