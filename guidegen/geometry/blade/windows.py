"""Which of several windows that overlap are needed to show all of a drawing."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from guidegen.geometry.blade.narrow import region
from guidegen.geometry.measure import flatten
from guidegen.geometry.path import Outline, Path

Window = tuple[complex, complex]
"""Lower left and upper right."""


def needed(
    strokes: Sequence[tuple[Path, float]], areas: Sequence[Outline], windows: Sequence[Window], sliver: float
) -> list[int]:
    """Return the numbers of the windows that show something no other one that is kept shows.

    The emptiest are given up first. What reaches less than ``sliver`` beyond the others counts as shown by them.
    Strokes are paths with their widths; areas are filled by the even-odd rule.
    """
    import shapely

    drawn = [_stroke(path, width) for path, width in strokes] + [_area(outline, sliver) for outline in areas]
    tree = shapely.STRtree(drawn)
    boxes = [shapely.box(low.real, low.imag, high.real, high.imag) for low, high in windows]
    seen: list[Any] = []
    for box in boxes:
        near = [drawn[k] for k in tree.query(box, predicate="intersects").tolist()]
        seen.append(shapely.union_all([shapely.intersection(one, box) for one in near]) if near else None)
    order = sorted(range(len(boxes)), key=lambda k: (_amount(seen[k]), -k))
    kept = set(order)
    for k in order:
        others = shapely.union_all([boxes[j] for j in kept if j != k and boxes[j].intersects(boxes[k])])
        if seen[k] is None or seen[k].difference(others.buffer(sliver, join_style="mitre")).is_empty:
            kept.discard(k)
    return sorted(kept)


def _stroke(path: Path, width: float) -> Any:
    import shapely

    points = flatten(path, max(width, 0.05))
    if path.closed:
        points = np.append(points, points[0])
    line = shapely.linestrings(np.stack([points.real, points.imag], axis=-1))
    return line.buffer(max(width, 1e-3) / 2, cap_style="flat", quad_segs=2)


def _area(outline: Outline, tolerance: float) -> Any:
    return region([path for path in outline if path.closed], tolerance)


def _amount(shape: Any) -> float:
    return 0.0 if shape is None else float(shape.area)
