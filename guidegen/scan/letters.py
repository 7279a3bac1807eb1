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
from guidegen.scan.camera import PageMap, in_mm
from guidegen.scan.cells import DEEPEST, CellPicture, InkColours, brightness_table, darkness_of, paper_plane
from guidegen.scan.pictures import brightness_of
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
STROKE_SAMPLES = 16.0
"""Pixels are averaged until a downstroke has no more than twice so many of them."""
_STEP = 0.8
"""Of a row of samples to the next, in such averages; no closer than so many to a downstroke."""
_MOST_SAMPLES = 22.0
_KNOTS = 9
_ROUGH_AIR = 4.0
"""Pixels that the air round a letter has where the letter is only looked for."""
_LEAST_INK = 60
"""Samples: less is a speck."""
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
    edge: tuple[complex, ...] = ()
    """The downstroke's left edge where it runs its way."""

    @property
    def ratio(self) -> float:
        """Return the white over the downstroke."""
        return self.counter_mm / self.downstroke_mm


@dataclass(frozen=True, slots=True)
class LetterRows:
    """A letter sampled with the slant upright: rows along it from the top, columns across it, a step in mm.

    ``corner`` is where the first sample lies (mm, y down), ``down`` and ``right`` lead to the next row and column.
    """

    dark: Any
    step: float
    corner: complex
    down: complex
    right: complex

    def at(self, row: Any, column: Any) -> Any:
        """Return where a row and a column, with decimals, lie in mm."""
        return self.corner + row * self.down + column * self.right

    def reach_down(self, mask: Any) -> tuple[float, float]:
        """Return how far up and down a mask reaches, in mm down the page, from edge to edge of its samples."""
        rows, columns = np.nonzero(mask)
        heights = self.at(rows, columns).imag
        return float(heights.min()) - self.step / 2, float(heights.max()) + self.step / 2


def rows_axes(slant_deg: float) -> tuple[complex, complex]:
    """Return the way down the slant and the way across it to the right, where y runs down."""
    down = complex(-np.exp(-1j * np.radians(slant_deg)))
    return down, -1j * down


def measure_letter(
    picture: CellPicture, page: PageMap, colours: InkColours, slant_deg: float, number: int, stroke_mm: float
) -> WrittenLetter:
    """Return what was written in a cell, measured across the slant of the hand (degrees from the baseline).

    ``stroke_mm``, about a downstroke, tells how closely to look.
    """
    stride = stride_for(stroke_mm / picture.px_mm)
    part = _inked_part(picture, colours, 0.6 * stroke_mm)
    rows = _sampled(_pooled_darkness(part, colours, stride), stride, part, page, slant_deg, stroke_mm)
    deep = float(np.quantile(rows.dark, DEEPEST))
    if deep < 0.12:
        return WrittenLetter(number, "pale" if deep > 0.06 else "empty")
    own, touches = _main_ink(rows, deep / 2, picture)
    if own is None:
        return WrittenLetter(number, "empty")
    if touches:
        return WrittenLetter(number, "leaves its box")
    depth = ink_depth(rows.dark[own])
    mask = _near(own) & (rows.dark > depth / 2)
    first = _downstroke(rows, _first_stretches(mask), depth)
    if first is None:
        return WrittenLetter(number, "no downstroke")
    head, foot = rows.reach_down(mask)
    plain = WrittenLetter(
        number, downstroke_mm=first.across, downstroke=first.ends, height_mm=foot - head,
        slant_deg=slant_deg + first.lean_deg, error_mm=0.06 * picture.px_mm,
    )  # fmt: skip
    bowl, gap_closed = _bowl(mask, rows, first.across)
    if bowl is None:
        return replace(plain, fault="open" if is_open(mask, rows.step, first.across) else "closed")
    return _with_bowl(plain, rows, mask, depth, bowl, slant_deg, gap_closed=gap_closed)


@dataclass(frozen=True, slots=True)
class SeenBowl:
    """White in a word or letter of any sheet, and where it lies between the letter's foot and head, 0..1.

    ``bottom`` and ``top`` are heights of the white's lower and upper end; ``foot`` the letter's foot in mm, y down,
    ``tall`` its height. ``mask`` is the ink and ``bowl`` the white in the rows of the letter, ``gap`` what was closed
    beside it (None for nothing).
    """

    bottom: float
    top: float
    foot: float
    tall: float
    mask: Any
    bowl: Any
    gap: Any


def find_bowl(
    rows: LetterRows, lines: Any, half: int, seed: tuple[int, int], depth: float, stroke_mm: float
) -> SeenBowl | None:
    """Return the white at ``seed`` (row, column), wherever its letter stands; None where there is no such white.

    ``rows`` are without guide lines, which ran where the mask ``lines`` is (None for none), half as thick as ``half``
    samples; ``depth`` is that of the ink, ``stroke_mm`` about a downstroke.
    """
    mask = rows.dark > depth / 2
    for gap_closed in (False, True):
        ink = closed(mask, GAP_SHARE * stroke_mm / rows.step / 2) if gap_closed else mask
        labels, _ = holes(ink)
        own = labels[seed] or _label_near(labels, seed, max(2, round(0.1 * stroke_mm / rows.step)))
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
    if lines is not None and lines.any():
        # a letter that reaches a line stands on it, or hangs from it, to the line's middle
        outside = body & ~lines
        body = outside | _half_into(outside, lines, half) if outside.any() else body
    head, foot = rows.reach_down(body)
    upper, lower = rows.reach_down(bowl)
    tall = foot - head
    gap = _near(bowl) & ink & ~mask if gap_closed else None
    return SeenBowl((foot - lower) / tall, (foot - upper) / tall, foot, tall, mask, bowl, gap)


def measure_bowl(
    rows: LetterRows, seen: SeenBowl, slant_deg: float, number: int, depth: float, px_mm: float
) -> WrittenLetter:
    """Return the letter round a white, measured; ``px_mm`` is the side of the picture's own pixels."""
    plain = WrittenLetter(number, "no downstroke", height_mm=seen.tall, error_mm=0.06 * px_mm)
    return _with_bowl(plain, rows, seen.mask, depth, seen.bowl, slant_deg, gap_closed=seen.gap is not None)


def _half_into(body: Any, band: Any, half: int) -> Any:
    """Return the half of a line that lies next to what touches it: as many samples deep as half the line."""
    from scipy import ndimage

    touching = ndimage.binary_dilation(body) & band
    if not touching.any():
        return touching
    return touching if half < 2 else ndimage.binary_dilation(touching, iterations=half - 1, mask=band)


def _with_bowl(
    plain: WrittenLetter, rows: LetterRows, mask: Any, depth: float, bowl: Any, slant_deg: float, *, gap_closed: bool
) -> WrittenLetter:
    """Return a letter with its white and with the downstroke at the left of it."""
    down = _downstroke(rows, _stretches_beside(mask, bowl), depth)
    if down is None:
        return replace(plain, fault="no downstroke")
    found = replace(plain, fault="", downstroke_mm=down.across, downstroke=down.ends,
                    slant_deg=slant_deg + down.lean_deg, edge=tuple(rows.at(*down.edge).tolist()))  # fmt: skip
    white = _white(rows, bowl, depth, down.across)
    if white is None or white[0] < _LEAST_PX * plain.error_mm / 0.06:
        return replace(found, fault="closed" if white is None else "too small to read")
    return replace(found, counter_mm=white[0], counter=white[1], gap_closed=gap_closed)


def _label_near(labels: Any, at: Any, reach: int) -> int:
    """Return the label most frequent near a place, 0 for none."""
    part = labels[max(0, at[0] - reach) : at[0] + reach + 1, max(0, at[1] - reach) : at[1] + reach + 1]
    counts = np.bincount(part[part > 0].ravel())
    return int(np.argmax(counts)) if len(counts) else 0


def stride_for(stroke_px: float) -> int:
    """Return how many pixels to average along each side where a downstroke is so many pixels wide."""
    return max(1, int(stroke_px / STROKE_SAMPLES))


def pooled(values: Any, stride: int) -> Any:
    """Return values (rows, columns) averaged in squares of ``stride``; what is left over at the ends is dropped."""
    if stride == 1:
        return values
    high, wide = (side // stride for side in values.shape)
    squares = values[: high * stride, : wide * stride].reshape(high, stride, wide, stride)
    return squares.mean(axis=1).mean(axis=2)


def _pooled_darkness(part: CellPicture, colours: InkColours, stride: int) -> Any:
    """Return the darkness of a part of a cell, averaged: by a table of brightness where that shows the ink."""
    if part.rendering.is_sharpened or colours.faint:
        return pooled(darkness_of(part, colours), stride)
    grey = brightness_of(part.coded)
    level = paper_plane(grey.astype(np.float32))
    middle = level[0] + level[1] * grey.shape[1] / 2 + level[2] * grey.shape[0] / 2
    return pooled(brightness_table(colours, linear=part.rendering.linear).read(middle)[grey], stride)


def _inked_part(picture: CellPicture, colours: InkColours, air_mm: float) -> CellPicture:
    """Return the part of a cell's picture in which its letter lies, with so much air round it."""
    stride = max(1, round(air_mm / picture.px_mm / _ROUGH_AIR))
    rough = darkness_of(picture, colours, stride)
    deep = float(np.quantile(rough, DEEPEST))
    labels, _ = labelled(rough > deep / 2)
    sizes = np.bincount(labels.ravel())
    sizes[0] = 0
    rows, columns = np.nonzero(labels == int(np.argmax(sizes))) if sizes.any() else np.indices(rough.shape)
    air = int(air_mm / picture.px_mm) + 2 * stride
    top, left = max(0, int(rows.min()) * stride - air), max(0, int(columns.min()) * stride - air)
    low, right = (int(rows.max()) + 1) * stride + air, (int(columns.max()) + 1) * stride + air
    return replace(picture, coded=picture.coded[top:low, left:right], corner_px=picture.corner_px + complex(left, top))


def _sampled(
    dark: Any, stride: int, picture: CellPicture, page: PageMap, slant_deg: float, stroke_mm: float
) -> LetterRows:
    """Return darkness, averaged over squares of ``stride`` pixels, along the slant; outside the cell there is none."""
    from scipy import ndimage

    cell = picture.cell
    high, wide = dark.shape
    corners = picture.corner_px + stride * np.array([0, wide, 1j * high, wide + 1j * high]) - complex(
        page.to_px(np.array([cell.centre]))[0]
    )  # fmt: skip
    x, y = in_mm(picture.right_px, picture.down_px, corners.real, corners.imag)
    down, right = rows_axes(slant_deg)
    half_wide, half_high = cell.width_mm / 2, cell.height_mm / 2
    local = np.clip(x, -half_wide, half_wide) + 1j * np.clip(y, -half_high, half_high)
    step = max(picture.px_mm * stride * _STEP, stroke_mm / _MOST_SAMPLES)
    (low_s, count_s), (low_t, count_t) = (
        (float(along.min()) - step, int(np.ptp(along) / step) + 3)
        for along in ((local * np.conj(way)).real for way in (down, right))
    )
    first = cell.centre + down * low_s + right * low_t
    rows = LetterRows(dark, step, complex(first), down * step, right * step)
    px = (_seen_at(page, rows, count_s, count_t) - picture.corner_px - (stride - 1) / 2 * (1 + 1j)) / stride
    values = ndimage.map_coordinates(dark, [px.imag, px.real], order=1, mode="constant")
    away = rows.at(np.arange(count_s)[:, None], np.arange(count_t)[None, :]) - cell.centre
    values[(abs(away.real) >= cell.width_mm / 2) | (abs(away.imag) >= cell.height_mm / 2)] = 0.0
    return replace(rows, dark=values)


def _seen_at(page: PageMap, rows: LetterRows, high: int, wide: int) -> Any:
    """Return the pixels of every sample: of a few by the map, of those between them by what changes evenly.

    Over a box of 15 mm a photograph from the side is off by less than a twentieth of a pixel.
    """
    knots = [np.linspace(0, count - 1, _KNOTS) for count in (high, wide)]
    few = page.to_px(np.asarray(rows.at(knots[0][:, None], knots[1][None, :])))
    shares = [
        np.maximum(0, 1 - abs(np.arange(count)[:, None] - knot[None, :]) / (knot[1] - knot[0]))
        for count, knot in zip((high, wide), knots, strict=True)
    ]
    return shares[0] @ few @ shares[1].T


def _main_ink(rows: LetterRows, level: float, picture: CellPicture) -> tuple[Any | None, bool]:
    """Return the letter's ink, and whether it reaches its box's edge; short guide lines at the sides do not count."""
    labels, count = labelled(rows.dark > level)
    if not count:
        return None, False
    sizes = np.bincount(labels.ravel())
    sizes[0] = 0
    main = int(np.argmax(sizes))
    own = labels == main
    if sizes[main] < _LEAST_INK:
        return None, False
    local = rows.at(*np.nonzero(own)) - picture.cell.centre
    limit_x, limit_y = picture.cell.width_mm / 2 - 0.15, picture.cell.height_mm / 2 - 0.15
    return own, bool((abs(local.real) > limit_x).any() or (abs(local.imag) > limit_y).any())


def _near(own: Any) -> Any:
    from scipy import ndimage

    return ndimage.binary_dilation(own, iterations=3)


def ink_depth(values: Any) -> float:
    """Return the ink's own depth: what the darker half of it has."""
    return float(np.median(values[values >= np.median(values)]))


def _smoothed(rows: LetterRows, width: float) -> Any:
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
    """A downstroke's width (mm) with the ends of that chord in the block, and how it leans against the slant.

    ``edge`` is its left edge where it runs its way: rows, and columns with decimals.
    """

    across: float
    ends: tuple[complex, complex]
    lean_deg: float
    edge: tuple[Any, Any]


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
    runs = _runs(mask)
    middle = tall[len(tall) // 2]
    seed = _run_at(runs[middle], start[middle])
    if seed is None:
        return _Stretches(first, last, plain)
    for way in (range(middle, count), range(middle - 1, -1, -1)):
        near, wide = seed, seed[1] - seed[0] + 1
        for row in way:
            own = _run_at(runs[row], start[row]) if row in start else _run_over(runs[row], near)
            if own is None:
                break
            # where another stroke joins it is wider at once, and stays so until that one has left
            if own[1] - own[0] + 1 <= max(wide * _AT_ONCE, wide + 2):
                near, wide = own, own[1] - own[0] + 1
                first[row], last[row], plain[row] = *own, True
    return _Stretches(first, last, plain)


_Run = tuple[int, int]
"""The first and last column of a stretch of ink."""


def _runs(mask: Any) -> list[list[_Run]]:
    """Return the stretches of ink of each row, from the left."""
    steps = np.diff(np.pad(mask, ((0, 0), (1, 1))).astype(np.int8), axis=1)
    rows, firsts = np.nonzero(steps == 1)
    _, ends = np.nonzero(steps == -1)
    made: list[list[_Run]] = [[] for _ in mask]
    for row, first, end in zip(rows.tolist(), firsts.tolist(), ends.tolist(), strict=True):
        made[row].append((first, end - 1))
    return made


def _run_at(runs: list[_Run], column: int) -> _Run | None:
    """Return the ink that ends at a column or just before it."""
    near = [(first, min(last, column)) for first, last in runs if first <= column and last > column - 4]
    return near[-1] if near else None


def _run_over(runs: list[_Run], known: _Run) -> _Run | None:
    """Return the stretch of ink that has most in common with another row's."""
    shared = [(min(last, known[1]) - max(first, known[0]), (first, last)) for first, last in runs]
    most = max(shared, key=lambda each: each[0], default=(-1, known))
    return most[1] if most[0] >= 0 else None


def _downstroke(rows: LetterRows, stretches: _Stretches, depth: float) -> _Downstroke | None:
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
    ends = tuple(complex(rows.at(place, side[place])) for side in (left, right))
    # lean is counted from the slant axis towards the right with the rows, which run down
    edge = np.flatnonzero(stretch), left[stretch]
    return _Downstroke(float(width[place]), (ends[0], ends[1]), float(np.median(lean[stretch])), edge)


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


def _bowl(mask: Any, rows: LetterRows, stroke: float) -> tuple[Any | None, bool]:
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


def _white(rows: LetterRows, bowl: Any, depth: float, stroke: float) -> tuple[float, tuple[complex, complex]] | None:
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
    whole = bowl[tall].sum(axis=1) == last - first + 1
    # where a gap was closed a row has no ink at its end, and says nothing
    ends_in_ink = [
        rows.dark[tall, np.clip(column, 0, bowl.shape[1] - 1)] > depth / 2 for column in (first - 2, last + 2)
    ]
    whole &= ends_in_ink[0] & ends_in_ink[1]
    widths = np.where(whole, (right - left) * rows.step, 0.0)
    if not whole.any():
        return None
    place = int(np.argmax(widths))
    ends = tuple(complex(rows.at(int(tall[place]), side[place])) for side in (left, right))
    return float(widths[place]), (ends[0], ends[1])
