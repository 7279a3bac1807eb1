"""The envelope of a family of discs, fitted with cubics.

For discs of radius r(s) along c(s), s the arc length, T and N the unit tangent and left normal, |r'| < 1:

    b±(s) = c + r n±,   n± = -r' T ± sqrt(1 - r'^2) N = T exp(±i a),   cos a = -r',

which is where neighbouring discs of the family meet. With k the curvature and a' = r''/sin a,
b+' = -i n+ (sin a - r k - r a') and b-' = i n- (sin a + r k - r a'): the tangents are known everywhere,
and the envelope has a cusp where a bracket changes its sign. Between two cusps it runs backwards.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from guidegen.geometry import cubic as cb
from guidegen.geometry.cubic import Bools, Complexes, Floats, Ints
from guidegen.geometry.fit import fit_pieces
from guidegen.geometry.stroke.centreline import Stretches

#: Backward runs lie inside the ink, next to forward ones at their cusps: fitted this much better than those, they
#: cannot come out on the wrong side of them and seem to open a crack.
BACKWARD_SHARE = 0.03
#: And a forward run next to one at their cusp is fitted so much better than others, for the same reason.
BESIDE_SHARE = 0.25


@dataclass(frozen=True, slots=True)
class Chains:
    """Curves (m, 4) in n chains, one after the other; which are straight, and which run backwards (between cusps)."""

    curves: Complexes
    straight: Bools
    backwards: Bools
    count: Ints  # (n,) curves of each chain

    @property
    def first(self) -> Ints:
        return np.asarray(np.cumsum(self.count) - self.count)


@dataclass(frozen=True, slots=True)
class Sides:
    """The fitted envelopes of n stretches, steep ones left out, and what joints need to know of their ends (n, 2).

    ``chains`` are all right sides, then all left ones, in the direction of the stroke; the ends' discs have
    ``centre`` and ``radius``, the ``tangent`` there is that of the centreline, ``lean`` the angle a.
    """

    chains: Chains
    centre: Complexes
    radius: Floats
    tangent: Complexes
    lean: Floats


def fit_sides(stretches: Stretches, tolerance: float) -> Sides:
    """Fit both envelopes of all stretches at once."""
    n = len(stretches.curves)
    every = np.arange(n)
    r, slope, _ = stretches.radius(every, np.stack([stretches.s0, stretches.s1], axis=1))
    steep = np.stack([stretches.steep_start, stretches.steep_end], axis=1)
    slope = np.where(steep, np.copysign(1.0, slope), np.minimum(np.maximum(slope, -1.0), 1.0))
    along = np.stack([cb.tangent(stretches.curves, np.full(n, end)) for end in (0.0, 1.0)], axis=1)
    centre, lean = stretches.curves[:, [0, 3]], np.arccos(-slope)
    plain = stretches.straight & ~stretches.laws.eased[stretches.law]
    curved = _fit_curved(stretches, np.flatnonzero(~stretches.steep & ~plain), tolerance)
    lines = np.flatnonzero(~stretches.steep & plain)
    straight = [centre[lines] + r[lines] * along[lines] * np.exp(sign * 1j * lean[lines]) for sign in (-1, 1)]
    return Sides(_with_lines(curved, lines, straight, n), centre, r, along, lean)


def _with_lines(curved: Chains, lines: Ints, ends: list[Complexes], n: int) -> Chains:
    """Return chains with one line each for the stretches ``lines``: right and left ends (lines, 2)."""
    chain = np.concatenate([np.repeat(np.arange(2 * n), curved.count), lines, n + lines])
    a, b = np.concatenate(ends).T
    order = np.argsort(chain, kind="stable")
    flag = np.ones(len(a), dtype=bool)
    return Chains(
        np.concatenate([curved.curves, np.stack([a, a + (b - a) / 3, b - (b - a) / 3, b], axis=-1)])[order],
        np.concatenate([curved.straight, flag])[order],
        np.concatenate([curved.backwards, ~flag])[order],
        np.bincount(chain, minlength=2 * n),
    )


@dataclass(frozen=True, slots=True)
class _Family:
    """The envelopes of many stretches as one sampled family: stretch, side (-1 right, +1 left), parameter x.

    x in [0, 1] runs over the stretch; next to a slope of 1 the envelope moves like a square root of the
    arc length, so there t goes like x^2.
    """

    stretches: Stretches
    ease: Ints  # (n,) 0 none, 1 at the start, 2 at the end, 3 both

    def t(self, k: Ints, x: Floats) -> Floats:
        ease = self.ease[k]
        if not ease.any():
            return x
        t = x.copy(order="K")
        for which, how in ((1, lambda x: x * x), (2, lambda x: 1 - (1 - x) ** 2), (3, _both_ends)):
            t[ease == which] = how(x[ease == which])
        return t

    def moving_frame(self, k: Ints, x: Floats) -> tuple[Complexes, Floats, Floats, Floats, Complexes]:
        """Return centres, r, cos a, sin a and tangents at x (n, m)."""
        t = self.t(k, x)
        c = self.stretches.curves[k]
        r, slope, _ = self.radii(k, t)
        if self.ease[k].any():  # at a steep end the slope is 1: what rounding leaves of it moves the point by its root
            ease = self.ease[k][:, None]
            steep = ((x == 0) & (ease % 2 == 1)) | ((x == 1) & (ease >= 2))
            slope = np.where(steep, np.copysign(1.0, slope), slope)
        return cb.point(c, t), r, -slope, np.sqrt(1 - slope * slope), cb.tangent(c, t)

    def turn(self, k: Ints, x: Floats) -> tuple[Floats, Floats]:
        """Return the brackets of b-' and b+', whose zeros are the cusps, times sin a (that keeps them finite)."""
        t = self.t(k, x)
        r, slope, bend = self.radii(k, t)
        c = self.stretches.curves[k]
        speed, change = cb.derivative(c, t), cb.second_derivative(c, t)
        square = speed.real**2 + speed.imag**2
        cross = speed.real * change.imag - speed.imag * change.real
        kappa = cross / np.maximum(square * np.sqrt(square), 1e-300)
        sine = np.sqrt(1 - slope * slope)
        even, odd = sine * sine - r * bend, sine * r * kappa
        return even + odd, even - odd

    def radii(self, k: Ints, t: Floats) -> tuple[Floats, Floats, Floats]:
        """Return r, r' (not beyond 1) and r'' at the curves' parameters t (n, m)."""
        law = self.stretches.law[k]
        varies = self.stretches.laws.rise[law] != 0
        if varies.all():
            r, slope, bend = self.stretches.radius(k, self.stretches.s(k, t))
            return r, np.minimum(np.maximum(slope, -1), 1), bend
        r = np.broadcast_to(self.stretches.laws.low[law][:, None], t.shape)
        slope = bend = np.broadcast_to(0.0, t.shape)
        if varies.any():
            r, slope, bend = (np.copy(some) for some in (r, slope, bend))
            r[varies], slope[varies], bend[varies] = self.radii(k[varies], t[varies])
        return r, slope, bend

    def turn_of(self, k: Ints, side: Floats, x: Floats) -> Floats:
        """Return the bracket of one side (-1 right, +1 left) for each of k (n,), at x (n,)."""
        right, left = self.turn(k, x[:, None])
        return np.where(side < 0, right[:, 0], left[:, 0])


def _both_ends(x: Floats) -> Floats:
    return np.asarray(np.sin(np.pi / 2 * x) ** 2)


def _fit_curved(stretches: Stretches, which: Ints, tolerance: float) -> Chains:
    """Return the chains of all stretches, right sides then left ones, empty but for those of ``which``."""
    n = len(stretches.curves)
    family = _Family(stretches, stretches.steep_start + 2 * stretches.steep_end.astype(np.int64))
    stretch, side = np.tile(which, 2), np.repeat([-1.0, 1.0], len(which))
    owner, low, high, forward = _between_cusps(family, stretch, side)

    def sample(piece: Ints, x: Floats) -> tuple[Complexes, Complexes]:
        k, hand = stretch[owner[piece]], side[owner[piece]]
        centre, r, cosine, sine, along = family.moving_frame(k, x)
        normal = np.empty_like(along)
        normal.real, normal.imag = cosine, hand[:, None] * sine
        normal *= along
        centre += r * normal
        normal *= -1j * (hand * forward[piece])[:, None]
        return centre, normal

    turns_back = np.bincount(owner, forward < 0, minlength=len(stretch))[owner] > 0
    share = np.where(forward < 0, BACKWARD_SHARE, np.where(turns_back, BESIDE_SHARE, 1.0))
    cubics, piece, _ = fit_pieces(sample, low, high, share * tolerance)
    chain = stretch[owner[piece]] + n * (side[owner[piece]] > 0)
    return Chains(cubics, np.zeros(len(cubics), dtype=bool), forward[piece] < 0, np.bincount(chain, minlength=2 * n))


_ENDS = 10.0 ** np.arange(-8, -1)  # next to a near cusp everything happens within no length at all
_EVEN = np.linspace(0, 1, 34)[1:-1]
_PLAIN = np.concatenate([_ENDS[:1], _EVEN, 1 - _ENDS[:1]])
_DENSE = np.concatenate([_ENDS, _EVEN, 1 - _ENDS[::-1]])


def _between_cusps(family: _Family, stretch: Ints, side: Floats) -> tuple[Ints, Floats, Floats, Floats]:
    """Split every side at its cusps: owners, ranges of x, and the sign of travel."""
    n = len(stretch) // 2  # right sides first, then left ones
    simple = family.stretches.lines.plain[family.stretches.piece[stretch[:n]]] & (family.ease[stretch[:n]] == 0)
    none = np.zeros(0)
    found: list[tuple[Ints, Floats, Floats, Floats, Floats]] = [(np.zeros(0, dtype=np.int64), none, none, none, none)]
    for rows, grid in ((np.flatnonzero(simple), _PLAIN), (np.flatnonzero(~simple), _DENSE)):
        if not len(rows):
            continue
        x = np.repeat(grid[:, None], len(rows), axis=1).T
        for first, value in zip((0, n), family.turn(stretch[rows], x), strict=True):
            where, at = np.nonzero(np.sign(value[:, :-1]) * np.sign(value[:, 1:]) < 0)
            found.append((first + rows[where], grid[at], grid[at + 1], value[where, at], value[where, at + 1]))
    where, low, high, at_low, at_high = (np.concatenate(column) for column in zip(*found, strict=True))
    roots = _roots(family, stretch[where], side[where], low, high, at_low, at_high) if len(where) else none
    owners = np.concatenate([np.arange(len(stretch)), where])
    lows = np.concatenate([np.zeros(len(stretch)), roots])
    order = np.lexsort((lows, owners))
    owners, lows = owners[order], lows[order]
    highs = np.where(np.append(owners[1:], -1) == owners, np.append(lows[1:], 1.0), 1.0)
    forward = np.sign(family.turn_of(stretch[owners], side[owners], (lows + highs) / 2))
    return owners, lows, highs, np.where(forward == 0, 1.0, forward)


def _roots(family: _Family, k: Ints, side: Floats, a: Floats, b: Floats, fa: Floats, fb: Floats) -> Floats:
    """Return a cusp in each bracket [a, b] by regula falsi, halving the value of an end that stays (Illinois)."""
    result = b.copy()
    rows = np.arange(len(b))
    for _ in range(30):
        m = b - fb * (b - a) / np.where(fb == fa, 1.0, fb - fa)
        m = np.where((m > np.minimum(a, b)) & (m < np.maximum(a, b)), m, (a + b) / 2)
        fm = family.turn_of(k, side, m)
        crossed = np.sign(fm) != np.sign(fb)
        a, fa = np.where(crossed, b, a), np.where(crossed, fb, fa / 2)
        go = (fm != 0) & (np.abs(m - b) > 1e-10)
        result[rows] = m
        b, fb = m, fm
        rows, k, side, a, b, fa, fb = rows[go], k[go], side[go], a[go], b[go], fa[go], fb[go]
        if not len(rows):
            break
    return result
