"""Options that many commands share, each group passed to the command as one object."""

from __future__ import annotations

import functools
import json
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any, Literal, NamedTuple, TypeVar

import click
from click.core import ParameterSource

from guidegen.cli.given import Given, GivenPath
from guidegen.cli.params import Length, MarkerRef, Number, PageWords, Several
from guidegen.errors import bad_input

F = TypeVar("F", bound=Callable[..., Any])
Decorator = Callable[[F], F]
SLANT = Number(20.0, 160.0, "a slant in degrees from the baseline", "DEG")


def grouped(name: str, factory: Callable[..., Any], *options: Callable[[Any], Any]) -> Callable[[F], F]:
    """Return a decorator that adds ``options`` and passes their values as one object called ``name``.

    ``factory`` gets each option's value by its Python name.
    """

    def decorate(function: F) -> F:
        @functools.wraps(function)
        def wrapper(*args: Any, **values: Any) -> Any:
            own = {key: values.pop(key) for key in keys}
            return function(*args, **{name: factory(**own)}, **values)

        before = set(_names(wrapper))
        wrapped: Any = wrapper
        for option in reversed(options):
            wrapped = option(wrapped)
        keys = [key for key in _names(wrapped) if key not in before]
        return wrapped  # type: ignore[no-any-return]

    return decorate


def _names(function: Any) -> list[str]:
    return [param.name for param in getattr(function, "__click_params__", [])]


class LetteringChoice(NamedTuple):
    """Which hand, at which size and slant. None leaves the choice to the marker and the hand."""

    hand: str | None
    x_height: float | None
    slant: tuple[float, ...] | None
    at: str

    @property
    def values(self) -> dict[str, Any]:
        """Return the choice by its names in the library."""
        return {"hand": self.hand, "x_height_mm": self.x_height, "slant_deg": self.slant, "at": self.at}


def is_usual(name: str) -> bool:
    """Tell whether an option's value comes from the person's usual settings."""
    return click.get_current_context().get_parameter_source(name) is ParameterSource.DEFAULT_MAP


def suited_hand(hand: str | None, *markers: Any) -> str | None:
    """Return the hand that was asked for; a usual one where it suits every one of ``markers``, else None."""
    if hand is None or not is_usual("hand"):
        return hand
    from guidegen.hands.library import load_hand
    from guidegen.profiles.markers import Marker

    tips = {marker.tip for marker in markers if isinstance(marker, Marker)}
    return hand if tips and tips <= set(load_hand(hand).tips) else None


def _lettering(hand: str | None, **others: Any) -> LetteringChoice:
    """Return the choice; a usual hand counts where it suits every marker of the command."""
    values = click.get_current_context().params
    given = [values.get(name) for name in ("marker", "markers")]
    markers = [one for entry in given for one in (entry if isinstance(entry, tuple) else (entry,))]
    return LetteringChoice(suited_hand(hand, *markers), **others)


lettering_options = grouped(
    "lettering",
    _lettering,
    click.option("--hand", type=Given(), metavar="NAME|PATH", help="The hand (style of lettering); default by tip."),
    click.option("--x-height", type=Length(0.1, 1000.0), help="Use this x-height instead of the right one."),
    click.option(
        "--slant", type=Several(SLANT, "DEG[,DEG]"), help="Slant from the baseline; more than one draws each."
    ),
    click.option(
        "--at",
        type=click.Choice(["smallest", "right", "largest"]),
        default="right",
        show_default=True,
        help="Which size of the marker's band; beginners do best with the largest.",
    ),
)


class PaperChoice(NamedTuple):
    """The paper and what surrounds the work on it."""

    paper: tuple[str, ...]
    landscape: bool
    margin: float
    proof: str | None
    measured: str | None
    printer: str | None
    credit: str | None
    printer_paper: str | None = None
    feed: Literal["short", "long"] | None = None
    language: str = "en"
    units: str | None = None


language_option = click.option(
    "--language",
    type=Given(),
    default="en",
    show_default=True,
    metavar="NAME|PATH",
    help="Of the words on the page: en, de, or a file of your own.",
)
guide_style_option = click.option(
    "--guide-style",
    type=Given(),
    default="fine",
    show_default=True,
    metavar="fine|grey|copy|#rrggbb",
    help="How guide lines look; copy is strong enough for a copy of a copy.",
)
slant_lines_option = click.option("--slant-lines/--no-slant-lines", default=True, help="Draw slant lines (usual).")
header_option = click.option("--header/--no-header", default=True, help="What this is, at the top (usual).")
strokes_option = click.option("--strokes/--no-strokes", default=True, help="Sample strokes in the header (usual).")


class PaperNames(click.ParamType):
    """Paper names or sizes separated by commas, kept as text."""

    name = "paper"

    def get_metavar(self, param: click.Parameter, ctx: click.Context) -> str:  # noqa: ARG002
        return "NAME|WxH[,...]"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> tuple[str, ...]:  # noqa: ARG002
        if isinstance(value, tuple):
            return value
        names = tuple(name.strip() for name in value.split(","))
        if not all(names) or len(names) > 20:
            raise bad_input("--paper", "", value, "a paper such as a4, letter, 210x297mm, or a4,letter for both")
        return tuple(dict.fromkeys(names))


def _paper(printer: str | None, measured: str | None, **others: Any) -> PaperChoice:
    """Return the choice; a usual printer gives way to measures, and to files that no printer at home prints."""
    values = click.get_current_context().params
    if printer is not None and is_usual("printer") and (measured is not None or values.get("purpose") is not None):
        printer = None
    return PaperChoice(printer=printer, measured=measured, **others)


def paper_was_given() -> bool:
    """Tell whether the person chose a paper, rather than getting the default."""
    return click.get_current_context().get_parameter_source("paper") != ParameterSource.DEFAULT


paper_options = grouped(
    "page",
    _paper,
    click.option(
        "--paper",
        type=PaperNames(),
        default="a4",
        show_default=True,
        help="a4, letter, 210x297mm, 8.5x11in; a4,letter writes both.",
    ),
    click.option("--landscape", is_flag=True, help="Turn the paper on its side."),
    click.option("--margin", type=Length(0.0, 500.0), default=12.0, help="White on every side (12mm unless said)."),
    click.option(
        "--proof", type=click.Choice(["bar", "full", "none"]), help="Marks that show a print is true to scale."
    ),
    click.option(
        "--measured",
        type=Given(),
        metavar="ACROSSxDOWN",
        help="What two 100 mm bars measured on your print, across the printer and down, e.g. 98.6x99.1.",
    ),
    click.option(
        "--printer", type=Given(), metavar="NAME", help="Keep --measured under this name, or use what was kept."
    ),
    click.option(
        "--feed",
        type=click.Choice(["short", "long"]),
        help="The edge of the paper that enters the printer first, for --measured and --printer (short).",
    ),
    click.option("--credit", type=PageWords(), help="A line of your own at the foot of each page."),
    click.option(
        "--printer-paper",
        type=Given(),
        metavar="NAME|WxH",
        help="The paper your printer takes: larger pages come as tiles with 10 mm overlap and register crosses.",
    ),
    language_option,
    click.option("--units", type=click.Choice(["mm", "in"]), help="in: inches beside millimetres, on any paper."),
)


class Output(NamedTuple):
    """Where the files go and in which format."""

    out: Path | None
    file_format: str | None
    force: bool
    ppi: float
    transparent: bool


output_options = grouped(
    "output",
    Output,
    click.option(
        "-o",
        "--out",
        type=GivenPath(path_type=Path),
        metavar="PATH",
        help="File to write; its ending sets the format. - is stdout.",
    ),
    click.option(
        "--format", "file_format", type=Given(), metavar="NAME", help="pdf, svg, png, ... instead of the file's ending."
    ),
    click.option("--force", is_flag=True, help="Overwrite files that exist."),
    click.option(
        "--ppi",
        type=Number(10, 4800, "pixels per inch", "N"),
        default=300.0,
        help="PNG: pixels per inch (300 unless said).",
    ),
    click.option("--transparent", is_flag=True, help="PNG: no paper behind the ink."),
)

marker_argument = click.argument("marker", type=MarkerRef())
json_option = click.option("--json", "as_json", is_flag=True, help="Print one JSON object for machines.")


def print_json(values: dict[str, Any]) -> None:
    """Print one JSON object, as :func:`json_text` has it."""
    click.echo(json_text(values))


def json_text(values: dict[str, Any]) -> str:
    """Return one JSON object for standard output; lengths are rounded to 0.1 micrometre, so that it reads as one."""
    told = _rounded(values)
    text = json.dumps(told, ensure_ascii=False, indent=2, allow_nan=False)
    if not _is_told_as_it_stands(text):
        text = json.dumps(told, ensure_ascii=True, indent=2, allow_nan=False).replace("\x7f", "\\u007f")
    return text


def _is_told_as_it_stands(text: str) -> bool:
    """Tell whether standard output has all the letters, and none of the characters acts on a terminal."""
    try:
        text.encode(getattr(sys.stdout, "encoding", None) or "utf-8")
    except UnicodeEncodeError:
        return False
    return text.replace("\n", "").isprintable()


def _rounded(value: Any) -> Any:
    if isinstance(value, float):
        return round(value, 4)
    if isinstance(value, dict):
        return {key: _rounded(entry) for key, entry in value.items()}
    if isinstance(value, list | tuple):
        return [_rounded(entry) for entry in value]
    return value
