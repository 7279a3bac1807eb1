"""What a face looks like, and how big its dots, contours and guide lines are."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from guidegen.lettering.lettering import Lettering

FaceLook = Literal["solid", "dotted", "hollow"]
LOOKS: tuple[FaceLook, ...] = ("solid", "dotted", "hollow")


@dataclass(frozen=True, slots=True)
class FaceStyle:
    """A look; ``ruled`` puts the four guide lines into every glyph, ``starts`` an open ring where a stroke begins."""

    look: FaceLook
    ruled: bool = False
    starts: bool = False

    @property
    def style_name(self) -> str:
        """Return the style as it stands in a font menu: Regular, Dotted, Hollow Ruled, ..."""
        words = ([] if self.look == "solid" else [self.look.title()]) + (["Starts"] if self.starts else [])
        return " ".join(words + (["Ruled"] if self.ruled else [])) or "Regular"

    @property
    def file_word(self) -> str:
        """Return the style as it stands in a file name."""
        return "-".join([self.look, *(["starts"] if self.starts else []), *(["ruled"] if self.ruled else [])])


FAMILY = (
    FaceStyle("solid"),
    FaceStyle("hollow"),
    FaceStyle("dotted"),
    FaceStyle("dotted", starts=True),
    FaceStyle("solid", ruled=True),
    FaceStyle("hollow", ruled=True),
    FaceStyle("dotted", ruled=True),
    FaceStyle("dotted", ruled=True, starts=True),
)
"""The whole set of faces."""


@dataclass(frozen=True, slots=True)
class Fineness:
    """Sizes in mm at true size, whatever the font's units."""

    dot_mm: float
    spacing_mm: float
    contour_mm: float
    baseline_mm: float
    guide_mm: float


def fineness(lettering: Lettering) -> Fineness:
    """Return sizes that fit a marker: dots that print and can be told apart, lines a copier keeps (0.25 pt = 0.09 mm).

    Dots are at least 0.3 mm wide, which is 7 dots of a printer at 600 dpi: smaller ones are lost or run together on
    common paper (common practice, no source).
    """
    x_height_mm = lettering.x_height_mm
    dot = min(max(0.045 * x_height_mm, 0.3), 1.2)
    contour = min(max(lettering.marker.downstroke_mm / 14, 0.1), 0.35)
    guide = min(max(0.012 * x_height_mm, 0.12), 0.3)
    return Fineness(dot, 2.3 * dot, contour, max(2 * guide, 0.25) if x_height_mm > 4 else 0.18, guide)


def guide_heights_mm(lettering: Lettering) -> tuple[float, float, float, float]:
    """Return the heights of descender line, baseline, x-height line and ascender line."""
    hand, x_height_mm = lettering.hand, lettering.x_height_mm
    return (-hand.descender * x_height_mm, 0.0, x_height_mm, hand.ascender * x_height_mm)
