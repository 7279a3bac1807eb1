"""``sheet``, ``letter`` and ``trial``: one page for one marker, or for one that is not known yet."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from guidegen.cli.options import (
    Lettering,
    Output,
    PaperChoice,
    lettering_options,
    marker_argument,
    output_options,
    paper_options,
)
from guidegen.cli.saving import save_pages
from guidegen.cli.sizes import chosen_hand

if TYPE_CHECKING:
    from guidegen.markers import Marker
    from guidegen.sizing import RightSize


def sized(marker: Marker, lettering: Lettering) -> RightSize:
    """Return the marker's right size in the hand and at the (first) slant asked for."""
    from guidegen.sizing import right_size

    slant = lettering.slant[0] if lettering.slant else None
    return right_size(marker, chosen_hand(marker, lettering.hand, slant))


@click.command()
@marker_argument
@lettering_options
@paper_options
@output_options
def sheet(marker: Marker, lettering: Lettering, page: PaperChoice, output: Output) -> None:
    """Make a guideline sheet: rows of four lines at the marker's right size, to print at 100 %.

    \b
    Examples:
      guidegen sheet cobble -o cobble.pdf
      guidegen sheet cobble --at largest --paper a4,letter
      guidegen sheet thorn --hand copperplate --slant 55,80 --landscape
      guidegen sheet slate --x-height 12mm --margin 15mm --proof full -o slate.svg
      guidegen sheet cobble --measured 98.6x99.1 --printer staffroom
    """
    from guidegen.sheets.guides import guide_sheet

    size = sized(marker, lettering)
    save_pages(
        f"sheet-{marker.name}",
        page,
        output,
        lambda setup: guide_sheet(
            size, setup, x_height_mm=lettering.x_height, at=lettering.place, slants_deg=lettering.slant or ()
        ),
    )
