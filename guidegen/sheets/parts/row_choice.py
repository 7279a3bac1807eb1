"""Which rows a guide sheet has, where a teacher says more than the marker does."""

from __future__ import annotations

from dataclasses import dataclass

from guidegen.checks import check_fields, number, optional, whole
from guidegen.limits import MAX_ROWS

_CHECKS = {
    "count": optional(whole(1, MAX_ROWS, f"a number of rows from 1 to {MAX_ROWS}")),
    "gap_mm": optional(number(0.0, 1000.0, "a gap in mm")),
}


@dataclass(frozen=True, slots=True)
class Rows:
    """Which rows a sheet has: how many (None for as many as fit), the white between them (None for the hand's own).

    For ``left_handed`` writers the model letter stands at the right, where their hand leaves it in sight, and lines and
    letter lean to the left as the hand leans to the right, unless a slant is given.

    Raises:
        GuidegenError: a number of rows or a gap that is none.
    """

    count: int | None = None
    gap_mm: float | None = None
    left_handed: bool = False

    def __post_init__(self) -> None:
        check_fields(self, _CHECKS)
