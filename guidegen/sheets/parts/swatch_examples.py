"""Drawn examples on a swatch page: strokes or a letter as they should be, and strokes that cannot be measured."""

from __future__ import annotations

import cmath
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from guidegen.geometry.measure import bounds
from guidegen.geometry.path import Outline, Path, polyline, translate
from guidegen.scene import Item, Layer, Line, Purpose, Shape, Style, grey
from guidegen.sheets.parts.frame import Box
from guidegen.sheets.parts.labels import STRONG, label, label_width_mm, wrapped
from guidegen.sheets.parts.phrases import Phrases
from guidegen.sheets.parts.swatch_block import SwatchCell, Use

_BOX_MM = (12.0, 12.5)
_OVER_MM = 2.0
"""How far a stroke that leaves its box goes beyond it."""
_TEXT_MM, _LINE_MM = 2.5, 3.0
_LINES = 2
_AIR_MM = 1.0
_GAP_MM = 2.5
_LEAST_WIDTH_MM = 110.0
_PRESSED_MM, _LIGHT_MM = 2.6, 0.4
_INK = Style(fill=grey(0.55))
_NIB = Style(stroke_mm=0.7)
_SIGN = Style(stroke_mm=0.4)

BoxLines = Callable[[SwatchCell, complex], list[Line]]


@dataclass(frozen=True, slots=True)
class Example:
    """One picture: its ink about the middle of its box, mm; what to say of it; whether it is right."""

    ink: tuple[Path, ...]
    words: str
    good: bool
    nib: tuple[complex, complex] | None = None


def stroke_examples(use: Use, slants_deg: Sequence[float], say: Phrases) -> list[Example]:
    """Return those of strokes, each along the slant of its row."""
    first = slants_deg[0]
    out = Example((_even(first, _PRESSED_MM, _reach(first, _OVER_MM)),), say("swatch.out"), good=False)
    inside = _reach(first, -2.0)
    if use == "broad":
        edge = cmath.rect(_PRESSED_MM, math.radians(slants_deg[1]))
        beyond = cmath.rect(_reach(first, _OVER_MM), math.radians(first))
        ink = polyline([beyond + edge / 2, -beyond + edge / 2, -beyond - edge / 2, beyond - edge / 2], closed=True)
        out = Example((ink,), say("swatch.out"), good=False)
        made = []
        for key, slant in (("good_across", first), ("good_along", slants_deg[1])):
            along = cmath.rect(_reach(slant, -2.0) - 0.8, math.radians(slant))
            width = edge / 2 if key == "good_across" else 1j * along / abs(along) * _LIGHT_MM / 2
            ink = polyline([along + width, -along + width, -along - width, along - width], closed=True)
            end = -along if key == "good_across" else along - edge / 2
            made.append(Example((ink,), say(f"swatch.{key}"), good=True, nib=(end - edge / 2, end + edge / 2)))
        return [*made, out]
    good = Example((_even(first, _PRESSED_MM, inside),), say("swatch.good"), good=True)
    if use == "round":
        return [good, out]
    light = Example((_even(slants_deg[1], _LIGHT_MM, inside),), say("swatch.good_light"), good=True)
    lost = Example((_even(first, _PRESSED_MM, inside, fading=True),), say("swatch.lost"), good=False)
    return [good, light, lost, out]


def examples_height_mm(examples: Sequence[Example], width_mm: float, size_mm: tuple[float, float] | None) -> float:
    """Return the height a row of examples takes with the white below it; 0 where it has no room or none are there.

    ``size_mm``: of their boxes, for a letter's.
    """
    if not examples or width_mm < _LEAST_WIDTH_MM:
        return 0.0
    over = 0.0 if size_mm else 2 * _OVER_MM
    return (size_mm or _BOX_MM)[1] + over + _AIR_MM + _LINES * _LINE_MM + _GAP_MM


def drawn_examples(
    box: Box, examples: Sequence[Example], size_mm: tuple[float, float] | None, lines: BoxLines, say: Phrases
) -> list[Layer]:
    """Return a row of examples at the top of ``box``, in boxes as ``lines`` draws them, words below each."""
    width, height = size_mm or _BOX_MM
    heading = say("swatch.examples" if len(examples) > 1 else "swatch.example")
    aside = label_width_mm(heading, _TEXT_MM, STRONG) + 2.0
    top = box.top - (0.0 if size_mm else _OVER_MM)
    words: list[Item] = [label(heading, complex(box.left, top - _TEXT_MM), _TEXT_MM, weight=STRONG)]
    shapes: list[Item] = []
    sides: list[Item] = []
    signs: list[Item] = []
    step = (box.width - aside) / max(3, len(examples))
    for number, example in enumerate(examples):
        corner = complex(box.left + aside + number * step + (step - width) / 2, top)
        middle = corner + complex(width / 2, -height / 2)
        sides += lines(SwatchCell("downstroke", 0.0, 0.0, width, height), corner)
        shapes.append(Shape(translate(example.ink, middle), _INK))
        if example.nib is not None:
            signs.append(Line(middle + example.nib[0], middle + example.nib[1], _NIB))
        signs += _sign(corner + complex(-4.6, -height / 2), good=example.good)
        foot = middle - 1j * (height / 2 + (0.0 if size_mm else _OVER_MM) + _AIR_MM + _TEXT_MM * 0.73)
        for n, line in enumerate(wrapped(example.words, step - 1.5, _TEXT_MM)):
            words.append(label(line, foot - 1j * _LINE_MM * n, _TEXT_MM, anchor="middle"))
    made = (
        (Purpose.CELLS, sides), (Purpose.STROKES, shapes), (Purpose.ARROWS, signs), (Purpose.LABELS, words),
    )  # fmt: skip
    return [Layer(purpose, tuple(found)) for purpose, found in made]


def letter_example(ink: Outline, x_height_mm: float, size_mm: tuple[float, float], say: Phrases) -> list[Example]:
    """Return the letter whose outline stands on a baseline through 0, in the middle of a box of that size."""
    low, high = bounds(ink)
    if high.real - low.real > size_mm[0] - 2.0:
        return []
    at = complex(-(low.real + high.real) / 2, -x_height_mm / 2)
    return [Example(tuple(translate(ink, at)), say("swatch.good_letter"), good=True)]


def _reach(slant_deg: float, over_mm: float) -> float:
    """Return half the length of a stroke through the middle of the box that ends so far beyond the box's sides."""
    along = cmath.rect(1.0, math.radians(slant_deg))
    wide, high = (side / 2 + over_mm for side in _BOX_MM)
    reaches = [side / part for side, part in ((wide, abs(along.real)), (high, abs(along.imag))) if part > 1e-6]
    return min(reaches) if over_mm < 0 else high / max(0.5, abs(along.imag))


def _even(slant_deg: float, width_mm: float, reach: float, *, fading: bool = False) -> Path:
    """Return the outline of a drawn stroke about 0: even with soft ends, or losing its width from half of its way."""
    along = cmath.rect(1.0, math.radians(slant_deg))
    sides: list[complex] = []
    back: list[complex] = []
    count = 48
    for n in range(count + 1):
        s = math.cos(math.pi * n / count)  # close together at the round ends
        ends = min(1.0, (1 - abs(s)) * reach / (width_mm / 2))
        half = width_mm / 2 * math.sqrt(max(0.0, ends * (2 - ends)))
        if fading and s < 0.35:
            half *= max(0.16, 1 - 0.95 * (0.35 - s) / 1.1)
        sides.append(along * reach * s - 1j * along * half)
        back.append(along * reach * s + 1j * along * half)
    return polyline([*back, *reversed(sides)], closed=True)


def _sign(at: complex, *, good: bool) -> list[Item]:
    """Return a tick or a cross about 3 mm wide with its left end at ``at``."""
    if good:
        return [Line(at, at + 1.0 - 1.1j, _SIGN), Line(at + 1.0 - 1.1j, at + 2.8 + 1.5j, _SIGN)]
    middle = at + 1.4
    return [Line(middle - by, middle + by, _SIGN) for by in (1.2 + 1.2j, 1.2 - 1.2j)]
