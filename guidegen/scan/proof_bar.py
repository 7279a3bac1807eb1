"""The proof bar of our sheets in a picture: its ticks say how long a millimetre is, and which way is up.

Above the bar stand ticks of millimetres, below it those of inches, both from the same end. Eleven above and nine below,
1.27 times as far apart, are a bar of 100 mm; nothing else on a page looks like that.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from guidegen.scan.regions import labelled
from guidegen.units import MM_PER_INCH

_BARS = {(11, 9): (10.0, 0.5), (6, 5): (10.0, 0.5), (5, 4): (5.0, 0.25)}
"""Ticks above and below: millimetres and inches from one to the next, as ``sheets/parts/proof.py`` draws them."""
_LEAST_PX = 60
_EVEN = 0.06
"""Ticks lie this near to even steps, in steps; and the two steps' ratio this near to what it is."""


@dataclass(frozen=True, slots=True)
class ProofBar:
    """A bar: pixels to a millimetre along it, whether the page lies with its head down, where its middle is."""

    px_per_mm: float
    upside_down: bool
    middle: complex = 0j


def find_proof_bar(dark: Any) -> ProofBar | None:
    """Return the bar among what is dark (a mask: rows, columns), None for none."""
    from scipy import ndimage

    labels, _ = labelled(dark)
    for number, box in enumerate(ndimage.find_objects(labels), start=1):
        high, wide = box[0].stop - box[0].start, box[1].stop - box[1].start
        if wide < _LEAST_PX or high > 0.3 * wide:
            continue
        rows, columns = np.nonzero(labels[box] == number)
        if len(rows) > 0.2 * high * wide + 6 * wide:
            continue
        found = _read(columns.astype(float), -rows.astype(float))
        if found is not None:
            return replace(found, middle=complex(box[1].start + box[1].stop, box[0].start + box[0].stop) / 2)
    return None


def _read(x: Any, y: Any) -> ProofBar | None:
    """Return the bar that dark pixels (y up) make."""
    slope, level = np.polyfit(x, y, 1)
    for _ in range(2):  # ticks pull the line
        near = abs(y - slope * x - level) < max(1.5, 0.006 * np.ptp(x))
        if near.sum() < 20:
            return None
        slope, level = np.polyfit(x[near], y[near], 1)
    length = np.hypot(1, slope)
    along, above = (x + slope * y) / length, (y - slope * x - level) / length
    reach = np.ptp(along)
    low, high = 0.0035 * reach + 0.5, 0.03 * reach
    ticks = [_ticks(along[(side > low) & (side < high)]) for side in (above, -above)]
    for upside_down in (False, True):
        mm, inch = ticks[::-1] if upside_down else ticks
        steps = _BARS.get((len(mm), len(inch)))
        if steps is None:
            continue
        fits = [np.polyfit(np.arange(len(side)), side, 1) for side in (mm, inch)]
        spread = [
            float(abs(np.polyval(fit, np.arange(len(side))) - side).max()) / fit[0]
            for fit, side in zip(fits, (mm, inch), strict=True)
        ]
        ratio = fits[1][0] / steps[1] / MM_PER_INCH / (fits[0][0] / steps[0])
        if max(spread) < _EVEN and abs(ratio - 1) < _EVEN:
            return ProofBar(float(fits[0][0]) / steps[0], upside_down)
    return None


def _ticks(places: Any) -> Any:
    """Return the middle of each group of places."""
    if not len(places):
        return np.zeros(0)
    ordered = np.sort(places)
    groups = np.split(ordered, np.flatnonzero(np.diff(ordered) > 2.0) + 1)
    return np.array([group.mean() for group in groups])
