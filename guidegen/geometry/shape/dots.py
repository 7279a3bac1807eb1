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

from guidegen.geometry.path import Path
from guidegen.geometry.stroke.centreline import (
    centrelines,
    corner_places,
    lines_at,
)

CORNER_DEG = 25.0  # a sharper turn of the tangent is a corner


def dot_rows(
    paths: Sequence[Path],
    spacing: float,
    *,
    open_ends: Sequence[tuple[bool, bool]] | None = None,
    corner_deg: float = CORNER_DEG,
    least: float = 0.0,
) -> list[list[complex]]:
    """Return dot centres along each of many paths: at their ends, their corners, and evenly between.

    ``spacing`` is arc length: a stretch of length L gets max(1, round(L / spacing)) equal steps; turns sharper than
    ``corner_deg`` are corners. The first dot of a closed path is not given twice, a path without length is one dot.
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


def _positive(value: float, name: str) -> None:
    if not (value > 0 and math.isfinite(value)):
        raise ValueError(f"{name} must be positive, not {value}")
