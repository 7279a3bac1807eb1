"""``ink``: somebody's own centreline drawing, inked with a marker."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from guidegen.cli.given import Given, GivenPath
from guidegen.cli.options import SLANT, Output, output_options
from guidegen.cli.params import Length, MarkerRef
from guidegen.cli.saving import save_own_pages
from guidegen.cli.shop import Shop, shop_options

if TYPE_CHECKING:
    from guidegen.profiles.markers import Marker


@click.command()
@click.argument("drawing", type=GivenPath(path_type=Path))
@click.option("--marker", type=MarkerRef(), required=True, help="The marker to ink it with.")
@click.option("--hand", type=Given(), metavar="NAME|PATH", help="Whose pressure and slant to ink with; default by tip.")
@click.option("--slant", type=SLANT, help="Axis, from the baseline, along which down is thick.")
@click.option(
    "--x-height", type=Length(0.1, 1000.0), help="Size of lettering whose pressure is used; default right size."
)
@click.option("--width", type=Length(0.1, 100_000.0), help="The drawing's real width, when it does not say.")
@click.option(
    "--tolerance", type=Length(0.0001, 1.0), default=0.005, show_default="0.005mm", help="How true the edges are."
)
@click.option("--centrelines", is_flag=True, help="Keep the centrelines beside the outlines.")
@output_options
@shop_options
def ink(
    drawing: Path,
    marker: Marker,
    hand: str | None,
    slant: float | None,
    x_height: float | None,
    width: float | None,
    tolerance: float,
    centrelines: bool,
    output: Output,
    shop: Shop,
) -> None:
    """Ink a centreline drawing (SVG) with a marker: thick where the pen travels down, thin where it travels up.

    Lines are inked in the direction they were drawn. A polyline, line or path may state its own widths instead,
    in mm, one for each vertex: data-widths="0.4 1.2 3.2".

    \b
    Examples:
      guidegen ink anchor.svg --marker cobble -o anchor-inked.svg
      guidegen ink anchor.svg --marker slate --width 120mm -o anchor.pdf
      guidegen ink anchor.svg --marker thorn --slant 55 --centrelines
    """
    import guidegen as gg
    from guidegen.cli.progress import waiting

    with waiting("inking"):
        pages = gg.ink(
            drawing,
            marker,
            hand=hand,
            slant_deg=slant,
            x_height_mm=x_height,
            width_mm=width,
            tolerance_mm=tolerance,
            centrelines=centrelines,
        )
    save_own_pages(pages, output, shop, "svg")
