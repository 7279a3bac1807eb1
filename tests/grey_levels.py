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


def counter_and_downstroke_mm(ink: np.ndarray, slant_deg: float, px_per_mm: float) -> tuple[float, float]:
    """Return the counter's longest chord across the slant axis, and the longest chord of the full downstroke, in mm.

    The picture is turned until the slant axis stands upright; chords are then sums of grey along rows. A stretch of ink
    on a row is the downstroke where both of its edges run within 30 degrees of upright; where another stroke crosses or
    branches off, one of them doesn't.
    """
    turned = np.clip(ndimage.rotate(ink, 90 - slant_deg, order=3), 0.0, 1.0)  # anticlockwise
    labels, _ = ndimage.label(turned < 0.5)
    sizes = np.bincount(labels.ravel())
    sizes[[0, *{*labels[0], *labels[-1], *labels[:, 0], *labels[:, -1]}]] = 0
    counter = labels == int(sizes.argmax())
    return _longest_white(turned, counter) / px_per_mm, _longest_upright_ink(turned) / px_per_mm


def _longest_white(ink: np.ndarray, counter: np.ndarray) -> float:
    best = 0.0
    for row in np.flatnonzero(counter.any(axis=1)):
        first, last = np.flatnonzero(counter[row])[[0, -1]]
        best = max(best, float((1 - ink[row, first - 3 : last + 4]).sum()))  # three pixels into full ink on both sides
    return best


def _longest_upright_ink(ink: np.ndarray) -> float:
    edges = [_runs(row) for row in ink]
    steepest = 2 * _REACH * math.tan(math.radians(30))
    best = 0.0
    for k in range(_REACH, len(edges) - _REACH):
        for here in edges[k]:
            above, below = (_overlapping(edges[k + d], here) for d in (-_REACH, _REACH))
            if above is None or below is None:
                continue
            turns = (abs(a - b) for a, b in zip(above, below, strict=True))
            kinks = (abs(a + b - 2 * c) for a, b, c in zip(above, below, here, strict=True))
            if max(turns) <= steepest and max(kinks) <= _BENT:
                best = max(best, here[1] - here[0])
    return best


_REACH, _BENT = 6, 2.0
"""Rows up and down over which the direction of an edge is taken, and by how many pixels it may bend there."""


def _runs(row: np.ndarray) -> list[tuple[float, float]]:
    """Stretches of ink of a row, their ends between pixels where grey passes a half."""
    change = np.flatnonzero((row[:-1] > 0.5) != (row[1:] > 0.5))
    at = change + (row[change] - 0.5) / (row[change] - row[change + 1])
    return list(zip(at[::2], at[1::2], strict=True))


def _overlapping(runs: list[tuple[float, float]], one: tuple[float, float]) -> tuple[float, float] | None:
    return next((run for run in runs if run[0] < one[1] and run[1] > one[0]), None)
