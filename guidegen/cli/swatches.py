"""``swatch``, ``measure``, ``check``: the page to draw on, and what its scan or photograph says."""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

import click

from guidegen.cli.files import STDOUT
from guidegen.cli.given import Given, GivenPath
from guidegen.cli.options import (
    SLANT,
    Output,
    PaperChoice,
    json_option,
    output_options,
    paper_options,
    print_json,
    suited_hand,
)
from guidegen.cli.params import TIP_NAMES, Length, MarkerRef, Number, Whole
from guidegen.cli.saving import save_pages, written_pages
from guidegen.errors import GuidegenError, Plain, bad_input

if TYPE_CHECKING:
    from guidegen.profiles.markers import Marker, Tip


@click.command()
@click.argument("marker", type=MarkerRef(), required=False)
@click.option("--marker", "named", type=MarkerRef(), help="The marker it is for; none for one not known yet.")
@click.option("--tip", type=click.Choice(TIP_NAMES), help="The tip of a marker not known yet (default brush).")
@click.option("--letters", is_flag=True, help="Boxes to write e in, for `check`; needs a marker or --x-height.")
@click.option("--copies", type=Whole(1, 4), default=1, show_default=True, help="Markers on one page.")
@click.option("--wide/--no-wide", default=None, help="Few and wide boxes, for strokes of 7 mm and more.")
@click.option("--hand", type=Given(), metavar="NAME|PATH", help="The hand (style of lettering); default by tip.")
@click.option("--x-height", type=Length(0.1, 1000.0), help="With --letters: the size to write.")
@click.option("--slant", type=SLANT, help="Slant from the baseline instead of the hand's.")
@click.option("--nib-angle", type=Number(0, 90, "an angle", "DEG"), help="Broad only: how the edge is held.")
@paper_options
@output_options
@json_option
def swatch(
    marker: Marker | None,
    named: Marker | None,
    tip: str | None,
    letters: bool,
    copies: int,
    wide: bool | None,
    hand: str | None,
    x_height: float | None,
    slant: float | None,
    nib_angle: float | None,
    page: PaperChoice,
    output: Output,
    as_json: bool,
) -> None:
    """Make a page to draw a marker's strokes on; `measure` reads its scan or photograph.

    With --letters a page to write e on, for `check`. --json tells where the boxes lie.

    \b
    Examples:
      guidegen swatch -o swatch.pdf
      guidegen swatch --copies 4 --paper letter
      guidegen swatch --tip broad --nib-angle 40 --wide
      guidegen swatch cobble --letters -o letters.pdf
    """
    import guidegen as gg

    if marker is not None and named is not None:
        raise bad_input("--marker", "", named.name, "one marker", f"{marker.name} is named already")
    values: dict[str, Any] = {
        "tip": tip,
        "letters": letters,
        "copies": copies,
        "wide": wide,
        "hand": suited_hand(hand, marker or named),
        "x_height_mm": x_height,
        "slant_deg": slant,
        "nib_angle_deg": nib_angle,
    }
    make = partial(gg.swatch, marker or named, **values)
    if not as_json:
        save_pages(page, output, make)
        return
    if len(page.paper) > 1 or output.out == STDOUT:
        raise GuidegenError("--json: it tells of one page in a file; name one --paper, and a file with --out")
    pages, paths = written_pages(page, output, make)
    print_json({"path": str(paths[0]), "cells": pages[0].as_dict()["cells"]})


@click.command()
@click.argument("images", type=GivenPath(path_type=Path), nargs=-1, metavar="IMAGE...")
@click.option("--name", required=True, metavar="NAME[,NAME]", help="The marker's name; of several on a page each.")
@click.option("--label", help="The name on pages (default: NAME with a capital).")
@click.option("--tip", type=click.Choice(TIP_NAMES), help="In place of the tip the page was made for.")
@click.option("--nib-angle", type=Number(0, 90, "an angle", "DEG"), help="Broad only: how the edge was held.")
@click.option("--dpi", type=Number(50, 10_000, "a resolution", "N"), help="The scan's resolution, not its file's.")
@click.option("--measured", type=Given(), metavar="ACROSSxDOWN", help="What two 100 mm bars of the print measured.")
@click.option("--printer", type=Given(), metavar="NAME", help="Keep --measured under this name, or use what was kept.")
@click.option("--card", is_flag=True, help="A bank card lies flat on the page, beside the block: the scale.")
@click.option("--kind", type=click.Choice(["scan", "photo"]), help="Where the picture does not tell.")
@click.option("--report", type=GivenPath(path_type=Path), metavar="PATH", help="Draw every edge and width here.")
@click.option("--language", type=Given(), default="en", metavar="NAME|PATH", help="Of the report's words; default en.")
@click.option("-o", "--out", type=GivenPath(path_type=Path), metavar="PATH", help="The profile's file.")
@click.option("--force", is_flag=True, help="Overwrite profiles and reports that exist.")
@json_option
@click.pass_context
def measure(
    ctx: click.Context,
    images: tuple[Path, ...],
    name: str,
    label: str | None,
    tip: Tip | None,
    nib_angle: float | None,
    dpi: float | None,
    measured: str | None,
    printer: str | None,
    card: bool,
    kind: Literal["scan", "photo"] | None,
    report: Path | None,
    language: str,
    out: Path | None,
    force: bool,
    as_json: bool,
) -> None:
    """Measure a marker from scans or photographs of its swatch page, and save its profile.

    Scan in colour at 600 dpi, with automatic exposure and sharpening off; or photograph the block from straight
    above. A photograph needs to know how true the print is: --measured, as for pages, or a bank card lying on the page
    beside the block (--card), no shadow on its edges.

    \b
    Examples:
      guidegen measure scan.png --name tidepen
      guidegen measure one.jpg two.jpg --name tidepen --measured 99.4x99.6 --report seen.pdf
      guidegen measure card.jpg --name tidepen --card
      guidegen measure four.png --name quay,buoy,mole,pier
    """
    import guidegen as gg
    from guidegen.api.pages import chosen_format
    from guidegen.cli.saving import note, printer_from, tell_notes
    from guidegen.saving import new_folders, write_files
    from guidegen.sheets.parts.phrases import phrases

    names = tuple(part.strip() for part in name.split(","))
    if not images:
        raise bad_input("IMAGE", "", Plain("nothing"), "a scan or photograph of a swatch page")
    target = chosen_format(report, None, "pdf") if report is not None else "pdf"
    phrases(language)
    if out is not None and len(names) > 1 and not out.is_dir():
        raise bad_input("--out", "", str(out), "an existing folder, for several profiles")
    found = gg.measure(
        images, names, label=label, tip=tip, nib_angle_deg=nib_angle, dpi=dpi,
        printer=printer_from(measured, printer), kind=kind, card=card,
    )  # fmt: skip
    files = [(_profile_path(ctx, out, marker.name), marker_bytes(marker)) for marker in found.markers]
    if report is not None:
        pages = found.report(language)
        files += [(report.with_stem(report.stem + end), data) for end, data in pages.files(target)]
    folder = files[0][0].parent
    with new_folders(*([] if out else [folder])):
        written = write_files(files, force=force)
    note(*found.notes)
    tell_notes()
    count = len(found.markers)
    if as_json:
        values = found.as_dict()
        for one, path in zip(values.get("markers", [values]), written, strict=False):
            one["profile"] = str(path)
        print_json(values)
        return
    for line in found.lines():
        click.echo(line)
    for path in written[:count]:
        click.echo(f"saved {path}")
    for path in written[count:]:
        click.echo(path)


def marker_bytes(marker: Marker) -> bytes:
    """Return a profile as it is written."""
    from guidegen.profiles.markers import marker_to_toml

    return marker_to_toml(marker).encode()


def _profile_path(ctx: click.Context, out: Path | None, name: str) -> Path:
    """Return where a profile goes: to ``--out``, else to the folder of ``--markers``, else among the person's own."""
    from guidegen.hands.own import own_markers

    if out is not None:
        return out / f"{name}.toml" if out.is_dir() else out
    asked = ctx.find_root().obj.markers_folder
    return (asked or own_markers()) / f"{name}.toml"


@click.command()
@click.argument("images", type=GivenPath(path_type=Path), nargs=-1, metavar="IMAGE...")
@click.option("--marker", type=MarkerRef(), required=True, help="The marker they were written with.")
@click.option("--hand", type=Given(), metavar="NAME|PATH", help="The hand (style of lettering); default by tip.")
@click.option("--slant", type=SLANT, help="Slant from the baseline instead of the hand's.")
@click.option("--x-height", type=Length(0.1, 1000.0), help="The height of the rows the letters stand on.")
@click.option("--dpi", type=Number(50, 10_000, "a resolution", "N"), help="The scan's resolution, not its file's.")
@click.option("--measured", type=Given(), metavar="ACROSSxDOWN", help="What two 100 mm bars of the print measured.")
@click.option("--printer", type=Given(), metavar="NAME", help="Keep --measured under this name, or use what was kept.")
@click.option("--card", is_flag=True, help="A bank card lies flat on a page of boxes, beside them: the scale.")
@click.option("--kind", type=click.Choice(["scan", "photo"]), help="Where the picture does not tell.")
@click.option("--report", type=GivenPath(path_type=Path), metavar="PATH", help="Draw every letter here: .png or .jpg.")
@click.option("--language", type=Given(), default="en", metavar="NAME|PATH", help="Of the report's words; default en.")
@click.option("--force", is_flag=True, help="Overwrite a report that exists.")
@json_option
def check(
    images: tuple[Path, ...],
    marker: Marker,
    hand: str | None,
    slant: float | None,
    x_height: float | None,
    dpi: float | None,
    measured: str | None,
    printer: str | None,
    card: bool,
    kind: Literal["scan", "photo"] | None,
    report: Path | None,
    language: str,
    force: bool,
    as_json: bool,
) -> None:
    """Judge written letters: is the white inside e as wide as its downstroke, and what size to write?

    The letters stand on a page of `guidegen swatch --letters`, on any other sheet, on ruled or on plain paper, alone or
    in words. Several pictures, those of a class, make one table. Pictures are read and never kept.

    \b
    Examples:
      guidegen check letters.png --marker pebble
      guidegen check letters.png --marker pebble --report seen.png
      guidegen check letters.png other.png --marker pebble
      guidegen check letters.png --marker pebble --x-height 8
    """
    import guidegen as gg
    from guidegen.api.scans import report_format
    from guidegen.cli.saving import note, printer_from, tell_notes
    from guidegen.saving import check_target, write_files

    if not images:
        raise bad_input("IMAGE", "", Plain("nothing"), "a scan or photograph of written letters")
    ending = "png" if report is None else report_format(report.suffix.lower().lstrip("."))
    if report is not None:
        check_target(report, force=force)
    found = gg.check(
        images, marker, hand=suited_hand(hand, marker), slant_deg=slant, x_height_mm=x_height, dpi=dpi,
        printer=printer_from(measured, printer), kind=kind, card=card, language=language,
    )  # fmt: skip
    written: list[Path] = []
    if report is not None:
        written = write_files([(report, found.report(ending))], force=force)
    note(*found.notes)
    tell_notes()
    if as_json:
        print_json(found.as_dict())
        return
    for line in (*found.lines(), *written):
        click.echo(line)
