"""What hangs together in a mask, and masks whose small gaps are closed: pixels or samples, rows and columns."""

from __future__ import annotations

from typing import Any

import numpy as np


def labelled(mask: Any) -> tuple[Any, int]:
    """Return what hangs together, by sides and corners: labels from 1 up, and how many there are."""
    from scipy import ndimage

    labels, count = ndimage.label(mask, structure=np.ones((3, 3), dtype=int))
    return labels, int(count)


def holes(mask: Any) -> tuple[Any, int]:
    """Return what a mask encloses, labelled."""
    from scipy import ndimage

    labels, count = ndimage.label(ndimage.binary_fill_holes(mask) & ~mask)
    return labels, int(count)


def closed(mask: Any, reach: float) -> Any:
    """Return a mask with gaps of up to twice ``reach`` closed."""
    from scipy import ndimage

    grown = ndimage.distance_transform_edt(~mask) <= reach
    return (ndimage.distance_transform_edt(grown) > reach) | mask
