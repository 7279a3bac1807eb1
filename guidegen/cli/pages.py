"""``sheet``, ``letter`` and ``trial``: one page for one marker, or for one that is not known yet."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

import click

from guidegen.cli.given import Given
from guidegen.cli.options import (
    SLANT,
    LetteringChoice,
    Output,
    PaperChoice,
    lettering_options,
    marker_argument,
    output_options,
    paper_options,
)
from guidegen.cli.params import Length, Several
from guidegen.cli.saving import save_pages
from guidegen.cli.shop import Shop, shop_options

if TYPE_CHECKING:
    from guidegen.profiles.markers import Marker


@click.command()
@marker_argument
@lettering_options
@paper_options
@output_options
def sheet(marker: Marker, lettering: LetteringChoice, page: PaperChoice, output: Output) -> None:
    """Make a guideline sheet: rows of four lines at the marker's right size, to print at 100 %.

    \b
    Examples:
      guidegen sheet cobble -o cobble.pdf
      guidegen sheet cobble --at largest --paper a4,letter
      guidegen sheet thorn --hand copperplate --slant 55,80 --landscape
      guidegen sheet slate --x-height 12mm --margin 15mm --proof full -o slate.svg
      guidegen sheet cobble --measured 98.6x99.1 --printer staffroom
    """
    import guidegen as gg

    save_pages(page, output, partial(gg.sheet, marker, **lettering.values))


@click.command()
@marker_argument
@click.option("--char", type=Given(), default="e", show_default=True, metavar="LETTER", help="The letter to draw.")
@lettering_options
@paper_options
@output_options
@shop_options
def letter(
    marker: Marker, char: str, lettering: LetteringChoice, page: PaperChoice, output: Output, shop: Shop
) -> None:
    """Draw the sample letter at the right size on its guides, with what decides it measured beside it.

    Beside it stand the smallest and the largest size of the marker's band, so that one picture teaches the rule.

    \b
    Examples:
      guidegen letter cobble -o e.svg
      guidegen letter boulder --paper letter --landscape
      guidegen letter slate --char n -o n.png --ppi 150
      guidegen letter boulder --for cut -o e.dxf
    """
    import guidegen as gg

    save_pages(page, output, partial(gg.letter, marker, char, **lettering.values), shop=shop)


@click.command()
@click.option("--from", "from_mm", type=Length(0.5, 500.0), default=3.0, help="Smallest x-height (3mm unless said).")
@click.option("--to", "to_mm", type=Length(0.5, 500.0), default=20.0, help="Largest x-height (20mm unless said).")
@click.option("--slant", type=Several(SLANT, "DEG[,DEG]"), help="Draw slant lines, degrees from the baseline.")
@paper_options
@output_options
def trial(from_mm: float, to_mm: float, slant: tuple[float, ...] | None, page: PaperChoice, output: Output) -> None:
    """Make a page to find a new marker's size by hand: numbered rows of rising x-height and a comb of bars.

    Write e on each row, take the row where the white inside is as wide as its full downstroke, and read the
    stroke's widths off the comb. `guidegen add` then keeps what was found.

    \b
    Examples:
      guidegen trial -o trial.pdf
      guidegen trial --from 10mm --to 40mm --paper a3
    """
    import guidegen as gg

    save_pages(page, output, partial(gg.trial, from_mm, to_mm, slant_deg=slant))
