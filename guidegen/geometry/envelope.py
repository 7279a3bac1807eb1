"""The envelope of a family of discs, fitted with cubics.

For discs of radius r(s) along c(s), s the arc length, T and N the unit tangent and left normal, |r'| < 1:

    b±(s) = c + r n±,   n± = -r' T ± sqrt(1 - r'^2) N = T exp(±i a),   cos a = -r',

which is where neighbouring discs of the family meet. With k the curvature and a' = r''/sin a,
b+' = -i n+ (sin a - r k - r a') and b-' = i n- (sin a + r k - r a'): the tangents are known everywhere,
and the envelope has a cusp where a bracket changes its sign. Between two cusps it runs backwards.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from guidegen.geometry import cubic as cb
from guidegen.geometry.centreline import Stretch
from guidegen.geometry.cubic import Bools, Complexes, Floats, Ints
from guidegen.geometry.fit import fit_pieces
from guidegen.geometry.widths import LawTable, radius, table

#: Backward runs lie inside the ink, next to forward ones at their cusps: fitted this much better than those, they
#: cannot come out on the wrong side of them and seem to open a crack.
BACKWARD_SHARE = 0.03


@dataclass(frozen=True, slots=True)
class End:
    """What a joint needs to know of a stretch's end: its disc, the tangent's direction, the angle a."""

    centre: complex
    r: float
    tangent: complex
    a: float


@dataclass(frozen=True, slots=True)
class Chain:
    """Curves (n, 4) in a row, which are straight, and which run backwards (between cusps of an envelope)."""

    curves: Complexes
    straight: Bools
    backwards: Bools


@dataclass(frozen=True, slots=True)
class Sides:
    """The fitted envelope of one stretch: right and left, both in the direction of the stroke."""

    right: Chain
    left: Chain
    start: End
    end: End


def fit_sides(pieces: list[Stretch], tolerance: float) -> list[Sides]:
    """Fit both envelopes of all stretches at once."""
    n = len(pieces)
    if not n:
        return []
    curves = cb.as_cubics([p.curve for p in pieces])
    laws = table([p.law for p in pieces])
    start, end = cb.tangent(curves, np.zeros(n)).tolist(), cb.tangent(curves, np.ones(n)).tolist()
    ends = [_ends(p, a, b) for p, a, b in zip(pieces, start, end, strict=True)]
    curved = np.array([not p.straight or p.law.eased for p in pieces])
    right: list[Chain] = []
    left: list[Chain] = []
    index = np.flatnonzero(curved)
    fitted = _fit_curved(curves[index], laws, index, pieces, tolerance) if len(index) else ([], [])
    place = np.cumsum(curved) - 1
    for k in range(n):
        right.append(fitted[0][place[k]] if curved[k] else _straight(ends[k], -1))
        left.append(fitted[1][place[k]] if curved[k] else _straight(ends[k], 1))
    return [Sides(right[k], left[k], *ends[k]) for k in range(n)]


def _straight(ends: tuple[End, End], sign: int) -> Chain:
    a, b = (e.centre + e.r * e.tangent * cmath.exp(sign * 1j * e.a) for e in ends)
    return Chain(cb.as_cubics([(a, b)]), np.array([True]), np.array([False]))


def _ends(p: Stretch, start: complex, end: complex) -> tuple[End, End]:
    result = []
    for s, where, along, steep in ((p.s0, p.curve[0], start, p.steep_start), (p.s1, p.curve[3], end, p.steep_end)):
        slope = p.slope(s)
        slope = math.copysign(1.0, slope) if steep else min(max(slope, -1.0), 1.0)
        result.append(End(where, p.r(s), along, math.acos(-slope)))
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

    def frame(self, k: Ints, x: Floats) -> tuple[Complexes, Floats, Floats, Floats, Complexes]:
        """Return centres, r, cos a, sin a and tangents at x (n, m)."""
        t = self.t(k, x)
        c = self.curves[k]
        r, slope, _ = self.radii(k, t)
        return cb.point(c, t), r, -slope, np.sqrt(1 - slope * slope), cb.tangent(c, t)

    def turn(self, k: Ints, x: Floats) -> tuple[Floats, Floats]:
        """Return the brackets of b-' and b+', whose zeros are the cusps, times sin a (that keeps them finite)."""
        t = self.t(k, x)
        r, slope, bend = self.radii(k, t)
        c = self.curves[k]
        speed, change = cb.derivative(c, t), cb.second_derivative(c, t)
        square = speed.real**2 + speed.imag**2
        kappa = (np.conj(speed) * change).imag / np.maximum(square * np.sqrt(square), 1e-300)
        sine = np.sqrt(1 - slope * slope)
        even, odd = sine * sine - r * bend, sine * r * kappa
        return even + odd, even - odd

    def radii(self, k: Ints, t: Floats) -> tuple[Floats, Floats, Floats]:
        """Return r, r' (not beyond 1) and r'' at the curves' parameters t (n, m)."""
        s = self.s0[k][:, None] + (cb.lengths_at(self.curves, cb.MARKS, self.run, k, t) if self.varies else 0 * t)
        r, slope, bend = radius(self.laws, self.law_of[k], s)
        return r, np.clip(slope, -1, 1), bend

    def turn_of(self, k: Ints, side: Floats, x: Floats) -> Floats:
        """Return the bracket of one side (-1 right, +1 left) for each of k (n,), at x (n,)."""
        right, left = self.turn(k, x[:, None])
        return np.where(side < 0, right[:, 0], left[:, 0])


def _fit_curved(
    curves: Complexes, laws: LawTable, index: Ints, pieces: list[Stretch], tolerance: float
) -> tuple[list[Chain], list[Chain]]:
    s0 = np.array([pieces[k].s0 for k in index.tolist()])
    ease = np.array([int(pieces[k].steep_start) + 2 * int(pieces[k].steep_end) for k in index.tolist()])
    family = _Family(curves, laws, index, s0, cb.length_table(curves, cb.MARKS), ease, bool(laws.rise.any()))
    n = len(curves)
    stretch = np.tile(np.arange(n), 2)
    side = np.repeat([-1.0, 1.0], n)
    owner, low, high, forward = _between_cusps(family, stretch, side)

    def sample(piece: Ints, x: Floats) -> tuple[Complexes, Complexes]:
        k, which = stretch[owner[piece]], side[owner[piece]]
        centre, r, cosine, sine, along = family.frame(k, x)
        normal = along * (cosine + 1j * which[:, None] * sine)
        travel = -1j * which[:, None] * forward[piece][:, None] * normal
        return centre + r * normal, travel

    cubics, piece, _ = fit_pieces(sample, low, high, np.where(forward < 0, BACKWARD_SHARE, 1.0) * tolerance)
    bounds = np.searchsorted(owner[piece], np.arange(2 * n + 1))
    chains = []
    for j in range(2 * n):
        mine = slice(bounds[j], bounds[j + 1])
        chain = cubics[mine]
        chain[1:, 0] = chain[:-1, 3]
        chains.append(Chain(chain, np.zeros(len(chain), dtype=bool), forward[piece[mine]] < 0))
    return chains[:n], chains[n:]


def _between_cusps(family: _Family, stretch: Ints, side: Floats) -> tuple[Ints, Floats, Floats, Floats]:
    """Split every side at its cusps: owners, ranges of x, and the sign of travel."""
    ends = 10.0 ** np.arange(-8, -1)  # next to a near cusp everything happens within no length at all
    grid = np.concatenate([ends, np.linspace(0, 1, 34)[1:-1], 1 - ends[::-1]])
    n = len(stretch) // 2  # right sides first, then left ones
    value = np.concatenate(family.turn(stretch[:n], np.broadcast_to(grid, (n, len(grid)))))
    where, at = np.nonzero(np.sign(value[:, :-1]) * np.sign(value[:, 1:]) < 0)
    roots = np.zeros(0)
    if len(where):
        roots = _roots(
            lambda m: family.turn_of(stretch[where], side[where], m),
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
    forward = np.sign(family.turn_of(stretch[owners], side[owners], (lows + highs) / 2))
    return owners, lows, highs, np.where(forward == 0, 1.0, forward)


def _roots(f: Callable[[Floats], Floats], a: Floats, b: Floats, fa: Floats, fb: Floats) -> Floats:
    """Return a root in each bracket [a, b] by regula falsi, halving the value of an end that stays (Illinois)."""
    for _ in range(30):
        m = b - fb * (b - a) / np.where(fb == fa, 1.0, fb - fa)
        m = np.where((m > np.minimum(a, b)) & (m < np.maximum(a, b)), m, (a + b) / 2)
        fm = f(m)
        crossed = np.sign(fm) != np.sign(fb)
        a, fa = np.where(crossed, b, a), np.where(crossed, fb, fa / 2)
        done = (fm == 0) | (np.abs(m - b) <= 1e-10)
        b, fb = m, fm
        if done.all():
            break
        fb = np.where(fb == 0, 1e-300, fb)
    return b
