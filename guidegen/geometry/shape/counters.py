"""Counters: the holes of an outline, their width across the slant and their shape."""

from __future__ import annotations

import cmath
import math
from typing import Literal, NamedTuple

import numpy as np

from guidegen.geometry.cubic import Complexes, Floats
from guidegen.geometry.measure import bounds, flatten, moments, signed_area
from guidegen.geometry.path import Outline, Path

FINE = 1e-6  # flattening error of measurements, as a share of the outline's size
TEARDROP_SKEW = 0.08  # from this skewness up a counter is a teardrop, below an ellipse
CIRCLE_RATIO = 1.2  # below this length to width it is a circle

CounterShape = Literal["closed", "circle", "teardrop", "ellipse"]


class Chord(NamedTuple):
    """A chord of a counter: its two ends, seen with the slant axis upright, and its length."""

    left: complex
    right: complex

    @property
    def width(self) -> float:
        return abs(self.right - self.left)


class Counter(NamedTuple):
    """The shape of a counter, measured on its area.

    ``axis_deg`` is the long (principal) axis, directed from its upper to its lower end. ``skew`` is the third
    standardised moment of the area along it: positive if the tail is at the lower end. ``length`` and
    ``width`` are the extents along and across it. ``widest_at`` is where along the axis the longest chord
    across it lies, from 0 at the blunt end to 1 at the tip; ``tip_deg`` is the direction from the blunt end to the tip
    (0 right, 90 up). A shape mirrored end for end has the opposite skew and tip.
    """

    area: float
    centroid: complex
    axis_deg: float
    length: float
    width: float
    length_to_width: float
    skew: float
    widest_at: float
    tip_deg: float
    shape: CounterShape


def holes(outline: Outline) -> list[Path]:
    """Return the holes of an outline (its clockwise loops), the largest first."""
    inner = [path for path in outline if signed_area(path) < 0]
    return sorted(inner, key=signed_area)


def longest_chord(hole: Path, axis_deg: float) -> Chord:
    """Return the longest chord of a hole perpendicular to the slant axis (degrees from the baseline).

    The hole is flattened to a millionth of its size; of a polygon, the longest chord in one direction goes through
    a vertex, so levels are refined around the best of an even set, then around the best of those.
    """
    up = cmath.exp(1j * math.radians(axis_deg))
    return _longest(flatten(hole, FINE * _size((hole,))), up)


def counter_shape(hole: Path | None) -> Counter:
    """Return the shape of a hole; None, or one without area, is closed."""
    size = 0.0 if hole is None else _size((hole,))
    if hole is None or abs(signed_area(hole)) <= 1e-12 * size * size:
        nothing = math.nan
        return Counter(0.0, complex(nothing, nothing), nothing, 0.0, 0.0, nothing, nothing, nothing, nothing, "closed")
    whole, mx, my, *_ = moments(hole)
    centroid = complex(mx, my) / whole
    axis = _long_axis(hole, centroid)
    m0, _, _, m2, m3, _ = moments(hole, axis, centroid)
    skew = (m3 / m0) / (m2 / m0) ** 1.5
    polygon = flatten(hole, FINE * size)
    along = ((polygon - centroid) * np.conj(axis)).real
    across = ((polygon - centroid) * np.conj(axis)).imag
    length, width = float(np.ptp(along)), float(np.ptp(across))
    tip = axis if skew >= 0 else -axis
    chord = _longest(polygon, tip)
    place = (((chord.left + chord.right) / 2 - centroid) * tip.conjugate()).real
    blunt = float(((polygon - centroid) * np.conj(tip)).real.min())
    ratio = length / width
    shape: CounterShape = "circle" if ratio < CIRCLE_RATIO else "teardrop" if skew >= TEARDROP_SKEW else "ellipse"
    return Counter(
        abs(whole), centroid, _degrees(axis), length, width, ratio, skew, (place - blunt) / length, _degrees(tip), shape
    )


def _long_axis(hole: Path, centroid: complex) -> complex:
    """Return the principal axis of the area as a unit vector from its upper to its lower end."""
    m0, _, _, xx, _, yy = moments(hole, 1.0, centroid)
    diagonal = moments(hole, cmath.exp(0.25j * math.pi), centroid)[3]  # of (x + y)^2 / 2
    xy = diagonal - (xx + yy) / 2
    angle = math.atan2(2 * xy / m0, (xx - yy) / m0) / 2
    axis = cmath.exp(1j * angle)
    return -axis if axis.imag > 0 else axis


def _longest(polygon: Complexes, up: complex) -> Chord:
    height = np.asarray((polygon * np.conj(up)).real)
    low, high = float(height.min()), float(height.max())
    best: tuple[float, float, float] = (-1.0, 0.0, 0.0)
    level = (low + high) / 2
    for count in (33, 15, 15, 15, 15, 15):
        levels = np.linspace(low, high, count + 2)[1:-1]
        found = _widest_spans(polygon, height, levels, up)
        k = max(range(count), key=lambda j: found[j][0])
        if found[k][0] > best[0]:
            best, level = found[k], float(levels[k])
        step = (high - low) / (count + 1)
        low, high = level - step, level + step
    right = -1j * up
    foot = level * up
    return Chord(foot + best[1] * right, foot + best[2] * right)


def _widest_spans(polygon: Complexes, height: Floats, levels: Floats, up: complex) -> list[tuple[float, float, float]]:
    """Return length, left and right end of the longest chord on each level, 0 where there is none."""
    above = height > levels[:, None]
    row, k = np.nonzero(above != np.roll(above, -1, axis=1))
    after = (k + 1) % len(polygon)
    ha, hb = height[k] - levels[row], height[after] - levels[row]
    on = polygon[k] + (polygon[after] - polygon[k]) * (ha / (ha - hb))
    places = np.asarray((on * np.conj(-1j * up)).real)
    order = np.lexsort((places, row))
    left, right, level = places[order][::2], places[order][1::2], row[order][::2]
    best = [(0.0, 0.0, 0.0)] * len(levels)
    for v, a, b in zip(level.tolist(), left.tolist(), right.tolist(), strict=True):
        best[v] = max(best[v], (b - a, a, b), key=lambda span: span[0])
    return best


def _size(outline: Outline) -> float:
    low, high = bounds(outline)
    return abs(high - low)


def _degrees(z: complex) -> float:
    return math.degrees(cmath.phase(z)) % 360
