"""Letters of tiny markers shown larger: a picture of the letter, never a size to write at."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from guidegen.geometry.path import translate
from guidegen.lettering.lettering import Lettering
from guidegen.lettering.letters import SAMPLE_LETTER, ink, letter
from guidegen.scene import BLACK, Item, Line, Shape, Style, hull_bounds, moved

TINY_MM = 5.0
"""Letters of a smaller x-height are shown enlarged beside their true size."""
_SHOWN_MM = 15.0
_LINE = Style(stroke_mm=0.12)


@dataclass(frozen=True, slots=True)
class Enlarged:
    """The sample letter ``times`` as large, between a baseline and an x-height line; its lower left is the origin."""

    times: int
    shape: Shape
    lines: tuple[Line, ...]
    width_mm: float
    height_mm: float


    def at(self, corner: complex) -> tuple[Item, ...]:
        """Return letter and lines with the baseline's left end at ``corner``."""
        return (*(moved(line, corner) for line in self.lines), moved(self.shape, corner))


def times_larger(x_height_mm: float) -> int:
    """Return how many times as large letters of an x-height are shown: 1 for those that can be seen as they are."""
    return 1 if x_height_mm >= TINY_MM else max(2, math.floor(_SHOWN_MM / x_height_mm))


def enlarged(lettering: Lettering, factor: float) -> Lettering:
    """Return marker and x-height alike ``factor`` times as large: the same letter, nearer to the eye."""
    marker = lettering.marker
    large = replace(
        marker, downstroke_mm=factor * marker.downstroke_mm, hairline_mm=factor * marker.hairline_mm, x_height_mm=None
    )
    return lettering if factor == 1.0 else replace(lettering, marker=large, x_height_mm=factor * lettering.x_height_mm)


def enlarged_sample(lettering: Lettering) -> Enlarged | None:
    """Return the sample letter enlarged, or None where it can be seen as it is or the hand has none."""
    times = times_larger(lettering.x_height_mm)
    if times == 1 or SAMPLE_LETTER not in lettering.hand.letters:
        return None
    large = enlarged(lettering, times)
    shape = Shape(ink([letter(large, SAMPLE_LETTER)]), Style(fill=BLACK), f"{SAMPLE_LETTER}, {times} × as large")
    low, high = hull_bounds((shape,))
    pad = 2.0 - low.real
    width = high.real + pad + 2.0
    placed = replace(shape, paths=translate(shape.paths, complex(pad, 0)))
    lines = tuple(Line(complex(0, y), complex(width, y), _LINE) for y in (0.0, large.x_height_mm))
    return Enlarged(times, placed, lines, width, max(high.imag, large.x_height_mm))
