"""Which closed path lies inside which, and in what order a blade should take them."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from guidegen.geometry.measure import flatten, signed_area
from guidegen.geometry.path import Path, reverse


def parents(paths: Sequence[Path], tolerance: float) -> list[list[int]]:
    """Return for each closed path the numbers of all paths that enclose it.

    Paths may touch but should not cross; where they do, a path's first vertex decides.
    """
    import shapely

    if not paths:
        return []
    points = [flatten(path, tolerance) for path in paths]
    rings = [np.stack([p.real, p.imag], axis=-1) for p in points]
    solid = [k for k, ring in enumerate(rings) if len(ring) >= 3]
    if not solid:
        return [[] for _ in paths]
    areas = shapely.polygons([shapely.linearrings(rings[k]) for k in solid])
    sizes = {k: abs(signed_area(paths[k])) for k in range(len(paths))}
    tree = shapely.STRtree(areas)
    starts = shapely.points([ring[0] for ring in rings])
    inner, outer = tree.query(starts, predicate="intersects")
    found: list[list[int]] = [[] for _ in paths]
    for a, b in zip(inner.tolist(), outer.tolist(), strict=True):
        other = solid[b]
        if other != a and sizes[other] > sizes[a]:
            found[a].append(other)
    return found


def oriented(paths: Sequence[Path], tolerance: float) -> tuple[Path, ...]:
    """Return the paths, outer boundaries anticlockwise and holes clockwise, by how deep each lies."""
    turned = []
    for path, around in zip(paths, parents(paths, tolerance), strict=True):
        outward = len(around) % 2 == 0
        turned.append(path if (signed_area(path) > 0) == outward else reverse(path))
    return tuple(turned)


def inner_first(paths: Sequence[Path], tolerance: float) -> tuple[Path, ...]:
    """Return the paths so that whatever lies inside another comes before it.

    A piece that has come loose cannot be cut into. Outermost shapes keep their order from left to right, each
    preceded by all it encloses, the deepest first.
    """
    around = parents(paths, tolerance)

    def root(k: int) -> int:
        return min(around[k], key=lambda j: len(around[j])) if around[k] else k

    left = [min(z.real for s in path.segments for z in s) for path in paths]
    order = sorted(range(len(paths)), key=lambda k: (left[root(k)], root(k), -len(around[k]), left[k], k))
    return tuple(paths[k] for k in order)
