"""One line of text in the forms that lead from a model to the learner's own hand.

``solid`` is the ink itself, ``hollow`` its contour as an even thin line inside the ink's edge, ``dotted`` dots
along the centrelines, ``starts`` an open ring where each stroke begins, ``ghost`` the thinnest contour. All are
full black, so a photocopier keeps them.
"""

from __future__ import annotations

import hashlib
import math
from collections.abc import Sequence
from functools import lru_cache
from itertools import pairwise
from typing import Literal

from guidegen.geometry.path import Outline, Path, translate
from guidegen.geometry.shape.discs import along, width_of
from guidegen.geometry.shape.dots import dot_rows
from guidegen.geometry.shape.inset_line import Opening, rim
from guidegen.geometry.stroke.expand import expand
from guidegen.geometry.stroke.stroke import AnyStroke
from guidegen.hands.accents import find_letter
from guidegen.hands.alternates import alternated
from guidegen.hands.joins import form_names
from guidegen.lettering.lettering import Lettering
from guidegen.lettering.letters import INK_TOLERANCE_MM, Letter
from guidegen.lettering.text import PlacedLetter
from guidegen.scene import BLACK, Ink, Item, Placed, Shape, Style, Symbol
from guidegen.sheets.parts.stroke_order import circle, marks_for, ring
from guidegen.sheets.parts.words import DRILL, ink_of, line_of

Form = Literal["solid", "hollow", "dotted", "starts", "ghost"]
_GHOST_MM = 0.15
_HOLLOW_TOLERANCE_MM = 0.01
_SAME_MM = 1e-3
_LEAST_RING = 0.62
"""The smallest ring, where strokes start near each other, as a share of a usual one."""
_SPACES = " \u00a0"


@lru_cache(maxsize=48)
def written(lettering: Lettering, text: str, form: Form, ink: Ink = BLACK) -> Symbol:
    """Return ``text`` in one form, its baseline at y = 0, beginning at x = 0; the same call gives the same object."""
    words = text.removeprefix(DRILL)
    strokes = line_of(lettering, text).strokes
    if form == "starts":
        items = _starts(lettering, strokes)
    else:
        outline = ink_of(lettering, text) if form != "dotted" else ()
        items = (Shape(_paths(lettering, form, strokes, outline), Style(fill=ink), words),)
    return Symbol(_symbol_name(lettering, form, words, ink), items)


def letter_by_letter(
    lettering: Lettering, text: str, form: Form, ink: Ink = BLACK, drawn: frozenset[str] = frozenset()
) -> tuple[Placed, ...]:
    """Return ``text`` in one form as letters placed side by side, equal letters as one and the same symbol.

    Joined letters run into each other: solid ones overlap at the join, hollow ones are open there, and of dotted
    ones two dots coincide. Of a symbol whose name is in ``drawn`` only the name is given: its artwork is elsewhere.
    """
    placed = line_of(lettering, text).letters
    joins = [_joined_at(here, after) for here, after in pairwise((*placed, None))]
    found = []
    for number, (here, leaving) in enumerate(zip(placed, joins, strict=True)):
        entered = number > 0 and joins[number - 1] is not None
        name = _letter_name(lettering, here.letter, form, entered, leaving, ink)
        symbol = Symbol(name, ()) if name in drawn else _letter(lettering, here.letter, form, entered, leaving, ink)
        found.append(Placed(symbol, complex(here.x_mm, 0)))
    return tuple(found)


def first_letters(lettering: Lettering, texts: Sequence[str]) -> list[tuple[str, tuple[int, ...]]]:
    """Return for each text that brings a new form of a letter the places of such letters, spaces not counted.

    Told from the joins alone, without setting a line, so that thousands of names take a moment. A character the
    hand lacks is passed over.
    """
    seen: set[tuple[str, int, str, str]] = set()
    found = []
    for text in texts:
        letters = [None if char in _SPACES else find_letter(lettering.hand, char) for char in text]
        names = form_names(lettering.hand, letters) if lettering.hand.joins else [("", "")] * len(text)
        shapes = alternated(lettering.hand, [None if char in _SPACES else char for char in text])
        whole = zip(text, shapes, names, strict=True)
        keys = [(char, shape, *name) for char, shape, name in whole if char not in _SPACES]
        fresh = tuple(number for number, key in enumerate(keys) if key not in seen and key not in keys[:number])
        seen.update(keys)
        if fresh:
            found.append((text, fresh))
    return found


def _joined_at(here: PlacedLetter | None, after: PlacedLetter | None) -> int | None:
    """Return which stroke of a letter runs on into the next one, or None."""
    if here is None or after is None or not after.letter.strokes:
        return None
    entry = after.letter.strokes[0].path.start + after.x_mm - here.x_mm
    ends = enumerate(stroke.path.end for stroke in here.letter.strokes)
    return next((number for number, end in ends if abs(end - entry) < _SAME_MM), None)


@lru_cache(maxsize=1024)
def _letter(lettering: Lettering, letter: Letter, form: Form, entered: bool, leaving: int | None, ink: Ink) -> Symbol:
    name = _letter_name(lettering, letter, form, entered, leaving, ink)
    if form == "starts":
        return Symbol(name, _starts(lettering, letter.strokes[entered:]))
    outline = _ink_of(letter) if form != "dotted" else ()
    openings = [_opening(letter.strokes[0], at_end=False)] if entered else []
    openings += [] if leaving is None else [_opening(letter.strokes[leaving], at_end=True)]
    paths = _paths(lettering, form, letter.strokes, outline, openings)
    shape = Shape(paths, Style(fill=ink), letter.char)
    return Symbol(name, (shape,))


@lru_cache(maxsize=1024)
def _letter_name(
    lettering: Lettering, letter: Letter, form: Form, entered: bool, leaving: int | None, ink: Ink
) -> str:
    return _symbol_name(lettering, form, (letter, entered, leaving), ink)


@lru_cache(maxsize=256)
def _ink_of(letter: Letter) -> Outline:
    return expand(letter.strokes, INK_TOLERANCE_MM)


def _symbol_name(lettering: Lettering, form: Form, what: object, ink: Ink) -> str:
    """Return a name that is the same in every process for the same artwork, and for no other."""
    hand, marker = lettering.hand, lettering.marker
    parts = (marker, hand.name, hand.slant_deg, lettering.x_height_mm, form, what, ink)
    return hashlib.sha1(repr(parts).encode(), usedforsecurity=False).hexdigest()


def as_symbol(items: Sequence[Item]) -> Placed:
    """Return ``items`` as one symbol where they stand; equal items give a symbol of the same name."""
    name = hashlib.sha1(repr(items).encode(), usedforsecurity=False).hexdigest()
    return Placed(Symbol(name, tuple(item for item in items if not isinstance(item, Placed))), 0j)


def _opening(stroke: AnyStroke, *, at_end: bool) -> Opening:
    s, points, tangents = along(stroke.path, 1.0)
    where = -1 if at_end else 0
    heading = complex(tangents[where]) * (1 if at_end else -1)
    return Opening(complex(points[where]), heading, width_of(stroke, float(s[where])))


def rim_mm(lettering: Lettering) -> float:
    """Return the weight of a hollow letter's line: it grows with the marker, and a copier keeps it."""
    return min(0.5, max(0.2, 0.1 * lettering.marker.downstroke_mm))


def dot_mm(lettering: Lettering) -> tuple[float, float]:
    """Return the diameter of the dots and the distance of their centres."""
    diameter = min(1.1, max(0.32, 0.055 * lettering.x_height_mm))
    return diameter, 2.6 * diameter


def start_ring_mm(lettering: Lettering) -> float:
    """Return the radius of the rings that show where strokes start."""
    return min(1.7, max(0.6, 0.12 * lettering.x_height_mm))


def _paths(
    lettering: Lettering,
    form: Form,
    strokes: Sequence[AnyStroke],
    outline: Outline,
    openings: Sequence[Opening] = (),
) -> tuple[Path, ...]:
    if form == "dotted":
        return _dots(lettering, strokes)
    if form == "solid":
        return outline
    weight = rim_mm(lettering) if form == "hollow" else _GHOST_MM
    return rim(outline, weight, _HOLLOW_TOLERANCE_MM, openings)


def _dots(lettering: Lettering, strokes: Sequence[AnyStroke]) -> tuple[Path, ...]:
    diameter, gap = dot_mm(lettering)
    dot = circle(0j, diameter / 2)
    placed: list[complex] = []
    for row in dot_rows([stroke.path for stroke in strokes], gap):
        for z in row:
            # A dot on a dot (where strokes meet or cross) would only make a blot.
            if all(abs(z - other) > 0.62 * gap for other in placed):
                placed.append(z)
    return tuple(path for z in placed for path in translate((dot,), z))


def _starts(lettering: Lettering, strokes: Sequence[AnyStroke]) -> tuple[Shape, ...]:
    line_mm = marks_for(lettering.x_height_mm).line_mm
    placed = start_rings([stroke.path.start for stroke in strokes], start_ring_mm(lettering), line_mm)
    return tuple(shape for at, radius in placed for shape in ring(at, radius, line_mm))


def start_rings(starts: Sequence[complex], radius_mm: float, line_mm: float) -> tuple[tuple[complex, float], ...]:
    """Return where rings on ``starts`` stand and how large each is, to its outer edge.

    Starts closer than ``radius_mm`` coincide and share the first one's ring: two would be a blot. Rings whose starts
    are near each other are smaller, with half a line's white between them as far as they stay open.
    """
    kept: list[complex] = []
    for at in starts:
        if all(abs(at - other) >= radius_mm for other in kept):
            kept.append(at)
    nearest = [min((abs(at - other) for other in kept if other is not at), default=math.inf) for at in kept]
    least = _LEAST_RING * radius_mm
    return tuple(
        (at, min(radius_mm, max(least, (gap - line_mm / 2) / 2))) for at, gap in zip(kept, nearest, strict=True)
    )
