"""Unions and bridges of finished outlines, for cutting.

A bridge is a strip of sheet left standing across a stroke, so that the white inside a letter stays tied to the
sheet around it. All results keep their curves (:mod:`guidegen.geometry.union.unite`).
"""

from __future__ import annotations

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

MOST_INK = 3.0  # a bridge takes no more ink than this many times its width by the stroke's: else it eats the letter


@dataclass(frozen=True, slots=True)
class Bridge:
    """A strip of sheet from ``start`` (in the white inside) to ``end`` (in the white it is tied to), over ``ink``."""

    start: complex
    end: complex
    width: float
    ink: float


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


def bridged(outline: Outline, width: float, tolerance: float) -> tuple[Outline, tuple[Bridge, ...]]:
    """Return ``outline`` with every white inside it tied to the sheet outside, and the bridges.

    Each is tied where the ink is thinnest; a white that a bridge opens into another one is tied with that.

    Raises:
        ValueError: when a white cannot be tied (a bridge wider than the letter).
    """
    around = parents(outline, 0.02)
    roots = [min(outer, key=lambda j: len(around[j])) if outer else k for k, outer in enumerate(around)]
    result: list[Path] = []
    bridges: list[Bridge] = []
    for root in dict.fromkeys(roots):  # letter by letter: each is small, and none is cut for its neighbour
        piece, mine = _tied(tuple(path for path, r in zip(outline, roots, strict=True) if r == root), width, tolerance)
        result += piece
        bridges += mine
    return tuple(result), tuple(bridges)


def _tied(outline: Outline, width: float, tolerance: float) -> tuple[Outline, list[Bridge]]:
    bridges: list[Bridge] = []
    for _ in range(4 * len(outline) + 4):
        inner = _whites(outline)
        if not inner:
            return outline, bridges
        hole = inner[0]
        for bridge in _places(outline, hole, width):
            cut = without_box(outline, _box(bridge), tolerance)
            taken = area(outline) - area(cut)
            most = min(MOST_INK * width * max(bridge.ink, width / 4), _around(outline, hole) / 2)
            if len(_whites(cut)) < len(inner) and taken <= most:
                outline = cut
                bridges.append(bridge)
                break
        else:
            raise ValueError("a white inside cannot be tied by a bridge of this width")
    raise ValueError("the whites inside cannot be tied")


def _whites(outline: Outline) -> list[Path]:
    """Return the holes, from left to right."""
    holes = [path for path, around in zip(outline, parents(outline, 0.02), strict=True) if len(around) % 2 == 1]
    return sorted(holes, key=lambda path: (bounds((path,))[0].real, bounds((path,))[0].imag))


def _around(outline: Outline, hole: Path) -> float:
    """Return the area of the smallest contour around a hole."""
    paths = [hole, *outline]
    return min(abs(signed_area(paths[k])) for k in parents(paths, 0.02)[0])


def _places(outline: Outline, hole: Path, width: float) -> list[Bridge]:
    """Return where a bridge could go from ``hole``: the shortest ways across the ink first."""
    fine = width / 20
    own = flatten(hole, fine)
    others = [flatten(path, fine) for path in outline if path is not hole]
    start, end = _edges(others)
    mine_start, mine_end = own, np.roll(own, -1)
    # candidates: points along the hole's edge, each with the nearest spot on any other edge
    steps = np.maximum(1, np.ceil(np.abs(mine_end - mine_start) / (width / 2)).astype(int))
    spots = np.concatenate(
        [a + (b - a) * (np.arange(n) + 0.5) / n for a, b, n in zip(mine_start, mine_end, steps, strict=True)]
    )
    near, gap = _nearest(spots, start, end)
    # a bridge has a width: the ink at both of its sides counts as much as that in its middle
    over = np.maximum.reduce([np.roll(gap, shift) for shift in (-2, -1, 0, 1, 2)])
    order = np.argsort(over, kind="stable")[:400]
    found: list[Bridge] = []
    for reach in (0.75, 1.5, 3.0):
        for k in order[:: max(1, len(order) // 12)].tolist():
            across = near[k] - spots[k]
            if abs(across) < 1e-9:
                continue
            way = across / abs(across)
            start_at, end_at = spots[k] - reach * width * way, near[k] + reach * width * way
            found.append(Bridge(complex(start_at), complex(end_at), width, float(gap[k])))
    return found


def _edges(rings: list[Any]) -> tuple[Any, Any]:
    return np.concatenate(rings), np.concatenate([np.roll(ring, -1) for ring in rings])


def _nearest(spots: Any, start: Any, end: Any) -> tuple[Any, Any]:
    """Return for each spot the nearest point on the edges start -> end, and how far it is."""
    near = np.empty_like(spots)
    gap = np.empty(len(spots))
    way = end - start
    size = np.maximum(np.abs(way) ** 2, 1e-300)
    for k, spot in enumerate(spots):
        share = np.clip(((spot - start) * np.conj(way)).real / size, 0, 1)
        foot = start + share * way
        distance = np.abs(foot - spot)
        best = int(np.argmin(distance))
        near[k], gap[k] = foot[best], distance[best]
    return near, gap


def _box(bridge: Bridge) -> list[complex]:
    way = (bridge.end - bridge.start) / abs(bridge.end - bridge.start)
    side = 0.5j * bridge.width * way
    return [bridge.start - side, bridge.end - side, bridge.end + side, bridge.start + side]
