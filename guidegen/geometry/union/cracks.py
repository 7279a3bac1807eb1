"""Cracks: thin openings into the ink that errors of fitting leave beside backward runs of an envelope.

A backward run lies inside the ink, close to a forward one next to its cusp. If their errors put them on the wrong
sides of each other, the winding number between them is 0 and a crack seems to run along the backward run, as
narrow as the errors are. Where the boundary of a union contains a backward run, its mouth is bridged to the other side
of the crack, and the thin face behind the bridge is filled: all of it is within a tolerance of the ink.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from guidegen.geometry.cubic import Bools, Complexes

_FIRST_LOOK = 64  # vertices


def bridges(rings: list[Complexes], backwards: Bools, tolerance: float) -> Complexes:
    """Return segments (n, 2) across the mouths of cracks; ``backwards`` flags the edges of all rings in a row."""
    found: list[tuple[complex, complex]] = []
    at = 0
    for ring in rings:
        flags = backwards[at : at + len(ring)]
        at += len(ring)
        if flags.any() and not flags.all():
            found += _of_ring(ring, flags, tolerance)
    return np.array(found, dtype=np.complex128).reshape(-1, 2)


def _of_ring(ring: Complexes, flags: Bools, tolerance: float) -> list[tuple[complex, complex]]:
    first = int(np.flatnonzero(flags & ~np.roll(flags, 1))[0])
    ring, flags = np.roll(ring, -first), np.roll(flags, -first)
    n = len(ring)
    starts = np.flatnonzero(flags & ~np.roll(flags, 1))
    found: list[tuple[complex, complex]] = []
    for i in starts.tolist():
        j = i
        while j < n and flags[j]:
            j += 1
        run = ring[np.arange(i, j + 1) % n]
        size = float(np.abs(np.diff(run)).sum())
        reach = 2 * size + 4 * tolerance
        before = _walk(ring, i, -1, n - (j - i), reach)
        after = _walk(ring, j, 1, n - (j - i), reach)
        for corner, side in ((run[-1], before), (run[0], after)):
            gap, foot = _nearest(complex(corner), side)
            if 0 < gap <= min(1.5 * tolerance, size / 2):
                found.append((complex(corner), foot))
    return found


def _walk(ring: Complexes, start: int, step: int, most: int, reach: float) -> Complexes:
    """Return the vertices from ``start`` on in one direction, over about the length ``reach``."""
    some = min(_FIRST_LOOK, most)
    while True:  # the reach is short beside most rings
        chain = ring[(start + step * np.arange(some + 1)) % len(ring)]
        far = np.cumsum(np.abs(np.diff(chain)))
        if some == most or far[-1] >= reach:
            return chain[: int(np.searchsorted(far, reach)) + 2]
        some = min(4 * some, most)


def _nearest(p: complex, chain: Complexes) -> tuple[float, complex]:
    if len(chain) < 2:
        return np.inf, p
    d = np.diff(chain)
    share = np.clip(((p - chain[:-1]) * np.conj(d)).real / np.maximum(np.abs(d) ** 2, 1e-300), 0, 1)
    feet = chain[:-1] + share * d
    k = int(np.argmin(np.abs(feet - p)))
    return float(abs(feet[k] - p)), complex(feet[k])


def closed_off(faces: Any, covered: Bools, across: Complexes, grid: float, tolerance: float) -> Bools:
    """Return which faces are cracks: behind a bridge, thinner than the tolerance, and with ink on most sides."""
    import shapely

    result = np.zeros(len(faces), dtype=bool)
    thin = np.flatnonzero(~covered & (shapely.area(faces) <= 0.6 * tolerance * shapely.length(faces)))
    if not len(across) or not len(thin):
        return result
    lines = shapely.linestrings(np.stack([across.real, across.imag], axis=-1))
    behind, _ = shapely.STRtree(lines).query(faces[thin], predicate="dwithin", distance=2 * grid)
    thin = thin[np.unique(behind)]
    edge = shapely.boundary(shapely.coverage_union_all(faces[covered]))
    inked = shapely.length(shapely.intersection(shapely.boundary(faces[thin]), edge))
    result[thin] = inked >= 0.6 * shapely.length(faces[thin])
    return result
