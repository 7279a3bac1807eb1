"""The library's words for the command line: a message names fields, here they become options and arguments."""

from __future__ import annotations

import re
from collections.abc import Sequence

import click

_FIELD = re.compile(r"`([a-z]+(?:_[a-z]+)*)`")
_UNITS = ("_mm", "_deg", "_px")
_OTHERWISE = {
    "slants_deg": "--slant",
    "file_format": "--format",
    "own_lines": "--line",
    "purpose": "--for",
    "colours": "--colour",
    "path": "--out",
    "new": "--rename",
}
_ARGUMENTS = {"text": "TEXT", "marker": "MARKER", "markers": "MARKER", "images": "IMAGE"}


def option_of(field: str) -> str:
    """Return the option that a parameter of the library is set by: ``margin_mm`` is ``--margin``."""
    name = next((field.removesuffix(unit) for unit in _UNITS if field.endswith(unit)), field)
    return _OTHERWISE.get(field, "--" + name.replace("_", "-"))


def in_options(message: str, params: Sequence[click.Parameter]) -> str:
    """Return ``message`` with every field in backquotes replaced by its option, or argument, of a command."""
    options = {name for param in params for name in param.opts}

    def named(match: re.Match[str]) -> str:
        option = option_of(match[1])
        return option if option in options else _ARGUMENTS.get(match[1], match[0])

    return _FIELD.sub(named, message)
