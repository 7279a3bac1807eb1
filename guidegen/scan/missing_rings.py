"""Why a block's rings are not all found: those that are tell where the others should be, and the picture what is there.

Nothing is said where the rings that are found allow more than one answer.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any, Literal

import numpy as np

from guidegen.scan.cells import FULL_WHITE
from guidegen.scan.rings import Ring
from guidegen.sheets.parts.swatch_block import COLUMNS, RING_MM, ROWS, every_block

Side = Literal["left", "right", "top", "bottom", ""]
Cause = Literal["cut off", "light", "covered"]

_FEWEST = 8
"""Rings that must be found for the others to be looked for."""
_MOST = 100
"""With more of them, twice those of a full page, a picture shows something else."""
_TOLERANCE = 0.24
_NEIGHBOURS = 8
_LIT_SHARE = 0.35
"""A ring is hidden by light where so much of its place is at full white."""

_Grid = dict[tuple[int, int], int]
"""Numbers of rings by their row and column, from whichever ring was the first."""


@dataclass(frozen=True, slots=True)
class MissingRings:
    """How many rings of a block are found, at which side of the picture the others should be, and what is there.

    ``side`` is empty where they are not all at one side.
    """

    found: int
    side: Side
    cause: Cause


def missing_rings(rings: Sequence[Ring], image: Any) -> MissingRings | None:
    """Return what is known of a block some of whose rings were not found; None where that cannot be told."""
    best: dict[tuple[complex, ...], tuple[int, _Grid]] = {}
    if len(rings) > _MOST:
        return None
    most = _FEWEST - 1
    tried: set[frozenset[tuple[tuple[int, int], int]]] = set()
    for grid in _grids(rings):
        if len(grid) < max(most, _FEWEST):
            continue
        for window in _windows(grid):
            own = frozenset(window.items())
            if own in tried or not _is_of_a_block(window, rings):
                continue
            tried.add(own)
            if len(window) > most:
                best, most = {}, len(window)
            places = _absent(window, rings)
            best.setdefault(tuple(complex(round(z.real, -1), round(z.imag, -1)) for z in places), (most, window))
    if len(best) != 1:
        return None
    ((count, window),) = best.values()
    absent = _absent(window, rings)
    if not absent:
        return None
    diameter = float(np.mean([rings[n].diameter_px for n in window.values()]))
    side = _side(absent, [rings[n].centre for n in window.values()])
    return MissingRings(count, side, _cause(absent, diameter, image))


def _grids(rings: Sequence[Ring]) -> Iterator[_Grid]:
    """Yield every way to lay rows and columns through rings that turn as on paper."""
    places = np.array([ring.centre for ring in rings])
    sizes = np.array([ring.diameter_px for ring in rings])
    for first in range(len(places)):
        alike = np.flatnonzero((sizes > 0.6 * sizes[first]) & (sizes < 1.7 * sizes[first]))
        near = alike[np.argsort(abs(places[alike] - places[first]))][1 : _NEIGHBOURS + 1]
        for along in near:
            for down in near:
                u, v = places[along] - places[first], places[down] - places[first]
                if (u.conjugate() * v).imag > 0.5 * abs(u) * abs(v):
                    yield _grown(places, first, int(along), int(down))


def _grown(places: Any, first: int, along: int, down: int) -> _Grid:
    """Return the rings that lie where three of them lead, step by step, a gap of one ring left out."""
    grid: _Grid = {(0, 0): first, (0, 1): along, (1, 0): down}
    steps = {(0, 1): places[along] - places[first], (1, 0): places[down] - places[first]}
    reach = _TOLERANCE * min(abs(step) for step in steps.values())
    pending = list(grid)
    while pending:
        row, column = pending.pop(0)
        for (by_row, by_column), step in steps.items():
            for way in (-2, -1, 1, 2):
                place = row + way * by_row, column + way * by_column
                if place in grid or abs(place[0]) >= ROWS or abs(place[1]) >= COLUMNS:
                    continue
                behind = grid.get((row - by_row, column - by_column)), grid.get((row + by_row, column + by_column))
                here = places[grid[row, column]]
                own = here - places[behind[0]] if behind[0] is not None else None
                own = places[behind[1]] - here if own is None and behind[1] is not None else own
                wanted = here + way * (step if own is None else own)
                nearest = int(np.argmin(abs(places - wanted)))
                if abs(places[nearest] - wanted) < reach * abs(way) and nearest not in grid.values():
                    grid[place] = nearest
                    pending.append(place)
    return grid


def _windows(grid: _Grid) -> Iterator[_Grid]:
    """Yield the rings of every three rows and four columns of a grid, from the window's corner."""
    for top in range(1 - ROWS, ROWS):
        for left in range(1 - COLUMNS, COLUMNS):
            window = {
                (row - top, column - left): n for (row, column), n in grid.items()
                if top <= row < top + ROWS and left <= column < left + COLUMNS
            }  # fmt: skip
            if len(window) == len(grid):
                yield window


def _is_of_a_block(window: _Grid, rings: Sequence[Ring]) -> bool:
    """Tell whether some block has these dots, and steps of about this many diameters."""
    dots = {row * COLUMNS + column: rings[n].dotted for (row, column), n in window.items()}
    across, down = (_step(window, rings, by) for by in ((0, 1), (1, 0)))
    return any(_agrees(shape, dots, across, down) for shape in _shapes())


@cache
def _shapes() -> tuple[tuple[float, float, tuple[bool, ...]], ...]:
    """Return of every block the steps across and down, in diameters of a ring, and its dots."""
    made = []
    for block in every_block():
        first = block.rings[0]
        across, down = (block.rings[1] - first).real, (block.rings[COLUMNS] - first).imag
        made.append((across / RING_MM, down / RING_MM, block.dots))
    return tuple(made)


def _step(window: _Grid, rings: Sequence[Ring], by: tuple[int, int]) -> float:
    """Return the mean step between neighbours, in diameters."""
    pairs = [(n, window.get((row + by[0], column + by[1]))) for (row, column), n in window.items()]
    steps = [abs(rings[n].centre - rings[m].centre) / rings[n].diameter_px for n, m in pairs if m is not None]
    return float(np.mean(steps)) if steps else 0.0


def _agrees(shape: tuple[float, float, tuple[bool, ...]], dots: dict[int, bool], across: float, down: float) -> bool:
    shares = across / shape[0], down / shape[1]
    near = 0.72 < shares[0] < 1.35 and 0.72 < shares[1] < 1.35 and 0.75 < shares[0] / shares[1] < 1.33
    return near and all(shape[2][number] == dotted for number, dotted in dots.items())


def _absent(window: _Grid, rings: Sequence[Ring]) -> list[complex]:
    """Return where the rings that are not there should be, by a plane's map through those that are."""
    known = list(window)
    matrix = np.array([[1.0, column, row, column * row] for row, column in known])
    px, *_ = np.linalg.lstsq(matrix, np.array([rings[window[place]].centre for place in known]), rcond=None)
    every = [(row, column) for row in range(ROWS) for column in range(COLUMNS)]
    return [complex(px @ [1.0, column, row, column * row]) for row, column in every if (row, column) not in window]


def _side(absent: Sequence[complex], known: Sequence[complex]) -> Side:
    """Return at which side of the others all of the absent rings should be."""
    for side, way in (("right", 1), ("left", -1), ("bottom", -1j), ("top", 1j)):
        outermost = max((z * way).real for z in [*known, *absent])
        far = [(z * way).real for z in absent]
        spread = outermost - min((z * way).real for z in [*known, *absent])
        if all(place > outermost - 0.2 * spread for place in far):
            return side  # type: ignore[return-value]  # one of the four
    return ""


def _cause(absent: Sequence[complex], diameter_px: float, image: Any) -> Cause:
    width, height = image.size
    half = diameter_px / 2
    if any(not (half < z.real < width - half and half < z.imag < height - half) for z in absent):
        return "cut off"
    lit = []
    for z in absent:
        box = (z.real - half, z.imag - half, z.real + half, z.imag + half)
        place = np.asarray(image.crop(tuple(round(side) for side in box)))
        lit.append(float((place.min(axis=2) >= FULL_WHITE).mean()))
    return "light" if max(lit) > _LIT_SHARE else "covered"
