"""How a picture was sharpened, read from the edges of its printed rings: all of them round and round, in one profile.

Scanners and telephones sharpen the coded values: beside an edge the paper is too light and the ink too dark, and half
the depth of light is no longer where the edge is. The rings' edge is fitted as it should look: a step softened in
light, coded, and the difference to its Gaussian added.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from guidegen.scan.camera import PageMap
from guidegen.scan.light import LUMA, Rendering, coded_of
from guidegen.sheets.parts.swatch_block import RING_MM, RING_WIDTH_MM, SwatchBlock

_ANGLES = 180
_INWARD_MM, _OUTWARD_MM = 0.5 * RING_WIDTH_MM, 0.8
_MOST = 1.2


def with_sharpening(image: Any, page: PageMap, block: SwatchBlock, rendering: Rendering) -> Rendering:
    """Return ``rendering`` with the sharpening that the rings' outer edges show."""
    from scipy.ndimage import gaussian_filter1d
    from scipy.optimize import least_squares

    places, profile, px_mm = _ring_edge(image, page, block.rings)
    step_px = float(places[1] - places[0]) / px_mm
    if rendering.linear or len(places) < 8:
        return rendering

    def model(v: Any) -> Any:
        black, paper, middle, soft, amount, radius = v
        fine = np.arange(places[0] - 4 * px_mm, places[-1] + 4 * px_mm, px_mm / 8)
        from scipy.special import ndtr

        light = black + (paper - black) * ndtr((fine - middle) / soft)
        coded = coded_of(light)
        sharp = coded + amount * (coded - gaussian_filter1d(coded, radius * 8))
        # a pixel's value at a place between others is the mean of its neighbours'
        return np.interp(places, fine, sharp)

    low, high = float(profile[:3].mean()), float(profile[-max(3, len(profile) // 5) :].mean())
    from guidegen.scan.light import linear_of

    dark, light = (float(linear_of(np.array(255 * v), linear=False)) for v in (low, high))
    start = [dark, light, 0.0, 0.8 * px_mm, 0.1, 1.2]
    bounds = ([0.0, 0.2 * light, -4 * px_mm, 0.15 * px_mm, 0.0, 0.5], [light, 1.5, 4 * px_mm, 6 * px_mm, _MOST, 3.0])

    def misses(v: Any) -> Any:
        held = [np.log(v[5] / 1.2) / 0.4, v[4] / 1.0]
        return np.concatenate([(model(v) - profile) / 0.004 * np.sqrt(min(1.0, step_px)), held])

    first = np.clip(start, np.array(bounds[0]) + 1e-6, np.array(bounds[1]) - 1e-6)
    found = least_squares(misses, first, bounds=bounds, max_nfev=80).x
    return replace(rendering, sharpened=float(found[4]), radius_px=float(found[5]))


def _ring_edge(image: Any, page: PageMap, rings: Sequence[complex]) -> tuple[Any, Any, float]:
    """Return the mean coded brightness across the rings' outer edge: mm outward, values (0..1), a pixel in mm."""
    from scipy import ndimage

    angle = np.exp(2j * np.pi * (np.arange(_ANGLES) + 0.5) / _ANGLES)
    made = []
    ends = page.to_px(np.array([rings[0], rings[-1]]))
    px_mm = float(abs(rings[-1] - rings[0]) / abs(ends[1] - ends[0]))
    places = np.arange(-_INWARD_MM, _OUTWARD_MM, px_mm / 2)
    for ring in rings:
        z = ring + angle[:, None] * (RING_MM / 2 + places)[None, :]
        px = page.to_px(z)
        left, top = int(px.real.min()) - 2, int(px.imag.min()) - 2
        box = (left, top, int(px.real.max()) + 3, int(px.imag.max()) + 3)
        light = np.asarray(image.crop(box), dtype=np.float32) @ LUMA / 255
        values = ndimage.map_coordinates(light, [px.imag - top, px.real - left], order=3, mode="nearest")
        made.append(np.median(values, axis=0))
    return places, np.mean(made, axis=0), px_mm
