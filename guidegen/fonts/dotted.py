"""Dots along the centreline: where they stand, so that a traced word has one even chain of them.

Along each piece of a stroke between corners the dots stand at equal arc length, the spacing stretched a little to
come out whole. A free end and a corner carry a dot; an end that joins the next letter stops half a spacing
short of the join, so that the two letters' halves make one gap, whichever letters meet.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from guidegen.geometry.path import Path
from guidegen.geometry.shape.dots import dot_rows

_CORNER_DEG = 35.0
_LEAST = 0.5
"""Corners nearer than this many spacings to a dot or an end have none of their own."""
_NEAR = 0.55
"""Dots of crossing or retraced strokes closer than this many spacings would merge: the later one is left out."""
_NEAR_JOIN = 0.61
"""A corner's dot this near to one beside a join gives way to it: that one makes the gap to the next letter."""
_NEAR_START, _SAME_START = 0.72, 0.95
"""A start's ring is 2.1 dots wide: dots closer to it than this give way, strokes that begin closer share one ring."""


@dataclass(frozen=True, slots=True)
class Traced:
    """A centreline to be dotted; ``joins_before``/``joins_after`` tell that it runs on in a neighbouring letter."""

    path: Path
    joins_before: bool = False
    joins_after: bool = False


@dataclass(frozen=True, slots=True)
class Dots:
    """Dots in the order of writing; ``starts`` (not among ``places``) are where the pen is put down."""

    places: tuple[complex, ...]
    starts: tuple[complex, ...]


def all_dots(letters: Sequence[Sequence[Traced]], spacing: float, *, starts: bool = False) -> list[Dots]:
    """Return the dots of every letter's strokes, about ``spacing`` apart along the path, all reckoned in one go.

    Where strokes cross or run over each other, dots that would merge are left out, never those beside a join.
    With ``starts`` each stroke's first point is told apart, and dots around it give way to it.
    """
    strokes = [stroke for letter in letters for stroke in letter]
    rows = dot_rows(
        [stroke.path for stroke in strokes],
        spacing,
        open_ends=[(stroke.joins_before, stroke.joins_after) for stroke in strokes],
        corner_deg=_CORNER_DEG,
        least=_LEAST,
    )
    each = iter(rows)
    return [_without_blots(letter, [next(each) for _ in letter], spacing, starts) for letter in letters]


def _without_blots(strokes: Sequence[Traced], rows: Sequence[list[complex]], spacing: float, starts: bool) -> Dots:
    first: list[complex] = []
    for row, stroke in zip(rows, strokes, strict=True):
        if starts and not stroke.joins_before and all(abs(row[0] - other) >= _SAME_START * spacing for other in first):
            first.append(row[0])  # strokes that begin together share a start
    kept: list[complex] = []
    joining = [row[0] for row, stroke in zip(rows, strokes, strict=True) if stroke.joins_before]
    joining += [row[-1] for row, stroke in zip(rows, strokes, strict=True) if stroke.joins_after]
    for row, stroke in zip(rows, strokes, strict=True):
        earlier = kept.copy()
        for i, dot in enumerate(row):
            if i == 0 and starts and not stroke.joins_before:
                continue
            held = (i == 0 and stroke.joins_before) or (i == len(row) - 1 and stroke.joins_after)
            others = earlier + row[: max(0, i - 1)]
            free = all(abs(dot - start) >= _NEAR_START * spacing for start in first)
            free = free and all(abs(dot - end) >= _NEAR_JOIN * spacing for end in joining)
            if held or (free and all(abs(dot - other) >= _NEAR * spacing for other in others)):
                kept.append(dot)
    return Dots(tuple(kept), tuple(first))
