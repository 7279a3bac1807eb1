"""The one error that reaches a user: a single line that says what to do about it."""

from __future__ import annotations


class GuidegenError(Exception):
    """Input that cannot be used, told in one line. The command line exits with 2 on it."""


def bad_input(where: str, field: str, found: object, expected: str, fix: str = "") -> GuidegenError:
    """Build the usual error line: file (or option), field, what was found, what is expected, how to fix it.

    ``found`` is shown as the user wrote it and shortened, so that a hostile value cannot flood the screen.
    """
    shown = _shorten(repr(found) if isinstance(found, str) else str(found))
    place = f"{where}: {field}" if field else where
    line = f"{place}: found {shown}, expected {expected}"
    return GuidegenError(f"{line}; {fix}" if fix else line)


def _shorten(text: str, limit: int = 80) -> str:
    flat = " ".join(text.split())
    return flat if len(flat) <= limit else flat[: limit - 1] + "…"
