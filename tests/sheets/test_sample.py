"""The sample letter: its marks measure what they say, and all three sizes find their place."""

from __future__ import annotations

import re
from itertools import pairwise

import pytest
from page_checks import MARKERS, a_size, assert_inside_margins, items, layer_ids, overlap, setup, words_of

from guidegen.errors import GuidegenError
from guidegen.geometry.measure import bounds
from guidegen.hands.library import load_hand, load_marker
from guidegen.lettering.sizing import counter_at, right_size
from guidegen.sheets.parts.figures import mm_text
from guidegen.sheets.sample import sample_sheet


@pytest.mark.parametrize("paper", ["a4", "letter", "a5"])
@pytest.mark.parametrize("marker", MARKERS)
def test_the_three_letters_stand_on_their_own_lines_at_their_own_sizes(marker, paper):
    size = a_size(marker, factor=4.0)
    document = sample_sheet(size, setup(paper))
    expected = {
        "letter": size.x_height_mm,
        "letter-smallest": size.smallest_x_height_mm,
        "letter-largest": size.largest_x_height_mm,
    }
    found = {}
    for page in document.pages:
        assert_inside_margins(page, 12.0)
        boxes = [bounds(item.paths) for item in words_of(page)]
        assert not any(overlap(a, b) for n, a in enumerate(boxes) for b in boxes[n + 1 :])
        for name, x_height in expected.items():
            for shape in items(page, name):
                low, high = bounds(shape.paths)
                found[name] = (high - low).imag
                assert standing_row(page, low, high)[1] == pytest.approx(x_height, rel=1e-9)
                assert not any(overlap((low, high), box) for box in boxes)
    assert found == {name: pytest.approx(x, rel=0.02) for name, x in expected.items()}


def standing_row(page, low: complex, high: complex) -> tuple[int, float]:
    """The row whose lines reach past the letter on both sides, and its x-height."""
    for row in {line.row for line in items(page, "lines")}:
        lines = {line.role: line for line in items(page, "lines") if line.row == row}
        base = lines["baseline"]
        if base.start.real < low.real and high.real < base.end.real and abs(base.start.imag - low.imag) < 0.5:
            return row, lines["x-height"].start.imag - base.start.imag
    raise AssertionError("the letter stands on no row")


def left_of(page, name: str) -> float:
    return bounds(items(page, name)[0].paths)[0].real


@pytest.mark.parametrize(("marker", "paper"), [("cobble", "a4"), ("pebble", "a5"), ("slate", "letter")])
def test_beside_each_other_the_letters_rise_in_size_and_their_lines_fill_the_width(marker, paper):
    size = a_size(marker, factor=4.0)
    page = sample_sheet(size, setup(paper, landscape=True)).pages[0]
    assert left_of(page, "letter-smallest") < left_of(page, "letter") < left_of(page, "letter-largest")
    baselines = sorted((line.start.real, line.end.real) for line in items(page, "lines") if line.role == "baseline")
    assert baselines[0][0] == pytest.approx(12.0)
    assert baselines[-1][1] == pytest.approx(page.width_mm - 12.0)
    assert all(b[0] - a[1] == pytest.approx(9.0) for a, b in pairwise(baselines))
    assert [line.row for line in items(page, "lines") if line.role == "baseline"] == [1, 2, 3]  # the letter's is first


def test_the_rule_stands_below_wherever_the_captions_leave_room_for_it():
    for name, paper, landscape in (("cobble", "a4", False), ("pebble", "a5", True), ("cobble", "letter", True)):
        size = right_size(load_marker(name), load_hand("joined"))
        words = " ".join(item.name for item in words_of(sample_sheet(size, setup(paper, landscape=landscape)).pages[0]))
        assert "as wide as the letter's full downstroke" in " ".join(words.split()), paper
    words = [item.name for item in words_of(sample_sheet(size, setup("a4")).pages[0])]
    assert {"the white begins to close", "open and strong", "the strokes begin to look thin"} <= set(words)


def test_the_two_marks_measure_the_counter_and_the_full_downstroke():
    size = a_size("cobble", factor=5.0)
    page = sample_sheet(size, setup("a4")).pages[0]
    counter = counter_at(size.lettering)
    white, stroke = (line for line in items(page, "dimensions") if line.style.stroke_mm == 0.3)
    assert abs(stroke.end - stroke.start) == pytest.approx(counter.downstroke_mm)
    assert abs(white.end - white.start) == pytest.approx(counter.width_mm)
    names = [item.name for item in words_of(page)]
    assert names.count(f"downstroke {mm_text(counter.downstroke_mm)}") == 1
    assert names.count(f"counter {mm_text(counter.width_mm)}") == 1


def test_the_layers_of_the_page():
    page = sample_sheet(a_size("cobble"), setup("a4")).pages[0]
    assert {"letter", "letter-smallest", "letter-largest", "dimensions", "lines", "labels", "proof"} <= set(
        layer_ids(page)
    )
    assert len(layer_ids(page)) == len(set(layer_ids(page)))


def test_where_three_do_not_fit_beside_each_other_they_take_further_rows_and_pages():
    size = a_size("boulder", factor=4.0)
    wide = sample_sheet(size, setup("a3", landscape=True))
    bases = {bounds(items(wide.pages[0], name)[0].paths)[0].imag for name in ("letter", "letter-smallest")}
    assert len(wide.pages) == 1
    assert max(bases) - min(bases) < 0.3
    narrow = sample_sheet(size, setup("a5"))
    assert len(narrow.pages) > 1
    assert [name for page in narrow.pages for name in layer_ids(page) if name.startswith("letter")] == [
        "letter", "letter-smallest", "letter-largest"
    ]  # fmt: skip


def test_the_rule_stands_on_the_letters_own_page_once():
    document = sample_sheet(a_size("boulder", factor=5.7), setup("a4"))
    assert len(document.pages) > 1
    said = ["as wide as the letter's full" in " ".join(item.name for item in words_of(page)) for page in document.pages]
    assert said == [True] + [False] * (len(document.pages) - 1)


def test_where_not_even_the_right_size_fits_the_smallest_paper_is_named_and_true():
    size = a_size("boulder", factor=4.0)
    with pytest.raises(GuidegenError, match="the smallest paper that would do is") as refused:
        sample_sheet(size, setup("a7"))
    name = str(refused.value).split(" is ")[-1]
    assert items(sample_sheet(size, setup(name)).pages[0], "letter")


def test_a_size_of_the_band_that_fits_nowhere_on_this_paper_is_left_out_with_a_note():
    size = a_size("boulder", factor=3.4)
    document = sample_sheet(size, setup("a6"))
    assert any("letter largest" in note for note in document.notes)
    assert not any(items(page, "letter-largest") for page in document.pages)


def test_another_letter_has_no_counter_marks_and_a_missing_one_is_named():
    page = sample_sheet(a_size("flint"), setup("a4"), char="n").pages[0]
    assert "dimensions" not in layer_ids(page)
    with pytest.raises(GuidegenError, match="no letter"):
        sample_sheet(a_size("slate", "textura"), setup("a4"))


@pytest.mark.parametrize("marker", ["cobble", "slate", "flint"])
def test_an_accent_on_a_capital_keeps_clear_of_the_head(marker):
    page = sample_sheet(a_size(marker, factor=4.0), setup("a4"), char="\u00c5").pages[0]
    assert_inside_margins(page, 12.0)
    boxes = [bounds(item.paths) for item in words_of(page)]
    for layer in ("letter", "letter-smallest", "letter-largest"):
        for shape in items(page, layer):
            assert not any(overlap(bounds(shape.paths), box) for box in boxes)


def test_an_override_is_named_and_judged():
    document = sample_sheet(a_size("cobble"), setup("a4"), x_height_mm=25)
    assert "As chosen" in [item.name for item in words_of(document.pages[0])]
    assert "too large" in document.notes[0]


def told(document):
    """Return the words on the first page."""
    layers = [layer for layer in document.pages[0].layers if layer.purpose.has_words]
    return [item.name for layer in layers for item in layer.items if getattr(item, "name", None)]


@pytest.mark.parametrize("char", ["n", "a"])
def test_the_page_of_another_letter_does_not_speak_of_e(char):
    said = told(sample_sheet(a_size("cobble"), setup("a4", landscape=True), char=char))
    assert not any(re.search(r"\be\b", words) for words in said)
    assert any("right size" in words for words in said)


def test_a_size_beyond_the_band_is_told_in_a_sentence():
    size = a_size("pebble")
    said = told(sample_sheet(size, setup("a4", landscape=True), x_height_mm=2.0 * size.largest_x_height_mm))
    assert any(re.fullmatch(r"too large: the white is (three|[0-9.]+) times the stroke", words) for words in said)
