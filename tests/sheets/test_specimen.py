"""The specimen of a hand: everything on it, inside the margins, nothing on top of anything."""

from itertools import pairwise

import pytest
from page_checks import a_size, assert_tidy, items, setup

from guidegen.errors import GuidegenError
from guidegen.geometry.measure import bounds
from guidegen.hands.library import load_hand, load_marker
from guidegen.lettering.lettering import Lettering
from guidegen.lettering.sizing import RightSize
from guidegen.sheets.specimen import CAPITALS, FIGURES, LOWERCASE, MARKER_WORD, PARAGRAPH, specimen_sheet


@pytest.mark.parametrize("marker", ["flint", "slate", "grit"])
def test_specimen_shows_the_hand_in_full(marker):
    document = specimen_sheet(a_size(marker), setup("a4"))
    shown = [item.name for page in document.pages for item in items(page, "ink")]
    for char in f"{LOWERCASE} {CAPITALS} {FIGURES}".split():
        assert char in shown
    start = shown.index("\u00f8") + 1
    assert " ".join(shown[start:]) == PARAGRAPH
    assert_tidy(document, 12.0)


@pytest.mark.parametrize("hand", ["joined", "italic", "print"])
def test_the_basic_strokes_of_the_hand_are_there_by_the_trades_names(hand):
    """Not by the names that joins have in a hand's file (`out-round-end`), nor those variants themselves."""
    marker = {"joined": "pebble", "italic": "slate", "print": "flint"}[hand]
    document = specimen_sheet(a_size(marker, hand), setup("a3"))
    names = {item.name for page in document.pages for item in items(page, "labels")}
    wanted = {"joined": {"entrance stroke", "downstroke", "underturn", "compound curve", "exit stroke"},
              "italic": {"downstroke", "bowl, left", "arch"},
              "print": {"downstroke", "oval", "arch"}}[hand]  # fmt: skip
    assert {"basic strokes", *wanted} <= names
    assert not {"in", "out", "stem", "out round", "in start", "dot", "cap stem"} & names


def test_figures_stand_apart_from_signs_where_one_row_does_not_hold_them():
    document = specimen_sheet(a_size("cobble"), setup("a4"), paragraph="")
    low = {item.name: bounds(item.paths)[0].imag for page in document.pages for item in items(page, "ink")}
    assert abs(low["0"] - low["4"]) < 2
    assert abs(low["5"] - low["9"]) < 2
    assert low["4"] - low["5"] > 10
    assert low["9"] - low["&"] > 10


def test_a_large_markers_model_closes_up_and_says_what_stays_out():
    size = a_size("boulder", factor=4.0)
    document = specimen_sheet(size, setup("a4"), paragraph="", guides=True)
    assert len(document.pages) <= 11  # 18 in the usual setting
    shown = [item.name for page in document.pages for item in items(page, "ink")]
    assert set(f"{LOWERCASE} {CAPITALS} {FIGURES}".split()) <= set(shown)
    assert "\u00e9" not in shown
    assert any("left out to keep to few pages: accents; a larger paper" in note for note in document.notes)
    assert_tidy(document, 12.0)


def test_every_marker_writes_one_word_at_its_own_size():
    others = [a_size(name) for name in ("boulder", "grit", "thorn", "cobble")]
    document = specimen_sheet(a_size("pebble"), setup("a3"), others=others)
    words = [item for page in document.pages for item in items(page, "ink") if item.name == MARKER_WORD]
    tall = [high.imag - low.imag for low, high in (bounds(word.paths) for word in words)]
    expected = sorted(other.x_height_mm for other in others)
    assert [height / x for height, x in zip(tall, expected, strict=True)] == pytest.approx([1.96] * 4, rel=0.02)
    names = {item.name for page in document.pages for item in items(page, "labels")}
    assert {f"{other.marker.name}, x-height {other.x_height_mm:.1f} mm" for other in others} <= names
    assert_tidy(document, 12.0)


def test_letters_of_a_row_have_even_white_and_fill_the_line():
    page = specimen_sheet(a_size("flint"), setup("a4")).pages[0]
    row = [bounds(item.paths) for item in items(page, "ink") if item.name in LOWERCASE.split()]
    gaps = [following[0].real - here[1].real for here, following in pairwise(row)]
    assert gaps == pytest.approx([gaps[0]] * 25, abs=0.01)
    assert row[0][0].real == pytest.approx(12, abs=0.01)
    assert row[-1][1].real == pytest.approx(210 - 12, abs=0.1)


def test_large_letters_take_more_pages_and_small_paper_is_refused():
    assert len(specimen_sheet(a_size("slate"), setup("a4")).pages) > 1
    with pytest.raises(GuidegenError, match="smallest paper"):
        specimen_sheet(a_size("slate"), setup("a8"))


def test_a_paragraph_wider_than_the_paper_is_left_out_and_said():
    document = specimen_sheet(a_size("slate"), setup("a6"))
    shown = [item.name for page in document.pages for item in items(page, "ink")]
    assert set(f"{LOWERCASE} {CAPITALS} {FIGURES}".split()) <= set(shown)
    assert not any("windjammer" in name for name in shown)
    assert "; it is left out; " in document.notes[0]
    assert_tidy(document, 12.0)


def test_a_hand_without_letters_has_no_specimen():
    marker, hand = load_marker("slate"), load_hand("textura")
    with pytest.raises(GuidegenError, match="no specimen"):
        specimen_sheet(RightSize(Lettering(marker, hand, 15), (12, 18)), setup("a4"))
