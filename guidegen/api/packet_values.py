"""What the options of a packet's pages may be: a file is checked here, before a page function takes its values."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, get_args

from guidegen.checks import FieldCheck, an, every, line, number, one_of, whole
from guidegen.errors import BadInputError, bad_input
from guidegen.lettering.sizing import At
from guidegen.sheets.families import Order
from guidegen.sheets.parts.frame import Proof

_LONG = 4096
"""Characters of a path, and of a text to write."""
_yes_or_no = an(bool, "true or false, without quotes")
_words = line(_LONG, f"text in quotes, at most {_LONG} characters")
_own_line = line(_LONG, "a line of text in quotes", blank=True)
_slant = number(20, 160, "a slant in degrees from the baseline, 20 to 160")


def _one_or_several(check: FieldCheck) -> FieldCheck:
    def each(value: Any) -> Any:
        return [check(one) for one in value] if isinstance(value, list) and value else check(value)

    return each


def _repeats(value: Any) -> Any:
    return value if value == "fill" else whole(1, 1000, "fill, or a whole number from 1 to 1000")(value)


def _names(value: Any) -> Any:
    if isinstance(value, list) and value:
        return every(str, "names in quotes")(value)
    return value if isinstance(value, bool) else line(_LONG, "true, or the path of a file of names")(value)


def _text(value: Any) -> Any:
    """Check a text, which may have several lines; what it is made of is checked by the page."""
    for one in value if isinstance(value, list) and value else [value]:
        if not isinstance(one, str) or not one.strip() or len(one) > _LONG:
            raise bad_input("", "", one, f"text in quotes, at most {_LONG} characters")
    return value


_CHECKS: Mapping[str, FieldCheck] = {
    **dict.fromkeys(
        ("arrows", "guides", "header", "landscape", "left_handed", "model", "name_line", "slant_lines", "strokes"),
        _yes_or_no,
    ),
    **dict.fromkeys(
        ("char", "drills", "guide_style", "hand", "language", "letters", "paper", "printer", "rows"), _words
    ),
    **dict.fromkeys(("credit", "note", "title"), _own_line),
    **dict.fromkeys(("from_mm", "to_mm"), number(0.5, 500, "a height in mm from 0.5 to 500")),
    **dict.fromkeys(("marker", "markers"), _one_or_several(_words)),
    "at": one_of(get_args(At)),
    "binding_mm": number(0, 60),
    "margin_mm": number(0, 500),
    "missing": one_of(("error", "box")),
    "names": _names,
    "order": one_of(get_args(Order)),
    "proof": one_of(get_args(Proof)),
    "repeats": _repeats,
    "row_count": whole(1, 1000, "a whole number from 1 to 1000"),
    "row_gap_mm": number(0, 1000),
    "slant_deg": _one_or_several(_slant),
    "text": _text,
    "tint": number(5, 95, "per cent of black from 5 to 95"),
    "x_height_mm": number(0.1, 1000),
}


def checked(entries: Mapping[str, Any]) -> dict[str, Any]:
    """Return options as the page functions take them.

    Raises:
        BadInputError: a value of the wrong kind, or one that no page takes; it names the option.
    """
    found = {}
    for key, value in entries.items():
        try:
            found[key] = _CHECKS[key](value)
        except BadInputError as error:
            raise error.at("", key) from None
    return found
