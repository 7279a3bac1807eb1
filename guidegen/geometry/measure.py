"""Measure outlines: flatten, bounds, area, inside or outside, length."""

from __future__ import annotations

import numpy as np

from guidegen.geometry import cubic as cb
from guidegen.geometry.cubic import Complexes, Floats, Ints
from guidegen.geometry.path import Outline, Path


def flatten_curves(
    curves: Complexes, straight: np.ndarray, tolerance: float | Floats
) -> tuple[Complexes, Ints, Floats]:
    """Return the vertices of all curves (ends included), the curve each belongs to and its parameter.

    Chord counts follow from the second differences of the control points, which bound a cubic's second derivative:
    n^2 >= 6 max|second difference| / (8 tolerance). ``tolerance`` is one for all or one a curve.
    """
    bend = np.maximum(
        np.abs(curves[:, 0] - 2 * curves[:, 1] + curves[:, 2]), np.abs(curves[:, 1] - 2 * curves[:, 2] + curves[:, 3])
    )
    n = np.maximum(1, np.ceil(np.sqrt(0.75 * bend / tolerance))).astype(np.int64)
    n[np.asarray(straight, dtype=bool)] = 1
    owner, first = np.repeat(np.arange(len(curves)), n + 1), np.cumsum(n + 1) - (n + 1)
    points, t = np.empty(len(owner), dtype=np.complex128), np.empty(len(owner))
    for chords in np.flatnonzero(np.bincount(n)).tolist():  # parameters are worked out once for as many chords
        mine, at = np.flatnonzero(n == chords), np.arange(chords + 1) / chords
        where = first[mine][:, None] + np.arange(chords + 1)
        points[where], t[where] = cb.point(curves[mine], at[None, :]), at
    points[first], points[first + n] = curves[:, 0], curves[:, 3]
    return points, owner, t


def flatten(path: Path, tolerance: float) -> Complexes:
    """Return the vertices of a path as a polyline within ``tolerance``; a closed path's first point is not repeated."""
    curves = cb.as_cubics(path.segments)
    straight = np.array([len(s) == 2 for s in path.segments])
    points, _, t = flatten_curves(curves, straight, tolerance)
    keep = t < 1
    if not path.closed:
        keep[-1] = True
    return points[keep]


def flatten_outline(outline: Outline, tolerance: float) -> list[Complexes]:
    """Return every loop of an outline as a polygon within ``tolerance``."""
    return [flatten(path, tolerance) for path in outline]


def bounds(outline: Outline) -> tuple[complex, complex]:
    """Return the lower left and upper right corner of the box around the curves themselves, exactly.

    Raises ValueError for an empty outline.
    """
    if not outline:
        raise ValueError("an empty outline has no bounds")
    curves = cb.as_cubics([s for path in outline for s in path.segments])
    low_x, high_x = _range(curves.real)
    low_y, high_y = _range(curves.imag)
    return complex(low_x, low_y), complex(high_x, high_y)


def _range(p: Floats) -> tuple[float, float]:
    """Return the least and greatest value of cubics (n, 4) on one axis: ends, and roots of the derivative."""
    a, b, c = p[:, 1] - p[:, 0], 2 * (p[:, 2] - 2 * p[:, 1] + p[:, 0]), p[:, 3] - 3 * p[:, 2] + 3 * p[:, 1] - p[:, 0]
    with np.errstate(all="ignore"):
        q = -(b + np.copysign(np.sqrt(b * b - 4 * a * c), b)) / 2
        t = np.stack([q / c, a / q], axis=1)
    t = np.clip(np.nan_to_num(t, nan=0.0, posinf=0.0, neginf=0.0), 0, 1)
    values = cb.point(p.astype(np.complex128), t).real
    return float(min(values.min(), p[:, [0, 3]].min())), float(max(values.max(), p[:, [0, 3]].max()))


def area(outline: Outline) -> float:
    """Return the enclosed area (holes taken off), exactly, by Green's theorem on the cubics."""
    return float(sum(signed_area(path) for path in outline))


def signed_area(path: Path) -> float:
    """Return the area inside a closed path, positive if it runs anticlockwise."""
    return float(moments(path)[0])


_X8, _W8 = np.polynomial.legendre.leggauss(8)


def moments(path: Path, axis: complex = 1.0, origin: complex = 0.0) -> tuple[float, float, float, float, float, float]:
    """Return the integrals of 1, u, v, u^2, u^3, v^2 over the inside of a closed path.

    u is measured from ``origin`` along the unit vector ``axis``, v to its left. Green's theorem turns each into an
    integral of a polynomial in t of degree at most 14 along the cubics, for which eight Gauss points are exact.
    """
    c = cb.as_cubics(path.segments)
    t = np.broadcast_to((_X8 + 1) / 2, (len(c), 8))
    z = (cb.point(c, t) - origin) * np.conj(axis)
    dz = cb.derivative(c, t) * np.conj(axis)
    u, v, du, dv = z.real, z.imag, dz.real, dz.imag
    w = _W8 / 2

    def total(values: Floats) -> float:
        return float((values @ w).sum())

    return (
        total(u * dv - v * du) / 2,
        total(u * u * dv) / 2,
        -total(v * v * du) / 2,
        total(u**3 * dv) / 3,
        total(u**4 * dv) / 4,
        -total(v**3 * du) / 3,
    )


def winding(points: Complexes, start: Complexes, end: Complexes) -> Ints:
    """Return how often the directed edges start -> end (closed chains) wind around each point."""
    part = np.zeros(len(start), dtype=np.int64)
    block = max(1, 2_000_000 // max(1, len(start)))
    found = [windings(points[k : k + block], start, end, part, 1)[:, 0] for k in range(0, len(points), block)]
    return np.concatenate([np.zeros(0, dtype=np.int64), *found])


def windings(points: Complexes, start: Complexes, end: Complexes, part: Ints, parts: int) -> Ints:
    """Return how often the edges of each part (their numbers in ``part``) wind around each point: (points, parts)."""
    above0, above1 = (z.imag > points.imag[:, None] for z in (start, end))
    row, edge = np.nonzero(above0 != above1)
    a, b, p = start[edge], end[edge], points[row]
    side = (b.real - a.real) * (p.imag - a.imag) - (p.real - a.real) * (b.imag - a.imag)
    up = ~above0[row, edge]
    turn = np.where(up, side > 0, 0) - np.where(up, 0, side < 0)
    wind = np.bincount(row * parts + part[edge], weights=turn, minlength=len(points) * parts)
    return np.asarray(wind, dtype=np.int64).reshape(len(points), parts)


def path_length(path: Path) -> float:
    """Return the arc length of a path."""
    c = cb.as_cubics(path.segments)
    return float(cb.lengths(c, np.zeros(len(c)), np.ones(len(c))).sum())
