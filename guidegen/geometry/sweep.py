"""The raw contour of a swept nib: the Minkowski sum of a centreline and a rectangle, as closed loops.

On each stretch whose tangent stays between two edge directions of the nib, one corner of the nib is the
rightmost and the opposite one the leftmost, so the contour is the centreline itself moved to these corners: it needs
no fitting and is exact. Where the tangent passes an edge direction, and at corners of the path, the
contour follows the nib's edges from the old corner to the new one, forwards or backwards, as a disc's contour
follows an arc; ends are closed by walking around the nib. The loop then winds around a point as
often as there are intervals of the path from which the nib covers it (the reasoning of
:mod:`guidegen.geometry.envelope` holds for any convex shape), so its non-zero fill is the swept area.
"""

from __future__ import annotations

import cmath
import itertools
import math

import numpy as np

from guidegen.geometry import cubic as cb
from guidegen.geometry.centreline import Centreline
from guidegen.geometry.contour import Loop
from guidegen.geometry.cubic import Complexes
from guidegen.geometry.path import Segment
from guidegen.geometry.stroke import Nib


def corners(nib: Nib) -> Complexes:
    """Return the nib's four corners about its centre, anticlockwise."""
    along = cmath.exp(1j * math.radians(nib.angle_deg)) * nib.width / 2
    across = cmath.exp(1j * math.radians(nib.angle_deg + 90)) * nib.thickness / 2
    return np.array([-along - across, along - across, along + across, across - along])


def nib_loops(line: Centreline, nib: Nib) -> list[Loop]:
    """Return the raw loops of the area that the nib sweeps along the centreline."""
    around = corners(nib)
    pieces = [p for curve, flag in zip(line.curves, line.straight, strict=True) for p in _monotone(curve, flag, nib)]
    if not pieces:
        return [_polygon(line.start + around)]
    rightmost = [_rightmost(piece, around) for piece, _ in pieces]
    right: list[tuple[Complexes, bool]] = []
    left: list[tuple[Complexes, bool]] = []
    count = len(pieces)
    for k, (piece, flag) in enumerate(pieces):
        curve = cb.as_cubics([piece])
        right.append((curve + around[rightmost[k]], flag))
        left.append((curve + around[(rightmost[k] + 2) % 4], flag))
        if k + 1 < count or line.closed:
            after = rightmost[(k + 1) % count]
            right.append((_walk(piece[3], around, rightmost[k], _steps(rightmost[k], after)), True))
            left.append((_walk(piece[3], around, (rightmost[k] + 2) % 4, _steps(rightmost[k], after)), True))
    backwards = [(curves[::-1, ::-1], flag) for curves, flag in reversed(left)]
    if line.closed:
        seam = _polygon(line.start + around, hidden=True)
        return [*(_chain_loop(c) for c in (right, backwards)), seam]
    end = (_walk(pieces[-1][0][3], around, rightmost[-1], 2), True)
    start = (_walk(pieces[0][0][0], around, (rightmost[0] + 2) % 4, 2), True)
    return [_chain_loop([*right, end, *backwards, start])]


def _monotone(curve: Complexes, straight: bool, nib: Nib) -> list[tuple[Segment, bool]]:
    """Split a cubic where its tangent passes a direction of the nib's edges."""
    segment = tuple(complex(z) for z in curve)
    if straight:
        return [(segment, True)]
    marks = {0.0, 1.0}
    p = curve
    for angle in (nib.angle_deg, nib.angle_deg + 90):
        across = (p * cmath.exp(-1j * math.radians(angle))).imag
        slopes = across[1] - across[0], 2 * (across[2] - 2 * across[1] + across[0])
        marks.update(cb.real_roots_in_unit(*slopes, across[3] - 3 * across[2] + 3 * across[1] - across[0]))
    t = np.array(sorted(marks))
    parts = cb.part(np.repeat(curve[None], len(t) - 1, axis=0), t[:-1], t[1:])
    parts[0, 0], parts[-1, 3] = curve[0], curve[3]
    return [(tuple(complex(z) for z in q), False) for q in parts]


def _rightmost(piece: Segment, around: Complexes) -> int:
    """Return which corner lies furthest to the right of the direction of travel."""
    along = complex(cb.tangent(cb.as_cubics([piece]), np.array([0.5]))[0])
    return int(np.argmin((around * np.conj(along)).imag))


def _steps(before: int, after: int) -> int:
    """Return the shortest walk between two corners; which way round a half turn goes does not matter."""
    steps = (after - before) % 4
    return steps - 4 if steps == 3 else steps


def _walk(centre: complex, around: Complexes, first: int, steps: int) -> Complexes:
    sign = 1 if steps >= 0 else -1
    chain = [complex(centre + around[(first + sign * k) % 4]) for k in range(abs(steps) + 1)]
    return cb.as_cubics(list(itertools.pairwise(chain)))


def _polygon(points: Complexes, *, hidden: bool = False) -> Loop:
    curves = cb.as_cubics(list(zip(points.tolist(), np.roll(points, -1).tolist(), strict=True)))
    return Loop(curves, np.ones(len(curves), dtype=bool), np.zeros(len(curves), dtype=bool), hidden)


def _chain_loop(chain: list[tuple[Complexes, bool]]) -> Loop:
    curves = np.concatenate([c for c, _ in chain])
    straight = np.concatenate([np.full(len(c), flag) for c, flag in chain])
    curves[:, 0] = np.roll(curves[:, 3], 1)
    return Loop(curves, straight, np.zeros(len(curves), dtype=bool))
