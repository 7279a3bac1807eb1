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
from guidegen.scan.measure import MeasuredMarker, ReadBlock, ReadPicture, is_near_limit
from guidegen.scan.statistics import Width
from guidegen.scene import WHITE, Document, Item, Layer, Line, Page, Purpose, Shape, Style, grey
from guidegen.sheets.parts.labels import ASCENT, STRONG, label, label_width_mm, wrapped
from guidegen.sheets.parts.phrases import Phrases
from guidegen.sheets.parts.swatch_block import RING_MM

_MARGIN_MM = 12.0
_NAME_MM = 6.0
_TEXT_MM, _TEXT_LINE_MM = 3.0, 4.6
_SMALL_MM, _SMALL_LINE_MM = 2.2, 2.8
_UNDER_HEAD_MM = 6.0
_UPRIGHT_DEG = 95.0
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


def measured_words(
    pictures: Sequence[ReadPicture], markers: Sequence[MeasuredMarker], named: Sequence[Marker], say: Phrases
) -> tuple[str, ...]:
    """Return what the pages say in words, and how many strokes were left out and why; each once."""
    told = []
    for marker, name in zip(markers, named, strict=True):
        told += _width_lines(marker, name, say)
        faults = [stroke.fault for _, stroke in marker.strokes if stroke.fault]
        for fault in dict.fromkeys(faults):
            numbers = {"count": faults.count(fault), "strokes": len(marker.strokes)}
            told.append(say("measured.left_out", fault=_fault_words(fault, say), **numbers))
    told += [line for picture in pictures for line in _picture_lines(picture, say)]
    return tuple(dict.fromkeys(told))


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
    lines = (*_width_lines(marker, named, say), *_picture_lines(picture, say))
    parts = [part for line in lines for part in wrapped(line, shape.width_mm, _TEXT_MM)]
    head = ASCENT * _NAME_MM + _TEXT_LINE_MM * len(parts) + _UNDER_HEAD_MM
    wide, high = shape.width_mm + 2 * _MARGIN_MM, shape.height_mm + 2 * _MARGIN_MM + head
    corner = complex(_MARGIN_MM, high - _MARGIN_MM - head)

    def at(z: complex) -> complex:
        return corner + z.conjugate()

    words: list[Item] = []
    y = high - _MARGIN_MM - ASCENT * _NAME_MM
    words.append(label(named.label, complex(_MARGIN_MM, y), _NAME_MM, weight=STRONG))
    if which:
        words.append(label(which, complex(wide - _MARGIN_MM, y), _TEXT_MM, anchor="end"))
    for part in parts:
        y -= _TEXT_LINE_MM
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
        aside = (cell.width_mm / 2 - 0.8) * (1 if stroke is None or stroke.heading_deg < _UPRIGHT_DEG else -1)
        if stroke is None:
            continue
        if stroke.left:
            left, right = [at(z) for z in stroke.left], [at(z) for z in stroke.right]
            if not stroke.fault:
                ink.append(Shape((polyline([*left, *reversed(right)], closed=True),), _INK))
            edges += [Line(a, b, _EDGE) for side in (left, right) for a, b in pairwise(side)]
        if stroke.fault:
            words += _on_white(_fault_words(stroke.fault, say), foot, cell.width_mm)
            middle = at(cell.centre)
            edges += [Line(middle - by, middle + by, _CROSS) for by in (1.5 + 1.5j, 1.5 - 1.5j)]
        else:
            number_words = say.number(f"{stroke.width_mm:.3f}")  # in the corner that the stroke leaves free
            words.append(label(number_words, foot + aside, _SMALL_MM, anchor="end" if aside > 0 else "start"))
    layers = (
        Layer(Purpose.CELLS, tuple(marks)),
        Layer(Purpose.STROKES, tuple(ink)),
        Layer(Purpose.DIMENSIONS, tuple(edges)),
        Layer(Purpose.LABELS, tuple(words)),
    )
    return Page(wide, high, tuple(layer for layer in layers if layer.items), say("measured.title", markers=named.label))


def _on_white(text: str, foot: complex, width: float) -> list[Item]:
    """Return words on white, the last of their lines at ``foot``: they may lie on a stroke that was left out."""
    lines = wrapped(text, width - 1.0, _SMALL_MM)
    reach = max(label_width_mm(line, _SMALL_MM) for line in lines) / 2 + 0.5
    high = _SMALL_LINE_MM * len(lines)
    low = foot - 0.7j
    white = polyline([low - reach, low + reach, low + complex(reach, high), low + complex(-reach, high)], closed=True)
    made: list[Item] = [Shape((white,), Style(fill=WHITE))]
    for number, line in enumerate(reversed(lines)):
        made.append(label(line, foot + 1j * _SMALL_LINE_MM * number, _SMALL_MM, anchor="middle"))
    return made


def _width_lines(marker: MeasuredMarker, named: Marker, say: Phrases) -> list[str]:
    lines = [_width_line("downstroke", marker.downstroke, say)]
    if marker.hairline is not None:
        lines.append(_width_line("upstroke" if named.tip == "brush" else "hairline", marker.hairline, say))
    if is_near_limit(marker.hairline or marker.downstroke):
        lines.append(say("measured.near_limit"))
    return lines


def _picture_lines(picture: ReadPicture, say: Phrases) -> list[str]:
    lines = [_scale_words(picture, say)]
    if picture.assumed:
        lines.append(say("measured.by_usual_curve"))
    return lines


def _fault_words(fault: str, say: Phrases) -> str:
    return say("measured." + fault.replace(" ", "_"))


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
