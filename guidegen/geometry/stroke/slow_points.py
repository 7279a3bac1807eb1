"""Where cubics are slow, turn back or pass a direction: places at which they must be cut before they are sampled."""

from __future__ import annotations

import numpy as np

from guidegen.geometry import cubic as cb
from guidegen.geometry.cubic import Bools, Complexes, Floats
from guidegen.geometry.path import Segment


def slow_points_of(c: Complexes) -> list[list[float]]:
    """Return for each of many cubics (n, 4) the interior t, increasing, where the speed has a marked minimum.

    Cusps, near cusps, turning points: there tangent and curvature may change within no length at all, so whoever
    samples a cubic must split it. Roots of c'.c'' = 0, kept where the speed is below a fifth of its greatest.
    """
    if not len(c):
        return []
    p0, p1, p2, p3 = c.T
    d0, d1, d2 = p1 - p0, 2 * (p2 - 2 * p1 + p0), p3 - 3 * p2 + 3 * p1 - p0  # c'/3 in powers of t
    powers = (2 * d2 * np.conj(d2), 3 * d1 * np.conj(d2), d1 * np.conj(d1) + 2 * d0 * np.conj(d2), d0 * np.conj(d1))
    t = _cubic_roots(np.stack(powers, axis=-1).real)
    t = np.sort(np.where((t > 1e-9) & (t < 1 - 1e-9), t, 2.0), axis=1)
    fastest = cb.speed(c, np.linspace(0, 1, 17)[None]).max(axis=1)
    found: list[list[float]] = []
    for row, slow in zip(t, (t < 1) & (cb.speed(c, t) < 0.2 * fastest[:, None]), strict=True):
        found.append([])
        for value in row[slow].tolist():
            if not found[-1] or value - found[-1][-1] > 1e-9:
                found[-1].append(value)
    return found


def _cubic_roots(a: Floats) -> Floats:
    """Return the real roots (n, 3) of the polynomials a (n, 4), highest power first; NaN in the place of others."""
    scale = np.abs(a).max(axis=1, keepdims=True)
    a = np.where(np.abs(a) < 1e-14 * scale, 0, a)
    roots = np.full((len(a), 3), np.nan, dtype=np.complex128)
    full = a[:, 0] != 0
    matrix = np.zeros((int(full.sum()), 3, 3))  # the companions, whose eigenvalues are the roots
    matrix[:, 0] = -a[full, 1:] / a[full, :1]
    matrix[:, 1, 0] = matrix[:, 2, 1] = 1
    roots[full] = np.linalg.eigvals(matrix)
    for k in np.flatnonzero(~full).tolist():
        some = np.roots(a[k])
        roots[k, : len(some)] = some
    return np.where(np.abs(roots.imag) < 1e-6, roots.real, np.nan)


def is_plain(c: Complexes) -> Bools:
    """Return which cubics are neither straight nor slow anywhere: the many that need no closer look."""
    fast = cb.speed(c, np.linspace(0, 1, 17)[None])
    far = np.abs(c - c[:, :1]).max(axis=1)
    base = c[:, 3] - c[:, 0]
    lean = np.abs(((c[:, 1:3] - c[:, :1]) * np.conj(base)[:, None]).imag).max(axis=1)
    return np.asarray((fast.min(axis=1) > 0.35 * fast.max(axis=1)) & (lean > 1e-9 * far * np.abs(base)))


def turning_points(cubic: Segment) -> list[float] | None:
    """Return the t where a cubic on one straight line turns back; None if its control points are not collinear."""
    p = cb.as_cubics([cubic])[0]
    spread = p - p[0]
    far = spread[np.argmax(np.abs(spread))]
    if far == 0:
        return []
    along = p * np.conj(far / abs(far))
    if np.ptp(along.imag) > 1e-12 * abs(far):
        return None
    x = along.real
    return real_roots_in_unit(x[1] - x[0], 2 * (x[2] - 2 * x[1] + x[0]), x[3] - 3 * x[2] + 3 * x[1] - x[0])


def real_roots_in_unit(a0: float, a1: float, a2: float) -> list[float]:
    """Return the roots of a0 + a1 t + a2 t^2 strictly inside (0, 1), increasing."""
    roots = quadratic_roots(*(np.array([a]) for a in (a0, a1, a2)))
    return sorted(set(roots[np.isfinite(roots)].tolist()))


def quadratic_roots(a0: Floats, a1: Floats, a2: Floats) -> Floats:
    """Return the roots (n, 2) of a0 + a1 t + a2 t^2 strictly inside (0, 1); NaN in the place of others."""
    small = 1e-14 * np.maximum(np.maximum(np.abs(a0), np.abs(a1)), np.abs(a2))
    with np.errstate(all="ignore"):
        q = -(a1 + np.copysign(np.sqrt(a1 * a1 - 4 * a2 * a0), a1)) / 2
        bent = np.abs(a2) > small
        first = np.where(bent, q / a2, np.where(np.abs(a1) > small, -a0 / a1, np.nan))
        second = np.where(bent & (q != 0), a0 / q, np.nan)
        t = np.stack([first, second], axis=-1)
        return np.where((t > 1e-12) & (t < 1 - 1e-12), t, np.nan)
