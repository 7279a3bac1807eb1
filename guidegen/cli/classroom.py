"""``handout``, ``compare`` and ``worksheet``: what a teacher hands out."""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from guidegen.cli.given import Given, GivenPath
from guidegen.cli.options import (
    LetteringChoice,
    Output,
    PaperChoice,
    guide_style_option,
    header_option,
    lettering_options,
    output_options,
    paper_options,
    slant_lines_option,
)
from guidegen.cli.params import Length, MarkerRef, Number, PageWords, Several, marker_folders
from guidegen.cli.pieces import missing_option
from guidegen.cli.saving import save_pages
from guidegen.cli.shop import Shop, print_options
from guidegen.errors import bad_input

if TYPE_CHECKING:
    from guidegen.lettering.lettering import Lettering
    from guidegen.profiles.markers import Marker

FADE = "solid,hollow,dotted,starts,copy,memory"


def _markers(markers: tuple[Marker, ...], every: bool) -> tuple[Marker, ...]:
    """Return the markers asked for, each once; with ``every`` all that are known."""
    from guidegen.hands.library import list_markers

    if every:
        found, problems = list_markers(marker_folders(click.get_current_context()))
        for problem in problems:
            click.echo(f"guidegen: left out: {problem}", err=True)
        markers = (*markers, *(entry.marker for entry in found))
    if not markers:
        raise bad_input("MARKER", "", "nothing", "at least one marker, or --all")
    return tuple({marker.name: marker for marker in markers}.values())


def _letterings(markers: tuple[Marker, ...], options: dict[str, Any]) -> list[Lettering]:
    import guidegen as gg
    from guidegen.cli.progress import shown

    with shown(markers, "sizing markers") as todo:
        return [gg.lettering_of(marker, **options) for marker in todo]


@click.command()
@click.argument("markers", nargs=-1, type=MarkerRef(), metavar="MARKER...")
@click.option("--all", "every", is_flag=True, help="All known markers.")
@click.option("--title", type=PageWords(), help="At the top of the first page (Markers for this class unless said).")
@guide_style_option
@slant_lines_option
@lettering_options
@paper_options
@output_options
@print_options
def handout(
    markers: tuple[Marker, ...],
    every: bool,
    title: str | None,
    lettering: LetteringChoice,
    page: PaperChoice,
    output: Output,
    shop: Shop,
    **wanted: Any,
) -> None:
    """Make a class handout: every marker's strokes, model letters, figures and guides at true size.

    \b
    Examples:
      guidegen handout grit pebble cobble
      guidegen handout --all --paper letter -o class.pdf
      guidegen handout pebble cobble --title "Tuesday evening" --at largest
    """
    import guidegen as gg

    chosen = _letterings(_markers(markers, every), lettering.values)
    save_pages(page, output, partial(gg.handout, chosen, title=title, **wanted), shop=shop)


@click.command()
@click.argument("markers", nargs=-1, type=MarkerRef(), metavar="MARKER...")
@click.option("--all", "every", is_flag=True, help="All known markers.")
@click.option("--text", default="tide", show_default=True, help="The word to write.")
@guide_style_option
@lettering_options
@paper_options
@output_options
@print_options
def compare(
    markers: tuple[Marker, ...],
    every: bool,
    text: str,
    lettering: LetteringChoice,
    page: PaperChoice,
    output: Output,
    shop: Shop,
    guide_style: str,
) -> None:
    """Write one word in every marker at one size, and again each at its right size.

    The one size is that of the marker in the middle, or --x-height.

    \b
    Examples:
      guidegen compare pebble cobble boulder
      guidegen compare --all --landscape --text wave
      guidegen compare pebble cobble --x-height 10mm -o sizes.svg
    """
    import guidegen as gg

    chosen = _letterings(_markers(markers, every), lettering.values | {"x_height_mm": None})
    make = partial(gg.compare, chosen, text, x_height_mm=lettering.x_height, guide_style=guide_style)
    save_pages(page, output, make, shop=shop)


class Repeats(click.ParamType):
    """How often a text stands in a row: a number, or ``fill``."""

    name = "repeats"

    def get_metavar(self, param: click.Parameter, ctx: click.Context) -> str:  # noqa: ARG002
        return "N|fill"

    def convert(self, value: object, param: click.Parameter | None, ctx: click.Context | None) -> int | str:  # noqa: ARG002
        if value == "fill":
            return "fill"
        try:
            number = int(str(value))
        except ValueError:
            number = 0
        if not 1 <= number <= 200:
            raise bad_input("--repeats", "", value, "a number from 1 to 200, or fill")
        return number


@click.command()
@click.argument("markers", type=Several(MarkerRef(), "MARKER"), metavar="MARKER[,MARKER]")
@click.argument("text", nargs=-1)
@click.option("--letters", type=Given(), metavar="a-z", help="Letters to practise, such as a-z, aeo or A-F,a-f.")
@click.option(
    "--order",
    type=click.Choice(["abc", "family"]),
    default="abc",
    show_default=True,
    help="Letters as given, or by family: those that begin alike together.",
)
@click.option("--drills", is_flag=False, flag_value="all", metavar="[NAMES]", help="Basic strokes: all, or named ones.")
@click.option("--names", type=GivenPath(path_type=Path), help="A file of names, one a line: a sheet each.")
@click.option(
    "--rows",
    type=Given(),
    default=None,
    metavar="LIST",
    help=f"Forms of the rows in order; default {FADE}; also blank.",
)
@click.option(
    "--row-gap", "row_gap_mm", type=Length(0.0, 1000.0), help="White between rows; half an x-height unless said."
)
@click.option("--repeats", type=Repeats(), help="How often the text stands in a row; it fills it unless said.")
@click.option("--arrows/--no-arrows", default=None, help="Stroke numbers and arrows; on for letters; before a text.")
@click.option("--left-handed", is_flag=True, help="Models on the right, name line and binding edge mirrored.")
@click.option("--tint", type=Number(5, 95, "per cent of black", "PERCENT"), help="Print rows to trace in grey.")
@click.option("--title", type=PageWords(), help="At the top, instead of the text.")
@click.option("--note", type=PageWords(), default="", help="A small line under the title.")
@click.option("--no-name-line", is_flag=True, help="Leave out the line for name and date.")
@missing_option
@click.option("--binding", type=Length(0.0, 60.0), default=0.0, help="More white at the binding edge.")
@guide_style_option
@slant_lines_option
@header_option
@lettering_options
@paper_options
@output_options
@print_options
def worksheet(
    markers: tuple[Marker, ...],
    text: tuple[str, ...],
    names: Path | None,
    no_name_line: bool,
    title: str | None,
    binding: float,
    lettering: LetteringChoice,
    page: PaperChoice,
    output: Output,
    shop: Shop,
    **practised: Any,
) -> None:
    """Make practice rows that fade from a model to the learner's own hand.

    Rows come as solid, hollow, dotted and starts only, all in black, so that a photocopy keeps them, and end in
    copying and in writing from memory. Give TEXT, --letters, --drills or --names.

    \b
    Examples:
      guidegen worksheet cobble "high tide"
      guidegen worksheet flint --letters a-e --left-handed
      guidegen worksheet pebble --drills --at largest
      guidegen worksheet pebble,cobble "wind and water" --rows solid,dotted,blank
      guidegen worksheet pebble --names class.txt --title "Your name" -o names.pdf
    """
    import guidegen as gg
    from guidegen.api.words import names_of
    from guidegen.cli.progress import bar

    people = () if names is None else names_of(names)[0]
    make = partial(
        gg.worksheet,
        markers,
        text or None,
        names=names,
        name_line=not no_name_line,
        title=title or "",
        binding_mm=binding,
        **practised,
        **lettering.values,
    )
    with bar("writing names", len(people) * len(page.paper)) as progress:
        save_pages(page, output, make, shop=shop, progress=progress.advance)
