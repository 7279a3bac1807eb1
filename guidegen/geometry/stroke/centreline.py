"""Centrelines cut into smooth pieces by arc length, and into stretches under one width law each, many at once."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from guidegen.geometry import cubic as cb
from guidegen.geometry.cubic import Bools, Complexes, Floats, Ints
from guidegen.geometry.path import Path, Segment
from guidegen.geometry.stroke.radius_spans import Laws, radius, steep_points
from guidegen.geometry.stroke.slow_points import is_plain, slow_points_of, turning_points

_STEEP = 1 - 1e-9  # slopes above this are "one disc swallows the next"
_LEAST = 1e-12  # of a path's length: places nearer to each other are one


@dataclass(frozen=True, slots=True)
class Centreline:
    """A path cut into smooth pieces with their arc lengths."""

    curves: Complexes  # (n, 4)
    straight: list[bool]
    s: Floats  # (n + 1,) arc lengths at the pieces' ends
    run: Floats  # (n, marks) arc lengths within each piece at cubic.MARKS
    closed: bool
    start: complex

    @property
    def length(self) -> float:
        return float(self.s[-1])


@dataclass(frozen=True, slots=True)
class Centrelines:
    """The smooth pieces (n) of many paths (p), in order: no zero lengths, split at cusps, collinear cubics as lines."""

    curves: Complexes  # (n, 4)
    straight: Bools
    plain: Bools  # nowhere slow
    owner: Ints  # (n,) whose piece it is
    first: Ints  # (p + 1,) where each path's pieces begin
    s0: Floats  # (n,) arc lengths from the path's start to the piece's ends
    s1: Floats
    run: Floats  # (n, marks) arc lengths within each piece at cubic.MARKS
    length: Floats  # (p,)
    closed: Bools  # (p,)
    start: Complexes  # (p,)

    def one(self, k: int) -> Centreline:
        """Return one of the centrelines."""
        mine = slice(int(self.first[k]), int(self.first[k + 1]))
        s = np.concatenate([[0.0], self.s1[mine]])
        flags = self.straight[mine].tolist()
        return Centreline(self.curves[mine], flags, s, self.run[mine], bool(self.closed[k]), complex(self.start[k]))


@dataclass(frozen=True, slots=True)
class Cuts:
    """Places where pieces are to be cut, in order: piece, arc length from the path's start, the piece's parameter."""

    piece: Ints
    s: Floats
    t: Floats


@dataclass(frozen=True, slots=True)
class Stretches:
    """Smooth pieces of centreline under one width law each (n), in order along their paths (p)."""

    lines: Centrelines
    laws: Laws
    curves: Complexes  # (n, 4)
    piece: Ints  # (n,) of which piece each is a part, from t0 to t1
    t0: Floats
    t1: Floats
    s0: Floats  # arc lengths from the path's start to the stretch's ends
    s1: Floats
    law: Ints
    first: Ints  # (p + 1,) where each path's stretches begin
    steep: Bools  # one disc swallows the next
    steep_start: Bools  # the slope is 1 at this end: the envelope goes like a square root there
    steep_end: Bools

    @property
    def straight(self) -> Bools:
        return self.lines.straight[self.piece]

    @property
    def owner(self) -> Ints:
        return self.lines.owner[self.piece]

    def s(self, k: Ints, t: Floats) -> Floats:
        """Return the arc lengths at the parameters t (n, m) of the stretches k (n,)."""
        piece, t0 = self.piece[k], self.t0[k]
        whole = t0[:, None] + (self.t1[k] - t0)[:, None] * t
        return self.lines.s0[piece][:, None] + cb.lengths_at(self.lines.curves, cb.MARKS, self.lines.run, piece, whole)

    def radius(self, k: Ints, s: Floats) -> tuple[Floats, Floats, Floats]:
        """Return r, dr/ds and d2r/ds2 at the arc lengths s (n, m) of the stretches k (n,)."""
        return radius(self.laws, self.law[k], s)


def centreline(path: Path) -> Centreline:
    """Return the smooth pieces of a path: no zero lengths, split at cusps, collinear cubics as lines."""
    return centrelines([path]).one(0)


def centrelines(paths: Sequence[Path]) -> Centrelines:
    """Return the centrelines of many paths, measured in one go."""
    segments = [segment for path in paths for segment in path.segments]
    owner = np.repeat(np.arange(len(paths)), [len(path.segments) for path in paths])
    every, straight, plain, source = _smooth_pieces(segments)
    owner = owner[source]
    first = np.searchsorted(owner, np.arange(len(paths) + 1))
    run = _length_tables(every, straight, plain)
    s1 = np.zeros(len(every))
    for a, b in itertools.pairwise(first.tolist()):
        np.cumsum(run[a:b, -1], out=s1[a:b])
    s0 = np.where(np.arange(len(every)) == first[owner], 0.0, np.append(0.0, s1[:-1])[: len(s1)])
    some = first[1:] > first[:-1]
    length = np.zeros(len(paths))
    length[some] = s1[first[1:][some] - 1]
    ends = [(path.segments[0][0], path.segments[-1][-1]) for path in paths]
    closed = np.array([path.closed and a == b for path, (a, b) in zip(paths, ends, strict=True)], dtype=bool) & some
    start = np.array([a for a, _ in ends], dtype=np.complex128)
    return Centrelines(every, straight, plain, owner, first, s0, s1, run, length, closed, start)


def _smooth_pieces(segments: Sequence[Segment]) -> tuple[Complexes, Bools, Bools, Ints]:
    """Return segments as smooth cubics that have length: curves, which are straight, which plain, whose pieces."""
    curves = cb.as_cubics(segments)
    straight = np.array([len(segment) == 2 for segment in segments], dtype=bool)
    plain = ~straight
    plain[plain] = is_plain(curves[plain])
    sized = (curves != curves[:, :1]).any(axis=1)
    kept, odd = np.flatnonzero(sized & (straight | plain)), np.flatnonzero(sized & ~(straight | plain))
    smooth = [_smooth(segments[k], slow) for k, slow in zip(odd.tolist(), slow_points_of(curves[odd]), strict=True)]
    source = np.append(kept, np.repeat(odd, [len(some) for some in smooth]))
    order = np.argsort(source, kind="stable")  # what came of each takes its place
    lines = np.array([flag for some in smooth for _, flag in some], dtype=bool)
    pieces = cb.as_cubics([piece for some in smooth for piece, _ in some])
    every = np.concatenate([curves[kept], pieces])[order]
    flags = np.append(straight[kept], lines)[order], np.append(plain[kept], np.zeros(len(lines), dtype=bool))[order]
    use = (every != every[:, :1]).any(axis=1)
    return every[use], flags[0][use], flags[1][use], source[order][use]


def _length_tables(curves: Complexes, straight: Bools, plain: Bools) -> Floats:
    run = np.zeros((len(curves), len(cb.MARKS)))
    run[straight] = np.abs(curves[straight, 3] - curves[straight, 0])[:, None] * cb.MARKS
    for some, nodes in ((plain, 5), (~straight & ~plain, 12)):
        if some.any():
            run[some] = cb.length_table(curves[some], cb.MARKS, nodes)
    return run


def _smooth(segment: Segment, slow: list[float]) -> list[tuple[Segment, bool]]:
    """Return the smooth pieces of a cubic, which of them are lines; ``slow`` are its slow points."""
    turns = turning_points(segment)
    c = cb.as_cubics([segment])
    if turns is not None:
        ends = cb.point(np.repeat(c, len(turns), axis=0), np.array(turns)).tolist() if turns else []
        chain = [segment[0], *ends, segment[3]]
        return [(cb.as_cubic((a, b)), True) for a, b in itertools.pairwise(chain) if a != b]
    if not slow:
        return [(segment, False)]
    cuts = np.array([0.0, *slow, 1.0])
    parts = cb.part(np.repeat(c, len(cuts) - 1, axis=0), cuts[:-1], cuts[1:])
    parts[0, 0], parts[-1, 3] = segment[0], segment[3]
    return [(tuple(complex(z) for z in p), False) for p in parts]


def cuts_at(lines: Centrelines, owner: Ints, s: Floats) -> Cuts:
    """Return the cuts at arc lengths ``s`` of the paths ``owner``, but for those at pieces' ends or outside."""
    order = np.lexsort((s, owner))
    owner, s = owner[order], s[order]
    least = _LEAST * lines.length[owner]
    new = np.append(True, (owner[1:] != owner[:-1]) | (np.diff(s) > least[1:]))[: len(s)]
    piece = _last_before(lines.owner, lines.s0, owner, s)
    inside = new & (piece >= lines.first[owner]) & (piece >= 0)
    inside &= (s - lines.s0[piece] > least) & (lines.s1[piece] - s > least) if len(lines.s0) else False
    piece, s = piece[inside], s[inside]
    return Cuts(piece, s, cb.parameter_at(lines.curves[piece], s - lines.s0[piece], lines.run[piece]))


def merged(lines: Centrelines, a: Cuts, b: Cuts) -> Cuts:
    """Return both cuts in order, without those of ``b`` that are at one of ``a``."""
    piece, s, t = np.append(a.piece, b.piece), np.append(a.s, b.s), np.append(a.t, b.t)
    added = np.repeat([False, True], [len(a.s), len(b.s)])
    order = np.lexsort((s, piece))
    piece, s, t, added = piece[order], s[order], t[order], added[order]
    least = 2 * _LEAST * lines.length[lines.owner[piece]]
    twin = (piece[1:] == piece[:-1]) & (np.diff(s) <= least[1:])
    drop = np.zeros(len(s), dtype=bool)
    drop[1:] |= twin & added[1:]
    drop[:-1] |= twin & added[:-1] & ~added[1:]
    return Cuts(piece[~drop], s[~drop], t[~drop])


def law_cuts(lines: Centrelines, laws: Laws) -> Cuts:
    """Return the cuts at width knots and where a slope passes 1."""
    rows, s = steep_points(laws)
    return cuts_at(lines, np.append(laws.owner, laws.owner[rows]), np.append(np.maximum(laws.s0, 0.0), s))


def stretches(lines: Centrelines, laws: Laws, cuts: Cuts) -> Stretches:
    """Cut centrelines into stretches; ``cuts`` hold at least those of :func:`law_cuts`."""
    curves, piece, t0, t1 = cb.split_at(lines.curves, cuts.piece, cuts.t)
    begins = np.append(True, piece[1:] != piece[:-1])[: len(piece)]
    s0 = lines.s0[piece]
    s0[~begins] = cuts.s
    s1 = np.append(s0[1:], 0.0)[: len(s0)]
    ends = np.append(begins[1:], True)[: len(piece)]
    s1[ends] = lines.s1[piece[ends]]
    owner = lines.owner[piece]
    law = _last_before(laws.owner, laws.s0, owner, (s0 + s1) / 2)
    first = np.searchsorted(owner, np.arange(len(lines.length) + 1))
    slope = radius(laws, law, ((s0 + s1) / 2)[:, None])[1][:, 0]
    near = _near_steep(laws, owner, np.stack([s0, s1]), lines.length)
    return Stretches(lines, laws, curves, piece, t0, t1, s0, s1, law, first, np.abs(slope) >= _STEEP, near[0], near[1])


_BITS = 4  # of a stretch, in each of which discs follow each other evenly in the parameter
_MOST_DISCS = 5000  # sampled on one bit


def sampled_discs(pieces: Stretches, rows: Ints, sag: float, least: float) -> tuple[Floats, Complexes, Floats]:
    """Return discs all along some stretches: arc length of the stretch's middle, centre, radius.

    Two neighbours leave less than about ``sag`` of ink uncovered between them, where the radius is ``least`` or more.
    """
    knots = np.broadcast_to(np.linspace(0, 1, _BITS + 1), (len(rows), _BITS + 1))
    r = np.maximum(pieces.radius(rows, pieces.s(rows, knots))[0], least)
    along = np.abs(np.diff(cb.point(pieces.curves[rows], knots)))
    way = cb.tangent(pieces.curves[rows], knots)
    along += np.maximum(r[:, 1:], r[:, :-1]) * np.abs(np.angle(way[:, 1:] * np.conj(way[:, :-1])))  # outside of bends
    step = np.sqrt(8 * sag * np.minimum(r[:, 1:], r[:, :-1]))
    count = np.clip(np.ceil(1.5 * along / step), 1, _MOST_DISCS).astype(np.int64).ravel()
    bit = np.repeat(np.arange(len(count)), count)
    t = (bit % _BITS + (np.arange(len(bit)) - np.repeat(np.cumsum(count) - count, count)) / count[bit]) / _BITS
    k = np.concatenate([bit // _BITS, np.arange(len(rows))])  # and the last disc of every stretch
    t = np.append(t, np.ones(len(rows)))
    order = np.lexsort((t, k))
    k, t = k[order], t[order]
    middle = (pieces.s0[rows] + pieces.s1[rows])[k] / 2
    k = rows[k]
    return middle, cb.point(pieces.curves[k], t), pieces.radius(k, pieces.s(k, t[:, None]))[0][:, 0]


def _near_steep(laws: Laws, owner: Ints, s: Floats, length: Floats) -> Bools:
    """Return at which of the arc lengths s (2, n) of paths ``owner`` (n,) a slope passes 1."""
    near = np.zeros(s.shape, dtype=bool)
    rows, steep = steep_points(laws)
    if len(rows):
        whose = laws.owner[rows]
        order = np.lexsort((steep, whose))
        whose, steep = whose[order], steep[order]
        for k in (0, 1):
            for shift in (0, 1):  # the one before, the one after
                at = _last_before(whose, steep, owner, s[k]) + shift
                found = np.minimum(np.maximum(at, 0), len(steep) - 1)
                near[k] |= (whose[found] == owner) & (np.abs(steep[found] - s[k]) <= 2 * _LEAST * length[owner])
    return near


def _last_before(owner: Ints, s: Floats, of: Ints, at: Floats) -> Ints:
    """Return for each place (owner ``of``, arc length ``at``) the last of the sorted places at or before it, or -1."""
    both = np.lexsort((np.append(np.zeros(len(s)), np.ones(len(at))), np.append(s, at), np.append(owner, of)))
    asked = both >= len(s)
    found = np.empty(len(at), dtype=np.int64)
    found[both[asked] - len(s)] = (np.cumsum(~asked) - 1)[asked]
    return found


def corner_pieces(line: Centreline, corner_deg: float) -> list[int]:
    """Return the numbers of the pieces at whose start the tangent turns by more than ``corner_deg``."""
    k = np.arange(1, len(line.curves))
    return [int(n) for n in k[_turns_deg(line.curves, k) > corner_deg]]


def corner_places(lines: Centrelines, corner_deg: float) -> list[list[float]]:
    """Return for each path the arc lengths at which its tangent turns by more than ``corner_deg``."""
    k = np.flatnonzero(lines.owner[1:] == lines.owner[:-1]) + 1
    k = k[_turns_deg(lines.curves, k) > corner_deg]
    found: list[list[float]] = [[] for _ in lines.length]
    for path, s in zip(lines.owner[k].tolist(), lines.s0[k].tolist(), strict=True):
        found[path].append(s)
    return found


def _turns_deg(curves: Complexes, k: Ints) -> Floats:
    """Return by how much the tangent turns from the curve before each of ``k`` to that curve."""
    arriving = cb.tangent(curves[k - 1], np.ones(len(k)))
    leaving = cb.tangent(curves[k], np.zeros(len(k)))
    return np.asarray(np.degrees(np.abs(np.angle(leaving * np.conj(arriving)))))


def lines_at(lines: Centrelines, owner: Ints, s: Floats) -> Complexes:
    """Return the points at arc lengths ``s`` of the paths ``owner``."""
    if not len(s):
        return np.zeros(0, dtype=np.complex128)
    piece = np.maximum(_last_before(lines.owner, lines.s0, owner, s), lines.first[owner])
    points = np.array(lines.start[owner])
    real = lines.first[owner + 1] > lines.first[owner]
    piece, inside = piece[real], s[real] - lines.s0[piece[real]]
    run = lines.run[piece]
    t = cb.parameter_at(lines.curves[piece], np.clip(inside, 0, run[:, -1]), run)
    points[real] = cb.point(lines.curves[piece], np.clip(t, 0, 1))
    return points
