"""The whole tolerance test of disc strokes, quick enough for thousands of strokes: distances, windings, simple rings.

Nothing of the stroke engine is used. The family of discs is walked with numpy into spans (discs between two
neighbours, centre and radius straight between them) that stray from it by less than a fiftieth of the tolerance. The
signed distance of a point is that from the nearest disc, negative inside. Then

- no point of the outline, sampled along every piece, is further than the tolerance from the edge of the ink, on
  either side: no ink is lost, none added, and no crack or speck lies inside;
- points of the ink are wound round once, points of the white not at all;
- no ring crosses itself or another one.

The area test of :mod:`dense` is the slow one beside it.
"""

from __future__ import annotations

import cmath
import math
from dataclasses import dataclass

import numpy as np
import shapely

_GAUSS = np.polynomial.legendre.leggauss(5)
_TABLE = np.linspace(0, 1, 513)
_GROUP = 16


@dataclass(frozen=True)
class Discs:
    """Spans of discs (n): from centre a and radius r on to a + d and r + dr; the cuts that act on each."""

    a: np.ndarray
    d: np.ndarray
    r: np.ndarray
    dr: np.ndarray
    cuts: tuple  # of (point, direction, flags): the spans are cut off right of the line


def as_cubics(path):
    rows = []
    for s in path.segments:
        if len(s) == 4:
            rows.append(s)
        else:
            rows.append((s[0], s[0] + (s[1] - s[0]) / 3, s[1] - (s[1] - s[0]) / 3, s[1]))
    return np.array(rows, dtype=complex)


def bezier(p, t):
    p0, p1, p2, p3 = np.moveaxis(p, -1, 0)
    u = 1 - t
    return u * u * (u * p0 + 3 * t * p1) + t * t * (3 * u * p2 + t * p3)


def _speed(p, t):
    p0, p1, p2, p3 = np.moveaxis(p, -1, 0)
    u = 1 - t
    return 3 * np.abs(u * u * (p1 - p0) + 2 * u * t * (p2 - p1) + t * t * (p3 - p2))


def _length(p, t0, t1):
    x, w = _GAUSS
    half = (t1 - t0) / 2
    return half * (_speed(p[..., None, :], t0[..., None] + half[..., None] * (x + 1)) @ w)


def _width(widths, s):
    """Widths at arc lengths: straight or a smoothstep between knots, of two knots at one place the later."""
    knots = np.array(widths.knots, dtype=float)
    k = np.searchsorted(knots[:, 0], s, side="right")
    low, high = np.maximum(k - 1, 0), np.minimum(k, len(knots) - 1)
    run = knots[high, 0] - knots[low, 0]
    u = np.clip((s - knots[low, 0]) / np.where(run > 0, run, 1), 0, 1)
    u = u * u * (3 - 2 * u) if widths.eased else u
    return knots[low, 1] + (knots[high, 1] - knots[low, 1]) * u


def discs_of(stroke, fine):
    """Return the discs of one stroke as spans that stray from it by less than ``fine``."""
    p = as_cubics(stroke.path)
    n = len(p)
    steps = _length(p[:, None], np.broadcast_to(_TABLE[:-1], (n, 512)), np.broadcast_to(_TABLE[1:], (n, 512)))
    run = np.concatenate([np.zeros((n, 1)), np.cumsum(steps, axis=1)], axis=1)
    before = np.concatenate([[0], np.cumsum(run[:, -1])])

    def arc(k, t):
        at = np.minimum((t * 512).astype(int), 511)
        return before[k] + run[k, at] + _length(p[k], _TABLE[at], t)

    k, t = np.repeat(np.arange(n), 17), np.tile(np.linspace(0, 1, 17), n)
    knots = np.array([s for s, _ in stroke.widths.knots])
    more_k = np.clip(np.searchsorted(before, knots, side="right") - 1, 0, n - 1)
    low, high = np.zeros(len(knots)), np.ones(len(knots))
    for _ in range(60):
        middle = (low + high) / 2
        under = arc(more_k, middle) < knots
        low, high = np.where(under, middle, low), np.where(under, high, middle)
    more_k, more_t = np.tile(more_k, 2), np.append(low, high)  # either side of a knot: the width may jump there
    k, t = np.append(k, more_k), np.append(t, more_t)
    order = np.lexsort((t, k))
    k, t = k[order], t[order]
    s = arc(k, t)
    c, r = bezier(p[k], t), _width(stroke.widths, s) / 2
    look = k[1:] == k[:-1]  # the spans that are still to be halved if need be
    for _ in range(40):
        at = np.flatnonzero(look & (t[1:] > t[:-1]))
        if not len(at):
            break
        off = np.zeros(len(at))
        length = s[at + 1] - s[at]
        for part in (0.3, 0.7):  # not the middle, where a smoothstep meets its chord
            m = t[at] + part * (t[at + 1] - t[at])
            sm = arc(k[at], m)
            cm, rm = bezier(p[k[at]], m), _width(stroke.widths, sm) / 2
            share = np.where(length > 0, (sm - s[at]) / np.where(length > 0, length, 1), part)
            gap = np.abs(c[at] + share * (c[at + 1] - c[at]) - cm) + np.abs(r[at] + share * (r[at + 1] - r[at]) - rm)
            off = np.maximum(off, gap)
        bad = off > fine / 2
        new = at[bad] + 1
        m = (t[at[bad]] + t[at[bad] + 1]) / 2
        sm = arc(k[at[bad]], m)
        cm, rm = bezier(p[k[at[bad]]], m), _width(stroke.widths, sm) / 2
        flags = np.zeros(len(t) - 1, dtype=bool)
        flags[at[bad]] = True
        look = np.insert(flags, at[bad], True)
        k, t, s = np.insert(k, new, k[at[bad]]), np.insert(t, new, m), np.insert(s, new, sm)
        c, r = np.insert(c, new, cm), np.insert(r, new, rm)
    return Discs(c[:-1], np.diff(c), r[:-1], np.diff(r), _cuts(stroke, c, r))


def _cuts(stroke, c, r):
    """The cuts as the definition says: each acts from its end on up to the first disc that is clear of its line."""
    found = []
    for angle, backwards in ((stroke.start_cut_deg, False), (stroke.end_cut_deg, True)):
        if angle is None or not (c != c[0]).any():
            continue
        order = slice(None, None, -1) if backwards else slice(None)
        way = cmath.exp(1j * math.radians(angle))
        height = ((c[order] - c[order][0]) * np.conj(way)).imag
        # the side into which it leaves may be the other one a little later: looked at from next to nothing on
        every = as_cubics(stroke.path)
        first = every[::-1, ::-1][0] if backwards else every[0]
        leaving = ((bezier(first[None], 10.0 ** np.linspace(-12, -1, 200)) - first[0]) * np.conj(way)).imag
        off = np.append(leaving, height)
        off = off[np.abs(off) > 1e-12 * np.abs(c).max()]
        if len(off) and off[0] < 0:
            way, height = -way, -height
        clear = np.flatnonzero(height >= r[order])
        count = clear[0] if len(clear) else len(c)
        acts = np.arange(len(c) - 1) < count
        found.append((c[order][0], way, acts[::-1] if backwards else acts))
    return tuple(found)


def distance(points, discs):
    """Return how far each point lies outside the union of the discs, negative: inside."""
    best = np.full(len(points), np.inf)
    for some in discs:
        n = len(some.a)
        first = np.arange(0, n, _GROUP)
        last = np.minimum(first + _GROUP, n)
        owner = np.arange(n) // _GROUP
        middle = some.a[(first + last) // 2]
        centre = middle[owner]
        reach = np.maximum(np.abs(some.a - centre) + some.r, np.abs(some.a + some.d - centre) + some.r + some.dr)
        reach = np.maximum.reduceat(reach, first)
        size = np.abs(some.d)
        unit = np.where(size > 0, some.d / np.where(size > 0, size, 1), 1)
        slope = np.clip(some.dr / np.where(size > 0, size, 1), -1, 1)
        lean = slope / np.sqrt(np.maximum(1 - slope * slope, 1e-12))
        for block in range(0, len(points), 2000):
            p = points[block : block + 2000]
            here = best[block : block + 2000]
            gaps = np.abs(p[:, None] - middle) - some.r[(first + last) // 2]
            for point, way, acts in some.cuts:
                over = -((p - point) * np.conj(way)).imag[:, None]
                gaps = np.where(acts[(first + last) // 2], np.maximum(gaps, over), gaps)
            np.minimum(here, gaps.min(axis=1), out=here)  # any one disc bounds the distance from above
            row, group = np.nonzero(np.abs(p[:, None] - middle) - reach < here[:, None])
            count = (last - first)[group]
            k = np.repeat(first[group] - (np.cumsum(count) - count), count) + np.arange(count.sum())
            row = np.repeat(row, count)
            z = (p[row] - some.a[k]) * np.conj(unit[k])
            # of a span's discs the nearest one is off the foot by the height times the tangent of the edge's lean
            u = np.clip((z.real + np.abs(z.imag) * lean[k]) / np.where(size[k] > 0, size[k], 1), 0, 1)
            gap = np.abs(z - u * size[k]) - (some.r[k] + u * some.dr[k])
            for point, way, acts in some.cuts:
                over = -((p[row] - point) * np.conj(way)).imag
                gap = np.where(acts[k], np.maximum(gap, over), gap)
            np.minimum.at(here, row, gap)
    return best


def pieces_of(outline):
    curves = np.concatenate([as_cubics(path) for path in outline])
    ring = np.repeat(np.arange(len(outline)), [len(path.segments) for path in outline])
    straight = np.array([len(s) == 2 for path in outline for s in path.segments])
    return curves, ring, straight


def flat_rings(outline, chord):
    """Return every ring as a polygon's vertices, chords no further than ``chord`` from the curves."""
    curves, ring, straight = pieces_of(outline)
    a, b, c, d = curves.T
    bend = np.maximum(np.abs(a - 2 * b + c), np.abs(b - 2 * c + d))
    n = np.where(straight, 1, np.maximum(1, np.ceil(np.sqrt(0.75 * bend / chord)))).astype(int)
    owner = np.repeat(np.arange(len(curves)), n)
    t = (np.arange(len(owner)) - np.repeat(np.cumsum(n) - n, n)) / n[owner]
    z = bezier(curves[owner], t)
    return np.split(z, np.flatnonzero(np.diff(ring[owner])) + 1)


def samples_of(outline, step, least=9, most=65):
    """Return points along every piece, next to its ends too, and the unit normals that point out of the ink."""
    curves, _, _ = pieces_of(outline)
    size = np.abs(np.diff(curves, axis=1)).sum(axis=1)
    n = np.clip(np.ceil(size / step), least, most).astype(int)
    owner = np.repeat(np.arange(len(curves)), n)
    x = (np.arange(len(owner)) - np.repeat(np.cumsum(n) - n, n)) / (n[owner] - 1)
    t = (1 - np.cos(np.pi * x)) / 2
    z = bezier(curves[owner], t)
    a, b, c, d = curves[owner].T
    u = 1 - t
    way = u * u * (b - a) + 2 * u * t * (c - b) + t * t * (d - c)
    size = np.abs(way)
    return z, -1j * way / np.where(size > 0, size, 1)


def windings(points, rings):
    start = np.concatenate(rings)
    end = np.concatenate([np.roll(r, -1) for r in rings])
    total = np.zeros(len(points), dtype=int)
    order = np.argsort(points.imag)
    y = points.imag[order]
    low, high = np.minimum(start.imag, end.imag), np.maximum(start.imag, end.imag)
    first, last = np.searchsorted(y, low, side="left"), np.searchsorted(y, high, side="left")
    count = last - first
    edge = np.repeat(np.arange(len(start)), count)
    k = order[np.repeat(first - (np.cumsum(count) - count), count) + np.arange(count.sum())]
    a, b, p = start[edge], end[edge], points[k]
    side = (np.conj(b - a) * (p - a)).imag
    up = b.imag > a.imag
    np.add.at(total, k, np.where(up & (side > 0), 1, 0) - np.where(~up & (side < 0), 1, 0))
    return total


def malformed(outline):
    for path in outline:
        if not path.closed or not np.isfinite(np.array([z for s in path.segments for z in s])).all():
            return "not closed or not finite"
        ends = [(s[0], s[-1]) for s in path.segments]
        if any(a[1] != b[0] for a, b in zip(ends, [*ends[1:], ends[0]], strict=True)):
            return "open"
        if any(len(set(s)) == 1 for s in path.segments):
            return "a segment of no length"
    return None


def crossing(outline, chord):
    """Return what crosses, None if no ring crosses itself or another: seen with chords of one fineness."""
    rings = flat_rings(outline, chord)
    few = [k for k, r in enumerate(rings) if len(r) < 3]
    if few:
        return "a ring without inside"
    loops = np.array([shapely.Polygon(np.stack([r.real, r.imag], axis=-1)) for r in rings])
    bad = np.flatnonzero(~shapely.is_valid(loops))
    if len(bad):
        return f"ring {bad[0]} crosses itself: {shapely.is_valid_reason(loops[bad[0]])}"
    if len(loops) > 1:
        i, j = shapely.STRtree(loops).query(loops, predicate="overlaps")
        for a, b in zip(i[i < j], j[i < j], strict=True):
            # a hole that touches the ring around it may lie beyond it in rounding, as one beside it may share some area
            one, two = loops[a], loops[b]
            parts = shapely.intersection(one, two), shapely.difference(one, two), shapely.difference(two, one)
            if min(shapely.area(part) for part in parts) > 1e-9 * chord * chord:
                return f"rings {a} and {b} cross"
    return None


LOOKS = (50, 400, 3000)  # parts of the tolerance at which rings are looked at


def complaint(outline, strokes, tolerance, seed=0):
    """Return what is wrong with the outline of disc strokes, None if nothing is found."""
    wrong = malformed(outline)
    if wrong:
        return wrong
    fine = 0.02 * tolerance
    most = tolerance + fine
    discs = [discs_of(s, fine) for s in strokes]
    if not outline:
        within = np.concatenate([d.a + share * d.r for d in discs for share in 0.9 * np.exp(1j * np.arange(8))])
        return "nothing drawn" if distance(within, discs).min() < -most else None
    corners = np.concatenate([as_cubics(path).ravel() for path in outline])
    z, normal = samples_of(outline, max(20 * tolerance, float(np.ptp(corners.real) + np.ptp(corners.imag)) / 200))
    off = distance(z, discs)
    k = int(np.argmax(np.abs(off)))
    if abs(off[k]) > most:
        return f"edge {abs(off[k]):.3g} {_side(off[k])} the ink at {z[k]:.6g}"
    for part in LOOKS:
        wrong = crossing(outline, tolerance / part)
        if wrong:
            return f"{wrong} (chords of {tolerance / part:.2g})"
    points = _anywhere(np.random.default_rng(seed), z, normal, discs, tolerance)
    off = distance(points, discs)
    wind = windings(points, flat_rings(outline, fine))
    for k in np.flatnonzero(((off > most) & (wind != 0)) | ((off < -most) & (wind != 1)))[:1]:
        return f"winding {wind[k]} {abs(off[k]):.3g} {_side(off[k])} the ink at {points[k]:.6g}"
    return None


def _side(off):
    return "outside" if off > 0 else "inside"


def _anywhere(rng, z, normal, discs, tolerance):
    """Random points: on either side of the outline z, in the box around it, in the discs up to their edges."""
    pick = rng.integers(0, len(z), 100)
    low, high = complex(z.real.min(), z.imag.min()), complex(z.real.max(), z.imag.max())
    x, y = rng.uniform(-0.05, 1.05, (2, 200))
    places = [low + (high - low).real * x + 1j * (high - low).imag * y]
    places += [z[pick] + side * tolerance * normal[pick] for side in (1.5, -1.5)]
    for d in discs:
        k = rng.integers(0, len(d.a), max(60 // len(discs), 8))
        share = rng.choice([1.0, 0.99, 0.5, 0.0], len(k)) * np.exp(2j * np.pi * rng.random(len(k)))
        places.append(d.a[k] + np.maximum(d.r[k] - 1.1 * tolerance, 0) * share)
    return np.concatenate(places)
