"""A marker's letters in one hand at one size: what all faces of a family share."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from typing import Any

from guidegen.fonts import ink
from guidegen.fonts.charset import characters
from guidegen.fonts.faces import guide_heights_mm
from guidegen.fonts.forms import Written, written
from guidegen.fonts.truesize import TrueSize, true_size
from guidegen.geometry.path import Outline
from guidegen.geometry.stroke.stroke import AnyStroke
from guidegen.hands.hand import Hand
from guidegen.lettering.lettering import Lettering

Mapper = Callable[[Callable[[Any], Any], Sequence[Any]], Iterable[Any]]
"""Like ``map``: applies a function of a module to every task, in order; it may use other processes."""


AT_ONCE = 64
"""Glyphs inked in one go: many small ones cost little more than one."""


def plain_map(work: Callable[[Any], Any], tasks: Sequence[Any]) -> Iterator[Any]:
    """Apply ``work`` to every task, here and now."""
    return map(work, tasks)


@dataclass(slots=True, eq=False)
class Alphabet:
    """A marker's letters in one hand at one size, each inked at most once for all the faces of a family."""

    lettering: Lettering
    items: tuple[Written, ...]
    size: TrueSize
    mapper: Mapper = plain_map
    inks: dict[str, Outline] = field(default_factory=dict)

    @property
    def hand(self) -> Hand:
        return self.lettering.hand

    def ink_all(self, items: Sequence[Written]) -> Iterator[str]:
        """Ink all glyphs that are not yet, yielding each one's name when it is done."""
        todo = [item for item in items if item.name not in self.inks]
        groups = list(dict.fromkeys(item.strokes for item in todo))  # a letter may end a word as it leads on
        some = [groups[at : at + AT_ONCE] for at in range(0, len(groups), AT_ONCE)]
        done = itertools.chain.from_iterable(self.mapper(ink.solid_all, some))
        found: dict[tuple[AnyStroke, ...], Outline] = {}
        for item in todo:
            while item.strokes not in found:
                found[groups[len(found)]] = next(done)
            self.inks[item.name] = found[item.strokes]
            yield item.name

    def units(self, mm: float) -> int:
        """Return ``mm`` in whole font units."""
        return round(self.size.units(mm))

    def point(self, at_mm: complex) -> complex:
        """Return a point in mm in whole font units."""
        return complex(self.units(at_mm.real), self.units(at_mm.imag))


def alphabet(lettering: Lettering, chars: Iterable[str] | None = None, mapper: Mapper = plain_map) -> Alphabet:
    """Return the letters of a lettering: all that its hand has, or those in ``chars``.

    ``mapper`` does the heavy work, some glyphs at a time.

    Raises:
        GuidegenError: the hand lacks one of a to z, or no whole point size gives this x-height.
    """
    have = characters(lettering.hand)
    wanted = have if chars is None else sorted(set(have) & set(chars))
    heights = guide_heights_mm(lettering)
    size = true_size(lettering.x_height_mm, heights[3], -heights[0])
    return Alphabet(lettering, tuple(written(lettering, wanted)), size, mapper)
