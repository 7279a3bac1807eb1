"""Cubics through any curve that offers points and end tangents, to a stated tolerance.

:func:`fit_cubics` fits one cubic to each of many sampled pieces at once: both end points and end tangents
are kept, the two handle lengths are found by Gauss-Newton on the distances from the samples to the curve
(feet re-projected on each step). With ends and tangents kept the error falls with the sixth power of the
piece's length (64 times per halving; R. Levien, "Fitting cubic Bézier curves", 2022).
:func:`fit_pieces` splits until every piece is within tolerance.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from guidegen.geometry.cubic import Bools, Complexes, Floats, Ints, point

SAMPLES = 16  # per piece, ends included
SEEN = 0.4  # radians: the most a curve may turn between two samples
_NODES = (1 - np.cos(np.pi * np.arange(SAMPLES) / (SAMPLES - 1))) / 2

#: Given piece numbers (n,) and parameters (n, m) return points and unit tangents in the direction of travel (n, m).
Sampler = Callable[[Ints, Floats], tuple[Complexes, Complexes]]


def fit_cubics(
    samples: Complexes, start: Complexes, end: Complexes, enough: Floats | None = None
) -> tuple[Complexes, Floats]:
    """Return (n, 4) cubics and their greatest distance from the samples (n, m).

    ``start`` and ``end`` are unit tangents (n,) in the direction of travel. The distance is measured from
    every sample to its foot on the cubic. Pieces that are as good as ``enough`` (n,) are not improved further.
    """
    n = len(samples)
    cubics, miss = np.zeros((n, 4), dtype=np.complex128), np.zeros(n)
    run = np.concatenate([np.zeros((n, 1)), np.cumsum(np.abs(np.diff(samples, axis=1)), axis=1)], axis=1)
    length = np.maximum(run[:, -1], 1e-300)
    u, d = run / length[:, None], np.stack([length, length]) / 3
    rows = np.arange(n)
    for rounds in (3, 3, 4):
        z, a, b, size = samples[rows], start[rows], end[rows], length[rows]
        c, u, d, still = _improve(z, a, b, u, d, size, rounds)
        cubics[rows] = c
        miss[rows] = np.abs(z - point(c, u)).max(axis=1)
        more = np.full(len(rows), not still) if enough is None else (miss[rows] > enough[rows]) & (not still)
        if not more.any():
            break
        rows, u, d = rows[more], u[more], d[:, more]
    return cubics, miss


def _improve(
    z: Complexes, start: Complexes, end: Complexes, u: Floats, d: Floats, length: Floats, rounds: int
) -> tuple[Complexes, Floats, Floats, bool]:
    """Gauss-Newton on the handle lengths d (2, n): cubics, feet, handles, and whether nothing moved any more."""
    first, last = z[:, 0], z[:, -1]
    still = False
    for _ in range(rounds):
        c = _with_handles(first, last, start, end, d)
        u = _moved(c, z, u)
        b, speed = _point_and_speed(c, u)
        square = np.maximum(speed.real**2 + speed.imag**2, 1e-300)
        size = 1 / np.sqrt(square)
        v = 1 - u
        j0 = (3 * v * v * u) * ((start[:, None] * np.conj(speed)).imag * size)
        j1 = (-3 * v * u * u) * ((end[:, None] * np.conj(speed)).imag * size)
        across = ((z - b) * np.conj(speed)).imag * size
        a00, a01, a11 = (j0 * j0).sum(1), (j0 * j1).sum(1), (j1 * j1).sum(1)
        ridge = 1e-9 * (a00 + a11) + 1e-12  # straight pieces leave the handles free
        a00, a11 = a00 + ridge, a11 + ridge
        r0, r1 = (j0 * across).sum(1), (j1 * across).sum(1)
        det = a00 * a11 - a01 * a01
        step = np.stack([(a11 * r0 - a01 * r1) / det, (a00 * r1 - a01 * r0) / det])
        step = np.clip(step, -length / 3, length / 3)
        d = np.clip(d + step, 1e-6 * length, 2 * length)
        still = bool(np.all(np.abs(step) < 1e-6 * length))
        if still:
            break
    c = _with_handles(first, last, start, end, d)
    return c, _moved(c, z, _moved(c, z, u)), d, still


def _point_and_speed(c: Complexes, u: Floats) -> tuple[Complexes, Complexes]:
    """Return the points and derivatives at u (n, m), by Horner's rule."""
    p0, p1, p2, p3 = (c[:, k, None] for k in range(4))
    a1, a2 = 3 * (p1 - p0), 3 * (p2 - 2 * p1 + p0)
    a3 = p3 - p0 - 3 * (p2 - p1)
    return ((a3 * u + a2) * u + a1) * u + p0, (3 * a3 * u + 2 * a2) * u + a1


def _moved(c: Complexes, z: Complexes, u: Floats) -> Floats:
    """Move every foot one Newton step towards its sample, ends held."""
    b, speed = _point_and_speed(c, u)
    step = ((z - b) * np.conj(speed)).real / np.maximum(speed.real**2 + speed.imag**2, 1e-300)
    u = np.clip(u + np.clip(step, -0.1, 0.1), 0, 1)
    u[:, 0], u[:, -1] = 0, 1
    return u


def fit_pieces(
    sampler: Sampler, low: Floats, high: Floats, tolerance: float | Floats, deepest: int = 40
) -> tuple[Complexes, Ints, Floats]:
    """Fit every piece k over its parameters [low[k], high[k]]; return cubics, their piece numbers and start parameters.

    ``tolerance`` may differ from piece to piece.

    Sorted by piece, then along it. A piece that misses the tolerance is split into as many equal parts as the
    sixth-power law asks for (at most four at a time), until all are within it or ``deepest`` splits are made; there
    the piece is some 1e-12 of the parameter long and its chord is as good as any curve.
    """
    allowed = np.broadcast_to(np.asarray(tolerance, dtype=np.float64), low.shape)
    kept: list[tuple[Complexes, Ints, Floats]] = []
    piece = np.arange(len(low))
    a, b = low.astype(np.float64), high.astype(np.float64)
    for depth in range(deepest + 1):
        if not len(piece):
            break
        x = a[:, None] + (b - a)[:, None] * _NODES
        samples, along = sampler(piece, x)
        cubics, miss = fit_cubics(samples, along[:, 0], along[:, -1], allowed[piece] / 1.05)
        # samples see all but a few per cent of the greatest distance, if none of the curve turns between two of them
        turns = np.abs(np.angle(along[:, 1:] * np.conj(along[:, :-1])))
        jump = turns.argmax(axis=1)
        unseen = (turns.max(axis=1) > SEEN) & (np.abs(samples - samples[:, :1]).max(axis=1) > 0.1 * allowed[piece])
        good: Bools = ((1.05 * miss <= allowed[piece]) & ~unseen) | (depth == deepest)
        kept.append((cubics[good], piece[good], a[good]))
        parts = np.clip(np.ceil((1.05 * miss / allowed[piece]) ** (1 / 6)), 2, 4).astype(np.int64)
        rows = np.arange(len(piece))
        marks = [
            _equal_cuts(a, b, parts, ~good & ~unseen),
            (rows[unseen & ~good], _gap_cut(x, jump)[unseen & ~good]),
        ]
        piece, a, b = _cut_up(piece, a, b, ~good, marks)
    if not kept:
        return np.zeros((0, 4), dtype=np.complex128), np.zeros(0, dtype=np.int64), np.zeros(0)
    cubics = np.concatenate([k[0] for k in kept])
    pieces = np.concatenate([k[1] for k in kept])
    starts = np.concatenate([k[2] for k in kept])
    order = np.lexsort((starts, pieces))
    return cubics[order], pieces[order], starts[order]


def _equal_cuts(a: Floats, b: Floats, parts: Ints, which: Bools) -> tuple[Ints, Floats]:
    rows = np.repeat(np.flatnonzero(which), parts[which] - 1)
    first = np.cumsum(parts[which] - 1) - (parts[which] - 1)
    step = np.arange(len(rows)) - np.repeat(first, parts[which] - 1) + 1
    return rows, a[rows] + (b - a)[rows] * step / parts[rows]


def _gap_cut(x: Floats, jump: Ints) -> Floats:
    """Cut at that end of the gap with the jump which is nearer the middle: gaps are narrow at a piece's ends."""
    rows = np.arange(len(x))
    inner = np.where(jump < SAMPLES // 2, jump + 1, jump)
    return np.asarray(x[rows, inner])


def _cut_up(
    piece: Ints, a: Floats, b: Floats, which: Bools, marks: list[tuple[Ints, Floats]]
) -> tuple[Ints, Floats, Floats]:
    rows = np.concatenate([np.flatnonzero(which), *(m[0] for m in marks)])
    starts = np.concatenate([a[which], *(m[1] for m in marks)])
    order = np.lexsort((starts, rows))
    rows, starts = rows[order], starts[order]
    last = np.append(rows[1:] != rows[:-1], True)[: len(rows)]
    ends = np.where(last, b[rows], np.append(starts[1:], 0.0)[: len(rows)])
    return piece[rows], starts, ends


def _with_handles(first: Complexes, last: Complexes, start: Complexes, end: Complexes, d: Floats) -> Complexes:
    return np.stack([first, first + d[0] * start, last - d[1] * end, last], axis=-1)
