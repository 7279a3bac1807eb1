"""What a union is made of: curves, the parts they form, and their chords; many drawings side by side on one board.

Drawings that have nothing to do with each other are united in one go, which spares the many small calls: each is put
on a square of its own on a board (all moves are whole multiples of the grid, so nothing is rounded), and whatever
lies on one square belongs to one drawing.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from guidegen.geometry.cubic import Bools, Complexes, Floats, Ints
from guidegen.geometry.measure import flatten_curves
from guidegen.geometry.union.sure_ink import NONE_SURE, SureInk

MOST_ON_A_BOARD = 64


@dataclass(frozen=True, slots=True)
class HalfPlane:
    """The points to the left of the line through ``point`` along ``direction``; ``inside`` False means the others."""

    point: complex
    direction: complex
    inside: bool = True

    def holds(self, p: Complexes) -> Bools:
        left = ((p - self.point) * np.conj(self.direction)).imag > 0
        return np.asarray(left == self.inside)


@dataclass(frozen=True, slots=True)
class Part:
    """Some curves (their numbers) that form closed loops, filled by the non-zero rule inside all ``planes``."""

    curves: Ints
    planes: tuple[HalfPlane, ...] = ()


@dataclass(frozen=True, slots=True)
class Drawing:
    """Curves (n, 4), which are straight, which run backwards, which take part in noding, and the parts they form.

    Backward curves lie inside the ink: where they seem to bound it, fitting errors have opened a crack. ``sure`` is
    ink whatever the curves say.
    """

    curves: Complexes
    straight: Bools
    backwards: Bools
    bounding: Bools
    parts: tuple[Part, ...]
    sure: SureInk = NONE_SURE


@dataclass(frozen=True, slots=True)
class Board:
    """Drawings side by side: their curves in a row where they were, the drawing of each, and its move on the board."""

    drawings: tuple[Drawing, ...]
    curves: Complexes
    straight: Bools
    backwards: Bools
    bounding: Bools
    drawing: Ints  # of every curve
    shift: Complexes  # of every drawing
    square: float  # the side of a square; the first one has its lower left corner at ``corner``
    corner: complex
    columns: int
    grid: float

    def first_curve(self) -> Ints:
        """Return the number of every drawing's first curve, and the count of all."""
        return np.cumsum([0, *(len(d.curves) for d in self.drawings)])

    def in_sure_ink(self, points: Complexes, drawing: Ints, least: float) -> Bools:
        """Return which points, each where its drawing was drawn, lie deeper than ``least`` inside that one's ink."""
        result = np.zeros(len(points), dtype=bool)
        for k in sorted(set(drawing.tolist())):  # np.unique would import numpy.ma
            mine = drawing == k
            result[mine] = self.drawings[k].sure.hides(points[mine], least)
        return result

    def drawing_at(self, points: Complexes) -> Ints:
        """Return on which drawing's square points of the board lie."""
        if len(self.drawings) == 1:
            return np.zeros(len(points), dtype=np.int64)
        z = (points - self.corner) / self.square
        return np.asarray(np.floor(z.imag) * self.columns + np.floor(z.real), dtype=np.int64)


@dataclass(frozen=True, slots=True)
class Chords:
    """Flattened curves: chord ends (board coordinates, on the grid), the curve of each chord and its parameters."""

    start: Complexes
    end: Complexes
    curve: Ints
    t0: Floats
    t1: Floats


def grid_for(curves: Complexes, chord: float) -> float:
    """Return a power of two far below the chord error and far above the rounding of the coordinates."""
    largest = float(np.abs(curves.view(np.float64)).max())
    return float(2.0 ** np.round(np.log2(max(chord * 2e-3, largest * 2e-13))))


def snapped(z: Complexes, grid: float) -> Complexes:
    """Return the points rounded to the grid (no negative zeros)."""
    return np.asarray(np.round(z.real / grid) * grid + 1j * (np.round(z.imag / grid) * grid) + 0.0, dtype=np.complex128)


def boards(drawings: Sequence[Drawing], chord: float) -> Iterator[tuple[list[int], Board]]:
    """Yield boards with the numbers of the drawings on them: drawings of one grid, none without curves."""
    grids = [(k, grid_for(d.curves, chord)) for k, d in enumerate(drawings) if len(d.curves)]
    for grid, same in itertools.groupby(grids, key=lambda pair: pair[1]):
        numbers = [k for k, _ in same]
        for at in range(0, len(numbers), MOST_ON_A_BOARD):
            some = numbers[at : at + MOST_ON_A_BOARD]
            yield some, board([drawings[k] for k in some], grid)


def board(drawings: Sequence[Drawing], grid: float) -> Board:
    """Put drawings side by side; one alone stays where it is."""
    columns = math.ceil(math.sqrt(len(drawings)))
    boxes = [(_least(d.curves), -_least(-d.curves)) for d in drawings]
    reach = max(max(high.real - low.real, high.imag - low.imag) for low, high in boxes)
    square = 2.0 ** math.ceil(math.log2(max(1.2 * reach, 64 * grid)))
    if len(drawings) == 1:
        shift = np.zeros(1, dtype=np.complex128)
    else:
        lows = snapped(np.array([low for low, _ in boxes]), grid)
        places = np.arange(len(drawings))
        shift = square * (places % columns + 1j * (places // columns)) - lows
    sizes = [len(d.curves) for d in drawings]
    return Board(
        tuple(drawings),
        np.concatenate([d.curves for d in drawings]),
        np.concatenate([d.straight for d in drawings]),
        np.concatenate([d.backwards for d in drawings]),
        np.concatenate([d.bounding for d in drawings]),
        np.repeat(np.arange(len(drawings)), sizes),
        shift,
        square,
        -0.05 * square * (1 + 1j),
        columns,
        grid,
    )


def _least(curves: Complexes) -> complex:
    return complex(curves.real.min(), curves.imag.min())


def chords_of(board: Board, chord: float) -> Chords:
    """Return the chords of all curves of a board, in the order of the curves, none without length."""
    points, owner, t = flatten_curves(board.curves, board.straight, chord)
    points = snapped(points, board.grid) + board.shift[board.drawing[owner]]
    k = np.flatnonzero((owner[1:] == owner[:-1]) & (points[1:] != points[:-1]))
    return Chords(points[k], points[k + 1], owner[k], t[k], t[k + 1])


def spans(first: Ints, count: Ints) -> Ints:
    """Return first[0], first[0] + 1, ... (count[0] numbers), then those from first[1] on, and so forth."""
    ends = np.cumsum(count)
    total = int(ends[-1]) if len(ends) else 0
    return np.asarray(np.arange(total) + np.repeat(first - (ends - count), count), dtype=np.int64)


def key_of(a: Complexes, b: Complexes) -> np.ndarray:
    """Return a number that equal pairs of points share either way round, others hardly ever (callers compare them)."""
    mixed = _mixed(a) + _mixed(b)
    return np.asarray(mixed ^ (mixed >> np.uint64(29)))


def _mixed(z: Complexes) -> np.ndarray:
    mixed = np.zeros(len(z), dtype=np.uint64)
    for part in (z.real, z.imag):
        bits = (part + 0.0).view(np.uint64)
        mixed ^= bits ^ (bits >> np.uint64(32))
        mixed *= np.uint64(0x9E3779B97F4A7C15)
        mixed ^= mixed >> np.uint64(29)
    return mixed
