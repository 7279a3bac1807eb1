"""Measures a letter from a raster of the written SVG, with no code of the project: only grey levels.

Used to check the counter rule from outside: cairosvg paints, scipy labels the enclosed white, and widths are
read as sums of grey along lines across the slant axis.
"""

from __future__ import annotations

import io
import math
import xml.etree.ElementTree as ET

import cairosvg
import numpy as np
from PIL import Image
from scipy import ndimage

SVG = "{http://www.w3.org/2000/svg}"


def only_group(svg: bytes, group_id: str) -> tuple[bytes, float, float]:
    """Return the SVG with just one of its groups, and the page's width and height in mm."""
    root = ET.fromstring(svg)
    for child in list(root):
        if child.tag == f"{SVG}g" and child.get("id") != group_id:
            root.remove(child)
    width, height = (float(root.get(key, "").removesuffix("mm")) for key in ("width", "height"))
    return ET.tostring(root), width, height


def ink_levels(svg: bytes, group_id: str, px_per_mm: float) -> np.ndarray:
    """Return ink coverage (1 black, 0 white) of one group; row 0 is the top."""
    part, width, height = only_group(svg, group_id)
    png = cairosvg.svg2png(
        bytestring=part,
        output_width=round(width * px_per_mm),
        output_height=round(height * px_per_mm),
        background_color="white",
    )
    grey = np.asarray(Image.open(io.BytesIO(png)).convert("L"), dtype=float)
    return 1.0 - grey / 255.0


def counter_and_stroke_mm(ink: np.ndarray, slant_deg: float, px_per_mm: float) -> tuple[float, float]:
    """Return the counter's longest chord across the slant axis and the ink to its left on that line, in mm."""
    labels, _ = ndimage.label(ink < 0.5)
    outside = {*labels[0], *labels[-1], *labels[:, 0], *labels[:, -1], 0}
    sizes = {n: int(size) for n, size in enumerate(np.bincount(labels.ravel())) if n not in outside}
    counter = labels == max(sizes, key=sizes.__getitem__)
    rows, columns = np.nonzero(counter)
    across = np.array([math.sin(math.radians(slant_deg)), -math.cos(math.radians(slant_deg))])  # x, y up
    axis = np.array([math.cos(math.radians(slant_deg)), math.sin(math.radians(slant_deg))])
    along = columns * axis[0] - rows * axis[1]
    reach = float(np.hypot(*ink.shape))
    step = 0.25
    s = np.arange(-reach, reach, step)
    best = (0.0, 0.0)
    for level in np.arange(along.min() + 1, along.max(), 1.0):
        x, y = level * axis[0] + s * across[0], -(level * axis[1] + s * across[1])
        inside = ndimage.map_coordinates(counter.astype(float), [y, x], order=0) > 0.5
        if not inside.any():
            continue
        first, last = np.flatnonzero(inside)[[0, -1]]
        profile = ndimage.map_coordinates(ink, [y, x], order=1)
        margin = int(3 / step)
        white = float((1 - profile[first - margin : last + margin]).clip(0, 1).sum() * step)
        # the margin reaches into full ink on both sides, where 1 - profile is 0
        if white > best[0]:
            left = first
            while (left > 0 and profile[left - 1] > 0.5) or left > first - margin:
                left -= 1
            stroke = float(profile[left - margin : first + margin].clip(0, 1).sum() * step)
            best = (white, stroke)
    return best[0] / px_per_mm, best[1] / px_per_mm
