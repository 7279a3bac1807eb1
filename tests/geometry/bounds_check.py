"""A quick check of the same bound without polygons, for many random strokes: distances from points to the discs."""

from __future__ import annotations

import dense
import numpy as np


def samples(outline, per_curve=9):
    t = np.linspace(0, 1, per_curve)
    return np.concatenate([dense.bezier(dense.controls(s), t) for path in outline for s in path.segments])


def depth(points, strokes, fine):
    """Return for each point how far it lies outside of the union (negative inside), by the nearest disc."""
    best = np.full(len(points), np.inf)
    for stroke in strokes:
        c, _, r = dense.walk(stroke, fine)
        a, d, dr = c[:-1], np.diff(c), np.diff(r)
        size = np.where(np.abs(d) > 0, np.abs(d), 1)
        k = np.clip(dr / size, -1, 1)
        lean = k / np.sqrt(np.maximum(1 - k * k, 1e-12))
        for block in range(0, len(points), 64):
            p = points[block : block + 64, None]
            z = (p - a) * np.conj(d) / size
            # of a span's discs the nearest one is off the foot by the height times tan of the edge's lean
            u = np.clip((z.real + np.abs(z.imag) * lean) / size, 0, 1)
            gap = np.abs(p - a - u * d) - (r[:-1] + u * dr)
            best[block : block + 64] = np.minimum(best[block : block + 64], gap.min(axis=1))
    return best


def inner_points(stroke, tolerance, count=40):
    """Return points of U(-tolerance): on shrunken discs all along the stroke."""
    c, _, r = dense.walk(stroke, 0.02 * tolerance)
    pick = np.linspace(0, len(c) - 1, count).astype(int)
    angles = np.exp(2.399963j * np.arange(count))
    shrunk = np.maximum(r[pick] - 1.02 * tolerance, 0)
    use = r[pick] > 1.02 * tolerance
    return np.concatenate([c[pick][use], (c[pick] + shrunk * angles)[use], (c[pick] - shrunk * angles)[use]])


def winding_number(points, outline, tolerance):
    total = np.zeros(len(points))
    for path in outline:
        ring = []
        for s in path.segments:
            p = dense.controls(s)
            bend = max(abs(p[0] - 2 * p[1] + p[2]), abs(p[1] - 2 * p[2] + p[3]))
            n = 1 if len(s) == 2 else max(1, int(np.ceil(np.sqrt(0.75 * bend / tolerance))))
            ring.append(dense.bezier(p, np.arange(n) / n))
        z = np.concatenate(ring)[None, :] - points[:, None]
        with np.errstate(all="ignore"):
            total += np.angle(np.roll(z, -1, axis=1) / z).sum(axis=1)
    return np.round(total / (2 * np.pi)).astype(int)


def complaint(outline, strokes, tolerance):
    """Return what is wrong with an outline of disc strokes, None if nothing is found."""
    wrong = malformed(outline)
    if wrong:
        return wrong
    fine = 0.02 * tolerance
    if not outline:
        return "nothing drawn" if max(dense.walk(s, fine)[2].max() for s in strokes) > tolerance else None
    off = depth(samples(outline), strokes, fine)
    if off.max() > tolerance + fine or off.min() < -tolerance - fine:
        return f"boundary between {off.min():.2g} and {off.max():.2g}"
    inside = np.concatenate([inner_points(s, tolerance) for s in strokes])
    once = not len(inside) or (winding_number(inside, outline, 0.02 * tolerance) == 1).all()
    return None if once else "a point of the ink is not covered once"


def malformed(outline):
    for path in outline:
        if not np.isfinite(np.array([z for s in path.segments for z in s])).all():
            return "not finite"
        ends = [(s[0], s[-1]) for s in path.segments]
        if any(a[1] != b[0] for a, b in zip(ends, [*ends[1:], ends[0]], strict=True)):
            return "open"
        if any(abs(np.diff(s)).sum() == 0 for s in path.segments):
            return "a segment of no length"
    return None
