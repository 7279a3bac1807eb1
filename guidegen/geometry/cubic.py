"""Cubic Béziers in bulk: evaluation, derivatives, sub-curves, arc length, arcs as cubics.

Arrays of cubics have the shape (n, 4), complex; parameters broadcast against their first axis. A straight
segment is held as the cubic with its control points on thirds, so that one formula serves both.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from guidegen.geometry.path import Segment

Complexes = NDArray[np.complex128]
Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]

_GAUSS = {n: np.polynomial.legendre.leggauss(n) for n in (4, 5, 12)}


def as_cubic(segment: Segment) -> Segment:
    """Return the segment as four points; a line gets its thirds."""
    if len(segment) == 4:
        return segment
    a, b = segment
    return (a, a + (b - a) / 3, b - (b - a) / 3, b)


def as_cubics(segments: Sequence[Segment]) -> Complexes:
    """Return the segments as an (n, 4) array."""
    return np.array([as_cubic(s) for s in segments], dtype=np.complex128).reshape(-1, 4)


def point(c: Complexes, t: Floats) -> Complexes:
    """Return the points at ``t``; c is (n, 4), t (n,) or (n, m)."""
    p0, p1, p2, p3 = _columns(c, t)
    u = 1 - t
    return np.asarray(u * u * (u * p0 + 3 * t * p1) + t * t * (3 * u * p2 + t * p3))


def derivative(c: Complexes, t: Floats) -> Complexes:
    """Return the first derivatives by t."""
    p0, p1, p2, p3 = _columns(c, t)
    first, change = 3 * (p1 - p0), 6 * (p2 - 2 * p1 + p0)
    return np.asarray(first + t * (change + t * (3 * (p3 - p0) - 9 * (p2 - p1))))


def speed(c: Complexes, t: Floats) -> Floats:
    """Return the sizes of the first derivatives by t."""
    p0, p1, p2, p3 = _columns(c, t)
    first, second, third = 3 * (p1 - p0), 6 * (p2 - 2 * p1 + p0), 3 * (p3 - p0) - 9 * (p2 - p1)
    x = first.real + t * (second.real + t * third.real)
    y = first.imag + t * (second.imag + t * third.imag)
    return np.asarray(np.sqrt(x * x + y * y))


def second_derivative(c: Complexes, t: Floats) -> Complexes:
    """Return the second derivatives by t."""
    p0, p1, p2, p3 = _columns(c, t)
    return np.asarray(6 * ((1 - t) * (p2 - 2 * p1 + p0) + t * (p3 - 2 * p2 + p1)))


def tangent(c: Complexes, t: Floats) -> Complexes:
    """Return unit tangents; where the derivative vanishes, the direction in which the curve leaves.

    Curves are still at most at their ends (they are split at slow points): in the second half the direction in which
    it arrives is meant, in the first half the one in which it leaves.
    """
    d = derivative(c, t)
    size = np.sqrt(d.real * d.real + d.imag * d.imag)
    still = size <= 1e-9 * (_extent(c) if np.ndim(t) == 1 else _extent(c)[:, None])
    if np.any(still):
        ahead = np.where(np.asarray(t) > 0.5, -1.0, 1.0)
        d = np.where(still, ahead * second_derivative(c, t), d)
        third = _third(c) if np.ndim(t) == 1 else _third(c)[:, None]
        flat = np.abs(d) <= 1e-9 * (_extent(c) if np.ndim(t) == 1 else _extent(c)[:, None])
        d = np.where(flat, third + 0 * d, d)
        size = np.sqrt(d.real * d.real + d.imag * d.imag)
    size = np.where(size == 0, 1, size)
    unit = np.empty_like(d)
    unit.real, unit.imag = d.real / size, d.imag / size
    return unit


def part(c: Complexes, t0: Floats, t1: Floats) -> Complexes:
    """Return the (n, 4) sub-curves between t0 and t1 (t1 < t0 gives them reversed)."""
    h = (t1 - t0) / 3
    a, b = point(c, t0), point(c, t1)
    return np.stack([a, a + h * derivative(c, t0), b - h * derivative(c, t1), b], axis=-1)


def split_at(c: Complexes, which: Ints, t: Floats) -> tuple[Complexes, Ints, Floats, Floats]:
    """Return all curves cut at the parameters t (m,) of those numbered ``which``: parts, whose, from and to which t.

    In order; curves keep their ends to the last bit.
    """
    owner, t0 = np.append(np.arange(len(c)), which), np.append(np.zeros(len(c)), t)
    order = np.lexsort((t0, owner))
    owner, t0 = owner[order], t0[order]
    t1 = np.append(t0[1:], 0.0)[: len(t0)]
    t1[np.append(owner[1:] != owner[:-1], True)[: len(owner)]] = 1.0
    parts = c[owner]
    some = np.flatnonzero((t0 > 0) | (t1 < 1))
    cut = part(parts[some], t0[some], t1[some])
    cut[:, 0] = np.where(t0[some] > 0, cut[:, 0], parts[some, 0])
    cut[:, 3] = np.where(t1[some] < 1, cut[:, 3], parts[some, 3])
    parts[some] = cut
    return parts, owner, t0, t1


def split(segment: Segment, t: float) -> tuple[Segment, Segment]:
    """Return the two halves of a line or cubic at ``t``."""
    if len(segment) == 2:
        middle = segment[0] + t * (segment[1] - segment[0])
        return (segment[0], middle), (middle, segment[1])
    c = as_cubics([segment] * 2)
    halves = part(c, np.array([0.0, t]), np.array([t, 1.0]))
    first, second = (tuple(complex(z) for z in half) for half in halves)
    return (segment[0], *first[1:]), (first[3], *second[1:3], segment[3])


def lengths(c: Complexes, t0: Floats, t1: Floats) -> Floats:
    """Return arc lengths between t0 and t1 to about 1e-10 of the curve's size, by halving Gauss-Legendre.

    Bounded: an interval is halved until 12 points agree with twice 12 points, at most 40 times, so a cusp costs
    some dozens of evaluations and no more.
    """
    total = np.zeros(len(c))
    index = np.arange(len(c))
    a, b = np.array(t0, dtype=np.float64), np.array(t1, dtype=np.float64)
    bound = 1e-11 * _extent(c)
    whole = _gauss(c, a, b, 12)
    for depth in range(40):
        middle = (a + b) / 2
        cc = c[index]
        left, right = _gauss(cc, a, middle, 12), _gauss(cc, middle, b, 12)
        done = np.abs(left + right - whole) <= bound[index]
        if depth == 39:
            done[:] = True
        np.add.at(total, index[done], (left + right)[done])
        if done.all():
            break
        todo = ~done
        index = np.repeat(index[todo], 2)
        a, b = _interleave(a[todo], middle[todo]), _interleave(middle[todo], b[todo])
        whole = _interleave(left[todo], right[todo])
    return total


def lengths_at(c: Complexes, marks: Floats, run: Floats, which: Ints, t: Floats) -> Floats:
    """Return arc lengths from 0 to ``t`` (n, m) along the curves numbered ``which`` (n,).

    ``marks`` are increasing parameters and ``run`` (curves, marks) the lengths up to them (:func:`length_table`);
    four Gauss points bridge the gap from the mark below.
    """
    x, w = _GAUSS[4]
    at = np.maximum(np.searchsorted(marks, t, side="right") - 1, 0)
    half = (t - marks[at]) / 2
    nodes = (marks[at] + half)[..., None] + half[..., None] * x
    fast = speed(c[which], nodes.reshape(len(t), t.shape[1] * 4)).reshape(nodes.shape)
    return np.asarray(run[which[:, None], at] + half * (fast * w).sum(axis=-1))


def length_table(c: Complexes, marks: Floats, nodes: int = 12) -> Floats:
    """Return the arc lengths (n, len(marks)) from 0 to each of the increasing parameters ``marks``, the first 0.

    ``nodes`` are the Gauss points between two marks; five do for curves that are nowhere slow (:func:`is_plain`).
    """
    x, w = _GAUSS[nodes]
    half = np.diff(marks) / 2
    t = ((marks[1:] + marks[:-1]) / 2)[:, None] + half[:, None] * x
    fast = speed(c, t.reshape(1, -1)).reshape(len(c), *t.shape)
    run = np.zeros((len(c), len(marks)))
    np.cumsum(half * (fast * w).sum(axis=-1), axis=1, out=run[:, 1:])
    return run


_ENDS = 10.0 ** np.arange(-10, -1)
#: Parameters that are dense at both ends, where slow points are put.
MARKS = np.concatenate([[0.0], _ENDS, np.linspace(0, 1, 18)[1:-1], 1 - _ENDS[::-1], [1.0]])


def parameter_at(c: Complexes, length: Floats, run: Floats | None = None) -> Floats:
    """Return the t (n,) at which the arc length from 0 along each curve is ``length``: bracketed Newton.

    ``run`` is the curves' length table at MARKS, if there is one already.
    """
    run = length_table(c, MARKS) if run is None else run
    at = np.minimum(np.maximum((run <= length[:, None]).sum(axis=1) - 1, 0), len(MARKS) - 2)
    rows = np.arange(len(c))
    low, high = MARKS[at], MARKS[at + 1]
    gap = run[rows, at + 1] - run[rows, at]
    share = (length - run[rows, at]) / np.where(gap > 0, gap, 1)
    result = np.minimum(np.maximum(low + (high - low) * share, low), high)
    t, whole = result.copy(), run[:, -1]
    for _ in range(60):
        excess = lengths_at(c, MARKS, run, rows, t[:, None])[:, 0] - length
        low, high = np.where(excess < 0, t, low), np.where(excess < 0, high, t)
        step = t - excess / np.maximum(speed(c[rows], t), 1e-300)
        new = np.where((step > low) & (step < high), step, (low + high) / 2)
        go = (np.abs(excess) > 1e-13 * whole) & (new != t)
        result[rows[~go]] = t[~go]
        rows, length, whole, low, high, t = rows[go], length[go], whole[go], low[go], high[go], new[go]
        if not len(rows):
            break
    result[rows] = t
    return np.asarray(result)


def arcs(
    centre: Complexes, radius: Floats, start: Floats, sweep: Floats, tolerance: float | Floats
) -> tuple[Complexes, Ints]:
    """Return circular arcs (n) as cubics, one after the other, and how many each has; none if it has no size.

    They run from the angle ``start`` by ``sweep`` (radians), anticlockwise if positive.

    One cubic with handles 4/3 tan(sweep/4) leaves a quarter circle by 2.7253e-4 of the radius on one side
    only; handles shorter by 6.7e-4 (.5519150 instead of .5522847) leave it by 1.9608e-4 on both. The error falls
    with the sixth power of the angle, which gives the number of cubics.
    """
    quarters = np.abs(sweep) / (math.pi / 2)
    allowed = np.minimum(1.0, (tolerance / (1.97e-4 * np.maximum(radius, 1e-300))) ** (1 / 6))
    count = np.maximum(1, np.ceil(quarters / allowed - 1e-9)).astype(np.int64)
    count[(radius <= 0) | (sweep == 0)] = 0
    step = sweep / np.maximum(count, 1)
    handle = 4 / 3 * np.tan(step / 4) * (1 - 6.7e-4 * (step / (math.pi / 2)) ** 4)
    owner = np.repeat(np.arange(len(count)), count)
    nth = np.arange(len(owner)) - np.repeat(np.cumsum(count) - count, count)
    step, aside, middle = step[owner], 1j * handle[owner], centre[owner]
    a = radius[owner] * np.exp(1j * (start[owner] + step * nth))
    b = radius[owner] * np.exp(1j * (start[owner] + step * (nth + 1)))
    return np.stack([middle + a, middle + a + aside * a, middle + b - aside * b, middle + b], axis=-1), count


def arc(centre: complex, radius: float, start: float, sweep: float, tolerance: float) -> Complexes:
    """Return one circular arc as (n, 4) cubics: see :func:`arcs`."""
    whole = np.array([centre], dtype=np.complex128)
    return arcs(whole, np.array([radius]), np.array([start]), np.array([sweep]), tolerance)[0]


def _columns(c: Complexes, t: Floats) -> tuple[Complexes, Complexes, Complexes, Complexes]:
    if np.ndim(t) == 2:
        return c[:, 0, None], c[:, 1, None], c[:, 2, None], c[:, 3, None]
    return c[:, 0], c[:, 1], c[:, 2], c[:, 3]


def _extent(c: Complexes) -> Floats:
    return np.asarray(np.abs(c[:, 1:] - c[:, :-1]).sum(axis=1))


def _third(c: Complexes) -> Complexes:
    return np.asarray(c[:, 3] - 3 * c[:, 2] + 3 * c[:, 1] - c[:, 0])


def _gauss(c: Complexes, a: Floats, b: Floats, n: int) -> Floats:
    x, w = _GAUSS[n]
    half = (b - a) / 2
    nodes = ((a + b) / 2)[:, None] + half[:, None] * x
    return np.asarray(half * (speed(c, nodes) * w).sum(axis=-1))


def _interleave(a: Floats, b: Floats) -> Floats:
    return np.stack([a, b], axis=1).ravel()
