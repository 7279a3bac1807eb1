"""A marker profile: what a writing tool leaves on paper, measured.

The file format is one ``[marker]`` table of TOML. A marker checks itself when it is made; :func:`marker_from_table`
makes one of a parsed file and :func:`marker_to_toml` writes one; a profile read, written and read again is the same
profile.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any, Literal

from guidegen.checks import check_fields, line, name, number, one_of, optional, whole, wrong
from guidegen.errors import BadInputError, Plain, bad_input
from guidegen.profiles.tables import from_table, to_toml

Tip = Literal["brush", "pointed", "broad", "round"]
TIPS: tuple[Tip, ...] = ("brush", "pointed", "broad", "round")

SMALLEST_WIDTH_MM = 0.05
"""No pen draws finer: technical pens end at 0.1 mm, the hairlines of pointed pens near it."""
LARGEST_WIDTH_MM = 100.0
"""No hand holds broader: its letters would be half a metre high."""
LARGEST_X_HEIGHT_MM = 1000.0
DEFAULT_NIB_ANGLE_DEG = 40.0
"""Italic is taught at 40 to 45 degrees from the writing line (Johnston 1906 and the handbooks after him)."""

USUAL_EDGE_MM = 0.3
"""The thickness of a broad marker's edge where nobody measured it (common practice, no source)."""

_WIDTH = number(
    SMALLEST_WIDTH_MM,
    LARGEST_WIDTH_MM,
    f"a width in mm from {SMALLEST_WIDTH_MM:g} to {LARGEST_WIDTH_MM:g}",
    "measure a downstroke at comfortable pressure and an upstroke (pens: a hairline), in mm",
)
_X_HEIGHT = number(
    SMALLEST_WIDTH_MM, LARGEST_X_HEIGHT_MM, f"a height in mm from {SMALLEST_WIDTH_MM:g} to {LARGEST_X_HEIGHT_MM:g}"
)
_SPREAD = number(0.0, LARGEST_WIDTH_MM, "a standard deviation in mm, 0 or more")


def _when(value: Any) -> str:
    if isinstance(value, dt.date) and not isinstance(value, dt.datetime):
        return value.isoformat()
    kept: str = line(200)(value)
    return kept


_CHECKS = {
    "name": name,
    "label": line(80),
    "tip": one_of(TIPS),
    "downstroke_mm": _WIDTH,
    "hairline_mm": _WIDTH,
    "nib_angle_deg": optional(number(0.0, 90.0, "an angle of 0 to 90 degrees from the writing line")),
    "x_height_mm": optional(_X_HEIGHT),
    "downstroke_sd_mm": optional(_SPREAD),
    "hairline_sd_mm": optional(_SPREAD),
    "samples": optional(whole(1, 10**6, "a whole number of strokes measured, 1 or more")),
    "measured_on": optional(_when),
}


@dataclass(frozen=True, slots=True)
class Marker:
    """One marker. Widths in mm; see the design vocabulary for what downstroke and hairline mean for each tip.

    Raises:
        GuidegenError: a field that is wrong, a hairline above the downstroke, a round tip with two widths, a nib
            angle on a tip that has none or none on a broad one.
    """

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

    def __post_init__(self) -> None:
        check_fields(self, _CHECKS)
        down, hair = self.downstroke_mm, self.hairline_mm
        if hair > down:
            expected = f"at most downstroke_mm, which is {down:g}"
            raise wrong(self, "hairline_mm", hair, expected, "are the two the wrong way round?")
        if self.tip == "round" and hair != down:
            expected = f"the same as downstroke_mm, {down:g}, for a round tip"
            fix = 'write one width twice, or tip = "brush" if pressure changes it'
            raise wrong(self, "hairline_mm", hair, expected, fix)
        if self.tip == "broad" and self.nib_angle_deg is None:
            expected = "the angle a broad edge is held at, in degrees from the writing line"
            raise wrong(self, "nib_angle_deg", Plain("nothing"), expected, "add nib_angle_deg = 40")
        if self.tip != "broad" and self.nib_angle_deg is not None:
            expected = f"no nib angle on a {self.tip} tip"
            fix = 'remove the line, or write tip = "broad"'
            raise wrong(self, "nib_angle_deg", self.nib_angle_deg, expected, fix)


def usual_label(name: str) -> str:
    """Return the label of a marker that was given none: its name with a capital."""
    return name.replace("-", " ").capitalize()


def usual_edge_mm(nib_mm: float) -> float:
    """Return the edge's thickness to take for a broad tip that was measured across only: a fifth of a narrow nib."""
    return min(USUAL_EDGE_MM, nib_mm / 5)


def marker_from_table(table: Mapping[str, Any], where: str) -> Marker:
    """Return the marker that a parsed profile holds: a mapping with the one key ``marker``.

    ``where`` names the file in messages.

    Raises:
        GuidegenError: one line with file, field, what was found and expected, and the fix.
    """
    if not table:
        raise bad_input(where, "", Plain("an empty file"), "a [marker] table", "see `guidegen add --help`")
    entries = table.get("marker")
    if not isinstance(entries, Mapping):
        found = Plain("keys " + ", ".join(table) if entries is None else f"marker = {entries!r}")
        raise bad_input(where, "marker", found, "a [marker] table", "put the line [marker] above the values")
    for key in table:
        if key != "marker":
            raise bad_input(where, key, Plain("an unknown key"), "only [marker]", "move it below the line [marker]")
    return from_table(Marker, entries, where, "marker", "profile")


def marker_to_toml(marker: Marker) -> str:
    """Return the profile as TOML text that :func:`marker_from_table` reads back as an equal marker."""
    return to_toml({"marker": asdict(marker)})


def check_name(value: object, where: str, field: str = "") -> str:
    """Return a profile name; ``where`` and ``field`` name it in the error (see :func:`guidegen.checks.name`)."""
    try:
        return name(value)
    except BadInputError as error:
        raise error.at(where, field) from None
