"""Letters on any sheet: blank, ruled or one of ours, with letters and words of polygons on it, seen by simulate."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import simulate
from letters_page import Written

import guidegen as gg

DPI = 600


def ruled(size_mm, heights_mm, width_mm=0.2, dark=1.0):
    """A print with level lines, as darkness (0 to 255) at 600 dpi."""
    k = DPI / 25.4
    made = np.zeros((round(size_mm[1] * k), round(size_mm[0] * k)), dtype=np.uint8)
    for y in heights_mm:
        made[round((y - width_mm / 2) * k) : round((y + width_mm / 2) * k)] = round(255 * dark)
    return made


def placed(rings, at):
    """A letter or word of rings (mm, y up) with its origin at a place of the page (mm, y down)."""
    every = np.concatenate(rings)
    middle = (every.min(axis=0) + every.max(axis=0)) / 2
    return Written([ring - middle for ring in rings], at + complex(middle[0], -middle[1]))


def seen(rng, look, region, dark, letters):
    """The file of a picture of a region (x, y, width, height in mm) of a sheet."""
    x, y, width, height = region
    cell = SimpleNamespace(kind="hairline", x_mm=x, y_mm=y, width_mm=width, height_mm=height)
    return simulate.seen(rng, SimpleNamespace(cells=[cell]), dark, letters, look)


def word(marker, text, factor=1.0):
    """A word in a marker's hand as rings, what the sizing says of its e, and its lettering."""
    from guidegen.geometry.measure import flatten
    from guidegen.lettering.sizing import counter_at
    from guidegen.lettering.text import ink_line, set_line

    lettering = gg.lettering_of(marker)
    lettering = lettering.at(lettering.x_height_mm * factor)
    rings = [flatten(path, 0.002) for path in ink_line(set_line(lettering, text))]
    return [np.stack([ring.real, ring.imag], axis=1) for ring in rings], counter_at(lettering), lettering
