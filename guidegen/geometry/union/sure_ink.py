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
_MANY = 200_000  # pairs looked at together
_GROUP = 16  # discs in a row
_TOO_MANY = 40_000_000
_CELLS = 24  # a side: of many points those in one cell are asked for the discs that reach into it


class Discs(Protocol):
    """Who can name discs that are ink: centres and radii, many along a stroke, so that they cover nearly all of it."""

    def discs(self) -> tuple[Complexes, Floats]:
        """Return centres and radii."""
        ...


@dataclass(frozen=True, slots=True)
class _Found:
    """Discs that have been worked out."""

    centre: Complexes
    radius: Floats

    def discs(self) -> tuple[Complexes, Floats]:
        return self.centre, self.radius


@dataclass(frozen=True, slots=True)
class SureInk:
    """Discs inside the ink, worked out when they are asked for: hardly any drawing needs them."""

    sources: tuple[Discs, ...] = ()

    def found(self) -> SureInk:
        """Return the same with its discs worked out, for who asks more than once."""
        return SureInk((_Found(*self._discs()),))

    def hides(self, points: Complexes, least: float) -> Bools:
        """Return which points lie deeper than ``least`` (0 or more) inside some disc."""
        return np.asarray(_depth(points, *self._discs(), least)[0] > least)

    def holds(self, points: Complexes, low: Complexes, high: Complexes) -> Bools:
        """Return which boxes (lower left, upper right corners) lie in a disc: about the deepest at their ``points``."""
        centre, radius = self._discs()
        centre, radius = centre[::4], radius[::4]  # neighbours are nearly the same
        deep, which = _depth(points, centre, radius, 0.0)
        found = np.flatnonzero(deep > 0)
        middle, r = centre[which[found]], radius[which[found]]
        across = np.maximum(np.abs(low.real[found] - middle.real), np.abs(high.real[found] - middle.real))
        along = np.maximum(np.abs(low.imag[found] - middle.imag), np.abs(high.imag[found] - middle.imag))
        result = np.zeros(len(points), dtype=bool)
        result[found] = across * across + along * along < r * r
        return result

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

    Of points nowhere deeper than ``least`` (0 or more) that is all that is known (-inf).
    """
    if len(points) * len(centre) <= _TOO_MANY:
        return _depth_near(points, centre, radius, least)
    deep, which = np.full(len(points), -np.inf), np.zeros(len(points), dtype=np.int64)
    low = complex(points.real.min(), points.imag.min())
    size = max(float(np.ptp(points.real)), float(np.ptp(points.imag)), 1e-300) / _CELLS
    column, row = (np.minimum(at // size, _CELLS - 1) for at in ((points - low).real, (points - low).imag))
    order = np.argsort(column + _CELLS * row, kind="stable")
    bounds = np.searchsorted((column + _CELLS * row)[order], np.arange(_CELLS * _CELLS + 1))
    for cell in np.flatnonzero(np.diff(bounds)).tolist():
        mine = order[bounds[cell] : bounds[cell + 1]]
        middle = low + size * complex(cell % _CELLS + 0.5, cell // _CELLS + 0.5)
        near = np.flatnonzero(np.abs(centre - middle) <= radius + 0.71 * size)
        if len(near):
            deep[mine], found = _depth_near(points[mine], centre[near], radius[near], least)
            which[mine] = near[found]
    return deep, which


def _depth_near(points: Complexes, centre: Complexes, radius: Floats, least: float) -> tuple[Floats, Ints]:
    """Return what :func:`_depth` does.

    Discs that follow each other lie close together: a circle around some of them says how deep a point can be in any,
    the middle one how deep it is at least.
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
