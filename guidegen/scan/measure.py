"""From pictures of swatch pages to widths: what is true of each picture, its strokes, and all of them together."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Literal

import numpy as np

from guidegen.errors import GuidegenError, Plain, bad_input
from guidegen.scan.camera import FlatMap, LensMap, flat_map, lens_map, local_px, tilt_deg
from guidegen.scan.card import FoundCard, find_card
from guidegen.scan.cells import CellPicture, InkColours, clipped_share, colours_of, cut_out, stride_of
from guidegen.scan.grid import FoundBlock, Search, find_blocks
from guidegen.scan.missing_rings import missing_rings
from guidegen.scan.pictures import Photograph, open_picture, two_colours
from guidegen.scan.rings import Ring, find_rings
from guidegen.scan.sharpness import with_sharpening
from guidegen.scan.statistics import Width, marker_width
from guidegen.scan.stroke_widths import EdgeBlur, MeasuredStroke, measure_stroke, usual_blur
from guidegen.scan.strokes import AIR_MM, find_stroke
from guidegen.sheets.parts.swatch_block import Use

PictureKind = Literal["scan", "photo"]
ScaleFrom = Literal["resolution", "ruler", "card", "none", "bar", "x-height", "profile"]
"""The last three are of letters on sheets without rings: the proof bar, rows of known height, the marker itself."""

MOST_TILT_DEG = 35.0
MOST_OFF = 0.06
"""A printer that is off by more was told to fit the page."""
COARSEST_UM = 120.0
SCANNER_SCALE = 0.002 / np.sqrt(3)
"""Standard error of a scanner's own scale: anywhere within 0.2 %."""
PHOTO_SCALE = 0.0012
"""Of a photograph's, at the place of a stroke: lens and paper are known as far as twelve rings tell."""
UNKNOWN_SCALE = 0.02 / 1.96
RULER_SCALE = 0.0008
"""Of a printer's scale read off a 100 mm bar with a ruler: about a tenth of a millimetre."""
_FLAT_PX = 0.6
_LEAST_STROKES = 3
_OVEREXPOSED = 0.5
_GLARE = 0.2
"""With so much of a cell's paper at full white a stroke that breaks off was not drawn short."""
_LEAST_NOISE = 0.4
_DARKEST_PAPER = 70
_LEAST_LEVELS = 16
_WIDEST_INTERVAL = 0.15
_EDGE_PX = {"scan": (0.021, 0.03), "photo": (0.03, 0.04)}
"""Standard error of a width by where its edges are taken to be, in pixels: common to a picture, and of a stroke alone.

Set on simulated pages (seeds 10,000 to 40,020) that the benchmark does not use.
"""
_THIN_MM = 0.2
_LEAST_DOUBT_MM = 0.0011
"""What finer pixels do not better: raggedness, bleed, grain. Set after thirteen pages at 1200 dpi."""
_MISSING = {
    "cut off": ("the picture ends before", "take in the whole block"),
    "light": ("light hides", "turn the page or the lamp until nothing shines on it, and use no flash"),
    "covered": ("something hides", "take away what lies or is written on it, in even light"),
}
"""What to say of rings that were not found, and what to do."""
_BLURS = 3.0
"""A thin stroke is measured worse: as the hypotenuse of 1 and so many times its edges' blur over its width."""


@dataclass(frozen=True, slots=True)
class Scale:
    """What tells the scale: its source, and what the printer makes of a millimetre across and down (1 is true)."""

    source: ScaleFrom
    printer: tuple[float, float]
    share: float
    """Standard error, as a share of every width."""


@dataclass(frozen=True, slots=True)
class ReadBlock:
    """A block of a picture: which copy, what tip it is for, its strokes in true mm, the map of the page."""

    copy: int
    use: Use
    strokes: tuple[MeasuredStroke, ...]
    page: FlatMap | LensMap
    block: FoundBlock


@dataclass(frozen=True, slots=True)
class ReadPicture:
    """What a picture gave. ``assumed``: how its values came from light was; ``notes`` are lines worth telling."""

    name: str
    kind: PictureKind
    scale: Scale
    blocks: tuple[ReadBlock, ...]
    size_px: tuple[int, int]
    px_mm: float
    assumed: bool = False
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class MeasuredMarker:
    """The widths of one marker from all pictures of it."""

    copy: int
    use: Use
    kind: PictureKind
    scale: Scale
    downstroke: Width
    hairline: Width | None
    nib_angle_deg: float | None
    strokes: tuple[tuple[int, MeasuredStroke], ...]
    """Every stroke with the number of its picture; those far off carry the fault ``far off``."""
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class ReadOptions:
    """How pictures are to be read: a resolution instead of the file's, what a printer makes of a mm (x, y).

    ``card``: each picture shows a bank card, which tells the scale.
    """

    dpi: float | None = None
    printer: tuple[float, float] | None = None
    kind: PictureKind | None = None
    card: bool = False


def measure_files(paths: Sequence[Path], options: ReadOptions) -> tuple[list[ReadPicture], list[MeasuredMarker]]:
    """Return what each picture gave, and the markers of all of them, in the order of their blocks on the page.

    Raises:
        GuidegenError: a picture that cannot be measured, or too few strokes; one line that says what to do.
        OSError: a file that may not be read.
    """
    pictures = [read_picture(path, options) for path in paths]
    uses = {(block.copy, block.use) for picture in pictures for block in picture.blocks}
    copies = sorted({copy for copy, _ in uses})
    if len(uses) > len(copies):
        raise GuidegenError("the pictures show pages for different tips; measure those of one tip at a time")
    return pictures, [_pooled(copy, pictures) for copy in copies]


def read_picture(path: Path, options: ReadOptions) -> ReadPicture:
    """Return the strokes of one picture."""
    name = str(path)
    picture = open_picture(path)
    rings = find_rings(picture.image, linear=picture.linear)
    blocks = page_of(rings, find_blocks(rings), picture.image, name)
    if any(found.block.use == "letters" for found in blocks):
        raise bad_input(name, "", Plain("a page of letters"), "a page of strokes", "`guidegen check` reads letters")
    kind, scale, notes = what_is_true(picture, blocks, options, name)
    read = []
    for found in blocks:
        page = page_map(found, kind, picture.size)
        px_mm = float(1 / min(abs(z) for z in local_px(page, complex(np.mean(found.block.rings))))) * scale.printer[0]
        if px_mm * 1000 > COARSEST_UM:
            raise too_coarse(name, kind, px_mm, COARSEST_UM / 1000)
        strokes = _block_strokes(picture, page, found, scale, name)
        read.append(ReadBlock(found.block.copy, found.block.use, strokes, page, found))
    if picture.assumed:
        coded = "the file does not say how its values are coded; the usual curve (sRGB) was assumed"
        coded += ", which is wrong where a scanner was set to linear light (gamma 1)" if kind == "scan" else ""
        notes = (*notes, f"{name}: {coded}")
    return ReadPicture(name, kind, scale, tuple(read), picture.size, px_mm, picture.assumed, notes)


def page_of(rings: Sequence[Ring], search: Search, image: Any, name: str) -> tuple[FoundBlock, ...]:
    """Return the blocks that a search among a picture's rings found.

    Raises:
        GuidegenError: none: too few rings, another page, a page seen in a mirror.
    """
    if search.blocks:
        return search.blocks
    expected = "a swatch page with all twelve rings in the picture"
    if search.mirrored:
        raise bad_input(name, "", Plain("a page seen in a mirror"), expected, "turn mirroring off in the camera")
    missing = missing_rings(rings, image)
    if missing is not None:
        why, fix = _MISSING[missing.cause]
        others = "the one" if missing.found == 11 else "those" if missing.side else "the others"
        others += f" at the {missing.side}" if missing.side else ""
        found = Plain(f"{missing.found} of the twelve rings: {why} {others}")
        raise bad_input(name, "", found, "all of them", fix)
    if search.unknown:
        fix = "print `guidegen swatch`, and leave its rings free"
        raise bad_input(name, "", Plain("rings of another page"), expected, fix)
    usual = np.median([ring.diameter_px for ring in rings]) if rings else 0.0
    count = sum(0.6 * usual < ring.diameter_px < 1.7 * usual for ring in rings)
    found = Plain("no rings" if not count else f"{min(count, 11)} rings that make no whole block")
    fix = "take in the whole block, flat, in even light" if count else "print `guidegen swatch` and picture its block"
    raise bad_input(name, "", found, expected, fix)


def page_map(found: FoundBlock, kind: PictureKind, size_px: tuple[int, int]) -> FlatMap | LensMap:
    """Return where a block's millimetres, as the file has them, lie in the picture."""
    mm, px = np.array(found.block.rings), np.array(found.rings)
    return flat_map(mm, px)[0] if kind == "scan" else lens_map(mm, px, size_px)[0]


def what_is_true(
    picture: Photograph, blocks: Sequence[FoundBlock], options: ReadOptions, name: str
) -> tuple[PictureKind, Scale, tuple[str, ...]]:
    """Return whether a picture is a scan or a photograph and where its scale comes from, with what to tell of it.

    Raises:
        GuidegenError: no resolution, one at odds with the page, or a page tilted too far.
    """
    dpi = options.dpi or picture.dpi
    first = blocks[0]
    mm, px = np.array(first.block.rings), np.array(first.rings)
    flat, left_px = flat_map(mm, px)
    implied = (abs(flat.a) * 25.4, abs(flat.b) * 25.4)
    square = abs((flat.a * np.conj(flat.b)).real) / abs(flat.a * flat.b)
    is_flat = left_px < _FLAT_PX and square < 0.004 and abs(implied[0] / implied[1] - 1) < 2 * MOST_OFF
    kind = options.kind
    if kind is None:
        fits = dpi is not None and max(abs(side / dpi - 1) for side in implied) <= MOST_OFF
        if options.dpi or (fits and is_flat):
            kind = "scan"
        else:
            kind = "scan" if is_flat and not picture.camera and options.printer is None else "photo"
    if kind == "scan":
        if options.card:
            card = find_card(picture, flat, first, name)
            return kind, _card_scale(card, 0.0), _printer_words(card.printer)
        scale = _scan_scale(dpi, implied, name)
        return kind, scale, _printer_words(scale.printer)
    page, _ = lens_map(mm, px, picture.size)
    tilt = tilt_deg(page)
    if tilt > MOST_TILT_DEG:
        raise bad_input(name, "", Plain(f"a page tilted by {tilt:.0f}°"), f"at most {MOST_TILT_DEG:.0f}°",
                        "hold the camera straight above it")  # fmt: skip
    if options.card:
        card = find_card(picture, page, first, name)
        return kind, _card_scale(card, PHOTO_SCALE), _printer_words(card.printer)
    if options.printer is not None:
        return kind, Scale("ruler", options.printer, float(np.hypot(RULER_SCALE, PHOTO_SCALE))), ()
    told = (
        f"{name}: a photograph alone does not tell its scale; the page was taken to be printed true, within 2 %. "
        "Measure two 100 mm bars of the print and add `measured`, or lay a bank card beside the block and add `card`"
    )
    return kind, Scale("none", (1.0, 1.0), UNKNOWN_SCALE), (told,)


def _scan_scale(dpi: float | None, implied: tuple[float, float], name: str) -> Scale:
    about = round(float(np.mean(implied)))
    if dpi is None:
        found = Plain("a scan whose file states no resolution")
        fix = f"add `dpi` (the page points to about {about})"
        raise bad_input(name, "", found, "a scan that states its resolution", fix)
    printer = (implied[0] / dpi, implied[1] / dpi)
    if max(abs(side - 1) for side in printer) > MOST_OFF:
        found = Plain(f"a resolution of {dpi:g} dpi where the rings say about {about}")
        fix = "print at 100 %, not fitted to the page, or add `dpi` with the scan's true resolution"
        raise bad_input(name, "", found, "rings and resolution that agree within 6 %", fix)
    return Scale("resolution", printer, float(SCANNER_SCALE))


def _card_scale(found: FoundCard, share: float) -> Scale:
    return Scale("card", found.printer, float(np.hypot(found.share, share)))


def _printer_words(printer: tuple[float, float]) -> tuple[str, ...]:
    across, down = (100 * side for side in printer)
    if max(abs(across - 100), abs(down - 100)) < 0.25:
        return ()
    sides = f"{across:.1f} across and {down:.1f} down"
    keep = f"`measured` {across:.1f}x{down:.1f} with `printer` NAME keeps it for the pages to come"
    return (f"this printer makes 100 mm {sides}; {keep}",)


def too_coarse(name: str, kind: PictureKind, px_mm: float, needed_mm: float) -> GuidegenError:
    """Return the error for a picture that shows too little."""
    found = Plain(f"{1000 * px_mm:.0f} µm a pixel")
    if kind == "scan":
        return bad_input(name, "", found, f"at most {1000 * needed_mm:.0f}", f"scan at {_scan_dpi(needed_mm)} dpi")
    return bad_input(name, "", found, f"at most {1000 * needed_mm:.0f}", "go nearer, the block filling the picture")


def _scan_dpi(px_mm: float) -> int:
    return next((dpi for dpi in (300, 600, 1200) if 25.4 / dpi <= px_mm), 1200)


def _block_strokes(
    picture: Photograph, page: FlatMap | LensMap, found: FoundBlock, scale: Scale, name: str
) -> tuple[MeasuredStroke, ...]:
    """Return every stroke of a block, its width in true mm."""
    rendering = with_sharpening(picture.image, page, found.block, picture.rendering)
    cells = [(n, cut_out(picture.image, page, cell, rendering)) for n, cell in enumerate(found.block.cells)]
    _check_exposure([each for _, each in cells], name)
    kind_of_picture: PictureKind = "scan" if isinstance(page, FlatMap) else "photo"
    strokes: list[MeasuredStroke] = []
    usual: EdgeBlur | None = None
    colours: InkColours | None = None
    for kind in ("downstroke", "hairline"):
        own = [(n, each) for n, each in cells if each.cell.kind == kind]
        # a thin stroke's own pixels are mixed with paper: the marker's wide ones tell the colour of its ink
        colours = colours or colours_of([each for _, each in own])
        made = [_stroke(n, kind, each, page, colours, usual, scale) for n, each in own]
        strokes += made
        usual = usual_blur(made) if kind == "downstroke" else usual
    _check_blur(strokes, kind_of_picture, name)
    return tuple(strokes)


def _stroke(
    number: int, kind: str, cut: CellPicture, page: FlatMap | LensMap, colours: InkColours | None,
    usual: EdgeBlur | None, scale: Scale,
) -> MeasuredStroke:  # fmt: skip
    if colours is None:
        return MeasuredStroke(number, kind, 0.0, "empty")
    rows, fault = find_stroke(cut, page, colours)
    if rows is None:
        made = MeasuredStroke(number, kind, 0.0, fault)
    else:
        made = measure_stroke(rows, number, kind, page, (colours, cut.rendering), scale.printer, usual)
    if made.fault == "too short" and clipped_share([cut]) > _GLARE:
        return replace(made, fault="light changes across it")
    return made


def _check_blur(strokes: Sequence[MeasuredStroke], kind: PictureKind, name: str) -> None:
    """Raise for a picture so blurred that half an edge is not seen, or so that a scanner cannot have made it."""
    soft = [stroke.blur.sigma_mm for stroke in strokes if stroke.blur is not None]
    if not soft:
        return
    found_mm = float(np.median(soft))
    px_mm = float(np.median([stroke.px_mm for stroke in strokes if stroke.blur is not None]))
    most_mm = max(1.8 * px_mm, 0.06) if kind == "scan" else 0.33 * max(AIR_MM, 8 * px_mm)
    if found_mm > most_mm:
        fix = "scan again, the page flat on the glass" if kind == "scan" else "hold still, let the camera focus"
        found = Plain(f"a blurred picture: edges soft over {1000 * found_mm:.0f} µm")
        raise bad_input(name, "", found, f"at most {1000 * most_mm:.0f}", fix)


def _check_exposure(cells: list[CellPicture], name: str) -> None:
    """Raise for pictures that fool a measurer: paper at full white, two colours without an edge between."""
    if not cells:
        return
    green = [cell.coded[:: stride_of(cell), :: stride_of(cell), 1].ravel() for cell in cells]
    grey = np.concatenate(green).astype(np.int16)
    low, high = int(np.quantile(grey, 0.001)), int(np.quantile(grey, 0.9))
    if high < _DARKEST_PAPER:
        fix = "let in more light, or switch automatic exposure on"
        raise bad_input(name, "", Plain(f"a dark picture, paper at {high} of 255"), f"at least {_DARKEST_PAPER}", fix)
    levels = int(np.count_nonzero(np.bincount(grey[(grey > low) & (grey < high)], minlength=256)))
    between = float(((grey > low + 0.15 * (high - low)) & (grey < high - 0.15 * (high - low))).mean())
    inked = float((grey <= low + 0.15 * (high - low)).mean())
    if inked > 0 and between < 0.004 * inked:
        raise two_colours(name)
    if inked > 0 and levels < _LEAST_LEVELS:
        found = Plain(f"a picture of {levels + 2} levels of grey")
        raise bad_input(name, "", found, f"more than {_LEAST_LEVELS}", "scan in colour, and save all of its colours")
    if clipped_share(cells) > _OVEREXPOSED and _noise_of(grey, low, high) > _LEAST_NOISE:
        fix = "switch automatic exposure off, or scan a little darker, so that the paper is not pure white"
        raise bad_input(name, "", Plain("paper at full white: overexposed"), "paper that is not clipped", fix)


def _noise_of(grey: Any, low: int, high: int) -> float:
    """Return how much the values of what is black differ; a page that was drawn and not scanned has no noise."""
    ink = grey[grey < low + 0.2 * (high - low)]
    return float(np.std(ink)) if len(ink) else 0.0


def _pooled(copy: int, pictures: Sequence[ReadPicture]) -> MeasuredMarker:
    """Return one marker from every picture that shows its block."""
    every = ((n, picture, block) for n, picture in enumerate(pictures) for block in picture.blocks)
    shown = [(n, picture, block) for n, picture, block in every if block.copy == copy]
    use = shown[0][2].use
    worst = max((picture for _, picture, _ in shown), key=lambda picture: picture.scale.share)
    strokes = [(n, stroke) for n, _, block in shown for stroke in block.strokes]
    widths: dict[str, Width] = {}
    for kind in ("downstroke", "hairline"):
        own = [(place, n, stroke) for place, (n, stroke) in enumerate(strokes) if stroke.kind == kind]
        if not own:
            continue
        good = [(place, n, stroke) for place, n, stroke in own if not stroke.fault]
        if len(good) < _LEAST_STROKES:
            raise _too_few(pictures, [stroke for _, _, stroke in own], _strokes_word(kind, use), len(good))
        doubts = [_doubt_mm(stroke, pictures[n].kind) for _, n, stroke in good]
        several = len({n for _, n, _ in good}) ** 0.5
        common = float(np.mean([doubt for doubt, _ in doubts])) / several
        alone = [doubt for _, doubt in doubts]
        width = marker_width([stroke.width_mm for _, _, stroke in good], alone, worst.scale.share / several, common)
        for number in width.dropped:
            place, n, stroke = good[number]
            strokes[place] = (n, replace(stroke, fault="far off"))
        widths[kind] = width
    notes = _coarse_notes(pictures, widths, worst, use)
    angle = _nib_angle([stroke for _, stroke in strokes if stroke.kind == "hairline"]) if use == "broad" else None
    return MeasuredMarker(
        copy, use, worst.kind, worst.scale, widths["downstroke"], widths.get("hairline"), angle, tuple(strokes), notes
    )


def _doubt_mm(stroke: MeasuredStroke, kind: PictureKind) -> tuple[float, float]:
    """Return the standard error of a stroke's width: common to all of its picture, and alone."""
    blur_mm = stroke.blur.sigma_mm if stroke.blur is not None else 0.0
    thin = float(np.hypot(1, _BLURS * blur_mm / stroke.width_mm))
    common, alone = _EDGE_PX[kind]
    return thin * float(np.hypot(common * stroke.px_mm, _LEAST_DOUBT_MM)), thin * alone * stroke.px_mm


def _too_few(pictures: Sequence[ReadPicture], strokes: Sequence[MeasuredStroke], kind: str, good: int) -> GuidegenError:
    name = pictures[0].name if len(pictures) == 1 else f"{len(pictures)} pictures"
    faults = [stroke.fault for stroke in strokes if stroke.fault]
    usual = max(dict.fromkeys(faults), key=lambda fault: (faults.count(fault), fault == "light changes across it"))
    fixes = {
        "empty": "draw a stroke in each box",
        "pale": "ink this pale gives no edge: press on, or take a marker that is not dry",
        "leaves its box": "keep each stroke inside its box",
        "several strokes": "draw one stroke in each box",
        "too short": "draw longer strokes of one even width, those of 7 mm and more on `guidegen swatch --wide`",
        "light changes across it": "picture it in even light, without shadow or glare",
    }
    found = Plain(f"{good} {kind} that can be measured (most others: {usual})")
    return bad_input(name, "", found, f"at least {_LEAST_STROKES}", fixes.get(usual, "draw them again"))


def _strokes_word(kind: str, use: Use) -> str:
    """Return what a tip's strokes of a kind are called: a brush's thin ones are pushed up."""
    return "upstrokes" if kind == "hairline" and use == "brush" else f"{kind}s"


def _coarse_notes(
    pictures: Sequence[ReadPicture], widths: dict[str, Width], worst: ReadPicture, use: Use
) -> tuple[str, ...]:
    """Return what to say of thin hairlines; raise where the picture tells too little of them."""
    thin = widths.get("hairline") or widths["downstroke"]
    unscaled = thin.measured_within_mm - 1.96 * worst.scale.share * thin.mm
    coarsest = max(picture.px_mm for picture in pictures)
    if unscaled > _WIDEST_INTERVAL * thin.mm or coarsest > thin.mm:
        needed = thin.mm / 4
        raise too_coarse(worst.name, worst.kind, coarsest, needed)
    if is_near_limit(thin):
        what = f"{_strokes_word('hairline' if 'hairline' in widths else 'downstroke', use)} of {thin.mm:.2f} mm"
        return (f"{what} are near the limit of what a picture shows; scan at 1200 dpi for more",)
    return ()


def is_near_limit(thin: Width) -> bool:
    """Tell whether strokes are so thin that a picture hardly shows them, unless at 1200 dpi."""
    return thin.mm < _THIN_MM


def _nib_angle(strokes: Sequence[MeasuredStroke]) -> float | None:
    """Return the angle at which a broad edge was held: that of its thin strokes, 0 to 90 degrees."""
    headings = [stroke.heading_deg for stroke in strokes if not stroke.fault]
    return float(np.clip(np.median(headings), 0, 90)) if headings else None
