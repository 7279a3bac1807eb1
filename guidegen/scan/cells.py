"""One cell of a block as light: cut out of the picture, paper made level, channels weighted by the ink's contrast."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np

from guidegen.scan.camera import PageMap, in_mm, local_px
from guidegen.scan.light import LUMA, Rendering, coded_of
from guidegen.scan.pictures import smaller
from guidegen.sheets.parts.swatch_block import SwatchCell

INSET_MM = 0.5
"""Ink this near to a cell's edge has left it."""
LOOKED_AT = 40_000
"""Pixels of a cell looked at for its colours."""
COARSE_MM = 0.085
"""A stroke is looked for in pixels of about this size: a hairline of 0.1 mm still shows."""
DEEPEST = 0.9995
"""The quantile of a cell's darkness that counts as its darkest: the thinnest stroke covers some 0.3 % of it."""
FAINT = 0.4
"""Ink whose brightness shows less than this share of what its best channel does is looked at in that channel."""
FULL_WHITE = 254
"""Coded values from here up are taken for clipped."""


@dataclass(frozen=True, slots=True)
class CellPicture:
    """A cell's pixels as they are coded, and where its upper left pixel lies in the picture."""

    cell: SwatchCell
    coded: Any
    corner_px: complex
    right_px: complex
    """What a millimetre to the right is in pixels, at the cell's middle."""
    down_px: complex
    rendering: Rendering

    @property
    def px_mm(self) -> float:
        """Return the side of a pixel in mm of the page, the larger of both directions."""
        return 1 / min(abs(self.right_px), abs(self.down_px))


@dataclass(frozen=True, slots=True)
class InkColours:
    """Light of paper and ink in red, green and blue."""

    paper: tuple[float, float, float]
    ink: tuple[float, float, float]

    @property
    def weights(self) -> Any:
        """Return the weights of the channels, by their contrast."""
        contrast = np.maximum(np.array(self.paper) - np.array(self.ink), 0.0)
        # a channel of little contrast brings noise and the colour's own blur (chroma is kept coarser than light)
        contrast = np.where(contrast < 0.2 * contrast.max(), 0.0, contrast)
        return contrast / max(1e-9, contrast.sum())

    @property
    def faint(self) -> bool:
        """Tell whether the ink is nearly as bright as paper, so that a channel shows far more of it."""
        paper, ink = np.array(self.paper), np.array(self.ink)
        by_channel = float((1 - coded_of(ink) / np.maximum(coded_of(paper), 1e-3)).max())
        return 1 - float(coded_of(ink) @ LUMA) / max(1e-3, float(coded_of(paper) @ LUMA)) < FAINT * by_channel

    @property
    def contrast(self) -> float:
        """Return how much darker ink is than paper in the weighted channels, 0..1."""
        w = self.weights
        return float(1 - (w * np.array(self.ink)).sum() / max(1e-9, (w * np.array(self.paper)).sum()))


def cut_out(image: Any, page: PageMap, cell: SwatchCell, rendering: Rendering, air_mm: float = 0.0) -> CellPicture:
    """Return a cell's pixels, with so much around it."""
    low = complex(cell.x_mm - air_mm, cell.y_mm - air_mm)
    size = complex(cell.width_mm + 2 * air_mm, cell.height_mm + 2 * air_mm)
    edge = np.linspace(0, 1, 5)
    outline = np.concatenate([low + size.real * edge, low + size.real * edge + 1j * size.imag,
                              low + 1j * size.imag * edge, low + size.real + 1j * size.imag * edge])  # fmt: skip
    px = page.to_px(outline)
    left, top = max(0, int(px.real.min()) - 1), max(0, int(px.imag.min()) - 1)
    right, bottom = min(image.size[0], int(px.real.max()) + 3), min(image.size[1], int(px.imag.max()) + 3)
    coded = np.asarray(image.crop((left, top, max(left + 2, right), max(top + 2, bottom))))
    return CellPicture(cell, coded, complex(left, top), *local_px(page, cell.centre), rendering)


def stride_of(picture: CellPicture) -> int:
    """Return which pixels to look at for about ``LOOKED_AT`` of a cell's: every one, or every second and so on."""
    return max(1, round(float(np.sqrt(picture.coded.shape[0] * picture.coded.shape[1] / LOOKED_AT))))


def inside(picture: CellPicture, stride: int) -> Any:
    """Return which of every ``stride``-th pixel lie well in the cell, clear of the marks at its corners."""
    rows, columns = np.ogrid[0 : picture.coded.shape[0] : stride, 0 : picture.coded.shape[1] : stride]
    u, v = columns - (picture.coded.shape[1] - 1) / 2, rows - (picture.coded.shape[0] - 1) / 2
    x, y = in_mm(picture.right_px, picture.down_px, u, v)
    return (abs(x) < picture.cell.width_mm / 2 - INSET_MM) & (abs(y) < picture.cell.height_mm / 2 - INSET_MM)


def colours_of(pictures: list[CellPicture], fewer: int = 1) -> InkColours | None:
    """Return the colours of paper and ink in cells that hold strokes of one marker; None where there is no ink.

    ``fewer``: looks at every second pixel along each side of what is usual, and so on.
    """
    found = []
    for picture in pictures:
        stride = stride_of(picture) * fewer
        light = picture.rendering.light(picture.coded[::stride, ::stride][inside(picture, stride)])
        found.append(colours_in(light))
    known = [each for each in found if each is not None]
    if not known:
        return None
    (a, b, c) = np.median([each.paper for each in known], axis=0).tolist()
    (d, e, f) = np.median([each.ink for each in known], axis=0).tolist()
    return InkColours((a, b, c), (d, e, f))


def colours_in(light: Any) -> InkColours | None:
    """Return the colours of paper and ink among pixels (count, 3) of light; None where there is no ink."""
    grey = light.min(axis=1)
    paper = np.median(light[grey > 0.8 * np.quantile(grey, 0.8)], axis=0)
    apart = (paper - light).max(axis=1)
    deepest = np.quantile(apart, DEEPEST)
    if deepest < 0.08:
        return None
    (a, b, c), (d, e, f) = paper.tolist(), np.median(light[apart > 0.85 * deepest], axis=0).tolist()
    return InkColours((a, b, c), (d, e, f))


def darkness_of(picture: CellPicture, colours: InkColours, stride: int = 1) -> Any:
    """Return 0 on paper and about 1 for no light at all, with the paper's level as it is in each place of the cell."""
    how = picture.rendering
    coded = picture.coded[::stride, ::stride]
    if how.coarse_colour and not how.linear:
        return _by_brightness(coded if stride > 1 else how.unsharpened(coded), colours)
    weights = colours.weights.astype(np.float32)
    light = how.light(coded if stride > 1 or not how.sharpened else how.unsharpened(coded)) @ weights
    return 1 - light / np.maximum(_paper_of(light), 1e-3)


def coarse_darkness(picture: CellPicture, colours: InkColours) -> tuple[Any, int]:
    """Return the darkness of the cell made smaller, and by which factor: enough to tell where its stroke is."""
    factor = max(1, round(COARSE_MM / picture.px_mm))
    # brightness is enough, but for coloured ink on what is kept in full colour
    grey = picture.rendering.coarse_colour
    light = picture.rendering.light(smaller(picture.coded, factor, grey=grey))
    if not grey:
        light = light @ colours.weights.astype(np.float32)
    return 1 - light / np.maximum(_paper_of(light), 1e-3), factor


def _by_brightness(coded: Any, colours: InkColours) -> Any:
    """Return the darkness told by brightness alone, which is what JPEG keeps at full resolution."""
    brightness = coded.astype(np.float32) @ LUMA
    return darkness_by_brightness(brightness / np.maximum(_paper_of(brightness), 1.0), colours)


def darkness_by_brightness(share: Any, colours: InkColours) -> Any:
    """Return the darkness from coded brightness as a share of the paper's.

    Between paper and ink every mixture has one brightness; read backwards that says how much ink there is. Light that
    falls off scales coded values too, nearly, for their curve is nearly a power.
    """
    inked = np.linspace(-0.25, 1.25, 301)
    paper, ink = np.array(colours.paper), np.array(colours.ink)
    mixed = coded_of(paper + inked[:, None] * (ink - paper)) @ LUMA / float(coded_of(paper) @ LUMA)
    contrast = 1 - float(ink @ LUMA) / max(1e-6, float(paper @ LUMA))
    # a table of equal steps is read without a search
    steps = np.linspace(0.0, 1.5, 3001)
    table = (np.interp(steps, mixed[::-1], inked[::-1]) * contrast).astype(np.float32)
    at = np.clip(share * 2000.0, 0.0, 2999.0)
    whole = at.astype(np.int32)
    return table[whole] + (at - whole) * (table[whole + 1] - table[whole])


@dataclass(frozen=True, slots=True)
class BrightnessTable:
    """The darkness of coded brightness, at even steps of its share of the paper's, 0 to 1.5."""

    dark: Any

    def read(self, level: float) -> Any:
        """Return the darkness of each brightness 0..255 where paper has ``level``: 256 numbers."""
        share = np.minimum(np.arange(256) / max(level, 1.0), 1.5)
        return np.interp(share, np.linspace(0.0, 1.5, len(self.dark)), self.dark).astype(np.float32)


@lru_cache(maxsize=4)
def brightness_table(colours: InkColours, *, linear: bool) -> BrightnessTable:
    """Return the darkness told by brightness, of an ink on its paper."""
    share = np.linspace(0.0, 1.5, 301)
    return BrightnessTable(1 - share if linear else darkness_by_brightness(share, colours))


def _paper_of(light: Any) -> Any:
    """Return the level of the paper in each place, a plane through what is paper."""
    level = paper_plane(light)
    return level[0] + level[1] * np.arange(light.shape[1])[None, :] + level[2] * np.arange(light.shape[0])[:, None]


def paper_plane(light: Any) -> tuple[float, float, float]:
    """Return the paper's level at the first pixel, and what it grows by with each column and row."""
    rows, columns = light.shape
    step = max(1, round(np.sqrt(rows * columns / 4000)))
    sample = light[::step, ::step]
    y, x = (part.astype(float) for part in np.mgrid[0:rows:step, 0:columns:step])
    keep = sample > 0.85 * np.quantile(sample, 0.8)
    for _ in range(2):
        matrix = np.stack([np.ones(keep.sum()), x[keep], y[keep]], axis=1)
        level, *_ = np.linalg.lstsq(matrix, sample[keep], rcond=None)
        fitted = level[0] + level[1] * x + level[2] * y
        spread = np.std((sample - fitted)[keep])
        keep = abs(sample - fitted) < max(3 * spread, 0.01 * level[0])
    return float(level[0]), float(level[1]), float(level[2])


def clipped_share(pictures: list[CellPicture]) -> float:
    """Return which share of the paper's pixels is at full white in every channel."""
    white = total = 0
    for picture in pictures:
        stride = stride_of(picture)
        coded = picture.coded[::stride, ::stride].reshape(-1, 3)
        low = coded.min(axis=1)
        paper = low > 0.7 * np.quantile(low, 0.8)
        white += int((low[paper] >= FULL_WHITE).sum())
        total += int(paper.sum())
    return white / max(1, total)
