"""The library's words for the command line: a message names fields, here they become options."""

from __future__ import annotations

import re

_FIELD = re.compile(r"`([a-z]+(?:_[a-z]+)*)`")
_UNITS = ("_mm", "_deg")
_OTHERWISE = {"slants_deg": "--slant", "file_format": "--format", "own_lines": "--line", "purpose": "--for"}


def option_of(field: str) -> str:
    """Return the option that a parameter of the library is set by: ``margin_mm`` is ``--margin``."""
    name = next((field.removesuffix(unit) for unit in _UNITS if field.endswith(unit)), field)
    return _OTHERWISE.get(field, "--" + name.replace("_", "-"))


def in_options(message: str) -> str:
    """Return ``message`` with every field in backquotes replaced by its option."""
    return _FIELD.sub(lambda match: option_of(match[1]), message)
