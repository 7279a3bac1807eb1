"""``size``: the right size of a marker, its band, and what fits a line."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from guidegen.cli.given import Given
from guidegen.cli.options import SLANT, json_option, print_json
from guidegen.cli.params import Length, MarkerRef, Number
from guidegen.cli.profiles import TIP_NAMES, marker_from_options, measured_table
from guidegen.errors import Plain, bad_input

if TYPE_CHECKING:
    from guidegen.hands.hand import Hand
    from guidegen.lettering.sizing import RightSize, SampleCounter
    from guidegen.profiles.markers import Marker

LINE_PAPERS = ("a4", "letter", "a5", "a3", "legal")
LINE_MARGIN_MM = 12.0


@click.command()
@click.argument("marker", type=MarkerRef(), required=False)
@click.option("--downstroke", type=Length(), help="Without a profile: the thickest stroke.")
@click.option("--hairline", type=Length(), help="Without a profile: the thinnest stroke.")
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
    from guidegen.lettering.sizing import right_size

    if marker is None:
        marker = _measured(downstroke, hairline, tip, nib_angle)
    elif any(value is not None for value in (downstroke, hairline, tip, nib_angle)):
        raise bad_input("MARKER", "", marker.name, "either a marker or measured widths, not both")
    found = right_size(marker, chosen_hand(marker, hand, slant))
    values = figures(found)
    if x_height is not None:
        verdict = found.verdict(x_height)
        write = x_height if verdict == "right" else found.x_height_mm
        values |= {"given_x_height_mm": x_height, "verdict": verdict, "write_x_height_mm": write}
    if as_json:
        print_json(values)
    else:
        _print_figures(found, values)


def _measured(downstroke: float | None, hairline: float | None, tip: str | None, nib_angle: float | None) -> Marker:
    if downstroke is None:
        fix = "guidegen size cobble, or guidegen size --downstroke 3.2 --hairline 0.6"
        raise bad_input("MARKER", "", Plain("nothing"), "a marker, or --downstroke and --hairline", fix)
    table = measured_table("measured", tip or "brush", downstroke, hairline, nib_angle)
    return marker_from_options(table)  # type: ignore[no-any-return]


def chosen_hand(marker: Marker, ref: str | None, slant_deg: float | None = None) -> Hand:
    """Return the hand asked for, or the one its tip is written with, at the slant asked for."""
    from guidegen.hands.library import DEFAULT_HANDS, load_hand

    hand = load_hand(DEFAULT_HANDS[marker.tip] if ref is None else ref)
    return hand if slant_deg is None else hand.slanted(slant_deg)


def figures(found: RightSize) -> dict[str, Any]:
    """Return the contract's values of ``size --json``."""
    from guidegen.lettering.letters import SAMPLE_LETTER
    from guidegen.lettering.sizing import counter_at

    marker, hand, counter = found.marker, found.hand, found.counter
    if counter is None and SAMPLE_LETTER in hand.letters:  # told, though the rule does not use it
        counter = counter_at(found.lettering)
    advance = found.mean_advance_mm
    return {
        "marker": marker.name,
        "tip": marker.tip,
        "hand": hand.name,
        "rule": found.rule,
        "slant_deg": hand.slant_deg,
        "downstroke_mm": marker.downstroke_mm,
        "hairline_mm": marker.hairline_mm,
        "x_height_mm": found.x_height_mm,
        "ascender_height_mm": found.ascender_height_mm,
        "descender_mm": found.descender_mm,
        "smallest_x_height_mm": found.smallest_x_height_mm,
        "largest_x_height_mm": found.largest_x_height_mm,
        "counter": None if counter is None else _counter_figures(counter),
        "mean_advance_mm": advance,
        "letters_per_line": _letters_per_line(advance),
    }


def _counter_figures(counter: SampleCounter) -> dict[str, Any]:
    form = counter.form
    return {
        "width_mm": counter.width_mm,
        "length_mm": form.length,
        "shape": form.shape,
        "skew": form.skew,
        "widest_at": form.widest_at,
        "length_to_width": form.length_to_width,
        "tip_deg": form.tip_deg,
    }


def _letters_per_line(advance_mm: float | None) -> dict[str, int]:
    """Return floor(line / mean advance) for each paper, portrait, at the default margin."""
    from guidegen.hands.library import load_paper

    if advance_mm is None:
        return {}
    return {name: int((load_paper(name).width_mm - 2 * LINE_MARGIN_MM) // advance_mm) for name in LINE_PAPERS}


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
