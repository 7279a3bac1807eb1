"""A marker profile: what a writing tool leaves on paper, measured.

The file format is one ``[marker]`` table of TOML. :func:`marker_from_table` checks a parsed file and
:func:`marker_to_toml` writes one; a profile read, written and read again is the same profile.
"""

from __future__ import annotations

import datetime as dt
import math
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, fields
from typing import Any, Literal, TypeVar

from guidegen.errors import Plain, bad_input, did_you_mean

T = TypeVar("T")
Tip = Literal["brush", "pointed", "broad", "round"]
TIPS: tuple[Tip, ...] = ("brush", "pointed", "broad", "round")

SMALLEST_WIDTH_MM = 0.05
"""No pen draws finer: technical pens end at 0.1 mm, the hairlines of pointed pens near it."""
LARGEST_WIDTH_MM = 100.0
"""No hand holds broader: its letters would be half a metre high."""
LARGEST_X_HEIGHT_MM = 1000.0
DEFAULT_NIB_ANGLE_DEG = 40.0
"""Italic is taught at 40 to 45 degrees from the writing line (Johnston 1906 and the handbooks after him)."""
_NAME = re.compile(r"[a-z0-9-]{1,60}")
_FIX_WIDTHS = "measure the thickest stroke at comfortable pressure and the thinnest, in mm"


@dataclass(frozen=True, slots=True)
class Marker:
    """One marker. Widths in mm; see the design vocabulary for what downstroke and hairline mean for each tip."""

    name: str
    label: str
    tip: Tip
    downstroke_mm: float
    hairline_mm: float
    nib_angle_deg: float | None = None
    x_height_mm: float | None = None
    downstroke_sd_mm: float | None = None
    hairline_sd_mm: float | None = None
    samples: int | None = None
    measured_on: str | None = None


def marker_from_table(table: Mapping[str, Any], where: str) -> Marker:
    """Return the marker that a parsed profile holds: a mapping with the one key ``marker``.

    ``where`` names the file in messages.

    Raises:
        GuidegenError: one line with file, field, what was found and expected, and the fix.
    """
    entries = _entries(table, where)
    marker = Marker(
        name=_name(entries, where),
        label=_text(entries, where, "label", 80),
        tip=_tip(entries, where),
        downstroke_mm=_length(entries, where, "downstroke_mm"),
        hairline_mm=_length(entries, where, "hairline_mm"),
        nib_angle_deg=_optional(entries, where, "nib_angle_deg", _angle),
        x_height_mm=_optional(entries, where, "x_height_mm", _x_height),
        downstroke_sd_mm=_optional(entries, where, "downstroke_sd_mm", _spread),
        hairline_sd_mm=_optional(entries, where, "hairline_sd_mm", _spread),
        samples=_optional(entries, where, "samples", _count),
        measured_on=_optional(entries, where, "measured_on", _when),
    )
    return check_marker(marker, where)


def check_marker(marker: Marker, where: str) -> Marker:
    """Return ``marker`` when its numbers go together for its tip.

    Raises:
        GuidegenError: hairline above downstroke, a round tip with two widths, a nib angle on a tip that
            has none or none on a broad one.
    """
    down, hair = marker.downstroke_mm, marker.hairline_mm
    if hair > down:
        expected = f"at most downstroke_mm, which is {down:g}"
        raise bad_input(where, "marker.hairline_mm", hair, expected, "are the two the wrong way round?")
    if marker.tip == "round" and hair != down:
        expected = f"the same as downstroke_mm, {down:g}, for a round tip"
        fix = 'write one width twice, or tip = "brush" if pressure changes it'
        raise bad_input(where, "marker.hairline_mm", hair, expected, fix)
    if marker.tip == "broad" and marker.nib_angle_deg is None:
        expected = "the angle a broad edge is held at, in degrees from the writing line"
        raise bad_input(where, "marker.nib_angle_deg", Plain("nothing"), expected, "add nib_angle_deg = 40")
    if marker.tip != "broad" and marker.nib_angle_deg is not None:
        expected = f"no nib angle on a {marker.tip} tip"
        fix = 'remove the line, or write tip = "broad"'
        raise bad_input(where, "marker.nib_angle_deg", marker.nib_angle_deg, expected, fix)
    return marker


def marker_to_toml(marker: Marker) -> str:
    """Return the profile as TOML text that :func:`marker_from_table` reads back as an equal marker."""
    lines = ["[marker]"]
    for entry in fields(marker):
        value = getattr(marker, entry.name)
        if value is not None:
            lines.append(f"{entry.name} = {_toml(value)}")
    return "\n".join(lines) + "\n"


def _toml(value: str | float) -> str:
    if not isinstance(value, str):
        return repr(value)
    escaped = value.replace("\\", "\\\\").replace('"', '\\"')
    return '"' + "".join(c if c.isprintable() else f"\\U{ord(c):08x}" for c in escaped) + '"'


def _entries(table: Mapping[str, Any], where: str) -> Mapping[str, Any]:
    if not table:
        raise bad_input(where, "", Plain("an empty file"), "a [marker] table", "see `guidegen add --help`")
    entries = table.get("marker")
    if not isinstance(entries, Mapping):
        found = Plain("keys " + ", ".join(table) if entries is None else f"marker = {entries!r}")
        raise bad_input(where, "marker", found, "a [marker] table", "put the line [marker] above the values")
    known = [entry.name for entry in fields(Marker)]
    choice = "one of " + ", ".join(known)
    for key in table:
        if key != "marker":
            raise bad_input(where, key, Plain("an unknown key"), "only [marker]", "move it below the line [marker]")
    for key in entries:
        if key not in known:
            raise bad_input(where, f"marker.{key}", Plain("an unknown key"), choice, did_you_mean(key, known))
    for key in known[:5]:
        if key not in entries:
            expected = "this key in every profile"
            raise bad_input(where, f"marker.{key}", Plain("nothing"), expected, f"add a line {key} = ...")
    return entries


def _name(entries: Mapping[str, Any], where: str) -> str:
    return check_name(entries["name"], where, "marker.name")


def check_name(value: object, where: str, field: str = "") -> str:
    """Return a profile name, which is also a file name: lower-case letters, digits and hyphens, at most 60."""
    if not isinstance(value, str) or not _NAME.fullmatch(value):
        expected = "a name of lower-case letters a-z, digits and hyphens, at most 60"
        raise bad_input(where, field, value, expected, "put capitals and spaces in the label")
    return value


def _text(entries: Mapping[str, Any], where: str, key: str, limit: int) -> str:
    value = entries[key]
    if not isinstance(value, str) or not 1 <= len(value.strip()) <= limit or not value.isprintable():
        raise bad_input(where, f"marker.{key}", value, f"a line of text, 1 to {limit} characters, in quotes")
    return value


def _tip(entries: Mapping[str, Any], where: str) -> Tip:
    value = entries["tip"]
    for tip in TIPS:
        if value == tip:
            return tip
    fix = did_you_mean(value, list(TIPS)) if isinstance(value, str) else ""
    raise bad_input(where, "marker.tip", value, "one of " + ", ".join(TIPS), fix)


def _number(entries: Mapping[str, Any], where: str, key: str, expected: str, fix: str = "") -> float:
    value = entries[key]
    if isinstance(value, bool) or not isinstance(value, int | float):
        hint = "write the number without quotes" if isinstance(value, str) else fix
        raise bad_input(where, f"marker.{key}", value, expected, hint)
    try:
        number = float(value)
    except OverflowError:
        number = math.inf
    if not math.isfinite(number):
        raise bad_input(where, f"marker.{key}", number, expected, fix)
    return number


def _length(entries: Mapping[str, Any], where: str, key: str) -> float:
    expected = f"a width in mm from {SMALLEST_WIDTH_MM:g} to {LARGEST_WIDTH_MM:g}"
    return _ranged(entries, where, key, (SMALLEST_WIDTH_MM, LARGEST_WIDTH_MM), expected, _FIX_WIDTHS)


def _optional(entries: Mapping[str, Any], where: str, key: str, reader: Callable[..., T]) -> T | None:
    return reader(entries, where, key) if key in entries else None


def _angle(entries: Mapping[str, Any], where: str, key: str) -> float:
    return _ranged(entries, where, key, (0.0, 90.0), "an angle of 0 to 90 degrees from the writing line")


def _x_height(entries: Mapping[str, Any], where: str, key: str) -> float:
    expected = f"a height in mm from {SMALLEST_WIDTH_MM:g} to {LARGEST_X_HEIGHT_MM:g}"
    return _ranged(entries, where, key, (SMALLEST_WIDTH_MM, LARGEST_X_HEIGHT_MM), expected)


def _spread(entries: Mapping[str, Any], where: str, key: str) -> float:
    return _ranged(entries, where, key, (0.0, LARGEST_WIDTH_MM), "a standard deviation in mm, 0 or more")


def _ranged(
    entries: Mapping[str, Any], where: str, key: str, bounds: tuple[float, float], expected: str, fix: str = ""
) -> float:
    value = _number(entries, where, key, expected, fix)
    if not bounds[0] <= value <= bounds[1]:
        raise bad_input(where, f"marker.{key}", value, expected, fix)
    return value


def _count(entries: Mapping[str, Any], where: str, key: str) -> int:
    value = entries[key]
    if isinstance(value, bool) or not isinstance(value, int) or not 1 <= value <= 10**6:
        raise bad_input(where, f"marker.{key}", value, "a whole number of strokes measured, 1 or more")
    return value


def _when(entries: Mapping[str, Any], where: str, key: str) -> str:
    value = entries[key]
    if isinstance(value, dt.date) and not isinstance(value, dt.datetime):
        return value.isoformat()
    return _text(entries, where, key, 200)
