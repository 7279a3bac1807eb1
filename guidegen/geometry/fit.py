"""Cubics through any curve that offers points and end tangents, to a stated tolerance.

:func:`fit_cubics` fits one cubic to each of many sampled pieces at once: both end points and end tangents
are kept, the two handle lengths are found by Gauss-Newton on the distances from the samples to the curve
(feet re-projected on each step). With ends and tangents kept the error falls with the sixth power of the
piece's length (64 times per halving; R. Levien, "Fitting cubic Bézier curves", 2022).
:func:`fit_pieces` splits until every piece is within tolerance.

What comes out for a piece does not depend on what else is in the batch: each is improved until it has settled, and
leaves the batch then. Inside, samples run along the first axis (m, n): sums over a piece and factors per piece
then go along memory. Points and vectors are pairs of reals (2, m, n), which numpy multiplies by reals at half the cost
of complex numbers.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np

from guidegen.geometry.cubic import Bools, Complexes, Floats, Ints

SAMPLES = 16  # per piece, ends included, a power of two
SEEN = 0.4  # radians: the most a curve may turn between two samples
NODES = (1 - np.cos(np.pi * np.arange(SAMPLES) / (SAMPLES - 1))) / 2  # where pieces are sampled
_BLOCK = 512  # pieces that are fitted together: their samples stay in the processor's cache
_ROUNDS = 12  # of Gauss-Newton at most
_FEW_ROUNDS = 3  # enough where a piece may be split instead

#: Given piece numbers (n,) and parameters (n, m) return points and unit tangents in the direction of travel (n, m).
Sampler = Callable[[Ints, Floats], tuple[Complexes, Complexes]]


def fit_cubics(
    samples: Complexes, start: Complexes, end: Complexes, enough: Floats | None = None
) -> tuple[Complexes, Floats]:
    """Return (n, 4) cubics and their greatest distance from the samples (n, SAMPLES), taken at the parameters NODES.

    ``start`` and ``end`` are unit tangents (n,) in the direction of travel. The distance is measured from
    every sample to its foot on the cubic. Pieces that are as good as ``enough`` (n,) are not improved further, nor
    are those that will hardly become so.
    """
    n = len(samples)
    cubics, miss = np.zeros((n, 4), dtype=np.complex128), np.zeros(n)
    rows, rounds = np.arange(n), _ROUNDS if enough is None else _FEW_ROUNDS
    goal = np.zeros(n) if enough is None else enough
    z, along, back = _pairs(samples.T), _pairs(start), _pairs(end)
    u, d, length = _first_guess(z, along, back)
    settled = np.zeros(n, dtype=bool)
    for round_ in range(rounds + 1):
        gap, speed = _gap_and_speed(z, along, back, u, d)
        inverse, across, ahead = 1 / np.maximum(_dot(speed, speed), 1e-300), _cross(speed, gap), _dot(speed, gap)
        far = _distance(across, ahead, inverse, length)
        done = settled | (far <= goal[rows]) | (round_ == rounds)
        if done.any():
            cubics[rows[done]] = _with_handles(z[:, [0, -1]][:, :, done], along[:, done], back[:, done], d[:, done])
            miss[rows[done]] = far[done]
            go = np.flatnonzero(~done)
            if not len(go):
                break
            rows, length, along, back, d = rows[go], length[go], along[:, go], back[:, go], d[:, go]
            z, speed, u, across, ahead, inverse = (
                column.take(go, axis=-1) for column in (z, speed, u, across, ahead, inverse)
            )
        u, d, settled = _improved(across, ahead, speed, inverse, along, back, u, d, length)
    return cubics, miss


def _first_guess(z: Floats, start: Floats, end: Floats) -> tuple[Floats, Floats, Floats]:
    """Return feet, handles that fit best in the sense of (linear) least squares if these are the feet, and lengths.

    Feet lie between the samples' parameters and their shares of the length: pieces that end in a cusp are even
    in the one, plain ones in the other.
    """
    steps = z[:, 1:] - z[:, :-1]
    run = np.zeros(z.shape[1:])
    np.cumsum(np.sqrt(_dot(steps, steps)), axis=0, out=run[1:])
    length = np.maximum(run[-1], 1e-300)
    u = (run / length + NODES[:, None]) / 2
    v = 1 - u
    w0, w1 = 3 * v * v * u, 3 * v * u * u
    first, last = z[:, :1], z[:, -1:]
    rest = z - first - (last - first) * (u * u * (3 - 2 * u))
    a00, a11 = _total(w0 * w0), _total(w1 * w1)
    a01 = -_total(w0 * w1) * _dot(start, end)
    r0, r1 = _total(w0 * _dot(rest, start[:, None])), -_total(w1 * _dot(rest, end[:, None]))
    d = np.array([a11 * r0 - a01 * r1, a00 * r1 - a01 * r0]) / np.maximum(a00 * a11 - a01 * a01, 1e-300)
    return u, np.minimum(np.maximum(d, 1e-6 * length), 2 * length), length


def _distance(across: Floats, ahead: Floats, inverse: Floats, length: Floats) -> Floats:
    """Return the greatest distance (n,) of the samples from the curve, from their gaps across and along it.

    Where a foot is not quite where it should be, the distance is that from the tangent there, and what a curve
    strays from its tangent on the rest of the way if it turns by four radians on its length.
    """
    side, rest = across * across * inverse, ahead * ahead * inverse
    return np.asarray(np.minimum(np.sqrt(side + rest), np.sqrt(side) + 2 * rest / length).max(axis=0))


def _gap_and_speed(z: Floats, start: Floats, end: Floats, u: Floats, d: Floats) -> tuple[Floats, Floats]:
    """Return what leads from the points at u (m, n) to the samples, and the derivatives there, by Horner's rule."""
    first, last = z[:, 0], z[:, -1]
    a1, a2 = 3 * d[0] * start, 3 * (last - d[1] * end - first) - 6 * d[0] * start
    a3 = last - first - a1 - a2
    b = a3[:, None] * u
    speed = 3 * b
    b += a2[:, None]
    speed += 2 * a2[:, None]
    b *= u
    speed *= u
    b += a1[:, None]
    speed += a1[:, None]
    b *= u
    b += first[:, None]
    return np.subtract(z, b, out=b), speed


def _improved(
    across: Floats,
    ahead: Floats,
    speed: Floats,
    inverse: Floats,
    start: Floats,
    end: Floats,
    u: Floats,
    d: Floats,
    length: Floats,
) -> tuple[Floats, Floats, Bools]:
    """Take one Gauss-Newton step: feet (m, n), handle lengths (2, n), and which pieces (n,) it hardly changed.

    Across the curve, the handles' step is to close the gaps in the sense of least squares; along it, the feet move
    to where the samples will then be nearest.
    """
    v = 1 - u
    w0 = 3 * v * v * u
    w1 = -3 * v * u * u
    j0, j1 = w0 * _cross(speed, start[:, None]), w1 * _cross(speed, end[:, None])
    k0, k1 = j0 * inverse, j1 * inverse
    a00, a01, a11 = _total(j0 * k0), _total(j0 * k1), _total(j1 * k1)
    r0, r1 = _total(across * k0), _total(across * k1)
    ridge = 1e-9 * (a00 + a11) + 1e-12  # straight pieces leave the handles free
    a00, a11 = a00 + ridge, a11 + ridge
    det = a00 * a11 - a01 * a01
    step = np.array([a11 * r0 - a01 * r1, a00 * r1 - a01 * r0]) / det
    most = length / 3
    handles = np.minimum(np.maximum(d + np.minimum(np.maximum(step, -most), most), 1e-6 * length), 2 * length)
    step = handles - d
    left = ahead - step[0] * w0 * _dot(speed, start[:, None]) - step[1] * w1 * _dot(speed, end[:, None])
    move = np.minimum(np.maximum(left * inverse, -0.1), 0.1)
    feet = np.minimum(np.maximum(u + move, 0.0), 1.0)
    feet[0], feet[-1] = 0, 1
    return feet, handles, np.abs(step).max(axis=0) < 1e-6 * length


def _with_handles(z: Floats, start: Floats, end: Floats, d: Floats) -> Complexes:
    first, last = z[:, 0], z[:, -1]
    x, y = np.stack([first, first + d[0] * start, last - d[1] * end, last], axis=-1)
    return np.asarray(x + 1j * y)


def _pairs(z: Complexes) -> Floats:
    return np.array([z.real, z.imag])


def _dot(a: Floats, b: Floats) -> Floats:
    return np.asarray(a[0] * b[0] + a[1] * b[1])


def _total(a: Floats) -> Floats:
    """Return the sums (n,) over samples (m, n), m a power of two, always added up in the same order."""
    while len(a) > 1:
        half = len(a) // 2
        a = a[:half] + a[half:]
    return np.asarray(a[0])


def _cross(a: Floats, b: Floats) -> Floats:
    return np.asarray(a[0] * b[1] - a[1] * b[0])


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
    piece, a, b = np.arange(len(low)), low, high
    for depth in range(deepest + 1):
        rest: list[tuple[Ints, Floats, Floats]] = []
        for at in range(0, len(piece), _BLOCK):
            some = slice(at, at + _BLOCK)
            p, x0, x1 = piece[some], a[some], b[some]
            cubics, good, cuts = _fit_or_cut(sampler, p, x0, x1, allowed[p], last=depth == deepest)
            kept.append((cubics[good], p[good], x0[good]))
            if not good.all():
                rest.append(_cut_up(p, x0, x1, ~good, cuts))
        if not rest:
            break
        piece, a, b = (np.concatenate(column) for column in zip(*rest, strict=True))
    if not kept:
        return np.zeros((0, 4), dtype=np.complex128), np.zeros(0, dtype=np.int64), np.zeros(0)
    cubics = np.concatenate([k[0] for k in kept])
    pieces = np.concatenate([k[1] for k in kept])
    starts = np.concatenate([k[2] for k in kept])
    order = np.lexsort((starts, pieces))
    return cubics[order], pieces[order], starts[order]


def _fit_or_cut(
    sampler: Sampler, piece: Ints, a: Floats, b: Floats, allowed: Floats, *, last: bool
) -> tuple[Complexes, Bools, list[tuple[Ints, Floats]]]:
    """Return cubics, which of them are good, and where the others are to be cut: rows and parameters."""
    x = (a + (b - a) * NODES[:, None]).T
    samples, along = sampler(piece, x)
    cubics, miss = fit_cubics(samples, along[:, 0], along[:, -1], allowed / 1.05)
    # samples see all but a few per cent of the greatest distance, if none of the curve turns between two of them
    cosines = (along[:, 1:] * np.conj(along[:, :-1])).real
    jump = cosines.argmin(axis=1)
    reach = samples - samples[:, :1]
    large = (reach.real**2 + reach.imag**2).max(axis=1) > (0.1 * allowed) ** 2
    unseen = (cosines.min(axis=1) < math.cos(SEEN)) & large
    good: Bools = (1.05 * miss <= allowed) & ~unseen
    if last:  # samples that lie no further apart than rounding tell nothing of handles
        first, end = samples[~good, :1], samples[~good, -1:]
        cubics[~good] = first + (end - first) * np.linspace(0, 1, 4)
        good[:] = True
    parts = np.minimum(np.maximum(np.ceil((1.05 * miss / allowed) ** (1 / 6)), 2), 4).astype(np.int64)
    rows = np.flatnonzero(unseen & ~good)
    return cubics, good, [_equal_cuts(a, b, parts, ~good & ~unseen), (rows, _gap_cut(x, jump)[rows])]


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
