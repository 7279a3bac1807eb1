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

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from guidegen.geometry import cubic as cb
from guidegen.geometry.cubic import Bools, Complexes, Floats, Ints
from guidegen.geometry.stroke.centreline import Stretches
from guidegen.geometry.stroke.envelope import BACKWARD_SHARE, Chains, Sides
from guidegen.geometry.stroke.radius_spans import width_at
from guidegen.geometry.stroke.stroke import Stroke


@dataclass(frozen=True, slots=True)
class Loop:
    """A closed chain of curves (n, 4), which of them are straight, and which run backwards, inside the ink.

    ``hidden`` loops count but bound nothing.
    """

    curves: Complexes
    straight: Bools
    backwards: Bools
    hidden: bool = False


@dataclass(frozen=True, slots=True)
class Span:
    """Consecutive stretches of one stroke, from number ``first`` to before ``last``; ``closed``: the ends meet."""

    first: int
    last: int
    closed: bool = False


def disc(centre: complex, r: float, tolerance: float, *, hidden: bool = False) -> list[Loop]:
    """Return the circle as a loop, nothing if it has no size."""
    curves = cb.arc(centre, r, 0.0, 2 * math.pi, tolerance)
    if not len(curves):
        return []
    curves[-1, 3] = curves[0, 0]
    none = np.zeros(len(curves), dtype=bool)
    return [Loop(curves, none, none, hidden)]


def raw_loops(stretches: Stretches, sides: Sides, spans: Sequence[Span], tolerance: float) -> list[list[Loop]]:
    """Return the closed loops of each span; where a steep stretch or a jump of the width breaks it, of each run."""
    after = successors(stretches.first, len(stretches.curves))
    joined = ~stretches.steep & ~stretches.steep[after] & _same(sides.radius[:, 1], sides.radius[after, 0])
    breaks = np.concatenate([[0], np.cumsum(~joined)])
    owner: list[int] = []
    first: list[int] = []
    last: list[int] = []
    ring: list[bool] = []
    for k, span in enumerate(spans):
        a, b = span.first, span.last
        if a == b:
            continue
        whole = breaks[b - 1] == breaks[a]
        cuts = [] if whole else (a + 1 + np.flatnonzero(~joined[a : b - 1])).tolist()
        for low, high in zip([a, *cuts], [*cuts, b], strict=True):
            if not stretches.steep[low]:
                owner.append(k)
                first.append(low)
                last.append(high)
                ring.append(bool(whole and span.closed and joined[b - 1]))
    loops: list[list[Loop]] = [[] for _ in spans]
    runs = Unbroken(np.array(first, dtype=np.int64), np.array(last, dtype=np.int64), np.array(ring, dtype=bool))
    pool = _pool(sides, after, runs, tolerance)
    for k, loop in zip(*assembled(pool, runs, len(after)), strict=True):
        loops[owner[k]].append(loop)
    for k in np.flatnonzero(runs.ring).tolist():
        seam = first[k]
        loops[owner[k]] += disc(complex(sides.centre[seam, 0]), float(sides.radius[seam, 0]), tolerance, hidden=True)
    if stretches.steep.any():
        for k, span in enumerate(spans):
            loops[k] += _swallowing_discs(stretches, sides, span, tolerance)
    return loops


@dataclass(frozen=True, slots=True)
class Unbroken:
    """Stretches joined without a break: from number first to before last; in a ring the last is joined to the first."""

    first: Ints
    last: Ints
    ring: Bools


def successors(first: Ints, n: int) -> Ints:
    """Return which of n stretches comes after each: paths begin at ``first`` (p + 1,), after their last the first."""
    after = np.arange(1, n + 1)
    some = first[1:] > first[:-1]
    after[first[1:][some] - 1] = first[:-1][some]
    return after


def _same(a: Floats, b: Floats) -> Bools:
    """True if a joint has one disc: a width that jumps there (two knots at one place) breaks the stroke."""
    return np.asarray(np.abs(a - b) <= 1e-9 * np.maximum(a, b))


def _pool(sides: Sides, after: Ints, runs: Unbroken, tolerance: float) -> Chains:
    """Return all chains that loops are made of, as :func:`assembled` wants them: sides, and arcs of joints and caps."""
    angle = np.angle(sides.tangent)
    turn = np.angle(sides.tangent[after, 0] * np.conj(sides.tangent[:, 1]))
    lean = sides.lean[after, 0] - sides.lean[:, 1]
    sign = np.repeat([-1.0, 1.0], len(after))
    sweep = np.tile(turn, 2) + sign * np.tile(lean, 2)
    sweep[np.abs(sweep) * np.tile(sides.radius[:, 1], 2) <= 1e-3 * tolerance] = 0.0
    back = sweep * sign > 0
    begin = np.tile(angle[:, 1], 2) + sign * np.tile(sides.lean[:, 1], 2)
    end, start = runs.last - 1, runs.first
    arcs, count = cb.arcs(
        np.concatenate([sides.centre[:, 1], sides.centre[:, 1], sides.centre[end, 1], sides.centre[start, 0]]),
        np.concatenate([sides.radius[:, 1], sides.radius[:, 1], sides.radius[end, 1], sides.radius[start, 0]]),
        np.concatenate([begin, angle[end, 1] - sides.lean[end, 1], angle[start, 0] + sides.lean[start, 0]]),
        np.concatenate([sweep, 2 * sides.lean[end, 1], 2 * math.pi - 2 * sides.lean[start, 0]]),
        np.concatenate([np.where(back, BACKWARD_SHARE, 1.0), np.ones(2 * len(end))]) * tolerance,
    )
    none = np.zeros(len(arcs), dtype=bool)
    chains = sides.chains
    return Chains(
        np.concatenate([chains.curves, arcs]),
        np.concatenate([chains.straight, none]),
        np.concatenate([chains.backwards, np.repeat(np.append(back, np.zeros(2 * len(end), dtype=bool)), count)]),
        np.concatenate([chains.count, count]),
    )


def _links(runs: Unbroken, n: int) -> tuple[Ints, Ints, Bools]:
    """Return the chains of all loops in order: their numbers in the pool, the loop of each, which are reversed.

    An open run is one loop: right sides and joints forward, the end cap, left ones backward, the start cap. A
    ring is two, one of either side.
    """
    size = runs.last - runs.first
    run = np.repeat(np.arange(len(size)), 4 * size)
    at = np.arange(len(run)) - np.repeat(np.cumsum(4 * size) - 4 * size, 4 * size)
    half, ring = 2 * size[run], runs.ring[run]
    right = at < half
    back = np.where(right, 0, at - half)
    # backward, an open run begins with a side, a ring with the joint that closes it
    joint = np.where(right, at % 2 == 1, (back % 2 == 1) != ring)
    nth = np.where(right, at // 2, size[run] - 1 - (back + ~ring) // 2)
    number = runs.first[run] + nth + n * (~right + 2 * joint)
    cap = ~ring & (at % half == half - 1)
    number = np.where(cap, 4 * n + run + len(size) * ~right, number)
    return number, 2 * run + (ring & ~right), ~right & ~cap


def assembled(pool: Chains, runs: Unbroken, n: int) -> tuple[list[int], list[Loop]]:
    """Return the runs of loops, and the loops: every curve starts where the one before ends.

    ``pool`` holds the chains that they are made of: n right sides, n left ones, n joints on the right (of each stretch
    with the one after), n on the left, the end caps of the runs, their start caps.
    """
    link, loop, turned = _links(runs, n)
    count = pool.count[link]
    if not count.any():
        return [], []
    begin = np.repeat(pool.first[link], count)
    nth = np.arange(len(begin)) - np.repeat(np.cumsum(count) - count, count)
    turned = np.repeat(turned, count)
    at = begin + np.where(turned, np.repeat(count, count) - 1 - nth, nth)
    curves = pool.curves[at]
    curves[turned] = curves[turned, ::-1]
    straight, backwards = pool.straight[at], pool.backwards[at]
    loop = np.repeat(loop, count)
    opens = np.flatnonzero(np.append(True, loop[1:] != loop[:-1])[: len(loop)])
    ends = np.append(opens[1:], len(loop))
    curves[1:, 0] = curves[:-1, 3]
    curves[opens, 0] = curves[ends - 1, 3]
    mine = [slice(a, b) for a, b in zip(opens.tolist(), ends.tolist(), strict=True)]
    return (loop[opens] // 2).tolist(), [Loop(curves[m], straight[m], backwards[m]) for m in mine]


def _swallowing_discs(stretches: Stretches, sides: Sides, span: Span, tolerance: float) -> list[Loop]:
    """Return the larger end discs of steep stretches that no kept neighbour draws."""
    loops: list[Loop] = []
    steep, grows, r = stretches.steep, stretches.laws.rise[stretches.law] > 0, sides.radius
    for k in (span.first + np.flatnonzero(steep[span.first : span.last])).tolist():
        end = int(grows[k])
        neighbour = k + 1 if grows[k] else k - 1
        if span.first <= neighbour < span.last:
            meets = r[neighbour, 1 - end] >= r[k, end] * (1 - 1e-9)
            if meets and (not steep[neighbour] or grows[neighbour] == grows[k]):
                continue  # drawn by the neighbour, or swallowed by a still larger disc
        loops += disc(complex(sides.centre[k, end]), float(r[k, end]), tolerance)
    return loops


def dot(stroke: Stroke, tolerance: float) -> list[Loop]:
    """Return the disc of a stroke that has no length."""
    return disc(stroke.path.start, float(width_at(stroke.widths, 0.0)) / 2, tolerance)
