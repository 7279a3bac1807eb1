"""Pieces of curve in rings, before they become paths: their polygons, what crosses, where curves cross."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from guidegen.geometry import cubic as cb
from guidegen.geometry.cubic import Bools, Complexes, Floats, Ints
from guidegen.geometry.measure import flatten_curves
from guidegen.geometry.union.board import spans

NOTHING = 1e-9  # of a squared chord error: far above what rounding makes of loops that touch


@dataclass(frozen=True, slots=True)
class Pieces:
    """The segments of all rings as cubics (n, 4), which are straight, and the ring of each, ring after ring."""

    curves: Complexes
    straight: Bools
    ring: Ints


def crossings_near(
    p: Complexes, q: Complexes, u: Floats, v: Floats, where: Complexes
) -> tuple[Complexes, Floats, Floats, Bools]:
    """Return where curves p and q (n, 4) cross near their parameters u and v, these parameters, and if they do."""
    on, found = where.copy(), np.zeros(len(p), dtype=bool)
    u, v = u.copy(), v.copy()
    k = np.arange(len(p))
    for _ in range(8):
        x, y = cb.point(p[k], u[k]), cb.point(q[k], v[k])
        dx, dy = cb.derivative(p[k], u[k]), cb.derivative(q[k], v[k])
        gap = y - x
        done = np.abs(gap) < 1e-13 * (1 + np.abs(where[k]))
        on[k[done]], found[k[done]] = x[done], True
        cross = (np.conj(dx) * dy).imag
        go = ~done & (np.abs(cross) >= 1e-9 * np.abs(dx) * np.abs(dy) + 1e-300)
        k, gap, dx, dy, cross = k[go], gap[go], dx[go], dy[go], cross[go]
        u[k] += (np.conj(gap) * dy).imag / cross
        v[k] += (np.conj(gap) * dx).imag / cross
        k = k[(u[k] >= -0.01) & (u[k] <= 1.01) & (v[k] >= -0.01) & (v[k] <= 1.01)]
        if not len(k):
            break
    return on, u, v, found


def after_in_ring(ring: Ints) -> Ints:
    """Return the number of the piece after each in its ring; ``ring`` is in order."""
    after = np.arange(1, len(ring) + 1)
    first = np.flatnonzero(np.append(True, ring[1:] != ring[:-1])[: len(ring)])
    after[np.append(first[1:], len(ring))[: len(first)] - 1] = first
    return after


def sharp(pieces: Pieces, angle: float) -> Bools:
    """Return the pieces at whose end the ring turns back, to within ``angle`` (radians)."""
    after = after_in_ring(pieces.ring)
    n = len(after)
    arriving = cb.tangent(pieces.curves, np.ones(n))
    leaving = cb.tangent(pieces.curves, np.zeros(n))[after]
    return np.asarray((arriving * np.conj(leaving)).real < -np.cos(angle))


def cusped(pieces: Pieces, angle: float) -> Bools:
    """Return the pieces that turn back within themselves, to within ``angle`` (radians): two of their legs do."""
    legs = np.diff(pieces.curves)
    unit = legs / np.maximum(np.abs(legs), 1e-300)
    return np.asarray(((unit[:, 1:] * np.conj(unit[:, :-1])).real < -np.cos(angle)).any(axis=1))


def touching(pieces: Pieces, drawing: Ints, angle: float) -> Bools:
    """Return the pieces that begin where another of their drawing begins and two of the ways there nearly coincide.

    ``drawing`` is that of every piece, ``angle`` in radians. Such rings run along each other from the node on, and may
    cross there by less than a coarse look shows.
    """
    start, n = pieces.curves[:, 0], len(pieces.ring)
    order = np.lexsort((start.imag, start.real, drawing))
    same = (np.diff(start[order]) == 0) & (np.diff(drawing[order]) == 0)
    result = np.zeros(n, dtype=bool)
    i, j = order[:-1][same], order[1:][same]
    if not len(i):
        return result
    leaving, arriving = cb.tangent(pieces.curves, np.zeros(n)), np.empty(n, dtype=np.complex128)
    arriving[after_in_ring(pieces.ring)] = -cb.tangent(pieces.curves, np.ones(n))
    close = np.zeros(len(i), dtype=bool)
    for a in (leaving[i], arriving[i]):
        for b in (leaving[j], arriving[j]):
            close |= (a * np.conj(b)).real > np.cos(angle)
    result[i[close]] = True
    return result


def shorter(pieces: Pieces, length: float) -> Bools:
    """Return the pieces that are shorter than ``length``."""
    return np.asarray(np.abs(np.diff(pieces.curves)).sum(axis=1) < length)


def around(pieces: Pieces, drawing: Ints, some: Bools, reach: float) -> Bools:
    """Return the pieces ``some``, those before and after them, and all of their drawing that come within ``reach``.

    ``drawing`` is that of every piece, in order.
    """
    result, after, which = some.copy(), after_in_ring(pieces.ring), np.flatnonzero(some)
    result[after[which]] = True
    result[np.flatnonzero(some[after])] = True
    first, last = np.searchsorted(drawing, drawing[which]), np.searchsorted(drawing, drawing[which], side="right")
    other = spans(first, last - first)
    one = np.repeat(which, last - first)
    near = np.ones(len(one), dtype=bool)
    for axis in (pieces.curves.real, pieces.curves.imag):
        low, high = axis.min(axis=1), axis.max(axis=1)
        near &= (low[other] <= high[one] + reach) & (high[other] >= low[one] - reach)
    result[other[near]] = True
    return result


def loops_of(pieces: Pieces, shift: Complexes, chord: float | Floats) -> np.ndarray:
    """Return every ring as a polygon of shapely at chord error ``chord``; None where it has no three vertices.

    ``chord`` is one for all pieces or one a piece.
    """
    import shapely

    points, owner, t = flatten_curves(pieces.curves, pieces.straight, chord)
    use = t < 1
    ring = pieces.ring[owner[use]]
    z = points[use] + shift[ring]
    n = len(shift)
    enough = np.bincount(ring, minlength=n) >= 3
    loops = np.full(n, None, dtype=object)
    if enough.any():
        if not enough.all():
            z, ring = z[enough[ring]], (np.cumsum(enough) - 1)[ring[enough[ring]]]
        lines = shapely.linearrings(z.view(np.float64).reshape(-1, 2), indices=ring)
        loops[enough] = shapely.polygons(lines)
    return loops


def are_valid(loops: np.ndarray) -> Bools:
    """Return which polygons there are that do not cross themselves."""
    import shapely

    return np.asarray(shapely.is_valid(loops))  # False for None


def overlapping(loops: np.ndarray, valid: Bools, drawing: Ints, nothing: float) -> Ints:
    """Return the drawings of which two loops cross; they may touch, and in rounding share an area of ``nothing``.

    ``valid`` are the loops that do not cross themselves: the others are left out.
    """
    import shapely

    # most drawings have one loop, which has no other to cross
    company = np.bincount(drawing[valid], minlength=int(drawing.max(initial=0)) + 1)[drawing] > 1
    real = np.flatnonzero(valid & company)
    if not len(real):
        return np.zeros(0, dtype=np.int64)
    a, b = real[shapely.STRtree(loops[real]).query(loops[real])]  # boxes that meet: few in one drawing
    pair = (a < b) & (drawing[a] == drawing[b])
    a, b = a[pair], b[pair]
    crossing = shapely.overlaps(loops[a], loops[b])
    a, b = a[crossing], b[crossing]
    # a hole that touches the ring around it may lie beyond it in rounding, as one beside it may share some area
    first, second = loops[a], loops[b]
    parts = shapely.intersection(first, second), shapely.difference(first, second), shapely.difference(second, first)
    return np.asarray(drawing[a[np.min([shapely.area(part) for part in parts], axis=0) > nothing]])
