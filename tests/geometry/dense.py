"""The reference of the tolerance tests: dense unions of discs (or nibs) with every radius changed, by shapely.

Nothing of the stroke engine is used here: centrelines are sampled with numpy, discs are regular polygons and the
ink is the union of the convex hulls of neighbours.
"""

from __future__ import annotations

import cmath
import functools
import itertools
import math

import numpy as np
import shapely

from guidegen.geometry.stroke.stroke import NibStroke

GAUSS = np.polynomial.legendre.leggauss(5)


def controls(segment):
    if len(segment) == 4:
        return np.array(segment)
    a, b = segment
    return np.array([a, a + (b - a) / 3, b - (b - a) / 3, b])


@functools.lru_cache(maxsize=8)
def walk(stroke, fine):
    """Sample a stroke: points, arc lengths and widths, knots included, straight between to within ``fine``.

    Between neighbours neither the centreline nor the radius leaves its chord by more than half of that.
    """
    points, lengths, radii, run = [], [], [], 0.0
    widths = getattr(stroke, "widths", None)
    for segment in stroke.path.segments:
        p = controls(segment)
        t = np.linspace(0, 1, 33)
        table = np.linspace(0, 1, 4097)
        along = run + arc_lengths(p, table)
        if widths is not None:
            knots = [s for s, _ in widths.knots if along[0] < s < along[-1]]
            t = np.union1d(t, np.interp(knots, along, table))
        for _ in range(30):
            m = (t[1:] + t[:-1]) / 2
            s = np.interp(t, table, along)
            sm = np.interp(m, table, along)
            c, cm = bezier(p, t), bezier(p, m)
            run_of = s[1:] - s[:-1]
            f = np.where(run_of > 0, (sm - s[:-1]) / np.where(run_of > 0, run_of, 1), 0.5)
            off = np.abs(c[:-1] + f * (c[1:] - c[:-1]) - cm)
            if widths is not None:
                r, rm = width_of(widths, s) / 2, width_of(widths, sm) / 2
                off = off + np.abs(r[:-1] + f * (r[1:] - r[:-1]) - rm)
            bad = off > fine / 2
            if not bad.any():
                break
            t = np.union1d(t, m[bad])
        s = np.interp(t, table, along)
        points.append(bezier(p, t))
        lengths.append(s)
        radii.append(width_of(widths, s) / 2 if widths is not None else s * 0)
        run = along[-1]
    return np.concatenate(points), np.concatenate(lengths), np.concatenate(radii)


def arc_lengths(p, table):
    """Arc lengths at an even table of t by five Gauss points between neighbours."""
    x, w = GAUSS
    h = table[1] - table[0]
    t = table[:-1, None] + h * (x + 1) / 2
    u = 1 - t
    d = 3 * (u * u * (p[1] - p[0]) + 2 * u * t * (p[2] - p[1]) + t * t * (p[3] - p[2]))
    return np.concatenate([[0], np.cumsum(np.abs(d) @ w * h / 2)])


def bezier(p, t):
    u = 1 - t
    return u**3 * p[0] + 3 * u * u * t * p[1] + 3 * u * t * t * p[2] + t**3 * p[3]


def width_of(widths, s):
    knots = np.array(widths.knots, dtype=float)
    if not widths.eased:
        return np.interp(s, knots[:, 0], knots[:, 1])
    result = np.full(len(s), knots[0, 1])
    for (s0, w0), (s1, w1) in itertools.pairwise(knots):
        if s1 > s0:
            u = np.clip((s - s0) / (s1 - s0), 0, 1)
            result = np.where(s >= s0, w0 + (w1 - w0) * (3 * u**2 - 2 * u**3), result)
        else:
            result = np.where(s >= s0, w1, result)
    return result


def dense_discs(stroke, change, fine):
    """Return U(change) of a disc stroke, off by at most about ``fine``."""
    points, _, r = walk(stroke, fine)
    r = r + change
    largest = max(r.max(), 10 * fine)
    n = max(16, math.ceil(math.pi / math.acos(max(-1, 1 - fine / largest))))
    spokes = np.exp(2j * np.pi * np.arange(n) / n)
    if change > 0:
        spokes = spokes / math.cos(math.pi / n)
    return cut(stroke, points, r, change, hulls(points, r, spokes))


def hulls(points, r, spokes):
    good = r > 0
    rings = points[:, None] + np.maximum(r, 0)[:, None] * spokes
    pair = good[1:] | good[:-1]
    k = np.flatnonzero(pair)
    if not len(k):
        k1 = np.flatnonzero(good)
        return [shapely.convex_hull(shapely.MultiPoint(xy(rings[j]))) for j in k1]
    rings = np.where(good[:, None], rings, np.nan)
    both = np.concatenate([rings[k], rings[k + 1]], axis=1)
    owner = np.repeat(np.arange(len(k)), both.shape[1])
    flat = both.ravel()
    real = np.isfinite(flat)
    clouds = shapely.multipoints(xy(flat[real]), indices=owner[real])
    return list(shapely.convex_hull(clouds))


def cut(stroke, points, r, change, pieces):
    """Union the hulls, cutting those near a cut end as the definition says."""
    pieces = np.array(pieces, dtype=object)
    if stroke.start_cut_deg is None and stroke.end_cut_deg is None:
        return shapely.union_all(pieces)
    limits = []
    for angle, backwards in ((stroke.start_cut_deg, False), (stroke.end_cut_deg, True)):
        if angle is None:
            continue
        order = slice(None, None, -1) if backwards else slice(None)
        way = cmath.exp(1j * math.radians(angle))
        height = ((points - points[order][0]) * np.conj(way)).imag[order]
        off = height[np.abs(height) > 1e-9]
        if len(off) and off[0] < 0:
            way, height = -way, -height
        clear = np.flatnonzero(height - (r - change)[order] >= 0)
        count = clear[0] if len(clear) else len(points)
        limits.append((way, points[order][0], count, backwards))
    big = 1e3
    for way, origin, count, backwards in limits:
        # the line moves with the discs, so that U(e) grows and shrinks along the cut as well
        o = origin - 1j * way * change
        corner = [o - big * way, o + big * way, o + big * way + 1j * big * way, o - big * way + 1j * big * way]
        plane = shapely.Polygon(xy(np.array(corner)))
        reached = slice(max(0, len(pieces) - count), None) if backwards else slice(0, count)
        pieces[reached] = shapely.intersection(pieces[reached], plane)
    return shapely.union_all(pieces)


def dense_nib(stroke, change, fine):
    """Return the Minkowski sum of a finely walked centreline and the nib, grown by ``change`` on each side."""
    points, _, _ = walk(stroke, fine)
    nib = stroke.nib
    way = cmath.exp(1j * math.radians(nib.angle_deg))
    a, b = nib.width / 2 + change, nib.thickness / 2 + change
    if a <= 0 or b <= 0:
        return shapely.Polygon()
    corners = way * np.array([-a - 1j * b, a - 1j * b, a + 1j * b, -a + 1j * b])
    return shapely.union_all(hulls(points, np.ones(len(points)), corners))


def dense(strokes, change, fine):
    return shapely.union_all(
        [dense_nib(q, change, fine) if isinstance(q, NibStroke) else dense_discs(q, change, fine) for q in strokes]
    )


def polygon_of(outline, tolerance):
    """Return an outline as a shapely area, flattened here with numpy; loops must be as the convention says."""
    rings = []
    for path in outline:
        parts = []
        for segment in path.segments:
            p = controls(segment)
            if len(segment) == 2:
                parts.append(p[:1])
                continue
            bend = max(abs(p[0] - 2 * p[1] + p[2]), abs(p[1] - 2 * p[2] + p[3]))
            n = max(1, math.ceil(math.sqrt(0.75 * bend / tolerance)))
            parts.append(bezier(p, np.arange(n) / n))
        ring = np.concatenate(parts)
        rings.append((signed(ring), shapely.make_valid(shapely.Polygon(xy(ring)))))
    area = shapely.Polygon()
    for sign, ring in sorted(rings, key=lambda item: -abs(item[0])):  # an island in a hole comes after the hole
        area = area.union(ring) if sign > 0 else area.difference(ring)
    return area


def signed(z):
    return (z.real * np.roll(z.imag, -1) - np.roll(z.real, -1) * z.imag).sum() / 2


def xy(z):
    return np.stack([np.real(z), np.imag(z)], axis=-1)


def excess(outline, strokes, tolerance, fine=None):
    """Return the areas of U(-tolerance) outside the outline and of the outline outside U(tolerance)."""
    fine = 0.02 * tolerance if fine is None else fine
    ours = polygon_of(outline, fine)
    low, high = dense(strokes, -tolerance, fine), dense(strokes, tolerance, fine)
    return low.difference(ours).area, ours.difference(high).area
