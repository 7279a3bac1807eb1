"""What a workshop is asked for, from plain values: formats, colours, spot inks, profiles; and the files it gets."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Literal

from guidegen.errors import GuidegenError, bad_input
from guidegen.hands.library import load_paper
from guidegen.limits import MAX_PROFILE_BYTES, NUMBER
from guidegen.profiles.papers import Paper
from guidegen.scene import Document, Ink, Purpose
from guidegen.shop.cutting import COLOURS, VINYL_MM, CutOptions, only
from guidegen.shop.printshop import (
    BLEED_MM,
    GUIDE_SPOT,
    PrintOptions,
    Standard,
    guides_in_spot,
    print_pdf_bytes,
)
from guidegen.shop.printshop_metadata import (
    DEFAULT_CONDITION,
    UNREGISTERED,
    Intent,
    check_intent,
    check_profile,
    claimed,
)

ShopKind = Literal["cut", "print"]
FORMATS: Mapping[ShopKind, tuple[str, ...]] = {"cut": ("svg", "dxf", "eps", "pdf"), "print": ("pdf",)}
"""What a cutting machine and a print shop take; the first is the usual one."""
LAYERED = ("svg", "dxf")
"""Formats whose layers a machine's program knows, so that what is not plotted can stand on one of its own."""
Operation = Literal["cut", "score", "engrave"]
_COLOUR = re.compile(r"#([0-9a-fA-F]{2})([0-9a-fA-F]{2})([0-9a-fA-F]{2})")
_SPOT = re.compile(rf"([A-Za-z0-9][A-Za-z0-9 _-]{{0,39}}+)(?:={','.join([f'({NUMBER})'] * 4)})?")
_CMYK = re.compile(r"\s*+,\s*+".join([f"({NUMBER})"] * 4))
RESERVED = ("all", "none", "cyan", "magenta", "yellow", "black", "gray", "grey", "default", "pattern")
"""Names of plates that mean something already (ISO 32000-1, 8.6.6.4), in any case."""
MOST_INK_PERCENT = 280
"""What several printers print at most."""
GuideInk = Literal["overprint", "knockout"]
_STAND_IN = (0.0, 0.55, 0.85, 0.0)


def check_shop(shop: ShopKind, file_format: str, *, corrected: bool) -> None:
    """Raise when a workshop's file cannot be made in ``file_format``, or is ``corrected`` for a home printer."""
    if file_format not in FORMATS[shop]:
        choice = "one of " + ", ".join(FORMATS[shop])
        raise bad_input(f"`purpose` {shop}", "", file_format, choice, "choose another `file_format`")
    if corrected:
        raise GuidegenError(
            f"`purpose` {shop}: it is made at true scale for other people's machines; "
            "leave out `measured` and `printer`, which correct your own printer"
        )


def cut_options(
    bridges_mm: float | None = None,
    min_feature_mm: float | None = None,
    *,
    mirror: bool = False,
    colours: Mapping[str, str] | None = None,
    thin_marks: bool = True,
    bridges_along: Literal["vertical", "slant"] = "vertical",
    slant_deg: float = 90.0,
    kerf_mm: float | None = None,
    weed_box_mm: float | None = None,
    register: bool = False,
) -> CutOptions:
    """Return what is asked of a cut file.

    Args:
        bridges_mm: tie the white in letters to the sheet by bridges so wide; None cuts letters whole.
        min_feature_mm: narrower strokes and gaps are told and ringed; None for 2 mm (plotted vinyl).
        mirror: for iron-on film and the inside of windows.
        colours: ``#rrggbb`` by layer (cut, score, engrave, proof, thin), in place of the usual ones.
        thin_marks: ring what is narrower, on a layer that is not plotted.
        bridges_along: bridges stand upright, or along the letters' ``slant``.
        slant_deg: that slant, from the baseline.
        kerf_mm: what the beam burns away, so that what is kept keeps its size.
        weed_box_mm: white between the work and a frame to weed it by; None for no frame.
        register: add squares to lay sheets on each other by.

    Raises:
        GuidegenError: no such layer, no colour, or two layers of one colour.
    """
    inks = dict(COLOURS)
    for layer, colour in (colours or {}).items():
        match = _COLOUR.fullmatch(colour.strip())
        if match is None or layer.strip() not in {purpose.value for purpose in COLOURS}:
            expected = "LAYER=#rrggbb with cut, score, engrave, proof or thin"
            raise bad_input("`colour`", "", f"{layer}={colour}" if colour else layer, expected)
        red, green, blue = (int(digits, 16) / 255 for digits in match.groups())
        inks[Purpose(layer.strip())] = Ink((red, green, blue))
    if len({tuple(round(255 * part) for part in ink.rgb) for ink in inks.values()}) < len(inks):
        raise GuidegenError("`colour`: two layers have the same colour; machines tell operations apart by it")
    if bridges_mm is None and bridges_along != "vertical":
        raise GuidegenError("`bridges_along`: it says how bridges stand; add `bridges_mm`")
    return CutOptions(
        bridges_mm,
        min_feature_mm or VINYL_MM,
        mirror,
        inks,
        thin_marks=thin_marks,
        bridges_along=bridges_along,
        slant_deg=slant_deg,
        kerf_mm=kerf_mm or 0.0,
        weed_box_mm=weed_box_mm,
        register=register,
    )


def print_options(
    bleed_mm: float | None = None,
    *,
    marks: bool = True,
    spot: str | None = None,
    guides_spot: bool = False,
    output_intent: str | None = None,
    icc: Path | None = None,
    pdfx: Standard | None = None,
    up: int | None = None,
    sheet: Paper | str | None = None,
    gutter_mm: float | None = None,
    ground: str | None = None,
    guides: GuideInk | None = None,
) -> PrintOptions:
    """Return what is asked of a print-shop file.

    Args:
        bleed_mm: bleed on every side; None for 3 mm.
        marks: draw crop marks.
        spot: ``NAME`` or ``NAME=C,M,Y,K`` (per cent): the letters' plate and its stand-in.
        guides_spot: guide lines on a plate of their own, ``Guides``.
        output_intent: the registered printing condition; FOGRA39 unless ``icc`` is given.
        icc: the file of the printer's CMYK profile, put into the PDF.
        pdfx: ``x-4`` has layers, ``x-1a`` has none.
        up: so many cards on a sheet; None for a page a sheet.
        sheet: the paper of that sheet; None for a4.
        gutter_mm: white between the cards; None for edge to edge, or twice the bleed where they print to their edge.
        ground: ``C,M,Y,K`` (per cent) printed under everything, out into the bleed.
        guides: guide lines ``overprint`` or ``knockout``; None leaves it to their ink: solid black overprints.

    Raises:
        GuidegenError: a spot ink, condition, profile or sheet that is none.
    """
    inks = guides_in_spot() if guides_spot else {}
    if spot is not None:
        inks |= dict.fromkeys((purpose for purpose in Purpose if purpose.is_ink), spot_ink(spot))
    # a profile may be of any condition, so that only what was said of it is said on
    name = (output_intent or (DEFAULT_CONDITION if icc is None else UNREGISTERED)).strip()
    if not name.isprintable() or not 0 < len(name) <= 60:
        raise bad_input("`output_intent`", "", name, "the name of a registered printing condition, such as FOGRA39")
    if guides_spot and spot is not None and spot_ink(spot).spot == GUIDE_SPOT.spot:
        raise bad_input("`spot`", "", spot, "another plate's name than that of the guides", "choose another name")
    if gutter_mm is not None and up is None:
        raise GuidegenError("`gutter_mm`: it parts the cards that `up` N places on a sheet; add `up`")
    if sheet is not None and up is None:
        raise GuidegenError("`sheet`: it is the sheet that `up` N places cards on; add `up`")
    paper = sheet if isinstance(sheet, Paper) else load_paper("a4" if sheet is None else sheet, "`sheet`")
    return PrintOptions(
        BLEED_MM if bleed_mm is None else float(bleed_mm),
        marks,
        inks,
        check_intent(Intent(name, None if icc is None else _profile(icc)), "`output_intent`"),
        pdfx or "x-4",
        up,
        (paper.width_mm, paper.height_mm),
        gutter_mm,
        None if ground is None else ground_ink(ground),
        None if guides is None else guides == "overprint",
    )


def print_notes(options: PrintOptions) -> tuple[str, ...]:
    """Return what a print file does not claim, and why."""
    if claimed(options.intent, options.standard) is not None:
        return ()
    return (
        "the file claims no PDF/X: that takes the printer's profile (`icc`) or `pdfx` x-1a and a registered condition",
    )


def ground_ink(text: str) -> Ink:
    """Return the ink of ``C,M,Y,K`` in per cent.

    Raises:
        GuidegenError: not four numbers from 0 to 100, or more ink than paper takes.
    """
    match = _CMYK.fullmatch(text.strip())
    parts = tuple(float(part) for part in match.groups()) if match else ()
    expected = "C,M,Y,K in per cent, each 0 to 100"
    if not parts or max(parts) > 100:
        raise bad_input("`ground`", "", text, expected, "`ground` 0,5,20,0")
    if sum(parts) > MOST_INK_PERCENT:
        raise bad_input("`ground`", "", text, f"at most {MOST_INK_PERCENT} per cent of ink together")
    cyan, magenta, yellow, black = (part / 100 for part in parts)
    red, green, blue = ((1 - part) * (1 - black) for part in (cyan, magenta, yellow))
    return Ink((red, green, blue), (cyan, magenta, yellow, black))


def spot_ink(text: str) -> Ink:
    """Return the ink of ``NAME`` or ``NAME=C,M,Y,K``, its stand-in in per cent.

    Raises:
        GuidegenError: no plate's name, a part outside 0 to 100, or a stand-in that is white.
    """
    match = _SPOT.fullmatch(text.strip())
    own = match is not None and match[2] is not None
    parts = tuple(float(match[k]) for k in range(2, 6)) if match is not None and own else _STAND_IN
    if match is not None and match[1].strip().lower() in RESERVED:
        expected = "a plate of its own: that name is kept for the process inks and the marks"
        raise bad_input("`spot`", "", match[1], expected, "choose another name")
    if match is None or not all(0 <= part <= 100 for part in parts):
        expected = "a plate's name, or NAME=C,M,Y,K with its stand-in in per cent"
        raise bad_input("`spot`", "", text, expected, "`spot` Harbour=0,55,85,0")
    cyan, magenta, yellow, black = (part / 100 if own else part for part in parts)
    if max(cyan, magenta, yellow, black) == 0:
        raise bad_input("`spot`", "", text, "a stand-in that is not white")
    red, green, blue = ((1 - part) * (1 - black) for part in (cyan, magenta, yellow))
    return Ink((red, green, blue), (cyan, magenta, yellow, black), match[1])


def _profile(path: Path) -> bytes:
    if not path.is_file():
        raise bad_input("`icc`", "", str(path), "an ICC profile", "is the path right?")
    if path.stat().st_size > MAX_PROFILE_BYTES:
        raise bad_input("`icc`", "", f"{path.stat().st_size} bytes", f"at most {MAX_PROFILE_BYTES}")
    return check_profile(path.read_bytes(), f"`icc` {path}")


def cut_files(
    document: Document,
    file_format: str,
    *,
    reader_ppi: float | None = None,
    splines: bool = True,
    operation: Operation | None = None,
) -> Iterator[tuple[str, bytes]]:
    """Yield (suffix, bytes) of each file of a document that is prepared for cutting.

    EPS and PDF have no layers that a machine could switch off, so that they hold one operation.

    Args:
        document: as :func:`guidegen.shop.cutting.prepare_for_cut` returns it.
        file_format: one of ``FORMATS["cut"]``.
        reader_ppi: SVG for a program that takes so many units for an inch; None for true mm.
        splines: DXF with true splines; False for R12 polylines within 0.01 mm.
        operation: that one alone; None for all in layers, in EPS and PDF for ``cut``.

    Raises:
        GuidegenError: there is nothing of that operation.
    """
    from guidegen.writers import render

    if operation is not None or file_format not in LAYERED:
        document = only(document, Purpose(operation or "cut"))
    if not ((file_format == "svg" and reader_ppi) or (file_format == "dxf" and not splines)):
        yield from render(document, file_format)
        return
    for index, page in enumerate(document.pages, start=1):
        suffix = f"-{index}" if len(document.pages) > 1 else ""
        if file_format == "dxf":
            from guidegen.writers.dxf import dxf_bytes

            yield suffix, dxf_bytes(page, splines=splines)
        else:
            from guidegen.writers.svg_px import svg_px_bytes

            yield suffix, svg_px_bytes(page, float(reader_ppi or 96), document.title, document.description)


def print_files(document: Document, options: PrintOptions) -> Iterator[tuple[str, bytes]]:
    """Yield ("", bytes) of the print shop's PDF."""
    yield "", print_pdf_bytes(document, options)
