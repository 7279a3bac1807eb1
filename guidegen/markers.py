"""A marker profile: what a writing tool leaves on paper, measured."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Tip = Literal["brush", "pointed", "broad", "round"]
TIPS: tuple[Tip, ...] = ("brush", "pointed", "broad", "round")


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
