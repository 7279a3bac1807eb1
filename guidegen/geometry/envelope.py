"""The raw contour of a disc stroke: the envelope of the discs, with caps and joints, as closed loops.

For discs of radius r(s) along c(s), s the arc length, T and N the unit tangent and left normal, |r'| < 1:

    b±(s) = c + r n±,   n± = -r' T ± sqrt(1 - r'^2) N = T exp(±i a),   cos a = -r',

which is where neighbouring discs of the family meet. With k the curvature and a' = r''/sin a,
b+' = -i n+ (sin a - r k - r a') and b-' = i n- (sin a + r k - r a'): the tangents are known everywhere,
and the envelope has a cusp where a bracket changes its sign.

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
import math
from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np

from guidegen.geometry import cubic as cb
from guidegen.geometry.cubic import Bools, Complexes, Floats, Ints
from guidegen.geometry.fit import fit_pieces
from guidegen.geometry.path import Path, Segment
from guidegen.geometry.stroke import Stroke, Widths
from guidegen.geometry.widths import Law, LawTable, radius, radius_laws, steep_points, table, width_at

_STEEP = 1 - 1e-9  # slopes above this are "one disc swallows the next"


@dataclass(frozen=True, slots=True)
class Loop:
    """A closed chain of curves (n, 4), with which of them are straight; ``hidden`` loops count but bound nothing."""

    curves: Complexes
    straight: Bools
    hidden: bool = False


@dataclass(frozen=True, slots=True)
class Stretch:
    """A smooth piece of centreline under one width law, from arc length s0 to s1."""

    curve: Segment  # four points
    straight: bool
    s0: float
    s1: float
    law: Law
    steep_start: bool = False  # the slope is 1 at this end: the envelope goes like a square root there
    steep_end: bool = False

    def r(self, s: float) -> float:
        u = min(max((s - self.law.s0) / (self.law.s1 - self.law.s0), 0.0), 1.0) if self.law.low != self.law.high else 0
        return self.law.low + (self.law.high - self.law.low) * (u * u * (3 - 2 * u) if self.law.eased else u)

    def slope(self, s: float) -> float:
        if self.law.low == self.law.high:
            return 0.0
        run = self.law.s1 - self.law.s0
        u = min(max((s - self.law.s0) / run, 0.0), 1.0)
        return (self.law.high - self.law.low) / run * (6 * u * (1 - u) if self.law.eased else 1.0)


@dataclass(frozen=True, slots=True)
class Centreline:
    """A path cut into smooth pieces with their arc lengths."""

    curves: Complexes  # (n, 4)
    straight: list[bool]
    s: Floats  # (n + 1,)
    closed: bool
    start: complex

    @property
    def length(self) -> float:
        return float(self.s[-1])


def centreline(path: Path) -> Centreline:
    """Return the smooth pieces of a path: no zero lengths, split at cusps, collinear cubics as lines."""
    pieces: list[Segment] = []
    straight: list[bool] = []
    for segment in path.segments:
        for piece, is_line in _smooth(segment):
            if max(abs(z - piece[0]) for z in piece) > 0:
                pieces.append(piece)
                straight.append(is_line)
    curves = cb.as_cubics(pieces)
    n = len(curves)
    length = cb.length_table(curves, cb.MARKS)[:, -1] if n else np.zeros(0)
    closed = path.closed and n > 0 and path.segments[0][0] == path.segments[-1][-1]
    return Centreline(curves, straight, np.concatenate([[0.0], np.cumsum(length)]), closed, path.segments[0][0])


def _smooth(segment: Segment) -> list[tuple[Segment, bool]]:
    if len(segment) == 2:
        return [(cb.as_cubic(segment), True)]
    turns = cb.turning_points(segment)
    c = cb.as_cubics([segment])
    if turns is not None:
        ends = cb.point(np.repeat(c, len(turns), axis=0), np.array(turns)).tolist() if turns else []
        chain = [segment[0], *ends, segment[3]]
        return [(cb.as_cubic((a, b)), True) for a, b in zip(chain, chain[1:], strict=False) if a != b]
    cuts = np.array([0.0, *cb.slow_points(segment), 1.0])
    parts = cb.part(np.repeat(c, len(cuts) - 1, axis=0), cuts[:-1], cuts[1:])
    parts[0, 0], parts[-1, 3] = segment[0], segment[3]
    return [(tuple(complex(z) for z in p), False) for p in parts]


def stretches(line: Centreline, widths: Widths, more: tuple[float, ...] = ()) -> list[Stretch]:
    """Cut a centreline at its width knots, at slopes of 1 and at the arc lengths ``more``."""
    laws = radius_laws(widths, line.length)
    steep = {s for law in laws for s in steep_points(law)}
    cuts = sorted({s for law in laws for s in (law.s0, law.s1) if 0 < s < line.length} | steep | set(more))
    result: list[Stretch] = []
    least = 1e-12 * line.length
    piece_of = np.searchsorted(line.s, cuts, side="right") - 1
    for k in range(len(line.curves)):
        low, high = float(line.s[k]), float(line.s[k + 1])
        inner = [s for s, at in zip(cuts, piece_of.tolist(), strict=True) if at == k and low + least < s < high - least]
        marks = [low, *inner, high]
        curves = line.curves[k : k + 1]
        if inner:
            t = cb.parameter_at(np.repeat(curves, len(inner), axis=0), np.array(inner) - low)
            t = np.concatenate([[0.0], t, [1.0]])
            ends = curves[0, 0], curves[0, 3]
            curves = cb.part(np.repeat(curves, len(t) - 1, axis=0), t[:-1], t[1:])
            curves[0, 0], curves[-1, 3] = ends
        for curve, s0, s1 in zip(curves, marks, marks[1:], strict=False):
            law = next((q for q in laws if q.s0 <= (s0 + s1) / 2 <= q.s1), laws[-1])
            near = [any(abs(s - e) <= 2 * least for e in steep) for s in (s0, s1)]
            result.append(Stretch(tuple(complex(z) for z in curve), line.straight[k], s0, s1, law, near[0], near[1]))
    return result


@dataclass(slots=True)
class _End:
    """What a joint needs to know of a stretch's end: disc, tangent direction, a."""

    centre: complex
    r: float
    tangent: complex
    a: float


@dataclass(slots=True)
class Sides:
    """The fitted envelope of one stretch: right forward, left forward."""

    right: Complexes
    left: Complexes
    straight: bool
    start: _End
    end: _End
    stretch: Stretch = field(repr=False)


def is_steep(stretch: Stretch) -> bool:
    """True where one disc swallows the next."""
    return abs(stretch.slope((stretch.s0 + stretch.s1) / 2)) >= _STEEP


def disc(centre: complex, r: float, tolerance: float, *, hidden: bool = False) -> list[Loop]:
    """Return the circle as a loop, nothing if it has no size."""
    curves = cb.arc(centre, r, 0.0, 2 * math.pi, tolerance)
    if not len(curves):
        return []
    curves[-1, 3] = curves[0, 0]
    return [Loop(curves, np.zeros(len(curves), dtype=bool), hidden)]


def fit_sides(pieces: list[Stretch], tolerance: float) -> list[Sides]:
    """Fit both envelopes of all stretches at once."""
    n = len(pieces)
    if not n:
        return []
    curves = cb.as_cubics([p.curve for p in pieces])
    laws = table([p.law for p in pieces])
    ends = [_ends(p) for p in pieces]
    curved = np.array([not p.straight or p.law.eased for p in pieces])
    sides: list[list[Complexes]] = [[np.zeros((0, 4), dtype=np.complex128)] * n for _ in range(2)]
    if curved.any():
        index = np.flatnonzero(curved)
        fitted = _fit_curved(curves[index], laws, index, pieces, tolerance)
        for side in (0, 1):
            for where, k in enumerate(index.tolist()):
                sides[side][k] = fitted[side][where]
    for k in np.flatnonzero(~curved).tolist():
        for side, sign in ((0, -1), (1, 1)):
            a, b = (e.centre + e.r * e.tangent * cmath.exp(sign * 1j * e.a) for e in ends[k])
            sides[side][k] = cb.as_cubics([(a, b)])
    return [
        Sides(sides[0][k], sides[1][k], not curved[k], ends[k][0], ends[k][1], pieces[k]) for k in range(n)
    ]


def _ends(p: Stretch) -> tuple[_End, _End]:
    c = cb.as_cubics([p.curve] * 2)
    t = cb.tangent(c, np.array([0.0, 1.0]))
    result = []
    for s, where, along, steep in ((p.s0, p.curve[0], t[0], p.steep_start), (p.s1, p.curve[3], t[1], p.steep_end)):
        slope = p.slope(s)
        slope = math.copysign(1.0, slope) if steep else min(max(slope, -1.0), 1.0)
        result.append(_End(where, p.r(s), complex(along), math.acos(-slope)))
    return result[0], result[1]


@dataclass(frozen=True, slots=True)
class _Family:
    """The envelopes of many stretches as one sampled family: stretch, side (-1 right, +1 left), parameter x.

    x in [0, 1] runs over the stretch; next to a slope of 1 the envelope moves like a square root of the
    arc length, so there t goes like x^2.
    """

    curves: Complexes
    laws: LawTable
    law_of: Ints
    s0: Floats
    run: Floats  # arc lengths at cb.MARKS
    ease: Ints  # 0 none, 1 at the start, 2 at the end, 3 both
    varies: bool  # some width does

    def t(self, k: Ints, x: Floats) -> Floats:
        if not self.ease.any():
            return x
        e = self.ease[k][:, None]
        both = np.sin(np.pi / 2 * x) ** 2
        return np.asarray(np.select([e == 1, e == 2, e == 3], [x * x, 1 - (1 - x) ** 2, both], x))

    def frame(self, k: Ints, x: Floats) -> tuple[Complexes, Floats, Floats, Floats, Floats, Complexes]:
        """Return centres, r, cos a, sin a, r'' and tangents at x (n, m)."""
        t = self.t(k, x)
        c = self.curves[k]
        s = self.s0[k][:, None] + (cb.lengths_at(self.curves, cb.MARKS, self.run, k, t) if self.varies else 0 * t)
        r, slope, bend = radius(self.laws, self.law_of[k], s)
        slope = np.clip(slope, -1, 1)
        return cb.point(c, t), r, -slope, np.sqrt(1 - slope * slope), bend, cb.tangent(c, t)

    def turn(self, k: Ints, side: Floats, x: Floats) -> Floats:
        """Return the bracket of b±' whose zeros are the envelope's cusps, times sin a (it stays finite)."""
        _, r, _, sine, bend, _ = self.frame(k, x)
        kappa = cb.curvature(self.curves[k], self.t(k, x))
        return np.asarray(sine * (sine - side[:, None] * r * kappa) - r * bend)


def _fit_curved(
    curves: Complexes, laws: LawTable, index: Ints, pieces: list[Stretch], tolerance: float
) -> tuple[list[Complexes], list[Complexes]]:
    s0 = np.array([pieces[k].s0 for k in index.tolist()])
    ease = np.array([int(pieces[k].steep_start) + 2 * int(pieces[k].steep_end) for k in index.tolist()])
    family = _Family(curves, laws, index, s0, cb.length_table(curves, cb.MARKS), ease, bool(laws.rise.any()))
    n = len(curves)
    stretch = np.tile(np.arange(n), 2)
    side = np.repeat([-1.0, 1.0], n)
    owner, low, high, forward = _between_cusps(family, stretch, side)

    def sample(piece: Ints, x: Floats) -> tuple[Complexes, Complexes]:
        k, which = stretch[owner[piece]], side[owner[piece]]
        centre, r, cosine, sine, _, along = family.frame(k, x)
        normal = along * (cosine + 1j * which[:, None] * sine)
        travel = -1j * which[:, None] * forward[piece][:, None] * normal
        return centre + r * normal, travel

    cubics, piece, _ = fit_pieces(sample, low, high, tolerance)
    whose = owner[piece]
    bounds = np.searchsorted(whose, np.arange(2 * n + 1))
    chains = [cubics[bounds[j] : bounds[j + 1]] for j in range(2 * n)]
    for chain in chains:
        chain[1:, 0] = chain[:-1, 3]
    return chains[:n], chains[n:]


def _between_cusps(family: _Family, stretch: Ints, side: Floats) -> tuple[Ints, Floats, Floats, Floats]:
    """Split every side at its cusps: owners, ranges of x, and the sign of travel."""
    ends = 10.0 ** np.arange(-8, -1)  # next to a near cusp everything happens within no length at all
    grid = np.concatenate([ends, np.linspace(0, 1, 34)[1:-1], 1 - ends[::-1]])
    x = np.broadcast_to(grid, (len(stretch), len(grid)))
    value = family.turn(stretch, side, x)
    where, at = np.nonzero(np.sign(value[:, :-1]) * np.sign(value[:, 1:]) < 0)
    roots = np.zeros(0)
    if len(where):
        roots = _roots(
            lambda m: family.turn(stretch[where], side[where], m[:, None])[:, 0],
            grid[at],
            grid[at + 1],
            value[where, at],
            value[where, at + 1],
        )
    owners = np.concatenate([np.arange(len(stretch)), where])
    lows = np.concatenate([np.zeros(len(stretch)), roots])
    order = np.lexsort((lows, owners))
    owners, lows = owners[order], lows[order]
    highs = np.where(np.append(owners[1:], -1) == owners, np.append(lows[1:], 1.0), 1.0)
    middle = ((lows + highs) / 2)[:, None]
    forward = np.sign(family.turn(stretch[owners], side[owners], middle)[:, 0])
    return owners, lows, highs, np.where(forward == 0, 1.0, forward)


def _roots(f: Callable[[Floats], Floats], a: Floats, b: Floats, fa: Floats, fb: Floats) -> Floats:
    """Return a root in each bracket [a, b] by regula falsi, halving the value of an end that stays (Illinois)."""
    for _ in range(30):
        m = b - fb * (b - a) / (fb - fa)
        m = np.where((m > np.minimum(a, b)) & (m < np.maximum(a, b)), m, (a + b) / 2)
        fm = f(m)
        crossed = np.sign(fm) != np.sign(fb)
        a, fa = np.where(crossed, b, a), np.where(crossed, fb, fa / 2)
        done = (fm == 0) | (np.abs(m - b) <= 1e-12)
        b, fb = m, fm
        if done.all():
            break
        fb = np.where(fb == 0, 1e-300, fb)
    return b


def raw_loops(sides: list[Sides | None], line: Centreline, tolerance: float) -> list[Loop]:
    """Join fitted stretches (None where a steep one was left out) to closed loops."""
    closed = line.closed and bool(sides) and all(s is not None for s in sides)
    runs: list[list[Sides]] = [[]]
    for s in sides:
        if s is None:
            runs.append([])
        else:
            runs[-1].append(s)
    runs = [run for run in runs if run]
    if closed:
        first, last = runs[0][0].start, runs[0][-1].end
        if abs(first.r - last.r) <= 1e-9 * max(first.r, last.r):
            return _ring(runs[0], tolerance)
    return [loop for run in runs for loop in _open(run, tolerance)]


def _open(run: list[Sides], tolerance: float) -> list[Loop]:
    right, left = _chains(run, tolerance)
    first, last = run[0].start, run[-1].end
    turn = cmath.phase(last.tangent)
    end_cap = cb.arc(last.centre, last.r, turn - last.a, 2 * last.a, tolerance)
    turn = cmath.phase(first.tangent)
    start_cap = cb.arc(first.centre, first.r, turn + first.a, 2 * math.pi - 2 * first.a, tolerance)
    left.reverse()
    backwards = [(curves[::-1, ::-1], flag) for curves, flag in left]
    loop = _loop([*right, (end_cap, False), *backwards, (start_cap, False)])
    return [loop] if loop is not None else []


def _ring(run: list[Sides], tolerance: float) -> list[Loop]:
    right, left = _chains([*run, run[0]], tolerance)
    loops = [_loop(right[:-1])]
    left = left[:-1]
    left.reverse()
    loops.append(_loop([(curves[::-1, ::-1], flag) for curves, flag in left]))
    seam = disc(run[0].start.centre, run[0].start.r, tolerance, hidden=True)
    return [loop for loop in loops if loop is not None] + seam


_Chain = list[tuple[Complexes, bool]]


def _chains(run: list[Sides], tolerance: float) -> tuple[_Chain, _Chain]:
    right: _Chain = [(run[0].right, run[0].straight)]
    left: _Chain = [(run[0].left, run[0].straight)]
    for before, after in zip(run, run[1:], strict=False):
        a, b = before.end, after.start
        turn = cmath.phase(b.tangent / a.tangent)
        heading = cmath.phase(a.tangent)
        for chain, sign in ((right, -1), (left, 1)):
            sweep = turn + sign * (b.a - a.a)
            if abs(sweep) * a.r > 1e-3 * tolerance:
                chain.append((cb.arc(a.centre, a.r, heading + sign * a.a, sweep, tolerance), False))
        right.append((after.right, after.straight))
        left.append((after.left, after.straight))
    return right, left


def _loop(chain: _Chain) -> Loop | None:
    """Close a chain: every curve starts exactly where the one before ends."""
    chain = [(c, flag) for c, flag in chain if len(c)]
    if not chain:
        return None
    curves = np.concatenate([c for c, _ in chain])
    straight = np.concatenate([np.full(len(c), flag) for c, flag in chain])
    curves[:, 0] = np.roll(curves[:, 3], 1)
    return Loop(curves, straight)


def stroke_pieces(stroke: Stroke, line: Centreline, more: tuple[float, ...] = ()) -> list[Stretch]:
    """Return the stretches of a stroke, or none if it has no length."""
    return stretches(line, stroke.widths, more) if line.length > 0 else []


def swallowing_discs(pieces: list[Stretch], tolerance: float) -> list[Loop]:
    """Return the larger end discs of steep stretches that no kept neighbour draws."""
    loops: list[Loop] = []
    for k, piece in enumerate(pieces):
        if not is_steep(piece):
            continue
        grows = piece.law.high > piece.law.low
        neighbour = k + 1 if grows else k - 1
        if 0 <= neighbour < len(pieces):
            other = pieces[neighbour]
            if not is_steep(other) or (other.law.high > other.law.low) == grows:
                continue  # drawn by the neighbour, or swallowed by a still larger disc
        if piece.law.high != piece.law.low:
            end = (piece.curve[3], piece.r(piece.s1)) if grows else (piece.curve[0], piece.r(piece.s0))
            loops += disc(*end, tolerance)
    return loops


def dot(stroke: Stroke, tolerance: float) -> list[Loop]:
    """Return the disc of a stroke that has no length."""
    return disc(stroke.path.start, float(width_at(stroke.widths, 0.0)) / 2, tolerance)
