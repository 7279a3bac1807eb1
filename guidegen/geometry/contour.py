"""The raw contour of a disc stroke: the envelopes of its stretches with caps and joints, as closed loops.

Why the loops can be taken as they come. Cut the stroke into pieces so short that each point is covered by one
interval (or none) of every piece's discs, and give every piece its own contour: b- forward, the arc of the
end disc from n- to n+, b+ backward, the arc of the start disc. Such a contour winds once around the
points the piece covers. Two neighbours share the disc at their joint; take its circle away once. What is left is
one loop: both envelopes, the two end caps and, at each joint, the arcs through which n± turn, forwards or
backwards. So the loop winds around a point (number of pieces that cover it) - (number of joints that cover it)
times, and that is the number of intervals of s whose discs cover it: at least 1 in the ink, 0 outside. Swallowtails
on the inner side of a bend, corners, cusps and reversals need no case of their own: the non-zero fill of the
raw loops is the union of the discs.

Where |r'| >= 1 each disc lies in the next: the stretch is left out, the stroke is broken there, and its larger end
disc stands for it. In a closed stroke the two envelopes are loops of their own; these count cyclic intervals, of
which a point under every disc has none, so the disc at the seam is counted once more.
"""

from __future__ import annotations

import cmath
import itertools
import math
from dataclasses import dataclass

import numpy as np

from guidegen.geometry import cubic as cb
from guidegen.geometry.centreline import Stretch, is_steep
from guidegen.geometry.cubic import Bools, Complexes
from guidegen.geometry.envelope import BACKWARD_SHARE, Chain, Sides
from guidegen.geometry.stroke import Stroke
from guidegen.geometry.widths import width_at


@dataclass(frozen=True, slots=True)
class Loop:
    """A closed chain of curves (n, 4), which of them are straight, and which run backwards, inside the ink.

    ``hidden`` loops count but bound nothing.
    """

    curves: Complexes
    straight: Bools
    backwards: Bools
    hidden: bool = False


def disc(centre: complex, r: float, tolerance: float, *, hidden: bool = False) -> list[Loop]:
    """Return the circle as a loop, nothing if it has no size."""
    curves = cb.arc(centre, r, 0.0, 2 * math.pi, tolerance)
    if not len(curves):
        return []
    curves[-1, 3] = curves[0, 0]
    none = np.zeros(len(curves), dtype=bool)
    return [Loop(curves, none, none, hidden)]


def raw_loops(sides: list[Sides | None], closed: bool, tolerance: float) -> list[Loop]:
    """Join fitted stretches (None where a steep one was left out) to closed loops."""
    closed = closed and bool(sides) and all(s is not None for s in sides)
    runs: list[list[Sides]] = [[]]
    for s in sides:
        if s is None or (runs[-1] and not _same(runs[-1][-1].end.r, s.start.r)):
            runs.append([])
        if s is not None:
            runs[-1].append(s)
    runs = [run for run in runs if run]
    if closed and len(runs) == 1 and _same(runs[0][0].start.r, runs[0][-1].end.r):
        return _ring(runs[0], tolerance)
    return [loop for run in runs for loop in _open(run, tolerance)]


def _same(a: float, b: float) -> bool:
    """True if a joint has one disc: a width that jumps there (two knots at one place) breaks the stroke."""
    return abs(a - b) <= 1e-9 * max(a, b)


def _open(run: list[Sides], tolerance: float) -> list[Loop]:
    first, last = run[0].start, run[-1].end
    turn = cmath.phase(last.tangent)
    end_cap = cb.arc(last.centre, last.r, turn - last.a, 2 * last.a, tolerance)
    turn = cmath.phase(first.tangent)
    start_cap = cb.arc(first.centre, first.r, turn + first.a, 2 * math.pi - 2 * first.a, tolerance)
    right, left = (_side(run, sign, tolerance) for sign in (-1, 1))
    return _loops([right, _arcs(end_cap), _reversed(left), _arcs(start_cap)])


def _ring(run: list[Sides], tolerance: float) -> list[Loop]:
    right, left = (_side([*run, run[0]], sign, tolerance, closed=True) for sign in (-1, 1))
    seam = disc(run[0].start.centre, run[0].start.r, tolerance, hidden=True)
    return _loops([right]) + _loops([_reversed(left)]) + seam


def _side(run: list[Sides], sign: int, tolerance: float, *, closed: bool = False) -> Chain:
    """Return one side of a run in the direction of the stroke, joints as arcs; a closed run repeats its first."""
    links = [run[0].right if sign < 0 else run[0].left]
    for before, after in itertools.pairwise(run):
        a, b = before.end, after.start
        sweep = cmath.phase(b.tangent / a.tangent) + sign * (b.a - a.a)
        if abs(sweep) * a.r > 1e-3 * tolerance:
            backwards = sweep * sign > 0
            share = BACKWARD_SHARE if backwards else 1.0
            arc = cb.arc(a.centre, a.r, cmath.phase(a.tangent) + sign * a.a, sweep, share * tolerance)
            links.append(_arcs(arc, backwards=backwards))
        links.append(after.right if sign < 0 else after.left)
    if closed:
        links.pop()
    return _joined(links)


def _arcs(curves: Complexes, *, backwards: bool = False) -> Chain:
    return Chain(curves, np.zeros(len(curves), dtype=bool), np.full(len(curves), backwards))


def _joined(links: list[Chain]) -> Chain:
    """Return chains as one, every curve starting exactly where the one before ends."""
    curves = np.concatenate([c.curves for c in links])
    curves[1:, 0] = curves[:-1, 3]
    return Chain(
        curves, np.concatenate([c.straight for c in links]), np.concatenate([c.backwards for c in links])
    )


def _reversed(chain: Chain) -> Chain:
    return Chain(chain.curves[::-1, ::-1], chain.straight[::-1], chain.backwards[::-1])


def _loops(links: list[Chain]) -> list[Loop]:
    whole = _joined(links)
    if not len(whole.curves):
        return []
    whole.curves[0, 0] = whole.curves[-1, 3]
    return [Loop(whole.curves, whole.straight, whole.backwards)]


def swallowing_discs(pieces: list[Stretch], tolerance: float) -> list[Loop]:
    """Return the larger end discs of steep stretches that no kept neighbour draws."""
    loops: list[Loop] = []
    for k, piece in enumerate(pieces):
        if not is_steep(piece):
            continue
        grows = piece.law.high > piece.law.low
        centre, r = (piece.curve[3], piece.r(piece.s1)) if grows else (piece.curve[0], piece.r(piece.s0))
        neighbour = k + 1 if grows else k - 1
        if 0 <= neighbour < len(pieces):
            other = pieces[neighbour]
            meets = other.r(other.s0 if grows else other.s1) >= r * (1 - 1e-9)
            if meets and (not is_steep(other) or (other.law.high > other.law.low) == grows):
                continue  # drawn by the neighbour, or swallowed by a still larger disc
        loops += disc(centre, r, tolerance)
    return loops


def dot(stroke: Stroke, tolerance: float) -> list[Loop]:
    """Return the disc of a stroke that has no length."""
    return disc(stroke.path.start, float(width_at(stroke.widths, 0.0)) / 2, tolerance)
