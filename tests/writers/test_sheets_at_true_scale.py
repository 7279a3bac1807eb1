"""A real guide sheet, written and measured in other people's renderers: every guide line within 0.01 mm."""

from __future__ import annotations

import dataclasses
import io

import cairosvg
import numpy as np
import pypdfium2
import pypdfium2.raw as pdfium
import pytest
import resvg_py
from PIL import Image
from ruled_pages import centres

from guidegen.hands.library import list_papers, load_hand, load_marker
from guidegen.lettering.lettering import Lettering
from guidegen.lettering.sizing import RightSize
from guidegen.profiles.papers import parse_paper
from guidegen.sheets.guides import guide_sheet
from guidegen.sheets.parts.frame import Setup
from guidegen.writers import render

PAPERS = ("a4", "letter", "8.5x11in", "123.4x321mm")
STRIP_MM = (60.0, 69.0)  # two periods of the longest dash, clear of the letter and of the names
RESVG_PX_PER_MM = 5 * 96 / 25.4


@pytest.fixture(params=PAPERS)
def sheet(request):
    marker, hand = load_marker("cobble"), load_hand("joined")
    size = RightSize(Lettering(marker, hand, 11.87), (8.0, 16.0))
    return guide_sheet(size, Setup(parse_paper(request.param, list_papers())))


def wanted(sheet) -> list[float]:
    """Heights of the guide lines in mm from the top of the page."""
    page = sheet.pages[0]
    lines = next(layer.items for layer in page.layers if layer.id == "lines")
    return sorted(page.height_mm - line.start.imag for line in lines)


def measured(darkness: np.ndarray, per_mm: float, sheet) -> list[float]:
    """Heights of the lines between header and footer; dots of slant lines are lighter than any dash."""
    lines = wanted(sheet)
    faint = np.where(darkness > 0.05, darkness, 0.0)
    return [y / per_mm for y in centres(faint) if lines[0] - 1 < y / per_mm < lines[-1] + 1]


def test_in_the_pdf_at_1200_dpi(sheet):
    page = pypdfium2.PdfDocument(dict(render(sheet, "pdf"))[""])[0]
    width, height = (round(side / 72 * 1200) for side in page.get_size())
    per_mm = width / sheet.pages[0].width_mm, height / sheet.pages[0].height_mm
    left, right = (round(x * per_mm[0]) for x in STRIP_MM)
    bitmap = pypdfium2.PdfBitmap.new_native(right - left, height, pdfium.FPDFBitmap_Gray)
    bitmap.fill_rect((255, 255, 255, 255), 0, 0, right - left, height)
    pdfium.FPDF_RenderPageBitmap(bitmap, page, -left, 0, width, height, 0, 0)
    darkness = (1 - bitmap.to_numpy().reshape(height, -1) / 255.0).mean(axis=1)
    assert measured(darkness, per_mm[1], sheet) == pytest.approx(wanted(sheet), abs=0.01)


def test_in_the_svg_through_cairo(sheet):
    page = sheet.pages[0]
    size = tuple(round(side * 20) for side in (page.width_mm, page.height_mm))
    data = cairosvg.svg2png(dict(render(sheet, "svg"))[""], output_width=size[0], output_height=size[1])
    darkness = column(data, size[0] / page.width_mm)
    assert measured(darkness, size[1] / page.height_mm, sheet) == pytest.approx(wanted(sheet), abs=0.01)


def test_in_the_svg_through_resvg(sheet):
    text = dict(render(sheet, "svg"))[""].decode()
    data = bytes(resvg_py.svg_to_bytes(svg_string=text, skip_system_fonts=True, zoom=5, dpi=96))
    darkness = column(data, RESVG_PX_PER_MM)
    assert measured(darkness, RESVG_PX_PER_MM, sheet) == pytest.approx(wanted(sheet), abs=0.01)


def column(data: bytes, per_mm: float) -> np.ndarray:
    image = Image.open(io.BytesIO(data)).convert("RGBA")
    flat = Image.alpha_composite(Image.new("RGBA", image.size, "white"), image).convert("L")
    left, right = (round(x * per_mm) for x in STRIP_MM)
    return (1 - np.asarray(flat, dtype=float)[:, left:right] / 255.0).mean(axis=1)


@pytest.mark.parametrize("ppi", [96, 150, 300])
def test_in_the_png_within_half_a_pixel(sheet, ppi):
    data = dict(render(sheet, "png", ppi=ppi))[""]
    image = Image.open(io.BytesIO(data))
    page = sheet.pages[0]
    assert image.size == tuple(round(side / 25.4 * ppi) for side in (page.width_mm, page.height_mm))
    darkness = column(data, image.width / page.width_mm)
    found = measured(darkness, image.height / page.height_mm, sheet)
    assert found == pytest.approx(wanted(sheet), abs=0.5 * 25.4 / ppi)


@pytest.mark.parametrize("sheet", ["letter"], indirect=True)
def test_a_sheet_drawn_one_per_mille_too_large_is_noticed(sheet):
    page = sheet.pages[0]
    larger = dataclasses.replace(page, height_mm=page.height_mm * 1.001)
    data = dict(render(dataclasses.replace(sheet, pages=(larger,)), "svg"))[""]
    size = tuple(round(side * 20) for side in (page.width_mm, page.height_mm))
    darkness = column(cairosvg.svg2png(data, output_width=size[0], output_height=size[1]), size[0] / page.width_mm)
    found = measured(darkness, size[1] / page.height_mm, sheet)
    assert found != pytest.approx(wanted(sheet), abs=0.01)
