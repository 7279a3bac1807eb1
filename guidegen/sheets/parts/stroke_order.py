"""Where a letter begins and which way the pen goes: numbered rings and arrows that touch nothing.

A ring with its number stands beside the start of each stroke, an arrow runs beside the stroke's first stretch,
parallel to it. Both are tried at places of falling preference and taken where they keep clear of all ink and of
every mark placed before; a number always finds a place (further and further out), an arrow is left out where
none is free.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from guidegen.geometry.path import Path, polyline
from guidegen.geometry.shape.discs import Crowd, along, crowd_of, stretch_beside, width_of
from guidegen.geometry.stroke.stroke import AnyStroke
from guidegen.scene import BLACK, Item, Shape, Style
from guidegen.sheets.parts.frame import Box
from guidegen.sheets.parts.labels import CAP_HEIGHT, STRONG, label

_CIRCLE = 0.5519150
"""Handle of a quarter circle as one cubic with the least error (2e-4 of the radius)."""


ANYWHERE = Box(-math.inf, -math.inf, math.inf, math.inf)


@dataclass(frozen=True, slots=True)
class Marks:
    """The sizes of the marks, in mm."""

    ring_mm: float
    line_mm: float
    head_mm: float
    gap_mm: float
    arrow_mm: float


def marks_for(x_height_mm: float) -> Marks:
    """Return marks that suit letters of ``x_height_mm``: never too small to read, never louder than the letter."""
    ring = min(2.1, max(1.15, 0.13 * x_height_mm))
    return Marks(
        ring_mm=ring,
        line_mm=min(0.3, max(0.18, 0.02 * x_height_mm)),
        head_mm=0.4 * ring + 0.2,
        gap_mm=min(0.9, max(0.3, 0.045 * x_height_mm)),
        arrow_mm=min(14.0, max(3.2, 0.5 * x_height_mm)),
    )


def circle(centre: complex, radius: float) -> Path:
    """Return a full circle, anticlockwise, as four cubics."""
    k = _CIRCLE * radius
    spots = pairwise([centre + radius * 1j**n for n in range(5)])
    return Path(tuple((a, a + k * 1j ** (n + 1), b + k * 1j**n, b) for n, (a, b) in enumerate(spots)), closed=True)


def ring(centre: complex, radius: float, line_mm: float, number: int | None = None) -> tuple[Shape, ...]:
    """Return an open ring, with ``number`` in it when given. ``radius`` is to the ring's outer edge."""
    edge = Shape((circle(centre, radius - line_mm / 2),), Style(stroke_mm=line_mm))
    if number is None:
        return (edge,)
    text = str(number)
    size = (1.1 if len(text) == 1 else 0.9) * radius / CAP_HEIGHT
    digits = label(text, centre - 0.5j * CAP_HEIGHT * size, size, anchor="middle", weight=STRONG)
    return edge, digits


def stroke_order(
    strokes: Sequence[AnyStroke],
    marks: Marks,
    *,
    others: Sequence[AnyStroke] = (),
    room: Box = ANYWHERE,
) -> tuple[Item, ...]:
    """Return numbered rings and arrows for ``strokes``, which are numbered from 1 in the order given.

    Args:
        strokes: the letter, in mm.
        marks: sizes from :func:`marks_for`.
        others: further ink to keep clear of (neighbours).
        room: marks stay inside it.
    """
    crowd = crowd_of((*strokes, *others), 0.12 * marks.ring_mm)
    items: list[Item] = []
    centres: list[complex] = []
    starts = [_start(stroke) for stroke in strokes]
    for number, (stroke, (at, heading)) in enumerate(zip(strokes, starts, strict=True), start=1):
        centre = _place_ring(crowd, at, heading, width_of(stroke, 0.0), marks, room)
        crowd.add([centre], marks.ring_mm)
        centres.append(centre)
        items += ring(centre, marks.ring_mm, marks.line_mm, number)
    for stroke, centre in zip(strokes, centres, strict=True):
        shaft = _place_arrow(crowd, stroke, centre, marks, room)
        if shaft:
            crowd.add(shaft, marks.line_mm / 2 + marks.head_mm / 2)
            items += arrow(shaft, marks)
    return tuple(items)


def arrow(shaft: Sequence[complex], marks: Marks) -> tuple[Shape, ...]:
    """Return an arrow along ``shaft`` with an open head at its end."""
    tip = shaft[-1]
    back = cmath.rect(marks.head_mm, cmath.phase(shaft[-2] - tip))
    head = polyline((tip + back * cmath.rect(1, 0.5), tip, tip + back * cmath.rect(1, -0.5)))
    style = Style(stroke_mm=marks.line_mm, stroke=BLACK, round_ends=True)
    return (Shape((polyline(shaft), head), style),)


def _start(stroke: AnyStroke) -> tuple[complex, complex]:
    """Return where a stroke starts and which way it leaves, looked at a little way in."""
    s, points, _ = along(stroke.path, 0.4)
    near = next((i for i, length in enumerate(s) if length >= 1.0), len(s) - 1)
    step = complex(points[near] - points[0])
    return complex(points[0]), step / abs(step) if abs(step) > 1e-9 else -1j


def _place_ring(
    crowd: Crowd, at: complex, heading: complex, width: float, marks: Marks, room: Box
) -> complex:
    for centre in _ring_places(at, heading, width, marks):
        if _inside(centre, room, marks.ring_mm) and crowd.clearance([centre], marks.ring_mm) >= marks.gap_mm:
            return centre
    return at


def _ring_places(at: complex, heading: complex, width: float, marks: Marks) -> Iterator[complex]:
    """Places round a start: behind it first, then to the sides, nearer before further."""
    nearest = marks.ring_mm + marks.gap_mm * 1.2
    for step in range(60):
        distance = nearest + width / 2 * (step > 0) + 0.35 * marks.ring_mm * step
        for turn in (180, 150, 210, 120, 240, 90, 270, 60, 300):
            yield at + heading * cmath.rect(distance, math.radians(turn))


def _inside(z: complex, room: Box, reach: float) -> bool:
    across = room.left + reach <= z.real <= room.right - reach
    return across and room.bottom + reach <= z.imag <= room.top - reach


def _place_arrow(
    crowd: Crowd, stroke: AnyStroke, number_at: complex, marks: Marks, room: Box
) -> list[complex]:
    reach = marks.line_mm / 2 + marks.head_mm / 2
    places = sorted(_arrow_places(stroke, number_at, marks, reach), key=lambda place: place[0])
    for _, shaft in places:
        if all(_inside(z, room, reach) for z in shaft) and crowd.clearance(shaft, reach) >= 0.6 * marks.gap_mm:
            return shaft
    return []


def _arrow_places(
    stroke: AnyStroke, number_at: complex, marks: Marks, reach: float
) -> Iterator[tuple[float, list[complex]]]:
    """Shafts beside a stroke with a cost each: close to its number and its start, long and straight cost least."""
    s, points, tangents = along(stroke.path, marks.arrow_mm / 24)
    total = float(s[-1])
    for share in (1.0, 0.75, 0.55):
        length = min(marks.arrow_mm, 0.9 * total) * share
        if length < 2.4 * marks.head_mm:
            return
        for start in (0.0, 0.15, 0.3, 0.5, 0.75, 1.0, 1.4):
            first = start * marks.arrow_mm
            if first + length > total + 1e-9:
                continue
            half = max(width_of(stroke, first + part * length) for part in (0.0, 0.5, 1.0)) / 2
            for away in (0.6, 0.8, 1.0, 1.3, 1.7):
                for side in (1, -1):
                    offset = side * (half * min(away, 1.0) + reach + max(1.0, 3 * away - 2) * marks.gap_mm)
                    shaft = stretch_beside((s, points, tangents), first, length, offset, 9)
                    turn = _turning(shaft)
                    if turn < 1.9 and abs(shaft[-1] - shaft[0]) > 2.6 * marks.head_mm:
                        cost = abs(shaft[0] - number_at) + first + (1 - share + 0.35 * turn) * marks.arrow_mm
                        yield cost + 0.3 * abs(offset), shaft


def _turning(shaft: Sequence[complex]) -> float:
    """Return the angle a shaft turns through in radians; infinite where it folds, as beside a tight bend's inside."""
    steps = [b - a for a, b in pairwise(shaft)]
    if min(abs(step) for step in steps) < 1e-3:
        return math.inf
    turns = [abs(cmath.phase(b / a)) for a, b in pairwise(steps)]
    return sum(turns) if max(turns) < 0.6 else math.inf
