"""Where straight cuts of stroke ends act: the definition is in :class:`~guidegen.geometry.stroke.stroke.Stroke`."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from guidegen.geometry import cubic as cb
from guidegen.geometry.cubic import Bools, Complexes, Floats, Ints
from guidegen.geometry.stroke.centreline import Stretches

_STEPS = 64


@dataclass(frozen=True, slots=True)
class EndCuts:
    """Straight cuts (n) of ends of paths ``owner``: the lines, kept on their left, and how far along each acts."""

    owner: Ints
    at_end: Bools
    point: Complexes
    direction: Complexes
    s: Floats


def end_cuts(stretches: Stretches, owner: Ints, at_end: Bools, angle_deg: Floats) -> EndCuts:
    """Return the cuts at ends of paths that have length.

    A cut acts up to the first disc, seen from its end, that lies wholly on the kept side (or touches the line): the
    side into which the centreline leaves.
    """
    direction = np.exp(1j * np.radians(angle_deg))
    if not len(owner):
        return EndCuts(owner, at_end, direction, direction, np.zeros(0))
    edge = np.where(at_end, stretches.first[owner + 1] - 1, stretches.first[owner])
    point = np.where(at_end, stretches.curves[edge, 3], stretches.curves[edge, 0])
    size = stretches.first[owner + 1] - stretches.first[owner]
    mine = np.repeat(np.arange(len(owner)), size)
    nth = np.arange(len(mine)) - np.repeat(np.cumsum(size) - size, size)
    # every stretch of the path, from the end that is cut on
    rows = edge[mine] + np.where(at_end[mine], -nth, nth)
    low, high = np.where(at_end[mine], 1.0, 0.0), np.where(at_end[mine], 0.0, 1.0)
    t, s, height, r = _walk(stretches, rows, low, high, point[mine], direction[mine])
    least = 1e-12 * stretches.lines.length[owner] + 1e-14 * np.abs(point)  # what rounding makes of no height
    sign = _sides(height, mine, least)
    at_once = _at_once(stretches.curves[edge], at_end, point, direction)
    first = (np.abs(at_once) > least[:, None]).argmax(axis=1)
    at_once = at_once[np.arange(len(owner)), first]
    sign = np.where(np.abs(at_once) > least, np.sign(at_once), sign)
    gap = sign[mine][:, None] * height - r
    found, at = _first((gap >= 0).ravel(), mine.repeat(_STEPS + 1), len(owner))
    s_end = np.where(at_end, 0.0, stretches.lines.length[owner])  # where no disc is clear, the cut acts on all
    s_end[found] = s.ravel()[at[found]]
    row, step = at // (_STEPS + 1), at % (_STEPS + 1)
    kept = np.asarray(sign * direction, dtype=np.complex128)
    # between which parameters of which stretch the first clear disc lies
    known, place, low, high = found & (step > 0), rows[row], t[row, np.maximum(step - 1, 0)], t[row, step]
    seen = np.where(found & (place == edge), np.maximum(step - 1, 0) / _STEPS, 1.0)
    k, stretch, before, peak = _between(stretches, rows, mine, t, gap, np.where(found, at, gap.size), point, kept)
    known[k], place[k], low[k], high[k] = True, stretch, before, peak
    seen[k] = np.where(stretch == edge[k], np.where(at_end[k], 1 - peak, peak), 1.0)
    before, after = _sooner(stretches, edge, at_end, point, kept, seen)
    k = np.flatnonzero(~np.isnan(before))
    known[k], place[k], low[k], high[k] = True, edge[k], before[k], after[k]
    which = np.flatnonzero(known)
    place, low, high = place[which], low[which], high[which]
    for _ in range(3):  # each round looks 64 times closer at where the first disc clears the line
        t, s, height, r = _walk(stretches, place, low, high, point[which], direction[which])
        clear = sign[which][:, None] * height >= r
        clear[:, -1] = True
        step = np.maximum(clear.argmax(axis=1), 1)
        every = np.arange(len(which))
        s_end[which] = s[every, step]
        low, high = t[every, step - 1], t[every, step]
    return EndCuts(owner, at_end, point, kept, s_end)


def _walk(
    stretches: Stretches, rows: Ints, low: Floats, high: Floats, point: Complexes, direction: Complexes
) -> tuple[Floats, Floats, Floats, Floats]:
    """Return parameters, arc lengths, heights above the line and radii at even steps on stretches (n, steps + 1)."""
    t = low[:, None] + (high - low)[:, None] * np.linspace(0, 1, _STEPS + 1)
    s = stretches.s(rows, t)
    above = cb.point(stretches.curves[rows], t) - point[:, None]
    height = (above * np.conj(direction)[:, None]).imag
    return t, s, height, stretches.radius(rows, s)[0]


def _at_once(curves: Complexes, at_end: Bools, point: Complexes, direction: Complexes) -> Floats:
    """Return the heights above the lines as the centrelines leave them, from next to nothing on (n, m).

    A path may leave a line along it, or to one side for less than a step, and go to the other.
    """
    t = 2.0 ** -np.arange(45.0, 5.9, -0.5)
    away = cb.point(curves, np.where(at_end[:, None], 1 - t, t)) - point[:, None]
    return np.asarray((away * np.conj(direction)[:, None]).imag)


def _between(
    stretches: Stretches,
    rows: Ints,
    owner: Ints,
    t: Floats,
    gap: Floats,
    before: Ints,
    point: Complexes,
    direction: Complexes,
) -> tuple[Ints, Ints, Floats, Floats]:
    """Return the cuts of which a disc is clear for less than a step, its stretch, and parameters between which it lies.

    ``gap`` (n, steps + 1) is how far discs at the parameters t of the stretches ``rows`` are from the line of the cut
    ``owner``, below 0 where they are not clear; ``before`` says for every cut at which of all gaps to stop.
    """
    left, right = np.roll(gap, 1, axis=1), np.roll(gap, -1, axis=1)
    left[:, 0], right[:, -1] = gap[:, 0], gap[:, -1]
    top = (gap < 0) & (gap >= left) & (gap >= right) & (2 * gap - np.minimum(left, right) >= 0)
    top &= np.arange(gap.size).reshape(gap.shape) < before[owner][:, None]
    row, step = np.nonzero(top)
    first = t[row, np.maximum(step - 1, 0)]
    if not len(row):
        return row, row, first, first
    low, high = first, t[row, np.minimum(step + 1, _STEPS)]
    every = np.arange(len(row))
    for _ in range(2):
        fine, _, height, r = _walk(stretches, rows[row], low, high, point[owner[row]], direction[owner[row]])
        best = (height - r).argmax(axis=1)
        low, high = fine[every, np.maximum(best - 1, 0)], fine[every, np.minimum(best + 1, _STEPS)]
    clear = np.flatnonzero((height - r)[every, best] >= 0)
    k, nth = np.unique(owner[row[clear]], return_index=True)
    nth = clear[nth]
    return k, rows[row[nth]], first[nth], fine[nth, best[nth]]


def _sooner(
    stretches: Stretches, edge: Ints, at_end: Bools, point: Complexes, direction: Complexes, seen: Floats
) -> tuple[Floats, Floats]:
    """Return between which parameters of the stretches at the ends a disc is clear that even steps passed over, or NaN.

    A stroke that begins with next to no width may be clear of its line within less than a step, and cross it again.
    ``seen`` is the share of the stretch in which even steps saw none.
    """
    away = 2.0 ** -np.arange(45.0, -0.1, -0.5)
    t = np.where(at_end[:, None], 1 - away, away)
    height = ((cb.point(stretches.curves[edge], t) - point[:, None]) * np.conj(direction)[:, None]).imag
    clear = (height > 0) & (height >= stretches.radius(edge, stretches.s(edge, t))[0]) & (away < seen[:, None])
    clear[:, 0] = False
    k, every = np.maximum(clear.argmax(axis=1), 1), np.arange(len(edge))
    none = ~clear.any(axis=1)
    return np.where(none, np.nan, t[every, k - 1]), np.where(none, np.nan, t[every, k])


def _sides(height: Floats, owner: Ints, least: Floats) -> Floats:
    """Return 1 or -1 for the side of its line into which each centreline leaves."""
    off = (np.abs(height) > least[owner][:, None]).ravel()
    found, at = _first(off, owner.repeat(_STEPS + 1), len(least))
    return np.where(found & (height.ravel()[at] < 0), -1.0, 1.0)


def _first(flags: Bools, owner: Ints, count: int) -> tuple[Bools, Ints]:
    """Return for each owner whether one of its flags is up, and the number of the first that is."""
    up = np.flatnonzero(flags)
    whose, nth = np.unique(owner[up], return_index=True)
    found, at = np.zeros(count, dtype=bool), np.zeros(count, dtype=np.int64)
    found[whose], at[whose] = True, up[nth]
    return found, at
