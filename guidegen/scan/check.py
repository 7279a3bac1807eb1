"""From a picture of written letters to a verdict: their white against their downstroke, and the size to write."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Literal

import numpy as np

from guidegen.errors import GuidegenError, Plain, bad_input
from guidegen.lettering.sizing import RightSize, sample_outline
from guidegen.scan.camera import FlatMap, LensMap, local_px
from guidegen.scan.cells import CellPicture, colours_of, cut_out
from guidegen.scan.grid import FoundBlock
from guidegen.scan.letters import WrittenLetter, measure_letter
from guidegen.scan.light import Rendering
from guidegen.scan.measure import (
    COARSEST_UM,
    PictureKind,
    ReadOptions,
    Scale,
    find_page,
    page_map,
    too_coarse,
    what_is_true,
)
from guidegen.scan.pictures import Photograph, open_picture
from guidegen.scan.raster import drawn_shape
from guidegen.scan.sharpness import with_sharpening
from guidegen.scan.statistics import marker_width
from guidegen.sheets.parts.swatch_block import SwatchCell

LetterVerdict = Literal["too small", "right", "too large", "closed"]
MUCH = 0.1
"""A downstroke that differs by more from the marker's is told."""
_RULE_SHARE = 0.005
"""Standard error of a ratio, as a share: where in a letter its widest places are taken to be."""
_THUMB_PX = 260
_FAULTS = {
    "open": "the bowl is open: close it, so that the white inside can be seen",
    "closed": "no white is left inside",
    "leaves its box": "keep the letter inside its box",
    "pale": "press on, or take a marker that is not dry",
    "empty": "write an e in each box",
    "no downstroke": "no stroke runs down along the slant; was an e written?",
    "too small to read": "scan at 600 dpi, or go nearer",
}


@dataclass(frozen=True, slots=True)
class ShownLetter:
    """A letter as its box shows it, for the report: the picture (rows, columns, 3), its corner (mm) and its scale."""

    letter: WrittenLetter
    pixels: Any
    corner_mm: complex
    px_per_mm: float


@dataclass(frozen=True, slots=True)
class CheckedPicture:
    """What a picture of letters says. Lengths in mm; without a ratio (all closed) those of the white are None.

    ``error`` is the one line for a picture that could not be read; then there is nothing else.
    """

    name: str
    kind: PictureKind = "scan"
    scale: Scale | None = None
    shown: tuple[ShownLetter, ...] = ()
    letters: int = 0
    counter_mm: float | None = None
    downstroke_mm: float | None = None
    ratio: float | None = None
    ratio_95: tuple[float, float] | None = None
    x_height_mm: float | None = None
    slant_deg: float | None = None
    verdict: LetterVerdict | None = None
    notes: tuple[str, ...] = ()
    error: str = ""


def check_files(
    pictures: Sequence[tuple[str, Path | bytes]], size: RightSize, options: ReadOptions, x_height_mm: float | None
) -> list[CheckedPicture]:
    """Return what each picture (its name; its file or the bytes of one) says, one that cannot be read in its place.

    ``x_height_mm`` is the height the letters were written at, or that of the rows they stand on.

    Raises:
        GuidegenError: a single picture that cannot be read or judged, in one line that says what to do.
    """
    if len(pictures) == 1:
        return [check_picture(*pictures[0], size, options, x_height_mm)]
    made = []
    for name, source in pictures:
        try:
            made.append(check_picture(name, source, size, options, x_height_mm))
        except GuidegenError as error:
            made.append(CheckedPicture(name, error=str(error)))
    return made


def check_picture(
    name: str, source: Path | bytes, size: RightSize, options: ReadOptions, x_height_mm: float | None
) -> CheckedPicture:
    """Return what one picture says."""
    del x_height_mm
    picture = open_picture(source, name)
    found = find_page(picture, name)[0]
    if found.block.use != "letters":
        fix = "`guidegen swatch --letters` prints the page to write on; `guidegen measure` reads strokes"
        raise bad_input(name, "", Plain("a page of strokes"), "a page of letters", fix)
    kind, scale, notes = what_is_true(picture, [found], options, name)
    page = page_map(found, kind, picture.size)
    px_mm = float(1 / min(abs(z) for z in local_px(page, complex(np.mean(found.block.rings)))))
    if px_mm * 1000 > COARSEST_UM:
        raise too_coarse(name, kind, px_mm, COARSEST_UM / 1000)
    shown = _letters(picture, page, found, size)
    return _judged(Path(name).name, kind, scale, shown, size, notes)


def _letters(
    picture: Photograph, page: FlatMap | LensMap, found: FoundBlock, size: RightSize
) -> tuple[ShownLetter, ...]:
    rendering = with_sharpening(picture.image, page, found.block, picture.rendering)
    cuts = [cut_out(picture.image, page, cell, rendering) for cell in found.block.cells]
    colours = colours_of(cuts)
    slant = size.hand.slant_deg
    made = []
    for number, cut in enumerate(cuts):
        letter = (
            WrittenLetter(number, "empty") if colours is None else measure_letter(cut, page, colours, slant, number)
        )
        if letter.fault != "empty":
            made.append(ShownLetter(letter, *_thumb(cut, page)))
    return tuple(made)


def _thumb(cut: CellPicture, page: FlatMap | LensMap) -> tuple[Any, complex, float]:
    """Return a box as it is seen straight from above, its corner in mm and how many pixels a mm has."""
    from scipy import ndimage

    cell = cut.cell
    scale = _THUMB_PX / max(cell.width_mm, cell.height_mm)
    columns, rows = round(cell.width_mm * scale), round(cell.height_mm * scale)
    corner = complex(cell.x_mm, cell.y_mm)
    mm = corner + ((np.arange(columns) + 0.5)[None, :] + 1j * (np.arange(rows) + 0.5)[:, None]) / scale
    px = page.to_px(np.asarray(mm, dtype=np.complex128)) - cut.corner_px
    blur = max(0.0, 0.4 / (cut.px_mm * scale) - 0.4)
    pixels = [
        ndimage.map_coordinates(
            ndimage.gaussian_filter(cut.coded[..., channel].astype(np.float32), blur), [px.imag, px.real],
            order=1, mode="nearest",
        )
        for channel in range(3)
    ]  # fmt: skip
    return np.clip(np.stack(pixels, axis=2), 0, 255).astype(np.uint8), corner, scale


def _judged(
    name: str, kind: PictureKind, scale: Scale, shown: Sequence[ShownLetter], size: RightSize, notes: tuple[str, ...]
) -> CheckedPicture:
    across, down = scale.printer
    mean_scale = math.sqrt(across * down)
    letters = [one.letter for one in shown]
    good = [letter for letter in letters if not letter.fault]
    closed = [letter for letter in letters if letter.fault == "closed"]
    faults = [letter.fault for letter in letters if letter.fault]
    told = [f"{faults.count(f)} of {len(letters)} letters left out: {f}" for f in dict.fromkeys(faults) if good]
    told += [f"{sum(one.gap_closed for one in good)} bowls with a small gap were taken for closed"] * any(
        one.gap_closed for one in good
    )
    whole = [*good, *closed]
    base = CheckedPicture(name, kind, scale, tuple(shown), len(good))
    if whole:
        base = replace(
            base,
            downstroke_mm=float(np.mean([one.downstroke_mm for one in whole])) * mean_scale,
            x_height_mm=float(np.median([one.height_mm for one in whole])) * down,
            slant_deg=size.hand.slant_deg + float(np.median([one.slant_deg for one in whole])) - _model_lean(size),
        )
    if len(closed) > len(good):
        # without white the downstroke has no inner edge to be measured to
        return replace(base, letters=len(closed), downstroke_mm=None, verdict="closed", notes=(*notes, *told))
    if not good:
        usual = max(set(faults), key=faults.count) if faults else "empty"
        found = Plain(f"no letter that can be judged ({usual})")
        raise bad_input(name, "", found, "at least one e with a closed bowl", _FAULTS.get(usual, "write it again"))
    errors = [one.ratio * one.error_mm * math.hypot(1 / one.counter_mm, 1 / one.downstroke_mm) for one in good]
    ratios = marker_width([one.ratio for one in good], errors, _RULE_SHARE, float(np.mean(errors)))
    reach = ratios.interval_mm if len(good) > 1 else ratios.measuring_mm
    base = replace(
        base,
        letters=ratios.samples,
        counter_mm=float(np.mean([one.counter_mm for one in good])) * mean_scale,
        ratio=ratios.mm,
        ratio_95=(max(0.0, reach[0]), reach[1]),
    )
    return replace(base, verdict=_verdict(base, size), notes=(*notes, *told, *_weight_notes(base, size)))


def _verdict(checked: CheckedPicture, size: RightSize) -> LetterVerdict:
    """Return the verdict by the hand's own rule: the white over the stroke, or the height."""
    rule = size.hand.size
    if size.rule != "counter":
        verdict = size.verdict(checked.x_height_mm or 0.0)
        return "too small" if verdict == "too small" else "too large" if verdict == "too large" else "right"
    ratio = checked.ratio or 0.0
    return "too small" if ratio < rule.smallest else "too large" if ratio > rule.largest else "right"


def _weight_notes(checked: CheckedPicture, size: RightSize) -> tuple[str, ...]:
    """Return what to say of a downstroke that is not the marker's."""
    own, profile = checked.downstroke_mm, size.marker.downstroke_mm
    if own is None or abs(own / profile - 1) <= MUCH:
        return ()
    how = "thicker" if own > profile else "thinner"
    share = f"{100 * abs(own / profile - 1):.0f} %"
    compared = f"these downstrokes are {own:.2f} mm, {share} {how} than {size.marker.name}'s {profile:.2f} mm"
    return (f"{compared}: pressed that way the size to write is {size.x_height_mm * own / profile:.1f} mm",)


def _model_lean(size: RightSize) -> float:
    """Return the slant that the hand's own letter has when it is measured in this way."""
    x = size.x_height_mm
    cell = SwatchCell("letter", 0.0, 0.0, 2.4 * x, 1.8 * x)
    px_per_mm = 340 / (2.4 * x)
    coded = drawn_shape(sample_outline(size.lettering), complex(0.5 * x, 1.4 * x), (2.4 * x, 1.8 * x), px_per_mm)
    page = FlatMap(complex(px_per_mm), 1j * px_per_mm, -0.5 - 0.5j)
    cut = CellPicture(cell, coded, 0j, complex(px_per_mm), 1j * px_per_mm, Rendering(linear=True))
    colours = colours_of([cut])
    assert colours is not None
    found = measure_letter(cut, page, colours, size.hand.slant_deg, 0)
    return found.slant_deg if found.downstroke_mm else size.hand.slant_deg
