"""What ``plan`` does with a plan: told in words or JSON, and written as a layout when asked."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

import click

from guidegen.cli.options import Output, PaperChoice, json_text
from guidegen.cli.params import marker_folders
from guidegen.cli.progress import waiting
from guidegen.cli.saving import around, chosen_printer, note, save_pages, tell_notes
from guidegen.cli.shop import Shop
from guidegen.errors import bad_input

if TYPE_CHECKING:
    from guidegen.api.pages import Pages
    from guidegen.api.plans import Cards, PlannedPiece
    from guidegen.profiles.markers import Marker


def marker_named(name: str) -> Marker:
    """Return the marker called ``name``."""
    from guidegen.hands.library import load_marker

    return load_marker(name, marker_folders(click.get_current_context()))


def known_markers() -> tuple[Marker, ...]:
    """Return every known marker, those of ``--markers`` too."""
    from guidegen.hands.library import list_markers

    found, _ = list_markers(marker_folders(click.get_current_context()))
    return tuple(entry.marker for entry in found)


def own_line(entry: str) -> tuple[Marker, str]:
    """Return the marker and the text of a line with a marker of its own, ``MARKER:TEXT``."""
    name, colon, text = entry.partition(":")
    if not colon:
        raise bad_input("--line", "", entry, "MARKER:TEXT such as cobble:tide")
    return marker_named(name.strip()), text


def save_plan(
    make: Callable[..., PlannedPiece | Cards], page: PaperChoice, output: Output, *, as_json: bool, shop: Shop
) -> None:
    """Tell what a plan on the (first) paper found, and write its layout on each when ``--out`` is given."""
    with waiting("planning"):
        found = make(paper=page.paper[0], **around(page, chosen_printer(page)))
        told = json_text(found.as_dict()) if as_json else str(found)  # other papers and markers are tried only now
    note(*found.notes)
    if output.out is None and output.file_format is None:
        click.echo(told)
        tell_notes()
        return

    def layout(**on_paper: Any) -> Pages:
        return make(**{**on_paper, "known": ()}).layout()  # who else would fit is told already

    save_pages(page, output, layout, shop=shop, told=told)
