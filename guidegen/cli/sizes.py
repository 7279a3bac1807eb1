"""``size``: the right size of a marker, its band, and what fits a line."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from guidegen.cli.given import Given
from guidegen.cli.options import SLANT, json_option, print_json, suited_hand
from guidegen.cli.params import TIP_NAMES, Length, MarkerRef, Number
from guidegen.errors import Plain, bad_input

if TYPE_CHECKING:
    from guidegen.lettering.sizing import RightSize
    from guidegen.profiles.markers import Marker


@click.command()
@click.argument("marker", type=MarkerRef(), required=False)
@click.option("--downstroke", type=Length(), help="Without a profile: the width of a downstroke.")
@click.option("--hairline", type=Length(), help="Without a profile: the width of an upstroke (pens: a hairline).")
@click.option("--tip", type=click.Choice(TIP_NAMES), help="Without a profile: the kind of tip (default brush).")
@click.option("--nib-angle", type=Number(0, 90, "an angle", "DEG"), help="Without a profile, broad: how it is held.")
@click.option("--hand", type=Given(), metavar="NAME|PATH", help="The hand (style of lettering); default by tip.")
@click.option("--slant", type=SLANT, help="Slant from the baseline instead of the hand's.")
@click.option("--x-height", type=Length(0.1, 1000.0), help="Judge this x-height: too small, right or too large.")
@json_option
def size(
    marker: Marker | None,
    downstroke: float | None,
    hairline: float | None,
    tip: str | None,
    nib_angle: float | None,
    hand: str | None,
    slant: float | None,
    x_height: float | None,
    as_json: bool,
) -> None:
    """Tell a marker's right size: the x-height at which its letters stay open and look right.

    For brush and pointed tips that is where the white inside e is as wide as the letter's full downstroke; for
    broad tips the hand's number of nib widths, for round tips 7 line widths.

    \b
    Examples:
      guidegen size cobble
      guidegen size --downstroke 2.4mm --hairline 0.5mm
      guidegen size --tip round --downstroke 0.5
      guidegen size cobble --x-height 8mm
      guidegen size cobble --json
    """
    import guidegen as gg

    if marker is None:
        marker = _measured(downstroke, hairline, tip, nib_angle)
    elif any(value is not None for value in (downstroke, hairline, tip, nib_angle)):
        raise bad_input("MARKER", "", marker.name, "either a marker or measured widths, not both")
    found = gg.right_size(marker, hand=suited_hand(hand, marker), slant_deg=slant)
    values = found.as_dict()
    if x_height is not None:
        verdict = found.verdict(x_height)
        write = x_height if verdict == "right" else found.x_height_mm
        values |= {"given_x_height_mm": x_height, "verdict": verdict, "write_x_height_mm": write}
    if as_json:
        print_json(values)
    else:
        _print_figures(found, values)


def _measured(downstroke: float | None, hairline: float | None, tip: str | None, nib_angle: float | None) -> Marker:
    from guidegen.cli.measured import measured_marker

    if downstroke is None:
        fix = "guidegen size cobble, or guidegen size --downstroke 3.2 --hairline 0.6"
        raise bad_input("MARKER", "", Plain("nothing"), "a marker, or --downstroke and --hairline", fix)
    return measured_marker(
        "measured", tip=tip, downstroke_mm=downstroke, hairline_mm=hairline, nib_angle_deg=nib_angle
    )


def _print_figures(found: RightSize, values: dict[str, Any]) -> None:
    marker, hand, counter = found.marker, found.hand, found.counter
    rows = [
        ("x-height", f"{found.x_height_mm:.2f} mm", _reason(found)),
        ("band", f"{found.smallest_x_height_mm:.2f} to {found.largest_x_height_mm:.2f} mm", ""),
        ("ascender height", f"{found.ascender_height_mm:.2f} mm", "above the baseline"),
        ("descender", f"{found.descender_mm:.2f} mm", "below the baseline"),
    ]
    if counter is not None:
        shape = f"wide, {counter.form.length:.2f} mm long, {counter.form.shape}"
        rows.append(("counter of e", f"{counter.width_mm:.2f} mm", shape))
    if values["letters_per_line"]:
        fits = ", ".join(f"{paper} {count}" for paper, count in values["letters_per_line"].items())
        rows.append(("letters per line", fits, ""))
    click.echo(
        f"{marker.label}: {marker.tip} {marker.downstroke_mm:g} / {marker.hairline_mm:g} mm, "
        f"hand {hand.name}, slant {hand.slant_deg:g}°"
    )
    for name, value, note in rows:
        click.echo(f"  {name:<17} {value:<18} {note}".rstrip())
    if "verdict" in values:
        advice = "" if values["verdict"] == "right" else f": write at {values['write_x_height_mm']:.2f} mm"
        click.echo(f"  {values['given_x_height_mm']:g} mm is {values['verdict']}{advice}")


def _reason(found: RightSize) -> str:
    if found.marker.x_height_mm is not None:
        return "found by trial"
    value, unit = found.hand.size.value, found.hand.size.rule
    if unit == "counter":
        return "where the white inside e is as wide as its full downstroke"
    return f"{value:g} {'nib' if unit == 'nib widths' else 'line'} widths"
