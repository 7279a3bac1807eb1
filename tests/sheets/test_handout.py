"""The class handout read back: markers in order, none split, nothing in the way, every guide at its number."""

from __future__ import annotations

import math

import pytest
import svg_pages
from lettered import lettering
from page_checks import MARKERS, setup

from guidegen.errors import GuidegenError
from guidegen.lettering.text import mean_advance_mm
from guidegen.sheets.handout import handout
from guidegen.sheets.parts.figures import mm_text, times_text
from guidegen.writers import render


def all_sheets(document):
    return [svg_pages.read(data) for _, data in render(document, "svg")]


@pytest.mark.parametrize("landscape", [False, True])
@pytest.mark.parametrize("paper", ["a4", "letter", "a3", "legal", "tabloid"])
@pytest.mark.parametrize("proof", ["bar", "full"])
def test_markers_come_by_size_each_whole_on_a_page(paper, landscape, proof):
    letterings = [lettering(marker) for marker in MARKERS if marker != "boulder" or paper in ("a3", "tabloid")]
    document = handout(letterings, setup(paper, landscape=landscape, proof=proof))
    order = sorted(letterings, key=lambda one: one.x_height_mm)
    seen = []
    for page, sheet in zip(document.pages, all_sheets(document), strict=True):
        svg_pages.assert_tidy(sheet, 12.0)
        here = list(dict.fromkeys(layer.marker for layer in page.layers if layer.marker))
        seen += here
        heads = {mark.title: mark for mark in sheet.texts("labels")}
        for name in here:
            one = next(one for one in letterings if one.marker.name == name)
            assert one.marker.label in heads
            assert mm_text(one.x_height_mm) in heads
        rows = svg_pages.rows(sheet)
        heights = [row["x-height"] - row["baseline"] for row in rows.values()]
        expected = [one.x_height_mm for one in order if one.marker.name in here]
        for x in expected:  # the written row and perhaps bare ones below
            assert sum(abs(height - x) < 0.0021 for height in heights) >= 1
        assert all(min(abs(height - x) for x in expected) < 0.0021 for height in heights)
        assert any(mark.title for mark in sheet.marks["proof"])
    assert seen == [one.marker.name for one in order]


def test_each_marker_has_its_two_strokes_at_true_width_and_its_letters():
    document = handout([lettering("cobble"), lettering("flint")], setup("a4"))
    sheet = all_sheets(document)[0]
    widths = [mark.title for mark in sheet.marks["strokes"]]
    assert widths == ["0.8 mm wide", "3.2 mm wide", "0.6 mm wide"]
    heights = [mark.high.imag - mark.low.imag for mark in sheet.marks["strokes"]]
    assert heights[1:] == [pytest.approx(7.6, abs=1e-3)] * 2
    names = [mark.title for mark in sheet.texts("labels")]
    assert {"downstroke", "upstroke", "3.2 mm", "0.6 mm"} <= set(names)
    assert [mark.title for mark in sheet.texts("letter")] == ["e", "d", "tide", "e", "d", "tide"]
    for mark in sheet.marks["strokes"]:  # a parallelogram: its width is that across its own edge
        a, b, c = mark.points[:3]
        edge = (c - b) / abs(c - b)
        across = abs(((b - a) * edge.conjugate()).imag)
        assert across == pytest.approx(float(mark.title.split()[0]), abs=0.002)


def test_the_seven_markers_take_three_pages_of_a4_and_keep_their_distance():
    document = handout([lettering(marker, factor=4.1) for marker in MARKERS], setup("a4", proof="full"))
    assert len(document.pages) == 3
    for sheet, page in zip(all_sheets(document), document.pages, strict=True):
        names = {lettering(layer.marker).marker.label for layer in page.layers if layer.marker}
        heads = sorted((mark for mark in sheet.texts("labels") if mark.title in names), key=lambda mark: -mark.low.imag)
        bottoms = sorted((row["descender"] for row in svg_pages.rows(sheet).values()), reverse=True)
        for head in heads[1:]:  # white between a marker's name and the row above it
            above = min(bottom for bottom in bottoms if bottom > head.low.imag)
            assert above - head.high.imag >= 6.9


def test_what_is_left_of_a_page_is_less_than_a_row_more():
    document = handout([lettering(marker, factor=4.1) for marker in MARKERS], setup("a4", proof="full"))
    for number, (sheet, page) in enumerate(zip(all_sheets(document), document.pages, strict=True)):
        rows = svg_pages.rows(sheet).values()
        # what the rows must keep clear of: the proof marks, or the table of figures on the last page
        below = [mark for layer in ("proof", "labels") for mark in sheet.marks[layer]]
        lowest = min(row["descender"] for row in rows)
        top = max(mark.high.imag for mark in below if mark.high.imag < lowest)
        ones = [lettering(layer.marker, factor=4.1) for layer in page.layers if layer.marker]
        assert lowest - top < min(one.pitch_mm for one in ones) + 8.0, number


def test_the_last_page_lists_all_figures():
    ones = [lettering(marker, factor=4.1) for marker in MARKERS]
    sheet = all_sheets(handout(ones, setup("a4", proof="full")))[-1]
    titles = [mark.title for mark in sheet.texts("labels")]
    table = titles[titles.index("All at a glance") :]
    for one in ones:
        row = table[table.index(one.marker.label) :][:7]
        assert mm_text(one.x_height_mm) in row
        assert times_text(one.hand.ascender, one.x_height_mm, with_inches=False) in row
        assert mm_text(one.marker.downstroke_mm) in row


def test_contents_lead_to_their_pages():
    document = handout([lettering(marker) for marker in MARKERS], setup("a3", proof="bar"))
    assert len(document.pages) > 1
    links = document.pages[0].links
    assert len(links) == len(MARKERS)
    assert [link.page for link in links] == sorted(link.page for link in links)
    assert links[-1].page == len(document.pages) - 1


def test_a_row_higher_than_the_paper_names_one_that_would_do():
    with pytest.raises(GuidegenError, match=r"boulder is .* high; the smallest paper that would do is a\d"):
        handout([lettering("boulder")], setup("a6"))


def test_letters_a_line_are_one_number_wherever_they_are_told():
    """The rows of a tiny marker are shorter for the letter enlarged beside them; the number is of a whole line."""
    letterings = [lettering(marker) for marker in ("grit", "pebble", "cobble")]
    document = handout(letterings, setup("a4", proof="full"))
    labels = [mark.title for sheet in all_sheets(document) for mark in sheet.texts("labels")]
    assert "letters a line" in labels
    for one in letterings:
        count = math.floor((210 - 2 * 12) / mean_advance_mm(one))
        assert labels.count(f"{count}") == 1  # in the table
        assert sum(f"about {count} letters a line" in words for words in labels) == 1
