"""Dots along the centreline: where they stand, so that a traced word has one even chain of them.

Along each piece of a stroke between corners the dots stand at equal arc length, the spacing stretched a little to
come out whole. A free end and a corner carry a dot; an end that joins the next letter stops half a spacing
short of the join, so that the two letters' halves make one gap, whichever letters meet.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from guidegen.geometry.path import Path

_STEPS = np.linspace(0.0, 1.0, 65)
_CORNER_DEG = 35.0
_NEAR = 0.55
"""Dots of crossing or retraced strokes closer than this many spacings would merge: the later one is left out."""


@dataclass(frozen=True, slots=True)
class Traced:
    """A centreline to be dotted; ``joins_before``/``joins_after`` tell that it runs on in a neighbouring letter."""

    path: Path
    joins_before: bool = False
    joins_after: bool = False


@dataclass(frozen=True, slots=True)
class Dots:
    """Dots in the order of writing; ``starts`` (not among ``places``) are where the pen is put down."""

    places: tuple[complex, ...]
    starts: tuple[complex, ...]


def dots_of(strokes: Sequence[Traced], spacing: float, *, starts: bool = False) -> Dots:
    """Return the dots of one letter's strokes, about ``spacing`` apart along the path.

    Where strokes cross or run over each other, dots that would merge are left out, never those beside a join.
    With ``starts`` each stroke's first point is told apart, and dots around it give way to it.
    """
    rows = [_row(stroke, spacing) for stroke in strokes]
    first: list[complex] = []
    for row, stroke in zip(rows, strokes, strict=True):
        if starts and not stroke.joins_before and all(abs(row[0] - other) >= _NEAR * spacing for other in first):
            first.append(row[0])  # strokes that begin together share a start
    kept: list[complex] = []
    for row, stroke in zip(rows, strokes, strict=True):
        earlier = kept + first
        for i, dot in enumerate(row):
            if i == 0 and starts and not stroke.joins_before:
                continue
            held = (i == 0 and stroke.joins_before) or (i == len(row) - 1 and stroke.joins_after)
            others = earlier + row[: max(0, i - 1)]
            if held or all(abs(dot - other) >= _NEAR * spacing for other in others):
                kept.append(dot)
    return Dots(tuple(kept), tuple(first))


def _row(stroke: Traced, spacing: float) -> list[complex]:
    """Return the dots of one stroke, corners included once."""
    points, lengths, corners = _sampled(stroke.path)
    total = float(lengths[-1])
    if total < 0.5 * spacing and not (stroke.joins_before or stroke.joins_after):
        return [complex(np.interp(total / 2, lengths, points.real), np.interp(total / 2, lengths, points.imag))]
    ends = [0.0, *_far_apart(corners, total, spacing), total]
    at: list[float] = []
    for i, (low, high) in enumerate(pairwise(ends)):
        before = 0.5 if i == 0 and stroke.joins_before else 0.0
        after = 0.5 if i == len(ends) - 2 and stroke.joins_after else 0.0
        gaps = max(0 if before + after else 1, round((high - low) / spacing - before - after))
        step = (high - low) / max(gaps + before + after, 0.5)
        first = 0 if i == 0 or before else 1  # a corner's dot belongs to the piece before it
        at += [low + step * (before + k) for k in range(first, gaps + 1)]
    xs, ys = np.interp(at, lengths, points.real), np.interp(at, lengths, points.imag)
    return [complex(x, y) for x, y in zip(xs, ys, strict=True)]


def _far_apart(corners: Sequence[float], total: float, spacing: float) -> list[float]:
    kept: list[float] = []
    for s in corners:
        if s - (kept[-1] if kept else 0.0) > 0.5 * spacing and total - s > 0.5 * spacing:
            kept.append(s)
    return kept


def _sampled(path: Path) -> tuple[NDArray[np.complex128], NDArray[np.float64], list[float]]:
    """Return points along a path, their arc lengths, and the arc lengths of its corners."""
    pieces: list[NDArray[np.complex128]] = []
    corners: list[float] = []
    total, heading = 0.0, None
    for segment in path.segments:
        points = _points(segment)
        chords = np.diff(points)
        chords = chords[np.abs(chords) > 0]
        if not len(chords):
            continue
        if heading is not None and abs(math.degrees(np.angle(chords[0] / heading))) > _CORNER_DEG:
            corners.append(total)
        heading = chords[-1]
        total += float(np.abs(chords).sum())
        pieces.append(points)
    if not pieces:
        return np.array([path.start]), np.zeros(1), []
    points = np.concatenate(pieces)
    return points, np.concatenate(([0.0], np.cumsum(np.abs(np.diff(points))))), corners


def _points(segment: tuple[complex, ...]) -> NDArray[np.complex128]:
    t = _STEPS
    if len(segment) == 2:
        return np.asarray(segment[0] + (segment[1] - segment[0]) * t)
    a, b, c, d = segment
    u = 1 - t
    return np.asarray(a * u**3 + 3 * b * t * u * u + 3 * c * t * t * u + d * t**3)
