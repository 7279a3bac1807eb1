"""Text as ink: the page fits the ink, lines stand where they should, on every paper."""

from __future__ import annotations

from itertools import pairwise

import pytest
import svg_pages
from lettered import lettering
from page_checks import MARKERS, setup

from guidegen.errors import GuidegenError
from guidegen.sheets.write import written_text
from guidegen.writers import render


def sheet_of(document):
    return svg_pages.read(next(iter(render(document, "svg")))[1])


@pytest.mark.parametrize("marker", MARKERS)
def test_the_page_is_the_ink_and_its_margin(marker):
    document = written_text(lettering(marker), ["high tide", "at seven"], None, margin_mm=7.0)
    page = document.pages[0]
    ink = sheet_of(document).marks["ink"]
    assert [mark.title for mark in ink] == ["high tide", "at seven"]
    from guidegen.geometry.measure import bounds

    paths = tuple(path for layer in page.layers for item in layer.items for path in item.paths)
    low, high = bounds(paths)
    assert low == pytest.approx(7 + 7j)
    assert high == pytest.approx(complex(page.width_mm - 7, page.height_mm - 7))


@pytest.mark.parametrize(("align", "share"), [("left", 0.0), ("center", 0.5), ("right", 1.0)])
def test_lines_are_aligned_by_their_ink_or_advance(align, share):
    one = lettering("flint")
    document = written_text(one, ["a long harbour line", "tide"], setup("a4"), align=align)
    long, short = sheet_of(document).marks["ink"]
    left, right = short.low.real - long.low.real, long.high.real - short.high.real
    assert left / (left + right) == pytest.approx(share, abs=0.03)


@pytest.mark.parametrize("marker", ["pebble", "slate", "flint"])
@pytest.mark.parametrize("paper", ["a4", "letter", "b5", "legal", "a3"])
def test_on_paper_the_text_is_broken_evenly_and_guides_are_at_their_numbers(marker, paper):
    one = lettering(marker)
    text = "the boats come in with the evening tide"
    document = written_text(one, [text], setup(paper), align="center", guides=True)
    sheet = sheet_of(document)
    svg_pages.assert_tidy(sheet, 12.0)
    lines = sorted(sheet.marks["ink"], key=lambda mark: -mark.middle.imag)
    assert " ".join(mark.title for mark in lines) == text
    rows = svg_pages.rows(sheet)
    assert len(rows) == len(lines)
    bases = [rows[number]["baseline"] for number in sorted(rows)]
    for upper, lower in pairwise(bases):
        assert upper - lower == pytest.approx(one.pitch_mm, abs=0.002)


def test_an_accent_over_the_first_ascender_line_stays_inside_the_margin():
    """As many lines as the page holds, so that the block is as high as it can be."""
    one = lettering("pebble")
    for count in range(20, 2, -1):
        try:
            document = written_text(one, ["\u00c5se"] * count, setup("a6", proof="none"), guides=True)
        except GuidegenError:
            continue
        svg_pages.assert_tidy(sheet_of(document), 12.0)
        return
    pytest.fail("no count of lines fits")


def test_text_that_fits_no_breaking_names_the_smallest_paper():
    with pytest.raises(GuidegenError, match=r"A6: the text does not fit .* smallest paper that would do is a\d"):
        written_text(lettering("cobble"), ["the boats come in with the evening tide"], setup("a6"))
