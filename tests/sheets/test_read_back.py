"""Each kind of sheet read back, in SVG and in the PDF at 1200 dpi: a spread of markers, papers, ways to lie and hands.

Every kind meets every marker, every paper, both orientations and, where it has them, both writing hands; all
combinations of them are in the benchmark ``bench_read_back.py``.
"""

from __future__ import annotations

import pytest
import read_back
import svg_pages
from page_checks import MARKERS
from sheet_kinds import KINDS, PAPERS, check_svg, make

# Each marker once a kind; papers and orientations turn with it, so that seven cases hold five papers, both ways.
SPREAD = [
    (kind, marker, PAPERS[number % 5], bool((number + shift) % 2), bool((number // 2 + shift) % 2))
    for shift, kind in enumerate(KINDS)
    for number, marker in enumerate(MARKERS if KINDS[kind].by_marker else PAPERS)
]
NAMES = [f"{case[0]}-{case[1]}-{case[2]}{'-landscape' * case[3]}{'-left' * case[4]}" for case in SPREAD]


def test_the_spread_meets_every_marker_paper_orientation_and_hand():
    for kind, about in KINDS.items():
        cases = [case for case in SPREAD if case[0] == kind]
        assert {case[2] for case in cases} == set(PAPERS)
        assert {case[3] for case in cases} == {False, True}
        assert {case[4] for case in cases} == {False, True}
        if about.by_marker:
            assert {case[1] for case in cases} == set(MARKERS)


@pytest.mark.parametrize(("kind", "marker", "paper", "landscape", "left_handed"), SPREAD, ids=NAMES)
def test_a_sheet_reads_back(kind, marker, paper, landscape, left_handed):
    sheet = make(kind, marker, paper, landscape, left_handed)
    if sheet is not None:
        check_svg(kind, sheet)


PRINTED = {
    "sheet": ("slate", "a5", True),
    "letter": ("cobble", "a5", False),
    "trial": ("", "a5", False),
    "handout": ("thorn", "letter", True),
    "class": ("", "a5", False),
    "compare": ("grit", "a5", False),
    "compare-all": ("", "letter", True),
    "worksheet": ("pebble", "a5", False),
    "letters": ("flint", "a5", True),
    "names": ("pebble", "a5", True),
    "write": ("thorn", "a5", True),
    "plan": ("flint", "a5", False),
    "envelope": ("flint", "a5", True),
    "cards": ("grit", "a5", False),
    "planner": ("pebble", "a5", False),
}


@pytest.mark.parametrize("kind", KINDS)
def test_the_pdf_at_1200_dpi_shows_the_page_that_the_svg_says(kind):
    sheet = make(kind, *PRINTED[kind])
    pdf, svgs = read_back.pdf_file(sheet.document), read_back.svg_files(sheet.document)
    for index, svg in enumerate(svgs[:2]):
        read_back.assert_printed(svg, pdf, index, sheet.margin)


def test_the_checks_can_fail():
    """A line out of its place by 0.02 mm, a word twice, a word on a word, ink in the margin, and a missing dot."""
    sheet = make("worksheet", "pebble", "a5", False)
    svg, pdf = read_back.svg_files(sheet.document)[0], read_back.pdf_file(sheet.document)
    page = svg_pages.read(svg)
    line = next(guide for guide in page.guides if guide.role == "baseline")
    y = f"{page.height - line.start.imag:.3f}".rstrip("0")
    moved = svg.replace(f'y1="{y}"'.encode(), f'y1="{float(y) + 0.02:.3f}"'.encode())
    moved = moved.replace(f'y2="{y}"'.encode(), f'y2="{float(y) + 0.02:.3f}"'.encode())
    assert moved != svg
    with pytest.raises(AssertionError):
        read_back.assert_printed(moved, pdf, 0, 12.0, whole=False)
    with pytest.raises(AssertionError):
        read_back.assert_rows_true(read_back.rows_of([svg_pages.read(moved)], sheet.layers), sheet.heights)
    text = svg.decode()
    first = text.index("<title>tide</title>")
    start, end = text.rindex("<path", 0, first), text.index("</path>", first) + 7
    without = (text[:start] + text[end:]).encode()
    with pytest.raises(AssertionError):
        read_back.assert_printed(without, pdf, 0, 12.0)
    twice = svg_pages.read((text[:end] + text[start:end] + text[end:]).encode())
    with pytest.raises(AssertionError):
        read_back.assert_texts_apart(read_back.rows_of([twice], sheet.layers))
    with pytest.raises(AssertionError):
        svg_pages.assert_tidy(page, 15.0)
