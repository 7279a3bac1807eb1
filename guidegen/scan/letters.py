"""One written ``e``: the white inside it across the slant, its full downstroke, its height and the slant it has.

The letter is sampled with the slant axis upright, one row of samples across the slant after the other. In a row the
white is what lies between two edges at half the ink's depth, inside the bowl; the downstroke is the first stretch of
ink from the left, where it runs within 30 degrees of the slant, as sizing has it. Both are the widest such row, rows
averaged over a quarter of a stroke so that a ragged edge does not count.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any, Literal

import numpy as np

from guidegen.geometry.shape.downstroke import WITHIN_DEG
from guidegen.scan.camera import PageMap
from guidegen.scan.cells import DEEPEST, CellPicture, InkColours, darkness_of

LetterFault = Literal["", "empty", "pale", "leaves its box", "closed", "open", "no downstroke", "too small to read"]
_GAP_SHARE = 1 / 3
"""A gap up to this share of a stroke is taken for closed."""
_OPEN_SHARE = 1.6
"""One up to this is told as an open bowl, a wider one as none."""
_LEAST_COUNTER = 0.004
"""A bowl has at least this share of the letter's box: less is a fleck of white in a dry stroke."""
_BRANCH = 0.8
"""A stroke that meets the downstroke is taken off it where it is narrower, along the slant, than this times the usual
width of a row."""
_LEAST_PX = 3.0
"""Of a white that is measured: below, an edge's blur is no smaller than the white."""


@dataclass(frozen=True, slots=True)
class WrittenLetter:
    """A letter. Chords are pairs of ends in the block (mm, y down); lengths are mm of the block."""

    cell: int
    fault: LetterFault = ""
    counter_mm: float = 0.0
    downstroke_mm: float = 0.0
    height_mm: float = 0.0
    slant_deg: float = 90.0
    counter: tuple[complex, complex] = (0j, 0j)
    downstroke: tuple[complex, complex] = (0j, 0j)
    gap_closed: bool = False
    error_mm: float = 0.0
    """Standard error of either width."""

    @property
    def ratio(self) -> float:
        """Return the white over the downstroke."""
        return self.counter_mm / self.downstroke_mm


@dataclass(frozen=True, slots=True)
class _Rows:
    """A letter sampled with the slant upright: rows along it from the top, columns across it, a step in mm."""

    dark: Any
    step: float
    place: Any
    """Of each sample in the block."""


def measure_letter(  # noqa: PLR0911  # one return for each thing that may be wrong
    picture: CellPicture, page: PageMap, colours: InkColours, slant_deg: float, number: int
) -> WrittenLetter:
    """Return what was written in a cell, measured across the slant of the hand (degrees from the baseline)."""
    rows = _sampled(picture, page, colours, slant_deg)
    deep = float(np.quantile(rows.dark, DEEPEST))
    if deep < 0.12:
        return WrittenLetter(number, "pale" if deep > 0.06 else "empty")
    own, touches = _main_ink(rows.dark > deep / 2, rows.place, picture)
    if own is None:
        return WrittenLetter(number, "empty")
    if touches:
        return WrittenLetter(number, "leaves its box")
    depth = _ink_depth(rows.dark[own])
    mask = _near(own) & (rows.dark > depth / 2)
    down = _downstroke(rows, mask, depth)
    if down is None:
        return WrittenLetter(number, "no downstroke")
    across, ends, slant = down
    heights = rows.place[mask].imag
    plain = WrittenLetter(
        number, downstroke_mm=across, downstroke=ends, height_mm=float(np.ptp(heights)), slant_deg=slant_deg + slant,
        error_mm=0.06 * picture.px_mm,
    )  # fmt: skip
    bowl, closed = _bowl(mask, rows, across)
    if bowl is None:
        return _faulty(plain, "open" if _may_be_open(mask, rows, across) else "closed")
    found = _white(rows, bowl, depth, across)
    if found is None or found[0] < _LEAST_PX * picture.px_mm:
        return _faulty(plain, "closed" if found is None else "too small to read")
    return replace(plain, counter_mm=found[0], counter=found[1], gap_closed=closed)


def _faulty(letter: WrittenLetter, fault: LetterFault) -> WrittenLetter:
    return replace(letter, fault=fault)


def _sampled(picture: CellPicture, page: PageMap, colours: InkColours, slant_deg: float) -> _Rows:
    from scipy import ndimage

    dark = darkness_of(picture, colours)
    cell = picture.cell
    step = picture.px_mm * 0.6
    along = -np.exp(-1j * np.radians(slant_deg))  # down the slant, where y runs down
    right = -1j * along
    reach = abs(complex(cell.width_mm, cell.height_mm)) / 2
    s = np.arange(-reach, reach + step, step)
    place = cell.centre + along * s[:, None] + right * s[None, :]
    px = page.to_px(place) - picture.corner_px
    values = ndimage.map_coordinates(dark, [px.imag, px.real], order=1, mode="constant")
    local = place - cell.centre
    inside = (abs(local.real) < cell.width_mm / 2) & (abs(local.imag) < cell.height_mm / 2)
    values = np.where(inside, values, 0.0)
    return _Rows(values, step, place)


def _main_ink(ink: Any, place: Any, picture: CellPicture) -> tuple[Any | None, bool]:
    """Return the letter's ink, and whether it reaches its box's edge; short guide lines at the sides do not count."""
    from scipy import ndimage

    labels, count = ndimage.label(ink, structure=np.ones((3, 3), dtype=int))
    if not count:
        return None, False
    sizes = np.bincount(labels.ravel())
    sizes[0] = 0
    main = int(np.argmax(sizes))
    own = labels == main
    if sizes[main] < 60:
        return None, False
    local = place[own] - picture.cell.centre
    limit_x, limit_y = picture.cell.width_mm / 2 - 0.15, picture.cell.height_mm / 2 - 0.15
    return own, bool((abs(local.real) > limit_x).any() or (abs(local.imag) > limit_y).any())


def _near(own: Any) -> Any:
    from scipy import ndimage

    return ndimage.binary_dilation(own, iterations=3)


def _ink_depth(values: Any) -> float:
    """Return the ink's own depth: what the darker half of it has."""
    return float(np.median(values[values >= np.median(values)]))


def _smoothed(rows: _Rows, width: float) -> Any:
    from scipy import ndimage

    return ndimage.uniform_filter1d(rows.dark, max(1, round(0.25 * width / rows.step)), axis=0)


def _downstroke(rows: _Rows, mask: Any, depth: float) -> tuple[float, tuple[complex, complex], float] | None:
    """Return the widest row of the first stretch of ink from the left that runs along the slant, and how it leans."""
    from scipy import ndimage

    inked = mask.any(axis=1)
    if inked.sum() < 10:
        return None
    first = np.argmax(mask, axis=1)
    beyond = ~mask & (np.arange(mask.shape[1])[None, :] > first[:, None])
    last = np.where(beyond.any(axis=1), np.argmax(beyond, axis=1) - 1, first)
    usual = float(np.median((last - first)[inked])) * rows.step
    dark = _smoothed(rows, 0.5 * usual)
    numbers = np.arange(len(mask))
    left = _crossing(dark, numbers, first, -1, depth / 2)
    right = _crossing(dark, numbers, last, 1, depth / 2)
    # where a thin stroke meets this one it bulges for a moment: what sticks out for less than this is not its edge
    branch = max(3, round(_BRANCH * usual / rows.step))
    left, right = ndimage.grey_closing(left, branch), ndimage.grey_opening(right, branch)
    width = (right - left) * rows.step
    # how the stroke's middle leans, over half a stroke's length
    window = max(3, round(0.5 * usual / rows.step)) | 1
    middle = ndimage.uniform_filter1d((left + right) / 2, window)
    lean = np.degrees(np.arctan(np.gradient(middle)))
    # both edges, too: where the stroke runs into a turn only one of them follows the slant
    edges = [np.degrees(np.arctan(np.gradient(ndimage.uniform_filter1d(side, window)))) for side in (left, right)]
    inner = ndimage.binary_erosion(inked, iterations=max(1, window // 2))
    runs = inner & (abs(lean) <= WITHIN_DEG) & (abs(edges[0]) <= 1.5 * WITHIN_DEG) & (abs(edges[1]) <= 1.5 * WITHIN_DEG)
    # the longest stretch of such rows is the downstroke
    labels, count = ndimage.label(runs)
    if not count:
        return None
    sizes = np.bincount(labels)
    sizes[0] = 0
    stretch = labels == int(np.argmax(sizes))
    if stretch.sum() * rows.step < 0.4 * usual:
        return None
    place = int(np.argmax(np.where(stretch, width, 0.0)))
    ends = tuple(_at(rows, place, side[place]) for side in (left, right))
    # lean is counted from the slant axis towards the right with the rows, which run down
    return float(width[place]), (ends[0], ends[1]), float(np.median(lean[stretch]))


def _crossing(dark: Any, rows: Any, inner: Any, step: int, level: float) -> Any:
    """Return where each row passes ``level`` between its last pixel of ink and the next, as a column with decimals."""
    columns = np.clip(inner, 1, dark.shape[1] - 2)
    made = columns.astype(float)
    # smoothing may have moved the edge by a sample or two
    for shift in (2, 1, 0, -1, -2):
        a = np.clip(columns + step * shift, 0, dark.shape[1] - 1)
        b = np.clip(a + step, 0, dark.shape[1] - 1)
        here, there = dark[rows, a], dark[rows, b]
        passes = (here >= level) & (there < level)
        share = (here - level) / np.maximum(here - there, 1e-9)
        made = np.where(passes, a + step * share, made)
    return made


def _at(rows: _Rows, row: int, column: float) -> complex:
    """Return the block's place of a row and a column with decimals."""
    low = int(np.clip(np.floor(column), 0, rows.place.shape[1] - 2))
    share = column - low
    return complex(rows.place[row, low] * (1 - share) + rows.place[row, low + 1] * share)


def _holes(ink: Any) -> tuple[Any, int]:
    """Return the white that ink encloses, labelled."""
    from scipy import ndimage

    labels, count = ndimage.label(ndimage.binary_fill_holes(ink) & ~ink)
    return labels, int(count)


def _bowl(mask: Any, rows: _Rows, stroke: float) -> tuple[Any | None, bool]:
    """Return the letter's bowl, the highest white of some size, and whether a gap had to be closed for it."""
    from scipy import ndimage

    for closed in (False, True):
        ink = mask
        if closed:
            reach = max(1, round(_GAP_SHARE * stroke / rows.step / 2))
            grid = np.mgrid[-reach : reach + 1, -reach : reach + 1]
            ink = ndimage.binary_closing(mask, structure=(grid**2).sum(axis=0) <= reach * reach)
        labels, count = _holes(ink)
        least = max(_LEAST_COUNTER * _box_of(mask), 9)
        sizes = np.bincount(labels.ravel(), minlength=count + 1)
        large = [n for n in range(1, count + 1) if sizes[n] >= least]
        if large:
            tops = {n: np.nonzero(labels == n)[0].mean() for n in large}
            return labels == min(large, key=lambda n: tops[n]), closed
    return None, False


def _box_of(mask: Any) -> float:
    rows, columns = np.flatnonzero(mask.any(axis=1)), np.flatnonzero(mask.any(axis=0))
    return float(np.ptp(rows) + 1) * float(np.ptp(columns) + 1)


def _may_be_open(mask: Any, rows: _Rows, stroke: float) -> bool:
    """Tell whether a much wider gap closed would make a bowl."""
    from scipy import ndimage

    reach = max(1, round(_OPEN_SHARE * stroke / rows.step / 2))
    distance = ndimage.distance_transform_edt(~mask)
    grown = distance <= reach
    shrunk = ndimage.distance_transform_edt(grown) > reach
    labels, count = _holes(shrunk | mask)
    sizes = np.bincount(labels.ravel(), minlength=count + 1)[1:]
    return bool((sizes >= max(_LEAST_COUNTER * _box_of(mask), 9)).any())


def _white(rows: _Rows, bowl: Any, depth: float, stroke: float) -> tuple[float, tuple[complex, complex]] | None:
    """Return the bowl's longest chord across the slant, between edges at half depth, and its ends."""
    tall = np.flatnonzero(bowl.any(axis=1))
    if len(tall) < 3:
        return None
    dark = _smoothed(rows, min(stroke, 0.5 * len(tall) * rows.step))
    first = np.argmax(bowl[tall], axis=1)
    last = bowl.shape[1] - 1 - np.argmax(bowl[tall][:, ::-1], axis=1)
    light = -dark
    left = _crossing(light, tall, first, -1, -depth / 2)
    right = _crossing(light, tall, last, 1, -depth / 2)
    # a row that the bowl leaves and enters again has its longer part only
    whole = np.array([bowl[row, a : b + 1].all() for row, a, b in zip(tall, first, last, strict=True)])
    # where a gap was closed a row has no ink at its end, and says nothing
    ends_in_ink = [
        rows.dark[tall, np.clip(column, 0, bowl.shape[1] - 1)] > depth / 2 for column in (first - 2, last + 2)
    ]
    whole &= ends_in_ink[0] & ends_in_ink[1]
    widths = np.where(whole, (right - left) * rows.step, 0.0)
    if not whole.any():
        return None
    place = int(np.argmax(widths))
    ends = tuple(_at(rows, int(tall[place]), side[place]) for side in (left, right))
    return float(widths[place]), (ends[0], ends[1])
