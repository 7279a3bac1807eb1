"""True scale: one millimetre in the scene is one millimetre in the file, measured in other people's renderers."""

from __future__ import annotations

import io

import cairosvg
import numpy as np
import pypdfium2
import pypdfium2.raw as pdfium
import pytest
import resvg_py
from PIL import Image
from ruled_pages import SIZES, centres, line_heights, ruled_document

from guidegen.writers import render
from guidegen.writers.png import _by_pdfium, _opaque, pixel_size, png_bytes

PDF_PPI = 1200
TOLERANCE_MM = 0.01


@pytest.fixture(params=SIZES.values(), ids=SIZES.keys())
def size(request) -> tuple[float, float]:
    return request.param


def pdf_strips(data: bytes, ppi: float) -> tuple[np.ndarray, np.ndarray, float, float]:
    """Render a column at 1/3 of the width and a row through the uprights, with pdfium.

    Returns darkness down the column, darkness along the row, and px per mm across and down. The bitmap's own
    size says how many pixels a millimetre has, because a bitmap has whole pixels and a page has not.
    """
    document = pypdfium2.PdfDocument(data)
    width_pt, height_pt = document[0].get_size()
    width, height = (round(side / 72 * ppi) for side in (width_pt, height_pt))
    per_mm = (width / (width_pt * 25.4 / 72), height / (height_pt * 25.4 / 72))
    column = _part(document[0], width, height, (round(width / 3), 0, 8, height)).mean(axis=1)
    middle = round(height - 4.75 * per_mm[1])
    row = _part(document[0], width, height, (0, middle - 4, width, 8)).mean(axis=0)
    return column, row, *per_mm


def _part(page, width: int, height: int, box: tuple[int, int, int, int]) -> np.ndarray:
    left, top, across, down = box
    bitmap = pypdfium2.PdfBitmap.new_native(across, down, pdfium.FPDFBitmap_Gray)
    bitmap.fill_rect((255, 255, 255, 255), 0, 0, across, down)
    pdfium.FPDF_RenderPageBitmap(bitmap, page, -left, -top, width, height, 0, 0)
    return 1.0 - bitmap.to_numpy().reshape(down, across) / 255.0


def picture_strips(data: bytes, size: tuple[float, float]) -> tuple[np.ndarray, np.ndarray, float, float]:
    """The same two strips of a PNG."""
    image = Image.open(io.BytesIO(data))
    if image.mode == "RGBA":
        paper = Image.new("RGBA", image.size, "white")
        image = Image.alpha_composite(paper, image)
    darkness = 1.0 - np.asarray(image.convert("L"), dtype=float) / 255.0
    per_mm = (image.width / size[0], image.height / size[1])
    middle = round(image.height - 4.75 * per_mm[1])
    column = darkness[:, image.width // 3 : image.width // 3 + 4].mean(axis=1)
    return column, darkness[middle - 2 : middle + 2].mean(axis=0), *per_mm


def assert_lines(strips, size: tuple[float, float], tolerance_mm: float) -> None:
    column, row, across, down = strips
    heights = [size[1] - y / down for y in centres(column)][::-1]
    from_left = [x / across for x in centres(row)]
    uprights = [y for y in heights if y > 6.6]
    assert uprights == pytest.approx(line_heights(size[1]), abs=tolerance_mm)
    assert from_left == pytest.approx(line_heights(size[0]), abs=tolerance_mm)


def test_every_line_of_a_pdf_is_where_the_numbers_say(size):
    data = dict(render(ruled_document(*size), "pdf"))[""]
    assert_lines(pdf_strips(data, PDF_PPI), size, TOLERANCE_MM)


def test_a_line_that_is_off_by_a_fiftieth_of_a_millimetre_is_noticed(size):
    data = dict(render(ruled_document(size[0], size[1] * 1.0001), "pdf"))[""]
    with pytest.raises(AssertionError):
        assert_lines(pdf_strips(data, PDF_PPI), size, TOLERANCE_MM)


def test_the_page_of_a_pdf_is_exactly_the_paper(size):
    page = pypdfium2.PdfDocument(dict(render(ruled_document(*size), "pdf"))[""])[0]
    assert [side * 25.4 / 72 for side in page.get_size()] == pytest.approx(size, abs=1e-4)
    assert page.get_mediabox() == pytest.approx((0, 0, size[0] / 25.4 * 72, size[1] / 25.4 * 72), abs=1e-4)


def test_every_line_of_an_svg_is_where_the_numbers_say_in_cairo(size):
    data = dict(render(ruled_document(*size), "svg"))[""]
    width, height = (round(side * 10) for side in size)
    drawn = cairosvg.svg2png(bytestring=data, output_width=width, output_height=height)
    assert_lines(picture_strips(drawn, size), size, TOLERANCE_MM)


def test_every_line_of_an_svg_is_where_the_numbers_say_in_resvg(size):
    data = dict(render(ruled_document(*size), "svg"))[""]
    drawn = bytes(resvg_py.svg_to_bytes(svg_string=data.decode(), skip_system_fonts=True, zoom=5, dpi=96))
    image = Image.open(io.BytesIO(drawn))
    # resvg reads a millimetre as 96/25.4 px, rounds the page to whole pixels before zooming, and stretches nothing.
    true = tuple(pixels / (5 * 96 / 25.4) for pixels in image.size)
    assert true == pytest.approx(size, abs=25.4 / 96 / 2)
    column, row, _, _ = picture_strips(drawn, true)
    assert_lines_from_top(column, row, 5 * 96 / 25.4, size)


def assert_lines_from_top(column: np.ndarray, row: np.ndarray, per_mm: float, size: tuple[float, float]) -> None:
    from_top = [y / per_mm for y in centres(column)]
    expected = sorted(size[1] - y for y in line_heights(size[1]))
    assert from_top == pytest.approx(expected, abs=TOLERANCE_MM)
    assert [x / per_mm for x in centres(row)] == pytest.approx(line_heights(size[0]), abs=TOLERANCE_MM)


@pytest.mark.parametrize("ppi", [96, 150, 300])
def test_every_line_of_a_png_is_right_to_half_a_pixel(size, ppi):
    data = png_bytes(ruled_document(*size).pages[0], ppi)
    assert_lines(picture_strips(data, size), size, 0.5 * 25.4 / ppi)


@pytest.mark.parametrize("ppi", [96, 300])
def test_without_cairo_the_png_is_just_as_right(size, ppi):
    page = ruled_document(*size).pages[0]
    target = io.BytesIO()
    _by_pdfium(page, pixel_size(page, ppi), False).save(target, "PNG")
    assert_lines(picture_strips(target.getvalue(), size), size, 0.5 * 25.4 / ppi)


def test_a_half_pixel_shift_is_noticed():
    size = (210.0, 297.0)
    data = png_bytes(ruled_document(*size).pages[0], 150)
    shifted = Image.open(io.BytesIO(data)).transform((1240, 1754), Image.Transform.AFFINE, (1, 0, 1, 0, 1, 1))
    target = io.BytesIO()
    shifted.save(target, "PNG")
    with pytest.raises(AssertionError):
        assert_lines(picture_strips(target.getvalue(), size), size, 0.5 * 25.4 / 150)


# A5 and A4 at 300 ppi, Letter at 300 ppi: computed, 25.4 mm an inch. pHYs: pixels a metre (PNG, 3rd ed., 11.3.4.3).
@pytest.mark.parametrize(
    ("page", "ppi", "pixels", "per_metre"),
    [
        ((148, 210), 300, (1748, 2480), 11811),
        ((210, 297), 300, (2480, 3508), 11811),
        ((215.9, 279.4), 300, (2550, 3300), 11811),
        ((157.8, 210.4), 264, (1640, 2187), 10394),
    ],
)
def test_pixels_and_resolution_of_a_png(page, ppi, pixels, per_metre):
    data = png_bytes(ruled_document(*page).pages[0], ppi)
    assert Image.open(io.BytesIO(data)).size == pixels
    chunk = data.index(b"pHYs") + 4
    assert [int.from_bytes(data[chunk + at : chunk + at + 4], "big") for at in (0, 4)] == [per_metre, per_metre]
    assert data[chunk + 8] == 1


def test_a_given_number_of_pixels_wins():
    data = png_bytes(ruled_document(210, 297).pages[0], 264, size_px=(1668, 2388))
    assert Image.open(io.BytesIO(data)).size == (1668, 2388)


def test_only_greys_make_a_grey_picture():
    assert _opaque(Image.new("RGBA", (2, 2), (9, 9, 9, 255))).mode == "L"
    assert _opaque(Image.new("RGBA", (2, 2), (9, 8, 9, 255))).mode == "RGB"
