"""The full downstroke of a letter: its thickest stroke across the slant axis, wherever that lies.

Measured on the marks the pen leaves one after the other (discs, or the rectangle of a nib), stretch by stretch of
centreline, so that another stroke which crosses or branches off does not count: on a line across the axis through a
mark, what the marks of the same stretch cover.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Iterator, Sequence

import numpy as np

from guidegen.geometry import cubic as cb
from guidegen.geometry.cubic import Bools, Complexes, Floats
from guidegen.geometry.shape.counters import Chord
from guidegen.geometry.stroke.radius_spans import width_at
from guidegen.geometry.stroke.stroke import AnyStroke, Nib, NibStroke

WITHIN_DEG = 30.0
"""A centreline that runs down within so much of the slant axis is a downstroke; beyond it the stroke is a turn."""
_MARKS = 193  # a segment
_AS_WIDE = 1e-3  # chords this close to the greatest are as wide: a stem has many, and the middle one is taken


def full_downstroke(strokes: Sequence[AnyStroke], axis_deg: float, within_deg: float = WITHIN_DEG) -> Chord | None:
    """Return the longest chord across the axis (degrees from the baseline) of what is drawn down along it.

    Of chords that are as wide as each other within a thousandth it is the middle one. None where no centreline runs
    down within ``within_deg`` of the axis. Ends that are cut are taken as if they were not.
    """
    up = cmath.exp(1j * math.radians(axis_deg))
    upright = 1j * up.conjugate()
    best: Chord | None = None
    for stroke in strokes:
        for z, r, along in _stretches(stroke, upright, within_deg):
            edges = _nib_edges(z, stroke.nib, upright) if isinstance(stroke, NibStroke) else _disc_edges(z, r, along)
            chord = _widest(z, *edges, along)
            if chord is not None and (best is None or chord.width > best.width * (1 + _AS_WIDE)):
                best = chord
    return best and Chord(best.left / upright, best.right / upright)


def _stretches(stroke: AnyStroke, upright: complex, within_deg: float) -> Iterator[tuple[Complexes, Floats, Bools]]:
    """Yield the marks of each stretch that runs down: centres, the axis turned upright, radii, which run along it."""
    curves = cb.as_cubics(stroke.path.segments)
    t = np.broadcast_to(np.linspace(0, 1, _MARKS), (len(curves), _MARKS))
    z = cb.point(curves, t).ravel()
    s = np.concatenate(([0.0], np.cumsum(np.abs(np.diff(z)))))
    first = np.concatenate(([True], np.diff(s) > 0))  # not twice where two segments meet
    z, s = z[first] * upright, s[first]
    r = np.zeros(len(s)) if isinstance(stroke, NibStroke) else width_at(stroke.widths, s) / 2
    angle = np.abs(np.angle(np.diff(z) * 1j, deg=True))
    edges = np.flatnonzero(np.diff(np.concatenate(([False], angle < 90, [False])).astype(np.int8)))
    for a, b in zip(edges[::2], edges[1::2], strict=True):
        steps = np.concatenate(([False], angle[a:b] <= within_deg, [False]))
        yield z[a : b + 1], r[a : b + 1], steps[:-1] | steps[1:]


def _widest(z: Complexes, left: Floats, right: Floats, along: Bools) -> Chord | None:
    width = np.where(along & np.isfinite(right - left), right - left, 0.0)
    if not width.max() > 0:
        return None
    wide = np.flatnonzero(width >= width.max() * (1 - _AS_WIDE))
    k = wide[np.argmin(np.abs(z.imag[wide] - (z.imag[wide[0]] + z.imag[wide[-1]]) / 2))]
    return Chord(complex(left[k], z.imag[k]), complex(right[k], z.imag[k]))


def _disc_edges(z: Complexes, r: Floats, along: Bools) -> tuple[Floats, Floats]:
    """Return how far left and right discs reach on the lines through those of their centres that ``along`` picks.

    NaN on the other lines. The discs go down, so those that may reach a line follow each other.
    """
    down, reach = -z.imag, r.max()
    lines = np.flatnonzero(along)
    first, end = np.searchsorted(down, down[lines] - reach), np.searchsorted(down, down[lines] + reach, "right")
    near = np.minimum(first[:, None] + np.arange((end - first).max(initial=1)), len(z) - 1)
    off = down[near] - down[lines, None]
    half = np.sqrt(np.where(np.abs(off) <= r[near], r[near] ** 2 - off * off, np.nan))
    left, right = np.full((2, len(z)), np.nan)
    left[lines] = np.fmin.reduce(z.real[near] - half, axis=1)
    right[lines] = np.fmax.reduce(z.real[near] + half, axis=1)
    return left, right


def _nib_edges(z: Complexes, nib: Nib, upright: complex) -> tuple[Floats, Floats]:
    """Return the same for a nib's rectangle: as it goes down, its corners draw the edges; NaN near its ends."""
    along = cmath.exp(1j * math.radians(nib.angle_deg)) * upright / 2
    corners = [a * nib.width * along + b * nib.thickness * 1j * along for a in (-1, 1) for b in (-1, 1)]
    drawn = [np.interp(-z.imag, -(z + c).imag, (z + c).real, np.nan, np.nan) for c in corners]
    return np.fmin.reduce(drawn), np.fmax.reduce(drawn)
