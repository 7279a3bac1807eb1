"""Letters on any sheet: on guide lines, on ruled paper, on plain paper, alone or in words.

Every ``e`` that can be told from other letters is measured: white that ink encloses, in the upper part of its letter
and clear of its foot, a downstroke at its left, and as tall as the others. Loops of tall letters have the same shape
and twice the height; ``a``, ``o``, ``d``, ``g`` reach down to the baseline.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from guidegen.scan.camera import FlatMap
from guidegen.scan.cells import CellPicture, colours_of, darkness_of
from guidegen.scan.ink import InkWindow, Writing, find_writing
from guidegen.scan.letters import GAP_SHARE, LetterFault, SeenBowl, WrittenLetter, is_open, measure_bowl
from guidegen.scan.light import Rendering
from guidegen.scan.pictures import Photograph
from guidegen.scan.regions import closed, holes, labelled
from guidegen.scan.ruling import direction, line_places, without_lines
from guidegen.sheets.parts.swatch_block import SwatchCell

FINE_STROKE_PX = 40.0
"""Pictures are reduced until a downstroke has no more than twice so many pixels."""
MOST_LETTERS = 60
_LOWEST, _HIGHEST = 0.2, 0.72
"""The white of an e ends at least so high above its foot, and reaches so high at least, in its height."""
_LEAST_SHARE = 0.13
"""And takes at least so much of its height."""
_ALIKE = 1.3
"""Letters of one height and one stroke differ by less than this."""
_LEAST_AREA = 0.03
"""White of fewer strokes squared is a fleck."""
_THICK = 0.85
"""A letter without white has a place as thick as the page's thick strokes; small print beside them has not."""
_LEAST_LINES = 8
"""With fewer seen (a photograph from the side shows them badly) nobody knows where they begin."""


@dataclass(frozen=True, slots=True)
class LooseLetter:
    """A letter with its box cut out of the picture, and where it stands."""

    letter: WrittenLetter
    cut: CellPicture
    foot_mm: float


@dataclass(frozen=True, slots=True)
class LooseLetters:
    """The letters of a sheet in a map of its own: as if a downstroke were ``stroke_mm``, for the scale is told later.

    ``others`` are faults of single letters without white: open ones and filled ones.
    """

    letters: tuple[LooseLetter, ...]
    others: tuple[LooseLetter, ...]
    page: FlatMap
    image: Any
    reduced: int
    writing: Writing
    turn_deg: float
    rows_mm: Any
    """Where guide lines or ruled lines are, down the map."""

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
class _Seen:
    """A window: its picture, darkness without lines, the ink's depth and mask, and where lines were."""

    cut: CellPicture
    dark: Any
    depth: float
    mask: Any
    lines: Any


def find_letters(picture: Photograph, slant_deg: float, stroke_mm: float) -> LooseLetters | None:
    """Return the letters of a sheet, measured across the slant; None where nothing is written.

    Args:
        picture: the sheet, upright.
        slant_deg: the hand's, from the baseline.
        stroke_mm: the marker's downstroke, which the page's usual thick stroke is taken for in the map.
    """
    writing = find_writing(picture.image)
    if writing is None:
        return None
    lines = direction(writing.dark, writing.stroke_px / writing.factor)
    reduced = max(1, int(writing.stroke_px / FINE_STROKE_PX))
    image = picture.image.reduce(reduced) if reduced > 1 else picture.image
    stroke_px = writing.stroke_px / reduced
    right = np.exp(-1j * np.radians(lines.turn_deg)) * stroke_px / stroke_mm
    page = FlatMap(complex(right), complex(1j * right), 0j)
    rendering = picture.rendering if reduced == 1 else replace(picture.rendering, coarse_colour=False)
    seen = []
    for window in writing.windows:
        part = _seen(image, _smaller(window, reduced), page, rendering, stroke_px, lines.turn_deg)
        if part is not None:
            seen.append(part)
    rows_mm = line_places(writing.dark, lines.turn_deg, writing.stroke_px / writing.factor) if lines.found else ()
    rows_mm = np.asarray(rows_mm) * writing.factor / reduced / abs(page.a)
    found = _measured(seen, page, slant_deg, stroke_mm, rows_mm)
    others = () if found else _without_white(seen, page, slant_deg, stroke_mm, rows_mm)
    return LooseLetters(tuple(found), tuple(others), page, image, reduced, writing, lines.turn_deg, rows_mm)


def _smaller(window: InkWindow, factor: int) -> InkWindow:
    return InkWindow(*(side // factor for side in (window.left, window.top, window.right, window.bottom)))


def _cell(page: FlatMap, window: InkWindow) -> SwatchCell:
    """Return a window as a cell of the page: its middle, and its sides as if it lay level."""
    middle = complex(window.left + window.right - 1, window.top + window.bottom - 1) / 2
    centre = middle / page.a
    width, height = (window.right - window.left) / abs(page.a), (window.bottom - window.top) / abs(page.a)
    return SwatchCell("letter", centre.real - width / 2, centre.imag - height / 2, width, height)


def _seen(
    image: Any, window: InkWindow, page: FlatMap, rendering: Rendering, stroke_px: float, turn_deg: float
) -> _Seen | None:
    from scipy import ndimage

    coded = np.asarray(image.crop((window.left, window.top, window.right, window.bottom)))
    if min(coded.shape[:2]) < 12:
        return None
    cut = CellPicture(_cell(page, window), coded, complex(window.left, window.top), page.a, page.b, rendering)
    colours = colours_of([cut])
    if colours is None:
        return None
    dark = darkness_of(cut, colours)
    rough = dark > 0.5 * float(np.quantile(dark, 0.9995))
    thick = ndimage.distance_transform_edt(rough) > 0.25 * stroke_px
    if not thick.any():
        return None
    depth = float(np.median(dark[thick]))
    dark, lines = without_lines(dark, depth, stroke_px, turn_deg)
    return _Seen(cut, dark, depth, dark > depth / 2, lines)


def _measured(
    seen: Sequence[_Seen], page: FlatMap, slant_deg: float, stroke_mm: float, rows_mm: Any
) -> list[LooseLetter]:
    """Return the letters that are an e, all of one kind; where there are lines, those from the first to the last."""
    stroke_px = stroke_mm * abs(page.a)
    places = []
    known: list[complex] = []  # windows may overlap
    for window in seen:
        for place, seed in _whites(window.mask, stroke_px):
            at = complex(seed[1], seed[0]) + window.cut.corner_px
            if all(abs(at - other) > 0.25 * stroke_px for other in known):
                places.append((window, place, at))
                known.append(at)
    if len(places) > 3 * MOST_LETTERS:
        pick = np.linspace(0, len(places) - 1, 3 * MOST_LETTERS).astype(int)
        places = [places[n] for n in pick]
    made: list[tuple[SeenBowl, CellPicture]] = []
    for number, (window, place, at) in enumerate(places):
        high = place[0].stop - place[0].start
        side = round(1.6 * stroke_px + 0.8 * high)
        part = InkWindow(max(0, place[1].start - side), max(0, place[0].start - round(1.5 * stroke_px + 0.3 * high)),
                      min(window.mask.shape[1], place[1].stop + side),
                      min(window.mask.shape[0], place[0].stop + round(1.5 * stroke_px + 2.6 * high)))  # fmt: skip
        cut, dark = _part(window, part, page)
        lines = window.lines[part.top : part.bottom, part.left : part.right]
        bowl = measure_bowl(dark, lines, cut, page, slant_deg, number, at / page.a, window.depth, stroke_mm)
        if bowl is None or bowl.letter.fault:
            continue
        if bowl.bottom >= _LOWEST and bowl.top >= _HIGHEST and bowl.top - bowl.bottom >= _LEAST_SHARE:
            made.append((bowl, cut))
    if len(rows_mm) > _LEAST_LINES:  # above them stands what is printed at the head of a sheet
        made = [each for each in made if rows_mm[0] < each[0].foot < rows_mm[-1] + each[0].letter.height_mm]
    return [LooseLetter(bowl.letter, cut, bowl.foot) for bowl, cut in _of_one_kind(made)][:MOST_LETTERS]


def _part(window: _Seen, part: InkWindow, page: FlatMap) -> tuple[CellPicture, Any]:
    """Return a piece of a window, its darkness with it."""
    rows, columns = slice(part.top, part.bottom), slice(part.left, part.right)
    corner = window.cut.corner_px + complex(part.left, part.top)
    x, y = int(corner.real), int(corner.imag)
    whole = InkWindow(x, y, x + part.right - part.left, y + part.bottom - part.top)
    return replace(window.cut, cell=_cell(page, whole), coded=window.cut.coded[rows, columns], corner_px=corner), (
        window.dark[rows, columns]
    )


def _whites(mask: Any, stroke_px: float) -> list[tuple[tuple[slice, slice], tuple[int, int]]]:
    """Return the boxes of white that ink encloses, or would if small gaps were closed, and a place inside each."""
    from scipy import ndimage

    made = []
    known = np.zeros(mask.shape, dtype=bool)
    for ink in (mask, closed(mask, GAP_SHARE * stroke_px / 2)):
        labels, _ = holes(ink)
        boxes = ndimage.find_objects(labels)
        sizes = np.bincount(labels.ravel(), minlength=len(boxes) + 1)
        for number, box in enumerate(boxes, start=1):
            high, wide = box[0].stop - box[0].start, box[1].stop - box[1].start
            if sizes[number] < max(9, _LEAST_AREA * stroke_px**2) or max(high, wide) > 12 * stroke_px:
                continue
            own = labels[box] == number
            if known[box][own].any():
                continue
            inner = ndimage.distance_transform_edt(np.pad(own, 1))[1:-1, 1:-1]
            row, column = np.unravel_index(int(np.argmax(inner)), inner.shape)
            made.append((box, (box[0].start + int(row), box[1].start + int(column))))
            known[box] |= own
    return made


def _of_one_kind(made: list[tuple[SeenBowl, CellPicture]]) -> list[tuple[SeenBowl, CellPicture]]:
    """Return the letters of the page's one x-height and one stroke: of two heights the lower one.

    Small print has thinner strokes, loops of tall letters are twice as high.
    """
    if not made:
        return []
    strokes = np.array([bowl.letter.downstroke_mm for bowl, _ in made])
    usual = float(np.quantile(strokes, 0.75))
    kept = [each for each, own in zip(made, strokes, strict=True) if usual / 1.6 < own < 1.6 * usual]
    heights = np.array([bowl.letter.height_mm for bowl, _ in kept])
    counts = [int(((heights > h / _ALIKE) & (heights < h * _ALIKE)).sum()) for h in heights]
    enough = [h for h, count in zip(heights, counts, strict=True) if count >= 0.25 * max(counts)]
    low = min(enough)
    near = heights[(heights > low / _ALIKE) & (heights < low * _ALIKE**1.5)]
    middle = float(np.median(near))
    return [each for each, h in zip(kept, heights, strict=True) if middle / _ALIKE < h < middle * _ALIKE]


def _without_white(
    seen: Sequence[_Seen], page: FlatMap, slant_deg: float, stroke_mm: float, rows_mm: Any
) -> list[LooseLetter]:
    """Return the single letters of a sheet on which no e with white was found: each open or closed."""
    from scipy import ndimage

    stroke_px = stroke_mm * abs(page.a)
    made: list[LooseLetter] = []
    for window in seen:
        labels, _ = labelled(window.mask)
        for number, box in enumerate(ndimage.find_objects(labels), start=1):
            high, wide = box[0].stop - box[0].start, box[1].stop - box[1].start
            if high < 1.2 * stroke_px or wide < 0.8 * stroke_px or max(high, wide) > 12 * stroke_px:
                continue
            own = labels[box] == number
            if 2 * float(ndimage.distance_transform_edt(np.pad(own, 1)).max()) < _THICK * stroke_px:
                continue
            if _whites(own, stroke_px):
                continue  # it has white, and is no e for another reason
            part = InkWindow(box[1].start, box[0].start, box[1].stop, box[0].stop)
            cut, _ = _part(window, part, page)
            foot = cut.cell.y_mm + cut.cell.height_mm
            if len(rows_mm) > _LEAST_LINES and not rows_mm[0] < foot < rows_mm[-1] + high / abs(page.a):
                continue
            upright = _sheared(own, slant_deg)
            fault: LetterFault = "open" if is_open(upright, 1 / abs(page.a), stroke_mm) else "closed"
            letter = WrittenLetter(len(made), fault, height_mm=high / abs(page.a))
            made.append(LooseLetter(letter, cut, foot))
    return made[:MOST_LETTERS]


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
