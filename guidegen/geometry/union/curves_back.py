"""Put curves back where their chords bound an area (the last steps of :mod:`guidegen.geometry.union.filled`)."""

from __future__ import annotations

import itertools
from dataclasses import dataclass

import numpy as np

from guidegen.geometry import cubic as cb
from guidegen.geometry.cubic import Bools, Complexes, Floats, Ints
from guidegen.geometry.measure import flatten_curves
from guidegen.geometry.path import Outline, Path, Segment
from guidegen.geometry.union.board import Board, Chords
from guidegen.geometry.union.boundary_runs import Runs, mended, neighbours, runs_of
from guidegen.geometry.union.faces import Rings

_NOTHING = 1e-9  # of a squared chord error: far above what rounding makes of loops that touch


@dataclass(frozen=True, slots=True)
class _Pieces:
    """The segments of all rings as cubics (n, 4), which are straight, and the ring of each."""

    curves: Complexes
    straight: Bools
    ring: Ints


def curved(rings: Rings, owner: Ints, board: Board, chords: Chords, chord: float) -> list[Outline | None]:
    """Return for each drawing its rings with curves in place of their chords (``owner`` from ``sources``).

    None where a ring did not keep its area to within some chord errors, or crosses itself or another seen at a
    small part of the chord error: finer chords are needed.
    """
    shift = board.shift[board.drawing]
    runs = mended(runs_of(rings, owner, chords), rings, board.curves, shift, chord)
    pieces = _joined_lines(_pieces(runs, board, shift, chord), chord)
    bad = _lost_area(pieces, rings, 2 * chord)
    failed = np.zeros(len(board.drawings), dtype=bool)
    for fine in (chord / 8, chord / 64):  # chords of curves that nearly touch may hide at one fineness that they cross
        loops = _loops(pieces, board.shift[rings.drawing], fine)
        bad |= ~_valid(loops)
        failed[_overlapping(loops, rings.drawing, _NOTHING * fine * fine)] = True
    failed[rings.drawing[bad]] = True
    paths = _paths(pieces, len(bad))
    result: list[Outline | None] = [None if fail else () for fail in failed.tolist()]
    first = np.searchsorted(rings.drawing, np.arange(len(failed) + 1)).tolist()
    for k in np.flatnonzero(~failed).tolist():
        result[k] = tuple(paths[first[k] : first[k + 1]])
    return result


def straight_outline(rings: list[Complexes]) -> Outline:
    """Return the rings as they are."""
    return tuple(
        Path(tuple((complex(a), complex(b)) for a, b in zip(r, np.roll(r, -1), strict=True)), closed=True)
        for r in rings
    )


def is_clean(outline: Outline, chord: float) -> bool:
    """True if no loop of the outline crosses itself or another, seen at chord error ``chord``."""
    if not outline:
        return True
    segments = [s for path in outline for s in path.segments]
    ring = np.repeat(np.arange(len(outline)), [len(path.segments) for path in outline])
    pieces = _Pieces(cb.as_cubics(segments), np.array([len(s) == 2 for s in segments]), ring)
    loops = _loops(pieces, np.zeros(len(outline), dtype=np.complex128), chord)
    together = np.zeros(len(outline), dtype=np.int64)
    return bool(_valid(loops).all()) and not len(_overlapping(loops, together, _NOTHING * chord * chord))


def _pieces(runs: Runs, board: Board, shift: Complexes, chord: float) -> _Pieces:
    """Return the pieces of curve, joined exactly: at their intersection, or midway where there is none.

    Pieces stand where the curves were drawn.
    """
    kept = runs.size > chord / 20
    some = np.zeros(runs.ring.max() + 1, dtype=bool)
    some[runs.ring[kept]] = True
    runs = runs.pick(kept | ~some[runs.ring])
    _, after, count = runs.neighbours()
    away = (count < 2) & (np.abs(runs.start - runs.end) > chord)  # no ring at all
    nodes, a, b = _meetings(runs, board.curves, shift, chord)
    start, end = nodes, nodes[after]
    use = ((start != end) | (count == 1)) & ~away
    curve, start, end = runs.curve[use], start[use], end[use]
    straight = board.straight[curve]
    curves = cb.part(board.curves[curve], a[use], b[use])
    curves[:, 1] += start - curves[:, 0]
    curves[:, 2] += end - curves[:, 3]
    thirds = (end - start) / 3
    curves[:, 1] = np.where(straight, start + thirds, curves[:, 1])
    curves[:, 2] = np.where(straight, end - thirds, curves[:, 2])
    curves[:, 0], curves[:, 3] = start, end
    return _Pieces(curves, straight, runs.ring[use])


def _meetings(runs: Runs, curves: Complexes, shift: Complexes, chord: float) -> tuple[Complexes, Floats, Floats]:
    """Return where each run meets the one before it, and the parameters of all runs at their two ends.

    Curves that were drawn end to end meet there; others where they cross, found by Newton's method; the rest midway
    between the ends of their chords, and keep their parameters.
    """
    before, _, _ = runs.neighbours()
    p, q = curves[runs.curve[before]], curves[runs.curve]
    u, v = runs.b[before], runs.a
    where = (runs.end[before] + runs.start) / 2 - shift[runs.curve]
    ends = (u == 1) & (v == 0) & (p[:, 3] == q[:, 0])
    starts = (u == 0) & (v == 1) & (p[:, 0] == q[:, 3])
    nodes = np.where(ends, q[:, 0], np.where(starts, q[:, 3], where))
    k = np.flatnonzero(~(ends | starts))
    if not len(k):
        return nodes, runs.a, runs.b
    on, s, t, good = _crossings(p[k], q[k], u[k], v[k], where[k])
    good &= (s >= -1e-9) & (s <= 1 + 1e-9) & (t >= -1e-9) & (t <= 1 + 1e-9)
    from_a, from_b = runs.a[before[k]], runs.b[before[k]]
    good &= ((s - from_a) * (from_b - from_a) > 0) & ((runs.b[k] - t) * (runs.b[k] - runs.a[k]) > 0)
    good &= np.abs(on - where[k]) <= 20 * chord
    a, b = _moved(runs, k[good], before, s[good], t[good])
    wrong = (b - a) * (runs.b - runs.a) < 0  # both ends moved past each other: leave them where the chords end
    if wrong.any():
        good &= ~(wrong[k] | wrong[before[k]])
        a, b = _moved(runs, k[good], before, s[good], t[good])
    nodes[k[good]] = on[good]
    return nodes, a, b


def _moved(runs: Runs, k: Ints, before: Ints, s: Floats, t: Floats) -> tuple[Floats, Floats]:
    a, b = runs.a.copy(), runs.b.copy()
    a[k], b[before[k]] = np.clip(t, 0, 1), np.clip(s, 0, 1)
    return a, b


def _crossings(
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


def _joined_lines(pieces: _Pieces, chord: float) -> _Pieces:
    """Join consecutive lines that go on straight."""
    before, _, count = neighbours(pieces.ring)
    along = pieces.straight[before] & pieces.straight & (count > 1)
    along[along] = _go_on(pieces.curves[before[along]], pieces.curves[along], chord)
    joins = np.flatnonzero(along).tolist()
    if not joins:
        return pieces
    curves, gone, at = pieces.curves.copy(), np.zeros(len(along), dtype=bool), before.copy()
    for k in joins:  # rarely more than a few
        last = int(at[k])
        while gone[last]:
            last = int(at[last])
        if last == k or not _go_on(curves[[last]], curves[[k]], chord)[0]:
            continue
        if last > k:  # across the ring's beginning: the first piece takes the last one in
            start, kept, dropped = curves[last, 0], k, last
            curves[kept, 0] = start
        else:
            kept, dropped = last, k
            curves[kept, 3] = curves[k, 3]
        gone[dropped] = True
        thirds = (curves[kept, 3] - curves[kept, 0]) / 3
        curves[kept, 1], curves[kept, 2] = curves[kept, 0] + thirds, curves[kept, 3] - thirds
    return _Pieces(curves[~gone], pieces.straight[~gone], pieces.ring[~gone])


def _go_on(first: Complexes, then: Complexes, chord: float) -> Bools:
    """Return which second lines (as cubics) go on in the direction of the first."""
    whole, step = then[:, 3] - first[:, 0], first[:, 3] - first[:, 0]
    size = np.abs(whole)
    ahead = (size > 0) & ((whole * np.conj(step)).real > 0)
    return np.asarray(ahead & (np.abs((np.conj(whole) * step).imag) < 1e-4 * chord * size))


def _lost_area(pieces: _Pieces, rings: Rings, allowed: float) -> Bools:
    """Return the rings that enclose another area than their vertices do, by over ``allowed`` times their length."""
    n = len(rings.first) - 1
    x, w = np.polynomial.legendre.leggauss(3)  # exact: u dv is of degree five
    t = np.broadcast_to((x + 1) / 2, (len(pieces.curves), 3))
    z, dz = cb.point(pieces.curves, t), cb.derivative(pieces.curves, t)
    share = (np.conj(z) * dz).imag @ w / 4
    now = np.bincount(pieces.ring, share, minlength=n)
    origin = rings.z[rings.first[:-1]][rings.of_vertex]
    start, end = rings.z - origin, rings.z[rings.after] - origin
    was = np.bincount(rings.of_vertex, (np.conj(start) * end).imag / 2, minlength=n)
    around = np.bincount(rings.of_vertex, np.abs(end - start), minlength=n)
    few = np.bincount(pieces.ring, minlength=n) < 2
    return np.asarray(few | (np.abs(now - was) > allowed * around))


def _loops(pieces: _Pieces, shift: Complexes, chord: float) -> np.ndarray:
    """Return every ring as a polygon of shapely at chord error ``chord``; None where it has no three vertices."""
    import shapely

    points, owner, t = flatten_curves(pieces.curves, pieces.straight, chord)
    use = t < 1
    ring = pieces.ring[owner[use]]
    z = points[use] + shift[ring]
    n = len(shift)
    enough = np.bincount(ring, minlength=n) >= 3
    loops = np.full(n, None, dtype=object)
    if enough.any():
        use = enough[ring]
        place = np.cumsum(enough) - 1
        lines = shapely.linearrings(np.stack([z.real, z.imag], axis=-1)[use], indices=place[ring[use]])
        loops[enough] = shapely.polygons(lines)
    return loops


def _valid(loops: np.ndarray) -> Bools:
    import shapely

    return np.asarray(shapely.is_valid(loops))  # False for None


def _overlapping(loops: np.ndarray, drawing: Ints, nothing: float) -> Ints:
    """Return the drawings of which two loops cross; they may touch, and in rounding share an area of ``nothing``."""
    import shapely

    real = np.flatnonzero(_valid(loops))
    if len(real) < 2:
        return np.zeros(0, dtype=np.int64)
    tree = shapely.STRtree(loops[real])
    a, b = real[tree.query(loops[real], predicate="intersects")]
    pair = (a < b) & (drawing[a] == drawing[b])
    a, b = a[pair], b[pair]
    crossing = shapely.overlaps(loops[a], loops[b])
    a, b = a[crossing], b[crossing]
    return np.asarray(drawing[a[shapely.area(shapely.intersection(loops[a], loops[b])) > nothing]])


def _paths(pieces: _Pieces, count: int) -> list[Path]:
    segments: list[Segment] = [
        (c[0], c[3]) if line else tuple(c)
        for c, line in zip(pieces.curves.tolist(), pieces.straight.tolist(), strict=True)
    ]
    first = np.searchsorted(pieces.ring, np.arange(count + 1)).tolist()
    return [Path(tuple(segments[a:b]), closed=True) for a, b in itertools.pairwise(first)]
