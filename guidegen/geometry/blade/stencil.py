"""Unions and bridges of finished outlines, for cutting.

A bridge is a strip of sheet left standing across a stroke, so that the white inside a letter stays tied to the
sheet around it. Bridges run along one axis, upright or slanted, above and below each counter, as sign makers put them
(common practice, no source): the thin arcs of letters are opened, their stems stay, and 8 stays 8. All results keep
their curves (:mod:`guidegen.geometry.union.unite`).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from guidegen.geometry import cubic as cb
from guidegen.geometry.blade.nesting import parents
from guidegen.geometry.measure import area, bounds, flatten, signed_area
from guidegen.geometry.path import Outline, Path
from guidegen.geometry.union.board import Drawing, HalfPlane, Part
from guidegen.geometry.union.unite import filled_outline

CARRIED = 12.0
"""A neck carries a counter no longer than so many times its own width; longer ones get more than two necks."""
_OFF_MIDDLE = 0.6  # how much ink a bridge may save by standing off the counter's middle, per length off it
_LONG = 2.5  # a bridge across more ink than this many times that of the other axis runs along that axis instead
_PLACES = 17  # where a bridge is tried across a counter
_RAYS = 5  # by how many lines the ink under a bridge is measured
_SPECK = 0.15  # ink that a bridge leaves is no smaller, in squares of its width
_SAME = 1e-3
_INTO_WHITE = 0.12  # how far a bridge reaches into the white at its ends, in widths


@dataclass(frozen=True, slots=True)
class Bridge:
    """A strip of sheet from ``start`` (in the white inside) to ``end`` (in the white it is tied to), over ``ink``.

    ``across`` is how wide the counter is, measured across the bridge.
    """

    start: complex
    end: complex
    width: float
    ink: float
    across: float


def united(outlines: Sequence[Outline], tolerance: float) -> Outline:
    """Return the union of outlines; those that touch no other come through unchanged."""
    shapes = [outline for outline in outlines if outline]
    groups = _touching([bounds(outline) for outline in shapes], tolerance)
    result: list[Path] = []
    for group in groups:
        members = [shapes[k] for k in group]
        result += members[0] if len(members) == 1 else filled_outline(_drawing(members), tolerance)
    return tuple(result)


def _touching(boxes: list[tuple[complex, complex]], slack: float) -> list[list[int]]:
    """Return the numbers of boxes in groups that overlap, in the order of their first members."""
    owner = list(range(len(boxes)))

    def find(k: int) -> int:
        while owner[k] != k:
            k = owner[k]
        return k

    for i, (low, high) in enumerate(boxes):
        for j in range(i):
            a, b = boxes[j]
            across = a.real <= high.real + slack and low.real <= b.real + slack
            if across and a.imag <= high.imag + slack and low.imag <= b.imag + slack:
                first, second = sorted((find(i), find(j)))
                owner[second] = first
    groups: dict[int, list[int]] = {}
    for k in range(len(boxes)):
        groups.setdefault(find(k), []).append(k)
    return list(groups.values())


def _drawing(
    outlines: Sequence[Outline], planes: Sequence[tuple[HalfPlane, ...]] = ((),), extra: Any = None
) -> Drawing:
    """Return outlines as a drawing, each a part inside each of ``planes``; ``extra`` lines may bound it too."""
    segments = [[s for path in outline for s in path.segments] for outline in outlines]
    flat = [s for part in segments for s in part] + list(extra or ())
    starts = np.cumsum([0, *(len(part) for part in segments)])
    parts = tuple(Part(np.arange(starts[k], starts[k + 1]), around) for k in range(len(outlines)) for around in planes)
    straight = np.array([len(s) == 2 for s in flat])
    shown = np.ones(len(flat), dtype=bool)
    return Drawing(cb.as_cubics(flat), straight, backwards=~shown, bounding=shown, parts=parts)


def without_box(outline: Outline, corners: Sequence[complex], tolerance: float) -> Outline:
    """Return ``outline`` less the convex box of ``corners`` (anticlockwise).

    What is left is what lies outside at least one side: one part for each side of the box.
    """
    sides = list(zip(corners, [*corners[1:], corners[0]], strict=True))
    planes = [(HalfPlane(a, b - a, inside=False),) for a, b in sides]
    return filled_outline(_drawing([outline], planes, sides), tolerance)


def bridged(outline: Outline, width: float, tolerance: float, axis: complex = 1j) -> tuple[Outline, tuple[Bridge, ...]]:
    """Return ``outline`` with every white inside it tied to the sheet outside, and the bridges, from left to right.

    Each counter gets one bridge in the direction of ``axis`` and one the other way, more where it is longer than two
    necks carry. Where the ink that way is a stem, the bridge goes across the axis. One that leads into another
    counter ties both. What decides lies within the letter, so that the same letter is always bridged the same.

    Raises:
        ValueError: when a white cannot be tied (a bridge wider than the letter).
    """
    turn = 1j / axis * abs(axis)  # along the axis is up from here on
    around = parents(outline, 0.02)
    roots = [min(outer, key=lambda j: len(around[j])) if outer else k for k, outer in enumerate(around)]
    result: list[Path] = []
    bridges: list[Bridge] = []
    for root in dict.fromkeys(roots):  # letter by letter: each is small, and none is cut for its neighbour
        piece = tuple(path for path, r in zip(outline, roots, strict=True) if r == root)
        mine = _bridges(piece, width, turn)
        if mine:
            piece = _cut_open(piece, mine, tolerance)
        if _whites(piece):
            raise ValueError("a white inside cannot be tied by a bridge of this width")
        result += piece
        bridges += mine
    return tuple(result), tuple(sorted(bridges, key=lambda one: (one.start.real, one.start.imag)))


def _cut_open(outline: Outline, bridges: Sequence[Bridge], tolerance: float) -> Outline:
    for bridge in bridges:
        before, sizes = area(outline), [abs(signed_area(path)) for path in outline]
        outline = without_box(outline, _box(bridge), tolerance)
        outline = tuple(path for path in outline if not _is_speck(path, sizes, bridge))
        if before - area(outline) > before / 2:
            raise ValueError("a bridge of this width takes more than half of the letter")
    return outline


def _is_speck(path: Path, sizes: Sequence[float], bridge: Bridge) -> bool:
    """Tell whether a bridge has left a crumb of ink that was none before: dots and specks of the drawing stay."""
    size = abs(signed_area(path))
    if size > _SPECK * bridge.width**2:
        return False
    return all(abs(size - old) > _SAME * old for old in sizes)


def _whites(outline: Outline) -> list[Path]:
    """Return the holes, from left to right."""
    holes = [path for path, around in zip(outline, parents(outline, 0.02), strict=True) if len(around) % 2 == 1]
    return sorted(holes, key=lambda path: (bounds((path,))[0].real, bounds((path,))[0].imag))


def _bridges(outline: Outline, width: float, turn: complex) -> list[Bridge]:
    found: list[Bridge] = []
    for hole in _whites(outline):
        ways = [_across(outline, hole, width, turn * way) for way in (1, -1, 1j, -1j)]
        for one, other in ((0, 2), (1, 3)):
            along, aside = ways[one], ways[other]
            usual = _ink_of(along)
            chosen = aside if _ink_of(aside) * _LONG < usual else along
            found += [bridge for bridge in chosen if not any(_same(bridge, old) for old in found)]
    return found


def _ink_of(bridges: Sequence[Bridge]) -> float:
    return max((bridge.ink for bridge in bridges), default=math.inf)


def _same(a: Bridge, b: Bridge) -> bool:
    """Tell whether two bridges take the same ink: the one between two counters is found from both."""
    way = (a.end - a.start) / abs(a.end - a.start)
    gap = ((b.start + b.end) / 2 - (a.start + a.end) / 2) * way.conjugate()
    return abs(gap.imag) < a.width / 2 and abs(gap.real) < max(abs(a.end - a.start), abs(b.end - b.start)) / 2


def _across(outline: Outline, hole: Path, width: float, turn: complex) -> list[Bridge]:
    """Return the bridges of ``hole`` upwards, once all is turned by ``turn``: as many as it takes.

    None where no bridge of that width has white to end in.
    """
    fine = width / 20
    rings = [flatten(path, fine) * turn for path in outline]
    own = next(k for k, path in enumerate(outline) if path is hole)
    inner = rings[own]
    low, high = float(inner.real.min()), float(inner.real.max())
    tall = float(np.ptp(inner.imag))
    count = max(1, math.ceil(max(tall, high - low) / (2 * CARRIED * width)))
    rays = _Rays(rings, own)
    found = []
    for k in range(count):
        left, right = (low + (high - low) * share for share in (k / count, (k + 1) / count))
        best = _best_place(rays, (left, right), width)
        if best is None:
            return []
        x, start, end, ink = best
        back = 1 / turn
        found.append(Bridge(complex(x, start) * back, complex(x, end) * back, width, ink, high - low))
    return found


def _best_place(rays: _Rays, span: tuple[float, float], width: float) -> tuple[float, float, float, float] | None:
    """Return x, foot, end and ink of the bridge that saves most: little ink, near the middle of ``span``."""
    left, right = span
    middle, room = (left + right) / 2, max(0.0, (right - left - width) / 2)
    best: tuple[float, float, float, float] | None = None
    least = math.inf
    for place in range(_PLACES):
        x = middle + room * (2 * place / (_PLACES - 1) - 1)
        met = rays.over(x, width)
        if met is None:
            continue
        start, end, ink = met
        cost = round(ink + _OFF_MIDDLE * abs(x - middle), 4)
        if cost < least or (cost == least and best is not None and abs(x - middle) < abs(best[0] - middle) - 1e-9):
            least, best = cost, (x, start, end, ink)
    return best


class _Rays:
    """What upright lines meet above a counter: the ink between it and the next white."""

    def __init__(self, rings: Sequence[Any], own: int) -> None:
        start = np.concatenate(rings)
        end = np.concatenate([np.roll(ring, -1) for ring in rings])
        self._x0, self._y0, self._x1, self._y1 = start.real, start.imag, end.real, end.imag
        self._mine = np.concatenate([np.full(len(ring), k == own) for k, ring in enumerate(rings)])

    def over(self, x: float, width: float) -> tuple[float, float, float] | None:
        """Return foot and end of a bridge at ``x``, both in the white, and the most ink that it crosses."""
        margin = _INTO_WHITE * width
        feet, ends, gaps, inks = [], [], [], []
        for share in np.linspace(-0.5, 0.5, _RAYS):
            met = self._met(x + share * width)
            if met is None:
                continue
            foot, end, gap = met
            feet.append(foot)
            ends.append(end)
            gaps.append(end + gap)
            inks.append(end - foot)
        if not feet or max(ends) + margin > min(gaps):
            return None
        return min(feet) - margin, max(ends) + margin, float(max(inks))

    def _met(self, x: float) -> tuple[float, float, float] | None:
        """Return where an upright line leaves the counter for good, where the ink above ends, and the white there."""
        crossed = (self._x0 <= x) != (self._x1 <= x)
        if not crossed.any():
            return None
        x0, y0, x1, y1 = (side[crossed] for side in (self._x0, self._y0, self._x1, self._y1))
        heights = y0 + (x - x0) / (x1 - x0) * (y1 - y0)
        mine = self._mine[crossed]
        if not mine.any():
            return None
        foot = float(heights[mine].max())
        above = np.sort(heights[heights > foot + 1e-9])
        if not len(above):
            return None
        gap = float(above[1] - above[0]) if len(above) > 1 else math.inf
        return foot, float(above[0]), gap


def _box(bridge: Bridge) -> list[complex]:
    way = (bridge.end - bridge.start) / abs(bridge.end - bridge.start)
    side = 0.5j * bridge.width * way
    return [bridge.start - side, bridge.end - side, bridge.end + side, bridge.start + side]
