"""The raw contour of a swept nib: the Minkowski sum of a centreline and a rectangle, as closed loops.

On each stretch whose tangent stays between two edge directions of the nib, one corner of the nib is the
rightmost and the opposite one the leftmost, so the contour is the centreline itself moved to these corners: it needs
no fitting and is exact. Where the tangent passes an edge direction, and at corners of the path, the
contour follows the nib's edges from the old corner to the new one, forwards or backwards, as a disc's contour
follows an arc; ends are closed by walking around the nib. The loop then winds around a point as
often as there are intervals of the path from which the nib covers it (the reasoning of
:mod:`guidegen.geometry.stroke.disc_loops` holds for any convex shape), so its non-zero fill is the swept area.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Sequence

import numpy as np

from guidegen.geometry import cubic as cb
from guidegen.geometry.cubic import Bools, Complexes, Floats, Ints
from guidegen.geometry.stroke.centreline import Centrelines
from guidegen.geometry.stroke.disc_loops import Loop, Unbroken, assembled, successors
from guidegen.geometry.stroke.envelope import Chains
from guidegen.geometry.stroke.slow_points import quadratic_roots
from guidegen.geometry.stroke.stroke import Nib


def corners(nib: Nib) -> Complexes:
    """Return the nib's four corners about its centre, anticlockwise."""
    along = cmath.exp(1j * math.radians(nib.angle_deg)) * nib.width / 2
    across = cmath.exp(1j * math.radians(nib.angle_deg + 90)) * nib.thickness / 2
    return np.array([-along - across, along - across, along + across, across - along])


def nib_loops(lines: Centrelines, nibs: Sequence[Nib]) -> list[list[Loop]]:
    """Return the raw loops of the areas that nibs sweep along centrelines, one nib for each."""
    around = np.array([corners(nib) for nib in nibs], dtype=np.complex128).reshape(-1, 4)
    curves, straight, owner = _monotone(lines, np.array([nib.angle_deg for nib in nibs], dtype=np.float64))
    first = np.searchsorted(owner, np.arange(len(nibs) + 1))
    moving = np.flatnonzero(first[1:] > first[:-1])
    runs = Unbroken(first[:-1][moving], first[1:][moving], lines.closed[moving])
    pool = _pool(curves, straight, around[owner], successors(first, len(curves)), runs)
    loops: list[list[Loop]] = [[] for _ in nibs]
    for run, loop in zip(*assembled(pool, runs, len(curves)), strict=True):
        loops[moving[run]].append(loop)
    for k in np.flatnonzero(lines.closed | (first[1:] == first[:-1])).tolist():
        loops[k].append(_polygon(lines.start[k] + around[k], hidden=bool(lines.closed[k])))
    return loops


def _monotone(lines: Centrelines, angle_deg: Floats) -> tuple[Complexes, Bools, Ints]:
    """Cut pieces where their tangent passes a direction of the nib's edges: curves, which are straight, whose."""
    bent = np.flatnonzero(~lines.straight)
    edge = np.exp(-1j * np.radians(angle_deg[lines.owner[bent]]))[:, None] * lines.curves[bent]
    found = []
    for across in (edge.imag, -edge.real):
        a, b, c, d = across.T
        found.append(quadratic_roots(b - a, 2 * (c - 2 * b + a), d - 3 * c + 3 * b - a))
    t = np.sort(np.concatenate(found, axis=1), axis=1)
    use = np.isfinite(t)
    use[:, 1:] &= t[:, 1:] != t[:, :-1]
    curves, piece, _, _ = cb.split_at(lines.curves, np.repeat(bent, use.sum(axis=1)), t[use])
    return curves, lines.straight[piece], lines.owner[piece]


def _pool(curves: Complexes, straight: Bools, around: Complexes, after: Ints, runs: Unbroken) -> Chains:
    """Return all chains that loops are made of: sides, walks around the nib (n, 4) at joints and at the runs' ends."""
    n = len(curves)
    every = np.arange(n)
    along = cb.tangent(curves, np.full(n, 0.5))
    # the corner that lies furthest to the right of the direction of travel; the one opposite is furthest to the left
    right = (around * np.conj(along)[:, None]).imag.argmin(axis=1)
    left = (right + 2) % 4
    steps = (right[after] - right) % 4  # the shortest walk; which way round a half turn goes does not matter
    steps[steps == 3] = -1
    start, end = runs.first, runs.last - 1
    half = np.full(len(start), 2)
    walks, count = _walks(
        np.concatenate([curves[:, 3], curves[:, 3], curves[end, 3], curves[start, 0]]),
        around[np.concatenate([every, every, end, start])],
        np.concatenate([right, left, right[end], left[start]]),
        np.concatenate([steps, steps, half, half]),
    )
    moved = [curves + around[every, corner][:, None] for corner in (right, left)]
    flags = np.concatenate([straight, straight, np.ones(len(walks), dtype=bool)])
    one = np.ones(2 * n, dtype=np.int64)
    return Chains(np.concatenate([*moved, walks]), flags, np.zeros(len(flags), dtype=bool), np.append(one, count))


def _walks(centre: Complexes, around: Complexes, first: Ints, steps: Ints) -> tuple[Complexes, Ints]:
    """Return walks (n) from corner to corner as lines, one after the other, and how many each has."""
    count = np.abs(steps)
    walk = np.repeat(np.arange(len(steps)), count)
    nth = np.arange(len(walk)) - np.repeat(np.cumsum(count) - count, count)
    sign = np.sign(steps)[walk]
    corner = first[walk] + sign * nth
    a, b = (centre[walk] + around[walk, at % 4] for at in (corner, corner + sign))
    return np.stack([a, a + (b - a) / 3, b - (b - a) / 3, b], axis=-1), count


def _polygon(points: Complexes, *, hidden: bool = False) -> Loop:
    curves = cb.as_cubics(list(zip(points.tolist(), np.roll(points, -1).tolist(), strict=True)))
    return Loop(curves, np.ones(len(curves), dtype=bool), np.zeros(len(curves), dtype=bool), hidden)
