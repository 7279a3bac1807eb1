"""Which rings make a block, which one, and how it lies: four by three, told by their dots."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from guidegen.scan.rings import Ring
from guidegen.sheets.parts.swatch_block import COLUMNS, ROWS, SwatchBlock, block_of

_TOLERANCE = 0.24
"""How far a ring may lie from where its neighbours lead, as a share of the shorter step."""
_NEIGHBOURS = 9


@dataclass(frozen=True, slots=True)
class FoundBlock:
    """A block in a picture and where its rings are, row by row."""

    block: SwatchBlock
    rings: tuple[complex, ...]
    diameter_px: float


@dataclass(frozen=True, slots=True)
class Search:
    """What was found: blocks, and whether some were seen in a mirror, or rings of no block we know."""

    blocks: tuple[FoundBlock, ...]
    mirrored: bool
    unknown: bool


def find_blocks(rings: Sequence[Ring]) -> Search:
    """Return the blocks that rings make, in the order of their copies."""
    found: dict[tuple[int, ...], FoundBlock] = {}
    mirrored = unknown = False
    grids = list(_grids(rings))
    for grid in grids:
        own = [rings[n] for n in grid]
        block = block_of([ring.dotted for ring in own])
        turned = _turn(own)
        if block is None or not _has_shape_of(block, own):
            unknown = unknown or turned > 0
            continue
        if turned < 0:
            mirrored = True
            continue
        found[tuple(sorted(grid))] = FoundBlock(
            block, tuple(ring.centre for ring in own), float(np.mean([ring.diameter_px for ring in own]))
        )
    kept: list[FoundBlock] = []
    for candidate in sorted(found.values(), key=lambda each: (each.block.copy, each.rings[0].real, each.rings[0].imag)):
        if not any(set(candidate.rings) & set(other.rings) for other in kept):
            kept.append(candidate)
    return Search(tuple(kept), mirrored and not kept, unknown and not kept and bool(grids))


def _grids(rings: Sequence[Ring]) -> list[tuple[int, ...]]:
    """Return every way to see twelve rings as three rows of four, by growing each from one ring and two neighbours."""
    places = np.array([ring.centre for ring in rings])
    if len(places) < ROWS * COLUMNS:
        return []
    sizes = np.array([ring.diameter_px for ring in rings])
    grids = []
    for corner in range(len(places)):
        if rings[corner].dotted:
            continue  # the ring at the upper left has none
        alike = np.flatnonzero((sizes > 0.6 * sizes[corner]) & (sizes < 1.7 * sizes[corner]))
        order = alike[np.argsort(abs(places[alike] - places[corner]))]
        near = [int(n) for n in order[1 : _NEIGHBOURS + 1]]
        pairs = ((along, down) for along in near for down in near if along != down)
        grown = (_grown(places, corner, along, down) for along, down in pairs)
        grids += [grid for grid in grown if grid]
    return grids


def _grown(places: np.ndarray, corner: int, along: int, down: int) -> tuple[int, ...] | None:
    """Return the twelve rings that a corner, its neighbour in the row and the one below lead to; None for no such."""
    u, v = places[along] - places[corner], places[down] - places[corner]
    if abs((u * np.conj(v)).imag) < 0.5 * abs(u) * abs(v):
        return None
    reach = _TOLERANCE * min(abs(u), abs(v))
    grid: dict[tuple[int, int], int] = {(0, 0): corner, (0, 1): along, (1, 0): down}

    def place(row: int, column: int) -> complex:
        return complex(places[grid[row, column]])

    for row in range(ROWS):
        for column in range(COLUMNS):
            if (row, column) in grid:
                continue
            if row and column:  # the three around it make a parallelogram
                wanted = place(row, column - 1) + place(row - 1, column) - place(row - 1, column - 1)
            elif column:
                wanted = 2 * place(row, column - 1) - place(row, column - 2)
            else:
                wanted = 2 * place(row - 1, column) - place(row - 2, column)
            nearest = int(np.argmin(abs(places - wanted)))
            if abs(places[nearest] - wanted) > reach or nearest in grid.values():
                return None
            grid[row, column] = nearest
    return tuple(grid[row, column] for row in range(ROWS) for column in range(COLUMNS))


def _turn(own: Sequence[Ring]) -> float:
    """Return a positive number when columns and rows turn as they do on paper, a negative one in a mirror."""
    across, down = own[3].centre - own[0].centre, own[8].centre - own[0].centre
    return float((across.conjugate() * down).imag)


def _has_shape_of(block: SwatchBlock, own: Sequence[Ring]) -> bool:
    """Tell whether the steps between rings, counted in their diameters, are about those of the block."""
    true = block.rings
    along = np.mean([abs(own[n + 1].centre - own[n].centre) for n in range(11) if n % 4 != 3])
    down = np.mean([abs(own[n + 4].centre - own[n].centre) for n in range(8)])
    diameter = np.mean([ring.diameter_px for ring in own])
    wanted = (true[1] - true[0]).real / 6.0, (true[4] - true[0]).imag / 6.0
    return bool(0.72 < along / diameter / wanted[0] < 1.35 and 0.72 < down / diameter / wanted[1] < 1.35)
