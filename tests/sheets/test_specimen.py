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
def test_every_basic_stroke_of_the_hand_is_there_with_its_name(hand):
    marker = {"joined": "pebble", "italic": "slate", "print": "flint"}[hand]
    document = specimen_sheet(a_size(marker, hand), setup("a3"))
    names = {item.name for page in document.pages for item in items(page, "labels")}
    assert {"basic strokes", *(name.replace("-", " ") for name in load_hand(hand).strokes)} <= names


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
    assert [note.split(";")[1] for note in document.notes] == [" it is left out"]
    assert_tidy(document, 12.0)


def test_a_hand_without_letters_has_no_specimen():
    marker, hand = load_marker("slate"), load_hand("textura")
    with pytest.raises(GuidegenError, match="no specimen"):
        specimen_sheet(RightSize(Lettering(marker, hand, 15), (12, 18)), setup("a4"))
