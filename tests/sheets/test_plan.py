"""Planning: what fits by its own measure, and the three ways out are really the nearest ones."""

from __future__ import annotations

import pytest
import svg_pages
from lettered import lettering
from page_checks import PAPERS, setup

from guidegen.errors import GuidegenError
from guidegen.lettering.sizing import right_size
from guidegen.sheets.cards import card_box, card_grid, card_sheets
from guidegen.sheets.name_set import plan_set
from guidegen.sheets.parts import frame as frames
from guidegen.sheets.parts.block import broken, stack
from guidegen.sheets.parts.frame import Box
from guidegen.sheets.parts.rows import heights_of
from guidegen.sheets.parts.words import width_of, words_of
from guidegen.sheets.plan import STAMP_MM, Piece, envelope_box, layout_sheet, plan
from guidegen.writers import render

TEXT = "the boats come in with the evening tide and lie along the harbour wall"


def fits(one, text, paper, **more):
    box = frames.frame(setup(paper, **more)).box
    block = broken(one, (text,), box.width)
    return block is not None and block.height_mm <= box.height


@pytest.mark.parametrize("paper", ["a5", "a4", "letter"])
@pytest.mark.parametrize("marker", ["pebble", "cobble", "slate", "flint"])
def test_the_ways_out_are_the_nearest_ones(marker, paper):
    one = lettering(marker)
    found = plan(Piece(one, (TEXT,)), setup(paper))
    assert found.fits == fits(one, TEXT, paper)
    best = found.smallest_paper
    area = best.width_mm * best.height_mm
    for smaller in [p for p in PAPERS if p.family == best.family and p.width_mm * p.height_mm < area]:
        for landscape in (False, True):
            try:
                assert not fits(one, TEXT, smaller.name, landscape=landscape)
            except GuidegenError:  # no room for margins at all
                continue
    x = found.fitting_x_height_mm
    assert fits(one.at(x), TEXT, paper)
    assert not fits(one.at(x * 1.003), TEXT, paper)
    assert found.in_band == (right_size(one.marker, one.hand).verdict(x) == "right")
    assert (found.white_mm.real >= 0) & (found.white_mm.imag >= 0) or not found.fits


def test_the_largest_marker_is_the_first_that_fits():
    ones = [lettering(marker) for marker in ("boulder", "cobble", "pebble", "grit")]
    found = plan(Piece(lettering("pebble"), (TEXT,)), setup("a5"), ones)
    assert found.largest_marker == next(one.marker.name for one in ones if fits(one, TEXT, "a5"))


def test_lines_asked_for_are_kept_and_even():
    one = lettering("flint")
    found = plan(Piece(one, (TEXT,), lines=5), setup("a4"))
    widths = [line.width_mm for line in found.block.lines]
    assert len(widths) == 5
    assert min(widths) > 0.55 * max(widths)
    assert " ".join(line.text for line in found.block.lines) == TEXT


def test_lines_with_markers_of_their_own_keep_clear_of_each_other():
    own = ((lettering("cobble"), "regatta"), (lettering("pebble"), "by the gull"), (lettering("flint"), "july"))
    block = stack(own, "center")
    for upper, lower in zip(block.lines, block.lines[1:], strict=False):
        gap = (upper.at.imag - heights_of(upper.lettering).descender_mm) - (
            lower.at.imag + heights_of(lower.lettering).ascender_mm
        )
        gaps = [line.lettering.hand.row_gap * line.lettering.x_height_mm for line in (upper, lower)]
        assert gap == pytest.approx(max(gaps))
    assert block.height_mm == pytest.approx(-block.lines[-1].at.imag + heights_of(own[-1][0]).descender_mm)


@pytest.mark.parametrize("align", ["left", "center", "right"])
def test_a_layout_reads_back(align):
    one = lettering("pebble")
    piece = Piece(one, (TEXT,), align)
    document = layout_sheet(plan(piece, setup("a4")), piece, setup("a4"))
    sheet = svg_pages.read(next(iter(render(document, "svg")))[1])
    svg_pages.assert_tidy(sheet, 12.0)
    assert " ".join(mark.title for mark in sheet.texts("trace")) == TEXT
    assert len(svg_pages.rows(sheet)) == len(sheet.texts("trace"))


def test_an_envelope_keeps_the_stamps_corner_free():
    one = lettering("flint")
    piece, envelope = Piece(one, ("harbour office", "north quay")), setup("dl")
    page = frames.frame(envelope)
    document = layout_sheet(plan(piece, envelope, (), envelope_box), piece, envelope, envelope=True)
    sheet = svg_pages.read(next(iter(render(document, "svg")))[1])
    corner = complex(page.width_mm - STAMP_MM[0], page.height_mm - STAMP_MM[1])
    for mark in sheet.marks["trace"]:
        assert mark.high.real <= corner.real or mark.high.imag <= corner.imag
    for guide in sheet.guides:
        if guide.role:
            assert guide.end.real <= corner.real or guide.end.imag <= corner.imag


def test_a_set_has_one_size_decided_by_the_longest():
    one = lettering("pebble")
    names = ("anna", "marit", "bartholomew", "leif")
    found = plan_set(one, names, Box(0, 0, 1000, 100))
    assert found.x_height_mm == one.x_height_mm
    assert found.longest == "bartholomew"
    room = 0.9 * width_of(one, "bartholomew")
    tight = plan_set(one, names, Box(0, 0, room, 100))
    assert tight.x_height_mm < one.x_height_mm
    assert width_of(one.at(tight.x_height_mm), "bartholomew") == pytest.approx(room, rel=0.01)
    narrow = plan_set(one, names, Box(0, 0, 0.2 * width_of(one, "bartholomew"), 100))
    assert narrow.x_height_mm == pytest.approx(right_size(one.marker, one.hand).smallest_x_height_mm)
    small = one.at(narrow.x_height_mm)
    breaking = [name for name in names if width_of(small, name) > 0.2 * width_of(one, "bartholomew")]
    assert [entry.name for entry in narrow.names if not entry.fits] == breaking
    assert "bartholomew" in breaking


def test_every_name_of_a_set_fits_where_another_is_the_widest_at_the_size_found():
    """Widths do not shrink alike, for the pen stays as it is: of these names each is the widest at some size."""
    one, names = lettering("cobble"), ("Marit", "Solveig", "Leif")
    widest = set()
    for room in range(40, 110, 2):
        found = plan_set(one, names, Box(0, 0, room, 500), 0.1)
        assert found.fits, room
        widest.add(found.longest)
    assert len(widest) > 1


@pytest.mark.parametrize("up", [1, 2, 4, 8, 10])
def test_cards_fill_the_sheet_and_hold_one_name_each(up):
    one = lettering("flint")
    names = ("anna", "marit", "leif", "solveig", "per")
    here = setup("a4")
    grid = card_grid(here, up)
    assert grid.columns * grid.rows >= up
    document = card_sheets(one, names, here, up)
    found = []
    for _, data in render(document, "svg"):
        sheet = svg_pages.read(data)
        boxes = list(grid.boxes())
        for mark in sheet.texts("trace"):
            inside = [box for box in boxes if box.left <= mark.low.real and mark.high.real <= box.right
                      and box.bottom <= mark.low.imag and mark.high.imag <= box.top]  # fmt: skip
            assert len(inside) == 1
            assert mark.middle.real == pytest.approx((inside[0].left + inside[0].right) / 2, abs=1.0)
        found += [mark.title for mark in sheet.texts("trace")]
    assert tuple(found) == names
    assert card_box(here, up).width > 0


def test_cards_too_small_to_write_on_are_refused():
    with pytest.raises(GuidegenError, match="`up` 200: cards of"):
        card_grid(setup("a4"), 200)


@pytest.mark.parametrize("marker", ["cobble", "slate", "flint"])
def test_words_and_spaces_add_up_to_the_line(marker):
    one = lettering(marker)
    words, _ = words_of(one, "the boats come in with the evening tide", 1e9)
    total = sum(word.width for word in words) + sum(word.space for word in words[:-1])
    assert total == pytest.approx(width_of(one, "the boats come in with the evening tide"), rel=0.004)
