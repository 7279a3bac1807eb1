"""``--for cut`` and ``--for print``: the options, and the way from a document to the files of a workshop."""

from __future__ import annotations

from dataclasses import dataclass, fields
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

import click

from guidegen.cli.given import Given, GivenPath
from guidegen.cli.options import grouped
from guidegen.cli.params import Length, Whole
from guidegen.errors import GuidegenError

if TYPE_CHECKING:
    from guidegen.api.pages import Pages


@dataclass(frozen=True, slots=True)
class Shop:
    """What a workshop needs; ``purpose`` None is for printing at home."""

    purpose: Literal["cut", "print"] | None
    bridges: float | None
    min_feature: float | None
    mirror: bool
    colour: tuple[str, ...]
    reader_ppi: str | None
    dxf: str | None
    operation: Literal["cut", "score", "engrave"] | None
    no_thin_marks: bool
    bridges_along: Literal["vertical", "slant"] | None
    kerf: float | None
    weed_box: bool
    weed_gap: float | None
    register: bool
    bleed: float | None
    no_marks: bool
    spot: str | None
    guides_spot: bool
    output_intent: str | None
    icc: Path | None
    pdfx: Literal["x-4", "x-1a"] | None
    ground: str | None
    guide_ink: Literal["overprint", "knockout"] | None
    up: int | None
    sheet: str | None
    gutter: float | None

    @property
    def default_format(self) -> str | None:
        """The format without ``--out``: SVG for a cutter, PDF for a print shop, None otherwise."""
        return {"cut": "svg", "print": "pdf"}.get(self.purpose or "")


_FOR_CUT = (
    "bridges", "bridges_along", "min_feature", "mirror", "colour", "reader_ppi", "dxf", "operation", "no_thin_marks",
    "kerf", "weed_box", "weed_gap", "register",
)  # fmt: skip
_FOR_PRINT = (
    "bleed", "no_marks", "spot", "guides_spot", "output_intent", "icc", "pdfx", "up", "sheet", "ground",
    "guide_ink", "gutter",
)  # fmt: skip


def _checked(**values: Any) -> Shop:
    shop = Shop(**{**dict.fromkeys(field.name for field in fields(Shop)), "colour": (), **values})
    for purpose, names in (("cut", _FOR_CUT), ("print", _FOR_PRINT)):
        given = [name for name in names if _is_given(getattr(shop, name))]
        if given and shop.purpose != purpose:
            raise GuidegenError(f"--{given[0].replace('_', '-')}: it belongs to --for {purpose}; add that")
    return shop


def _is_given(value: Any) -> bool:
    """Tell whether an option was given; a length of 0 was."""
    return value is not None and value is not False and value != ()


_FOR =     click.option(
        "--for",
        "purpose",
        type=click.Choice(["cut", "print"]),
        help="cut: layers cut, score and engrave as SVG or DXF for a blade or laser, with the proof bar and words on "
        "a layer that is not plotted; EPS and PDF, which have no layers, hold one --operation. Keep hands off the "
        "blade; let no laser near a sheet you don't know (PVC gives off hydrogen chloride); air the room for solvent "
        "markers. The machine maker's instructions and local rules come first. print: a PDF for a print shop.",
    )
_FOR_PRESS = click.option(
    "--for", "purpose", type=click.Choice(["print"]), help="print: a PDF for a print shop, with trim, bleed and plates."
)
_CUT = (
    click.option("--bridges", type=Length(0.05, 50.0), help="Cut: tie the white in letters to the sheet, this wide."),
    click.option(
        "--bridges-along",
        type=click.Choice(["vertical", "slant"]),
        help="Cut: bridges upright (unless said), or along the letters' slant.",
    ),
    click.option(
        "--kerf",
        type=Length(0.0, 5.0),
        help="Cut: what the beam burns away; letters (with --bridges: the sheet) keep their size. A dragged knife's "
        "offset is set at the machine.",
    ),
    click.option("--weed-box", is_flag=True, help="Cut: a frame round the work, to peel the waste off by."),
    click.option("--weed-gap", type=Length(0.5, 200.0), help="Cut: white between the work and that frame (4mm)."),
    click.option("--register", is_flag=True, help="Cut: squares in three corners, to lay sheets on each other by."),
    click.option(
        "--min-feature", type=Length(0.01, 100.0), help="Cut: warn of and ring narrower strokes and gaps (2mm)."
    ),
    click.option("--no-thin-marks", is_flag=True, help="Cut: no rings round what is narrower; it is told."),
    click.option(
        "--operation",
        type=click.Choice(["cut", "score", "engrave"]),
        help="Cut: that operation alone (SVG and DXF: all, in layers; EPS and PDF: cut).",
    ),
    click.option("--mirror", is_flag=True, help="Cut: mirrored, for iron-on film and the inside of windows."),
    click.option("--colour", type=Given(), multiple=True, metavar="LAYER=#RRGGBB", help="Cut: a layer's colour."),
    click.option(
        "--reader-ppi", type=click.Choice(["72", "90", "96"]), help="Cut, SVG: for a program that ignores mm."
    ),
    click.option(
        "--dxf", type=click.Choice(["splines", "r12"]), help="Cut, DXF: true splines, or R12 polylines within 0.01 mm."
    ),
)
_PRINT = (
    click.option(
        "--bleed",
        type=Length(0.0, 50.0),
        help="Print: bleed (3mm); a ground fills it, and guide lines that reach the trim (--margin 0) run on into it.",
    ),
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
    click.option("--ground", type=Given(), metavar="C,M,Y,K", help="Print: a ground in per cent, out into the bleed."),
    click.option(
        "--guide-ink",
        type=click.Choice(["overprint", "knockout"]),
        help="Print: guide lines overprint or knock out; unless said solid black overprints.",
    ),
    click.option("--pdfx", type=click.Choice(["x-4", "x-1a"]), help="Print: x-4 has layers, x-1a has none."),
)
_UP = (
    click.option("--up", type=Whole(1, 400), help="Print: so many on a sheet, with cut marks."),
    click.option("--gutter", type=Length(0.0, 100.0), help="Print: white between those of --up."),
    click.option("--sheet", type=Given(), metavar="NAME|WxH", help="Print: the sheet for --up, such as sra3 (a4)."),
)
shop_options = grouped("shop", _checked, _FOR, *_CUT, *_PRINT, *_UP)
shop_options_of_one = grouped("shop", _checked, _FOR, *_CUT, *_PRINT)
"""For commands with an ``--up`` of their own."""
print_options = grouped("shop", _checked, _FOR_PRESS, *_PRINT, *_UP)
"""For commands whose pages are printed and never cut."""


def for_shop(pages: Pages, shop: Shop | None) -> Pages:
    """Return the pages as the workshop gets them."""
    if shop is None or shop.purpose is None:
        return pages
    if shop.purpose == "cut":
        return pages.for_cut(
            bridges_mm=shop.bridges,
            min_feature_mm=shop.min_feature,
            mirror=shop.mirror,
            colours=_colours(shop.colour),
            reader_ppi=float(shop.reader_ppi) if shop.reader_ppi else None,
            splines=shop.dxf != "r12",
            operation=shop.operation,
            thin_marks=not shop.no_thin_marks,
            bridges_along=shop.bridges_along or "vertical",
            kerf_mm=shop.kerf,
            weed_box_mm=_weed_gap(shop),
            register=shop.register,
        )
    return pages.for_print(
        bleed_mm=shop.bleed,
        marks=not shop.no_marks,
        spot=shop.spot,
        guides_spot=shop.guides_spot,
        output_intent=shop.output_intent,
        icc=shop.icc,
        pdfx=shop.pdfx,
        up=shop.up,
        sheet=shop.sheet,
        gutter_mm=shop.gutter,
        ground=shop.ground,
        guides=shop.guide_ink,
    )


def _weed_gap(shop: Shop) -> float | None:
    from guidegen.shop.cut_extras import WEED_MM

    return shop.weed_gap or (WEED_MM if shop.weed_box else None)


def _colours(entries: tuple[str, ...]) -> dict[str, str]:
    """Return colours by layer; what is wrong with an entry, the library says."""
    return {layer.strip(): colour for layer, _, colour in (entry.partition("=") for entry in entries)}
