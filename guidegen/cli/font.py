"""``font``: a marker's letters as a font that types at real size."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from guidegen.cli.files import STDOUT, several_to_stdout, write_files
from guidegen.cli.given import Given, GivenPath
from guidegen.cli.options import SLANT, json_option, marker_argument, print_json
from guidegen.cli.params import Length
from guidegen.cli.progress import bar
from guidegen.cli.sizes import chosen_hand
from guidegen.errors import bad_input, did_you_mean
from guidegen.saving import check_target, new_folders

if TYPE_CHECKING:
    from guidegen.fonts.alphabet import Alphabet
    from guidegen.fonts.build import Labels
    from guidegen.fonts.faces import FaceStyle
    from guidegen.fonts.glyphs import FontFace
    from guidegen.hands.hand import Hand
    from guidegen.profiles.markers import Marker

ENDINGS = ("ttf", "otf", "woff2")
LONGEST_FAMILY = 40


@dataclass(frozen=True, slots=True)
class Wanted:
    """What the options ask for, checked."""

    styles: tuple[FaceStyle, ...]
    ending: str
    out: Path
    labels: Labels
    specimen: bool
    ufo: bool
    force: bool


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
    from guidegen.fonts.build import alphabet
    from guidegen.lettering.lettering import Lettering
    from guidegen.lettering.sizing import right_size

    chosen = chosen_hand(marker, hand, slant)
    wanted = _wanted(marker, chosen, **rest)
    paths = [_font_path(wanted, marker, style) for style in wanted.styles]
    if len(paths) > 1 and STDOUT in paths:
        raise several_to_stdout()
    for path in paths:
        if path != STDOUT and (len(paths) == 1 or wanted.out.is_dir()):
            check_target(path, force=wanted.force)
    size_mm = x_height if x_height is not None else right_size(marker, chosen).x_height_mm
    letters = alphabet(Lettering(marker, chosen, size_mm), mapper=_in_processes)
    faces: list[dict[str, Any]] = []
    with new_folders(*_folders(wanted, paths)):
        write_files(_files(letters, wanted, paths, faces), force=wanted.force)
    if as_json:
        print_json(faces[0] if len(faces) == 1 else {"fonts": faces})
    elif STDOUT not in paths:
        for entry in faces:
            click.echo(f"{entry['path']}: set it at {entry['true_size_pt']} pt for an x-height of {size_mm:.2f} mm")
            for also in [*entry.get("specimen", []), *entry.get("sources", [])]:
                click.echo(also)


def _in_processes(work: Callable[[Any], Any], tasks: Sequence[Any]) -> Iterator[Any]:
    from guidegen.jobs import run_in_order

    return run_in_order(work, tasks)


def _wanted(
    marker: Marker,
    hand: Hand,
    *,
    look: str,
    ruled: bool,
    starts: bool,
    family_set: str | None,
    family: str | None,
    licence: str | None,
    credit: str | None,
    specimen: bool,
    ufo: bool,
    out: Path | None,
    file_format: str | None,
    force: bool,
) -> Wanted:
    from guidegen.fonts.build import Labels
    from guidegen.fonts.faces import FAMILY, FaceStyle

    if starts and look != "dotted" and not family_set:
        raise bad_input("--starts", "", look, "--face dotted", "rings mark the starts of dotted strokes")
    if family_set and (ruled or starts or look != "solid"):
        raise bad_input("--set", "", family_set, "no --face, --ruled or --starts beside it", "the set has them all")
    styles = FAMILY if family_set else (FaceStyle(look, ruled, starts),)  # type: ignore[arg-type]
    labels = Labels(
        _text("--family", family, LONGEST_FAMILY) or family_name(marker, hand),
        _text("--licence", licence, 5000),
        _text("--credit", credit, 500),
    )
    ending = _ending(out, file_format, family_set is not None)
    target = out if out is not None else Path() if family_set else Path(f"{marker.name}-{styles[0].file_word}.{ending}")
    if family_set and target.exists() and not target.is_dir():
        raise bad_input("--out", "", str(target), "a folder for the files of the set")
    return Wanted(styles, ending, target, labels, specimen, ufo, force)


def family_name(marker: Marker, hand: Hand) -> str:
    """Return the name in the font menu: the label up to its comma, with the hand where it is not the tip's own."""
    from guidegen.hands.library import DEFAULT_HANDS

    name = marker.label.split(",")[0].strip() or marker.name
    usual = hand.name == DEFAULT_HANDS[marker.tip]
    return name[:LONGEST_FAMILY] if usual else f"{name} {hand.name.title()} Hand"[:LONGEST_FAMILY]


def _text(option: str, value: str | None, limit: int) -> str | None:
    if value is None:
        return None
    if not value.strip() or len(value) > limit or not value.isprintable():
        raise bad_input(option, "", value, f"a line of text, 1 to {limit} characters")
    return value.strip()


def _folders(wanted: Wanted, paths: list[Path]) -> list[Path]:
    """Return the folders that the files need: that of a set, and those of the sources."""
    own = [wanted.out] if len(paths) > 1 else []
    if not wanted.ufo:
        return own
    return own + [_ufo_path(path) / "glyphs" for path in paths if path != STDOUT]


def _ending(out: Path | None, file_format: str | None, folder: bool) -> str:
    given = "" if out is None or out == STDOUT or folder or out.is_dir() else out.suffix.lstrip(".").lower()
    name = (file_format or given or "ttf").lower()
    if name not in ENDINGS:
        where = "--format" if file_format else f"--out {out}"
        raise bad_input(where, "", name, "a font file: " + ", ".join(ENDINGS), did_you_mean(name, ENDINGS))
    return name


def _font_path(wanted: Wanted, marker: Marker, style: FaceStyle) -> Path:
    if wanted.out != STDOUT and (wanted.out.is_dir() or len(wanted.styles) > 1):
        return wanted.out / f"{marker.name}-{style.file_word}.{wanted.ending}"
    return wanted.out


def _files(
    letters: Alphabet, wanted: Wanted, paths: list[Path], faces: list[dict[str, Any]]
) -> Iterator[tuple[Path, bytes]]:
    """Yield every file; ``faces`` collects what is told about each font."""
    from guidegen.fonts.build import font_face
    from guidegen.fonts.compile import compile_face

    total = (len(letters.items) + 1) * len(wanted.styles)
    with bar("fonts", total) as shown:
        for style, path in zip(wanted.styles, paths, strict=True):
            face = font_face(letters, style, wanted.labels, lambda _what, _done, _total: shown.advance(1))
            data = compile_face(face, wanted.ending)  # type: ignore[arg-type]
            yield path, data
            if path != STDOUT:
                yield from _companions(letters, face, wanted, path, data)
            faces.append(_told(path, style, face, wanted))


def _told(path: Path, style: FaceStyle, face: FontFace, wanted: Wanted) -> dict[str, Any]:
    """Return the contract's values of ``font --json``, and the paths of what was written beside the font."""
    from guidegen.fonts.compile import stored_glyphs

    also: dict[str, list[str]] = {}
    if path != STDOUT and wanted.specimen:
        also["specimen"] = [str(_specimen_path(path, ending)) for ending in ("pdf", "html")]
    if path != STDOUT and wanted.ufo:
        also["sources"] = [str(_ufo_path(path))]
    told: dict[str, Any] = {
        "path": str(path),
        "face": style.file_word,
        "true_size_pt": face.size.point_size,
        "x_height_mm": face.metrics.x_height * face.size.unit_mm,
        "units_per_em": face.size.units_per_em,
        "glyphs": len(stored_glyphs(face, wanted.ending)),  # type: ignore[arg-type]
    }
    return told | also


def _specimen_path(path: Path, ending: str) -> Path:
    return path.with_name(f"{path.stem}-specimen.{ending}")


def _ufo_path(path: Path) -> Path:
    return path.with_suffix(".ufo")


def _companions(
    letters: Alphabet, face: FontFace, wanted: Wanted, path: Path, data: bytes
) -> Iterator[tuple[Path, bytes]]:
    if wanted.specimen:
        from guidegen.fonts.compile import compile_face, screen_woff2
        from guidegen.fonts.specimen import specimen_page
        from guidegen.fonts.specimen_html import specimen_html
        from guidegen.hands.library import load_paper
        from guidegen.writers import render

        paper = load_paper("a4")
        for _, page in render(specimen_page(letters, face, paper.width_mm, paper.height_mm), "pdf"):
            yield _specimen_path(path, "pdf"), page
        otf = data if wanted.ending == "otf" else compile_face(face, "otf")
        yield _specimen_path(path, "html"), specimen_html(letters, face, screen_woff2(otf))
    if wanted.ufo:
        from guidegen.fonts.ufo import ufo_files

        for name, content in ufo_files(face).items():
            yield _ufo_path(path) / name, content
