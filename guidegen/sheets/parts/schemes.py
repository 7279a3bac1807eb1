"""How the forms of a text share rows: beside each other, and fewer of them, where the writing is large.

A page that holds many rows has a form on each. Where it holds few, forms stand side by side, so that two letters share
a page; what then finds no room is left out, the forms least missed first, and the page says so.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

RowKind = Literal["solid", "hollow", "dotted", "starts", "blank", "copy", "memory"]
ROW_KINDS: tuple[RowKind, ...] = ("solid", "hollow", "dotted", "starts", "blank", "copy", "memory")
DRILL_ROWS: tuple[RowKind, ...] = ("solid", "hollow", "dotted", "starts", "blank")
DEFAULT_ROWS: tuple[RowKind, ...] = ("solid", "hollow", "dotted", "starts", "copy", "memory")
MANY_ROWS = 4
"""Rows on a page from which on a text has a row for each of its forms."""
CELL_GAP_MM = 6.0
"""The gutter between parts of a row: its lines leave it out."""
_LEAST_MISSED: tuple[RowKind, ...] = ("hollow", "starts", "copy")
_MOST_BESIDE = 3
_FEW = 3
"""Forms that may have a row each where rows are scarce."""
_ROOM_TO_WRITE = 1.25
"""How much wider than what stands in it a part of a row is."""


@dataclass(frozen=True, slots=True)
class Scheme:
    """The rows of a text, each with its forms side by side, and the forms that were left out."""

    rows: tuple[tuple[RowKind, ...], ...]
    left_out: tuple[RowKind, ...] = ()

    def without(self, kind: RowKind) -> Scheme:
        """Return the scheme without one form."""
        rows = (tuple(one for one in row if one != kind) for row in self.rows)
        return Scheme(tuple(row for row in rows if row), self.left_out)


def one_by_one(kinds: Sequence[RowKind]) -> Scheme:
    """Return a row for each form."""
    return Scheme(tuple((kind,) for kind in kinds))


def scheme(kinds: Sequence[RowKind], per_page: int, width_mm: float, room_mm: float, *, alone: bool) -> Scheme:
    """Return how the forms of a text are shared out over rows.

    Args:
        kinds: the forms, in order.
        per_page: how many rows a page holds.
        width_mm: how wide the text is.
        room_mm: how wide a row is.
        alone: it is a letter or a basic stroke, and two of them should share a page.
    """
    fewest = max(1, per_page // 2) if alone else len(kinds) if per_page >= MANY_ROWS else per_page
    if fewest >= len(kinds):
        return one_by_one(kinds)
    for rows in range(max(1, fewest), len(kinds) + 1):
        for dropped in range(len(_LEAST_MISSED) + 1):
            shown = tuple(kind for kind in kinds if kind not in _LEAST_MISSED[:dropped])
            across = -(-len(shown) // rows)
            if _fits(shown, across, width_mm, cell_mm(room_mm, across)):
                left_out = tuple(kind for kind in kinds if kind not in shown)
                return Scheme(tuple(_batched(shown, across)), left_out)
    return one_by_one(kinds)


def cell_mm(room_mm: float, across: int) -> float:
    """Return how wide each of ``across`` parts of a row is."""
    return (room_mm - (across - 1) * CELL_GAP_MM) / across


def _fits(kinds: Sequence[RowKind], across: int, width_mm: float, cell: float) -> bool:
    if across == 1:
        return len(kinds) <= _FEW
    least = width_mm if across < _MOST_BESIDE else _ROOM_TO_WRITE * width_mm
    if "copy" in kinds:
        least = 2 * width_mm + CELL_GAP_MM
    return across <= _MOST_BESIDE and least <= cell


def _batched(kinds: Sequence[RowKind], across: int) -> list[tuple[RowKind, ...]]:
    return [tuple(part) for part in (kinds[at : at + across] for at in range(0, len(kinds), across))]
