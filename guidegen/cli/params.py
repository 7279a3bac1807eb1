"""Kinds of values on the command line: lengths, angles, markers."""

from __future__ import annotations

import math
import re
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from guidegen.cli.app import Settings
from guidegen.cli.given import option_name
from guidegen.errors import GuidegenError, bad_input
from guidegen.limits import NUMBER
from guidegen.units import parse_length_mm

if TYPE_CHECKING:
    from click.shell_completion import CompletionItem

    from guidegen.profiles.markers import Marker


TIP_NAMES = ("brush", "pointed", "broad", "round")
_LONGEST_PAGE_WORDS = 200
_NUMBER = re.compile(r"[-+]?+" + NUMBER, re.ASCII)
_WHOLE = re.compile(r"[-+]?+[0-9]{1,12}", re.ASCII)


class Length(click.ParamType):
    """A length with a unit, in mm, between two bounds (mm)."""

    name = "length"

    def __init__(self, low_mm: float = 0.01, high_mm: float = 5000.0) -> None:
        self.low_mm, self.high_mm = low_mm, high_mm

    def get_metavar(self, param: click.Parameter, ctx: click.Context) -> str:  # noqa: ARG002
        return "LEN"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> float:  # noqa: ARG002
        where = option_name(param)
        length = float(value) if isinstance(value, int | float) else parse_length_mm(value, where)
        if not self.low_mm <= length <= self.high_mm:
            raise bad_input(where, "", value, f"a length from {self.low_mm:g} mm to {self.high_mm:g} mm")
        return length


class Number(click.ParamType):
    """A finite number between two bounds."""

    name = "number"

    def __init__(self, low: float, high: float, what: str = "a number", metavar: str = "NUMBER") -> None:
        self.low, self.high, self.what, self.metavar = low, high, what, metavar

    def get_metavar(self, param: click.Parameter, ctx: click.Context) -> str:  # noqa: ARG002
        return self.metavar

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> float:  # noqa: ARG002
        if isinstance(value, int | float):
            number = float(value)
        else:  # float() takes digits of every script, lengths do not
            number = float(value) if len(value) < 64 and _NUMBER.fullmatch(value.strip()) else math.nan
        if not self.low <= number <= self.high:
            raise bad_input(option_name(param), "", value, f"{self.what} from {self.low:g} to {self.high:g}")
        return number


class Whole(click.ParamType):
    """A whole number between two bounds."""

    name = "whole number"

    def __init__(self, low: int, high: int) -> None:
        self.low, self.high = low, high

    def get_metavar(self, param: click.Parameter, ctx: click.Context) -> str:  # noqa: ARG002
        return "N"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> int:  # noqa: ARG002
        given = value if isinstance(value, int) else int(value) if _WHOLE.fullmatch(value.strip()) else None
        if given is None or not self.low <= given <= self.high:
            raise bad_input(option_name(param), "", value, f"a whole number from {self.low} to {self.high}")
        return given


class Several(click.ParamType):
    """Several values in one option, separated by commas; each is converted by ``inner``."""

    name = "list"

    def __init__(self, inner: click.ParamType, metavar: str) -> None:
        self.inner, self.metavar = inner, metavar

    def get_metavar(self, param: click.Parameter, ctx: click.Context) -> str:  # noqa: ARG002
        return self.metavar

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> tuple[Any, ...]:
        if isinstance(value, tuple):
            return value
        words = [word.strip() for word in value.split(",")]
        if not all(words) or len(words) > 50:
            raise bad_input(option_name(param), "", value, "values separated by commas, at most 50")
        if len(set(words)) < len(words):
            raise bad_input(option_name(param), "", value, "each value once")
        return tuple(self.inner.convert(word, param, ctx) for word in words)


class PageWords(click.ParamType):
    """A line of a person's own on a page, set in the labels' face; empty for none."""

    name = "text"

    def get_metavar(self, param: click.Parameter, ctx: click.Context) -> str:  # noqa: ARG002
        return "TEXT"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> str:  # noqa: ARG002
        if all(" " <= char <= "~" for char in value) and len(value) <= _LONGEST_PAGE_WORDS:
            return " ".join(value.split())  # the usual case needs no library
        from guidegen.sheets.parts.asked_text import describe, one_text
        from guidegen.sheets.parts.labels import lacking

        where = option_name(param)
        text = one_text(value, where)
        if len(text) > _LONGEST_PAGE_WORDS:
            raise bad_input(where, "", f"{len(text)} characters", f"at most {_LONGEST_PAGE_WORDS}")
        if missing := lacking(text):
            raise GuidegenError(f"{where}: the face of the page's words lacks {describe(missing)}; leave that out")
        return text


class MarkerRef(click.ParamType):
    """A marker's name or the path of its profile; becomes the marker itself."""

    name = "marker"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Marker:  # noqa: ARG002
        from guidegen.hands.library import load_marker
        from guidegen.profiles.markers import Marker

        return value if isinstance(value, Marker) else load_marker(value, marker_folders(ctx))

    def shell_complete(self, ctx: click.Context, param: click.Parameter, incomplete: str) -> list[CompletionItem]:  # noqa: ARG002
        from click.shell_completion import CompletionItem

        from guidegen.hands.library import list_markers

        found, _ = list_markers(marker_folders(ctx))
        return [
            CompletionItem(entry.marker.name, help=entry.marker.label)
            for entry in found
            if entry.marker.name.startswith(incomplete)
        ]


def marker_folders(ctx: click.Context | None) -> tuple[Path, ...]:
    """Return the folders to look markers up in before the built-in ones: ``--markers``, then the person's own."""
    from guidegen.hands.own import own_markers

    settings = ctx.find_root().obj if ctx else None
    asked = settings.markers_folder if isinstance(settings, Settings) else None
    own = own_markers()
    if asked is None:
        return (own,)
    if not asked.is_dir():
        raise bad_input("--markers", "", str(asked), "a folder of marker profiles", "is the path right?")
    return (asked, own)
