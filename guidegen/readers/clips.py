"""What clips leave of paths: straight lines cut where the clip's own outline crosses them, areas cut to a box.

What cannot be cut exactly, a curve at an edge or an area at a hollow clip, is kept whole, so that nothing visible is
ever left out.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from guidegen.geometry.cubic import Bools, Complexes, Floats
from guidegen.geometry.measure import bounds, flatten, winding
from guidegen.geometry.path import Path, polyline
from guidegen.readers.contents import Edges

_SLACK = 1e-6
_TOLERANCE_MM = 0.005
_MOST_EDGES = 4_000
"""A clip with more is taken as its box."""
_MOST_AREAS = 8


@dataclass(frozen=True, slots=True)
class Area:
    """One clip that is no upright box: its rings, as edges from ``starts`` to ``ends``, filled by winding number.

    With ``even_odd`` what is wound round twice is outside.
    """

    starts: Complexes
    ends: Complexes
    even_odd: bool = False

    def holds(self, points: Complexes) -> Bools:
        """Return which of ``points`` (n,) lie inside."""
        wound = winding(points, self.starts, self.ends)
        inside: Bools = wound % 2 == 1 if self.even_odd else wound != 0
        return inside

    def crossed_at(self, a: complex, b: complex) -> Floats:
        """Return where, from 0 to 1, the line from ``a`` to ``b`` crosses the edges."""
        along, way = self.ends - self.starts, b - a
        across = (np.conj(along) * way).imag
        with np.errstate(all="ignore"):
            t = (np.conj(along) * (self.starts - a)).imag / across
            s = (np.conj(way) * (self.starts - a)).imag / across
        found: Floats = t[(across != 0) & (t > 0) & (t < 1) & (s >= 0) & (s <= 1)]
        return found

    def enters(self, box: Edges) -> bool:
        """Return whether any edge has a point in ``box`` (after Liang and Barsky, 1984)."""
        way = self.ends - self.starts
        first, last = np.zeros(len(way)), np.ones(len(way))
        for toward, room in (
            (-way.real, self.starts.real - box[0]), (way.real, box[2] - self.starts.real),
            (-way.imag, self.starts.imag - box[1]), (way.imag, box[3] - self.starts.imag),
        ):  # fmt: skip
            with np.errstate(all="ignore"):
                at = room / toward
            first = np.where(toward < 0, np.maximum(first, at), np.where((toward == 0) & (room < 0), 2.0, first))
            last = np.where(toward > 0, np.minimum(last, at), last)
        return bool((first <= last).any())


@dataclass(frozen=True, slots=True)
class Clip:
    """What shows: what lies inside the box and inside each of the areas."""

    box: Edges
    areas: tuple[Area, ...] = ()

    @property
    def is_empty(self) -> bool:
        return self.box[2] <= self.box[0] or self.box[3] <= self.box[1]


def box_of(paths: Sequence[Path]) -> Edges:
    """Return the box that holds ``paths``."""
    low, high = bounds(tuple(paths))
    return low.real, low.imag, high.real, high.imag


def clip_of(paths: Sequence[Path], outer: Clip | None, *, even_odd: bool = False) -> Clip:
    """Return what shows inside ``paths`` and inside ``outer``."""
    box = box_of(paths)
    areas = outer.areas if outer else ()
    if not (len(paths) == 1 and _is_upright(paths[0])):
        rings = [flatten(path, _TOLERANCE_MM) for path in paths]
        starts = np.concatenate(rings)
        ends = np.concatenate([np.roll(ring, -1) for ring in rings])
        if len(starts) <= _MOST_EDGES and len(areas) < _MOST_AREAS:
            areas = (*areas, Area(starts, ends, even_odd))
    return Clip(within(box, outer.box if outer else None), areas)


def within(box: Edges, outer: Edges | None) -> Edges:
    """Return what two boxes share; it may be nothing, its right less than its left."""
    if outer is None:
        return box
    return max(box[0], outer[0]), max(box[1], outer[1]), min(box[2], outer[2]), min(box[3], outer[3])


def clipped(paths: tuple[Path, ...], clip: Clip, pad: float = 0.0) -> tuple[Path, ...]:
    """Return what of ``paths`` shows inside ``clip``: the same object where that is all of it.

    Straight lines are cut where they show, upright rectangles to the box; other paths are kept whole where any of them
    shows. ``pad`` is how far their strokes reach.
    """
    found: list[Path] = []
    for path in paths:
        kept = _in_box(path, clip.box, pad)
        for area in clip.areas:
            kept = [piece for one in kept for piece in _in_area(one, area, pad)]
        found += kept
    same = len(found) == len(paths) and all(a is b for a, b in zip(found, paths, strict=True))
    return paths if same else tuple(found)


def _in_box(path: Path, clip: Edges, pad: float) -> list[Path]:
    left, low, right, top = box_of([path])
    inside = (
        left >= clip[0] - _SLACK and low >= clip[1] - _SLACK
        and right <= clip[2] + _SLACK and top <= clip[3] + _SLACK
    )  # fmt: skip
    if inside:
        return [path]
    shows = (
        left < clip[2] + pad and right > clip[0] - pad and low < clip[3] + pad and top > clip[1] - pad
        and clip[2] > clip[0] and clip[3] > clip[1]
    )  # fmt: skip
    if not shows:
        return []
    if _is_line(path):
        kept = _line(path.start, path.end, clip)
        return [] if kept is None else [kept]
    if _is_upright(path):
        l, b, r, t = within((left, low, right, top), clip)
        return [polyline((complex(l, b), complex(r, b), complex(r, t), complex(l, t)), closed=True)]
    return [path]


def _in_area(path: Path, area: Area, pad: float) -> list[Path]:
    if _is_line(path):
        ends = np.concatenate([[0.0], np.sort(area.crossed_at(path.start, path.end)), [1.0]])
        way = path.end - path.start
        shown = area.holds(path.start + way * (ends[1:] + ends[:-1]) / 2) & (np.diff(ends) * abs(way) > _SLACK)
        if shown.all():
            return [path]
        spans: list[list[float]] = []
        for start, end in zip(ends[:-1][shown], ends[1:][shown], strict=True):
            if spans and (start - spans[-1][1]) * abs(way) <= _SLACK:
                spans[-1][1] = end
            else:
                spans.append([start, end])
        return [polyline((path.start + start * way, path.start + end * way)) for start, end in spans]
    return [path] if _shows(path, area, pad) else []


def _shows(path: Path, area: Area, pad: float) -> bool:
    """Return whether any of a path may show: a point of it inside, or an edge of the clip in its box."""
    points = flatten(path, _TOLERANCE_MM)
    if bool(area.holds(points[:: max(1, len(points) // 50)]).any()):
        return True
    left, low, right, top = box_of([path])
    return area.enters((left - pad, low - pad, right + pad, top + pad))


def _is_line(path: Path) -> bool:
    return len(path.segments) == 1 and len(path.segments[0]) == 2 and not path.closed


def _is_upright(path: Path) -> bool:
    """Return whether a path is an upright rectangle."""
    if len(path.segments) not in (4, 5) or any(len(segment) != 2 for segment in path.segments):
        return False
    left, low, right, top = box_of([path])
    corners = {complex(left, low), complex(right, low), complex(right, top), complex(left, top)}
    return {segment[0] for segment in path.segments} == corners


def _line(a: complex, b: complex, clip: Edges) -> Path | None:
    """Return the part of a line inside a box (after Liang and Barsky, 1984)."""
    way, first, last = b - a, 0.0, 1.0
    for toward, room in (
        (-way.real, a.real - clip[0]), (way.real, clip[2] - a.real),
        (-way.imag, a.imag - clip[1]), (way.imag, clip[3] - a.imag),
    ):  # fmt: skip
        if toward == 0:
            if room < -_SLACK:
                return None
        elif toward < 0:
            first = max(first, room / toward)
        else:
            last = min(last, room / toward)
    return polyline((a + first * way, a + last * way)) if first < last else None
