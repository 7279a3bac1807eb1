"""Discs that are ink for sure, whatever the fitted curves say.

A fitted curve is off by a part of the tolerance. Where two curves of one loop lie closer to each other than that (the
sides of a hair, a fold next to a cusp) they may change sides, and the winding number between them is one too low: over
other ink it becomes 0, and a crack or a speck of white seems to lie inside the ink, as thin as the errors, but as long
as the hair itself. The discs of which the ink is made know better.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np

from guidegen.geometry.cubic import Bools, Complexes, Floats, Ints

SURE_SHARE = 0.75  # of the tolerance: a boundary that runs deeper than that inside sure ink is none
_MANY = 1_000_000  # pairs looked at together
_GROUP = 16  # discs in a row


class Discs(Protocol):
    """Who can name discs that are ink: centres and radii, many along a stroke, so that they cover nearly all of it."""

    def discs(self) -> tuple[Complexes, Floats]:
        """Return centres and radii."""
        ...


@dataclass(frozen=True, slots=True)
class SureInk:
    """Discs inside the ink, worked out when they are asked for: hardly any drawing needs them."""

    sources: tuple[Discs, ...] = ()

    def hides(self, points: Complexes, least: float) -> Bools:
        """Return which points lie deeper than ``least`` (0 or more) inside some disc."""
        return np.asarray(_depth(points, *self._discs(), least)[0] > least)

    def over(self, points: Complexes, least: float) -> tuple[Complexes, Floats]:
        """Return a few discs (centres, radii) in which all points lie that are deeper than ``least`` in some disc."""
        centre, radius = self._discs()
        deep, which = _depth(points, centre, radius, least)
        left = np.flatnonzero(deep > least)
        chosen: list[int] = []
        while len(left):
            chosen.append(int(which[left[deep[left].argmax()]]))
            k = chosen[-1]
            left = left[radius[k] - np.abs(points[left] - centre[k]) <= least]
        return centre[chosen], radius[chosen]

    def _discs(self) -> tuple[Complexes, Floats]:
        found = [source.discs() for source in self.sources]
        centre = np.concatenate([np.zeros(0, dtype=np.complex128), *(f[0] for f in found)])
        return centre, np.concatenate([np.zeros(0), *(f[1] for f in found)])


def _depth(points: Complexes, centre: Complexes, radius: Floats, least: float) -> tuple[Floats, Ints]:
    """Return how deep each point lies inside the disc in which it lies deepest, and which that is.

    Of points nowhere deeper than ``least`` that is all that is known (-inf). Discs that follow each other lie close
    together: a circle around some of them says how deep a point can be in any, its middle disc how deep it is at least.
    """
    deep, which = np.full(len(points), -np.inf), np.zeros(len(points), dtype=np.int64)
    if not len(points) or not len(centre):
        return deep, which
    first = np.arange(0, len(centre), _GROUP)
    count = np.minimum(_GROUP, len(centre) - first)
    middle, core = centre[first + count // 2], radius[first + count // 2]
    reach = np.maximum.reduceat(np.abs(centre - np.repeat(middle, count)) + radius, first)
    reach += 1e-12 * np.abs(centre).max()  # rounding must not leave out the deepest
    block = max(1, _MANY // len(first))
    for at in range(0, len(points), block):
        some = points[at : at + block]
        away = np.abs(some[:, None] - middle)
        known = np.maximum((core - away).max(axis=1), least)
        row, group = np.nonzero(reach - away >= known[:, None])
        if not len(row):
            continue
        size = count[group]
        disc = np.arange(size.sum()) + np.repeat(first[group] - (np.cumsum(size) - size), size)
        row = np.repeat(row, size)
        inside = radius[disc] - np.abs(some[row] - centre[disc])
        begins = np.flatnonzero(np.append(True, row[1:] != row[:-1]))
        best = np.maximum.reduceat(inside, begins)
        whose = row[begins]
        top = np.flatnonzero(inside == np.repeat(best, np.diff(np.append(begins, len(row)))))
        top = top[np.append(True, row[top][1:] != row[top][:-1])]
        real = best > least
        deep[at + whose[real]], which[at + whose[real]] = best[real], disc[top[real]]
    return deep, which


NONE_SURE = SureInk()
