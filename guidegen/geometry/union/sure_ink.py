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

from guidegen.geometry.cubic import Complexes, Floats, Ints

SURE_SHARE = 0.75  # of the tolerance: a boundary that runs deeper than that inside sure ink is none
_MANY = 1_000_000


class Discs(Protocol):
    """Who can name discs that are ink: centres and radii, many along a stroke, so that they cover nearly all of it."""

    def discs(self) -> tuple[Complexes, Floats]:
        """Return centres and radii."""
        ...


@dataclass(frozen=True, slots=True)
class SureInk:
    """Discs inside the ink, worked out when they are asked for: hardly any drawing needs them."""

    sources: tuple[Discs, ...] = ()

    def deepest(self, points: Complexes) -> Floats:
        """Return how deep each point lies inside the disc in which it lies deepest (negative: outside)."""
        return _depth(points, *self._discs())[0]

    def over(self, points: Complexes, least: float) -> tuple[Complexes, Floats]:
        """Return a few discs (centres, radii) in which all points lie that are deeper than ``least`` in some disc."""
        centre, radius = self._discs()
        deep, which = _depth(points, centre, radius)
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


def _depth(points: Complexes, centre: Complexes, radius: Floats) -> tuple[Floats, Ints]:
    """Return how deep each point lies inside the disc in which it lies deepest, and which that is."""
    deep, which = np.full(len(points), -np.inf), np.zeros(len(points), dtype=np.int64)
    block = max(1, _MANY // max(1, len(centre)))
    for at in range(0, len(points) if len(centre) else 0, block):
        some = slice(at, at + block)
        inside = radius - np.abs(points[some, None] - centre)
        which[some] = inside.argmax(axis=1)
        deep[some] = inside.max(axis=1)
    return deep, which


NONE_SURE = SureInk()
