"""Written ink on any sheet, found coarsely: how dark and how thick it is, and where there is some.

A letter has a thick stroke somewhere; what is thin all over (guide lines, small print, dots) has none. Everything is
found in a picture reduced to some two thousand pixels and told in pixels of the picture itself.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from guidegen.scan.cells import FAINT, InkColours
from guidegen.scan.light import LUMA, linear_of
from guidegen.scan.regions import labelled
from guidegen.scan.rings import COARSE_SIDE_PX, paper_level

_DARK = 0.18
"""Share of the paper's light that ink takes at least, in the channel where it shows best."""
_BRIDGED = 35
"""A stroke may be as wide as a quarter of the picture: a single letter seen from near."""
_PALE = 0.25
"""Lines that are printed pale, or thinner than a pixel, have this share of the ink's darkness."""
_CORE = 0.6
"""A stroke's core is where it is so many times as thick as the page's thickest usual stroke, or more."""
_MUCH = 2.2
"""What is thicker by this much is no writing: a table's edge, a shadow, a finger."""
_REACH = 3.5
"""A letter reaches so many strokes beyond its core at most."""
_LEAST_STROKE_PX = 4.0
_LEAST_HALVED_PX = 7.0
_MOST_WINDOWS = 400


@dataclass(frozen=True, slots=True)
class InkWindow:
    """A rectangle of the picture with writing in it: pixels, its end not included."""

    left: int
    top: int
    right: int
    bottom: int


@dataclass(frozen=True, slots=True)
class Writing:
    """What is written on a sheet: the thickest usual stroke in pixels, where it is, and all that is dark, reduced.

    ``dark`` is the mask of the reduced picture (rows, columns) with pale lines in it too, ``factor`` how many pixels
    one of it is. ``channel`` is the one to look at, None for brightness; ``colours`` are those of it then, grey.
    """

    stroke_px: float
    windows: tuple[InkWindow, ...]
    dark: Any
    factor: int
    channel: int | None
    colours: InkColours


def find_writing(image: Any, *, linear: bool = False) -> Writing | None:
    """Return what is written in a picture (RGB); None where nothing thick enough to be writing is dark.

    ``linear``: the picture's values are proportional to light.
    """
    from scipy import ndimage

    factor = max(1, round(max(image.size) / COARSE_SIDE_PX))
    small = np.asarray(image.reduce(factor) if factor > 1 else image, dtype=np.uint8)
    depth = _darkness(small)
    deepest = _deepest(depth)
    if deepest < _DARK:
        return None
    dark = depth > deepest / 2
    inside, thickness = _thicknesses(dark, 2)
    if thickness < _LEAST_HALVED_PX:  # every second pixel tells too little of strokes that thin
        inside, thickness = _thicknesses(dark, 1)
    if thickness * factor < _LEAST_STROKE_PX:
        return None
    step = round(dark.shape[0] / inside.shape[0])
    cores = inside > _CORE * thickness / 2
    labels, count = labelled(cores)
    thickest = ndimage.maximum(inside, labels, np.arange(1, count + 1)) if count else np.zeros(0)
    good = np.zeros(count + 1, dtype=bool)
    edge = np.unique(np.concatenate([labels[0], labels[-1], labels[:, 0], labels[:, -1]]))
    good[1:] = np.asarray(thickest) < _MUCH * thickness / 2
    good[edge] = False
    windows = _windows(good[labels], round(_REACH * thickness / step), factor * step, image.size)
    if not windows:
        return None
    ink = small[::step, ::step][good[labels]]
    channel, colours = _colours(ink, small, linear=linear)
    return Writing(thickness * factor, windows, depth > _PALE * deepest, factor, channel, colours)


def _thicknesses(dark: Any, step: int) -> tuple[Any, float]:
    """Return how far inside what is dark every ``step``-th pixel is, and the usual thick stroke, in pixels of it."""
    from scipy import ndimage

    inside = step * ndimage.distance_transform_edt(dark[::step, ::step])
    return inside, _usual_thickness(inside / step) * step


def _colours(ink: Any, small: Any, *, linear: bool) -> tuple[int | None, InkColours]:
    """Return the channel to look at, and the colours of paper and of ink's own pixels (count, 3).

    The channel is None where ink shows by its brightness; else the colours are grey, those of the channel.
    """
    paper = np.quantile(small[::4, ::4].reshape(-1, 3), 0.8, axis=0)
    darkest = np.median(ink, axis=0)
    light = [linear_of(each, linear=linear).tolist() for each in (paper, darkest)]
    apart = 1 - darkest / np.maximum(paper, 1.0)
    seen = 1 - float(darkest @ LUMA) / max(1.0, float(paper @ LUMA))
    if seen >= FAINT * apart.max():
        (a, b, c), (d, e, f) = light
        return None, InkColours((a, b, c), (d, e, f))
    best = int(np.argmax(apart))
    return best, InkColours((light[0][best],) * 3, (light[1][best],) * 3)


def _darkness(small: Any) -> Any:
    """Return the darkness of each pixel, 0..1, in the channel where it is darkest."""
    darkest = np.minimum(np.minimum(small[..., 0], small[..., 1]), small[..., 2])
    share = np.minimum(darkest / np.maximum(paper_level(darkest, _BRIDGED), 1.0), 1.0)
    # a power of 2.2 is near enough to the curve of sRGB here
    return 1 - share ** np.float32(2.2)


def _deepest(depth: Any) -> float:
    """Return how dark the ink is: the darkest that is more than a few pixels."""
    counts = np.bincount((depth[::2, ::2] * 200).astype(np.uint8).ravel(), minlength=200)
    above = np.cumsum(counts[::-1])[::-1]
    enough = np.flatnonzero(above > max(60, 2e-5 * depth.size / 4))
    return float(enough[-1]) / 200 if len(enough) else 0.0


def _usual_thickness(inside: Any) -> float:
    """Return the thickness of the page's usual thick stroke: the median of ridges, each by its thickness cubed.

    So ten letters outweigh all the guide lines of a page, which are longer by far and thinner by more.
    """
    from scipy import ndimage

    ridge = (inside > 1) & (inside >= ndimage.maximum_filter(inside, size=3))
    edge = max(2, round(0.01 * max(inside.shape)))
    ridge[:edge] = ridge[-edge:] = False
    ridge[:, :edge] = ridge[:, -edge:] = False
    half = np.sort(inside[ridge])
    half = half[half < 0.12 * max(inside.shape)]
    if not len(half):
        return 0.0
    weight = np.cumsum(half**3)
    return float(2 * half[np.searchsorted(weight, 0.6 * weight[-1])])


def _windows(cores: Any, reach: int, factor: int, size: tuple[int, int]) -> tuple[InkWindow, ...]:
    """Return boxes round cores, those that overlap made one, from the top."""
    from scipy import ndimage

    labels, _ = labelled(cores)
    found = ndimage.find_objects(labels)
    if len(found) > 4000:
        return ()
    covered = np.zeros(cores.shape, dtype=bool)
    for rows, columns in found:
        left, top = max(0, columns.start - reach), max(0, rows.start - reach)
        covered[top : rows.stop + reach, left : columns.stop + reach] = True
    together, _ = ndimage.label(covered)
    made = []
    for rows, columns in ndimage.find_objects(together)[:_MOST_WINDOWS]:
        made.append(InkWindow(columns.start * factor, rows.start * factor,
                           min(size[0], columns.stop * factor), min(size[1], rows.stop * factor)))  # fmt: skip
    return tuple(made)
