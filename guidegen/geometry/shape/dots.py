"""Dots and dashes along a path at true spacing.

Dots are whole at both ends and at every corner; between two of these they lie at equal arc lengths, the spacing
adjusted so that each stretch has a whole number of steps. Dashes likewise: each stretch begins and ends with a whole
one.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence

import numpy as np

from guidegen.geometry import cubic as cb
from guidegen.geometry.cubic import Floats, Ints
from guidegen.geometry.path import Path, Segment
from guidegen.geometry.stroke.centreline import (
    Centreline,
    centreline,
    centrelines,
    corner_pieces,
    corner_places,
    lines_at,
)

CORNER_DEG = 25.0  # a sharper turn of the tangent is a corner


def dots_along(path: Path, spacing: float, at_corners: bool = True, corner_deg: float = CORNER_DEG) -> list[complex]:
    """Return dot centres along a path: at its ends, at its corners, and evenly between, about ``spacing`` apart.

    ``spacing`` is arc length; a stretch of length L gets max(1, round(L / spacing)) equal steps. The first
    dot of a closed path is not given twice. A path without length is one dot. Raises ValueError unless spacing > 0.
    """
    (row,) = dot_rows([path], spacing, corner_deg=corner_deg if at_corners else math.inf)
    return row


def dot_rows(
    paths: Sequence[Path],
    spacing: float,
    *,
    open_ends: Sequence[tuple[bool, bool]] | None = None,
    corner_deg: float = CORNER_DEG,
    least: float = 0.0,
) -> list[list[complex]]:
    """Return the dots along each of many paths, as :func:`dots_along` does, all reckoned in one go.

    An end that is open (``open_ends``, start and end of each path) runs on elsewhere: the dots stop half a step short
    of it, so that two open ends that meet make one step. ``least``, in spacings: a corner nearer than that to the dot
    before or to the end has no dot of its own, and a shorter path with no open end is one dot in its middle.
    """
    _positive(spacing, "spacing")
    lines = centrelines(paths)
    corners = corner_places(lines, corner_deg)
    open_ends = open_ends or [(False, False)] * len(paths)
    places = [
        _places(corners[k], float(lines.length[k]), spacing, open_ends[k], least, closed=bool(lines.closed[k]))
        for k in range(len(paths))
    ]
    owner = np.repeat(np.arange(len(paths)), [len(at) for at in places])
    points = lines_at(lines, owner, np.array([s for at in places for s in at]))
    ends = np.cumsum([len(at) for at in places]).tolist()
    return [points[end - len(at) : end].tolist() for at, end in zip(places, ends, strict=True)]


def _places(
    corners: Sequence[float], total: float, spacing: float, is_open: tuple[bool, bool], least: float, *, closed: bool
) -> list[float]:
    """Return the arc lengths of one path's dots."""
    if total == 0 or (total < least * spacing and not any(is_open)):
        return [total / 2]
    marks = [0.0]
    for s in corners:
        if s - marks[-1] > least * spacing and total - s > least * spacing:
            marks.append(s)
    marks.append(total)
    found: list[float] = []
    for i, (low, high) in enumerate(itertools.pairwise(marks)):
        before = 0.5 if i == 0 and is_open[0] else 0.0
        after = 0.5 if i == len(marks) - 2 and is_open[1] else 0.0
        gaps = max(0 if before + after else 1, round((high - low) / spacing - before - after))
        step = (high - low) / max(gaps + before + after, 0.5)
        first = 0 if i == 0 or before else 1  # a corner's dot belongs to the stretch before it
        found += [low + step * (before + k) for k in range(first, gaps + 1)]
    if closed and not any(is_open) and len(found) > 1:
        found.pop()
    return found


def dashes_along(path: Path, dash: float, gap: float, corner_deg: float = CORNER_DEG) -> list[Path]:
    """Return whole dashes along a path: every stretch between ends and corners begins and ends with one.

    A stretch of length L gets about (L + gap) / (dash + gap) dashes of their full length and equal gaps; where there
    is no room for two dashes and half a gap it is one dash. Dashes that meet at a corner are one. A closed path without
    corners gets dashes all round. The dashes are exact pieces of the path. Raises ValueError unless both lengths
    are positive.
    """
    _positive(dash, "dash")
    _positive(gap, "gap")
    line = centreline(path)
    if line.length == 0:
        return []
    spans = _spans(line, corner_deg)
    if line.closed and len(spans) == 1 and _turn_at_seam(line) <= math.radians(corner_deg):
        n = max(1, round(line.length / (dash + gap)))
        size = min(dash, max(line.length / n - gap / 2, line.length / n / 2))
        return [_piece(line, k * line.length / n, k * line.length / n + size) for k in range(n)]
    marks: list[tuple[float, float]] = []
    for a, b in spans:
        n = max(1, round((b - a + gap) / (dash + gap)))
        while n > 1 and (b - a - n * dash) < (n - 1) * gap / 2:
            n -= 1
        size, step = (dash, (b - a - dash) / (n - 1)) if n > 1 else (b - a, 0.0)
        new = [(a + k * step, a + k * step + size) for k in range(n)]
        if marks:
            new[0] = (marks.pop()[0], new[0][1])
        marks += new
    return [_piece(line, a, b) for a, b in marks]


def places_at(line: Centreline, s: Floats) -> tuple[Ints, Floats]:
    """Return the piece and its parameter at each arc length."""
    k = np.clip(np.searchsorted(line.s, s, side="right") - 1, 0, len(line.curves) - 1)
    inside = np.clip(s - line.s[k], 0, line.run[k, -1])
    return k, np.clip(cb.parameter_at(line.curves[k], inside), 0, 1)


def _spans(line: Centreline, corner_deg: float) -> list[tuple[float, float]]:
    """Return the arc lengths between which a centreline has no corner."""
    marks = [0.0, *(float(line.s[k]) for k in corner_pieces(line, corner_deg)), line.length]
    return [(a, b) for a, b in itertools.pairwise(marks) if b > a]


def _turn_at_seam(line: Centreline) -> float:
    ends = line.curves[[-1, 0]]
    before, after = cb.tangent(ends, np.array([1.0, 0.0]))
    return abs(float(np.angle(after / before)))


def _piece(line: Centreline, a: float, b: float) -> Path:
    """Return the part of a centreline between two arc lengths."""
    (first, last), (t0, t1) = places_at(line, np.array([a, b]))
    if t1 <= 0 and last > first:
        last, t1 = last - 1, 1.0
    segments: list[Segment] = []
    for k in range(int(first), int(last) + 1):
        low, high = (t0 if k == first else 0.0), (t1 if k == last else 1.0)
        c = cb.part(line.curves[k : k + 1], np.array([low]), np.array([high]))[0]
        points = (c[0], c[3]) if line.straight[k] else tuple(c)
        if high > low:
            segments.append(tuple(complex(z) for z in points))
    return Path(tuple(segments))


def _positive(value: float, name: str) -> None:
    if not (value > 0 and math.isfinite(value)):
        raise ValueError(f"{name} must be positive, not {value}")
