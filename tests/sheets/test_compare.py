"""The comparison: every marker twice, at one size and at its own, judged by its measured counter."""

from __future__ import annotations

import re

import pytest
import svg_pages
from lettered import lettering
from page_checks import MARKERS, setup

from guidegen.errors import GuidegenError
from guidegen.lettering.sizing import right_size
from guidegen.sheets.compare import compare, verdict_words
from guidegen.sheets.parts.phrases import phrases
from guidegen.writers import render

SAY = phrases()


def all_sheets(document):
    return [svg_pages.read(data) for _, data in render(document, "svg")]


@pytest.mark.parametrize("landscape", [False, True])
@pytest.mark.parametrize("paper", ["a4", "letter", "a3", "legal", "tabloid"])
def test_every_marker_stands_there_twice(paper, landscape):
    letterings = [lettering(marker) for marker in MARKERS]
    document = compare(letterings, setup(paper, landscape=landscape), x_height_mm=8.0)
    ink, heights = [], []
    for sheet in all_sheets(document):
        svg_pages.assert_tidy(sheet, 12.0)
        ink += sheet.texts("ink")
        heights += [row["x-height"] - row["baseline"] for row in svg_pages.rows(sheet).values()]
    assert [mark.title for mark in ink] == ["tide"] * 2 * len(MARKERS)
    own = [one.x_height_mm for one in letterings]
    assert sorted(heights) == [pytest.approx(x, abs=0.002) for x in sorted([8.0] * len(MARKERS) + own)]


def test_the_first_rows_hold_most():
    document = compare([lettering(marker) for marker in ("pebble", "cobble", "boulder")], setup("a4"))
    (sheet,) = all_sheets(document)
    bases = [row["baseline"] for row in svg_pages.rows(sheet).values()]
    assert [sum(abs(base - other) < 0.01 for other in bases) for base in bases] == [2, 2, 1, 2, 2, 1]


def test_words_are_whole_where_all_markers_stand_side_by_side():
    document = compare([lettering(marker) for marker in ("pebble", "cobble")], setup("a4"))
    (sheet,) = all_sheets(document)
    said = [mark.title for mark in sheet.texts("labels")]
    assert all(words.endswith("stroke") for words in said if words.startswith(("right:", "too small:")))
    assert not {"stroke", "the stroke"} & set(said)


@pytest.fixture(scope="module")
def cobble():
    one = lettering("cobble")
    return right_size(one.marker, one.hand)


def test_the_counter_says_closed_right_or_weak(cobble):
    one = cobble.lettering
    assert verdict_words(one, SAY) == "right: the white is as wide as the stroke"
    assert verdict_words(one.at(0.985 * one.x_height_mm), SAY) == "right: the white is as wide as the stroke"
    assert verdict_words(one.at(0.2 * one.x_height_mm), SAY) == "too small: the white has closed"
    closing = verdict_words(one.at(0.98 * cobble.smallest_x_height_mm), SAY)
    assert re.fullmatch(r"too small: the white is 0\.5[0-9] of the stroke", closing)
    opening = verdict_words(one.at(1.02 * cobble.largest_x_height_mm), SAY)
    assert opening == "too large: the white is one and a half times the stroke"


def test_other_rules_are_told_in_their_own_unit():
    assert verdict_words(lettering("slate"), SAY) == "right: 5 nib widths high"
    assert verdict_words(lettering("flint"), SAY) == "right: 7 line widths high"


def test_the_one_size_is_that_of_the_marker_in_the_middle():
    document = compare([lettering(marker) for marker in ("grit", "pebble", "cobble")], setup("a3"))
    titles = [mark.title for sheet in all_sheets(document) for mark in sheet.texts("labels")]
    assert "All at one size, x-height 7.2 mm" in titles


def test_three_markers_share_a_page_with_less_white_where_that_saves_one():
    sizes = []
    for factor in (3.4, 3.8):
        ones = [lettering(marker, factor=factor) for marker in ("pebble", "cobble", "boulder")]
        document = compare(ones, setup("a4"), "tides")
        assert len(document.pages) == 1
        sheet = all_sheets(document)[0]
        svg_pages.assert_tidy(sheet, 12.0)
        headings = {mark.title.split(",")[0]: mark for mark in sheet.texts("labels")}
        above = [mark.low.imag for mark in sheet.texts("labels") if mark.title.startswith("too small")]
        sizes.append(min(above) - headings["Each at its right size"].high.imag)
    assert sizes[0] > sizes[1] >= 4.9


def test_accents_on_capitals_keep_clear_of_headings():
    ones = [lettering(marker) for marker in ("pebble", "slate", "flint")]
    for sheet in all_sheets(compare(ones, setup("a4"), "\u00c9te")):
        svg_pages.assert_tidy(sheet, 12.0)


def test_a_word_without_e_says_which_letter_was_measured():
    page = compare([lettering("pebble")], setup("a4"), "wind").pages[0]
    assert "Measured on e, which this word does not hold." in page.description
    assert "Measured on e" not in compare([lettering("pebble")], setup("a4"), "wave").pages[0].description


def test_a_word_wider_than_the_paper_names_one_that_would_do():
    with pytest.raises(GuidegenError, match=r"boulder is .* wide .*the smallest paper that would do is a\d"):
        compare([lettering("boulder")], setup("a6"), "harbour")
