"""How a picture was sharpened, read from the edges of its printed rings: all of them round and round, in one profile.

Scanners and telephones sharpen the coded values: beside an edge the paper is too light and the ink too dark, and half
the depth of light is no longer where the edge is. The rings' edge is fitted as it should look: a step softened in
light, coded, and the difference to its Gaussian added.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from guidegen.scan.camera import PageMap, in_mm, local_px
from guidegen.scan.light import LUMA, Rendering, coded_of, linear_of
from guidegen.sheets.parts.swatch_block import RING_MM, RING_WIDTH_MM, SwatchBlock

_INWARD_MM, _OUTWARD_MM = 0.5 * RING_WIDTH_MM, 0.8
_MOST = 1.2
_EDGE_PX, _DOUBT_AT_EDGE, _DOUBT = 1.5, 0.02, 0.004


def with_sharpening(image: Any, page: PageMap, block: SwatchBlock, rendering: Rendering) -> Rendering:
    """Return ``rendering`` with the sharpening that the rings' outer edges show."""
    places, profile, px_mm = _ring_edge(image, page, block.rings)
    if rendering.linear or len(places) < 8:
        return rendering
    found = fitted_edge(places, profile, px_mm)
    return replace(rendering, sharpened=found.amount, radius_px=found.radius_px)


@dataclass(frozen=True, slots=True)
class FittedEdge:
    """An edge of ink as it was before it was sharpened: light of ink and paper, where it is and how soft, in mm.

    ``amount`` of the difference to a Gaussian of ``radius_px`` was added to it.
    """

    black: float
    paper: float
    middle: float
    soft: float
    amount: float
    radius_px: float

    def coded(self, places: Any) -> Any:
        """Return the coded brightness (0..1) at places (an eighth of a pixel apart) as it was sharpened."""
        from scipy.ndimage import gaussian_filter1d
        from scipy.special import ndtr

        light = self.black + (self.paper - self.black) * ndtr((places - self.middle) / self.soft)
        coded = coded_of(light)
        return np.clip(coded + self.amount * (coded - gaussian_filter1d(coded, self.radius_px * 8)), 0.0, 1.0)


def fitted_edge(places: Any, profile: Any, px_mm: float) -> FittedEdge:
    """Return the edge whose coded brightness (0..1) is ``profile`` at ``places`` (mm outward, ink below 0)."""
    from scipy.optimize import least_squares

    step_px = float(places[1] - places[0]) / px_mm
    fine = np.arange(places[0] - 4 * px_mm, places[-1] + 4 * px_mm, px_mm / 8)

    def model(v: Any) -> Any:
        return np.interp(places, fine, FittedEdge(*v).coded(fine))

    low, high = float(profile[:3].mean()), float(profile[-max(3, len(profile) // 5) :].mean())
    dark, light = (float(linear_of(np.array(255 * v), linear=False)) for v in (low, high))
    start = [dark, light, 0.0, 0.8 * px_mm, 0.1, 1.2]
    # what toner does at its edge is not known: what lies further off tells more of sharpening
    doubt = np.where(abs(places) < _EDGE_PX * px_mm, _DOUBT_AT_EDGE, _DOUBT) / np.sqrt(min(1.0, step_px))
    bounds = ([0.0, 0.2 * light, -4 * px_mm, 0.15 * px_mm, 0.0, 0.5], [light, 1.5, 4 * px_mm, 6 * px_mm, _MOST, 3.0])

    def misses(v: Any) -> Any:
        held = [np.log(v[5] / 1.2) / 0.4, v[4] / 1.0]
        return np.concatenate([(model(v) - profile) / doubt, held])

    first = np.clip(start, np.array(bounds[0]) + 1e-6, np.array(bounds[1]) - 1e-6)
    found = least_squares(misses, first, bounds=bounds, max_nfev=80).x
    return FittedEdge(*(float(v) for v in found))


def _ring_edge(image: Any, page: PageMap, rings: Sequence[complex]) -> tuple[Any, Any, float]:
    """Return the mean coded brightness across the rings' outer edge: mm outward, values (0..1), a pixel in mm.

    Every pixel counts at its own distance from the ring's middle: between pixels nothing is interpolated, which would
    look like sharpening.
    """
    ends = page.to_px(np.array([rings[0], rings[-1]]))
    px_mm = float(abs(rings[-1] - rings[0]) / abs(ends[1] - ends[0]))
    size = px_mm / 4
    count = int((_INWARD_MM + _OUTWARD_MM) / size)
    total, each = np.zeros(count), np.zeros(count)
    for ring in rings:
        px = complex(page.to_px(np.array([ring]))[0])
        a, b = local_px(page, ring, RING_MM / 2)
        reach = (RING_MM / 2 + _OUTWARD_MM) * max(abs(a), abs(b)) + 2
        box = (int(px.real - reach), int(px.imag - reach), int(px.real + reach) + 2, int(px.imag + reach) + 2)
        light = np.asarray(image.crop(box), dtype=np.float32) @ LUMA / 255
        u = np.arange(box[0], box[2])[None, :] - px.real
        v = np.arange(box[1], box[3])[:, None] - px.imag
        x, y = in_mm(a, b, u, v)
        number = np.floor((np.hypot(x, y) - RING_MM / 2 + _INWARD_MM) / size).astype(int)
        held = (number >= 0) & (number < count)
        total += np.bincount(number[held], light[held], count)
        each += np.bincount(number[held], minlength=count)
    known = each > 0
    places = (np.arange(count) + 0.5) * size - _INWARD_MM
    return places[known], total[known] / each[known], px_mm
