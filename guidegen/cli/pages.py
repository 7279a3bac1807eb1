"""``sheet``, ``letter`` and ``trial``: one page for one marker, or for one that is not known yet."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import TYPE_CHECKING, Any

import click

from guidegen.cli.given import Given
from guidegen.cli.options import (
    SLANT,
    LetteringChoice,
    Output,
    PaperChoice,
    guide_style_option,
    header_option,
    lettering_options,
    output_options,
    paper_options,
    paper_was_given,
    slant_lines_option,
    strokes_option,
)
from guidegen.cli.params import Length, MarkerRef, Several, Whole
from guidegen.cli.saving import save_pages
from guidegen.cli.shop import Shop, print_options, shop_options

if TYPE_CHECKING:
    from guidegen.api.pages import Pages
    from guidegen.profiles.markers import Marker
    from guidegen.profiles.papers import Paper


markers_argument = click.argument("marker", nargs=-1, required=True, type=MarkerRef(), metavar="MARKER...")


@click.command()
@markers_argument
@click.option("--row-count", type=Whole(1, 1000), help="So many rows, spread over the page.")
@click.option("--row-gap", type=Length(0.0, 1000.0), help="White between rows; half an x-height unless said.")
@click.option("--left-handed", is_flag=True, help="Model on the right; lines lean left, unless --slant says otherwise.")
@guide_style_option
@slant_lines_option
@header_option
@click.option("--model/--no-model", default=True, help="The sample letter on the first row (usual).")
@strokes_option
@lettering_options
@paper_options
@output_options
@print_options
def sheet(
    marker: tuple[Marker, ...],
    row_gap: float | None,
    lettering: LetteringChoice,
    page: PaperChoice,
    output: Output,
    shop: Shop,
    **wanted: Any,
) -> None:
    """Make a guideline sheet: rows of four lines at the marker's right size, to print at 100 %.

    Of several markers each has a page of one file, or a file each where -o is a folder or has {marker} in it.

    \b
    Examples:
      guidegen sheet cobble -o cobble.pdf
      guidegen sheet grit pebble cobble -o "{marker}-guides.pdf"
      guidegen sheet cobble --at largest --paper a4,letter
      guidegen sheet thorn --hand copperplate --slant 55,80 --landscape
      guidegen sheet slate --x-height 12mm --margin 15mm --proof full -o slate.svg
      guidegen sheet pebble --row-count 6 --guide-style grey --no-slant-lines
      guidegen sheet cobble --left-handed --slant 95
      guidegen sheet cobble --measured 98.6x99.1 --printer staffroom
    """
    import guidegen as gg

    make = partial(gg.sheet, row_gap_mm=row_gap, **wanted, **lettering.values)
    _save_for_each(marker, page, output, make, shop)


def _save_for_each(
    markers: tuple[Marker, ...],
    page: PaperChoice,
    output: Output,
    make: Callable[..., Pages],
    shop: Shop | None = None,
) -> None:
    """Write the pages of all markers in one file, or in a file each where ``--out`` says so."""
    known = {marker.name: marker for marker in markers}
    each = [(name, partial(make, marker)) for name, marker in known.items()]
    save_pages(page, output, partial(make, tuple(known.values())), shop=shop, each=each)


@click.command()
@markers_argument
@click.option("--char", type=Given(), default="e", show_default=True, metavar="LETTER", help="The letter to draw.")
@guide_style_option
@header_option
@strokes_option
@lettering_options
@paper_options
@output_options
@shop_options
def letter(
    marker: tuple[Marker, ...],
    char: str,
    lettering: LetteringChoice,
    page: PaperChoice,
    output: Output,
    shop: Shop,
    **wanted: Any,
) -> None:
    """Draw the sample letter at the right size on its guides, with what decides it measured beside it.

    Beside it stand the smallest and the largest size of the marker's band, so that one picture teaches the rule.
    Without --paper the page is the smallest of a6, a5 and a4 that holds them.

    \b
    Examples:
      guidegen letter cobble -o e.svg
      guidegen letter boulder --paper letter --landscape
      guidegen letter slate --char n -o n.png --ppi 150
      guidegen letter boulder --for cut -o e.dxf
    """
    import guidegen as gg

    given = paper_was_given()

    def make(markers: Any, paper: Paper, **around: Any) -> Pages:
        return gg.letter(markers, char, paper=paper if given else None, **wanted, **lettering.values, **around)

    _save_for_each(marker, page, output, make, shop)


@click.command()
@markers_argument
@click.option(
    "--order",
    type=click.Choice(["abc", "family"]),
    default="abc",
    show_default=True,
    help="Letters from a to z, or by family: those that begin alike together.",
)
@click.option("--guides/--no-guides", default=True, help="Guide lines under every row (usual).")
@click.option("--text", type=Given(), help="Running text at the end, such as a sentence to copy.")
@guide_style_option
@lettering_options
@paper_options
@output_options
@print_options
def alphabet(
    marker: tuple[Marker, ...],
    lettering: LetteringChoice,
    page: PaperChoice,
    output: Output,
    shop: Shop,
    **wanted: Any,
) -> None:
    """Make a model page of a hand in a marker's own ink: basic strokes, letters, figures and signs, on guides.

    Of several markers each has pages of one file, or a file each where -o is a folder or has {marker} in it.

    \b
    Examples:
      guidegen alphabet pebble -o alphabet.pdf
      guidegen alphabet slate --order family --paper a3
      guidegen alphabet grit pebble --text "The tide turns at half past six."
    """
    import guidegen as gg

    _save_for_each(marker, page, output, partial(gg.alphabet, **wanted, **lettering.values), shop)


@click.command()
@click.option("--from", "from_mm", type=Length(0.5, 500.0), default=3.0, help="Smallest x-height (3mm unless said).")
@click.option(
    "--to", "to_mm", type=Length(0.5, 500.0), help="Largest x-height (30mm, or what the paper holds, unless said)."
)
@click.option("--slant", type=Several(SLANT, "DEG[,DEG]"), help="Draw slant lines, degrees from the baseline.")
@guide_style_option
@paper_options
@output_options
@print_options
def trial(
    from_mm: float,
    to_mm: float | None,
    slant: tuple[float, ...] | None,
    guide_style: str,
    page: PaperChoice,
    output: Output,
    shop: Shop,
) -> None:
    """Make a page to find a new marker's size by hand: numbered rows of rising x-height and a comb of bars.

    Write e on each row, take the row where the white inside is as wide as its full downstroke, and read the
    stroke's widths off the comb. `guidegen add` then keeps what was found.

    \b
    Examples:
      guidegen trial -o trial.pdf
      guidegen trial --from 10mm --to 40mm --paper a3
    """
    import guidegen as gg

    save_pages(page, output, partial(gg.trial, from_mm, to_mm, slant_deg=slant, guide_style=guide_style), shop=shop)
