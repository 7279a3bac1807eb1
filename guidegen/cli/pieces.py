"""``write`` and ``plan``: a text in a marker's hand, as ink or as a plan for it."""

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
    json_option,
    lettering_options,
    marker_argument,
    output_options,
    paper_options,
    paper_was_given,
    slant_lines_option,
    suited_hand,
)
from guidegen.cli.params import Whole
from guidegen.cli.saving import save_pages
from guidegen.cli.shop import Shop, shop_options, shop_options_of_one
from guidegen.errors import GuidegenError, bad_input

if TYPE_CHECKING:
    from guidegen.api.pages import Pages
    from guidegen.profiles.markers import Marker
    from guidegen.profiles.papers import Paper

align_option = click.option(
    "--align", type=click.Choice(["left", "center", "right"]), default="left", show_default=True, help="Of the lines."
)

missing_option = click.option(
    "--missing",
    type=click.Choice(["error", "box"]),
    default="error",
    show_default=True,
    help="A character the hand lacks: stop and name it, or draw an open box.",
)


@click.command()
@marker_argument
@click.argument("text", nargs=-1)
@align_option
@click.option("--guides", is_flag=True, help="Draw the guide lines too.")
@missing_option
@guide_style_option
@slant_lines_option
@lettering_options
@paper_options
@output_options
@shop_options
def write(
    marker: Marker,
    text: tuple[str, ...],
    align: Any,
    guides: bool,
    missing: Any,
    lettering: LetteringChoice,
    page: PaperChoice,
    output: Output,
    shop: Shop,
    **wanted: Any,
) -> None:
    """Write TEXT as ink outlines at the marker's right size; each TEXT, or \\n in it, begins a new line.

    Without --paper the page is as large as the ink and its margin; on a paper long lines are broken evenly.

    \b
    Examples:
      guidegen write cobble "high tide" -o tide.svg
      guidegen write cobble "high tide" "at seven" --align center
      guidegen write slate "The boats come in with the evening tide" --paper a3 --landscape
      guidegen write boulder "harbour fair" --paper a1 --landscape --printer-paper a4
      guidegen write boulder "Regatta" --for cut --bridges 2mm -o regatta.dxf
      guidegen write grit "Mara Lund" --paper 85x55mm --for print --up 8 -o cards.pdf
    """
    import guidegen as gg

    on_paper = paper_was_given() or page.landscape
    chosen = page._replace(proof=page.proof or ("bar" if shop.purpose == "cut" else None))

    def make(paper: Paper, **around: Any) -> Pages:
        own = paper if on_paper else None
        return gg.write(
            marker, text, align=align, guides=guides, missing=missing, paper=own, **wanted, **lettering.values, **around
        )

    save_pages(chosen, output, make, shop=shop)


@click.command()
@click.argument("words", nargs=-1, metavar="MARKER TEXT...")
@click.option(
    "--line", "own_lines", type=Given(), multiple=True, metavar="MARKER:TEXT", help="A line with a marker of its own."
)
@click.option("--lines", type=Whole(1, 1000), help="Break into this many lines.")
@align_option
@click.option("--names", type=GivenPath(path_type=Path), help="A file of names: a set at one x-height.")
@click.option("--up", type=Whole(1, 200), help="With --names: place cards on a sheet.")
@click.option("--envelope", is_flag=True, help="Keep the stamp's corner free (postal rules are the post's).")
@guide_style_option
@slant_lines_option
@lettering_options
@paper_options
@output_options
@shop_options_of_one
@json_option
def plan(
    words: tuple[str, ...],
    own_lines: tuple[str, ...],
    lines: int | None,
    align: Any,
    names: Path | None,
    up: int | None,
    envelope: bool,
    lettering: LetteringChoice,
    page: PaperChoice,
    output: Output,
    as_json: bool,
    shop: Shop,
    guide_style: str,
    slant_lines: bool,
) -> None:
    """Plan a piece: does TEXT fit the paper, and what would make it fit?

    Tells lines, sizes, the smallest paper that holds it and the biggest marker that fits. With --out it writes
    the layout as guides and thin contours, to letter over or on a light box.

    \b
    Examples:
      guidegen plan cobble "The boats come in with the evening tide" --paper a4
      guidegen plan cobble "The boats come in" --lines 2 --align center -o layout.pdf
      guidegen plan --line boulder:Regatta --line pebble:"on the harbour wall" --paper a3
      guidegen plan pebble --names guests.txt --up 8 -o cards.pdf
      guidegen plan pebble "Harbour Office" --paper dl --envelope
    """
    import guidegen as gg
    from guidegen.cli.plans import known_markers, marker_named, own_line, save_plan

    known = known_markers()
    tools: list[Marker] = []
    if names is not None:
        if len(words) != 1 or own_lines or lines is not None:
            raise bad_input("--names", "", " ".join(words) or "no marker", "one MARKER and no TEXT")
        tools = [marker_named(words[0])]
        make: Any = partial(gg.cards, tools[0], names, up=up)
    elif up is not None:
        raise GuidegenError("--up: it places cards for a set of names; add --names FILE")
    elif own_lines:
        if words or lines is not None:
            raise GuidegenError("--line: each line has its own marker and text; leave out MARKER, TEXT and --lines")
        own = [own_line(entry) for entry in own_lines]
        tools = [tool for tool, _ in own]
        make = partial(gg.plan, own_lines=own, align=align, envelope=envelope)
    elif len(words) < 2:
        found = " ".join(words) or "nothing"
        raise bad_input("plan", "", found, "MARKER TEXT, or --line MARKER:TEXT, or --names FILE")
    else:
        tools = [marker_named(words[0])]
        make = partial(gg.plan, tools[0], words[1:], lines=lines, align=align, envelope=envelope)
    hand = suited_hand(click.get_current_context().params["hand"], *tools)
    lettering = lettering._replace(hand=hand)
    looks = {"guide_style": guide_style} | ({} if names is not None else {"slant_lines": slant_lines})
    save_plan(partial(make, known=known, **looks, **lettering.values), page, output, as_json=as_json, shop=shop)
