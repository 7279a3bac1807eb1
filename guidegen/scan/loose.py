"""Letters on any sheet: on guide lines, on ruled paper, on plain paper, alone or in words.

Every ``e`` that can be told from other letters is measured: white that ink encloses, in the upper part of its letter
and clear of its foot, a downstroke at its left, and as tall as the others. Loops of tall letters have the same shape
and twice the height; ``a``, ``o``, ``d``, ``g`` reach down to the baseline.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any, TypeVar

import numpy as np

from guidegen.scan.camera import FlatMap
from guidegen.scan.cells import BrightnessTable, brightness_table, paper_plane
from guidegen.scan.ink import InkWindow, Writing, find_writing
from guidegen.scan.ink_edges import edge_shift_px
from guidegen.scan.letters import (
    GAP_SHARE,
    LetterFault,
    LetterRows,
    WrittenLetter,
    find_bowl,
    ink_depth,
    is_open,
    measure_bowl,
    pooled,
    rows_axes,
    stride_for,
)
from guidegen.scan.pictures import Photograph, turned_values
from guidegen.scan.regions import closed, closed_roughly, holes, labelled
from guidegen.scan.ruling import SeenLine, direction, line_places, lines_in, without_lines

_ROUGH_STROKE_PX = 10.0
"""Letters are looked for in a picture reduced until a downstroke has no more than twice so many pixels."""
MOST_LETTERS = 29
"""Letters judged, spread over the page: two rows and a half of the report. More would move no verdict."""
_SPARE = 6
"""So many more are measured, for some are of another kind."""
_MOST_WHITES = 180
_LEAST_EDGE = 5
_LOWEST, _HIGHEST = 0.2, 0.72
"""The white of an e ends at least so high above its foot, and reaches so high at least, in its height."""
_LEAST_SHARE = 0.13
"""And takes at least so much of its height."""
_ALIKE = 1.3
"""Letters of one height and one stroke differ by less than this."""
_LEAST_AREA = 0.03
"""White of fewer strokes squared is a fleck."""
_BESIDE_LINE = 0.25
"""In strokes."""
_LEAST_SPECK, _LEAST_WHITE = 4, 9
"""And white of fewer pixels, in the reduced picture and where it is measured."""
_THICK = 0.85
"""A letter without white has a place as thick as the page's thick strokes; small print beside them has not."""
_LEAST_LINES = 8
"""With fewer seen (a photograph from the side shows them badly) nobody knows where they begin."""
_ROUND = (1.9, 0.6, 1.6, 1.5, 2.6)
"""What is looked at round a white: strokes at its left, its right, above, below, and there so many of its heights."""

_T = TypeVar("_T")


@dataclass(frozen=True, slots=True)
class LooseLetter:
    """A letter, the middle of what was looked at round it (mm of the map), and where it stands."""

    letter: WrittenLetter
    centre_mm: complex
    foot_mm: float


@dataclass(frozen=True, slots=True)
class LooseLetters:
    """The letters of a sheet in a map of its own: as if a downstroke were ``stroke_mm``, for the scale is told later.

    ``others`` are faults of single letters without white: open ones and filled ones. ``from_below`` counts white that
    would be an e's if the sheet were turned round.
    """

    letters: tuple[LooseLetter, ...]
    others: tuple[LooseLetter, ...]
    page: FlatMap
    writing: Writing
    turn_deg: float
    rows_mm: Any
    """Where guide lines or ruled lines are, down the map."""
    from_below: int

    @property
    def told(self) -> tuple[LooseLetter, ...]:
        """Return the letters there is something to say of: those measured, else those without white."""
        return self.letters or self.others

    @property
    def usual_height_mm(self) -> float:
        """Return the median height of those letters."""
        return float(np.median([one.letter.height_mm for one in self.told]))

    @property
    def strokes_mm(self) -> list[float]:
        """Return the downstrokes of the letters that were measured."""
        return [one.letter.downstroke_mm for one in self.letters if one.letter.downstroke_mm]


@dataclass(frozen=True, slots=True)
class _Sheet:
    """A sheet: its brightness, the map of the page, the hand's slant and the marker's downstroke, in mm and pixels."""

    grey: Any
    page: FlatMap
    slant_deg: float
    stroke_mm: float
    stroke_px: float
    linear: bool
    table: BrightnessTable
    rows_mm: Any


@dataclass(frozen=True, slots=True)
class _Seen:
    """A window of the reduced picture: its corner there, by how much it is reduced, the ink's mask without lines.

    ``lines`` are in pixels of the picture itself; ``level`` is the coded paper: at the window's corner, and what it
    grows by with each of its columns and rows.
    """

    corner: complex
    factor: int
    mask: Any
    lines: tuple[SeenLine, ...]
    level: tuple[float, float, float]

    def places(self, rows: Any, columns: Any) -> Any:
        """Return where pixels of the window lie: pixels of the picture, its upper left corner at 0."""
        return (columns + 0.5 + 1j * (rows + 0.5) + self.corner) * self.factor

    def paper_at(self, place: complex) -> float:
        """Return the coded paper at a place of the picture."""
        z = place / self.factor - self.corner
        return self.level[0] + self.level[1] * z.real + self.level[2] * z.imag


def find_letters(picture: Photograph, slant_deg: float, stroke_mm: float) -> LooseLetters | None:
    """Return the letters of a sheet, measured across the slant; None where nothing is written.

    They are looked for in a reduced picture; its own pixels are read only round each white that may be an e's.

    Args:
        picture: the sheet, upright.
        slant_deg: the hand's, from the baseline.
        stroke_mm: the marker's downstroke, which the page's usual thick stroke is taken for in the map.
    """
    writing = find_writing(picture.image, linear=picture.linear)
    if writing is None:
        return None
    lines = direction(writing.dark, writing.stroke_px / writing.factor)
    right = np.exp(-1j * np.radians(lines.turn_deg)) * writing.stroke_px / stroke_mm
    page = FlatMap(complex(right), complex(1j * right), 0j)
    rows_mm = line_places(writing.dark, lines) if lines.found else ()
    rows_mm = np.asarray(rows_mm) * writing.factor / abs(page.a)
    grey = picture.image.convert("L") if writing.channel is None else picture.image.getchannel(writing.channel)
    table = brightness_table(writing.colours, linear=picture.linear)
    sheet = _Sheet(grey, page, slant_deg, stroke_mm, writing.stroke_px, picture.linear, table, rows_mm)
    factor = max(1, int(writing.stroke_px / _ROUGH_STROKE_PX))
    small = np.asarray(grey.reduce(factor) if factor > 1 else grey)
    seen = [_seen(small, factor, window, sheet, lines.turn_deg) for window in writing.windows]
    known = [one for one in seen if one is not None]
    measured, from_below = _measured(known, sheet)
    found = _unsharpened(measured, sheet)
    others = () if found else _without_white(known, sheet)
    return LooseLetters(tuple(found), tuple(others), page, writing, lines.turn_deg, rows_mm, from_below)


def _seen(small: Any, factor: int, window: InkWindow, sheet: _Sheet, turn_deg: float) -> _Seen | None:
    """Return a window of the reduced brightness ``small`` with its ink told from lines."""
    from scipy import ndimage

    left, top = window.left // factor, window.top // factor
    coded = small[top : window.bottom // factor, left : window.right // factor]
    if min(coded.shape) < 12:
        return None
    stroke = sheet.stroke_px / factor
    level = paper_plane(coded.astype(np.float32))
    rows, columns = np.arange(coded.shape[0])[:, None], np.arange(coded.shape[1])[None, :]
    paper = (level[0] + level[1] * columns + level[2] * rows).astype(np.float32)
    dark = 1 - (coded / np.maximum(paper, 1.0)) ** np.float32(1.0 if sheet.linear else 2.2)
    rough = (dark > 0.5 * float(np.quantile(dark[::2, ::2], 0.9995))).view(np.uint8)
    for axis in (0, 1):
        rough = ndimage.minimum_filter1d(rough, max(2, round(0.5 * stroke)), axis=axis, mode="constant")
    if not rough.any():
        return None
    depth = float(np.median(dark[rough > 0]))
    lines = lines_in(dark, depth, stroke, turn_deg)
    dark, _ = without_lines(dark, depth, stroke, lines)
    whole = tuple(line.seen_from(-left, -top, 1 / factor) for line in lines)
    return _Seen(complex(left, top), factor, dark > depth / 2, whole, level)


@dataclass(frozen=True, slots=True)
class _White:
    """White that ink encloses: its pixels' places in the picture, and the place deepest inside."""

    places: Any
    middle: complex


def _measured(seen: Sequence[_Seen], sheet: _Sheet) -> tuple[list[LooseLetter], int]:
    """Return the letters that are an e, all of one kind; where there are lines, those from the first to the last.

    With them how many of their height are one with the sheet turned round.
    """
    places: list[tuple[_Seen, _White]] = []
    known: list[complex] = []  # windows may overlap
    for window in seen:
        for white in _whites(window, sheet.stroke_px):
            if all(abs(white.middle - other) > 0.25 * sheet.stroke_px for other in known):
                places.append((window, white))
                known.append(white.middle)
    places = _spread(places, _MOST_WHITES)
    found = []
    turned = []
    for window, white in places:
        rows, lines, half, depth = _rows_round(white, window, sheet)
        seed = _in_rows(rows, (white.middle - 0.5 - 0.5j) / sheet.page.a)
        bowl = find_bowl(rows, lines, half, seed, depth, sheet.stroke_mm)
        if bowl is None or bowl.top - bowl.bottom < _LEAST_SHARE or bowl.bowl.sum() < _LEAST_WHITE:
            continue
        if bowl.gap is not None and _on_a_line(rows, bowl.gap, sheet):
            continue  # a pale line in a gap makes it look small
        if bowl.bottom >= _LOWEST and bowl.top >= _HIGHEST:
            found.append((rows, bowl, depth))
        elif bowl.top <= 1 - _LOWEST and bowl.bottom <= 1 - _HIGHEST:
            turned.append(bowl.tall)
    made = []
    for number, (rows, bowl, depth) in enumerate(_spread(found, MOST_LETTERS + _SPARE)):
        letter = measure_bowl(rows, bowl, sheet.slant_deg, number, depth, 1 / abs(sheet.page.a))
        if not letter.fault:
            middle = rows.at(rows.dark.shape[0] / 2, rows.dark.shape[1] / 2)
            made.append(LooseLetter(letter, complex(middle), bowl.foot))
    if len(sheet.rows_mm) > _LEAST_LINES:  # above them stands what is printed at the head of a sheet
        first, last = sheet.rows_mm[0], sheet.rows_mm[-1]
        made = [each for each in made if first < each.foot_mm < last + each.letter.height_mm]
    kept = _of_one_kind(made)
    usual = float(np.median([one.letter.height_mm for one in kept])) if kept else min(turned, default=0.0) * _ALIKE**0.5
    from_below = sum(usual / _ALIKE < tall < usual * _ALIKE for tall in turned)
    return _spread(kept, MOST_LETTERS), from_below


def _unsharpened(found: list[LooseLetter], sheet: _Sheet) -> list[LooseLetter]:
    """Return letters as wide as they were before the picture was sharpened."""
    edges = [np.array(one.letter.edge) * sheet.page.a for one in found if len(one.letter.edge) >= _LEAST_EDGE]
    if not edges:
        return found
    shift = 2 * edge_shift_px(sheet.grey, edges, sheet.table, linear=sheet.linear) / abs(sheet.page.a)
    made = []
    for one in found:
        white, stroke = one.letter.counter_mm - shift, one.letter.downstroke_mm + shift
        made.append(replace(one, letter=replace(one.letter, counter_mm=white, downstroke_mm=stroke)))
    return made


def _spread(every: list[_T], most: int) -> list[_T]:
    """Return all, or ``most`` of them spread evenly."""
    return every if len(every) <= most else [every[n] for n in np.linspace(0, len(every) - 1, most).astype(int)]


def _on_a_line(rows: LetterRows, gap: Any, sheet: _Sheet) -> bool:
    """Tell whether a line of the sheet runs through or beside a gap of a bowl."""
    if not len(sheet.rows_mm):
        return False
    top, low = rows.reach_down(gap)
    near = _BESIDE_LINE * sheet.stroke_mm
    return bool(((sheet.rows_mm > top - near) & (sheet.rows_mm < low + near)).any())


def _in_rows(rows: LetterRows, place: complex) -> tuple[int, int]:
    """Return the row and the column of a place of the map."""
    away = place - rows.corner
    row, column = ((away * np.conj(way)).real / abs(way) ** 2 for way in (rows.down, rows.right))
    high, wide = rows.dark.shape
    return int(np.clip(round(row), 0, high - 1)), int(np.clip(round(column), 0, wide - 1))


def _rows_round(white: _White, window: _Seen, sheet: _Sheet) -> tuple[LetterRows, Any, int, float]:
    """Return the picture's own darkness round a white along the slant, where lines were, half of one, the ink's depth.

    Lines are a mask, None where there are none; half their thickness is in samples.
    """
    down, right = (way * sheet.page.a / abs(sheet.page.a) for way in rows_axes(sheet.slant_deg))
    v, u = ((white.places * np.conj(way)).real for way in (down, right))
    at_left, at_right, above, below, heights = _ROUND
    stroke = sheet.stroke_px
    u0, u1 = float(u.min()) - at_left * stroke, float(u.max()) + at_right * stroke
    v0, v1 = float(v.min()) - above * stroke, float(v.max()) + below * stroke + heights * float(np.ptp(v))
    stride = stride_for(stroke)
    size = max(4, round((u1 - u0) / stride)), max(4, round((v1 - v0) / stride))
    corner = u0 * right + v0 * down
    across, along = size[0] * stride * right, size[1] * stride * down
    ends = np.array([corner, corner + across, corner + along, corner + across + along])
    left, top = (max(0, int(side.min()) - stride) for side in (ends.real, ends.imag))
    far = min(sheet.grey.size[0], int(ends.real.max()) + stride)
    low = min(sheet.grey.size[1], int(ends.imag.max()) + stride)
    coded = np.asarray(sheet.grey.crop((left, top, max(far, left + 2 * stride), max(low, top + 2 * stride))))
    dark = pooled(sheet.table.read(window.paper_at(white.middle))[coded], stride)
    depth = ink_depth(dark[dark > 0.5 * float(dark[::2, ::2].max())])
    lines = [line.seen_from(left, top, stride) for line in window.lines]
    dark, band = without_lines(dark, depth, stroke / stride, lines)
    start = (corner - complex(left, top)) / stride
    turn = (right.real, down.real, start.real, right.imag, down.imag, start.imag)
    a = sheet.page.a
    first = (corner + (right + down) * stride / 2 - 0.5 - 0.5j) / a
    rows = LetterRows(
        turned_values(dark, size, turn, smooth=True),
        stride / abs(a),
        complex(first),
        complex(down * stride / a),
        complex(right * stride / a),
    )
    lined = None if band is None else turned_values(band.view(np.uint8), size, turn, smooth=False) > 0
    return rows, lined, max((round(line.half) for line in lines), default=0), depth


def _whites(window: _Seen, stroke_px: float) -> list[_White]:
    """Return the white that ink encloses, or would if small gaps were closed."""
    stroke = stroke_px / window.factor
    made = []
    known = np.zeros(window.mask.shape, dtype=bool)
    for ink in (window.mask, closed_roughly(window.mask, GAP_SHARE * stroke / 2)):
        for box, own in _enclosed(ink, stroke):
            if not known[box][own].any():
                rows, columns = np.nonzero(own)
                inner = _middle(own)
                top, left = box[0].start, box[1].start
                middle = window.places(top + inner[0], left + inner[1])
                made.append(_White(window.places(top + rows, left + columns), complex(middle)))
                known[box] |= own
    return made


def _enclosed(ink: Any, stroke: float) -> list[tuple[tuple[slice, slice], Any]]:
    """Return the boxes and masks of white of a letter's size that ink encloses."""
    from scipy import ndimage

    labels, count = holes(ink)
    sizes = np.bincount(labels.ravel(), minlength=count + 1)
    made = []
    for number, box in enumerate(ndimage.find_objects(labels), start=1):
        high, wide = box[0].stop - box[0].start, box[1].stop - box[1].start
        if sizes[number] >= max(_LEAST_SPECK, _LEAST_AREA * stroke**2) and max(high, wide) <= 12 * stroke:
            made.append((box, labels[box] == number))
    return made


def _middle(own: Any) -> tuple[int, int]:
    """Return the pixel deepest inside a mask."""
    from scipy import ndimage

    inner = ndimage.distance_transform_edt(np.pad(own, 1))[1:-1, 1:-1]
    row, column = np.unravel_index(int(np.argmax(inner)), inner.shape)
    return int(row), int(column)


def _of_one_kind(made: list[LooseLetter]) -> list[LooseLetter]:
    """Return the letters of the page's one x-height and one stroke: of two heights the lower one.

    Small print has thinner strokes, loops of tall letters are twice as high.
    """
    if not made:
        return []
    strokes = np.array([one.letter.downstroke_mm for one in made])
    usual = float(np.quantile(strokes, 0.75))
    kept = [one for one, own in zip(made, strokes, strict=True) if usual / 1.6 < own < 1.6 * usual]
    heights = np.array([one.letter.height_mm for one in kept])
    counts = [int(((heights > h / _ALIKE) & (heights < h * _ALIKE)).sum()) for h in heights]
    enough = [h for h, count in zip(heights, counts, strict=True) if count >= 0.25 * max(counts)]
    low = min(enough)
    near = heights[(heights > low / _ALIKE) & (heights < low * _ALIKE**1.5)]
    middle = float(np.median(near))
    return [one for one, h in zip(kept, heights, strict=True) if middle / _ALIKE < h < middle * _ALIKE]


def _without_white(seen: Sequence[_Seen], sheet: _Sheet) -> list[LooseLetter]:
    """Return the single letters of a sheet on which no e with white was found: each open or closed."""
    from scipy import ndimage

    made: list[LooseLetter] = []
    for window in seen:
        stroke, px_mm = sheet.stroke_px / window.factor, window.factor / abs(sheet.page.a)
        labels, _ = labelled(window.mask)
        for number, box in enumerate(ndimage.find_objects(labels), start=1):
            high, wide = box[0].stop - box[0].start, box[1].stop - box[1].start
            if high < 1.2 * stroke or wide < 0.8 * stroke or max(high, wide) > 12 * stroke:
                continue
            own = labels[box] == number
            if 2 * float(ndimage.distance_transform_edt(np.pad(own, 1)).max()) < _THICK * stroke:
                continue
            if any(_enclosed(ink, stroke) for ink in (own, closed(own, GAP_SHARE * stroke / 2))):
                continue  # it has white, and is no e for another reason
            middle = window.places((box[0].start + box[0].stop - 1) / 2, (box[1].start + box[1].stop - 1) / 2)
            centre = (middle - 0.5 - 0.5j) / sheet.page.a
            foot = centre.imag + high * px_mm / 2
            if len(sheet.rows_mm) > _LEAST_LINES and not (sheet.rows_mm[0] < foot < sheet.rows_mm[-1] + high * px_mm):
                continue
            upright = _sheared(own, sheet.slant_deg)
            fault: LetterFault = "open" if is_open(upright, px_mm, sheet.stroke_mm) else "closed"
            letter = WrittenLetter(len(made), fault, height_mm=high * px_mm)
            made.append(LooseLetter(letter, complex(centre), float(foot)))
    return _spread(made, MOST_LETTERS)


def _sheared(mask: Any, slant_deg: float) -> Any:
    """Return a mask with the slant upright."""
    from scipy import ndimage

    lean = 1 / np.tan(np.radians(slant_deg))
    high, wide = mask.shape
    out = (high, wide + int(np.ceil(abs(lean) * high)) + 2)
    shift = lean * high if lean < 0 else 0.0
    made = ndimage.affine_transform(
        mask.astype(np.float32), [[1, 0], [-lean, 1]], offset=(0, shift), output_shape=out, order=1
    )
    return made > 0.5
