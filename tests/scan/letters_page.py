"""Pages of written letters, made of outlines: each letter drawn by Pillow at four times the resolution, then seen."""

from __future__ import annotations

import numpy as np
import simulate
from PIL import Image, ImageDraw
from scipy import ndimage

import guidegen as gg


def signed(points):
    x, y = points[:, 0], points[:, 1]
    return 0.5 * float((x * np.roll(y, -1) - np.roll(x, -1) * y).sum())


class Written:
    """A letter of polygons (mm, y up, baseline at 0) at a place of the page; looked up as simulate's strokes are."""

    FINE = 60.0
    """Pixels a mm that its picture has."""

    def __init__(self, rings, at):
        every = np.concatenate(rings)
        self.low, high = every.min(axis=0) - 0.5, every.max(axis=0) + 0.5
        size = np.ceil((high - self.low) * self.FINE).astype(int)
        image = Image.new("L", tuple(size * 2), 0)
        draw = ImageDraw.Draw(image)
        for ring in sorted(rings, key=lambda ring: -abs(signed(ring))):
            z = (ring - self.low) * self.FINE * 2
            draw.polygon([tuple(p) for p in z], fill=255 if signed(ring) > 0 else 0)
        self.cover = np.asarray(image.reduce(2), dtype=np.float32) / 255
        self.middle, self.at = at, at
        self.s = np.array([-1, 1]) * (max(high - self.low) / 2 + 1)

    def coverage(self, x, y, px_mm):
        fine = ndimage.uniform_filter(self.cover, max(1, round(px_mm * self.FINE)))
        column = (x - self.at.real - self.low[0]) * self.FINE - 0.5
        row = (self.at.imag - y - self.low[1]) * self.FINE - 0.5
        return ndimage.map_coordinates(fine, [row, column], order=1, mode="constant")


def letters_page(rng, look, rings, options, count=None):
    """A scan or photograph of a letters page with the same letter in its boxes; ``rings`` in mm, oriented."""
    page, dark = simulate.print_of({**options, "letters": True}, 600)
    every = np.concatenate(rings)
    middle = (every.min(axis=0) + every.max(axis=0)) / 2
    letters = []
    for cell in page.cells[:count]:
        centre = complex((cell.x_mm + cell.width_mm / 2) * look.printer[0],
                         (cell.y_mm + cell.height_mm / 2) * look.printer[1])  # fmt: skip
        letters.append(Written([ring - middle for ring in rings], centre))
    return simulate.seen(rng, page, dark, letters, look)


def hand_letter(marker, factor=1.0):
    """The hand's own e for a marker, its x-height times ``factor``: rings, and its ratio by the sizing's own rule."""
    from guidegen.geometry.measure import flatten
    from guidegen.lettering.sizing import counter_at, sample_outline

    lettering = gg.lettering_of(marker)
    lettering = lettering.at(lettering.x_height_mm * factor)
    rings = [flatten(path, 0.001) for path in sample_outline(lettering)]
    return [np.stack([ring.real, ring.imag], axis=1) for ring in rings], counter_at(lettering), lettering
