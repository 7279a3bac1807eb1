"""The 3,170 centreline glyphs of the Hershey-Fonts package, as strokes of three of our markers."""

from __future__ import annotations

import cmath
import functools
import math

import numpy as np
from HersheyFonts import HersheyFonts

from guidegen.geometry.path import polyline
from guidegen.geometry.stroke.stroke import Nib, NibStroke, Stroke, Widths

UNIT = 0.5  # mm for one unit of the fonts' grid: capitals are 21 units, so 10.5 mm tall
MARKERS = ("flint", "cobble", "slate")


@functools.cache
def glyphs():
    """Return [(name, [polyline points, ...]), ...] of all faces, y up, in mm."""
    fonts = HersheyFonts()
    result = []
    for face in sorted(fonts.default_font_names):
        fonts.load_default_font(face)
        for key, glyph in sorted(fonts.all_glyphs.items(), key=lambda item: str(item[0])):
            lines = [[complex(x, -y) * UNIT for x, y in stroke] for stroke in glyph.strokes]
            result.append((f"{face} {key}", [line for line in lines if line]))
    return result


def strokes(lines, marker):
    """Ink a glyph: flint is round (0.8 mm), cobble presses on the way down (3.2/0.6), slate is broad (3.0 x 0.3)."""
    paths = [polyline(line if len(line) > 1 else line * 2) for line in lines]
    if marker == "slate":
        return [NibStroke(path, Nib(3.0, 0.3, 40.0)) for path in paths]
    if marker == "flint":
        return [Stroke(path, Widths(((0.0, 0.8),))) for path in paths]
    return [Stroke(path, pressure(path)) for path in paths]


def pressure(path):
    """Widths by direction: knots in the middle of every segment, eased between."""
    knots, run = [], 0.0
    for a, b in path.segments:
        size = abs(b - a)
        down = max(0.0, -math.sin(cmath.phase(b - a))) if size else 0.0
        knots.append((run + size / 2, 0.6 + 2.6 * down**2))
        run += size
    return Widths(tuple(knots), eased=True)


def straight(lines):
    """True for a glyph of one straight stroke."""
    if len(lines) != 1 or len(lines[0]) < 2:
        return False
    z = np.array(lines[0])
    return len(z) == 2
