"""Strokes that nobody tuned the engine for: seeded families, each the kind of thing a stranger's drawing holds.

``strokes(family, seed)`` returns the strokes of one drawing, the same ones for the same seed. Coordinates have their
full precision: whole or rounded ones hide what happens next to a cusp.
"""

from __future__ import annotations

import cmath
import itertools
import math
import zlib

import numpy as np

from guidegen.geometry.path import Path
from guidegen.geometry.stroke.stroke import Stroke, Widths


def _points(rng, n, size=10.0):
    return [complex(x, y) for x, y in rng.uniform(-size, size, (n, 2))]


def _chain(points, degree=3):
    """A chain of cubics (or quadratics, raised) through every third (second) of the points."""
    segments = []
    for k in range(0, len(points) - degree, degree):
        p = points[k : k + degree + 1]
        segments.append(tuple(p) if degree == 3 else _raised(*p))
    return tuple(segments)


def _raised(a, b, c):
    return (a, a + (b - a) * 2 / 3, c + (b - c) * 2 / 3, c)


def _size(segments):
    return sum(abs(b - a) for s in segments for a, b in itertools.pairwise(s))


def _widths(rng, length, most=3.0):
    """One to a dozen knots somewhere along and beyond the stroke; now and then nothing, next to nothing, or a jump."""
    kind = rng.integers(0, 4)
    eased = bool(rng.integers(0, 2))
    if kind == 0:
        return Widths(((0.0, float(rng.uniform(0.01, most))),), eased)
    count = int(rng.integers(2, 5) if kind < 3 else rng.integers(5, 13))
    places = np.sort(rng.uniform(-0.05, 1.05, count)) * length
    if rng.random() < 0.1:
        places[1] = places[0]
    widths = rng.uniform(0, most, count)
    small = rng.random(count)
    widths = np.where(small < 0.1, 0.0, np.where(small < 0.2, widths * 10.0 ** rng.uniform(-5, -1, count), widths))
    return Widths(tuple(zip(places.tolist(), widths.tolist(), strict=True)), eased)


def _one(rng, segments, most=3.0, closed=False, share=0.8):
    return [Stroke(Path(tuple(segments), closed), _widths(rng, share * _size(segments), most))]


def cubics(rng):
    return _one(rng, _chain(_points(rng, 3 * int(rng.integers(1, 7)) + 1)))


def quadratics(rng):
    """Smooth chains: each middle point mirrors the one before, as ``T`` does in a path."""
    here, middle = _points(rng, 2)
    segments = []
    for _ in range(int(rng.integers(2, 9))):
        there = _points(rng, 1)[0]
        segments.append(_raised(here, middle, there))
        middle, here = 2 * there - middle, there
        if abs(middle) > 40:
            middle = _points(rng, 1)[0]
    return _one(rng, segments)


def cusps(rng):
    """Exact cusps (c'(t) = 0 at some t) in cubics of any shape, alone and in chains."""
    segments, here = [], _points(rng, 1)[0]
    for _ in range(int(rng.integers(1, 3))):
        t = float(rng.uniform(0.1, 0.9))
        p1, p2 = (here + z for z in _points(rng, 2, 8))
        # c'(t) = 0 gives the last point: u^2 d0 + 2ut d1 + t^2 d2 = 0
        u = 1 - t
        p3 = p2 - (u * u * (p1 - here) + 2 * u * t * (p2 - p1)) / (t * t)
        if abs(p3 - here) > 40:
            p3 = here + (p3 - here) * 40 / abs(p3 - here)
        segments.append((here, p1, p2, p3))
        here = p3
    return _one(rng, segments)


def near_cusps(rng):
    """The same, one control point off by very little."""
    (stroke,) = cusps(rng)
    segments = []
    for s in stroke.path.segments:
        off = 10.0 ** rng.uniform(-15, -1) * cmath.exp(2j * math.pi * rng.random())
        segments.append((s[0], s[1] + off, s[2], s[3]) if not segments else (segments[-1][3], s[1] + off, s[2], s[3]))
    return [Stroke(Path(tuple(segments)), stroke.widths)]


def level_cusps(rng):
    """Cusps with one width all along, from a hair to larger than the curve."""
    (stroke,) = (cusps if rng.random() < 0.5 else near_cusps)(rng)
    return [Stroke(stroke.path, Widths(((0.0, float(10.0 ** rng.uniform(-1.5, 1))),)))]


def collinear(rng):
    """Control points on one line at any angle, doubling back; the chain may leave the line."""
    turn, here = cmath.exp(2j * math.pi * rng.random()), _points(rng, 1)[0]
    segments = []
    for _ in range(int(rng.integers(1, 5))):
        if rng.random() < 0.3:
            turn *= rng.choice([1, -1, cmath.exp(1e-7j), cmath.exp(1j)])
        a = [here + turn * float(x) for x in rng.uniform(-8, 8, 3)]
        segments.append((here, *a) if rng.random() < 0.7 else (here, a[0]))
        here = segments[-1][-1]
    return _one(rng, segments)


def short_long(rng):
    """Very short pieces beside very long ones."""
    here, segments = _points(rng, 1)[0], []
    for _ in range(int(rng.integers(2, 9))):
        size = 10.0 ** rng.uniform(-6, 1.5)
        rest = [here + z for z in _points(rng, 3, size)]
        segments.append((here, *rest) if rng.random() < 0.8 else (here, rest[0]))
        here = segments[-1][-1]
    return _one(rng, segments)


def fat(rng):
    """Widths larger than the curve."""
    return _one(rng, _chain(_points(rng, 3 * int(rng.integers(1, 5)) + 1, 10.0 ** rng.uniform(-1, 0.3))))


def spirals(rng):
    """Spirals, inwards and outwards, of few or many turns, tight or loose: neighbours touch or overlap."""
    turns, start = rng.uniform(0.5, 4), rng.uniform(0, 3)
    grow, n = rng.uniform(-0.4, 0.8), int(rng.integers(6, 24))
    angle = np.linspace(0, 2 * math.pi * turns, n)
    z = (start + grow * angle) * np.exp(1j * angle) * rng.uniform(0.3, 2)
    d = np.gradient(z)
    parts = zip(z, z + d / 3, z[1:] - d[1:] / 3, z[1:], strict=False)
    return _one(rng, [tuple(complex(p) for p in s) for s in parts])


def closed(rng):
    """Closed chains, smooth or with corners."""
    n = int(rng.integers(1, 7))
    points = _points(rng, 3 * n)
    points.append(points[0])
    if rng.random() < 0.4 and n > 1:
        for k in range(3, 3 * n, 3):
            points[k + 1] = 2 * points[k] - points[k - 1]
        points[1] = 2 * points[0] - points[-2]
    return _one(rng, _chain(points), closed=True)


def several(rng):
    """Two to six strokes over each other, some twice, some that touch."""
    strokes = []
    for _ in range(int(rng.integers(2, 7))):
        strokes += (cubics, quadratics, collinear, closed, spirals)[int(rng.integers(0, 5))](rng)
        if rng.random() < 0.2:
            strokes.append(strokes[0])
    return strokes


def far_away(rng):
    """Up to ten thousand from the origin."""
    by = 10.0 ** rng.uniform(2, 4) * cmath.exp(2j * math.pi * rng.random())
    (stroke,) = (cubics, cusps, collinear, fat)[int(rng.integers(0, 4))](rng)
    path = Path(tuple(tuple(z + by for z in s) for s in stroke.path.segments))
    return [Stroke(path, stroke.widths)]


def cut_ends(rng):
    """Ends cut straight, at any angle."""
    (stroke,) = (cubics, quadratics, collinear, fat)[int(rng.integers(0, 4))](rng)
    angles = [float(a) if rng.random() < 0.8 else None for a in rng.uniform(-180, 180, 2)]
    return [Stroke(stroke.path, stroke.widths, *angles)]


def letters(rng):
    """What pens do write: gentle chains, hairline and downstroke, pressure changing in the turns."""
    n = int(rng.integers(2, 8))
    steps = rng.uniform(1, 5, n) * np.exp(1j * np.cumsum(rng.uniform(-1.3, 1.3, n)))
    z = np.cumsum(np.append(_points(rng, 1)[0], steps))
    d = np.gradient(z)
    parts = zip(z, z + d / 3, z[1:] - d[1:] / 3, z[1:], strict=False)
    segments = [tuple(complex(p) for p in s) for s in parts]
    thin, thick = rng.uniform(0, 0.6), rng.uniform(0.6, 3)
    places = np.sort(rng.uniform(0, 1, 4)) * _size(segments)
    widths = Widths(tuple(zip(places.tolist(), (thin, thick, thick, thin), strict=True)), eased=True)
    return [Stroke(Path(tuple(segments)), widths)]


def scribbles(rng):
    """A scribble of two hundred pieces."""
    return _one(rng, _chain(_points(rng, 601)), most=1.5, share=0.4)


FAMILIES = {
    f.__name__: f
    for f in (
        cubics, quadratics, cusps, near_cusps, level_cusps, collinear, short_long, fat, spirals, closed, several,
        far_away, cut_ends, letters,
    )
}  # fmt: skip


def strokes(family, seed):
    """Return the strokes of one drawing of a family."""
    make = FAMILIES.get(family) or globals()[family]
    return make(np.random.default_rng([zlib.crc32(family.encode()), seed]))
