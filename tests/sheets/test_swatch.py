"""The swatch page: what a picture is measured by stands where the block says, and nothing stands in the boxes."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from page_checks import assert_tidy, items, setup

import guidegen as gg
from guidegen.errors import GuidegenError
from guidegen.geometry.measure import bounds
from guidegen.scene import hull_bounds
from guidegen.sheets.parts import swatch_block
from guidegen.sheets.parts.swatch_block import BARS_MM, RING_MM, block_of

PAGES = [
    ({}, "a4", False),
    ({}, "letter", False),
    ({}, "a5", False),
    ({}, "a5", True),
    ({}, "a6", False),
    ({"copies": 4}, "a4", False),
    ({"copies": 4}, "letter", False),
    ({"copies": 2}, "a5", False),
    ({"tip": "broad", "nib_angle_deg": 30}, "a4", False),
    ({"tip": "round"}, "a4", False),
    ({"marker": "cobble", "letters": True}, "a4", False),
    ({"marker": "boulder", "letters": True}, "letter", False),
    ({"letters": True, "x_height_mm": 5.5}, "a5", False),
    ({"letters": True, "x_height_mm": 37.9}, "a4", True),
    ({"wide": True}, "a4", False),
    ({"wide": True, "tip": "broad"}, "a5", False),
    ({"tip": "pointed"}, "a5", False),
]
IDS = ["-".join([*(f"{key}{value}" for key, value in options.items()), paper]) for options, paper, _ in PAGES]


@pytest.mark.parametrize(("options", "paper", "landscape"), PAGES, ids=IDS)
def test_a_page_is_tidy_and_nothing_stands_in_its_boxes(options, paper, landscape):
    page = gg.swatch(**options, paper=paper, landscape=landscape)
    (drawn,) = page.document.pages
    assert_tidy(page.document, 12.0)
    for cell in page.cells:
        low = complex(cell.x_mm, drawn.height_mm - cell.y_mm - cell.height_mm)
        high = low + complex(cell.width_mm, cell.height_mm)
        for layer in drawn.layers:
            for item in layer.items:
                if layer.id == "lines":  # the short pieces at both sides of a box for a letter
                    assert abs(item.end - item.start) < 3
                    continue
                a, b = hull_bounds((item,))
                apart = a.real > high.real or b.real < low.real or a.imag > high.imag or b.imag < low.imag
                assert apart, (layer.id, a, b, cell)


@pytest.mark.parametrize(("options", "paper", "landscape"), PAGES, ids=IDS)
def test_twelve_rings_of_six_millimetres_say_which_block_it_is(options, paper, landscape):
    (drawn,) = gg.swatch(**options, paper=paper, landscape=landscape).document.pages
    sizes = [bounds(item.paths) for item in items(drawn, "fiducials")]
    rings = [(low + high) / 2 for low, high in sizes if math.isclose((high - low).real, RING_MM, abs_tol=1e-3)]
    dots = [(low + high) / 2 for low, high in sizes if (high - low).real < RING_MM / 2]
    copies = options.get("copies", 1)
    assert len(rings) == 12 * copies
    for copy in range(copies):
        own = rings[12 * copy : 12 * copy + 12]
        block = block_of([any(abs(ring - dot) < 0.1 for dot in dots) for ring in own])
        assert block is not None
        assert block.copy == copy
        true = [own[0] + (ring - block.rings[0]).conjugate() for ring in block.rings]
        assert np.allclose(own, true, atol=1e-6)
        assert block.use == ("letters" if "letters" in options else options.get("tip", "brush"))


def test_no_block_is_taken_for_another_turned_or_mirrored():
    for block in swatch_block.every_block():
        dots = np.array(block.dots).reshape(3, 4)
        assert block_of(dots.ravel().tolist()) == block
        for other in (dots[::-1, ::-1], dots[:, ::-1], dots[::-1]):
            assert block_of(other.ravel().tolist()) is None


def test_one_wrong_dot_is_noticed():
    for block in swatch_block.every_block():
        for ring in range(12):
            dots = list(block.dots)
            dots[ring] = not dots[ring]
            assert block_of(dots) is None


def test_bars_and_gaps_are_as_wide_as_they_say():
    (drawn,) = gg.swatch().document.pages
    ends = [bounds(item.paths) for item in items(drawn, "comb")]
    assert [(high - low).real for low, high in ends] == pytest.approx([w for w in BARS_MM for _ in range(2)])
    gaps = [after[0].real - before[1].real for before, after in itertools.pairwise(ends)][::2]
    assert gaps == pytest.approx(list(BARS_MM))


def test_cells_are_told_from_the_upper_left_corner_with_their_slant():
    page = gg.swatch("cobble", slant_deg=55)
    assert [cell.kind for cell in page.cells] == ["downstroke"] * 9 + ["hairline"] * 9
    assert {cell.slant_deg for cell in page.cells} == {55}
    assert page.as_dict()["cells"][0]["page"] == 1
    tops = {round(cell.y_mm, 3) for cell in page.cells}
    assert min(tops) < max(tops)  # downstrokes above, hairlines below
    assert page.cells[0].y_mm == pytest.approx(min(tops), abs=1e-3)
    broad = gg.swatch("slate")  # held at 40 degrees: across the edge is 130, along it 40
    assert {(cell.kind, cell.slant_deg) for cell in broad.cells} == {("downstroke", 130), ("hairline", 40)}
    assert {cell.kind for cell in gg.swatch("flint").cells} == {"downstroke"}
    assert [cell.marker for cell in gg.swatch(copies=2).cells] == [0] * 18 + [1] * 18


def test_a_corrected_page_tells_the_cells_of_the_file():
    """A printer that makes 100 mm 98: in the file everything is 1/0.98 as wide."""
    plain, wider = gg.swatch().cells[0], gg.swatch(printer="98x100").cells[0]
    assert wider.width_mm == pytest.approx(plain.width_mm / 0.98)
    assert wider.height_mm == pytest.approx(plain.height_mm)


@pytest.mark.parametrize(
    ("options", "told"),
    [
        ({"copies": 5}, "`copies`"),
        ({"copies": 2, "letters": True, "marker": "cobble"}, "`copies`"),
        ({"letters": True}, "`x_height_mm`"),
        ({"marker": "cobble", "tip": "round"}, "`tip`"),
        ({"paper": "card"}, "smallest paper"),
        ({"letters": True, "x_height_mm": 60}, "does not fit"),
        ({"letters": True, "x_height_mm": 37.9}, "smallest paper that would do is a4 `landscape`"),
        ({"copies": 2, "wide": True}, "wide boxes fill a page of their own"),
        ({"letters": True, "x_height_mm": 9, "wide": True}, "`wide`"),
    ],
)
def test_what_makes_no_page_is_refused(options, told):
    with pytest.raises(GuidegenError, match=told):
        gg.swatch(**options)


def test_a_marker_of_wide_strokes_has_wide_boxes():
    """A stroke of 9.3 mm at 64 degrees that is twice as long as wide takes 9.3 sin 64 + 18.6 cos 64 = 16.5 mm."""
    wide = gg.marker("sill", tip="brush", downstroke_mm=9.3, hairline_mm=2.1)
    assert {cell.width_mm > 30 for cell in gg.swatch(wide).cells} == {True}
    assert {cell.width_mm > 30 for cell in gg.swatch(wide, wide=False).cells} == {False}
    assert gg.swatch("cobble").cells == gg.swatch().cells


@pytest.mark.parametrize(
    ("options", "told"),
    [
        ({}, True),
        ({"tip": "broad", "paper": "letter"}, True),
        ({"paper": "a5"}, False),
        ({"copies": 4}, False),
        ({"letters": True, "x_height_mm": 9}, False),
    ],
)
@pytest.mark.parametrize(("language", "word"), [("en", "bank card"), ("de", "Bankkarte")])
def test_a_bank_card_is_told_of_where_it_has_room_below_the_block(options, told, language, word):
    page = gg.swatch(**options, language=language)
    (drawn,) = page.document.pages
    assert any(word in (item.name or "") for item in items(drawn, "labels")) is told
    if told:
        lowest = max(cell.y_mm + cell.height_mm for cell in page.cells) + 1.2 + RING_MM  # air, then the last rings
        free = (drawn.height_mm - lowest - 54.0, drawn.height_mm - lowest)
        for layer in drawn.layers:
            for item in layer.items:
                a, b = hull_bounds((item,))
                assert b.imag < free[0] or a.imag > free[1] - 0.01, layer.id


def test_the_setup_of_a_page_may_be_made_by_hand():
    from guidegen.sheets.swatch import swatch_sheet

    document, cells = swatch_sheet(setup("a4"), "pointed", slants_deg=(52.0, 52.0))
    assert len(document.pages) == 1
    assert len(cells) == 18


@pytest.mark.parametrize(("tip", "count"), [("brush", 4), ("broad", 3), ("round", 2)])
def test_the_example_out_of_its_box_leaves_it_at_both_ends_and_the_others_do_not(tip, count):
    (drawn,) = gg.swatch(tip=tip).document.pages
    inks = [hull_bounds((item,)) for item in items(drawn, "strokes")]
    assert len(inks) == count
    top_row = max(line.start.imag for line in items(drawn, "cells"))
    boxes = sorted({round(line.start.real, 2) for line in items(drawn, "cells") if line.start.imag == top_row})
    low = top_row - 12.5 - 2 * 0.25  # the box's own height, its lines a quarter of a millimetre outside
    for number, (a, b) in enumerate(inks):
        leaves = b.imag > top_row + 1.5 and a.imag < low - 1.5
        assert leaves is (number == count - 1)
        if not leaves:
            assert low + 0.5 < a.imag < b.imag < top_row - 0.5
            assert any(x < a.real for x in boxes)


@pytest.mark.parametrize("paper", ["a4", "letter", "a5", "a6"])
def test_lines_to_write_on_end_clear_of_the_next_ring(paper):
    (drawn,) = gg.swatch(paper=paper).document.pages
    rings = [bounds(item.paths) for item in items(drawn, "fiducials")]
    for line in items(drawn, "blanks"):
        level = line.end.imag
        right = [low.real for low, high in rings if low.imag < level < high.imag and low.real > line.start.real]
        assert min(right) - line.end.real > 3.5
        assert line.end.real - line.start.real > 4


def test_the_marker_that_is_named_is_printed_and_needs_no_line():
    (unknown,) = gg.swatch().document.pages
    for language, name in (("en", "Cobble, medium brush"), ("de", "Cobble, mittlerer Pinselstift")):
        for more in ({}, {"letters": True}):
            (known,) = gg.swatch("cobble", language=language, **more).document.pages
            assert any(item.name == name for item in items(known, "labels"))
            assert len(items(known, "blanks")) == 1
    assert len(items(unknown, "blanks")) == 2


def test_each_of_several_blocks_has_its_number_at_its_head():
    page = gg.swatch(copies=4)
    (drawn,) = page.document.pages
    for number in range(4):
        (shape,) = [item for item in items(drawn, "labels") if item.name == str(number + 1)]
        low, high = bounds(shape.paths)
        top = drawn.height_mm - min(cell.y_mm for cell in page.cells if cell.marker == number)
        assert high.imag - low.imag > 4
        assert top < high.imag < top + 8


def test_the_example_of_a_letter_is_as_high_as_its_lines():
    """The e of cobble, whose x-height the page says, with the overshoot that round letters have."""
    (drawn,) = gg.swatch("cobble", letters=True).document.pages
    (shape,) = items(drawn, "strokes")
    low, high = bounds(shape.paths)
    right = gg.right_size("cobble").x_height_mm
    assert right * 0.97 < high.imag - low.imag < right * 1.08
