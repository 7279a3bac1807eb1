"""Every kind of sheet for all demo markers, five papers, both ways to lie and both writing hands, read back.

In SVG each of them; in the PDF at 1200 dpi every kind with each marker, on papers that turn with it. The tables
tell how many pages were read, how near stroke numbers come to ink, and how far a printed line is from its number.
"""

from __future__ import annotations

import pytest
import read_back
from page_checks import MARKERS
from sheet_kinds import KINDS, PAPERS, check_svg, make

pytestmark = pytest.mark.benchmark


def cases(kind):
    about = KINDS[kind]
    for marker in MARKERS if about.by_marker else ("",):
        for paper in PAPERS:
            for landscape in (False, True):
                for left_handed in (False, True) if about.left_handed else (False,):
                    yield marker, paper, landscape, left_handed


@pytest.mark.parametrize("kind", KINDS)
def test_every_combination_reads_back_in_svg(kind):
    read, pages, refused, gap = 0, 0, 0, 1.0
    for case in cases(kind):
        sheet = make(kind, *case)
        if sheet is None:
            refused += 1
            continue
        gap = min(gap, check_svg(kind, sheet))
        read, pages = read + 1, pages + len(sheet.document.pages)
    print(f"\n{kind}: {read} sheets of {pages} pages, {refused} refused with a paper named; least gap {gap:.2f} mm")
    assert read > refused


@pytest.mark.parametrize("kind", KINDS)
def test_the_pdf_at_1200_dpi_is_the_page_of_the_svg(kind):
    worst, pages = 0.0, 0
    for number, marker in enumerate(MARKERS if KINDS[kind].by_marker else PAPERS):
        for paper, landscape in ((PAPERS[number % 5], False), (PAPERS[(number + 2) % 5], True)):
            sheet = make(kind, marker, paper, landscape, bool(number % 2))
            if sheet is None:
                continue
            pdf, svgs = read_back.pdf_file(sheet.document), read_back.svg_files(sheet.document)
            for index, svg in enumerate(svgs[:3]):
                worst = max(worst, read_back.assert_printed(svg, pdf, index, sheet.margin))
                pages += 1
    print(f"\n{kind}: {pages} pages at 1200 dpi; a guide line is at most {worst:.4f} mm from its number")
    assert pages >= 7
