"""Evaluate :class:`~guidegen.geometry.stroke.Widths`: the width, its slope and its bend at arc lengths."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass

import numpy as np

from guidegen.geometry.cubic import Bools, Floats, Ints
from guidegen.geometry.stroke import Widths


@dataclass(frozen=True, slots=True)
class Law:
    """One span of a width: from ``low`` to ``high`` (radii) over arc lengths [s0, s1], linear or eased."""

    s0: float
    s1: float
    low: float
    high: float
    eased: bool


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


def radius_laws(widths: Widths, length: float) -> list[Law]:
    """Return the radius along [0, length] as consecutive laws, constant before the first and after the last knot.

    A law whose slope passes 1 on the way is split there, so that within each the slope stays on one side of it.
    """
    laws: list[Law] = []
    knots = [(float(s), w / 2) for s, w in widths.knots]
    spans = [(-math.inf, knots[0][0], knots[0][1], knots[0][1])]
    spans += [(a[0], b[0], a[1], b[1]) for a, b in itertools.pairwise(knots)]
    spans += [(knots[-1][0], math.inf, knots[-1][1], knots[-1][1])]
    for s0, s1, low, high in spans:
        if s1 <= 0 or s0 >= length or s1 <= s0:
            continue
        laws.append(Law(s0, s1, low, high, widths.eased and low != high))
    return laws


def steep_points(law: Law) -> list[float]:
    """Return the arc lengths where an eased law's slope passes 1: 6u(1 - u) |rise| = run."""
    if not law.eased:
        return []
    ratio = (law.s1 - law.s0) / abs(law.high - law.low)
    root = 1 - 2 * ratio / 3
    if root < -1e-6:
        return []
    if root <= 0:  # it just reaches 1: the envelope has a kink there
        return [(law.s0 + law.s1) / 2]
    half = math.sqrt(root) / 2
    return [law.s0 + (law.s1 - law.s0) * u for u in (0.5 - half, 0.5 + half)]


def radius(laws: LawTable, k: Ints, s: Floats) -> tuple[Floats, Floats, Floats]:
    """Return r, dr/ds and d2r/ds2 at ``s`` (n, m) under the laws numbered ``k`` (n,)."""
    s0, run, low, rise, eased = (column[k][:, None] for column in (laws.s0, laws.run, laws.low, laws.rise, laws.eased))
    u = np.clip((s - s0) / run, 0, 1)
    smooth = u * u * (3 - 2 * u)
    r = low + rise * np.where(eased, smooth, u)
    slope = rise / run * np.where(eased, 6 * u * (1 - u), 1.0)
    bend = rise / run**2 * np.where(eased, 6 - 12 * u, 0.0)
    return np.asarray(r), np.asarray(slope), np.asarray(bend)


@dataclass(frozen=True, slots=True)
class LawTable:
    """The columns of many laws (n,): start, run, low, rise, eased."""

    s0: Floats
    run: Floats
    low: Floats
    rise: Floats
    eased: Bools


def table(laws: list[Law]) -> LawTable:
    """Return laws as columns; constant laws get a run of 1."""
    constant = [law.low == law.high for law in laws]
    return LawTable(
        np.array([0.0 if c else law.s0 for law, c in zip(laws, constant, strict=True)]),
        np.array([1.0 if c else law.s1 - law.s0 for law, c in zip(laws, constant, strict=True)]),
        np.array([law.low for law in laws]),
        np.array([law.high - law.low for law in laws]),
        np.array([law.eased for law in laws], dtype=bool),
    )
