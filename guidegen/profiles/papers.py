"""Paper sizes: from a table or a ``WxH`` to width and height, and the smallest paper that holds something.

Widths and heights are portrait (the shorter side across) unless the paper is used lying down by nature
(envelopes, cards): a paper is stored as it is usually held.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from guidegen.checks import check_fields, line, number
from guidegen.errors import BadInputError, Plain, bad_input
from guidegen.profiles.tables import check_keys, placed
from guidegen.units import MM_PER_INCH, parse_length_mm

MIN_SIDE_MM, MAX_SIDE_MM = 10.0, 5000.0
_SIDE_TEXT = r"\s*+([0-9.]++)\s*+(mm|cm|in|pt|)\s*+"
_SIZE = re.compile(f"{_SIDE_TEXT}[x×]{_SIDE_TEXT}", re.IGNORECASE | re.ASCII)
_NAME = re.compile(r"[a-z0-9][a-z0-9-]*", re.ASCII)
_KEYS = ("name", "label", "width_mm", "height_mm", "width_in", "height_in")
CUSTOM_FAMILY = "custom"
_SIDE = number(MIN_SIDE_MM, MAX_SIDE_MM, f"a side from {MIN_SIDE_MM:g} mm to {MAX_SIDE_MM:g} mm")
_ANY_SIDE = number(1e-3, 1e6, "a side in mm")
_CHECKS = {
    "name": line(80, "a name of one line"),
    "label": line(80, "a name for people, such as A4"),
    "width_mm": _ANY_SIDE,
    "height_mm": _ANY_SIDE,
    "family": line(80, "the series it belongs to, such as iso-a"),
}


@dataclass(frozen=True, slots=True)
class Paper:
    """One paper. ``family`` names the series it belongs to, such as ``iso-a`` or ``us``.

    Any size can be a page; what a person asks for lies between :data:`MIN_SIDE_MM` and :data:`MAX_SIDE_MM`.

    Raises:
        GuidegenError: a name that is none, a side that is no length.
    """

    name: str
    label: str
    width_mm: float
    height_mm: float
    family: str
    inches: bool = False

    def __post_init__(self) -> None:
        check_fields(self, _CHECKS)

    def turned(self) -> Paper:
        """Return the paper lying the other way."""
        return Paper(self.name, self.label, self.height_mm, self.width_mm, self.family, self.inches)

    def landscape(self) -> Paper:
        """Return the paper with its longer side across."""
        return self if self.width_mm >= self.height_mm else self.turned()


def paper_from_table(table: Mapping[str, Any], family: str, where: str) -> Paper:
    """Return the paper that one table of a TOML file describes.

    Sides are given as ``width_mm`` and ``height_mm``, or as ``width_in`` and ``height_in``, which are
    multiplied by 25.4 and never rounded.

    Raises:
        GuidegenError: naming ``where`` and the field, for missing, unknown or impossible values.
    """
    check_keys(table, _KEYS, where, "", "field")
    name = table.get("name", Plain("nothing"))
    if not isinstance(name, str) or not _NAME.fullmatch(name):
        raise bad_input(where, "name", name, "lowercase letters, digits and hyphens")
    unit = "in" if "width_in" in table or "height_in" in table else "mm"
    factor = MM_PER_INCH if unit == "in" else 1.0
    width, height = (_side(table, f"{side}_{unit}", factor, where) for side in ("width", "height"))
    return placed(Paper, where)(name, table.get("label", Plain("nothing")), width, height, family, unit == "in")


def parse_paper(text: str, known: Mapping[str, Paper], where: str = "`paper`") -> Paper:
    """Return the paper called ``text``: a known name, or a size such as ``210x297mm`` or ``8.5x11in``.

    A unit behind the second number counts for both; without any, the numbers are millimetres.

    Raises:
        GuidegenError: for an unknown name or a size from nothing to nowhere.
    """
    wanted = text.strip()
    found = known.get(wanted.lower())
    if found is not None:
        return found
    match = _SIZE.fullmatch(wanted) if len(wanted) < 64 else None
    if match is None:
        raise bad_input(where, "", text, "a paper's name or WxH", f"known: {_known_names(known)}")
    across, first, down, second = match.groups()
    width = parse_length_mm(across + (first or second), where)
    height = parse_length_mm(down + (second or first), where)
    if not all(MIN_SIDE_MM <= side <= MAX_SIDE_MM for side in (width, height)):
        raise bad_input(where, "", text, f"sides from {MIN_SIDE_MM:g} mm to {MAX_SIDE_MM:g} mm")
    unit = (second or first).lower()
    label = f"{across} × {down} {unit or 'mm'}"
    return Paper(f"{across}x{down}{unit or 'mm'}", label, width, height, CUSTOM_FAMILY, unit == "in")


def _side(table: Mapping[str, Any], field: str, factor: float, where: str) -> float:
    value = table.get(field, Plain("nothing"))
    try:
        side: float = _SIDE(number(-1e9, 1e9, "a number")(value) * factor)
    except BadInputError as error:
        raise bad_input(where, field, value, error.expected, error.fix) from None
    return side


def _known_names(known: Mapping[str, Paper]) -> str:
    return ", ".join(sorted(known)) or "none"
