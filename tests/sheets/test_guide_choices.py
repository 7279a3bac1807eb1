"""What a teacher chooses of a guide sheet: how lines look, how many rows, what is left out."""

from __future__ import annotations

import math

import pytest
from page_checks import a_size, assert_tidy, items, setup, words_of

from guidegen.errors import GuidegenError
from guidegen.scene import hull_bounds
from guidegen.sheets.guides import guide_sheet
from guidegen.sheets.parts.look import Look, in_black, looking
from guidegen.sheets.parts.row_choice import Rows


def sheet(marker="pebble", rows=None, proof="bar", **look):
    document = guide_sheet(a_size(marker), setup("a4", look=Look(**look), proof=proof), rows=rows)
    assert_tidy(document, 12.0)
    return document.pages[0]


def baselines(page):
    return sorted((line.start.imag for line in items(page, "lines") if line.role == "baseline"), reverse=True)


def test_what_is_switched_off_is_not_there():
    whole = {layer.id for layer in sheet().layers}
    assert whole >= {"slant", "lines", "letter", "strokes", "labels", "proof"}
    bare = sheet(slant_lines=False, header=False, model=False, strokes=False)
    assert {layer.id for layer in bare.layers} == {"lines", "proof"}
    assert len(baselines(bare)) > len(baselines(sheet()))
    assert any("Pebble" in item.name for item in words_of(bare))  # the footer says which marker it is for


def test_grey_a_colour_and_lines_for_the_copier():
    pages = _, _, blue, _ = [sheet(guide_style=style) for style in ("fine", "grey", "#4477aa", "copy")]
    for role in ("baseline", "x-height", "ascender", "descender"):
        shown = [next(line.style for line in items(page, "lines") if line.role == role) for page in pages]
        assert shown[0].stroke.rgb == shown[3].stroke.rgb == (0.0, 0.0, 0.0)
        assert shown[1].stroke.rgb == (0.5, 0.5, 0.5)
        assert shown[2].stroke.rgb == pytest.approx((0x44 / 255, 0x77 / 255, 0xAA / 255))
        assert shown[3].stroke_mm >= 0.18 > shown[0].stroke_mm or shown[0].stroke_mm >= 0.18
    assert {item.style.stroke.rgb for item in items(blue, "letter")} == {(0.0, 0.0, 0.0)}  # ink stays ink


def test_a_press_gets_black_guides():
    document = guide_sheet(a_size("pebble"), setup("a4", look=Look(guide_style="#4477aa")))
    for layer in ("lines", "slant"):
        assert {line.style.stroke.cmyk for line in items(in_black(document).pages[0], layer)} == {(0.0, 0.0, 0.0, 1.0)}


def test_a_style_that_is_none_is_refused():
    for style in ("loud", "#12345", "", 3):
        with pytest.raises(GuidegenError, match="fine, grey, copy, or a colour"):
            Look(guide_style=style)


def test_rows_as_many_and_as_far_apart_as_asked():
    assert len(baselines(sheet(rows=Rows(count=4)))) == 4
    six = baselines(sheet("grit", rows=Rows(count=6, gap_mm=9.0)))
    usual = baselines(sheet("grit"))
    x = a_size("grit").x_height_mm
    assert six[0] - six[1] == pytest.approx(3 * x + 9.0)
    assert usual[0] - usual[1] == pytest.approx(3.5 * x)
    with pytest.raises(GuidegenError, match="`row_count`: found 40, expected at most"):
        sheet("cobble", rows=Rows(count=40))


def test_spread_rows_fill_the_page_or_stand_a_row_apart():
    apart = baselines(sheet("cobble", rows=Rows(count=3)))
    assert apart[-1] < 75  # of 297 mm: the page is used to its foot
    few = baselines(sheet("grit", rows=Rows(count=3)))
    x = a_size("grit").x_height_mm
    assert few[0] - few[1] == pytest.approx((3 + 0.5 + 3) * x)


def test_left_handers_have_the_model_at_the_right_and_lines_that_lean_left():
    page = sheet("cobble", rows=Rows(left_handed=True))
    low, _ = hull_bounds(tuple(items(page, "letter")))
    assert low.real > 150
    for line in items(page, "slant"):
        rise = line.end - line.start
        assert math.degrees(math.atan2(rise.imag, rise.real)) == pytest.approx(116, abs=1e-6)  # joined leans 64
    own = guide_sheet(a_size("cobble"), setup("a4"), slants_deg=(95.0,), rows=Rows(left_handed=True)).pages[0]
    rise = items(own, "slant")[3].end - items(own, "slant")[3].start
    assert math.degrees(math.atan2(rise.imag, rise.real)) == pytest.approx(95, abs=1e-6)


def test_looking_leaves_other_pages_as_they_are():
    document = guide_sheet(a_size("pebble"), setup("a4"))
    assert looking(document, Look()) is document
