"""Somebody's own centreline drawing, inked with a marker.

A line is inked as letters are: by the direction of travel (down is thick) with the pressure of a hand, or
by widths that the drawing states at its vertices.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from guidegen.errors import Plain, bad_input
from guidegen.geometry.cubic import as_cubics, lengths, split
from guidegen.geometry.measure import flatten_curves
from guidegen.geometry.path import Outline, Path
from guidegen.geometry.stroke.expand import expand
from guidegen.geometry.stroke.stroke import AnyStroke, Nib, NibStroke, Stroke, Widths
from guidegen.hands.stroke_widths import width_knots
from guidegen.lettering.brush_ends import bent, landing, pressed_ends, release
from guidegen.lettering.lettering import Lettering
from guidegen.lettering.letters import INK_TOLERANCE_MM, directions, skeleton_map
from guidegen.limits import MAX_INK_MEETINGS

_SAMPLED = 800
_PRESSED_DEG = 45.0
"""A line that begins within this angle of straight down begins under pressure, as a stem does."""


@dataclass(frozen=True, slots=True)
class DrawnLine:
    """One line of a drawing in mm, y up, in the direction it was drawn.

    ``widths_mm`` states the width at each vertex (one more than there are segments), linear along arc length
    between; None leaves the width to the marker. ``name`` is what errors call it.
    """

    path: Path
    widths_mm: tuple[float, ...] | None = None
    name: str = "line"


@dataclass(frozen=True, slots=True)
class LineDrawing:
    """The centrelines of a drawing and the size of its page in mm."""

    width_mm: float
    height_mm: float
    lines: tuple[DrawnLine, ...]


def ink_drawing(drawing: LineDrawing, lettering: Lettering, tolerance_mm: float = INK_TOLERANCE_MM) -> Outline:
    """Return the ink of all lines of ``drawing`` as one outline.

    Args:
        drawing: what to ink.
        lettering: the marker gives the widths, and for broad tips the nib and its angle; the hand the slant axis
            against which down is judged, and the pressure, whose lengths go by the x-height.
        tolerance_mm: how far the outline may lie from the ink's true edge.

    Raises:
        GuidegenError: when stated widths do not fit their line, or lines cross more often than can be inked.
    """
    once = tuple({(line.path, line.widths_mm): line for line in drawing.lines}.values())  # drawn twice, inked once
    meetings = _meetings([line.path for line in once], lettering.marker.hairline_mm)
    if meetings > MAX_INK_MEETINGS:
        found = Plain(f"lines that meet some {meetings:.0f} times")
        raise bad_input("drawing", "", found, f"at most {MAX_INK_MEETINGS} crossings and overlaps", "ink it in parts")
    strokes = [pen_stroke_along(line, lettering) for line in once]
    return expand(strokes, tolerance_mm)


def _meetings(paths: Sequence[Path], near_mm: float) -> float:
    """Return about how often lines cross, touch, or run beside each other nearer than ``near_mm``.

    Counted among some hundred chords of them, for all by the square. A near pair costs half of one that crosses.
    """
    curves = as_cubics([segment for path in paths for segment in path.segments])
    points, owner, _ = flatten_curves(curves, np.zeros(len(curves), dtype=bool), 0.5)
    within = np.flatnonzero(owner[1:] == owner[:-1])
    if len(within) ** 2 <= MAX_INK_MEETINGS:
        return 0.0
    places = np.linspace(0, len(within) - 1, min(len(within), _SAMPLED)).astype(np.int64)
    some = within[places]
    a, b = points[some], points[some + 1]
    along = np.where(a == b, 1e-12, b - a)
    to_a = np.conj(along)[:, None] * (a[None, :] - a[:, None])  # others' ends as this chord sees them
    to_b = np.conj(along)[:, None] * (b[None, :] - a[:, None])
    apart = to_a.imag * to_b.imag <= 0
    boxes = [(np.minimum(p, q), np.maximum(p, q)) for p, q in ((a.real, b.real), (a.imag, b.imag))]
    cross = apart & apart.T
    for low, high in boxes:
        cross &= (low[None, :] <= high[:, None]) & (low[:, None] <= high[None, :])
    length = np.abs(along)[:, None]
    near = np.zeros_like(cross)
    for seen in (to_a, to_b):
        near |= (np.abs(seen.imag) < near_mm * length) & (seen.real >= 0) & (seen.real <= length**2)
    neighbours = np.abs(places[None, :] - places[:, None]) <= 1
    meet = np.where(cross, 1.0, np.where(near | near.T, 0.5, 0.0))
    meet[neighbours] = 0.0
    return float(meet.sum()) / 2 * (len(within) / len(some)) ** 2


def pen_stroke_along(line: DrawnLine, lettering: Lettering) -> AnyStroke:
    """Return one centreline as the marker draws it."""
    if line.widths_mm is not None:
        return Stroke(line.path, stated_widths(line))
    marker = lettering.marker
    if marker.tip == "broad":
        return NibStroke(line.path, Nib(marker.downstroke_mm, marker.hairline_mm, marker.nib_angle_deg or 0.0))
    if marker.tip == "round":
        return Stroke(line.path, Widths(((0.0, marker.downstroke_mm),)))
    return _pressed(line.path, lettering)


def stated_widths(line: DrawnLine) -> Widths:
    """Return the widths a line states at its vertices, over arc length.

    Raises:
        GuidegenError: when there is not one width, from 0 up, for each vertex.
    """
    widths, segments = line.widths_mm or (), line.path.segments
    if len(widths) != len(segments) + 1:
        expected = f"{len(segments) + 1} widths, one for each vertex"
        raise bad_input(line.name, "data-widths", f"{len(widths)} widths", expected)
    if not all(math.isfinite(width) and 0 <= width <= 1000 for width in widths):
        raise bad_input(line.name, "data-widths", " ".join(f"{w:g}" for w in widths), "widths from 0 to 1000 mm")
    knots: list[tuple[float, float]] = []
    along = lengths(as_cubics(segments), np.zeros(len(segments)), np.ones(len(segments)))
    places = (0.0, *np.cumsum(along))
    for s, width in zip(places, widths, strict=True):
        if knots and s - knots[-1][0] < 1e-9:  # vertices on one another: the wider disc covers the other
            knots[-1] = (knots[-1][0], max(knots[-1][1], width))
        else:
            knots.append((float(s), width))
    return Widths(tuple(knots))


def _pressed(path: Path, lettering: Lettering) -> Stroke:
    marker, pressure, placed = lettering.marker, lettering.hand.pressure, skeleton_map(lettering)
    s, down = directions(path, placed)
    if path.closed:
        path = _begin_at(path, int(np.argmax(down)), len(s) // len(path.segments))
        s, down = directions(path, placed)
    presses = [not path.closed and angle < _PRESSED_DEG for angle in (down[0], down[-1])]
    cut = pressure.cut_deg.get(marker.tip)
    start = end = None
    if marker.tip == "brush" and cut is None:
        start = landing(marker.downstroke_mm, marker.hairline_mm) if presses[0] else None
        end = release(marker.downstroke_mm, marker.hairline_mm) if presses[1] else None
    path, *changing = bent(path, start, end)
    s, down = directions(path, placed)
    knots = width_knots(s, down, pressure, placed.scale_mm, marker.hairline_mm, marker.downstroke_mm)
    knots = pressed_ends(knots, float(s[-1]), start, end, (changing[0], changing[1]))
    edges = [cut if pressed else None for pressed in presses]
    return Stroke(path, Widths(knots, eased=True), *edges)


def _begin_at(path: Path, sample: int, samples: int) -> Path:
    """Return a closed path begun where the pen travels most upward, so that its pressure has no seam."""
    i, t = sample // samples, (sample % samples) / (samples - 1)
    halves = split(path.segments[i], t) if 0 < t < 1 else ()
    before, after = halves[:1] or path.segments[i : i + (t >= 1)], halves[1:] or path.segments[i : i + (t <= 0)]
    return Path((*after, *path.segments[i + 1 :], *path.segments[:i], *before), True)
