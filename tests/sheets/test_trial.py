"""The trial page: rows of rising x-height, and a comb that a ruler agrees with."""

from __future__ import annotations

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st
from page_checks import assert_tidy, items, layer_ids, setup, words_of

from guidegen.errors import GuidegenError
from guidegen.geometry.measure import bounds
from guidegen.sheets.trial import COMB_MM, rising_x_heights_mm, trial_sheet


@given(st.floats(1, 100), st.floats(1, 100))
def test_x_heights_rise_from_one_end_to_the_other(one, other):
    low, high = sorted((one, other))
    heights = rising_x_heights_mm(low, high)
    assert (heights[0], heights[-1]) == (low, high)
    for a, b in itertools.pairwise(heights):
        assert a < b <= max(1.35 * a, a + 0.76)
    assert all(h * 2 == round(h * 2) for h in heights[1:-1] if low * 2 == round(low * 2))


@pytest.mark.parametrize("arguments", [(0.5, 10), (3, 101), (10, 3), (float("nan"), 5), (3, float("inf")), (-3, 5)])
def test_ends_that_make_no_sense_are_refused(arguments):
    with pytest.raises(GuidegenError, match=r"`from_mm`|`to_mm`"):
        rising_x_heights_mm(*arguments)


@pytest.mark.parametrize("proof", ["bar", "full", "none"])
@pytest.mark.parametrize("paper", ["a4", "letter", "a5", "a6", "a3", "half-letter"])
def test_all_rows_are_there_numbered_at_their_height_and_there_is_no_ink(paper, proof):
    document = trial_sheet(setup(paper, proof=proof))
    assert_tidy(document, 12.0)
    rows: dict[int, dict[str, float]] = {}
    for page in document.pages:
        assert not {"letter", "ink"} & set(layer_ids(page))
        numbers = {item.name for item in words_of(page)}
        for line in items(page, "lines"):
            rows.setdefault(line.row, {})[line.role] = line.start.imag
            assert str(line.row) in numbers
    for above, below in itertools.pairwise(rows.values()):
        white = above["descender"] - below["ascender"]
        assert white < 0 or white >= 3.4  # on the next page, or clear of the row above
    heights = [row["x-height"] - row["baseline"] for row in rows.values()]
    assert heights == pytest.approx(list(rising_x_heights_mm(3, 30 if paper != "a6" else heights[-1])))
    assert heights[-1] >= 27  # what the largest of our markers needs
    assert all(set(row) == {"ascender", "x-height", "baseline", "descender"} for row in rows.values())


def test_the_combs_bars_are_as_wide_as_they_say():
    page = trial_sheet(setup("a4")).pages[0]
    bars = [bounds(item.paths) for item in items(page, "comb")]
    assert [(high - low).real for low, high in bars] == pytest.approx(list(COMB_MM))
    assert all((high - low).imag == pytest.approx(15) for low, high in bars)
    names = [item.name for item in words_of(page)]
    assert all(f"{width:g}" in names for width in COMB_MM)
    assert all(b[0].real - a[1].real >= 4 for a, b in itertools.pairwise(bars))


def test_further_pages_say_what_they_are_and_what_to_do_and_have_a_comb():
    pages = trial_sheet(setup("a4")).pages
    assert len(pages) > 2
    for number, page in enumerate(pages[1:], start=2):
        names = [item.name for item in words_of(page)]
        assert {"Find your marker’s size", f"page {number} of {len(pages)}", "Comb: bars of known width"} <= set(names)
        assert any(name.startswith("Go on with larger rows") for name in names)
        assert len(items(page, "comb")) == len(COMB_MM)


def test_the_comb_gives_way_to_a_row():
    pages = trial_sheet(setup("a6")).pages
    assert "comb" in layer_ids(pages[1])
    assert "comb" not in layer_ids(pages[-1])


def test_a_narrow_page_has_fewer_bars():
    assert 5 < len(items(trial_sheet(setup("a6")).pages[0], "comb")) < len(COMB_MM)


def test_the_card_stands_on_the_first_page_only():
    pages = trial_sheet(setup("a4", proof="full")).pages
    assert len(pages) > 1
    cards = [sum(item.name == "card" for item in items(page, "proof") if hasattr(item, "name")) for page in pages]
    assert cards == [1] + [0] * (len(pages) - 1)


def test_inches_on_us_papers():
    assert "0.12 in" in [item.name for item in words_of(trial_sheet(setup("letter")).pages[0])]


def test_rows_lean_when_asked():
    lines = [line for page in trial_sheet(setup("a4"), slants_deg=(60,)).pages for line in items(page, "slant")]
    assert {line.role for line in lines} == {"slant"}
    assert "slant" not in layer_ids(trial_sheet(setup("a4")).pages[0])


def test_paper_too_small_for_the_page_is_refused_with_one_that_would_do():
    with pytest.raises(GuidegenError, match="the smallest paper that would do is a6"):
        trial_sheet(setup("card"), to_mm=4)
