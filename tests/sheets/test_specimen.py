"""The specimen of a hand: everything on it, inside the margins, nothing on top of anything."""

import pytest
from page_checks import a_size, assert_tidy, items, setup

from guidegen.errors import GuidegenError
from guidegen.library import load_hand, load_marker
from guidegen.sheets.specimen import CAPITALS, FIGURES, LOWERCASE, PARAGRAPH, specimen_sheet
from guidegen.sizing import RightSize


@pytest.mark.parametrize("marker", ["flint", "slate", "grit"])
def test_specimen_shows_the_hand_in_full(marker):
    document = specimen_sheet(a_size(marker), setup("a4"))
    shown = [item.name for page in document.pages for item in items(page, "ink")]
    for char in f"{LOWERCASE} {CAPITALS} {FIGURES}".split():
        assert char in shown
    start = shown.index("\u00f8") + 1
    assert " ".join(shown[start:]) == PARAGRAPH
    assert_tidy(document, 12.0)


def test_basic_strokes_carry_their_names():
    document = specimen_sheet(a_size("flint"), setup("a4"))
    shown = [item.name for item in items(document.pages[0], "labels")]
    assert {"basic strokes", "bowl", "arch", "tall stem"} <= set(shown)


def test_large_letters_take_more_pages_and_small_paper_is_refused():
    assert len(specimen_sheet(a_size("slate"), setup("a4")).pages) > 1
    with pytest.raises(GuidegenError, match="smallest paper"):
        specimen_sheet(a_size("slate"), setup("a6"))


def test_a_hand_without_letters_has_no_specimen():
    marker, hand = load_marker("slate"), load_hand("textura")
    with pytest.raises(GuidegenError, match="no specimen"):
        specimen_sheet(RightSize(marker, hand, hand.size.rule, 15, None, (12, 18)), setup("a4"))
