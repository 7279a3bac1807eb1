"""A stroke found in its cell: coarsely, on a picture made smaller, and then as the picture's own rows across it.

Nothing is interpolated: a row of the picture (a column, for strokes that lie flat) cuts the stroke at a slant, and its
pixels are kept as they are. ``stroke_widths`` measures the rows.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

import numpy as np

from guidegen.scan.camera import PageMap, in_mm
from guidegen.scan.cells import DEEPEST, INSET_MM, CellPicture, InkColours, coarse_darkness
from guidegen.scan.light import LUMA
from guidegen.scan.regions import labelled

Fault = Literal[
    "", "empty", "pale", "leaves its box", "several strokes", "too short", "far off", "light changes across it"
]
PALE = 0.12
LEAST_RUN_MM = 1.5
_SHADED, _SHADE = 0.2, 0.8
"""What fills more than this share of a cell and is mostly paler than this share of its ink is a shadow."""
AIR_MM, _AIR_PX = 0.5, 8.0
"""So much paper is looked at on either side of a stroke."""


@dataclass(frozen=True, slots=True)
class StrokePixels:
    """The pixels of the picture across a stroke.

    ``coded``: rows, columns and channels (one where a file keeps colour coarsely: brightness). ``start_px``: the place
    in the picture of each row's first pixel; ``step_px``: from pixel to pixel, 1 along rows of the picture or 1j.
    ``slope``: the length across the stroke of a step. ``row_mm``: from row to row along the stroke. ``along``: its
    direction in the block.
    """

    coded: Any
    start_px: Any
    step_px: complex
    slope: float
    row_mm: float
    px_mm: float
    along: complex
    middle: complex
    """A place in the block on the stroke, mm."""
    line: Any
    """About where the stroke's middle lies in each row, in pixels from its first; smooth in the picture."""


def find_stroke(  # noqa: PLR0911  # one return for each thing that may be wrong
    picture: CellPicture, page: PageMap, colours: InkColours
) -> tuple[StrokePixels | None, Fault]:
    """Return the pixels across the stroke in a cell, or why there is none."""
    from scipy import ndimage

    dark, factor = coarse_darkness(picture, colours)
    if factor == 1 and picture.px_mm < 0.05 and min(dark.shape) > 3 * 3:
        dark = ndimage.uniform_filter(dark, 3)
    columns, rows = ((np.arange(count) + 0.5) * factor - 0.5 for count in dark.shape[::-1])
    origin = complex(page.to_px(np.array([picture.cell.centre]))[0]) - picture.corner_px
    # a plane map is near enough to tell where in the cell a pixel lies
    x, y = in_mm(picture.right_px, picture.down_px, columns[None, :] - origin.real, rows[:, None] - origin.imag)
    cell = picture.cell
    wide, high = cell.width_mm / 2, cell.height_mm / 2
    in_cell = (abs(x) < wide - 0.1) & (abs(y) < high - 0.1)
    deep = float(np.quantile(dark[in_cell], DEEPEST))
    if deep < PALE:
        return None, "pale" if deep > 0.06 else "empty"
    labels, count = labelled((dark > 0.45 * deep) & in_cell)
    if not count:
        return None, "empty"
    sizes = np.bincount(labels.ravel())
    sizes[0] = 0
    main = int(np.argmax(sizes))
    # specks and what a dry tip leaves beside its stroke do not count as strokes of their own
    own = labels == main
    z = x[own] + 1j * y[own]
    if len(z) < 12:
        return None, "empty"
    if ((abs(z.real) > wide - INSET_MM) | (abs(z.imag) > high - INSET_MM)).any():
        shaded = own.sum() > _SHADED * in_cell.sum() and np.median(dark[own]) < _SHADE * deep
        return None, "light changes across it" if shaded else "leaves its box"
    middle = complex(z.mean())
    along = _axis(z - middle)
    s, t = ((z - middle) * np.conj(along)).real, ((z - middle) * np.conj(along)).imag
    rest = np.sort(sizes)[::-1]
    if rest[1] > 0.25 * rest[0]:
        apart = (labels > 0) & ~own
        others = (x[apart] + 1j * y[apart] - middle) * np.conj(along)
        if np.quantile(abs(others.imag), 0.5) > 1.5 * np.ptp(t) / 2:
            return None, "several strokes"
    if float(np.ptp(s)) < 2 * LEAST_RUN_MM:
        return None, "too short"
    places = np.nonzero(own)
    return _rows_across(picture, columns[places[1]] + 1j * rows[places[0]], dark[own], middle, along, factor), ""


def _axis(z: Any) -> complex:
    """Return the long axis of points, as a unit vector that runs down the page."""
    xx, yy, xy = (z.real**2).mean(), (z.imag**2).mean(), (z.real * z.imag).mean()
    axis = complex(np.exp(0.5j * np.arctan2(2 * xy, xx - yy)))
    return axis if axis.imag >= 0 else -axis


def _rows_across(picture: CellPicture, z: Any, dark: Any, middle: complex, along: complex, factor: int) -> StrokePixels:
    """Return the picture's rows (columns, where the stroke lies flat) across a stroke; ``z``: its coarse pixels."""
    ahead = along.real * picture.right_px + along.imag * picture.down_px
    upright = abs(ahead.imag) >= abs(ahead.real)
    coded = picture.coded if upright else picture.coded.swapaxes(0, 1)
    down, across = (z.imag, z.real) if upright else (z.real, z.imag)
    slope = (abs(ahead.imag) if upright else abs(ahead.real)) / abs(ahead)
    number = np.rint((down - down.min()) / factor).astype(int)
    weight = np.bincount(number, dark)
    held = weight > 0.3 * np.quantile(weight[weight > 0], 0.8)
    centre = np.bincount(number, dark * across)[held] / weight[held]
    reach = np.bincount(number, minlength=len(weight))[held] * factor / 2
    place = np.flatnonzero(held) * factor + down.min()
    first, last = max(0, int(down.min()) - 3), min(coded.shape[0], int(down.max()) + 4)
    line = np.polynomial.Polynomial.fit(place, centre, min(4, max(1, len(place) // 20)))
    rows = np.arange(first, last)
    at = line(np.clip(rows, place[0], place[-1]))
    bulge = float(np.quantile(abs(line(place) - centre), 0.95))
    air = max(AIR_MM / picture.px_mm, _AIR_PX) / slope
    half = int(np.ceil(float(np.quantile(reach, 0.98)) + bulge + air)) + factor
    start = np.rint(at).astype(int) - half
    columns = np.clip(start[:, None] + np.arange(2 * half + 1)[None, :], 0, coded.shape[1] - 1)
    cut = coded[rows[:, None], columns]
    how = picture.rendering
    values = (cut.astype(np.float32) @ LUMA)[..., None] if how.coarse_colour and not how.linear else cut
    start_px = (start + 1j * rows if upright else rows + 1j * start) + picture.corner_px
    px_mm = 1 / abs(ahead)
    return StrokePixels(
        values, start_px, 1.0 if upright else 1.0j, float(slope), float(px_mm / slope), picture.px_mm, along,
        picture.cell.centre + middle, at - start,
    )  # fmt: skip
