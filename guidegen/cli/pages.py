"""``sheet``, ``letter`` and ``trial``: one page for one marker, or for one that is not known yet."""

from __future__ import annotations

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
from guidegen.cli.sizes import chosen_hand
from guidegen.errors import bad_input

if TYPE_CHECKING:
    from guidegen.lettering.sizing import RightSize
    from guidegen.profiles.markers import Marker


def sized(marker: Marker, lettering: LetteringChoice) -> RightSize:
    """Return the marker's right size in the hand and at the (first) slant asked for."""
    from guidegen.lettering.sizing import right_size

    slant = lettering.slant[0] if lettering.slant else None
    return right_size(marker, chosen_hand(marker, lettering.hand, slant))


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
    from guidegen.sheets.parts.wording import describe, is_mark
    from guidegen.sheets.sample import sample_sheet

    if len(char) != 1:
        raise bad_input("--char", "", char, "one letter", "`guidegen write` writes words")
    if is_mark(char):
        raise bad_input("--char", "", describe(char), "a letter, not an accent alone")
    size = sized(marker, lettering)
    name = f"letter-{marker.name}" if char == "e" else f"letter-{marker.name}-u{ord(char):04x}"
    save_pages(
        name,
        page,
        output,
        lambda setup: sample_sheet(size, setup, char=char, x_height_mm=lettering.x_height, at=lettering.place),
        shop=shop,
    )


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
    from guidegen.sheets.trial import trial_sheet

    save_pages(
        "trial",
        page,
        output,
        lambda setup: trial_sheet(setup, from_mm=from_mm, to_mm=to_mm, slants_deg=slant or ()),
        proof="full",
    )
