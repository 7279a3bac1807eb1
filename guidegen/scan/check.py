"""From a picture of written letters to a verdict: their white against their downstroke, and the size to write."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path
from typing import Any, Literal

import numpy as np

from guidegen.errors import GuidegenError, Plain, bad_input
from guidegen.lettering.sizing import RightSize, sample_outline
from guidegen.scan.camera import FOCAL, FlatMap, LensMap, local_px
from guidegen.scan.cells import CellPicture, colours_of, cut_out
from guidegen.scan.grid import FoundBlock, find_blocks
from guidegen.scan.letters import LetterFault, WrittenLetter, measure_letter
from guidegen.scan.light import Rendering
from guidegen.scan.loose import LooseLetter, LooseLetters, find_letters
from guidegen.scan.measure import (
    COARSEST_UM,
    SCANNER_SCALE,
    UNKNOWN_SCALE,
    PictureKind,
    ReadOptions,
    Scale,
    page_map,
    page_of,
    too_coarse,
    what_is_true,
)
from guidegen.scan.pictures import Photograph, open_picture, turned_part
from guidegen.scan.proof_bar import ProofBar, find_proof_bar
from guidegen.scan.raster import drawn_shape
from guidegen.scan.rings import find_rings
from guidegen.scan.sharpness import with_sharpening
from guidegen.scan.statistics import marker_width
from guidegen.sheets.parts.swatch_block import SwatchCell

LetterVerdict = Literal["too small", "right", "too large", "closed"]
MUCH = 0.1
"""A downstroke that differs by more from the marker's is told, where it differs by so many standard errors of mm."""
_SURE = 3.0
_RULE_SHARE = 0.005
"""Standard error of a ratio, as a share: where in a letter its widest places are taken to be."""
_THUMB_PX = 260
_BAR_SHARE = 0.01
"""Standard error of a scale by the proof bar: the letters are elsewhere on a sheet that may lie at an angle."""
_USUAL_TILT = 0.12
"""Standard deviation of the tangent of a telephone's tilt over a sheet. Tilted so, a picture's scale changes by that
times the way in it, over the lens' focal length."""
_ROWS_SHARE = 0.02
_LEAST_STROKE_PX = 3.5
"""Thinner, an edge wrong by a tenth of a pixel on either side is 6 % of a stroke, and specks look like letters."""
_SMALL_PRINT = 0.6
"""Strokes thinner by this than the marker's, on a sheet of ours, are those of its head and foot."""
_LARGEST_SCAN_MM = 500.0
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
    """A letter as the picture shows it, for the report: pixels (rows, columns, 3), their corner and scale on the page.

    The letter's widths are true mm; where its chords lie is in mm of the page as it was printed.
    """

    letter: WrittenLetter
    pixels: Any
    corner_mm: complex
    px_per_mm: float
    px_per_true_mm: float


@dataclass(frozen=True, slots=True)
class CheckedPicture:
    """What a picture of letters says. Lengths in mm; without a ratio (all closed or open) those of the white are None.

    ``faults`` tells how many letters were left out and why. Where most bowls are open there is no verdict.

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
    x_height_within_mm: float = 0.0
    """Half of its 95 % interval: the scale's, and by how much the letters differ."""
    slant_deg: float | None = None
    verdict: LetterVerdict | None = None
    faults: tuple[tuple[LetterFault, int], ...] = ()
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
    picture = open_picture(source, name)
    rings = find_rings(picture.image, linear=picture.linear)
    search = find_blocks(rings)
    if search.blocks or search.mirrored:
        return _on_letters_page(name, picture, page_of(rings, search, picture.image, name)[0], size, options)
    return _on_any_sheet(name, picture, size, options, x_height_mm)


def _on_letters_page(
    name: str, picture: Photograph, found: FoundBlock, size: RightSize, options: ReadOptions
) -> CheckedPicture:
    if found.block.use != "letters":
        fix = "`guidegen swatch --letters` prints the page to write on; `guidegen measure` reads strokes"
        raise bad_input(name, "", Plain("a page of strokes"), "a page of letters", fix)
    kind, scale, notes = what_is_true(picture, [found], options, name)
    page = page_map(found, kind, picture.size)
    px_mm = float(1 / min(abs(z) for z in local_px(page, complex(np.mean(found.block.rings)))))
    if px_mm * 1000 > COARSEST_UM:
        raise too_coarse(name, kind, px_mm, COARSEST_UM / 1000)
    rendering = with_sharpening(picture.image, page, found.block, picture.rendering)
    cuts = [cut_out(picture.image, page, cell, rendering) for cell in found.block.cells]
    colours = colours_of(cuts, fewer=3)
    slant = size.hand.slant_deg
    shown = []
    across, down = scale.printer
    mean = math.sqrt(across * down)
    for number, cut in enumerate(cuts):
        letter = (
            WrittenLetter(number, "empty")
            if colours is None
            else measure_letter(cut, page, colours, slant, number, size.marker.downstroke_mm)
        )
        if letter.fault != "empty":
            thumb = _thumb(picture.image, page, _looked_at(cut.cell, letter, size))
            shown.append(ShownLetter(_scaled(letter, mean, down), *thumb, thumb[2] / mean))
    return _judged(Path(name).name, kind, scale, shown, size, notes)


def _on_any_sheet(
    name: str, picture: Photograph, size: RightSize, options: ReadOptions, x_height_mm: float | None
) -> CheckedPicture:
    slant, stroke_mm = size.hand.slant_deg, size.marker.downstroke_mm
    if options.card:
        fix = "write on the page of `guidegen swatch --letters`, or leave `card` out"
        raise bad_input(name, "", Plain("no rings, by which a card's place is told"), "the page with boxes", fix)
    found = find_letters(picture, slant, stroke_mm)
    bar = None if found is None else find_proof_bar(found.writing.dark)
    turned = found is not None and (not found.letters and found.from_below > 0 if bar is None else bar.upside_down)
    if turned:
        picture = replace(picture, image=picture.image.rotate(180))
        found = find_letters(picture, slant, stroke_mm)
        bar = None if found is None or bar is None else find_proof_bar(found.writing.dark)
    if found is None or not found.told:
        what = "nothing written that is thick enough to be seen" if found is None else "no e"
        fix = "go nearer or scan at 300 dpi or more, in even light; `guidegen swatch --letters` prints boxes"
        raise bad_input(name, "", Plain(what), "written letters with an e among them", fix)
    strokes = found.strokes_mm
    stroke_px = float(np.median(strokes)) * abs(found.page.a) if strokes else _LEAST_STROKE_PX
    if stroke_px < _LEAST_STROKE_PX:
        told = Plain(f"downstrokes {stroke_px:.1f} pixels wide")
        fix = "go nearer, or scan at 300 dpi or more"
        raise bad_input(name, "", told, f"at least {_LEAST_STROKE_PX:g}", fix)
    kind, scale, factor, notes = _loose_scale(picture, found, bar, size, options, x_height_mm)
    if turned and bar is None:
        notes = (*notes, "the sheet lay with its head down and was turned")
    if bar is not None and factor < _SMALL_PRINT:  # the map has the page's usual thick stroke as the marker's
        fix = "write an e on its rows, and picture the sheet again"
        raise bad_input(name, "", Plain("a sheet with nothing but print on it"), "written letters", fix)
    high = found.usual_height_mm
    shown = []
    for one in found.told:
        thumb = _thumb(picture.image, found.page, _box_round(one, high))
        shown.append(ShownLetter(_scaled(one.letter, factor, factor), *thumb, thumb[2] / factor))
    return _judged(Path(name).name, kind, scale, shown, size, notes)


def _looked_at(cell: SwatchCell, letter: WrittenLetter, size: RightSize) -> SwatchCell:
    """Return the part of a box to show: as much round its middle, where its lines are, as its letter needs."""
    high = max(letter.height_mm, size.x_height_mm) if letter.height_mm else cell.height_mm
    width, height = min(cell.width_mm, 2 * high), min(cell.height_mm, 1.7 * high)
    return SwatchCell("letter", cell.centre.real - width / 2, cell.centre.imag - height / 2, width, height)


def _box_round(one: LooseLetter, high: float) -> SwatchCell:
    """Return the part of the page to show of a letter: its place in the middle, on its foot."""
    letter = one.letter
    if not letter.counter_mm:
        centre = one.centre_mm
        return SwatchCell("letter", centre.real - high, centre.imag - 0.85 * high, 2 * high, 1.7 * high)
    middle = (letter.counter[0] + letter.counter[1] + letter.downstroke[0] + letter.downstroke[1]).real / 4
    return SwatchCell("letter", middle - 1.0 * high, one.foot_mm - 1.35 * high, 2 * high, 1.7 * high)


def _scaled(letter: WrittenLetter, across: float, down: float) -> WrittenLetter:
    """Return a letter with its lengths in true mm; its places stay those of the page."""
    return replace(
        letter,
        counter_mm=letter.counter_mm * across,
        downstroke_mm=letter.downstroke_mm * across,
        height_mm=letter.height_mm * down,
        error_mm=letter.error_mm * across,
    )


def _loose_scale(
    picture: Photograph, found: LooseLetters, bar: ProofBar | None, size: RightSize, options: ReadOptions,
    x_height_mm: float | None,
) -> tuple[PictureKind, Scale, float, tuple[str, ...]]:  # fmt: skip
    """Return what kind of picture it is, where its scale comes from, true mm to a mm of the map, and what to tell."""
    own_px = abs(found.page.a)  # pixels of the picture to a mm of the map
    dpi = options.dpi or _plausible_dpi(picture)
    kind = options.kind or ("scan" if options.dpi or (dpi and not picture.camera) else "photo")
    if kind == "scan" and dpi:
        return kind, Scale("resolution", (1.0, 1.0), float(SCANNER_SCALE)), own_px / (dpi / 25.4), ()
    if bar is not None:
        across, down = options.printer or (1.0, 1.0)
        share = _BAR_SHARE if options.printer else math.hypot(_BAR_SHARE, UNKNOWN_SCALE)
        if kind == "photo":
            share = math.hypot(share, _USUAL_TILT * _away(picture, found, bar) / (picture.focal or FOCAL))
        factor = own_px / (bar.px_per_mm * found.writing.factor) * math.sqrt(across * down)
        told = "" if options.printer else ", taken to be printed true"
        aside = f", within {_percent(196 * share)} % where it was photographed from the side" if kind == "photo" else ""
        note = (
            f"mm are by the proof bar{told}{aside}. Letters that are printed on the sheet count too: leave them out of "
            "the picture"
        )
        return kind, Scale("bar", (across, down), share), factor, (note,)
    if x_height_mm is not None:
        usual = found.usual_height_mm
        gaps = np.diff(found.rows_mm)
        near = [gap for gap in gaps if 0.65 < gap / usual < 1.5]
        rows = float(np.median(near)) if near else usual
        what = "the rows" if near else "the letters, for no rows were seen,"
        note = f"mm are by {what} taken to be {x_height_mm:g} mm high"
        return kind, Scale("x-height", (1.0, 1.0), _ROWS_SHARE), x_height_mm / rows, (note,)
    strokes = found.strokes_mm
    factor = size.marker.downstroke_mm / float(np.mean(strokes)) if strokes else 1.0
    note = (
        f"nothing tells the scale, so mm are as if the downstrokes were {size.marker.name}'s "
        f"{size.marker.downstroke_mm:.2f} mm; white over downstroke needs no scale. Add `x_height_mm` for the rows"
    )
    return kind, Scale("profile", (1.0, 1.0), UNKNOWN_SCALE), factor, (note,)


def _away(picture: Photograph, found: LooseLetters, bar: ProofBar) -> float:
    """Return how far the letters lie from the bar, as a share of the picture's longer side."""
    letters = np.mean([one.centre_mm for one in found.told]) * found.page.a
    return float(abs(letters - bar.middle * found.writing.factor)) / max(picture.size)


def _percent(share: float) -> str:
    return f"{share:.0f}" if share >= 1.95 else f"{share:.1f}"


def _plausible_dpi(picture: Photograph) -> float | None:
    """Return what a file states where a sheet of that size fits a scanner; programs write numbers they do not know."""
    if picture.dpi is None or max(picture.size) / picture.dpi * 25.4 > _LARGEST_SCAN_MM:
        return None
    return picture.dpi


def _thumb(image: Any, page: FlatMap | LensMap, cell: SwatchCell) -> tuple[Any, complex, float]:
    """Return a box as it is seen straight from above, its corner in mm and how many pixels a mm has."""
    scale = _THUMB_PX / max(cell.width_mm, cell.height_mm)
    size = round(cell.width_mm * scale), round(cell.height_mm * scale)
    corner = complex(cell.x_mm, cell.y_mm)
    ends = corner + np.array([0, size[0], 1j * size[1], size[0] + 1j * size[1]]) / scale
    px = page.to_px(ends.astype(np.complex128)) + 0.5 + 0.5j
    left, top = max(0, int(px.real.min()) - 2), max(0, int(px.imag.min()) - 2)
    right, low = min(image.size[0], int(px.real.max()) + 3), min(image.size[1], int(px.imag.max()) + 3)
    part = image.crop((left, top, max(left + 2, right), max(top + 2, low)))
    fewer = max(1, int(abs(px[1] - px[0]) / size[0]))
    part = part.reduce(fewer) if fewer > 1 else part
    first, across, down = ((z - complex(left, top)) / fewer for z in (px[0], px[1], px[2]))
    across, down = (across - first) / size[0], (down - first) / size[1]
    turn = (across.real, down.real, first.real, across.imag, down.imag, first.imag)
    return turned_part(part, size, turn), corner, scale


def _judged(
    name: str, kind: PictureKind, scale: Scale, shown: Sequence[ShownLetter], size: RightSize, notes: tuple[str, ...]
) -> CheckedPicture:
    letters = [one.letter for one in shown]
    good = [letter for letter in letters if not letter.fault]
    faults = [letter.fault for letter in letters if letter.fault]
    counted = tuple((fault, faults.count(fault)) for fault in dict.fromkeys(faults))
    told = [f"{count} of {len(letters)} letters left out: {fault}" for fault, count in counted if good]
    gaps = sum(one.gap_closed for one in good)
    if gaps:
        told.append(f"{gaps} of {len(good)} bowls have a small gap and were taken for closed")
    base = CheckedPicture(name, kind, scale, tuple(shown), len(good), faults=counted)
    usual = max(dict.fromkeys(faults), key=faults.count) if faults else "empty"
    if faults.count(usual) > len(good) and usual in ("closed", "open"):
        # without white the downstroke has no inner edge to be measured to
        own = [one for one in letters if one.fault == usual]
        told = [f"{count} of {len(letters)} letters: {fault}" for fault, count in counted if fault != usual]
        return replace(
            base,
            letters=len(own) if usual == "closed" else 0,
            x_height_mm=float(np.median([one.height_mm for one in own])),
            verdict="closed" if usual == "closed" else None,
            notes=(*notes, *told),
        )
    if not good:
        found = Plain(f"no letter that can be judged ({usual})")
        raise bad_input(name, "", found, "at least one e with a closed bowl", _FAULTS.get(usual, "write it again"))
    errors = [one.ratio * one.error_mm * math.hypot(1 / one.counter_mm, 1 / one.downstroke_mm) for one in good]
    ratios = marker_width([one.ratio for one in good], errors, _RULE_SHARE, float(np.mean(errors)))
    reach = ratios.interval_mm if len(good) > 1 else ratios.measuring_mm
    base = replace(
        base,
        letters=ratios.samples,
        downstroke_mm=float(np.mean([one.downstroke_mm for one in good])),
        x_height_mm=float(np.median([one.height_mm for one in good])),
        x_height_within_mm=_within_mm([one.height_mm for one in good], scale),
        slant_deg=size.hand.slant_deg + float(np.median([one.slant_deg for one in good])) - _model_lean(size),
        counter_mm=float(np.mean([one.counter_mm for one in good])),
        ratio=ratios.mm,
        ratio_95=(max(0.0, reach[0]), reach[1]),
    )
    return replace(base, verdict=_verdict(base, size), notes=(*notes, *told, *_weight_notes(base, size)))


def _within_mm(heights_mm: Sequence[float], scale: Scale) -> float:
    """Return half of the 95 % interval of letters' usual height: of their differences, and of the scale."""
    spread = float(np.std(heights_mm, ddof=1)) / math.sqrt(len(heights_mm)) if len(heights_mm) > 1 else 0.0
    return 1.96 * math.hypot(spread, scale.share * float(np.median(heights_mm)))


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
    if own is None or not weighed(checked, size):
        return ()
    how = "thicker" if own > profile else "thinner"
    share = f"{100 * abs(own / profile - 1):.0f} %"
    compared = f"these downstrokes are {own:.2f} mm, {share} {how} than {size.marker.name}'s {profile:.2f} mm"
    return (f"{compared}: pressed that way the size to write is {size.x_height_mm * own / profile:.1f} mm",)


def weighed(checked: CheckedPicture, size: RightSize) -> bool:
    """Tell whether a downstroke differs from the marker's so much that it is told, where a scale shows it."""
    if checked.downstroke_mm is None or (checked.scale is not None and checked.scale.source == "profile"):
        return False
    doubt = 0.0 if checked.scale is None else checked.scale.share
    return abs(checked.downstroke_mm / size.marker.downstroke_mm - 1) > max(MUCH, _SURE * doubt)


@lru_cache(maxsize=4)
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
    found = measure_letter(cut, page, colours, size.hand.slant_deg, 0, size.marker.downstroke_mm)
    return found.slant_deg if found.downstroke_mm else size.hand.slant_deg
