"""Planning a set of names: one x-height for all, decided by the longest, and what would hold the set."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

from guidegen.errors import GuidegenError
from guidegen.lettering.lettering import Lettering
from guidegen.lettering.sizing import right_size
from guidegen.profiles.papers import Paper
from guidegen.sheets.cards import card_box
from guidegen.sheets.parts.frame import Box, Setup
from guidegen.sheets.parts.rows import heights_of
from guidegen.sheets.parts.words import width_of
from guidegen.sheets.plan import smallest_lying

_STEPS = 40
_SMALLEST_SHARE = 0.05


@dataclass(frozen=True, slots=True)
class NameFit:
    """One name of a set: its width at the set's x-height and whether it keeps to its card."""

    name: str
    width_mm: float
    fits: bool


@dataclass(frozen=True, slots=True)
class SetPlan:
    """A set at one x-height, decided by the longest name: the largest that fits, at most the right size."""

    x_height_mm: float
    in_band: bool
    longest: str
    names: tuple[NameFit, ...]
    height_mm: float

    @property
    def fits(self) -> bool:
        return all(entry.fits for entry in self.names)

    @property
    def width_mm(self) -> float:
        """Return the width of the longest name."""
        return max(entry.width_mm for entry in self.names)


def plan_set(lettering: Lettering, names: Sequence[str], room: Box, smallest_mm: float | None = None) -> SetPlan:
    """Return the one x-height at which every name fits ``room`` on one line, at most the lettering's own.

    Where that would fall below the band (or ``smallest_mm``), the size stays at that bound and the names that
    break it are listed as not fitting.
    """
    size = right_size(lettering.marker, lettering.hand)
    floor = min(lettering.x_height_mm, smallest_mm or size.smallest_x_height_mm)
    room_share = room.height / heights_of(lettering).row_mm
    share, before = min(1.0, room_share), math.inf
    while share < before:  # the widest name at one size need not be the widest at another: the pen does not shrink
        at, before = lettering.at(share * lettering.x_height_mm), share
        share = min(share, _share_for_width(lettering, _widest(at, names), room.width))
    x_height = max(floor, share * lettering.x_height_mm)
    at = lettering.at(x_height)
    row = heights_of(at).row_mm
    low_enough = row <= room.height + 1e-6
    widths = [width_of(at, name) for name in names]
    fits = tuple(
        NameFit(name, width, low_enough and width <= room.width + 1e-6)
        for name, width in zip(names, widths, strict=True)
    )
    return SetPlan(x_height, size.verdict(x_height) == "right", _widest(at, names), fits, row)


def _widest(lettering: Lettering, names: Sequence[str]) -> str:
    return max(names, key=lambda name: width_of(lettering, name))


def set_paper(found: SetPlan, setup: Setup, up: int | None) -> Paper | None:
    """Return the smallest paper of the same family whose cards, ``up`` on a sheet, hold the set at its x-height."""

    def holds(paper: Paper) -> bool:
        try:
            card = card_box(replace(setup, paper=paper), up)
        except GuidegenError:  # no card worth the name
            return False
        return found.width_mm <= card.width + 1e-6 and found.height_mm <= card.height + 1e-6

    return smallest_lying(setup, holds)


def set_marker(names: Sequence[str], room: Box, others: Iterable[Lettering]) -> str | None:
    """Return the first of ``others`` (thickest first, each at its right size) in which every name fits ``room``."""
    for lettering in others:
        low_enough = heights_of(lettering).row_mm <= room.height
        if low_enough and all(width_of(lettering, name) <= room.width for name in names):
            return lettering.marker.name
    return None


@lru_cache(maxsize=64)
def _share_for_width(lettering: Lettering, text: str, width: float) -> float:
    """Return the largest share of the x-height at which ``text`` is at most ``width`` wide (at most 1)."""
    if width_of(lettering, text) <= width:
        return 1.0
    low, high = _SMALLEST_SHARE, 1.0
    for _ in range(_STEPS):
        middle = (low + high) / 2
        if width_of(lettering.at(lettering.x_height_mm * middle), text) <= width:
            low = middle
        else:
            high = middle
        if high - low < 1e-4:
            break
    return low
