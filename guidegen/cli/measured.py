"""A marker of widths given on the command line, in place of a profile."""

from __future__ import annotations

import re
from typing import Any

import guidegen as gg
from guidegen.errors import GuidegenError
from guidegen.profiles.markers import Marker

_TIP_KEY = re.compile(r'\btip = "([a-z]++)"')
_OPTION_OF_KEY = {
    "downstroke_mm": "--downstroke",
    "hairline_mm": "--hairline",
    "nib_angle_deg": "--nib-angle",
    "x_height_mm": "--from-x-height",
    "label": "--label",
    "tip": "--tip",
}


def measured_marker(name: str, **widths: Any) -> Marker:
    """Return the marker of widths given on the command line. An error names the option in place of the field."""
    try:
        return gg.marker(name, **widths)
    except GuidegenError as error:
        line = str(error).removeprefix(f"marker {name}: ").replace("remove the line", "leave it out")
        for key, option in _OPTION_OF_KEY.items():
            line = line.removeprefix("marker.") if line.startswith(f"marker.{key}:") else line
            line = option + line.removeprefix(key) if line.startswith(f"{key}:") else line
            line = line.replace(f"`{key}`", option).replace(key, option) if "_" in key else line
        raise GuidegenError(_TIP_KEY.sub(r"--tip \1", line)) from None
