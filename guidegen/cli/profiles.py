"""``markers`` and ``add``: the profiles that are known, and a new one."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from guidegen.cli.files import STDOUT
from guidegen.cli.given import Given, GivenPath
from guidegen.cli.options import json_option, print_json
from guidegen.cli.params import TIP_NAMES, Length, Number, marker_folders
from guidegen.errors import Plain, bad_input

if TYPE_CHECKING:
    from guidegen.hands.library import Found
    from guidegen.profiles.markers import Marker


@click.command()
@click.option(
    "--x-height", type=Length(0.1, 1000.0), help="Only those that fit this x-height, a ruling already at hand."
)
@click.option("--remove", type=Given(), metavar="NAME", help="Remove a profile of your own.")
@click.option("--rename", type=(Given(), Given()), metavar="OLD NEW", help="Give a profile of your own another name.")
@json_option
@click.pass_context
def markers(
    ctx: click.Context, x_height: float | None, remove: str | None, rename: tuple[str, str] | None, as_json: bool
) -> None:
    """List the known markers and their right sizes, thinnest first; or remove or rename one of your own.

    Your own profiles hide built-in ones of the same name. A file that cannot be used is named on stderr.

    \b
    Examples:
      guidegen markers
      guidegen markers --x-height 8mm
      guidegen markers --rename tidepen tide-pen
      guidegen markers --remove tide-pen
    """
    from guidegen.cli.progress import shown
    from guidegen.hands.library import list_markers

    if remove is not None or rename is not None:
        if (remove is not None and rename is not None) or x_height is not None or as_json:
            raise bad_input("markers", "", Plain("other options beside it"), "--remove or --rename alone")
        _change(ctx, remove, rename)
        return
    found, problems = list_markers(marker_folders(ctx))
    with shown(found, "sizing markers") as todo:
        rows = [_row(entry) for entry in todo]
    if x_height is not None:
        rows = [row for row in rows if _fits(row, x_height)]
        rows.sort(key=lambda row: abs(row["x_height_mm"] - x_height))
    if as_json:
        print_json({"markers": rows})
    elif rows:
        _print_table(rows)
    else:
        click.echo(f"no known marker is right at an x-height of {x_height:g} mm; `guidegen markers` lists all")
    for line in problems:
        click.echo(f"guidegen: {line}", err=True)


def _change(ctx: click.Context, remove: str | None, rename: tuple[str, str] | None) -> None:
    """Remove or rename a profile in the folder that ``--markers`` names, else in the person's own."""
    from guidegen.hands.own import remove_marker, rename_marker

    marker_folders(ctx)  # refuses a folder that is none
    folder = ctx.find_root().obj.markers_folder
    if remove is not None:
        click.echo(f"removed {remove_marker(remove, folder)}")
    if rename is not None:
        click.echo(f"saved {rename_marker(*rename, folder)}")


def _row(entry: Found) -> dict[str, Any]:
    from guidegen.errors import GuidegenError
    from guidegen.hands.library import DEFAULT_HANDS, load_hand
    from guidegen.lettering.sizing import right_size

    marker = entry.marker
    row: dict[str, Any] = {
        "marker": marker.name,
        "label": marker.label,
        "tip": marker.tip,
        "downstroke_mm": marker.downstroke_mm,
        "hairline_mm": marker.hairline_mm,
        "x_height_mm": None,
        "smallest_x_height_mm": None,
        "largest_x_height_mm": None,
        "built_in": entry.built_in,
    }
    try:
        size = right_size(marker, load_hand(DEFAULT_HANDS[marker.tip]))
    except GuidegenError:  # no size works for it: listed all the same, `size` says why
        return row
    keys = ("x_height_mm", "smallest_x_height_mm", "largest_x_height_mm")
    return row | {key: getattr(size, key) for key in keys}


def _fits(row: dict[str, Any], x_height_mm: float) -> bool:
    low, high = row["smallest_x_height_mm"], row["largest_x_height_mm"]
    return low is not None and low <= x_height_mm <= high


def _print_table(rows: list[dict[str, Any]]) -> None:
    lines = [("marker", "tip", "downstroke", "upstroke, hairline", "x-height", "band", "label")]
    for row in rows:
        right, low, high = row["x_height_mm"], row["smallest_x_height_mm"], row["largest_x_height_mm"]
        sized = (f"{right:.1f} mm", f"{low:.1f}-{high:.1f} mm") if right is not None else ("none", "none")
        widths = (f"{row['downstroke_mm']:g} mm", f"{row['hairline_mm']:g} mm")
        lines.append((row["marker"], row["tip"], *widths, *sized, row["label"]))
    columns = [max(len(line[i]) for line in lines) for i in range(len(lines[0]))]
    right_aligned = {2, 3, 4, 5}
    for line in lines:
        cells = [
            cell.rjust(width) if i in right_aligned else cell.ljust(width)
            for i, (cell, width) in enumerate(zip(line, columns, strict=True))
        ]
        click.echo("  ".join(cells).rstrip())


@click.command()
@click.argument("name")
@click.option("--tip", type=click.Choice(TIP_NAMES), required=True, help="How its stroke gets its width.")
@click.option(
    "--downstroke",
    type=Length(),
    required=True,
    help="Width of a downstroke at comfortable pressure; broad: the nib's width.",
)
@click.option(
    "--hairline",
    type=Length(),
    help="Width of a brush's upstroke or a pen's hairline; broad: the edge's thickness (0.3mm unless said).",
)
@click.option(
    "--nib-angle", type=Number(0, 90, "an angle", "DEG"), help="Broad only: how the edge is held (default 40)."
)
@click.option("--from-x-height", type=Length(0.1, 1000.0), help="The x-height found by trial; sheets then use it.")
@click.option("--label", help="The name on pages (default: NAME with a capital).")
@click.option(
    "-o",
    "--out",
    type=GivenPath(path_type=Path),
    metavar="PATH",
    help="Write to this file instead of your own folder.",
)
@click.option("--force", is_flag=True, help="Replace a profile that exists.")
@click.pass_context
def add(
    ctx: click.Context,
    name: str,
    tip: str,
    downstroke: float,
    hairline: float | None,
    nib_angle: float | None,
    from_x_height: float | None,
    label: str | None,
    out: Path | None,
    force: bool,
) -> None:
    """Save a marker's measured widths as a profile, and say where.

    NAME is made of a-z, 0-9 and hyphens. The file can be mailed: `guidegen sheet path/to/file.toml` reads it.

    \b
    Examples:
      guidegen add tidepen --tip brush --downstroke 2.4mm --hairline 0.5mm
      guidegen add quay --tip broad --downstroke 3.5 --hairline 0.3 --nib-angle 45
      guidegen add tidepen --tip brush --downstroke 2.4 --hairline 0.5 --from-x-height 9.5 --force
    """
    from guidegen.cli.measured import measured_marker
    from guidegen.hands.own import keep_marker
    from guidegen.profiles.markers import check_name, marker_to_toml
    from guidegen.saving import new_folders

    check_name(name, "NAME")
    marker = measured_marker(
        name,
        tip=tip,
        downstroke_mm=downstroke,
        hairline_mm=hairline,
        nib_angle_deg=nib_angle,
        x_height_mm=from_x_height,
        label=label,
    )
    if out == STDOUT:
        click.echo(marker_to_toml(marker), nl=False)
        return
    asked = ctx.find_root().obj.markers_folder
    with new_folders(*([asked] if asked and not out else [])):
        path = out or (asked / f"{name}.toml" if asked else None)
        click.echo(f"saved {keep_marker(marker, path, force=force)}")
    for told in _doubts(marker, hairline):
        click.echo(f"guidegen: {told}", err=True)


def _doubts(marker: Marker, hairline: float | None) -> Iterator[str]:
    """Yield what was taken for granted, and what of the size found by trial does not go with the widths."""
    from guidegen.errors import GuidegenError
    from guidegen.hands.library import DEFAULT_HANDS, load_hand
    from guidegen.lettering.sizing import right_size
    from guidegen.sheets.guides import band_warning

    if marker.tip == "broad" and hairline is None:
        yield f"its edge is taken to be {marker.hairline_mm:g} mm thick; --hairline says otherwise"
    if marker.x_height_mm is None:
        return
    try:
        size = right_size(replace(marker, x_height_mm=None), load_hand(DEFAULT_HANDS[marker.tip]))
    except GuidegenError:  # nothing follows from its widths, so the trial alone counts
        return
    if words := band_warning(size, marker.x_height_mm):
        yield f"{words} by its widths; measure them again, or the row"
