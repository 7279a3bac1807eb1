"""Gauges of known width, drawn by programs that have nothing to do with the measurer, and one by a closed formula.

Each is a swatch page with a bar in every cell. Coverage is light here, and the file says so (gAMA 1.0).
"""

from __future__ import annotations

import io
import zlib

import cairosvg
import numpy as np
import pytest
from PIL import Image, ImageDraw
from scipy import ndimage
from scipy.special import erf

import guidegen as gg

PX_MM = 25.4 / 300
WIDTHS = {"downstroke": 1.7, "hairline": 0.4}
BLUR_PX = 0.7


def corners(cell):
    """A bar in a cell, at its slant, as a polygon in mm of the page."""
    middle = complex(cell.x_mm + cell.width_mm / 2, cell.y_mm + cell.height_mm / 2)
    along = np.exp(-1j * np.radians(cell.slant_deg + 1.3)) * cell.height_mm * 0.4
    across = 1j * along / abs(along) * WIDTHS[cell.kind] / 2
    return [middle + a + b for a, b in ((along, across), (along, -across), (-along, -across), (-along, across))]


def by_cairo(svg, page):
    bars = "".join(
        f'<polygon points="{" ".join(f"{z.real},{z.imag}" for z in corners(cell))}"/>' for cell in page.cells
    )
    return grey(svg.replace("</svg>", bars + "</svg>"))


def grey(svg):
    data = cairosvg.svg2png(svg.encode(), dpi=300, background_color="white")
    return 1 - np.asarray(Image.open(io.BytesIO(data)).convert("L"), dtype=float) / 255


def by_pillow(svg, page):
    dark = grey(svg)
    image = Image.new("L", (dark.shape[1] * 16, dark.shape[0] * 16), 0)
    draw = ImageDraw.Draw(image)
    for cell in page.cells:  # Pillow counts places from the middle of the first pixel
        draw.polygon([(16 * z.real / PX_MM - 0.5, 16 * z.imag / PX_MM - 0.5) for z in corners(cell)], fill=255)
    return np.maximum(dark, np.asarray(image.reduce(16), dtype=float) / 255)


def by_formula(svg, page):
    """A slanted edge seen through a Gaussian is an error function of the distance from it (ISO 12233's edge)."""
    dark = ndimage.gaussian_filter(grey(svg), BLUR_PX)
    rows, columns = np.mgrid[: dark.shape[0], : dark.shape[1]]
    place = (columns + 0.5) * PX_MM + 1j * (rows + 0.5) * PX_MM
    for cell in page.cells:
        a, b, c, _ = corners(cell)
        z = (place - (a + c) / 2) * np.conj((b - c) / abs(b - c))
        soft = BLUR_PX * PX_MM * np.sqrt(2)
        inside = [0.5 * (erf((half + t) / soft) + erf((half - t) / soft))
                  for half, t in ((abs(b - c) / 2, z.real), (abs(a - b) / 2, z.imag))]  # fmt: skip
        dark = np.maximum(dark, inside[0] * inside[1])
    return dark


DRAWN = {"cairo": by_cairo, "pillow": by_pillow, "formula": by_formula}


@pytest.fixture(scope="module")
def empty_page():
    page = gg.swatch(paper="a6")
    ((_, data),) = page.files("svg")
    return data.decode(), page


@pytest.mark.parametrize("name", DRAWN)
def test_gauges_of_others_measure_true(tmp_path, empty_page, name):
    dark = DRAWN[name](*empty_page)
    dark = dark if name == "formula" else ndimage.gaussian_filter(dark, BLUR_PX)
    light = 0.85 * (1 - 0.93 * dark) + np.random.default_rng(5).normal(0, 0.003, dark.shape)
    file = io.BytesIO()
    Image.fromarray(np.clip(np.rint(255 * light), 0, 255).astype(np.uint8)).save(file, "PNG", dpi=(300, 300))
    data, chunk = file.getvalue(), b"gAMA" + (100000).to_bytes(4, "big")
    stated = data[:33] + (4).to_bytes(4, "big") + chunk + zlib.crc32(chunk).to_bytes(4, "big") + data[33:]
    path = tmp_path / "gauge.png"
    path.write_bytes(stated)
    (marker,) = gg.measure(path, "tidepen").markers
    # Pillow fills every pixel that an outline touches: some half of its sixteenths, 5 µm each, too much on either side
    drawn_mm = 0.005 if name == "pillow" else 0.0
    assert marker.downstroke_mm == pytest.approx(WIDTHS["downstroke"] + drawn_mm, abs=0.003)
    assert marker.hairline_mm == pytest.approx(WIDTHS["hairline"] + drawn_mm, abs=0.003)
