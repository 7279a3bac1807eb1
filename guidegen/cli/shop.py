"""``--for cut`` and ``--for print``: the options, and the way from a document to the files of a workshop."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from guidegen.cli.given import Given, GivenPath
from guidegen.cli.options import grouped
from guidegen.cli.params import Length, Whole
from guidegen.errors import GuidegenError, bad_input
from guidegen.limits import MAX_PROFILE_BYTES, NUMBER

if TYPE_CHECKING:
    from guidegen.scene import Document, Ink
    from guidegen.shop.cutting import CutOptions
    from guidegen.shop.printshop import PrintOptions

CUT_FORMATS, PRINT_FORMATS = ("svg", "dxf", "eps", "pdf"), ("pdf",)
_COLOUR = re.compile(r"(cut|score|engrave|proof|thin)=#([0-9a-fA-F]{6})")
_SPOT = re.compile(rf"([A-Za-z0-9][A-Za-z0-9 _-]{{0,39}}+)(?:={','.join([f'({NUMBER})'] * 4)})?")


@dataclass(frozen=True, slots=True)
class Shop:
    """What a workshop needs; ``purpose`` None is for printing at home."""

    purpose: str | None
    bridges: float | None
    min_feature: float | None
    mirror: bool
    colour: tuple[str, ...]
    reader_ppi: str | None
    dxf: str | None
    bleed: float | None
    no_marks: bool
    spot: str | None
    guides_spot: bool
    output_intent: str | None
    icc: Path | None
    pdfx: str | None
    up: int | None
    sheet: str | None

    @property
    def default_format(self) -> str | None:
        """The format without ``--out``: SVG for a cutter, PDF for a print shop, None otherwise."""
        return {"cut": "svg", "print": "pdf"}.get(self.purpose or "")


_FOR_CUT = ("bridges", "min_feature", "mirror", "colour", "reader_ppi", "dxf")
_FOR_PRINT = ("bleed", "no_marks", "spot", "guides_spot", "output_intent", "icc", "pdfx", "up", "sheet")


def _checked(**values: Any) -> Shop:
    shop = Shop(**{"up": None, "sheet": None, **values})
    for purpose, names in (("cut", _FOR_CUT), ("print", _FOR_PRINT)):
        given = [name for name in names if _is_given(getattr(shop, name))]
        if given and shop.purpose != purpose:
            raise GuidegenError(f"--{given[0].replace('_', '-')}: it belongs to --for {purpose}; add that")
    return shop


def _is_given(value: Any) -> bool:
    """Tell whether an option was given; a length of 0 was."""
    return value is not None and value is not False and value != ()


_COMMON = (
    click.option(
        "--for",
        "purpose",
        type=click.Choice(["cut", "print"]),
        help="cut: layers cut, score and engrave as SVG, DXF, EPS or PDF for a blade or laser. Keep hands off the "
        "blade; let no laser near a sheet you don't know (PVC gives off hydrogen chloride); air the room for solvent "
        "markers. The machine maker's instructions and local rules come first. print: a PDF for a print shop.",
    ),
    click.option("--bridges", type=Length(0.05, 50.0), help="Cut: tie the white in letters to the sheet, this wide."),
    click.option(
        "--min-feature", type=Length(0.01, 100.0), help="Cut: warn of and ring narrower strokes and gaps (2mm)."
    ),
    click.option("--mirror", is_flag=True, help="Cut: mirrored, for iron-on film and the inside of windows."),
    click.option("--colour", type=Given(), multiple=True, metavar="LAYER=#RRGGBB", help="Cut: a layer's colour."),
    click.option(
        "--reader-ppi", type=click.Choice(["72", "90", "96"]), help="Cut, SVG: for a program that ignores mm."
    ),
    click.option(
        "--dxf", type=click.Choice(["splines", "r12"]), help="Cut, DXF: true splines, or R12 polylines within 0.01 mm."
    ),
    click.option("--bleed", type=Length(0.0, 50.0), help="Print: bleed (3mm)."),
    click.option("--no-marks", is_flag=True, help="Print: leave the crop marks out."),
    click.option(
        "--spot",
        type=Given(),
        metavar="NAME[=C,M,Y,K]",
        help="Print: the letters in a spot colour, with its CMYK stand-in.",
    ),
    click.option("--guides-spot", is_flag=True, help="Print: guide lines on a plate of their own, Guides."),
    click.option(
        "--output-intent", type=Given(), metavar="NAME", help="Print: the registered printing condition (FOGRA39)."
    ),
    click.option("--icc", type=GivenPath(path_type=Path), help="Print: the printer's CMYK profile, put into the file."),
    click.option("--pdfx", type=click.Choice(["x-4", "x-1a"]), help="Print: x-4 has layers, x-1a has none."),
)
_UP = (
    click.option("--up", type=Whole(1, 400), help="Print: so many on a sheet, with cut marks."),
    click.option("--sheet", type=Given(), metavar="NAME|WxH", help="Print: the sheet for --up (a4)."),
)
shop_options = grouped("shop", _checked, *_COMMON, *_UP)
shop_options_of_one = grouped("shop", _checked, *_COMMON)
"""For commands with an ``--up`` of their own."""


def check_shop(shop: Shop | None, file_format: str, *, corrected: bool) -> None:
    """Raise when a workshop's file cannot be made in ``file_format``, or ``corrected`` for a home printer."""
    if shop is None or shop.purpose is None:
        return
    formats = CUT_FORMATS if shop.purpose == "cut" else PRINT_FORMATS
    if file_format not in formats:
        raise bad_input(f"--for {shop.purpose}", "", file_format, f"one of {', '.join(formats)}", "see -o or --format")
    if corrected:
        raise GuidegenError(
            f"--for {shop.purpose}: it is made at true scale for other people's machines; "
            "leave out --measured and --printer, which correct your own printer"
        )


def prepared(document: Document, shop: Shop | None) -> Document:
    """Return the document as the workshop gets it."""
    if shop is None or shop.purpose != "cut":
        return document
    from guidegen.shop.cutting import prepare_for_cut

    return prepare_for_cut(document, cut_options(shop))


def cut_options(shop: Shop) -> CutOptions:
    """Return what is asked of a cut file."""
    from guidegen.scene import Purpose
    from guidegen.shop.cutting import COLOURS, VINYL_MM, CutOptions

    colours = dict(COLOURS)
    for entry in shop.colour:
        match = _COLOUR.fullmatch(entry.strip())
        if match is None:
            raise bad_input("--colour", "", entry, "LAYER=#rrggbb with cut, score, engrave, proof or thin")
        colours[Purpose(match[1])] = _ink(match[2])
    if len({tuple(round(255 * part) for part in ink.rgb) for ink in colours.values()}) < len(colours):
        raise GuidegenError("--colour: two layers have the same colour; machines tell operations apart by it")
    return CutOptions(shop.bridges, shop.min_feature or VINYL_MM, shop.mirror, colours)


def _ink(digits: str) -> Ink:
    from guidegen.scene import Ink

    red, green, blue = (int(digits[k : k + 2], 16) / 255 for k in (0, 2, 4))
    return Ink((red, green, blue))


def shop_files(document: Document, file_format: str, shop: Shop) -> Iterator[tuple[str, bytes]]:
    """Yield (suffix, bytes) of each file of a document that :func:`prepared` has returned."""
    if shop.purpose == "print":
        from guidegen.shop.printshop import print_pdf_bytes

        yield "", print_pdf_bytes(document, print_options(shop))
        return
    from guidegen.writers import render

    special = file_format in ("svg", "dxf") and (shop.reader_ppi or shop.dxf)
    if not special:
        yield from render(document, file_format)
        return
    for index, page in enumerate(document.pages, start=1):
        suffix = f"-{index}" if len(document.pages) > 1 else ""
        if file_format == "dxf":
            from guidegen.writers.dxf import dxf_bytes

            yield suffix, dxf_bytes(page, splines=shop.dxf != "r12")
        else:
            from guidegen.writers.svg_px import svg_px_bytes

            yield suffix, svg_px_bytes(page, float(shop.reader_ppi or 96), document.title, document.description)


def print_options(shop: Shop) -> PrintOptions:
    """Return what is asked of a print-shop file."""
    from guidegen.hands.library import load_paper
    from guidegen.scene import Purpose
    from guidegen.shop.printshop import BLEED_MM, PrintOptions, guides_in_spot
    from guidegen.shop.printshop_metadata import DEFAULT_CONDITION, UNREGISTERED, Intent

    inks = guides_in_spot() if shop.guides_spot else {}
    if shop.spot is not None:
        inks |= dict.fromkeys((purpose for purpose in Purpose if purpose.is_ink), _spot_ink(shop.spot))
    # a profile may be of any condition, so that only what was said of it is said on
    default = DEFAULT_CONDITION if shop.icc is None else UNREGISTERED
    name = (shop.output_intent or default).strip()
    if not name.isprintable() or not 0 < len(name) <= 60:
        raise bad_input("--output-intent", "", name, "the name of a registered printing condition, such as FOGRA39")
    if shop.sheet is not None and shop.up is None:
        raise GuidegenError("--sheet: it is the sheet that --up N places cards on; add --up")
    paper = load_paper("a4" if shop.sheet is None else shop.sheet, "--sheet")
    return PrintOptions(
        BLEED_MM if shop.bleed is None else shop.bleed,
        not shop.no_marks,
        inks,
        Intent(name, None if shop.icc is None else _profile(shop.icc)),
        "x-1a" if shop.pdfx == "x-1a" else "x-4",
        shop.up,
        (paper.width_mm, paper.height_mm),
    )


def _spot_ink(text: str) -> Ink:
    from guidegen.scene import Ink

    match = _SPOT.fullmatch(text.strip())
    parts = (0.0, 0.55, 0.85, 0.0) if match is None or match[2] is None else tuple(float(match[k]) for k in range(2, 6))
    if match is None or not all(0 <= part <= 100 for part in parts):
        expected = "a plate's name, or NAME=C,M,Y,K with its stand-in in per cent"
        raise bad_input("--spot", "", text, expected, "--spot Harbour=0,55,85,0")
    cyan, magenta, yellow, black = (part / 100 if match[2] is not None else part for part in parts)
    if max(cyan, magenta, yellow, black) == 0:
        raise bad_input("--spot", "", text, "a stand-in that is not white")
    rgb = tuple((1 - part) * (1 - black) for part in (cyan, magenta, yellow))
    return Ink(rgb, (cyan, magenta, yellow, black), match[1])  # type: ignore[arg-type]


def _profile(path: Path) -> bytes:
    from guidegen.shop.printshop_metadata import check_profile

    if not path.is_file():
        raise bad_input("--icc", "", str(path), "an ICC profile", "is the path right?")
    if path.stat().st_size > MAX_PROFILE_BYTES:
        raise bad_input("--icc", "", f"{path.stat().st_size} bytes", f"at most {MAX_PROFILE_BYTES}")
    return check_profile(path.read_bytes(), f"--icc {path}")
