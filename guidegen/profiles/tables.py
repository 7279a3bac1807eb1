"""From a table of TOML to a checked noun, and back.

The noun checks its own fields; what is added here are the keys (none unknown, none missing) and the place, file and
table, that an error names.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping
from dataclasses import MISSING, fields
from typing import Any, TypeVar

from guidegen.errors import BadInputError, Plain, bad_input, did_you_mean

T = TypeVar("T")


def from_table(make: Callable[..., T], table: Mapping[str, Any], where: str, name: str, what: str = "table") -> T:
    """Return the noun that ``table`` holds, its keys being the fields of the dataclass ``make``.

    Args:
        make: the dataclass.
        table: parsed TOML.
        where: the file, for messages.
        name: of the table, for messages.
        what: of what the keys without a default are a part, such as ``profile``.

    Raises:
        BadInputError: unknown or missing keys, or a value the noun does not take.
    """
    known = {entry.name: entry for entry in fields(make)}  # type: ignore[arg-type]
    check_keys(table, list(known), where, name, "key")
    for key, entry in known.items():
        if key not in table and entry.default is MISSING and entry.default_factory is MISSING:
            expected = f"this key in every {what}"
            raise bad_input(where, f"{name}.{key}", Plain("nothing"), expected, f"add a line {key} = ...")
    with_place = placed(make, where, name)
    return with_place(**table)


def placed(make: Callable[..., T], where: str, name: str = "") -> Callable[..., T]:
    """Return ``make`` with the errors of its fields named as entries of table ``name`` in file ``where``."""

    def made(*values: Any, **entries: Any) -> T:
        try:
            return make(*values, **entries)
        except BadInputError as error:
            raise error.at(where, f"{name}.{error.field}" if name else error.field) from None

    return made


def check_keys(table: Mapping[str, Any], known: Collection[str], where: str, name: str, what: str = "entry") -> None:
    """Check that a table holds nothing but ``known`` keys; near ones are suggested."""
    for key in table:
        if key not in known:
            place = f"{name}.{key}" if name else key
            choice, fix = "one of " + ", ".join(known), did_you_mean(key, known)
            raise bad_input(where, place, Plain(f"an unknown {what}"), choice, fix)


def to_toml(tables: Mapping[str, Mapping[str, Any]]) -> str:
    """Return tables as TOML text; entries that are None are left out."""
    import tomli_w

    kept = {name: {key: value for key, value in table.items() if value is not None} for name, table in tables.items()}
    return tomli_w.dumps(kept)
