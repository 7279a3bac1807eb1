"""From coded pixel values to light: the curve, the file's kept colours, and the sharpening that was laid over it.

The curve of sRGB is that of IEC 61966-2-1. Not undoing it moves an edge by 17 to 32 micrometres at 600 dpi.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

LUMA = np.array([0.299, 0.587, 0.114], dtype=np.float32)
"""Weights of red, green and blue in the brightness that JPEG keeps at full size (ITU-R BT.601)."""
_LEAST_SHARPENING = 0.04


@dataclass(frozen=True, slots=True)
class Rendering:
    """How a picture's values came from light.

    ``linear``: they are proportional to it, else they follow the curve of sRGB. ``coarse_colour``: colour is kept at a
    lower resolution than brightness, as JPEG does. ``sharpened``: by how much the difference to a Gaussian of
    ``radius_px`` was added.
    """

    linear: bool = False
    coarse_colour: bool = False
    sharpened: float = 0.0
    radius_px: float = 1.0

    @property
    def is_sharpened(self) -> bool:
        """Tell whether the sharpening is strong enough to be undone."""
        return self.sharpened >= _LEAST_SHARPENING

    def light(self, coded: Any) -> Any:
        """Return values (0..255) as light, 0..1."""
        return linear_of(coded, linear=self.linear)

    def unsharpened(self, coded: Any) -> Any:
        """Return values (0..255; rows, columns, perhaps channels) as they were before they were sharpened."""
        from scipy import ndimage

        values = coded.astype(np.float32)
        if not self.is_sharpened:
            return values
        sigma = (self.radius_px,) * 2 + (0,) * (values.ndim - 2)
        found = values
        for _ in range(4):  # y = x + a (x - Gx), solved for x by x = (y + a G x) / (1 + a)
            found = (values + self.sharpened * ndimage.gaussian_filter(found, sigma)) / (1 + self.sharpened)
        return found


def _srgb(coded: Any) -> Any:
    return np.where(coded <= 0.04045, coded / 12.92, ((np.maximum(coded, 0.0) + 0.055) / 1.055) ** 2.4)


def coded_of(light: Any) -> Any:
    """Return light (0..1) by the curve of sRGB, 0..1."""
    low = np.maximum(light, 0.0)
    return np.where(low <= 0.0031308, 12.92 * low, 1.055 * low ** (1 / 2.4) - 0.055)


_TABLE = _srgb(np.arange(256) / 255.0).astype(np.float32)
_PLAIN = (np.arange(256) / 255.0).astype(np.float32)


def linear_of(coded: Any, *, linear: bool) -> Any:
    """Return pixel values (0..255, whole or not) as light, 0..1; ``linear`` ones already are."""
    if coded.dtype == np.uint8:
        return (_PLAIN if linear else _TABLE)[coded]
    share = coded / 255.0
    return share if linear else _srgb(share)
