"""Evaluate :class:`~guidegen.geometry.stroke.stroke.Widths`: the width, its slope and its bend at arc lengths."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from guidegen.geometry.cubic import Bools, Floats, Ints
from guidegen.geometry.stroke.stroke import Widths


@dataclass(frozen=True, slots=True)
class Laws:
    """Spans of the radius along many strokes, in order: each from ``low`` on by ``rise`` over [s0, s0 + run].

    Outside its span a law keeps its end values. A stroke's first law starts at or before its beginning.
    """

    owner: Ints
    s0: Floats
    foot: Floats  # where the change begins: s0, for a constant law 0
    run: Floats
    low: Floats
    rise: Floats
    eased: Bools


def width_at(widths: Widths, s: Floats | float) -> Floats:
    """Return the widths at the arc lengths ``s``."""
    s = np.asarray(s, dtype=np.float64)
    knots = np.array(widths.knots, dtype=np.float64)
    at = np.clip(np.searchsorted(knots[:, 0], s, side="right") - 1, 0, max(len(knots) - 2, 0))
    if len(knots) == 1:
        return np.full_like(s, knots[0, 1])
    span = knots[at + 1, 0] - knots[at, 0]
    with np.errstate(all="ignore"):
        u = np.clip(np.where(span > 0, (s - knots[at, 0]) / span, s >= knots[at, 0]), 0, 1)
    f = u * u * (3 - 2 * u) if widths.eased else u
    return np.asarray(knots[at, 1] + (knots[at + 1, 1] - knots[at, 1]) * f)


def radius_laws(widths: Sequence[Widths], lengths: Floats) -> Laws:
    """Return the radii along strokes of these lengths, constant before the first and after the last knot."""
    count = np.array([len(w.knots) for w in widths], dtype=np.int64)
    knots = np.array([knot for w in widths for knot in w.knots], dtype=np.float64).reshape(-1, 2)
    s, r = knots[:, 0], knots[:, 1] / 2
    owner = np.repeat(np.arange(len(widths)), count + 1)  # a span before each knot, and one after the last
    first = np.cumsum(count) - count
    nth = np.arange(len(owner)) - np.repeat(first + np.arange(len(widths)), count + 1)
    begin, end = first[owner] + np.maximum(nth - 1, 0), first[owner] + np.minimum(nth, count[owner] - 1)
    s0, s1 = np.where(nth == 0, -np.inf, s[begin]), np.where(nth == count[owner], np.inf, s[end])
    low, rise = r[begin], r[end] - r[begin]
    use = (s1 > 0) & (s0 < lengths[owner]) & (s1 > s0)
    owner, s0, s1, low, rise = owner[use], s0[use], s1[use], low[use], rise[use]
    eased = np.array([w.eased for w in widths], dtype=bool)[owner] & (rise != 0)
    foot, run = np.where(rise != 0, s0, 0.0), np.where(rise != 0, s1 - s0, 1.0)
    return Laws(owner, s0, foot, run, low, rise, eased)


def steep_points(laws: Laws) -> tuple[Ints, Floats]:
    """Return the laws, and the arc lengths, where an eased law's slope passes 1: 6u(1 - u) |rise| = run.

    Where it just reaches 1, the envelope has a kink.
    """
    rows = np.flatnonzero(laws.eased)
    root = 1 - 2 / 3 * laws.run[rows] / np.abs(laws.rise[rows])
    rows, root = rows[root >= -1e-6], root[root >= -1e-6]
    half = np.sqrt(np.maximum(root, 0)) / 2
    twice = root > 0
    rows, u = np.append(rows, rows[twice]), np.append(0.5 - half, (0.5 + half)[twice])
    return rows, laws.s0[rows] + laws.run[rows] * u


def radius(laws: Laws, k: Ints, s: Floats) -> tuple[Floats, Floats, Floats]:
    """Return r, dr/ds and d2r/ds2 at ``s`` (n, m) under the laws numbered ``k`` (n,)."""
    foot, run, low, rise = (column[k][:, None] for column in (laws.foot, laws.run, laws.low, laws.rise))
    eased = laws.eased[k][:, None]
    u = np.minimum(np.maximum((s - foot) / run, 0.0), 1.0)
    slope, curl = rise / run, rise / run**2
    if not eased.any():
        return low + rise * u, slope + 0 * u, 0 * u
    smooth, steepness, bend = u * u * (3 - 2 * u), 6 * u * (1 - u), 6 - 12 * u
    if not eased.all():
        smooth = np.where(eased, smooth, u)
        steepness, bend = np.where(eased, steepness, 1.0), np.where(eased, bend, 0.0)
    return low + rise * smooth, slope * steepness, curl * bend
