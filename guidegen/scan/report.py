"""The page of a measurement: every edge that was used where it was found, every width, and what was left out and why.

Nothing of the picture is on it but what was measured.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from guidegen.geometry.path import Path, polyline
from guidegen.profiles.markers import Marker
from guidegen.scan.measure import MeasuredMarker, ReadBlock, ReadPicture
from guidegen.scan.statistics import Width
from guidegen.scene import Document, Item, Layer, Line, Page, Purpose, Shape, Style, grey
from guidegen.sheets.parts.labels import STRONG, label, wrapped
from guidegen.sheets.parts.phrases import Phrases
from guidegen.sheets.parts.swatch_block import RING_MM

_MARGIN_MM = 12.0
_HEAD_MM = 40.0
_TEXT_MM = 3.0
_SMALL_MM = 2.2
_INK = Style(fill=grey(0.25))
_EDGE = Style(stroke_mm=0.12)
_CELL = Style(stroke_mm=0.08, dash_mm=(0.6, 0.9))
_CROSS = Style(stroke_mm=0.35)


def measure_report(
    pictures: Sequence[ReadPicture], markers: Sequence[MeasuredMarker], named: Sequence[Marker], say: Phrases
) -> Document:
    """Return one page for each block of each picture, at true size."""
    pages = []
    for number, picture in enumerate(pictures):
        for block in picture.blocks:
            place = next(n for n, marker in enumerate(markers) if marker.copy == block.copy)
            which = say("measured.picture", number=number + 1, count=len(pictures)) if len(pictures) > 1 else ""
            pages.append(_page(number, picture, block, markers[place], named[place], which, say))
    title = say("measured.title", markers=", ".join(marker.label for marker in named))
    return Document(tuple(pages), title, say("measured.description"), ())


def width_words(name: str, width: Width) -> tuple[str, str]:
    """Return what to say of a width: itself within its interval, and how well its strokes were measured."""
    low, high = width.interval_mm
    strokes = "stroke" if width.samples == 1 else "strokes"
    first = f"{name} {width.mm:.3f} mm ({low:.3f} to {high:.3f}), {width.samples} {strokes}"
    within = f"measured within {1000 * width.measured_within_mm:.0f} µm"
    return first, f"strokes differ by {1000 * width.sd_mm:.0f} µm; {within}"


def _page(
    number: int, picture: ReadPicture, block: ReadBlock, marker: MeasuredMarker, named: Marker, which: str,
    say: Phrases,
) -> Page:  # fmt: skip
    shape = block.block.block
    wide, high = shape.width_mm + 2 * _MARGIN_MM, shape.height_mm + 2 * _MARGIN_MM + _HEAD_MM
    corner = complex(_MARGIN_MM, high - _MARGIN_MM - _HEAD_MM)

    def at(z: complex) -> complex:
        return corner + z.conjugate()

    words: list[Item] = []
    y = high - _MARGIN_MM - 4.5
    words.append(label(named.label, complex(_MARGIN_MM, y), 6.0, weight=STRONG))
    if which:
        words.append(label(which, complex(wide - _MARGIN_MM, y), _TEXT_MM, anchor="end"))
    lines = [_width_line("downstroke", marker.downstroke, say)]
    if marker.hairline is not None:
        lines.append(_width_line("upstroke" if named.tip == "brush" else "hairline", marker.hairline, say))
    lines.append(_scale_words(picture, say))
    for line in lines:
        for part in wrapped(line, shape.width_mm, _TEXT_MM):
            y -= 4.6
            words.append(label(part, complex(_MARGIN_MM, y), _TEXT_MM))
    marks: list[Item] = [Shape((_circle(at(ring), RING_MM / 2),), _EDGE) for ring in shape.rings]
    strokes = {stroke.cell: stroke for n, stroke in marker.strokes if n == number}
    ink: list[Item] = []
    edges: list[Item] = []
    for place, cell in enumerate(shape.cells):
        low = at(complex(cell.x_mm, cell.y_mm + cell.height_mm))
        sides = [low, low + cell.width_mm, low + complex(cell.width_mm, cell.height_mm), low + 1j * cell.height_mm]
        marks.append(Shape((polyline(sides, closed=True),), _CELL))
        stroke = strokes.get(place)
        foot = at(complex(cell.centre.real, cell.y_mm + cell.height_mm - 1.0))
        if stroke is None:
            continue
        if stroke.left:
            left, right = [at(z) for z in stroke.left], [at(z) for z in stroke.right]
            if not stroke.fault:
                ink.append(Shape((polyline([*left, *reversed(right)], closed=True),), _INK))
            edges += [Line(a, b, _EDGE) for side in (left, right) for a, b in pairwise(side)]
        if stroke.fault:
            words.append(_haloed(say("measured." + stroke.fault.replace(" ", "_")), foot, cell.width_mm))
            middle = at(cell.centre)
            edges += [Line(middle - by, middle + by, _CROSS) for by in (1.5 + 1.5j, 1.5 - 1.5j)]
        else:
            words.append(label(say.number(f"{stroke.width_mm:.3f}"), foot, _SMALL_MM, anchor="middle"))
    layers = (
        Layer(Purpose.CELLS, tuple(marks)),
        Layer(Purpose.STROKES, tuple(ink)),
        Layer(Purpose.DIMENSIONS, tuple(edges)),
        Layer(Purpose.LABELS, tuple(words)),
    )
    return Page(wide, high, tuple(layer for layer in layers if layer.items), say("measured.title", markers=named.label))


def _haloed(text: str, foot: complex, width: float) -> Shape:
    size = _SMALL_MM
    while size > 1.5 and len(wrapped(text, width, size)) > 1:
        size -= 0.1
    return label(text, foot, size, anchor="middle")


def _width_line(stroke: str, width: Width, say: Phrases) -> str:
    low, high = width.interval_mm
    numbers = {key: say.number(f"{mm:.3f}") for key, mm in (("mm", width.mm), ("low", low), ("high", high))}
    micrometres = {"sd": f"{1000 * width.sd_mm:.0f}", "reach": f"{1000 * width.measured_within_mm:.0f}"}
    return say("measured.width", stroke=say(f"measured.{stroke}"), count=width.samples, **numbers, **micrometres)


def _scale_words(picture: ReadPicture, say: Phrases) -> str:
    across, down = (say.number(f"{100 * side:.1f}") for side in picture.scale.printer)
    known = {"resolution": "by_resolution", "ruler": "by_ruler", "card": "by_card"}
    key = known.get(picture.scale.source)
    return say(f"measured.{key}", across=across, down=down) if key else say("measured.by_nothing")


def _circle(centre: complex, radius: float) -> Path:
    around = [centre + radius * cmath.exp(2j * math.pi * n / 48) for n in range(48)]
    return polyline([complex(z) for z in np.array(around)], closed=True)
