"""What a cutting machine trips over: segments drawn twice, of no length, on top of each other; paths that cross."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from guidegen.geometry.cubic import Complexes
from guidegen.geometry.measure import flatten
from guidegen.geometry.path import Path, Segment

Key = tuple[tuple[int, int], ...]
PathKey = tuple[Key, ...]


def zero_length(paths: Sequence[Path], tolerance: float) -> list[complex]:
    """Return where segments stand that never leave their start by more than ``tolerance``."""
    return [s[0] for path in paths for s in path.segments if all(abs(z - s[0]) <= tolerance for z in s)]


def duplicates(paths: Sequence[Path], tolerance: float) -> list[complex]:
    """Return the starts of paths that repeat another one, in whatever direction and from whatever start."""
    counts = Counter(path_key(path, tolerance) for path in paths)
    seen: set[PathKey] = set()
    again = []
    for path in paths:
        key = path_key(path, tolerance)
        if counts[key] > 1 and key in seen:
            again.append(path.start)
        seen.add(key)
    return again


def overlaps(paths: Sequence[Path], tolerance: float) -> list[complex]:
    """Return where straight segments lie on one another over more than ``tolerance``, or curves are drawn twice."""
    straight: list[tuple[complex, complex]] = []
    curves: Counter[Key] = Counter()
    found: list[complex] = []
    for path in paths:
        for segment in path.segments:
            if len(segment) == 2 or _is_straight(segment, tolerance):
                straight.append((segment[0], segment[-1]))
            else:
                key = _key(segment, tolerance)
                curves[key] += 1
                if curves[key] > 1:
                    found.append(segment[0])
    return found + _collinear(np.array(straight, dtype=np.complex128).reshape(-1, 2), tolerance)


def _collinear(ends: Complexes, tolerance: float) -> list[complex]:
    """Return the starts of segments along another one: both ends of the shorter within tolerance of its line."""
    import shapely

    ends = ends[np.abs(ends[:, 1] - ends[:, 0]) > 2 * tolerance]
    if len(ends) < 2:
        return []
    lines = shapely.linestrings(np.stack([ends.real, ends.imag], axis=-1))
    a, b = shapely.STRtree(lines).query(lines, predicate="dwithin", distance=tolerance)
    length = np.abs(ends[:, 1] - ends[:, 0])
    keep = (a != b) & ((length[a] < length[b]) | ((length[a] == length[b]) & (a < b)))
    short, long = a[keep], b[keep]
    along = (ends[long, 1] - ends[long, 0]) / length[long]
    place = (ends[short] - ends[long, :1]) * np.conj(along)[:, None]
    flat = (np.abs(place.imag) <= tolerance).all(axis=1)
    low, high = place.real.min(axis=1), place.real.max(axis=1)
    shared = np.minimum(high, length[long]) - np.maximum(low, 0.0)
    return [complex(z) for z in ends[np.unique(short[flat & (shared > 2 * tolerance)]), 0]]


def crossings(paths: Sequence[Path], tolerance: float) -> tuple[list[complex], list[complex]]:
    """Return where paths cross themselves, and where they cross each other, seen as polylines within ``tolerance``.

    Closed paths that run back over themselves or meet themselves in a point count as crossing themselves.
    """
    import shapely

    lines = []
    selves: list[complex] = []
    for path in paths:
        points = flatten(path, tolerance)
        keep = np.concatenate(([True], np.abs(np.diff(points)) > 1e-9))
        points = points[keep]
        if path.closed and len(points) > 1:
            points = np.append(points, points[0])
        if len(points) < 2 or np.abs(points - points[0]).max() == 0:
            continue
        line = shapely.linestrings(np.stack([points.real, points.imag], axis=-1))
        if not shapely.is_simple(line):
            selves.append(path.start)
        lines.append((line, path.start))
    if len(lines) < 2:
        return selves, []
    tree = shapely.STRtree([line for line, _ in lines])
    a, b = tree.query([line for line, _ in lines], predicate="crosses")
    return selves, [lines[i][1] for i, j in zip(a.tolist(), b.tolist(), strict=True) if i < j]


def open_paths(paths: Sequence[Path], tolerance: float) -> list[complex]:
    """Return the starts of paths whose ends do not meet within ``tolerance``."""
    return [path.start for path in paths if abs(path.end - path.start) > tolerance]


def gaps(path: Path, tolerance: float) -> int:
    """Return how many segments do not start where the one before ends."""
    return sum(abs(a[-1] - b[0]) > tolerance for a, b in pairwise(path.segments))


def _key(segment: Segment, tolerance: float) -> Key:
    spots = tuple((round(z.real / tolerance), round(z.imag / tolerance)) for z in segment)
    return min(spots, spots[::-1])


def path_key(path: Path, tolerance: float) -> PathKey:
    """Return what two paths have in common that draw the same, rounded to ``tolerance``."""
    return tuple(sorted(_key(segment, tolerance) for segment in path.segments))


def _is_straight(segment: Segment, tolerance: float) -> bool:
    a, b = segment[0], segment[-1]
    if abs(b - a) <= tolerance:
        return False
    along = (b - a) / abs(b - a)
    spots = [(z - a) * along.conjugate() for z in segment]
    return all(abs(z.imag) <= tolerance and -tolerance <= z.real <= abs(b - a) + tolerance for z in spots)
