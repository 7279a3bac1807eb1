"""``packet``: the pages of one class as one file."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click
from click.core import ParameterSource

from guidegen.cli.given import Given, GivenPath
from guidegen.cli.options import Output, PaperChoice, output_options, paper_options
from guidegen.cli.params import MarkerRef, Several
from guidegen.cli.saving import save_pages

if TYPE_CHECKING:
    from guidegen.api.pages import Pages
    from guidegen.profiles.markers import Marker

_OPTION = {"margin_mm": "margin"}


@click.command()
@click.argument("source", type=Given(), metavar="FILE|NAME")
@click.option("--marker", "markers", type=Several(MarkerRef(), "MARKER[,MARKER]"), help="In place of the file's.")
@click.option("--names", type=GivenPath(path_type=Path), help="The class: a file of names, one a line, or a table.")
@paper_options
@output_options
def packet(
    source: str, markers: tuple[Marker, ...] | None, names: Path | None, page: PaperChoice, output: Output
) -> None:
    """Make the pages of one class as one file: model, strokes, letters, names, guides.

    FILE is a small .toml that lists them; `class` ships and is a start for one of your own. Every page is made and
    checked before any is written.

    \b
    Examples:
      guidegen packet class --marker pebble -o first-evening.pdf
      guidegen packet class --marker cobble --names class.txt --paper letter
      guidegen packet tuesday.toml
    """
    import guidegen as gg
    context = click.get_current_context()

    def make(**around: Any) -> Pages:
        told = {key: context.get_parameter_source(_OPTION.get(key, key)) for key in around}
        asked = {key: value for key, value in around.items() if told[key] is ParameterSource.COMMANDLINE}
        usual = {key: value for key, value in around.items() if told[key] is ParameterSource.DEFAULT_MAP}
        if around.get("printer") is not None:
            asked["printer"] = around["printer"]
        return gg.packet(source, markers=markers, names=names, usual=usual, **asked)

    save_pages(page, output, make)
