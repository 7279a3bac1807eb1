"""A marker's letters in one hand at one size: what all faces of a family share."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from guidegen.fonts import ink
from guidegen.fonts.charset import characters
from guidegen.fonts.faces import guide_heights_mm
from guidegen.fonts.forms import Written, written
from guidegen.fonts.truesize import TrueSize, true_size
from guidegen.geometry.path import Outline
from guidegen.hands import Hand
from guidegen.markers import Marker


@dataclass(slots=True, eq=False)
class Alphabet:
    """A marker's letters in one hand at one size, each inked at most once for all the faces of a family."""

    marker: Marker
    hand: Hand
    x_height_mm: float
    items: tuple[Written, ...]
    size: TrueSize
    inks: dict[str, Outline] = field(default_factory=dict)

    def ink_of(self, item: Written) -> Outline:
        """Return the glyph's solid ink in mm."""
        if item.name not in self.inks:
            self.inks[item.name] = ink.solid(item.strokes)
        return self.inks[item.name]

    def units(self, mm: float) -> int:
        """Return ``mm`` in whole font units."""
        return round(self.size.units(mm))

    def point(self, at_mm: complex) -> complex:
        """Return a point in mm in whole font units."""
        return complex(self.units(at_mm.real), self.units(at_mm.imag))


def alphabet(marker: Marker, hand: Hand, x_height_mm: float, chars: Iterable[str] | None = None) -> Alphabet:
    """Return the letters of ``marker`` in ``hand``: all that the hand has, or those in ``chars``.

    Raises:
        GuidegenError: the hand lacks one of a to z, or no whole point size gives this x-height.
    """
    have = characters(hand)
    wanted = have if chars is None else [char for char in have if char in set(chars)]
    heights = guide_heights_mm(hand, x_height_mm)
    size = true_size(x_height_mm, heights[3], -heights[0])
    return Alphabet(marker, hand, x_height_mm, tuple(written(hand, marker, x_height_mm, wanted)), size)
