"""Neighbouring pieces of a ring as one cubic where one cubic will do.

Where curves that nearly coincide are taken apart at their crossings, or discs are laid over a crack, a smooth edge is
left in many short pieces. Two neighbours become one if a cubic follows both to within a small part of the tolerance,
measured from the pieces that were there at first, again and again until none can.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from guidegen.geometry import cubic as cb
from guidegen.geometry.cubic import Bools, Complexes, Floats, Ints
from guidegen.geometry.fit import NODES, fit_cubics
from guidegen.geometry.union.pieces import Pieces

JOIN_SHARES = (0.1, 0.02)  # of the tolerance: the second where the first makes rings cross
_ROUNDS = 40
_STEPS = 8  # places on a piece at which the distance is measured
_LONGER = 1.1  # a cubic that is so much longer than the pieces has a loop or a hook
_FIT = 0.6  # of what is allowed: is enough for a first fit


@dataclass(frozen=True, slots=True)
class _Trail:
    """The pieces that there were at first: places along them (``_STEPS`` a piece and the end), lengths up to each."""

    pieces: Pieces
    z: Complexes  # (n, steps + 1)
    run: Floats  # (n, steps + 1) from the first piece's start


def rejoined(pieces: Pieces, allowed: float) -> Pieces:
    """Return the rings with fewer pieces, each within the length ``allowed`` of what was there."""
    n = len(pieces.curves)
    trail = _trail(pieces)
    curves, first, last = pieces.curves.copy(), np.arange(n), np.arange(n)
    straight, ring = pieces.straight.copy(), pieces.ring.copy()
    tried = np.zeros(n, dtype=bool)  # with the piece after it, in vain
    for _ in range(_ROUNDS):
        i = _pairs(ring, tried)
        if not len(i):
            break
        merged, good = _merged(trail, first[i], last[i + 1], allowed)
        tried[i[~good]] = True
        i, merged = i[good], merged[good]
        curves[i], straight[i], last[i], tried[i] = merged, False, last[i + 1], False
        tried[i[i > 0] - 1] = False
        keep = np.ones(len(ring), dtype=bool)
        keep[i + 1] = False
        curves, straight, ring = curves[keep], straight[keep], ring[keep]
        first, last, tried = first[keep], last[keep], tried[keep]
    return Pieces(curves, straight, ring)


def _trail(pieces: Pieces) -> _Trail:
    n = len(pieces.curves)
    t = np.broadcast_to(np.linspace(0, 1, _STEPS + 1), (n, _STEPS + 1))
    z = cb.point(pieces.curves, t)
    z[:, 0], z[:, -1] = pieces.curves[:, 0], pieces.curves[:, 3]
    run = np.zeros(z.shape)
    run[:, 1:] = np.cumsum(np.abs(np.diff(z)), axis=1)
    run += (np.cumsum(run[:, -1]) - run[:, -1])[:, None]
    return _Trail(pieces, z, run)


def _pairs(ring: Ints, tried: Bools) -> Ints:
    """Return the pieces that are to be tried with the one after them, none of them twice; three stay in a ring."""
    can = (ring[1:] == ring[:-1]) & ~tried[:-1] & (np.bincount(ring)[ring[1:]] > 3)
    # every other one of those in a row, and one at a time where a ring has few left
    at = np.arange(len(can))
    new = can & ~np.append(False, can[:-1])
    row = np.maximum.accumulate(np.where(new, at, 0))
    chosen = at[can & ((at - row) % 2 == 0)]
    small = np.bincount(ring)[ring[chosen]] < 8
    once = np.append(True, ring[chosen][1:] != ring[chosen][:-1])[: len(chosen)]
    return np.asarray(chosen[~small | once], dtype=np.int64)


def _merged(trail: _Trail, first: Ints, last: Ints, allowed: float) -> tuple[Complexes, Bools]:
    """Return one cubic each for the pieces first to last, and which of them are near enough to those."""
    begin, end = trail.run[first, 0], trail.run[last, -1]
    flat = trail.run.ravel()
    s = begin[:, None] + (end - begin)[:, None] * NODES
    at = np.clip(np.searchsorted(flat, s, side="right") - 1, 0, len(flat) - 2)
    at -= at % (_STEPS + 1) == _STEPS  # the gap between two pieces holds nothing
    step = flat[at + 1] - flat[at]
    share = np.clip((s - flat[at]) / np.where(step > 0, step, 1), 0, 1)
    piece, t = at // (_STEPS + 1), (at % (_STEPS + 1) + share) / _STEPS
    samples = cb.point(trail.pieces.curves[piece.ravel()], t.ravel()).reshape(s.shape)
    samples[:, 0], samples[:, -1] = trail.z[first, 0], trail.z[last, -1]
    start, stop = _directions(trail, first, last, allowed)
    cubics, _ = fit_cubics(samples, start, stop, np.full(len(first), _FIT * allowed))
    return cubics, _near(trail, first, last, cubics, allowed)


def _directions(trail: _Trail, first: Ints, last: Ints, short: float) -> tuple[Complexes, Complexes]:
    """Return the tangents at both ends, of the nearest piece there that is not too short to have one."""
    size = trail.run[:, -1] - trail.run[:, 0]
    numbers = np.arange(len(size))
    long = np.where(size > short, numbers, len(size))
    ahead = np.minimum.accumulate(long[::-1])[::-1]
    behind = np.maximum.accumulate(np.where(size > short, numbers, -1))
    a = np.where(ahead[first] <= last, np.minimum(ahead[first], len(size) - 1), first)
    b = np.where(behind[last] >= first, behind[last], last)
    curves, one = trail.pieces.curves, np.ones(len(first))
    return cb.tangent(curves[a], 0 * one), cb.tangent(curves[b], one)


def _near(trail: _Trail, first: Ints, last: Ints, cubics: Complexes, allowed: float) -> Bools:
    """Return which cubics lie within ``allowed`` of all places on their pieces, and are hardly longer."""
    count = (last - first + 1) * (_STEPS + 1)
    k = np.repeat(np.arange(len(first)), count)
    place = np.arange(count.sum()) + np.repeat(first * (_STEPS + 1) - (np.cumsum(count) - count), count)
    z, s = trail.z.ravel()[place], trail.run.ravel()[place]
    begin, length = trail.run[first, 0], trail.run[last, -1] - trail.run[first, 0]
    t = np.linspace(0, 1, 33)
    walk = np.abs(np.diff(cb.point(cubics, np.broadcast_to(t, (len(cubics), 33)))))
    run = np.zeros((len(cubics), 33))
    run[:, 1:] = np.cumsum(walk, axis=1)
    whole = np.maximum(run[:, -1], 1e-300)
    want = (s - begin[k]) / np.maximum(length[k], 1e-300)  # share of the length, a first guess of the foot
    flat = (run / whole[:, None] + 2 * np.arange(len(cubics))[:, None]).ravel()
    at = np.clip(np.searchsorted(flat, want + 2 * k, side="right") - 1, 33 * k, 33 * k + 31)
    gap = flat[at + 1] - flat[at]
    u = (at - 33 * k + np.clip((want + 2 * k - flat[at]) / np.where(gap > 0, gap, 1), 0, 1)) / 32
    mine = cubics[k]
    far = np.abs(cb.point(mine, u) - z)
    for _ in range(4):
        d = cb.derivative(mine, u)
        u = np.clip(u - ((cb.point(mine, u) - z) * np.conj(d)).real / np.maximum(np.abs(d) ** 2, 1e-300), 0, 1)
        far = np.minimum(far, np.abs(cb.point(mine, u) - z))
    worst = np.maximum.reduceat(far, np.cumsum(count) - count)
    return np.asarray((worst <= allowed) & (whole <= _LONGER * length + allowed))
