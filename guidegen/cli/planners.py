"""``planner``: guide pages for a tablet, at its own pixels."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

import click

from guidegen.cli.given import Given
from guidegen.cli.options import (
    LetteringChoice,
    Output,
    guide_style_option,
    language_option,
    lettering_options,
    output_options,
    slant_lines_option,
)
from guidegen.cli.params import Length, MarkerRef, PageWords
from guidegen.cli.saving import save_own_pages
from guidegen.cli.shop import Shop, print_options
from guidegen.errors import bad_input

if TYPE_CHECKING:
    from guidegen.profiles.markers import Marker

_SCREEN_PPI = 264.0
_PIXELS = re.compile(r"\s*+([0-9]{2,5}+)\s*+[x×]\s*+([0-9]{2,5}+)\s*+", re.ASCII)


class Pixels(click.ParamType):
    """A size in pixels, ``WxH``."""

    name = "pixels"

    def get_metavar(self, param: click.Parameter, ctx: click.Context) -> str:  # noqa: ARG002
        return "WxH"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> tuple[int, int]:  # noqa: ARG002
        match = _PIXELS.fullmatch(value) if isinstance(value, str) else None
        if match is None or not all(100 <= int(side) <= 20_000 for side in match.groups()):
            raise bad_input("--size", "", value, "pixels such as 1620x2160, each from 100 to 20000")
        return int(match.group(1)), int(match.group(2))


@click.command()
@click.argument("markers", nargs=-1, required=True, type=MarkerRef(), metavar="MARKER...")
@click.option("--size", "pixels", type=Pixels(), default="1620x2160", show_default=True, help="Pixels of the page.")
@click.option(
    "--theme",
    type=Given(),
    default="light",
    show_default=True,
    metavar="NAME|#rrggbb",
    help="The ground: light, cream, mint, sky, rose, dark, night, pine, plum, or a colour.",
)
@click.option("--letters", type=Given(), metavar="a-z", help="A page for each of these letters too.")
@click.option("--title", type=PageWords(), help="On the index page (Lettering unless said).")
@click.option("--margin", type=Length(0.0, 200.0), default=10.0, show_default="10mm", help="White on every side.")
@click.option("--credit", type=PageWords(), help="A line of your own at the foot of each page.")
@language_option
@guide_style_option
@slant_lines_option
@lettering_options
@output_options
@print_options
def planner(
    markers: tuple[Marker, ...],
    pixels: tuple[int, int],
    theme: Any,
    letters: str | None,
    title: str | None,
    margin: float,
    credit: str | None,
    lettering: LetteringChoice,
    output: Output,
    shop: Shop,
    **wanted: Any,
) -> None:
    """Make pages for a digital planner: an index and linked guide pages, at exactly the pixels of a screen.

    --ppi is the screen's resolution; without it 264. PDF pages are linked there and back; PNG pages may be
    --transparent.

    \b
    Examples:
      guidegen planner pebble cobble
      guidegen planner pebble --letters a-z --theme dark -o letters.pdf
      guidegen planner cobble --theme cream
      guidegen planner cobble --size 2048x2732 --ppi 264 --format png --transparent
    """
    import guidegen as gg

    given = click.get_current_context().get_parameter_source("ppi")
    ppi = _SCREEN_PPI if given is None or given.name == "DEFAULT" else output.ppi
    pages = gg.planner(
        markers,
        size_px=pixels,
        ppi=ppi,
        theme=theme,
        letters=letters,
        title=title,
        margin_mm=margin,
        credit=credit or "",
        **wanted,
        **lettering.values,
    )
    save_own_pages(pages, output._replace(ppi=ppi), shop, ppi_is_size=True)
