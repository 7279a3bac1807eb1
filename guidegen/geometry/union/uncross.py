"""Rings whose curves cross each other by next to nothing are taken apart there, on the curves themselves.

Chords tell which curves bound the ink, but not how curves that nearly coincide cross within the error of their chords:
the two sides of a hair, a fold of an envelope that is thinner than the errors of its fit. Where the pieces of a
drawing's rings do cross, all of them are cut at the crossing and each goes on along the other (the oriented smoothing
of a crossing, by which H. Seifert, 1934, takes a knot's diagram apart into simple circles). That leaves the winding
number of every point as it is. The circles that bound a place wound round other than once or not at all are where the
two curves had changed sides; they are as thin as the errors and left out, and so are slivers that come off.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from guidegen.geometry import cubic as cb
from guidegen.geometry.cubic import Complexes, Floats, Ints
from guidegen.geometry.measure import flatten_curves, winding
from guidegen.geometry.union.pieces import Pieces, after_in_ring, crossings_near, sharp

_SHARP = 0.02  # radians between two curves at a tip
_BLUNT = 0.05  # of the tolerance: how wide a blunt tip is
_COARSE = 60  # times as long errors of chords tell where to look closer
_MOST = 400  # crossings in one drawing: more are no matter of slivers


@dataclass(frozen=True, slots=True)
class _Marks:
    """Crossings (n) of pieces i and j at their parameters s and t, and where."""

    i: Ints
    j: Ints
    s: Floats
    t: Floats
    at: Complexes


def uncrossed(pieces: Pieces, chord: float, tolerance: float) -> Pieces | None:
    """Return the rings of one drawing with none that cross, seen at the chord error ``chord``; None if it can't be."""
    pieces = _blunted(pieces, tolerance)
    marks, nodes = _marks(pieces, chord), _crossed_nodes(pieces, chord)
    if len(marks.i) > _MOST:
        return None
    if not len(marks.i) and not len(nodes):
        return pieces
    return _without_slivers(_smoothed(pieces, marks, nodes), chord, tolerance)


def _blunted(pieces: Pieces, tolerance: float) -> Pieces:
    """Cut off tips where two curves run back along each other, at the width of ``_BLUNT``, and close them by a line.

    Curves that touch with one tangent cross as soon as they are seen as chords.
    """
    after = after_in_ring(pieces.ring)
    n = len(after)
    size = np.abs(np.diff(pieces.curves)).sum(axis=1)
    i = np.flatnonzero(sharp(pieces, _SHARP) & (after != np.arange(n)))
    if not len(i):
        return pieces
    j = after[i]
    share = np.append(0.0, 2.0 ** np.arange(-40, -1.4, 0.5))  # of the shorter one of the two
    short = np.minimum(size[i], size[j])[:, None] * share
    s, t = 1 - _parameter(pieces.curves[i, ::-1], short), _parameter(pieces.curves[j], short)
    gap = np.abs(cb.point(pieces.curves[i], s) - cb.point(pieces.curves[j], t))
    wide = gap >= _BLUNT * tolerance
    at = np.where(wide.any(axis=1), wide.argmax(axis=1), len(share) - 1)
    rows = np.arange(len(i))
    begin, end = np.zeros(n), np.ones(n)
    end[i], begin[j] = s[rows, at], t[rows, at]
    curves = cb.part(pieces.curves, begin, end)
    curves[begin == 0, 0], curves[end == 1, 3] = pieces.curves[begin == 0, 0], pieces.curves[end == 1, 3]
    a, b = curves[i, 3], curves[j, 0]
    lines = np.stack([a, a + (b - a) / 3, b - (b - a) / 3, b], axis=-1)
    real = a != b
    i, lines, where = i[real], lines[real], i[real] + 1  # a line after each of these, ring after ring
    return Pieces(
        np.insert(curves, where, lines, axis=0),
        np.insert(pieces.straight, where, True),
        np.insert(pieces.ring, where, pieces.ring[i]),
    )


def _parameter(c: Complexes, length: Floats) -> Floats:
    """Return about the parameters at these lengths (n, m) from the start of each curve (n, 4)."""
    t = np.append(0.0, 2.0 ** np.arange(-45, 0.1, 0.5))
    run = np.cumsum(np.abs(np.diff(cb.point(c, np.broadcast_to(t, (len(c), len(t)))), prepend=c[:, :1])), axis=1)
    return np.array([np.interp(want, have, t) for want, have in zip(length, run, strict=True)])


def _marks(pieces: Pieces, chord: float) -> _Marks:
    """Return where the chords of the pieces cross other than at a node, moved to where the curves do if those do."""
    import shapely

    a, b, of, t0, t1 = _chords_that_may_meet(pieces, chord)
    ends = np.stack([a, b], axis=1)
    lines = shapely.linestrings(np.stack([ends.real, ends.imag], axis=-1))
    p, q = shapely.STRtree(lines).query(lines, predicate="intersects")
    pair = (p < q) & (a[p] != a[q]) & (b[p] != b[q]) & (a[p] != b[q]) & (b[p] != a[q])
    p, q = p[pair], q[pair]
    dp, dq, gap = (b - a)[p], (b - a)[q], a[q] - a[p]
    cross = (np.conj(dp) * dq).imag
    real = cross != 0
    p, q, dp, dq, gap, cross = (column[real] for column in (p, q, dp, dq, gap, cross))
    m, n = (np.conj(gap) * dq).imag / cross, (np.conj(gap) * dp).imag / cross
    hit = (m > 0) & (m <= 1) & (n > 0) & (n <= 1)
    p, q, m, n, dp = p[hit], q[hit], m[hit], n[hit], dp[hit]
    s, u = (t0[x] + share * (t1[x] - t0[x]) for x, share in ((p, m), (q, n)))
    at = a[p] + m * dp
    i, j = of[p], of[q]
    if len(i):
        on, s1, u1, good = crossings_near(pieces.curves[i], pieces.curves[j], s, u, at)
        # Newton's method may run to another crossing or to a node, which would be cut twice or not at all
        near = (np.abs(s1 - s) <= t1[p] - t0[p]) & (np.abs(u1 - u) <= t1[q] - t0[q])
        inside = (s1 > 0) & (s1 < 1) & (u1 > 0) & (u1 < 1)
        good &= near & inside & ((i != j) | (np.abs(s1 - u1) > 1e-9))
        at, s, u = np.where(good, on, at), np.where(good, s1, s), np.where(good, u1, u)
    return _Marks(i, j, s, u, at)


def _chords_that_may_meet(pieces: Pieces, chord: float) -> tuple[Complexes, Complexes, Ints, Floats, Floats]:
    """Return chords of the pieces (ends, piece, parameters) without most of those that are far from all others.

    A few long chords show where to look: fine ones lie within ``coarse`` of them.
    """
    import shapely

    points, owner, t = flatten_curves(pieces.curves, pieces.straight, chord)
    k = np.flatnonzero((owner[1:] == owner[:-1]) & (points[1:] != points[:-1]))
    a, b, of, t0, t1 = points[k], points[k + 1], owner[k], t[k], t[k + 1]
    coarse = _COARSE * chord
    rough, rough_owner, rough_t = flatten_curves(pieces.curves, pieces.straight, coarse)
    j = np.flatnonzero(rough_owner[1:] == rough_owner[:-1])
    if 4 * len(j) > len(k):
        return a, b, of, t0, t1
    c, d = rough[j], rough[j + 1]
    left, right = np.minimum(c.real, d.real) - coarse, np.maximum(c.real, d.real) + coarse
    low, high = np.minimum(c.imag, d.imag) - coarse, np.maximum(c.imag, d.imag) + coarse
    boxes = shapely.box(left, low, right, high)
    p, q = shapely.STRtree(boxes).query(boxes)
    turn = (np.conj(d - c)[p] * (d - c)[q]).real
    beside = ((d[p] == c[q]) | (c[p] == d[q])) & (turn > 0)  # one goes on where the other ends
    asked = np.zeros(len(j), dtype=bool)
    asked[p[(p != q) & ~beside]] = True
    begins = rough_owner[j] + rough_t[j]
    place = np.searchsorted(begins, of + (t0 + t1) / 2, side="right") - 1
    use = asked[place]
    return a[use], b[use], of[use], t0[use], t1[use]


def _crossed_nodes(pieces: Pieces, chord: float) -> Ints:
    """Return pairs (n, 2) of pieces that end at one node at which the chords of rings cross.

    Rings that touch at a node and run close to each other from there may cross at the node itself.
    """
    after = after_in_ring(pieces.ring)
    start = pieces.curves[:, 0]
    order = np.lexsort((start.imag, start.real))
    same = start[order][1:] == start[order][:-1]
    twin = same & ~np.append(False, same[:-1]) & ~np.append(same[1:], False)  # two pieces and no more
    at = np.flatnonzero(twin)
    if not len(at):
        return np.zeros((0, 2), dtype=np.int64)
    out = np.stack([order[at], order[at + 1]], axis=1)
    before = np.empty_like(after)
    before[after] = np.arange(len(after))
    into = before[out]
    points, owner, _ = flatten_curves(pieces.curves, pieces.straight, chord)
    first = np.searchsorted(owner, np.arange(len(after)))
    last = np.append(first[1:], len(owner)) - 1
    node = start[out]
    leave, arrive = points[first[out] + 1] - node, points[last[into] - 1] - node
    # seen from the first ring's way out, is the second ring's way in on the same side of its way in as the way out?
    turns = [np.angle(way / leave[:, 0]) % (2 * np.pi) for way in (arrive[:, 0], leave[:, 1], arrive[:, 1])]
    crossed = (turns[1] < turns[0]) != (turns[2] < turns[0])
    return np.asarray(into[crossed], dtype=np.int64)


def _smoothed(pieces: Pieces, marks: _Marks, nodes: Ints) -> Pieces:
    """Cut all pieces at the crossings, let each go on along the other, and gather the rings."""
    n, cuts = len(pieces.curves), len(marks.i)
    owner = np.concatenate([np.arange(n), marks.i, marks.j])
    begin = np.concatenate([np.zeros(n), marks.s, marks.t])
    # the piece that begins at a crossing follows the one that ends there on the other curve
    crossing = np.concatenate([np.full(n, -1), np.arange(cuts), np.arange(cuts)])
    order = np.lexsort((begin, owner))
    place = np.empty_like(order)
    place[order] = np.arange(len(order))
    owner, begin, crossing = owner[order], begin[order], crossing[order]
    last = np.append(owner[1:] != owner[:-1], True)
    end = np.where(last, 1.0, np.append(begin[1:], 0.0))
    curves = cb.part(pieces.curves[owner], begin, end)
    start = np.where(crossing < 0, pieces.curves[owner, 0], np.append(marks.at, 0.0)[crossing])
    stop = np.where(last, pieces.curves[owner, 3], np.append(start[1:], 0.0))
    curves[:, 1] += start - curves[:, 0]
    curves[:, 2] += stop - curves[:, 3]
    curves[:, 0], curves[:, 3] = start, stop
    after_piece = after_in_ring(pieces.ring)
    after_piece[nodes] = after_piece[nodes[:, ::-1]]
    follower = np.where(last, place[after_piece[owner]], np.append(np.arange(1, len(owner)), 0))
    at_i, at_j = place[n : n + cuts], place[n + cuts :]
    follower[at_i - 1], follower[at_j - 1] = at_j.copy(), at_i.copy()
    straight = pieces.straight[owner]
    thirds = (stop - start) / 3
    curves[straight, 1], curves[straight, 2] = (start + thirds)[straight], (stop - thirds)[straight]
    chain, ring = _cycles(follower)
    keep = (curves[chain] != curves[chain, :1]).any(axis=1)
    return Pieces(curves[chain][keep], straight[chain][keep], ring[keep])


def _cycles(follower: Ints) -> tuple[Ints, Ints]:
    """Return the numbers of all items, cycle after cycle, and the cycle of each."""
    seen = np.zeros(len(follower), dtype=bool)
    follow = follower.tolist()
    chain: list[int] = []
    ring: list[int] = []
    number = 0
    for k in range(len(follow)):
        if seen[k]:
            continue
        at = k
        while not seen[at]:
            seen[at] = True
            chain.append(at)
            ring.append(number)
            at = follow[at]
        number += 1
    return np.array(chain, dtype=np.int64), np.array(ring, dtype=np.int64)


def _without_slivers(pieces: Pieces, chord: float, tolerance: float) -> Pieces | None:
    """Leave out the rings where curves have changed sides, and thin ones; None if one of the former is not thin."""
    import shapely

    n = int(pieces.ring.max()) + 1 if len(pieces.ring) else 0
    points, owner, t = flatten_curves(pieces.curves, pieces.straight, chord)
    use = t < 1
    z, ring = points[use], pieces.ring[owner[use]]
    first = np.searchsorted(ring, np.arange(n + 1))
    after = after_in_ring(ring)
    area = np.bincount(ring, (np.conj(z) * z[after]).imag / 2, minlength=n)
    around = np.bincount(ring, np.abs(z[after] - z), minlength=n)
    keep = np.ones(n, dtype=bool)
    for k in range(n):
        mine = z[first[k] : first[k + 1]]
        least = (0.05 if area[k] > 0 else 0.4) * tolerance
        if len(mine) < 3 or abs(area[k]) <= 1e-3 * least * around[k]:
            keep[k] = False
            continue
        if abs(area[k]) > tolerance * around[k]:
            continue
        loop = shapely.make_valid(shapely.Polygon(np.stack([mine.real, mine.imag], axis=-1)))
        if shapely.is_empty(shapely.buffer(loop, -least, quad_segs=2)):
            keep[k] = False
            continue
        inner = shapely.point_on_surface(loop)
        turns = int(winding(np.array([complex(inner.x, inner.y)]), z, z[after])[0])
        if turns != (1 if area[k] > 0 else 0):
            if not shapely.is_empty(shapely.buffer(loop, -tolerance, quad_segs=2)):
                return None
            keep[k] = False
    left = keep[pieces.ring]
    number = np.cumsum(keep) - 1
    return Pieces(pieces.curves[left], pieces.straight[left], number[pieces.ring[left]])
