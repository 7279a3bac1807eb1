"""The reference of the tolerance tests: dense unions of discs (or nibs) with every radius changed, by shapely.

Nothing of the stroke engine is used here: centrelines are sampled with numpy, discs are regular polygons and the
ink is the union of the convex hulls of neighbours.
"""

from __future__ import annotations

import cmath
import math

import numpy as np
import shapely

from guidegen.geometry.stroke import NibStroke


def controls(segment):
    if len(segment) == 4:
        return np.array(segment)
    a, b = segment
    return np.array([a, a + (b - a) / 3, b - (b - a) / 3, b])


def walk(path, step):
    """Sample a path: points and arc lengths, at most ``step`` apart, ends of segments included."""
    points, lengths, run = [], [], 0.0
    for segment in path.segments:
        p = controls(segment)
        size = np.abs(np.diff(p)).sum()
        n = max(2, math.ceil(size / step) + 1)
        fine = np.linspace(0, 1, 8 * n + 1)
        t = np.linspace(0, 1, n + 1)
        b = bezier(p, fine)
        # arc length by Richardson on chords (error of fourth order)
        chord = np.concatenate([[0], np.cumsum(np.abs(np.diff(b)))])
        coarse = np.concatenate([[0], np.cumsum(np.abs(np.diff(b[::2])))])
        at = chord[::8] + (chord[::8] - coarse[::4]) / 3
        points.append(bezier(p, t))
        lengths.append(run + at)
        run += at[-1]
    return np.concatenate(points), np.concatenate(lengths)


def bezier(p, t):
    u = 1 - t
    return u**3 * p[0] + 3 * u * u * t * p[1] + 3 * u * t * t * p[2] + t**3 * p[3]


def width_of(widths, s):
    knots = np.array(widths.knots, dtype=float)
    if not widths.eased:
        return np.interp(s, knots[:, 0], knots[:, 1])
    result = np.full(len(s), knots[0, 1])
    for (s0, w0), (s1, w1) in zip(knots, knots[1:], strict=False):
        if s1 > s0:
            u = np.clip((s - s0) / (s1 - s0), 0, 1)
            result = np.where(s >= s0, w0 + (w1 - w0) * (3 * u**2 - 2 * u**3), result)
        else:
            result = np.where(s >= s0, w1, result)
    return result


def dense_discs(stroke, change, fine):
    """Return U(change) of a disc stroke, off by at most about ``fine``."""
    step = math.sqrt(8 * fine * 0.5) * 0.25
    points, s = walk(stroke.path, step)
    r = width_of(stroke.widths, s) / 2 + change
    largest = max(r.max(), 10 * fine)
    n = max(16, math.ceil(math.pi / math.acos(max(-1, 1 - fine / largest))))
    spokes = np.exp(2j * np.pi * np.arange(n) / n)
    if change > 0:
        spokes = spokes / math.cos(math.pi / n)
    return cut(stroke, points, s, r, change, hulls(points, r, spokes))


def hulls(points, r, spokes):
    good = r > 0
    rings = points[:, None] + np.maximum(r, 0)[:, None] * spokes
    pair = good[1:] | good[:-1]
    k = np.flatnonzero(pair)
    if not len(k):
        k1 = np.flatnonzero(good)
        return [shapely.Polygon(xy(rings[j])) for j in k1]
    both = np.concatenate([np.where(good[k, None], rings[k], np.nan), np.where(good[k + 1, None], rings[k + 1], np.nan)], axis=1)
    owner = np.repeat(np.arange(len(k)), both.shape[1])
    flat = both.ravel()
    real = np.isfinite(flat)
    clouds = shapely.multipoints(xy(flat[real]), indices=owner[real])
    return list(shapely.convex_hull(clouds))


def cut(stroke, points, s, r, change, pieces):
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
    result = []
    for k, piece in enumerate(pieces):
        for way, origin, count, backwards in limits:
            reached = (len(pieces) - 1 - k if backwards else k) < count
            if reached:
                # the line moves with the discs, so that U(e) grows and shrinks along the cut as well
                o = origin - 1j * way * change
                corner = [o - big * way, o + big * way, o + big * way + 1j * big * way, o - big * way + 1j * big * way]
                piece = piece.intersection(shapely.Polygon(xy(np.array(corner))))  # noqa: PLW2901
        result.append(piece)
    return shapely.union_all(result)


def dense_nib(stroke, change, fine):
    """Return the Minkowski sum of a finely walked centreline and the nib, grown by ``change`` on each side."""
    points, _ = walk(stroke.path, math.sqrt(8 * fine * 0.5) * 0.25)
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
    outer = [r for sign, r in rings if sign > 0]
    inner = [r for sign, r in rings if sign < 0]
    area = shapely.union_all(outer)
    return area.difference(shapely.union_all(inner)) if inner else area


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
