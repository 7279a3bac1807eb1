"""Put curves back where their chords bound an area (the last steps of :mod:`guidegen.geometry.union.unite`)."""

from __future__ import annotations

import itertools

import numpy as np

from guidegen.geometry import cubic as cb
from guidegen.geometry.cubic import Bools, Complexes, Floats, Ints
from guidegen.geometry.path import Outline, Path, Segment
from guidegen.geometry.union.board import Board, Chords
from guidegen.geometry.union.boundary_runs import Runs, mended, neighbours, runs_of
from guidegen.geometry.union.clearance import clear_errors
from guidegen.geometry.union.faces import Rings
from guidegen.geometry.union.pieces import (
    NOTHING,
    Pieces,
    are_valid,
    around,
    crossings_near,
    cusped,
    loops_of,
    overlapping,
    sharp,
    shorter,
    touching,
)
from guidegen.geometry.union.rejoined import JOIN_SHARES, rejoined
from guidegen.geometry.union.sure_ink import SURE_SHARE
from guidegen.geometry.union.uncross import uncrossed

#: Parts of the tolerance at which rings are looked at: that curves cross may hide at one of them.
LOOKS = (50, 400)
CLOSER_LOOK = 3000  # where two curves run along each other from a tip or a node where rings touch, or are tiny
_TIP = 0.15  # radians between them
_TINY = 20  # parts of the tolerance: a cap that is so small hides in chords, too
_FEW = 6  # pieces shorter than the tolerance that a drawing may have
_NO_LENGTH = 1e-3  # of a chord error


def curved(
    rings: Rings,
    owner: Ints,
    board: Board,
    chords: Chords,
    chord: float,
    tolerance: float,
    unsound: Bools,
    *,
    careful: bool,
) -> list[Outline | None]:
    """Return for each drawing its rings with curves in place of their chords (``owner`` from ``sources``).

    None for the drawings that are ``unsound``, and where a ring did not keep its area to within some chord errors, or
    crosses itself or another seen at a small part of the chord error and could not be taken apart: finer chords are
    needed. With ``careful``, drawings of very many short pieces get fewer.
    """
    shift = board.shift[board.drawing]
    runs = mended(runs_of(rings, owner, chords), rings, board.curves, shift, chord)
    pieces = _joined_lines(_pieces(runs, board, shift, chord, tolerance), chord)
    count = len(board.drawings)
    failed = unsound.copy()
    failed[rings.drawing[_lost_area(pieces, rings, 2 * chord)]] = True
    crossed = _crossed(pieces, rings.drawing, board.shift, tolerance) & ~failed
    paths = _paths(pieces, len(rings.drawing))
    result: list[Outline | None] = [None] * count
    first = np.searchsorted(rings.drawing, np.arange(count + 1))
    begins = np.searchsorted(pieces.ring, first)
    short = shorter(pieces, tolerance)
    few, every = (np.bincount(rings.drawing[ring], minlength=count) for ring in (pieces.ring[short], pieces.ring))
    ragged = (few > np.maximum(_FEW, every / 2)) & careful
    for k in np.flatnonzero(~failed).tolist():
        if not crossed[k] and not ragged[k]:
            result[k] = tuple(paths[first[k] : first[k + 1]])
            continue
        mine = slice(begins[k], begins[k + 1])
        alone = Pieces(pieces.curves[mine], pieces.straight[mine], pieces.ring[mine] - first[k])
        result[k] = _taken_apart(alone, tolerance) if crossed[k] else _with_fewer(alone, tolerance)
    return result


def _crossed(pieces: Pieces, drawing: Ints, shift: Complexes, tolerance: float) -> Bools:
    """Return the drawings with a ring that crosses itself or another; ``drawing`` is that of every ring.

    Chords are fine where pieces may cross: coarse ones show the others, rings of none but others are left out.
    """
    crossed = np.zeros(len(shift), dtype=bool)
    of_piece = drawing[pieces.ring]
    coarse = np.minimum(clear_errors(pieces, shift[of_piece], tolerance / LOOKS[0]), tolerance)
    ring = np.bincount(pieces.ring, coarse == 0, minlength=len(drawing)) > 0
    if not ring.any():
        return crossed
    for part in LOOKS:
        fine = tolerance / part
        _look(crossed, pieces, drawing, ring, shift, np.maximum(coarse, fine), fine)
    small = shorter(pieces, tolerance / _TINY)
    close = sharp(pieces, _TIP) | cusped(pieces, _TIP) | touching(pieces, of_piece, _TIP)
    whole, some = np.zeros(len(shift), dtype=bool), np.zeros(len(shift), dtype=bool)
    whole[of_piece[close]] = True
    some[of_piece[small | close]] = True
    some &= ~crossed
    ring &= some[drawing]
    if ring.any():
        fine = tolerance / CLOSER_LOOK
        near = whole[of_piece] | around(pieces, of_piece, small & some[of_piece], tolerance)
        error = np.where(near, fine, tolerance / LOOKS[-1])
        _look(crossed, pieces, drawing, ring, shift, np.maximum(coarse, error), fine)
    return crossed


def _look(
    crossed: Bools, pieces: Pieces, drawing: Ints, some: Bools, shift: Complexes, error: Floats, fine: float
) -> None:
    """Mark the drawings ``crossed`` of which some rings cross, seen with the chord error of every piece."""
    use = some[pieces.ring]
    pieces = Pieces(pieces.curves[use], pieces.straight[use], (np.cumsum(some) - 1)[pieces.ring[use]])
    drawing = drawing[some]
    loops = loops_of(pieces, shift[drawing], error[use])
    valid = are_valid(loops)
    crossed[drawing[~valid]] = True
    crossed[overlapping(loops, valid, drawing, NOTHING * fine * fine)] = True


def _taken_apart(pieces: Pieces, tolerance: float) -> Outline | None:
    """Return the rings of one drawing taken apart where they cross, None if they still do."""
    for _ in range(2):
        for part in (CLOSER_LOOK, *LOOKS[::-1]):
            apart = uncrossed(pieces, tolerance / part, tolerance)
            if apart is None:
                return None
            pieces = apart
        if _are_apart(pieces, tolerance):
            return _with_fewer(pieces, tolerance)
    return None


def _with_fewer(pieces: Pieces, tolerance: float) -> Outline:
    """Return rings that do not cross with fewer pieces, if that does not make them cross."""
    for share in JOIN_SHARES:
        fewer = rejoined(pieces, share * tolerance)
        if _are_apart(fewer, tolerance):
            return _outline(fewer)
    return _outline(pieces)


def _are_apart(pieces: Pieces, tolerance: float) -> bool:
    """Return whether no rings of one drawing cross."""
    one = np.zeros(int(pieces.ring.max()) + 1 if len(pieces.ring) else 0, dtype=np.int64)
    return not _crossed(pieces, one, np.zeros(1, dtype=np.complex128), tolerance)[0]


def _outline(pieces: Pieces) -> Outline:
    return tuple(_paths(pieces, int(pieces.ring.max()) + 1 if len(pieces.ring) else 0))


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
    pieces = Pieces(cb.as_cubics(segments), np.array([len(s) == 2 for s in segments]), ring)
    loops = loops_of(pieces, np.zeros(len(outline), dtype=np.complex128), chord)
    valid, together = are_valid(loops), np.zeros(len(outline), dtype=np.int64)
    return bool(valid.all()) and not len(overlapping(loops, valid, together, NOTHING * chord * chord))


def _pieces(runs: Runs, board: Board, shift: Complexes, chord: float, tolerance: float) -> Pieces:
    """Return the pieces of curve, joined exactly: at their intersection, or midway where there is none.

    Pieces stand where the curves were drawn.
    """
    kept = runs.size > chord / 20
    some = np.zeros(runs.ring.max() + 1, dtype=bool)
    some[runs.ring[kept]] = True
    runs = runs.pick(kept | ~some[runs.ring])
    _, after, count = runs.neighbours()
    away = (count < 2) & (np.abs(runs.start - runs.end) > chord)  # no ring at all
    nodes, a, b = _meetings(runs, board, shift, chord, tolerance)
    for _ in range(5):  # what is left of a run may be nothing but rounding
        none = np.flatnonzero((np.abs(nodes - nodes[after]) < _NO_LENGTH * chord) & (nodes != nodes[after]))
        nodes[none] = nodes[after[none]]
    start, end = nodes, nodes[after]
    use = ((start != end) | (count == 1)) & ~away
    curve, start, end = runs.curve[use], start[use], end[use]
    curves = cb.part(board.curves[curve], a[use], b[use])
    # where its ends had to be moved as far as it is long, a piece would go there and back
    moved = np.abs(start - curves[:, 0]) + np.abs(end - curves[:, 3])
    straight = board.straight[curve] | (moved > 0.5 * np.abs(np.diff(curves)).sum(axis=1))
    curves[:, 1] += start - curves[:, 0]
    curves[:, 2] += end - curves[:, 3]
    thirds = (end - start) / 3
    curves[:, 1] = np.where(straight, start + thirds, curves[:, 1])
    curves[:, 2] = np.where(straight, end - thirds, curves[:, 2])
    curves[:, 0], curves[:, 3] = start, end
    return Pieces(curves, straight, runs.ring[use])


def _meetings(
    runs: Runs, board: Board, shift: Complexes, chord: float, tolerance: float
) -> tuple[Complexes, Floats, Floats]:
    """Return where each run meets the one before it, and the parameters of all runs at their two ends.

    Curves that were drawn end to end meet there; others where they cross, found by Newton's method; the rest midway
    between the ends of their chords, and keep their parameters. So do those whose crossing lies in sure ink: where two
    curves cross at next to no angle, it may be far from where their chords do, past an edge that crosses both.
    """
    before, _, _ = runs.neighbours()
    curves = board.curves
    p, q = curves[runs.curve[before]], curves[runs.curve]
    u, v = runs.b[before], runs.a
    where = (runs.end[before] + runs.start) / 2 - shift[runs.curve]
    ends = (u == 1) & (v == 0) & (p[:, 3] == q[:, 0])
    starts = (u == 0) & (v == 1) & (p[:, 0] == q[:, 3])
    nodes = np.where(ends, q[:, 0], np.where(starts, q[:, 3], where))
    k = np.flatnonzero(~(ends | starts))
    if not len(k):
        return nodes, runs.a, runs.b
    on, s, t, good = crossings_near(p[k], q[k], u[k], v[k], where[k])
    good &= (s >= -1e-9) & (s <= 1 + 1e-9) & (t >= -1e-9) & (t <= 1 + 1e-9)
    from_a, from_b = runs.a[before[k]], runs.b[before[k]]
    good &= ((s - from_a) * (from_b - from_a) > 0) & ((runs.b[k] - t) * (runs.b[k] - runs.a[k]) > 0)
    off = np.abs(on - where[k])
    good &= off <= 20 * chord
    far = np.flatnonzero(good & (off > tolerance / 2))
    good[far] = ~board.in_sure_ink(on[far], board.drawing[runs.curve[k[far]]], SURE_SHARE * tolerance)
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


def _joined_lines(pieces: Pieces, chord: float) -> Pieces:
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
    return Pieces(curves[~gone], pieces.straight[~gone], pieces.ring[~gone])


def _go_on(first: Complexes, then: Complexes, chord: float) -> Bools:
    """Return which second lines (as cubics) go on in the direction of the first."""
    whole, step = then[:, 3] - first[:, 0], first[:, 3] - first[:, 0]
    size = np.abs(whole)
    ahead = (size > 0) & ((whole * np.conj(step)).real > 0)
    return np.asarray(ahead & (np.abs((np.conj(whole) * step).imag) < 1e-4 * chord * size))


def _lost_area(pieces: Pieces, rings: Rings, allowed: float) -> Bools:
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


def _paths(pieces: Pieces, count: int) -> list[Path]:
    segments: list[Segment] = [
        (c[0], c[3]) if line else tuple(c)
        for c, line in zip(pieces.curves.tolist(), pieces.straight.tolist(), strict=True)
    ]
    first = np.searchsorted(pieces.ring, np.arange(count + 1)).tolist()
    return [Path(tuple(segments[a:b]), closed=True) for a, b in itertools.pairwise(first)]
