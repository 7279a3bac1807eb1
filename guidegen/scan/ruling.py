"""Guide lines and ruled lines: which way they run, where they lie beside writing, and writing without them.

A line is thin and long, and writing that crosses it is not: what stands above and below it says what lies under it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

_WIDEST_DEG = 15.0
_POINTS = 60_000
_COVERED = 0.3
"""A line covers so much of the width it is looked for in: dashes do."""
_NEAR = 0.2
"""Of a line, what lies within so many strokes of ink stays: there it may be ink."""
_THIN = 0.45
"""A line is thinner than so many strokes."""
_SPREADS = 6.0


@dataclass(frozen=True, slots=True)
class Lines:
    """Which way lines run (degrees, anticlockwise from the rows of the picture), and whether there are any."""

    turn_deg: float
    found: bool


def direction(dark: Any, thick_px: float) -> Lines:
    """Return the direction of the lines among what is dark; level where there are none.

    The direction is the one in which the projection of all that is thin is most uneven.
    """
    from scipy import ndimage

    most = max(2, round(_THIN * thick_px))
    rows, columns = np.nonzero(_thin(dark, most))
    if len(rows) < 200:
        return Lines(0.0, found=False)
    if len(rows) > _POINTS:
        pick = np.linspace(0, len(rows) - 1, _POINTS).astype(int)
        rows, columns = rows[pick], columns[pick]
    x, y = columns - columns.mean(), rows - rows.mean()

    def score(angle: float, bin_px: float) -> float:
        c, s = np.cos(np.radians(angle)), np.sin(np.radians(angle))
        place = (y * c + x * s) / bin_px
        counts = np.bincount((place - place.min()).astype(int))
        return float((counts.astype(float) ** 4).sum())

    coarse = np.arange(-_WIDEST_DEG, _WIDEST_DEG + 0.01, 0.5)
    scores = np.array([score(angle, 3.0) for angle in coarse])
    best = float(coarse[int(np.argmax(scores))])
    spread = float(np.median(abs(scores - np.median(scores)))) + 1e-9
    if scores.max() < np.median(scores) + _SPREADS * spread or scores.max() < 1.6 * np.median(scores):
        return Lines(0.0, found=False)
    for step, bin_px in ((0.1, 1.5), (0.02, 1.0)):
        near = best + step * np.arange(-6, 7)
        best = float(near[int(np.argmax([score(angle, bin_px) for angle in near]))])
    # strokes that lean alike make a direction too: a line goes all the way across
    counts, _ = _projected(_thin(dark, most), best)
    long = ndimage.uniform_filter1d(counts, 3) * 3 > _COVERED * dark.shape[1]
    return Lines(best, found=True) if long.any() else Lines(0.0, found=False)


def _thin(mask: Any, most: int) -> Any:
    """Return what of a mask is no taller than ``most`` pixels where it stands."""
    from scipy import ndimage

    size = most + 1 | 1
    tall = ndimage.minimum_filter1d(mask.view(np.uint8), size, axis=0, mode="constant")
    tall = ndimage.maximum_filter1d(tall, size, axis=0, mode="constant")
    return mask & (tall == 0)


def line_places(dark: Any, turn_deg: float, thick_px: float) -> Any:
    """Return where the lines of a whole picture are, in its pixels down from its top, as if it lay level."""
    from scipy import ndimage

    counts, _ = _projected(_thin(dark, max(2, round(_THIN * thick_px))), turn_deg)
    high = counts > _COVERED * dark.shape[1]
    labels, count = ndimage.label(ndimage.binary_closing(high, iterations=1))
    if not count:
        return np.zeros(0)
    places = ndimage.center_of_mass(counts, labels, np.arange(1, count + 1))
    # a place is where the line passes the middle column; level, it is as far from the turned one's origin
    middle = (dark.shape[1] - 1) / 2
    turn = np.radians(turn_deg)
    return np.array([place[0] for place in places]) * np.cos(turn) + middle * np.sin(turn)


def without_lines(dark: Any, depth: float, stroke_px: float, turn_deg: float) -> tuple[Any, Any]:
    """Return darkness (rows, columns) as if no lines ran through it, and where they were (a mask).

    Only lines about as dark as ink matter; paler ones are below half its depth anyway. Between a place above a line
    and one below it darkness is taken to change evenly, so that strokes run on; next to ink the picture stays as it is.
    """
    from scipy import ndimage

    mask = dark > depth / 2
    thin = _thin(mask, max(2, round(_THIN * stroke_px)))
    band = np.zeros(dark.shape, dtype=bool)
    if thin.sum() < 0.2 * dark.shape[1]:
        return dark, band
    best = max((_projected(thin, turn_deg + more) for more in (-2.0, -1.0, -0.5, 0.0, 0.5, 1.0, 2.0)),
               key=lambda each: float((each[0] ** 2).sum()))  # fmt: skip
    counts, shift = best
    high = counts > _COVERED * dark.shape[1]
    labels, count = ndimage.label(ndimage.binary_closing(high, iterations=1))
    if not count:
        return dark, band
    rows = np.arange(dark.shape[0])
    made = dark.copy()
    for number in range(1, count + 1):
        own = np.flatnonzero(labels == number)
        middle = float((counts[own] * own).sum() / counts[own].sum())
        half = (own[-1] - own[0]) / 2 + 1.5
        if 2 * half > max(4.0, 0.8 * stroke_px):
            continue
        centre = middle + shift  # where the line is in each column
        above, below = centre - half, centre + half
        columns = np.arange(dark.shape[1])
        values = [
            ndimage.map_coordinates(dark, [np.clip(side, 0, len(rows) - 1), columns], order=1)
            for side in (above, below)
        ]
        for offset in range(-int(np.ceil(half)), int(np.ceil(half)) + 1):
            row = np.round(centre).astype(int) + offset
            inside = (row >= 0) & (row < len(rows)) & (abs(row - centre) <= half)
            share = np.clip((row - above) / (2 * half), 0, 1)
            between = values[0] * (1 - share) + values[1] * share
            r, c = row[inside], columns[inside]
            made[r, c] = np.minimum(made[r, c], between[inside])
            band[r, c] = True
    near = ndimage.distance_transform_edt(made <= depth / 2) <= _NEAR * stroke_px
    return np.where(band & near, dark, made), band


def _projected(thin: Any, turn_deg: float) -> tuple[Any, Any]:
    """Return how much of each row is thin when columns are shifted so that lines lie level, and the shift."""
    rows, columns = np.nonzero(thin)
    shift = -np.tan(np.radians(turn_deg)) * (np.arange(thin.shape[1]) - (thin.shape[1] - 1) / 2)
    place = np.round(rows - shift[columns]).astype(int)
    inside = (place >= 0) & (place < thin.shape[0])
    return np.bincount(place[inside], minlength=thin.shape[0]).astype(float), shift
