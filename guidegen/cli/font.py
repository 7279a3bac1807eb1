"""``font``: a marker's letters as a font that types at real size."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from guidegen.cli.files import STDOUT, several_to_stdout, write_files
from guidegen.cli.given import Given, GivenPath
from guidegen.cli.options import SLANT, json_option, language_option, marker_argument, print_json, suited_hand
from guidegen.cli.params import Length
from guidegen.cli.progress import bar
from guidegen.errors import bad_input
from guidegen.saving import check_target, new_folders

if TYPE_CHECKING:
    from guidegen.api.fonts import Font, FontFormat
    from guidegen.profiles.markers import Marker


@click.command()
@marker_argument
@click.option(
    "--face",
    "look",
    type=click.Choice(["solid", "dotted", "hollow"]),
    default="solid",
    show_default=True,
    help="The ink; dots to trace; or its contour, to fill in.",
)
@click.option("--ruled", is_flag=True, help="Put the four guide lines into every letter and space.")
@click.option("--starts", is_flag=True, help="Dotted: an open ring where each stroke begins.")
@click.option("--set", "family_set", type=click.Choice(["all"]), help="Make the whole family of faces.")
@click.option("--hand", type=Given(), metavar="NAME|PATH", help="The hand (style of lettering); default by tip.")
@click.option("--slant", type=SLANT, help="Slant from the baseline instead of the hand's.")
@click.option("--x-height", type=Length(0.01, 100000.0), help="Use this x-height instead of the right one.")
@click.option(
    "--family", metavar="NAME", help="The name in the font menu; default from the marker's label."
)
@click.option("--licence", metavar="TEXT", help="A licence for the font's licence field.")
@click.option("--credit", metavar="TEXT", help="Your own credit line for the font's copyright field.")
@click.option("--specimen", is_flag=True, help="Also write a help page (PDF and HTML) that shows the true size.")
@language_option
@click.option("--ufo", is_flag=True, help="Also write the sources (UFO) for a font editor.")
@click.option(
    "-o",
    "--out",
    type=GivenPath(path_type=Path),
    metavar="PATH",
    help="File to write, .ttf, .otf or .woff2; with --set a folder.",
)
@click.option(
    "--format", "file_format", type=Given(), metavar="NAME", help="ttf, otf or woff2 instead of the file's ending."
)
@click.option("--force", is_flag=True, help="Overwrite files that exist.")
@json_option
def font(
    marker: Marker, hand: str | None, slant: float | None, x_height: float | None, as_json: bool, **rest: Any
) -> None:
    """Make a font whose letters are this marker's true strokes, at real size at a round point size.

    Install it, set text at the size that is printed here, print at 100 %: the letters are as large as the marker
    writes them. Ruled faces carry the guide lines, so that a word processor makes worksheets; spaces rule a row to its
    end. Each face has a family of its own in the font menu.

    \b
    Examples:
      guidegen font cobble -o cobble.ttf
      guidegen font cobble --face dotted --starts --ruled -o cobble-trace.ttf
      guidegen font slate --face hollow --family "Quay Lettering" -o quay.otf
      guidegen font flint --set all --specimen -o fonts
    """
    import guidegen as gg

    style = {key: rest.pop(key) for key in ("look", "ruled", "starts")}
    family_set, wanted = rest.pop("family_set"), _Wanted(**{key: rest.pop(key) for key in _OUTPUT})
    common = {"hand": suited_hand(hand, marker), "slant_deg": slant, "x_height_mm": x_height, **rest}
    if family_set:
        if style != {"look": "solid", "ruled": False, "starts": False}:
            raise bad_input("--set", "", family_set, "no --face, --ruled or --starts beside it", "the set has them all")
        if wanted.out is not None and wanted.out.exists() and not wanted.out.is_dir():
            raise bad_input("--out", "", str(wanted.out), "a folder for the files of the set")
        fonts = gg.font_family(marker, **common)
    else:
        fonts = (gg.font(marker, face=style["look"], ruled=style["ruled"], starts=style["starts"], **common),)
    ending = _ending(wanted, folder=family_set is not None)
    paths = _paths(fonts, wanted, ending)
    for path in paths:
        if path != STDOUT and path.parent.is_dir():
            check_target(path, force=wanted.force)
    with new_folders(*_folders(wanted, paths)):
        write_files(_files(fonts, paths, ending, wanted), force=wanted.force)
    _tell(fonts, paths, ending, wanted, as_json=as_json)


_OUTPUT = ("out", "file_format", "force", "specimen", "ufo", "language")


@dataclass(frozen=True, slots=True)
class _Wanted:
    """What to write, and where."""

    out: Path | None
    file_format: str | None
    force: bool
    specimen: bool
    ufo: bool
    language: str


def _ending(wanted: _Wanted, *, folder: bool) -> FontFormat:
    from guidegen.api.fonts import FORMATS
    from guidegen.api.pages import chosen_format

    name = chosen_format(None if folder else wanted.out, wanted.file_format, "ttf", FORMATS)
    return next(known for known in FORMATS if known == name)


def _paths(fonts: Sequence[Font], wanted: _Wanted, ending: str) -> list[Path]:
    """Return where each font goes: a folder, or none, gets files called after the fonts."""
    out = wanted.out
    if out == STDOUT:
        if len(fonts) > 1:
            raise several_to_stdout()
        return [STDOUT]
    if out is None or out.is_dir() or len(fonts) > 1:
        return [(out or Path()) / f"{font.name}.{ending}" for font in fonts]
    return [out]


def _folders(wanted: _Wanted, paths: Sequence[Path]) -> list[Path]:
    """Return the folders that the files need: that of a set, and those of the sources."""
    from guidegen.api.fonts import ufo_path

    own = [wanted.out] if len(paths) > 1 and wanted.out is not None else []
    return own + [ufo_path(path) / "glyphs" for path in paths if wanted.ufo and path != STDOUT]


def _files(
    fonts: Sequence[Font], paths: Sequence[Path], ending: FontFormat, wanted: _Wanted
) -> Iterator[tuple[Path, bytes]]:
    with bar("fonts", (fonts[0].letters + 1) * len(fonts)) as shown:
        for font, path in zip(fonts, paths, strict=True):
            font.draw(shown.advance)
            alone = path == STDOUT
            yield from font.files(
                path,
                ending,
                specimen=wanted.specimen and not alone,
                ufo=wanted.ufo and not alone,
                language=wanted.language,
            )


def _tell(
    fonts: Sequence[Font], paths: Sequence[Path], ending: FontFormat, wanted: _Wanted, *, as_json: bool
) -> None:
    """Tell each font's path and true size, and the paths of what was written beside it."""
    from guidegen.api.fonts import specimen_paths, ufo_path

    told = []
    for font, path in zip(fonts, paths, strict=True):
        also: dict[str, Any] = {}
        if path != STDOUT and wanted.specimen:
            also["specimen"] = [str(beside) for beside in specimen_paths(path)]
        if path != STDOUT and wanted.ufo:
            also["sources"] = [str(ufo_path(path))]
        told.append({"path": str(path)} | font.as_dict(ending) | also)
    if as_json:
        print_json(told[0] if len(told) == 1 else {"fonts": told})
        return
    for font, entry in zip(fonts, told, strict=True):
        if entry["path"] != str(STDOUT):
            size = f"{entry['true_size_pt']} pt for an x-height of {font.lettering.x_height_mm:.2f} mm"
            for line in (f"{entry['path']}: set it at {size}", *entry.get("specimen", ()), *entry.get("sources", ())):
                click.echo(line)
