"""Guide lines and ruled lines: which way they run, where they lie beside writing, and writing without them.

A line is thin and long, and writing that crosses it is not: what stands above and below it says what lies under it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

_WIDEST_DEG = 15.0
_POINTS = 20_000
_COVERED = 0.3
"""A line covers so much of the width it is looked for in: dashes do."""
_NEAR = 0.2
"""Of a line, what lies within so many strokes of ink stays: there it may be ink."""
_THIN = 0.45
"""A line is thinner than so many strokes."""
_SPREADS = 6.0


@dataclass(frozen=True, slots=True)
class Lines:
    """Which way lines run (degrees, anticlockwise from the rows of the picture), and whether there are any.

    ``counts`` are how many thin pixels each row has, level with the lines.
    """

    turn_deg: float
    found: bool
    counts: Any = None


def direction(dark: Any, thick_px: float) -> Lines:
    """Return the direction of the lines among what is dark; level where there are none.

    The direction is the one in which the projection of all that is thin is most uneven.
    """
    from scipy import ndimage

    most = max(2, round(_THIN * thick_px))
    rows, columns = np.nonzero(_thin(dark, most))
    every_row, every_column = rows, columns
    if len(rows) < 200:
        return Lines(0.0, found=False)
    if len(rows) > _POINTS:
        pick = np.linspace(0, len(rows) - 1, _POINTS).astype(int)
        rows, columns = rows[pick], columns[pick]
    x, y = columns - columns.mean(), rows - rows.mean()

    def score(angle: float, bin_px: float, every: int = 1) -> float:
        c, s = np.cos(np.radians(angle)), np.sin(np.radians(angle))
        place = (y[::every] * c + x[::every] * s) / bin_px
        counts = np.bincount((place - place.min()).astype(int))
        return float((counts.astype(float) ** 4).sum())

    coarse = np.arange(-_WIDEST_DEG, _WIDEST_DEG + 0.01, 0.5)
    scores = np.array([score(angle, 3.0, 2) for angle in coarse])
    best = float(coarse[int(np.argmax(scores))])
    spread = float(np.median(abs(scores - np.median(scores)))) + 1e-9
    if scores.max() < np.median(scores) + _SPREADS * spread or scores.max() < 1.6 * np.median(scores):
        return Lines(0.0, found=False)
    for step, bin_px in ((0.1, 1.5), (0.02, 1.0)):
        near = best + step * np.arange(-6, 7)
        best = float(near[int(np.argmax([score(angle, bin_px) for angle in near]))])
    # strokes that lean alike make a direction too: a line goes all the way across
    counts = _counted(every_row, every_column, dark.shape, best)
    long = ndimage.uniform_filter1d(counts, 3) * 3 > _COVERED * dark.shape[1]
    return Lines(best, found=True, counts=counts) if long.any() else Lines(0.0, found=False)


def _thin(mask: Any, most: int) -> Any:
    """Return what of a mask is no taller than ``most`` pixels where it stands."""
    from scipy import ndimage

    size = most + 1 | 1
    tall = ndimage.minimum_filter1d(mask.view(np.uint8), size, axis=0, mode="constant")
    tall = ndimage.maximum_filter1d(tall, size, axis=0, mode="constant")
    return mask & (tall == 0)


def line_places(dark: Any, lines: Lines) -> Any:
    """Return where the lines of a whole picture are, in its pixels down from its top, as if it lay level."""
    from scipy import ndimage

    counts, turn_deg = lines.counts, lines.turn_deg
    high = counts > _COVERED * dark.shape[1]
    labels, count = ndimage.label(ndimage.binary_closing(high, iterations=1))
    if not count:
        return np.zeros(0)
    places = ndimage.center_of_mass(counts, labels, np.arange(1, count + 1))
    # a place is where the line passes the middle column; level, it is as far from the turned one's origin
    middle = (dark.shape[1] - 1) / 2
    turn = np.radians(turn_deg)
    return np.array([place[0] for place in places]) * np.cos(turn) + middle * np.sin(turn)


@dataclass(frozen=True, slots=True)
class SeenLine:
    """A line in pixels of a picture or a part of it: ``middle`` is where it passes column 0, ``slope`` how it falls.

    ``half`` is half its thickness, with what is blurred beside it.
    """

    middle: float
    slope: float
    half: float

    def seen_from(self, left: float, top: float, factor: float) -> SeenLine:
        """Return the line in a part of the picture: its corner, and how many pixels are one of the part's."""
        return SeenLine((self.middle + self.slope * left - top) / factor, self.slope, self.half / factor)


def lines_in(dark: Any, depth: float, stroke_px: float, turn_deg: float) -> list[SeenLine]:
    """Return the lines that run through darkness (rows, columns) and are about as dark as ink.

    Paler ones are below half the ink's depth anyway.
    """
    from scipy import ndimage

    thin = _thin(dark > depth / 2, max(2, round(_THIN * stroke_px)))
    rows, columns = np.nonzero(thin)
    if len(rows) < 0.2 * dark.shape[1]:
        return []
    turns = [turn_deg + more for more in (-2.0, -1.0, -0.5, 0.0, 0.5, 1.0, 2.0)]
    every = [_counted(rows, columns, dark.shape, turn) for turn in turns]
    best = int(np.argmax([float((counts**2).sum()) for counts in every]))
    counts, slope = every[best], -np.tan(np.radians(turns[best]))
    labels, count = ndimage.label(ndimage.binary_closing(counts > _COVERED * dark.shape[1], iterations=1))
    made = []
    for number in range(1, count + 1):
        own = np.flatnonzero(labels == number)
        half = (own[-1] - own[0]) / 2 + 1.5
        if 2 * half <= max(4.0, 0.8 * stroke_px):
            middle = float((counts[own] * own).sum() / counts[own].sum())
            made.append(SeenLine(middle - slope * (dark.shape[1] - 1) / 2, slope, float(half)))
    return made


def without_lines(dark: Any, depth: float, stroke_px: float, lines: Sequence[SeenLine]) -> tuple[Any, Any]:
    """Return darkness (rows, columns) as if lines did not run through it, and where they were (a mask, None for none).

    Between a place above a line and one below it darkness is taken to change evenly, so that strokes run on; next to
    ink the picture stays as it is.
    """
    from scipy import ndimage

    high, wide = dark.shape
    columns = np.arange(wide)
    shown = [line for line in lines if _passes(line, high, wide)]
    if not shown:
        return dark, None
    made, band = dark.copy(), np.zeros(dark.shape, dtype=bool)
    for line in shown:
        centre = line.middle + line.slope * columns
        above, below = centre - line.half, centre + line.half
        sides = [_read_at(dark, np.clip(side, 0, high - 1), columns) for side in (above, below)]
        reach = int(np.ceil(line.half))
        rows = np.round(centre).astype(int) + np.arange(-reach, reach + 1)[:, None]
        inside = (rows >= 0) & (rows < high) & (abs(rows - centre) <= line.half)
        share = np.clip((rows - above) / (2 * line.half), 0, 1)
        between = (sides[0] * (1 - share) + sides[1] * share)[inside]
        r, c = rows[inside], np.broadcast_to(columns, rows.shape)[inside]
        made[r, c] = np.minimum(made[r, c], between)
        band[r, c] = True
    reach = round(_NEAR * stroke_px)
    ink = (made > depth / 2).view(np.uint8)
    for axis in (0, 1):
        ink = ndimage.maximum_filter1d(ink, 2 * reach + 1, axis=axis, mode="constant")
    return np.where(band & (ink > 0), dark, made), band


def _passes(line: SeenLine, high: int, wide: int) -> bool:
    ends = line.middle, line.middle + line.slope * (wide - 1)
    return max(ends) > -line.half and min(ends) < high + line.half


def _read_at(dark: Any, rows: Any, columns: Any) -> Any:
    """Return darkness at rows with decimals, one for each column."""
    low = np.minimum(rows.astype(int), len(dark) - 2)
    share = rows - low
    return dark[low, columns] * (1 - share) + dark[low + 1, columns] * share


def _counted(rows: Any, columns: Any, shape: tuple[int, int], turn_deg: float) -> Any:
    """Return how many places each row has when columns are shifted about the middle one so that lines lie level."""
    shift = -np.tan(np.radians(turn_deg)) * (np.arange(shape[1]) - (shape[1] - 1) / 2)
    place = np.round(rows - shift[columns]).astype(int)
    inside = (place >= 0) & (place < shape[0])
    return np.bincount(place[inside], minlength=shape[0]).astype(float)
