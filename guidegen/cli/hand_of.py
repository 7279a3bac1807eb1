"""How a command writes: its marker in the hand, slant and size that its options ask for."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from guidegen.cli.options import LetteringChoice
from guidegen.cli.saving import note
from guidegen.cli.sizes import chosen_hand

if TYPE_CHECKING:
    from guidegen.lettering.lettering import Lettering
    from guidegen.profiles.markers import Marker

missing_option = click.option(
    "--missing",
    type=click.Choice(["error", "box"]),
    default="error",
    show_default=True,
    help="A character the hand lacks: stop and name it, or draw an open box.",
)


def in_hand(marker: Marker, options: LetteringChoice, missing: str = "error") -> Lettering:
    """Return how to write with ``marker``: hand, slant and x-height from the options."""
    from guidegen.lettering.lettering import Lettering
    from guidegen.lettering.sizing import right_size
    from guidegen.sheets.guides import band_warning, chosen_x_height_mm

    slant = options.slant[0] if options.slant else None
    hand = chosen_hand(marker, options.hand, slant)
    size = right_size(marker, hand)
    x_height = options.x_height or chosen_x_height_mm(size, options.place)
    note(band_warning(size, x_height))
    return Lettering(marker, hand, x_height, boxes=missing == "box")
