"""One line of text in the forms that lead from a model to the learner's own hand.

``solid`` is the ink itself, ``hollow`` its contour as an even thin line inside the ink's edge, ``dotted`` dots
along the centrelines, ``starts`` an open ring where each stroke begins, ``ghost`` the thinnest contour. All are full black, so a photocopier
keeps them.
"""

from __future__ import annotations

from functools import lru_cache
from typing import Literal

from guidegen.geometry.clearance import even_points
from guidegen.geometry.inset import inset
from guidegen.geometry.path import Path, reverse, translate
from guidegen.scene import BLACK, Ink, Shape, Style, Symbol
from guidegen.sheets.lettering import Lettering
from guidegen.sheets.stroke_order import circle, marks_for, ring

Form = Literal["solid", "hollow", "dotted", "starts", "ghost"]
_GHOST_MM = 0.15
_HOLLOW_TOLERANCE_MM = 0.01


@lru_cache(maxsize=256)
def written(lettering: Lettering, text: str, form: Form, ink: Ink = BLACK) -> Symbol:
    """Return ``text`` in one form, its baseline at y = 0, beginning at x = 0; the same call gives the same object."""
    name = f"{lettering.marker.name} {lettering.x_height_mm:.4f} {form} {text}"
    if form == "solid":
        return Symbol(name, (Shape(lettering.ink(text), Style(fill=ink), text),))
    if form == "hollow":
        return Symbol(name, (Shape(_hollow(lettering, text, rim_mm(lettering)), Style(fill=ink), text),))
    if form == "ghost":
        return Symbol(name, (Shape(_hollow(lettering, text, _GHOST_MM), Style(fill=ink), text),))
    if form == "dotted":
        return Symbol(name, (Shape(_dots(lettering, text), Style(fill=ink), text),))
    return Symbol(name, _starts(lettering, text))


def rim_mm(lettering: Lettering) -> float:
    """Return the weight of a hollow letter's line: it grows with the marker, and a copier keeps it."""
    return min(0.5, max(0.2, 0.1 * lettering.marker.downstroke_mm))


def dot_mm(lettering: Lettering) -> tuple[float, float]:
    """Return the diameter of the dots and the distance of their centres."""
    diameter = min(1.1, max(0.4, 0.055 * lettering.x_height_mm))
    return diameter, 2.7 * diameter


def _hollow(lettering: Lettering, text: str, rim: float) -> tuple[Path, ...]:
    outline = lettering.ink(text)
    core = inset(outline, rim, _HOLLOW_TOLERANCE_MM)
    return (*outline, *(reverse(path) for path in core))


def _dots(lettering: Lettering, text: str) -> tuple[Path, ...]:
    diameter, gap = dot_mm(lettering)
    dot = circle(0j, diameter / 2)
    placed: list[complex] = []
    for stroke in lettering.line(text).strokes:
        for z in even_points(stroke.path, gap):
            # A dot on a dot (where strokes meet or cross) would only make a blot.
            if all(abs(z - other) > 0.62 * gap for other in placed):
                placed.append(z)
    return tuple(path for z in placed for path in translate((dot,), z))


def _starts(lettering: Lettering, text: str) -> tuple[Shape, ...]:
    marks = marks_for(lettering.x_height_mm)
    radius = 0.8 * marks.ring_mm
    shapes: list[Shape] = []
    taken: list[complex] = []
    for stroke in lettering.line(text).strokes:
        at = stroke.path.start
        if all(abs(at - other) > 2.2 * radius for other in taken):
            taken.append(at)
            shapes += ring(at, radius, marks.line_mm)
    return tuple(shapes)
