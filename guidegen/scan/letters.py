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
from guidegen.scan.regions import closed, holes, labelled

LetterFault = Literal["", "empty", "pale", "leaves its box", "closed", "open", "no downstroke", "too small to read"]
GAP_SHARE = 1 / 3
"""A gap up to this share of a stroke is taken for closed."""
_RAYS = 24
_OPEN_RAYS = 0.7
"""White from which so many of the ways out meet the letter is a bowl with a gap."""
_ROOF_DEG = 20.0
_OPEN_ABOVE = 0.56
"""It lies higher than this share of the letter: what lies lower is the opening that every e has."""
_OPEN_SIZE = 0.06
"""And is so large at least, in strokes squared."""
_LEAST_COUNTER = 0.004
"""A bowl has at least this share of the letter's box: less is a fleck of white in a dry stroke."""
_BRANCH = 0.8
"""A stroke that meets the downstroke is taken off it where it is narrower, along the slant, than this times the usual
width of a row."""
_STRAY_DEG = ((10.0, 20.0), (15.0, 30.0), (30.0, 45.0))
"""How far a downstroke's middle and its edges may lean from its usual way; more where it is never so straight."""
_LEAST_WAY = 0.4
_AT_ONCE = 1.12
"""A stroke does not grow by more from one row to the next; another one joins it there."""
_LEAST_RUN = 0.3
"""A downstroke runs its way for so many strokes at a time at least."""
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


def measure_letter(
    picture: CellPicture, page: PageMap, colours: InkColours, slant_deg: float, number: int
) -> WrittenLetter:
    """Return what was written in a cell, measured across the slant of the hand (degrees from the baseline)."""
    rows = _sampled(darkness_of(picture, colours), picture, page, slant_deg)
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
    first = _downstroke(rows, _first_stretches(mask), depth)
    if first is None:
        return WrittenLetter(number, "no downstroke")
    heights = rows.place[mask].imag
    plain = WrittenLetter(
        number, downstroke_mm=first.across, downstroke=first.ends, height_mm=float(np.ptp(heights)),
        slant_deg=slant_deg + first.lean_deg, error_mm=0.06 * picture.px_mm,
    )  # fmt: skip
    bowl, gap_closed = _bowl(mask, rows, first.across)
    if bowl is None:
        return replace(plain, fault="open" if is_open(mask, rows.step, first.across) else "closed")
    return _with_bowl(plain, rows, mask, depth, bowl, slant_deg, gap_closed=gap_closed)


@dataclass(frozen=True, slots=True)
class SeenBowl:
    """White in a word or letter of any sheet: its letter, and where it lies between the letter's foot and head, 0..1.

    ``bottom`` and ``top`` are heights of the white's lower and upper end; ``row`` the letter's foot in mm, y down.
    """

    letter: WrittenLetter
    bottom: float
    top: float
    foot: float


def measure_bowl(
    dark: Any, lines: Any, picture: CellPicture, page: PageMap, slant_deg: float, number: int, seed: complex,
    depth: float, stroke_mm: float,
) -> SeenBowl | None:  # fmt: skip
    """Return the letter round the white at ``seed`` (mm), wherever it stands; None where there is no such white.

    ``dark`` is the cell's darkness without the guide lines of the mask ``lines``, ``depth`` that of the ink,
    ``stroke_mm`` about a downstroke.
    """
    rows = _sampled(dark, picture, page, slant_deg)
    mask = rows.dark > depth / 2
    at = np.unravel_index(int(np.argmin(abs(rows.place - seed))), rows.place.shape)
    for gap_closed in (False, True):
        ink = closed(mask, GAP_SHARE * stroke_mm / rows.step / 2) if gap_closed else mask
        labels, _ = holes(ink)
        own = labels[at] or _label_near(labels, at, max(2, round(0.1 * stroke_mm / rows.step)))
        if own:
            break
    else:
        return None
    bowl = labels == own
    columns = np.flatnonzero(bowl.any(axis=0))
    air = round(1.15 * stroke_mm / rows.step)
    strip = mask.copy()
    strip[:, : max(0, columns[0] - air)] = strip[:, columns[-1] + air // 4 :] = False
    parts, _ = labelled(strip)
    touching = np.unique(parts[_near(bowl) & strip])
    body = np.isin(parts, touching[touching > 0])
    if not body.any():
        return None
    if lines.any():  # a letter that reaches a line stands on it, or hangs from it, to the line's middle
        band = _sampled(lines.astype(np.float32), picture, page, slant_deg).dark > 0.5
        outside = body & ~band
        body = outside | _half_into(outside, band, round(0.3 * stroke_mm / rows.step)) if outside.any() else body
    heights, white = rows.place[body].imag, rows.place[bowl].imag
    foot, tall = float(heights.max()), float(np.ptp(heights))
    plain = WrittenLetter(number, "no downstroke", height_mm=tall, error_mm=0.06 * picture.px_mm)
    letter = _with_bowl(plain, rows, mask, depth, bowl, slant_deg, gap_closed=gap_closed)
    return SeenBowl(letter, (foot - float(white.max())) / tall, (foot - float(white.min())) / tall, foot)


def _half_into(body: Any, band: Any, most: int) -> Any:
    """Return the half of a line that lies next to what touches it: as deep as half the line, no more than ``most``."""
    from scipy import ndimage

    touching = ndimage.binary_dilation(body, iterations=2) & band
    if not touching.any():
        return touching
    half = float(ndimage.distance_transform_edt(np.pad(band, 1)).max())
    return ndimage.binary_dilation(touching, iterations=max(1, min(most, round(half)))) & band


def _with_bowl(
    plain: WrittenLetter, rows: _Rows, mask: Any, depth: float, bowl: Any, slant_deg: float, *, gap_closed: bool
) -> WrittenLetter:
    """Return a letter with its white and with the downstroke at the left of it."""
    down = _downstroke(rows, _stretches_beside(mask, bowl), depth)
    if down is None:
        return replace(plain, fault="no downstroke")
    found = replace(plain, fault="", downstroke_mm=down.across, downstroke=down.ends,
                    slant_deg=slant_deg + down.lean_deg)  # fmt: skip
    white = _white(rows, bowl, depth, down.across)
    if white is None or white[0] < _LEAST_PX * plain.error_mm / 0.06:
        return replace(found, fault="closed" if white is None else "too small to read")
    return replace(found, counter_mm=white[0], counter=white[1], gap_closed=gap_closed)


def _label_near(labels: Any, at: Any, reach: int) -> int:
    """Return the label most frequent near a place, 0 for none."""
    part = labels[max(0, at[0] - reach) : at[0] + reach + 1, max(0, at[1] - reach) : at[1] + reach + 1]
    counts = np.bincount(part[part > 0].ravel())
    return int(np.argmax(counts)) if len(counts) else 0


def _sampled(dark: Any, picture: CellPicture, page: PageMap, slant_deg: float) -> _Rows:
    from scipy import ndimage

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
    labels, count = labelled(ink)
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


@dataclass(frozen=True, slots=True)
class _Stretches:
    """A stretch of ink in each row: its first and last column, and which rows have one that is this stroke alone."""

    first: Any
    last: Any
    inked: Any


@dataclass(frozen=True, slots=True)
class _Downstroke:
    """A downstroke's width (mm) with the ends of that chord in the block, and how it leans against the slant."""

    across: float
    ends: tuple[complex, complex]
    lean_deg: float


def _first_stretches(mask: Any) -> _Stretches:
    """Return the first stretch of ink from the left in each row."""
    first = np.argmax(mask, axis=1)
    beyond = ~mask & (np.arange(mask.shape[1])[None, :] > first[:, None])
    last = np.where(beyond.any(axis=1), np.argmax(beyond, axis=1) - 1, first)
    return _Stretches(first, last, mask.any(axis=1))


def _stretches_beside(mask: Any, bowl: Any) -> _Stretches:
    """Return in each row the ink that bounds the bowl at its left, and what runs on from that above and below it."""
    count = len(mask)
    first, last, plain = np.zeros(count, dtype=int), np.zeros(count, dtype=int), np.zeros(count, dtype=bool)
    tall = np.flatnonzero(bowl.any(axis=1)).tolist()
    start = dict(zip(tall, (np.argmax(bowl[tall], axis=1) - 1).tolist(), strict=True))
    middle = tall[len(tall) // 2]
    seed = _run_at(mask[middle], start[middle])
    if seed is None:
        return _Stretches(first, last, plain)
    for way in (range(middle, count), range(middle - 1, -1, -1)):
        near, wide = seed, seed[1] - seed[0] + 1
        for row in way:
            own = _run_at(mask[row], start[row]) if row in start else _run_over(mask[row], near)
            if own is None:
                break
            # where another stroke joins it is wider at once, and stays so until that one has left
            if own[1] - own[0] + 1 <= max(wide * _AT_ONCE, wide + 2):
                near, wide = own, own[1] - own[0] + 1
                first[row], last[row], plain[row] = *own, True
    return _Stretches(first, last, plain)


def _run_at(row: Any, column: int) -> tuple[int, int] | None:
    """Return the first and last column of the ink that ends at a column or just before it."""
    for end in range(column, max(-1, column - 4), -1):
        if row[end]:
            white = np.flatnonzero(~row[: end + 1])
            return (int(white[-1]) + 1 if len(white) else 0), end
    return None


def _run_over(row: Any, known: tuple[int, int]) -> tuple[int, int] | None:
    """Return the stretch of ink that has most in common with another row's."""
    part = row[known[0] : known[1] + 1]
    if not part.any():
        return None
    edges = np.flatnonzero(np.diff(np.concatenate(([False], part, [False])).astype(np.int8)))
    runs = edges.reshape(-1, 2)
    a, b = runs[int(np.argmax(runs[:, 1] - runs[:, 0]))]
    a, b = int(a) + known[0], int(b) - 1 + known[0]
    white = np.flatnonzero(~row[: a + 1])
    after = np.flatnonzero(~row[b:])
    return (int(white[-1]) + 1 if len(white) else 0), (b + int(after[0]) - 1 if len(after) else len(row) - 1)


def _downstroke(rows: _Rows, stretches: _Stretches, depth: float) -> _Downstroke | None:
    """Return the widest row of a stroke where it runs along the slant, and how it leans."""
    from scipy import ndimage

    first, last, inked = stretches.first, stretches.last, stretches.inked
    if inked.sum() < 10:
        return None
    usual = float(np.median((last - first)[inked])) * rows.step
    dark = _smoothed(rows, 0.5 * usual)
    numbers = np.arange(len(inked))
    own = np.flatnonzero(inked)
    left = np.interp(numbers, own, _crossing(dark, own, first[own], -1, depth / 2))
    right = np.interp(numbers, own, _crossing(dark, own, last[own], 1, depth / 2))
    # where a thin stroke meets this one it bulges for a moment: what sticks out for less than this is not its edge
    branch = max(3, round(_BRANCH * usual / rows.step))
    left, right = ndimage.grey_closing(left, branch), ndimage.grey_opening(right, branch)
    width = (right - left) * rows.step
    # how the stroke's middle leans, over a third of a stroke's length
    window = max(3, round(0.3 * usual / rows.step)) | 1
    middle = ndimage.uniform_filter1d((left + right) / 2, window)
    lean = np.degrees(np.arctan(np.gradient(middle)))
    # both edges, too: where the stroke runs into a turn only one of them follows the slant
    edges = [np.degrees(np.arctan(np.gradient(ndimage.uniform_filter1d(side, window)))) for side in (left, right)]
    inner = ndimage.binary_erosion(inked, iterations=max(1, window // 2))
    steep = inner & (abs(lean) <= WITHIN_DEG)
    if not steep.any():
        return None
    # a stroke that leans out of its own way is in a turn, where a cut across the slant runs along it
    way = float(np.median(lean[steep]))
    for stray_deg, edge_deg in _STRAY_DEG:
        runs = steep & (abs(lean - way) <= stray_deg)
        for edge in edges:
            runs &= abs(edge - way) <= edge_deg
        # a few such rows alone are a bend that happens to run this way
        labels, _ = ndimage.label(runs)
        sizes = np.bincount(labels.ravel()) * rows.step
        sizes[0] = 0.0
        if sizes.max() >= _LEAST_WAY * usual:
            break
    else:
        return None
    stretch = (sizes >= _LEAST_RUN * usual)[labels]
    place = int(np.argmax(np.where(stretch, width, 0.0)))
    ends = tuple(_at(rows, place, side[place]) for side in (left, right))
    # lean is counted from the slant axis towards the right with the rows, which run down
    return _Downstroke(float(width[place]), (ends[0], ends[1]), float(np.median(lean[stretch])))


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


def _bowl(mask: Any, rows: _Rows, stroke: float) -> tuple[Any | None, bool]:
    """Return the letter's bowl, the highest white of some size, and whether a gap had to be closed for it."""
    least = max(_LEAST_COUNTER * _box_of(mask), 9)
    for gap_closed in (False, True):
        ink = closed(mask, max(1.0, GAP_SHARE * stroke / rows.step / 2)) if gap_closed else mask
        labels, count = holes(ink)
        sizes = np.bincount(labels.ravel(), minlength=count + 1)
        large = [n for n in range(1, count + 1) if sizes[n] >= least]
        if large:
            tops = {n: np.nonzero(labels == n)[0].mean() for n in large}
            return labels == min(large, key=lambda n: tops[n]), gap_closed
    return None, False


def _box_of(mask: Any) -> float:
    rows, columns = np.flatnonzero(mask.any(axis=1)), np.flatnonzero(mask.any(axis=0))
    return float(np.ptp(rows) + 1) * float(np.ptp(columns) + 1)


def is_open(mask: Any, step: float, stroke: float) -> bool:
    """Tell whether a letter without a bowl has one that is open, rather than none for it is filled.

    In the upper part of the letter there is then white from which most ways out meet the letter, and no way round it
    is closed. ``mask`` is the letter's ink in rows along the slant; a sample (``step``) and its downstroke are in mm.
    """
    from scipy import ndimage

    rows, columns = np.flatnonzero(mask.any(axis=1)), np.flatnonzero(mask.any(axis=0))
    factor = max(1, round(0.08 * stroke / step))  # a dozen samples to a stroke will do
    part = mask[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1]
    part = np.pad(part[::factor, ::factor], 2)
    white = ~ndimage.binary_fill_holes(part)
    met = np.zeros(part.shape, dtype=np.int16)
    roofed = np.ones(part.shape, dtype=bool)  # an arch above it: beside a filled bowl there is none
    for angle in 2 * np.pi * (np.arange(_RAYS) + 0.5) / _RAYS:
        seen = _seen_from(part, complex(np.cos(angle), np.sin(angle)))
        met += seen
        if np.sin(angle) < -np.cos(np.radians(_ROOF_DEG)):
            roofed &= seen
    inner = white & roofed & (met >= _OPEN_RAYS * _RAYS)
    inner[round(len(part) * (1 - _OPEN_ABOVE)) :] = False
    labels, count = ndimage.label(inner)
    sizes = np.bincount(labels.ravel(), minlength=count + 1)[1:]
    least = _OPEN_SIZE * (stroke / step / factor) ** 2
    return bool((sizes >= max(least, 4)).any())


def _seen_from(ink: Any, way: complex) -> Any:
    """Return which samples meet ink when going that way."""
    high, wide = ink.shape
    met = np.zeros(ink.shape, dtype=bool)
    for distance in range(1, high + wide):
        x, y = round(way.real * distance), round(way.imag * distance)
        if abs(x) >= wide or abs(y) >= high:
            break
        met[max(0, -y) : high - max(0, y), max(0, -x) : wide - max(0, x)] |= ink[
            max(0, y) : high + min(0, y), max(0, x) : wide + min(0, x)
        ]
    return met


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
