"""Every kind of page looks the same as PDF in pdfium and as SVG in cairo, symbols, masks and grounds included."""

from __future__ import annotations

import io

import numpy as np
import pypdfium2
import pypdfium2.raw as pdfium
import pytest
from lettered import lettering
from page_checks import setup
from PIL import Image

from guidegen.hands.library import load_paper
from guidegen.profiles.printers import Printer
from guidegen.sheets.cards import card_sheets
from guidegen.sheets.compare import compare
from guidegen.sheets.handout import handout
from guidegen.sheets.plan import Piece, layout_sheet, plan
from guidegen.sheets.planner import planner
from guidegen.sheets.practice import Practice
from guidegen.sheets.tiles import tile_document
from guidegen.sheets.worksheet import worksheet
from guidegen.sheets.write import written_text
from guidegen.writers import render

PPI = 150.0


def layout():
    piece = Piece(lettering("pebble"), ("high tide at seven",), "center")
    return layout_sheet(plan(piece, setup("a5")), piece, setup("a5"))


KINDS = {
    "worksheet": lambda: worksheet([Practice(lettering("pebble"), ("tide",), arrows=True)], setup("a5")),
    "names": lambda: worksheet([Practice(lettering("pebble"), ("tide",), by_letter=True)], setup("a5")),
    "handout": lambda: handout([lettering("pebble"), lettering("slate")], setup("a4", proof="full")),
    "compare": lambda: compare([lettering("grit"), lettering("pebble")], setup("a5")),
    "layout": layout,
    "cards": lambda: card_sheets(lettering("flint"), ("anna", "leif"), setup("a5"), 4),
    "write": lambda: written_text(lettering("cobble"), ["tide"], None, guides=True, proof=True),
    "tiles": lambda: tile_document(written_text(lettering("cobble"), ["high tide"], None), load_paper("a6"), 8.0),
    "planner": lambda: planner([lettering("flint")], setup("a6", proof="none"), ("a", "b"), theme="dark"),
}


@pytest.mark.parametrize("kind", KINDS)
def test_pdfium_and_cairo_see_the_same_page(kind):
    document = KINDS[kind]()
    _, data = next(iter(render(document, "pdf")))
    source = pypdfium2.PdfDocument(data)
    assert len(source) == len(document.pages)
    for index, (_, picture) in enumerate(render(document, "png", ppi=PPI)):
        drawn = np.asarray(Image.open(io.BytesIO(picture)).convert("L")).astype(int)
        size = drawn.shape[1], drawn.shape[0]
        bitmap = pypdfium2.PdfBitmap.new_native(*size, pdfium.FPDFBitmap_Gray)
        bitmap.fill_rect((255, 255, 255, 255), 0, 0, *size)
        pdfium.FPDF_RenderPageBitmap(bitmap, source[index], 0, 0, *size, 0, 0)
        printed = np.frombuffer(bitmap.buffer, np.uint8).reshape(size[1], bitmap.stride)[:, : size[0]].astype(int)
        contrast = max(np.ptp(drawn), 1)
        assert contrast > 150
        assert (np.abs(drawn - printed) > 0.6 * contrast).mean() < 0.001
        assert abs(drawn.mean() - printed.mean()) < 3.0


def test_a_worksheet_corrected_for_a_printer_comes_out_true():
    """A printer that makes 100 mm 98.6 across and 99.1 down, simulated on the numbers of the page."""
    one = lettering("pebble")
    document = worksheet([Practice(one, ("tide",))], setup("a4", printer=Printer(98.6, 99.1)))
    page = document.pages[0]
    assert (page.width_mm, page.height_mm) == pytest.approx((210, 297))
    lines = [line for layer in page.layers if layer.id == "lines" for line in layer.items if line.row == 1]
    heights = {line.role: line.start.imag * 0.991 for line in lines}
    assert heights["x-height"] - heights["baseline"] == pytest.approx(one.x_height_mm)
    left = min(line.start.real for line in lines) * 0.986
    assert left == pytest.approx(12.0)
