"""What a value may be: one small language in which markers, papers, hands, printers and setups say it of their fields.

A noun is a frozen dataclass whose ``__post_init__`` calls :func:`check_fields`, so that it is sound wherever it comes
from: a file, an option, a script. A check takes a value and returns it as it is kept (a whole number as a float where
a float is meant) or raises :class:`~guidegen.errors.BadInputError`, which readers and commands then place in their
file or option. The validators of attrs say neither what would be right nor how to mend it, and take longer to import
than click.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Collection, Mapping
from typing import Any

from guidegen.errors import BadInputError, Plain, bad_input, did_you_mean

FieldCheck = Callable[[Any], Any]
_WORD_ENDS = re.compile(r"(?<=[a-z])(?=[A-Z])")
_NAME = re.compile(r"[a-z0-9-]{1,60}")


def check_fields(noun: Any, checks: Mapping[str, FieldCheck]) -> None:
    """Check the fields of a frozen dataclass that is being made, and keep what the checks return.

    Raises:
        BadInputError: for the first field that is wrong; it names the noun by its class.
    """
    for field, check in checks.items():
        value = getattr(noun, field)
        try:
            kept = check(value)
        except BadInputError as error:
            raise error.at(noun_name(noun), f"{field}.{error.field}" if error.field else field) from None
        if kept is not value:
            object.__setattr__(noun, field, kept)


def noun_name(noun: object) -> str:
    """Return what errors call a noun: its class in small letters, ``size rule`` for ``SizeRule``."""
    return _WORD_ENDS.sub(" ", type(noun).__name__).lower()


def wrong(noun: object, field: str, found: object, expected: str, fix: str = "") -> BadInputError:
    """Return the error for fields that do not go together."""
    return bad_input(noun_name(noun), field, found, expected, fix)


def number(low: float, high: float, expected: str = "", fix: str = "") -> FieldCheck:
    """Return the check for a finite number from ``low`` to ``high``, kept as a float."""
    wanted = expected or f"a number from {low:g} to {high:g}"

    def check(value: Any) -> float:
        if isinstance(value, bool) or not isinstance(value, int | float):
            quoted = isinstance(value, str) and not isinstance(value, Plain)
            raise bad_input("", "", value, wanted, "write the number without quotes" if quoted else fix)
        try:
            found = float(value)
        except OverflowError:
            found = math.inf
        if not low <= found <= high or not math.isfinite(found):
            raise bad_input("", "", value if math.isfinite(found) else found, wanted, fix)
        return found if type(value) is not float else value

    return check


def whole(low: int, high: int, expected: str) -> FieldCheck:
    """Return the check for a whole number from ``low`` to ``high``."""

    def check(value: Any) -> int:
        if isinstance(value, bool) or not isinstance(value, int) or not low <= value <= high:
            raise bad_input("", "", value, expected)
        return value

    return check


def line(longest: int, expected: str = "", *, blank: bool = False) -> FieldCheck:
    """Return the check for one line of printable text of at most ``longest`` characters, not ``blank`` unless so."""
    wanted = expected or f"a line of text, 1 to {longest} characters, in quotes"

    def check(value: Any) -> str:
        if not isinstance(value, str) or isinstance(value, Plain):
            raise bad_input("", "", value, wanted)
        if not (blank or value.strip()) or len(value) > longest or not value.isprintable():
            raise bad_input("", "", value, wanted)
        return value

    return check


def name(value: Any) -> str:
    """Check a profile's name, which is also a file's: lower-case letters, digits and hyphens, at most 60."""
    if not isinstance(value, str) or isinstance(value, Plain) or not _NAME.fullmatch(value):
        expected = "a name of lower-case letters a-z, digits and hyphens, at most 60"
        raise bad_input("", "", value, expected, "put capitals and spaces in the label")
    return value


def one_of(choices: Collection[str]) -> FieldCheck:
    """Return the check for one of some words; near ones are suggested."""
    wanted = "one of " + ", ".join(choices)

    def check(value: Any) -> str:
        if not isinstance(value, str) or value not in choices:
            fix = did_you_mean(value, choices) if isinstance(value, str) and not isinstance(value, Plain) else ""
            raise bad_input("", "", value, wanted, fix)
        return value

    return check


def some_of(choices: Collection[str]) -> FieldCheck:
    """Return the check for at least one of some words, kept as a tuple."""
    wanted = "a list of some of " + ", ".join(choices)

    def check(value: Any) -> tuple[str, ...]:
        if not isinstance(value, list | tuple) or not value or any(item not in choices for item in value):
            raise bad_input("", "", value, wanted)
        return value if isinstance(value, tuple) else tuple(value)

    return check


def an(kind: type, expected: str) -> FieldCheck:
    """Return the check for an object of a class."""

    def check(value: Any) -> Any:
        if not isinstance(value, kind):
            raise bad_input("", "", value if isinstance(value, str | int | float) else _kind(value), expected)
        return value

    return check


def every(kind: type, expected: str) -> FieldCheck:
    """Return the check for objects of a class, as many as you like, kept as a tuple."""
    item = an(kind, expected)

    def check(value: Any) -> tuple[Any, ...]:
        if not isinstance(value, list | tuple):
            raise bad_input("", "", _kind(value), expected)
        for one in value:
            item(one)
        return value if isinstance(value, tuple) else tuple(value)

    return check


def optional(check: FieldCheck) -> FieldCheck:
    """Return the check that lets None stand."""
    return lambda value: None if value is None else check(value)


def _kind(value: object) -> Plain:
    return Plain("nothing" if value is None else f"a {type(value).__name__}")
