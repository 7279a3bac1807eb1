"""Trim swallowtails of an envelope that are thinner than its fitting error.

On the inner side of a bend the envelope runs forward to a cusp, backwards to another, and forward again, crossing
itself: the ink around the small triangle in between is covered twice. If the triangle is thinner than the
error to which its sides are fitted, they may pass each other the wrong way round and seem to leave a crack in the
ink. Such a triangle is cut off where its two forward sides cross. Larger ones are left to the union.
"""

from __future__ import annotations

import numpy as np

from guidegen.geometry import cubic as cb
from guidegen.geometry.cubic import Bools, Complexes, Floats
from guidegen.geometry.envelope import Chain

_REACH = 3  # curves on either side of a backward run in which its crossing is looked for
_STEPS = 12  # chords per curve in that search


def trimmed(chain: Chain, sign: int, tolerance: float) -> Chain:
    """Return one side's chain (sign -1 right, +1 left) without swallowtails thinner than its fitting error."""
    if not chain.backwards.any():
        return chain
    curves, straight, backwards = chain.curves, chain.straight, chain.backwards
    k = 0
    while k < len(curves):
        if not backwards[k]:
            k += 1
            continue
        last = k
        while last + 1 < len(curves) and backwards[last + 1]:
            last += 1
        found = _crossing(curves, backwards, (k, last), sign, tolerance)
        if found is None:
            k = last + 1
            continue
        i, u, j, v = found
        head = cb.part(curves[i : i + 1], np.zeros(1), np.array([u]))
        tail = cb.part(curves[j : j + 1], np.array([v]), np.ones(1))
        head[0, 0], tail[0, 3] = curves[i, 0], curves[j, 3]
        shift = head[0, 3] - tail[0, 0]
        tail[0, :2] += shift
        curves = np.concatenate([curves[:i], head, tail, curves[j + 1 :]])
        straight = np.concatenate([straight[: i + 1], straight[j:]])
        backwards = np.concatenate([backwards[: i + 1], backwards[j:]])
        k = i + 1
    return Chain(curves, straight, backwards)


def _crossing(
    curves: Complexes, backwards: Bools, run_of: tuple[int, int], sign: int, tolerance: float
) -> tuple[int, float, int, float] | None:
    """Return where the forward curves around a backward run cross, if they cut off something thin."""
    first, last = run_of
    before, after = [], []
    for k in range(first - 1, max(-1, first - 1 - _REACH), -1):
        if backwards[k]:
            break
        before.append(k)
    for k in range(last + 1, min(len(curves), last + 1 + _REACH)):
        if backwards[k]:
            break
        after.append(k)
    if not before or not after:
        return None
    steps = np.linspace(0, 1, _STEPS + 1)
    x = cb.point(curves[before[::-1]], np.tile(steps, (len(before), 1)))
    y = cb.point(curves[after], np.tile(steps, (len(after), 1)))
    run = cb.point(curves[first : last + 1], np.tile(steps, (last + 1 - first, 1))).ravel()
    i, u, j, v = _meeting(x, y)
    crossed = i >= 0
    if not crossed:
        i, u, j, v = _touching(x, y, 2 * tolerance)
    if i < 0:
        return None
    a, b = before[::-1][i], after[j]
    rest_x, rest_y = x[i, int(u * _STEPS) + 1 :], y[j, : int(v * _STEPS) + 1]
    cut_off = np.concatenate([rest_x, x[i + 1 :].ravel(), run, y[:j].ravel(), rest_y])
    area = -sign * float((cut_off.real * np.roll(cut_off.imag, -1) - np.roll(cut_off.real, -1) * cut_off.imag).sum()) / 2
    # the width of a long thin loop; one that runs the wrong way round is a crack of up to two errors
    width = 4 * abs(area) / max(float(np.abs(np.diff(cut_off)).sum()), 1e-300)
    if width > (tolerance if area > 0 else 2 * tolerance):
        return None
    if crossed:
        u, v = _refined(curves[[a, b]], u, v)
    return a, u, b, v


def _meeting(x: Complexes, y: Complexes) -> tuple[int, float, int, float]:
    """Return the crossing of two rows of polylines that is last on the first: row and parameter on each; -1 if none."""
    dx, dy = np.diff(x, axis=1).ravel(), np.diff(y, axis=1).ravel()
    gap = y[:, :-1].ravel()[None, :] - x[:, :-1].ravel()[:, None]
    cross = (np.conj(dx)[:, None] * dy[None, :]).imag
    with np.errstate(all="ignore"):
        m = (np.conj(gap) * dy[None, :]).imag / cross
        n = (np.conj(gap) * dx[:, None]).imag / cross
    hits = np.argwhere((m >= 0) & (m <= 1) & (n >= 0) & (n <= 1) & (cross != 0))
    if not len(hits):
        return -1, 0.0, -1, 0.0
    p, q = hits[-1]
    return (
        int(p // _STEPS),
        float((p % _STEPS + m[p, q]) / _STEPS),
        int(q // _STEPS),
        float((q % _STEPS + n[p, q]) / _STEPS),
    )


def _touching(x: Complexes, y: Complexes, near: float) -> tuple[int, float, int, float]:
    """Return where the first row's end comes nearest to the second, or the second's start to the first; -1 if not near.

    Fitting errors can keep two sides apart that cross in truth.
    """
    gap_y, j, v = _nearest(x[-1, -1], y)
    gap_x, i, u = _nearest(y[0, 0], x)
    if min(gap_x, gap_y) > near:
        return -1, 0.0, -1, 0.0
    return (len(x) - 1, 1.0, j, v) if gap_y <= gap_x else (i, u, 0, 0.0)


def _nearest(p: complex, rows: Complexes) -> tuple[float, int, float]:
    """Return the distance from a point to rows of polylines, and where: row and parameter."""
    d = np.diff(rows, axis=1)
    size = np.abs(d) ** 2
    share = np.clip(((p - rows[:, :-1]) * np.conj(d)).real / np.where(size > 0, size, 1), 0, 1)
    gap = np.abs(rows[:, :-1] + share * d - p)
    row, at = np.unravel_index(int(np.argmin(gap)), gap.shape)
    return float(gap[row, at]), int(row), float((at + share[row, at]) / _STEPS)


def _refined(pair: Complexes, u: float, v: float) -> tuple[float, float]:
    """Newton from the chords' crossing; kept only if it stays near."""
    t: Floats = np.array([u, v])
    for _ in range(6):
        on, speed = cb.point(pair, t), cb.derivative(pair, t)
        gap = on[1] - on[0]
        cross = (np.conj(speed[0]) * speed[1]).imag
        if abs(cross) <= 1e-9 * abs(speed[0] * speed[1]):
            return u, v
        t = t + np.array([(np.conj(gap) * speed[1]).imag, (np.conj(gap) * speed[0]).imag]) / cross
        if np.any(np.abs(t - (u, v)) > 2 / _STEPS) or np.any((t < 0) | (t > 1)):
            return u, v
    return float(t[0]), float(t[1])
