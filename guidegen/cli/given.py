"""Words and paths on the command line that were given, but may not be empty."""

from __future__ import annotations

from typing import Any

import click

from guidegen.errors import bad_input

LONGEST_WORDS = 4096
"""Characters of a name or path; the longest path that Linux opens."""


def option_name(param: click.Parameter | None) -> str:
    """Return how the person wrote the option or argument, for messages."""
    if param is None:
        return "value"
    return max(param.opts, key=len) if isinstance(param, click.Option) else (param.human_readable_name)


def _refuse_empty(value: Any, param: click.Parameter | None) -> None:
    if not isinstance(value, str):
        return
    if not value.strip():
        fix = "leave the option out to get the usual one" if isinstance(param, click.Option) else ""
        raise bad_input(option_name(param), "", value, "something", fix)
    if len(value) > LONGEST_WORDS:
        raise bad_input(option_name(param), "", f"{len(value)} characters", f"at most {LONGEST_WORDS}")


class Given(click.ParamType):
    """Words that are not empty."""

    name = "text"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:  # noqa: ARG002
        _refuse_empty(value, param)
        return value


class GivenPath(click.Path):
    """A path that is not empty: an empty one would mean the current folder."""

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        _refuse_empty(value, param)
        return super().convert(value, param, ctx)
