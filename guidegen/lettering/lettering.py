"""A marker, in a hand, at a size: the one value that everything lettered is made from."""

from __future__ import annotations

from dataclasses import dataclass, replace

from guidegen.checks import an, check_fields, number
from guidegen.hands.hand import Hand
from guidegen.profiles.markers import Marker

_CHECKS = {
    "marker": an(Marker, "a Marker"),
    "hand": an(Hand, "a Hand"),
    "x_height_mm": number(1e-6, 1e6, "an x-height in mm, more than 0"),
}


@dataclass(frozen=True, slots=True)
class Lettering:
    """How words are lettered: a marker, a hand, an x-height in mm. Letterings with equal parts are equal.

    With ``boxes`` a character the hand lacks is drawn as an open box, to be filled by whoever knows the letter.

    Raises:
        GuidegenError: an x-height that is none, or something else in place of the marker or the hand.
    """

    marker: Marker
    hand: Hand
    x_height_mm: float
    boxes: bool = False

    def __post_init__(self) -> None:
        check_fields(self, _CHECKS)

    @property
    def pitch_mm(self) -> float:
        """Return the distance from baseline to baseline: extenders do not meet, with the hand's gap between rows."""
        return (self.hand.ascender + self.hand.descender + self.hand.row_gap) * self.x_height_mm

    def at(self, x_height_mm: float) -> Lettering:
        """Return the same marker and hand at another x-height."""
        return replace(self, x_height_mm=x_height_mm)
