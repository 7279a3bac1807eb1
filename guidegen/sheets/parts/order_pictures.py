"""A letter in the pictures that show the order of its strokes, to be set side by side.

Most letters need one picture; one whose strokes begin on others is shown once a stroke (see
:mod:`guidegen.sheets.parts.stroke_order`), what is already written as a thin outline.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from guidegen.geometry.measure import bounds
from guidegen.geometry.stroke.expand import expand
from guidegen.lettering.lettering import Lettering
from guidegen.lettering.letters import INK_TOLERANCE_MM
from guidegen.scene import BLACK, Shape, Style, grey
from guidegen.sheets.parts.frame import Box
from guidegen.sheets.parts.rows import heights_of
from guidegen.sheets.parts.stroke_order import Marks, StrokePicture, marks_for, stroke_order
from guidegen.sheets.parts.words import DRILL, line_of, over_of

_BEFORE = Style(stroke_mm=0.15, stroke=grey(0.6))
_INK = Style(fill=BLACK)


@dataclass(frozen=True, slots=True)
class OrderPicture:
    """One picture of a text's strokes, baseline at y = 0. ``left_mm`` and ``right_mm`` are how far it reaches."""

    text: str
    letter: tuple[Shape, ...]
    marks: tuple[Shape, ...]
    left_mm: float
    right_mm: float
    last: bool

    @property
    def width_mm(self) -> float:
        return self.right_mm - self.left_mm


def mark_room(lettering: Lettering, text: str) -> Box:
    """Return where the marks of a text may stand: its row, and above it the half of a ring on the ascender line."""
    heights = heights_of(lettering)
    reach = heights.ascender_mm + over_of(lettering, text) + marks_for(lettering.x_height_mm).ring_mm + 0.05
    return Box(-1e6, -heights.descender_mm, 1e6, reach)


@lru_cache(maxsize=128)
def order_pictures(lettering: Lettering, text: str) -> tuple[OrderPicture, ...]:
    """Return the pictures of a letter or a basic stroke, in writing order."""
    marks = marks_for(lettering.x_height_mm)
    pictures = stroke_order(line_of(lettering, text).strokes, marks, room=mark_room(lettering, text))
    return tuple(_drawn(picture, marks, text, picture is pictures[-1]) for picture in pictures)


def _drawn(picture: StrokePicture, marks: Marks, text: str, last: bool) -> OrderPicture:
    shapes = tuple(shape for mark in picture.marks for shape in mark.shapes(marks))
    letter = [Shape(expand(picture.before, INK_TOLERANCE_MM), _BEFORE)] if picture.before else []
    name = text.removeprefix(DRILL)
    title = name if last and not picture.before else f"{name}, stroke {picture.marks[0].number}"
    letter.append(Shape(expand(picture.strokes, INK_TOLERANCE_MM), _INK, title))
    left, right = zip(*(_reach(shape) for shape in (*letter, *shapes)), strict=True)
    return OrderPicture(text, tuple(letter), shapes, min(left), max(right), last)


def _reach(shape: Shape) -> tuple[float, float]:
    """Return how far a shape reaches to the left and to the right, its line's width counted."""
    low, high = bounds(shape.paths)
    edge = (shape.style.stroke_mm or 0.0) / 2
    return low.real - edge, high.real + edge


def stretched_mm(pictures: Sequence[OrderPicture], lettering: Lettering) -> float:
    """Return the width of pictures side by side."""
    gaps = sum(picture_gap_mm(lettering, picture) for picture in pictures[:-1])
    return sum(picture.width_mm for picture in pictures) + gaps


def picture_gap_mm(lettering: Lettering, picture: OrderPicture) -> float:
    """Return the white after a picture: more where the next one is of another letter."""
    ring = marks_for(lettering.x_height_mm).ring_mm
    return max(0.5 * lettering.x_height_mm, 3.0 * ring) if picture.last else 1.5 * ring
