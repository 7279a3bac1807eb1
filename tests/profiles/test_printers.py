"""Printer correction: a simulated printer that is off makes a true print."""

from __future__ import annotations

import dataclasses

import numpy as np
import pypdfium2
import pypdfium2.raw as pdfium
import pytest

from guidegen.errors import GuidegenError
from guidegen.profiles.papers import Paper
from guidegen.profiles.printers import Printer, corrected, parse_measured
from guidegen.scene import Layer, Placed, Symbol
from guidegen.sheets.parts.frame import Setup
from guidegen.sheets.trial import trial_sheet
from guidegen.writers import render

A4 = Paper("a4", "A4", 210, 297, "iso-a")
OFF = Printer(98.6, 99.1)  # 1.4 % short across, 0.9 % short down


def lines_of(document):
    return [item for page in document.pages for layer in page.layers if layer.id == "lines" for item in layer.items]


def test_the_file_keeps_the_papers_size():
    page = trial_sheet(Setup(A4, printer=OFF)).pages[0]
    assert (page.width_mm, page.height_mm) == pytest.approx((210, 297), abs=1e-9)


def test_what_the_printer_takes_away_was_added_before():
    true = trial_sheet(Setup(dataclasses.replace(A4, width_mm=210 * 0.986, height_mm=297 * 0.991), proof="none"))
    file = trial_sheet(Setup(A4, proof="none", printer=OFF))
    for wanted, drawn in zip(lines_of(true), lines_of(file), strict=True):
        for here, there in ((wanted.start, drawn.start), (wanted.end, drawn.end)):
            assert complex(there.real * 0.986, there.imag * 0.991) == pytest.approx(here, abs=1e-9)


def test_on_the_simulated_print_rows_bar_and_card_are_true():
    """The PDF at 1200 dpi is what the printer is given; its paper is 1.4 % and 0.9 % smaller than the file."""
    document = trial_sheet(Setup(A4, proof="full", printer=OFF), from_mm=5, to_mm=10)
    data = dict(render(document, "pdf"))[""]
    page = pypdfium2.PdfDocument(data)[0]
    width, height = (round(side / 72 * 1200) for side in page.get_size())
    bitmap = pypdfium2.PdfBitmap.new_native(8, height, pdfium.FPDFBitmap_Gray)
    bitmap.fill_rect((255, 255, 255, 255), 0, 0, 8, height)
    pdfium.FPDF_RenderPageBitmap(bitmap, page, -round(width * 0.72), 0, width, height, 0, 0)
    dark = (1 - bitmap.to_numpy().reshape(height, 8) / 255.0).mean(axis=1)
    printed_mm = 297 * 0.991 / height
    edges = np.flatnonzero(np.diff(np.concatenate(([0], (dark > 0.02).astype(int), [0]))))
    levels = [printed_mm * ((a + b) / 2) for a, b in zip(edges[::2], edges[1::2], strict=True)]
    solid = [level for level in levels if level < 190]
    # Each row's x-height line and baseline are solid wherever the strip falls; the rows are 5, 6, 7, 8.5, 10 mm high.
    gaps = {round(b - a, 2) for a in solid for b in solid if b > a}
    for x_height in (5.0, 6.0, 7.0):
        assert any(abs(gap - x_height) <= 0.02 for gap in gaps)


def test_the_page_says_that_it_is_corrected():
    names = [
        item.name for page in trial_sheet(Setup(A4, printer=OFF)).pages for layer in page.layers
        for item in layer.items if layer.id == "proof" and hasattr(item, "name")
    ]  # fmt: skip
    assert any("98.6 mm across and 99.1 mm down" in name for name in names if name)


def test_measures_beyond_a_printers_gears_point_to_the_print_dialog():
    assert OFF.advice == ""
    assert "print dialog" in Printer(94.9, 100).advice
    assert "print dialog" in Printer(100, 105.1).advice
    assert "print dialog" in " ".join(trial_sheet(Setup(A4, printer=Printer(94, 94))).notes)
    assert trial_sheet(Setup(A4, printer=OFF)).notes == ()


def test_symbols_are_stretched_once_and_moved():
    document = trial_sheet(Setup(A4))
    line = lines_of(document)[0]
    stamp = Symbol("stamp", (line,))
    page = dataclasses.replace(document.pages[0], layers=(Layer("ink", (Placed(stamp, 10 + 10j), Placed(stamp, 20j))),))
    made = corrected(dataclasses.replace(document, pages=(page,)), Printer(80, 125), A4)
    first, second = made.pages[0].layers[0].items
    assert first.symbol is second.symbol
    assert first.at == pytest.approx(12.5 + 8j)
    assert first.symbol.items[0].end == pytest.approx(complex(line.end.real * 1.25, line.end.imag * 0.8))


@pytest.mark.parametrize("text", ["98.6x99.1", " 98.6 x 99.1 ", "98.6×99.1"])
def test_measures_are_read(text):
    assert parse_measured(text) == OFF


@pytest.mark.parametrize("text", ["", "98.6", "0x0", "98.6x", "axb", "98.6x-99", "1e2x100", "300x100", "9" * 100])
def test_measures_that_cannot_be_are_one_line(text):
    with pytest.raises(GuidegenError, match="`measured`"):
        parse_measured(text)
