"""Rows: against a handbook's worked page layouts, the slants of handwriting books, and a photocopier."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from guidegen.errors import GuidegenError
from guidegen.limits import MAX_ROWS
from guidegen.sheets.parts.rows import RowHeights, line_styles, row_layout, row_lines, slant_lines
from guidegen.units import MM_PER_INCH

INCH = MM_PER_INCH


# Edward Johnston, Writing & Illuminating, & Lettering (1906), pp. 94-97: two worked pages, 17 in deep.
@pytest.mark.parametrize(
    ("spacing_in", "lines", "depth_in", "left_in"), [(7 / 8, 13, 11 + 3 / 8, 5 + 5 / 8), (3 / 4, 14, 10.5, 6.5)]
)
def test_johnstons_pages(spacing_in, lines, depth_in, left_in):
    layout = row_layout(17 * INCH, spacing_in * INCH, wanted=lines)
    assert layout.count == lines
    assert layout.depth_mm == pytest.approx(depth_in * INCH)
    assert layout.left_over_mm == pytest.approx(left_in * INCH)


def test_johnstons_pages_filled_to_the_foot():
    # Computed from the same pages: 17 / (7/8) = 19.43 and 17 / (3/4) = 22.67 lines.
    assert row_layout(17 * INCH, 7 / 8 * INCH).count == 19
    assert row_layout(17 * INCH, 3 / 4 * INCH).count == 22


@given(st.floats(1, 2000), st.floats(0.5, 300), st.floats(0, 100), st.one_of(st.none(), st.integers(0, 50)))
def test_rows_fill_the_height_and_one_more_would_not_fit(available, row, gap, wanted):
    assume((available + gap) / (row + gap) <= MAX_ROWS)
    layout = row_layout(available, row, gap, wanted)
    assert layout.depth_mm <= available + 1e-5
    assert layout.depth_mm + layout.left_over_mm == pytest.approx(available)
    assert len(layout.tops_mm()) == layout.count
    if layout.count:
        assert layout.tops_mm()[-1] + row == pytest.approx(layout.depth_mm)
    if wanted is None or layout.count < wanted:
        assert (layout.count + 1) * row + layout.count * gap > available


def test_more_rows_than_anybody_can_rule_are_refused():
    assert row_layout(MAX_ROWS, 1.0).count == MAX_ROWS
    with pytest.raises(GuidegenError, match=f"at most {MAX_ROWS}; choose a larger x-height"):
        row_layout(MAX_ROWS + 1.0, 1.0)


def test_exactly_fitting_rows_are_not_lost_to_rounding():
    assert row_layout(0.3, 0.1).count == 3
    assert row_layout(7 * 12.7 + 6 * 6.35, 12.7, 6.35).count == 7


# Sideways shift per unit of height: cotangents, computed.
@pytest.mark.parametrize(
    ("slant", "shift"), [(52, 0.78129), (54, 0.72654), (55, 0.70021), (60, 0.57735), (75, 0.26795), (90, 0)]
)
def test_slant_lines_lean_as_the_books_say(slant, shift):
    lines = slant_lines(RowHeights(10, 20, 10), 0j, 200, 1, [slant])
    for line in lines:
        rise = line.end - line.start
        assert rise.real / rise.imag == pytest.approx(shift, abs=5e-6)


@given(st.floats(25, 155), st.floats(1, 40), st.floats(20, 300))
def test_slant_lines_stay_inside_their_row_evenly_spaced(slant, x_height, width):
    heights = RowHeights(x_height, 2 * x_height, x_height)
    lines = slant_lines(heights, 5 + 50j, 5 + width, 3, [slant])
    spacing = max(x_height, 5.0) if x_height >= 3.5 else 10.0
    shift = 1 / math.tan(math.radians(slant))
    feet = [line.start.real - shift * (line.start.imag - 50) for line in lines]
    assert all(b - a == pytest.approx(spacing) for a, b in pairwise(feet))
    for line in lines:
        for end in (line.start, line.end):
            assert 5 - 1e-6 <= end.real <= 5 + width + 1e-6
            assert 50 - x_height - 1e-6 <= end.imag <= 50 + 2 * x_height + 1e-6
        assert line.row == 3
    whole = [line for line in lines if abs(line.end.imag - line.start.imag) > 3 * x_height - 1e-6]
    assert len(whole) >= (width - abs(shift) * 3 * x_height) / spacing - 1


def test_a_row_has_its_four_lines_from_the_top():
    lines = row_lines(RowHeights(10, 20, 8), 12 + 100j, 198, 2)
    assert [(line.role, line.start.imag) for line in lines] == [
        ("ascender", 120), ("x-height", 110), ("baseline", 100), ("descender", 92)
    ]  # fmt: skip
    assert {(line.start.real, line.end.real, line.row) for line in lines} == {(12, 198, 2)}


def test_lines_that_would_lie_on_each_other_are_drawn_once():
    assert [role for role, _ in RowHeights(10, 10, 0).lines()] == ["x-height", "baseline"]


@pytest.mark.parametrize("hairline", [0.1, 0.12, 0.25, 0.42, 0.6, 1.9, 2.1])
@pytest.mark.parametrize("x_height", [2.5, 7, 14, 43])
def test_guides_are_quieter_than_the_hairline(x_height, hairline):
    """A third of the hairline at most; where that is less than prints, sparser; the four lines stay apart.

    The baseline is solid at every size, and nothing else is.
    """
    quarter_point = 0.25 * 25.4 / 72  # the least that printers ask for: common practice
    styles = line_styles(x_height, hairline)
    assert len({(round(style.stroke_mm, 3), style.dash_mm) for style in styles.values()}) == 5
    assert {style.stroke.rgb for style in styles.values()} == {(0.0, 0.0, 0.0)}
    for role, style in styles.items():
        assert quarter_point <= style.stroke_mm <= max(hairline / 3, 1.03 * quarter_point)
        assert bool(style.dash_mm) == (role != "baseline")
        if hairline / 3 < quarter_point and style.dash_mm:
            assert style.dash_mm[0] / sum(style.dash_mm) < 0.8
        # A copy at 600 dpi keeps a dash of two pixels by three.
        assert not style.dash_mm or style.dash_mm[0] >= 3 * 25.4 / 600


@pytest.mark.parametrize("x_height", [0.5, 2, 5, 12, 40])
def test_lines_differ_without_colour_and_none_is_under_a_quarter_point(x_height):
    styles = line_styles(x_height)
    quarter_point = 0.25 * 25.4 / 72  # the least that printers ask for: common practice
    assert all(style.stroke_mm >= quarter_point for style in styles.values())
    assert len({(round(style.stroke_mm, 3), style.dash_mm) for style in styles.values()}) == 5
    assert {style.stroke.rgb for style in styles.values()} == {(0.0, 0.0, 0.0)}
    assert styles["baseline"].stroke_mm > 1.49 * styles["x-height"].stroke_mm
