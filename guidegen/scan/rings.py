"""Ring marks in a picture: found coarsely by their shape, then placed to a fraction of a pixel by their darkness.

Pixel coordinates: x right, y down, the middle of the first pixel at (0, 0); a point is a complex number.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from guidegen.scan.light import linear_of
from guidegen.scan.regions import labelled
from guidegen.sheets.parts.swatch_block import RING_MM, RING_WIDTH_MM

COARSE_SIDE_PX = 1500
"""Rings are looked for in a picture reduced to about this size: a ring of a page of four blocks is 30 pixels wide."""
_HOLE_SHARE = 1 - (1 - 2 * RING_WIDTH_MM / RING_MM) ** 2  # of a filled ring's area that is black: 0.556
_LEAST_PX = 9
_MOST_SHARE = 0.2
"""A ring is at most so much of the picture's longer side."""
_DARK = 0.72
"""A pixel is looked at as ink when it has less than this share of the paper's value (as coded) around it."""


@dataclass(frozen=True, slots=True)
class Ring:
    """A ring: its centre, half the lengths of its axes as a covariance, whether it has a dot."""

    centre: complex
    xx: float
    xy: float
    yy: float
    dotted: bool

    @property
    def diameter_px(self) -> float:
        """Return the mean of its long and short diameter."""
        return 4.0 * float(np.sqrt(np.sqrt(max(self.xx * self.yy - self.xy**2, 0.0))))


def find_rings(image: Any, *, linear: bool) -> list[Ring]:
    """Return the rings of a picture, whatever their order, each placed to some hundredths of a pixel."""
    factor = max(1, round(max(image.size) / COARSE_SIDE_PX))
    small = np.asarray((image.reduce(factor) if factor > 1 else image).convert("L"), dtype=np.uint8)
    found = []
    for x, y, xx, xy, yy in _alike(_coarse_rings(small)):
        placed = _placed(image, factor * (x + 0.5) - 0.5, factor * (y + 0.5) - 0.5,
                         (factor**2 * xx, factor**2 * xy, factor**2 * yy), linear=linear)  # fmt: skip
        if placed is not None:
            found.append(placed)
    return found


_Coarse = tuple[float, float, float, float, float]
"""Centre and second moments (x, y, xx, xy, yy) in pixels of the small picture."""


def _alike(found: list[_Coarse]) -> list[_Coarse]:
    """Return those that as many others as a block has are about as large as, where there are such; else all.

    Letters with holes in them are rings too, and each takes some time to place.
    """
    sizes = np.array([xx + yy for _, _, xx, _, yy in found])
    others = ((sizes[:, None] > sizes / 4) & (sizes[:, None] < 4 * sizes)).sum(axis=0)
    kept = [one for one, count in zip(found, others, strict=True) if count >= 12]
    large = [one for one in kept if one[2] + one[4] > 0.12 * max(each[2] + each[4] for each in kept)]
    return large if len(large) >= 12 else found


def paper_level(small: Any, bridged: int = 3) -> Any:
    """Return the paper's value around each pixel of a grey picture: the brightest nearby, smoothed.

    What is dark over less than ``bridged`` hundred-and-fortieths of the picture's longer side is bridged.
    """
    from scipy import ndimage

    block = max(1, round(max(small.shape) / 140))
    high, wide = (-(-side // block) for side in small.shape)
    padded = np.pad(small, ((0, high * block - small.shape[0]), (0, wide * block - small.shape[1])), mode="edge")
    tiles = padded.reshape(high, block, wide * block).max(axis=1).reshape(high, wide, block).max(axis=2)
    level = ndimage.gaussian_filter(ndimage.grey_closing(tiles.astype(np.float32), size=bridged), 1.5)
    return np.repeat(np.repeat(level, block, axis=0), block, axis=1)[: small.shape[0], : small.shape[1]]


def _coarse_rings(small: Any) -> list[_Coarse]:
    """Return everything dark that is shaped as a ring."""
    from scipy import ndimage

    dark = small < _DARK * paper_level(small)
    labels, count = labelled(dark)
    found = []
    most = _MOST_SHARE * max(small.shape)
    for number, place in enumerate(ndimage.find_objects(labels, max_label=count), start=1):
        if place is None:
            continue
        high, wide = place[0].stop - place[0].start, place[1].stop - place[1].start
        if min(high, wide) < _LEAST_PX or max(high, wide) > most or max(high, wide) > 2.5 * min(high, wide):
            continue
        own = labels[place] == number
        if not 0.15 < own.mean() < 0.75:
            continue
        filled = ndimage.binary_fill_holes(own)
        whole = int(filled.sum())
        share = own.sum() / whole
        if not 0.3 < share < 0.85:
            continue
        rows, columns = np.nonzero(filled)
        x, y = columns.mean(), rows.mean()
        xx, yy = columns.var() + 1 / 12, rows.var() + 1 / 12
        xy = float(((columns - x) * (rows - y)).mean())
        ellipse = 4 * np.pi * np.sqrt(max(xx * yy - xy**2, 0.0))  # the area of an ellipse with these moments
        if abs(whole / ellipse - 1) < 0.03:
            found.append((place[1].start + float(x), place[0].start + float(y), float(xx), xy, float(yy)))
    return found


def _placed(image: Any, x: float, y: float, moments: tuple[float, float, float], *, linear: bool) -> Ring | None:
    """Return a ring placed by the darkness round it: paper and light as they are there, all channels together."""
    xx, xy, yy = moments
    reach = 2.0 * np.sqrt(max(xx, yy)) * 1.45
    left, top = max(0, int(x - reach)), max(0, int(y - reach))
    right, bottom = min(image.size[0], int(x + reach) + 2), min(image.size[1], int(y + reach) + 2)
    if min(x - reach, y - reach) < -1 or right < x + reach or bottom < y + reach:
        return None  # cut off at the picture's edge
    light = linear_of(np.asarray(image.crop((left, top, right, bottom))), linear=linear).mean(axis=2)
    rows, columns = np.mgrid[top:bottom, left:right].astype(np.float64)
    inverse = np.linalg.inv([[xx, xy], [xy, yy]])
    for _ in range(2):
        u, v = columns - x, rows - y
        square = (inverse[0, 0] * u * u + 2 * inverse[0, 1] * u * v + inverse[1, 1] * v * v) / 4
        outside = (square > 1.16**2) & (square < 1.42**2)
        if outside.sum() < 20:
            return None
        paper = _plane(u[outside], v[outside], light[outside])
        dark = 1 - light / np.maximum(paper[0] + paper[1] * u + paper[2] * v, 1e-3)
        inside = square < 1.16**2
        weight = np.where(inside, dark, 0.0)
        total = weight.sum()
        if total <= 0:
            return None
        x, y = float((weight * columns).sum() / total), float((weight * rows).sum() / total)
    radius = np.sqrt(square)
    ring, gap, middle = (dark[(radius > a) & (radius < b)] for a, b in ((0.74, 0.92), (0.42, 0.58), (0.0, 0.2)))
    if min(len(ring), len(gap), len(middle)) == 0:
        return None
    black, white, core = (float(np.median(part)) for part in (ring, gap, middle))
    if black - white < 0.25:
        return None
    return Ring(complex(x, y), xx, xy, yy, core - white > 0.5 * (black - white))


def _plane(u: Any, v: Any, values: Any) -> Any:
    """Return level and slopes of the paper, from its brighter part, so that a line nearby does not count."""
    keep = values > 0.8 * np.quantile(values, 0.7)
    matrix = np.stack([np.ones(keep.sum()), u[keep], v[keep]], axis=1)
    solved, *_ = np.linalg.lstsq(matrix, values[keep], rcond=None)
    return solved
