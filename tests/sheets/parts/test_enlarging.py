"""Tiny letters shown larger: the same letter, a whole number of times as large, never taken for a size to write at."""

from __future__ import annotations

import pytest
from lettered import lettering
from page_checks import a_size, assert_tidy, items, setup

from guidegen.geometry.measure import bounds
from guidegen.lettering.letters import ink, letter
from guidegen.scene import hull_bounds
from guidegen.sheets.guides import guide_sheet
from guidegen.sheets.handout import handout
from guidegen.sheets.parts.enlarging import TINY_MM, enlarged_sample, times_larger
from guidegen.sheets.sample import sample_sheet, small_paper


@pytest.mark.parametrize("x_height", [0.6, 1.0, 2.49, 3.3, 4.99])
def test_a_tiny_letter_is_shown_as_high_as_can_be_seen(x_height):
    times = times_larger(x_height)
    assert times >= 2
    assert 9.0 < times * x_height <= 15.0
    assert times_larger(TINY_MM) == times_larger(43.0) == 1


def test_it_is_the_same_letter():
    one = lettering("grit").at(2.5)
    shown = enlarged_sample(one)
    low, high = bounds(ink([letter(one, "e")]))
    big = bounds(shown.shape.paths)
    assert (big[1] - big[0]).real == pytest.approx(shown.times * (high - low).real, rel=0.01)
    assert (big[1] - big[0]).imag == pytest.approx(shown.times * (high - low).imag, rel=0.01)
    assert shown.times == 6


@pytest.mark.parametrize(("marker", "paper"), [("grit", "a4"), ("grit", "letter"), ("grit", "a5")])
def test_sheet_letter_and_handout_show_it_beside_the_true_one(marker, paper):
    tiny = a_size(marker, factor=3.0)  # x-height 2.7 mm
    pages = [
        guide_sheet(tiny, setup(paper)),
        sample_sheet(tiny, setup(paper, landscape=True)),
        handout([tiny.lettering], setup(paper)),
    ]
    for document in pages:
        assert_tidy(document, 12.0)
        page = document.pages[0]
        large = hull_bounds(tuple(item for item in items(page, "enlarged") if item.style.fill))
        true = hull_bounds(tuple(items(page, "letter")[:1]))
        assert (large[1] - large[0]).imag > 4 * (true[1] - true[0]).imag
        assert not any(getattr(item, "role", None) for item in items(page, "enlarged"))


def test_a_letter_that_can_be_seen_has_no_picture():
    assert enlarged_sample(lettering("cobble")) is None
    assert items(guide_sheet(a_size("cobble"), setup("a4")).pages[0], "enlarged") == []


def test_the_letter_picks_the_smallest_paper_that_shows_it_in_full():
    papers = [setup("a6", landscape=True), setup("a5", landscape=True), setup("a4")]
    for marker, wanted in (("pebble", papers[:2]), ("cobble", papers[1:]), ("boulder", [None])):
        size = a_size(marker, factor=4.0)
        found = small_paper(size, papers)
        assert found in wanted
        if found is not None:
            document = sample_sheet(size, found)
            assert len(document.pages) == 1
            assert not any("left out" in note for note in document.notes)
