"""Guide sheets: every line at its number, nothing in the way of anything, on every paper."""

from __future__ import annotations

import io
import math

import numpy as np
import pytest
from page_checks import MARKERS, a_size, assert_tidy, items, layer_ids, setup, words_of
from PIL import Image

from guidegen.errors import GuidegenError
from guidegen.geometry.measure import bounds
from guidegen.sheets.guides import guide_sheet
from guidegen.sheets.parts.figures import degrees_text, mm_text, proportions_text
from guidegen.writers import render

PAPERS = ("a4", "letter", "a5", "a3", "half-letter")


@pytest.mark.parametrize("landscape", [False, True])
@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("marker", MARKERS)
def test_every_line_is_at_its_number_and_nothing_is_in_the_way(marker, paper, landscape):
    size = a_size(marker)
    document = guide_sheet(size, setup(paper, landscape=landscape))
    assert_tidy(document, 12.0)
    page = document.pages[0]
    rows: dict[int, dict[str, float]] = {}
    for line in items(page, "lines"):
        assert line.start.imag == line.end.imag
        rows.setdefault(line.row, {})[line.role] = line.start.imag
    x, hand = size.x_height_mm, size.hand
    assert list(rows) == list(range(1, len(rows) + 1))
    pitch = (hand.ascender + hand.descender + hand.row_gap) * x
    first = rows[1]["baseline"]
    for number, row in rows.items():
        base = first - (number - 1) * pitch
        assert row["baseline"] == pytest.approx(base)
        assert row["x-height"] == pytest.approx(base + x)
        assert row["ascender"] == pytest.approx(base + hand.ascender * x)
        assert row["descender"] == pytest.approx(base - hand.descender * x)


def test_the_rows_fill_the_page():
    document = guide_sheet(a_size("cobble"), setup("a4"))
    lowest = min(line.start.imag for line in items(document.pages[0], "lines"))
    foot = max(
        high.imag for _, high in (bounds(item.paths) for item in words_of(document.pages[0]) if "100 %" in item.name)
    )
    assert 4 < lowest - foot < 4 + 3.5 * a_size("cobble").x_height_mm + 6


def test_the_header_says_what_item_by_item_a_student_needs():
    size = a_size("cobble")
    names = [item.name for item in words_of(guide_sheet(size, setup("a4")).pages[0])]
    x = size.x_height_mm
    for text in (
        size.marker.label, "brush", size.hand.label, proportions_text(size.hand), degrees_text(size.hand.slant_deg),
        mm_text(x), "x-height, the right size", f"ascender height {mm_text(2 * x)}", f"descender {mm_text(x)}",
        "downstroke", "3.2 mm", "upstroke", "0.6 mm", "ascender line", "x-height line", "baseline", "descender line",
    ):  # fmt: skip
        assert names.count(text) == 1, text


def test_the_x_height_is_the_one_large_figure():
    page = guide_sheet(a_size("cobble"), setup("a4")).pages[0]
    heights = sorted(((high - low).imag, item.name) for item in words_of(page) for low, high in [bounds(item.paths)])
    assert heights[-1][1] == mm_text(a_size("cobble").x_height_mm)
    assert heights[-1][0] > 1.5 * heights[-2][0]


def test_inches_stand_beside_millimetres_on_us_papers_only():
    def inches(paper):
        return [
            item.name for item in words_of(guide_sheet(a_size("cobble"), setup(paper)).pages[0]) if " in" in item.name
        ]

    assert any("x-height 0.57 in" in name for name in inches("letter"))  # 14.4 mm / 25.4
    assert [name for name in inches("a4") if name != "4 in"] == []


@pytest.mark.parametrize(("marker", "widths"), [("cobble", (3.2, 0.6)), ("thorn", (1.1, 0.12)), ("flint", (0.8, 0.8)),
                                                ("slate", (3.0, 3.0 * math.cos(math.radians(40)), 0.3))])  # fmt: skip
def test_strokes_of_15_mm_stand_in_the_header_at_true_width(marker, widths):
    size = a_size(marker)
    page = guide_sheet(size, setup("a4")).pages[0]
    strokes = [item for item in items(page, "strokes") if hasattr(item, "name") and item.name not in (None, "nib")]
    assert len(strokes) == len(widths)
    for stroke, width in zip(strokes, widths, strict=True):
        a, b, c, _ = (segment[0] for segment in stroke.paths[0].segments)
        side = c - b
        assert abs(side) == pytest.approx(15)
        assert math.degrees(math.atan2(side.imag, side.real)) == pytest.approx(size.hand.slant_deg)
        across = abs((b - a).real * side.imag - (b - a).imag * side.real) / abs(side)
        assert across == pytest.approx(width)


def test_beside_each_stroke_a_student_can_set_one():
    for marker in ("cobble", "boulder"):
        page = guide_sheet(a_size(marker), setup("a4")).pages[0]
        thick, thin = (bounds(item.paths) for item in items(page, "strokes"))
        width = a_size(marker).marker.downstroke_mm
        feet = [
            min(z.real for z in segment_points(item) if z.imag < item_middle(item)) for item in items(page, "strokes")
        ]
        assert feet[1] - feet[0] >= 2 * width
        assert thick[1].imag == pytest.approx(thin[1].imag)


def segment_points(item):
    return [z for path in item.paths for segment in path.segments for z in segment]


def item_middle(item):
    low, high = bounds(item.paths)
    return (low.imag + high.imag) / 2


def test_the_sample_letter_stands_on_the_first_row_at_the_sheets_x_height():
    size = a_size("cobble")
    page = guide_sheet(size, setup("a4")).pages[0]
    (letter,) = items(page, "letter")
    base = next(line.start.imag for line in items(page, "lines") if line.role == "baseline" and line.row == 1)
    low, high = bounds(letter.paths)
    assert low.imag == pytest.approx(base, abs=0.01 * size.x_height_mm)
    assert high.imag == pytest.approx(base + size.x_height_mm, abs=0.01 * size.x_height_mm)


def test_a_hand_without_letters_still_has_its_guides():
    page = guide_sheet(a_size("slate", "textura"), setup("a4")).pages[0]
    assert "letter" not in layer_ids(page)
    assert items(page, "lines")


def test_a_broad_tip_has_a_ladder_on_every_row_of_squares_as_wide_as_the_nib():
    size = a_size("slate")
    page = guide_sheet(size, setup("a4")).pages[0]
    rows = {line.row for line in items(page, "lines")}
    squares = [bounds(item.paths) for item in items(page, "ladder")]
    assert len(squares) == len(rows) * (8 + 3)  # x-height 5 nib widths, extenders 3 (a handbook's italic)
    assert all(high - low == pytest.approx(3 + 3j) for low, high in squares)
    assert "pen angle" in [item.name for item in words_of(page)]
    assert [item.name for item in items(page, "strokes") if getattr(item, "name", None) == "nib"] == ["nib"]
    assert "ladder" not in layer_ids(guide_sheet(a_size("cobble"), setup("a4")).pages[0])


def test_several_slants_and_none_steeper_than_sense():
    page = guide_sheet(a_size("thorn"), setup("a4"), slants_deg=(55, 80)).pages[0]
    angles = {
        round(math.degrees(math.atan2((l.end - l.start).imag, (l.end - l.start).real))) for l in items(page, "slant")
    }
    assert angles == {55, 80}
    assert "55° and 80°" in [item.name for item in words_of(page)]
    for slant in (0, 19, 161, float("nan")):
        with pytest.raises(GuidegenError, match="`slants_deg`"):
            guide_sheet(a_size("thorn"), setup("a4"), slants_deg=(slant,))


@pytest.mark.parametrize(("at", "factor"), [("smallest", 0.8), ("right", 1.0), ("largest", 1.4)])
def test_the_place_in_the_band(at, factor):
    size = a_size("cobble")
    document = guide_sheet(size, setup("a4"), at=at)
    row = {line.role: line.start.imag for line in items(document.pages[0], "lines") if line.row == 1}
    assert row["x-height"] - row["baseline"] == pytest.approx(factor * size.x_height_mm)
    assert document.notes == ()


def test_an_x_height_outside_the_band_is_drawn_with_a_warning():
    document = guide_sheet(a_size("cobble"), setup("a4"), x_height_mm=5)
    assert "too small" in document.notes[0]
    assert "too large" in guide_sheet(a_size("cobble"), setup("a4"), x_height_mm=30).notes[0]
    assert guide_sheet(a_size("cobble"), setup("a4"), x_height_mm=15).notes == ()


def test_one_row_says_which_paper_holds_more_and_none_is_an_error_with_the_smallest_that_would_do():
    one = guide_sheet(a_size("boulder"), setup("a6"))
    assert {line.row for line in items(one.pages[0], "lines")} == {1}
    assert "the smallest paper that holds two is a4" in one.notes[0]
    with pytest.raises(GuidegenError, match=r"no row of 91\.8 mm fits .*; the smallest paper that would do is a6$"):
        guide_sheet(a_size("boulder"), setup("a7"))
    with pytest.raises(GuidegenError, match=r"would do is a6 upright$"):  # never a larger paper for want of turning it
        guide_sheet(a_size("boulder"), setup("a6", landscape=True))
    with pytest.raises(GuidegenError, match="no known paper"):
        guide_sheet(a_size("boulder"), setup("a4"), x_height_mm=900)


@pytest.mark.parametrize("paper", ["card", "us-card", "index-3x5", "c6", "dl", "no-10"])
@pytest.mark.parametrize("marker", ["grit", "thorn", "flint"])
def test_cards_and_envelopes_hold_rows(marker, paper):
    document = guide_sheet(a_size(marker), setup(paper, margin_mm=5.0))
    assert_tidy(document, 5.0)
    assert len({line.row for line in items(document.pages[0], "lines")}) >= (2 if marker == "grit" else 1)


@pytest.mark.parametrize("proof", ["bar", "full", "none"])
def test_proof_marks_take_their_room(proof):
    document = guide_sheet(a_size("pebble"), setup("a4", proof=proof, credit="Evening class, harbour school"))
    assert_tidy(document, 12.0)
    names = [item.name for item in words_of(document.pages[0])]
    assert ("50 mm across, 50 mm down" in names) is (proof == "full")
    assert any("100 %" in name for name in names) is (proof != "none")
    assert any("Evening class, harbour school" in name for name in names)


def test_margins_that_leave_nothing_are_refused():
    for margin in (105, -1, 1000, float("nan")):
        with pytest.raises(GuidegenError, match="margin_mm"):
            guide_sheet(a_size("grit"), setup("a4", margin_mm=margin))


@pytest.mark.parametrize("marker", ["cobble", "thorn"])
def test_every_row_survives_a_photocopier(marker):
    """A page thresholded to 1 bit at 300 ppi keeps each line, and each line its own pattern of dashes.

    Thorn's hairline is 0.12 mm: its guides are as thin as prints, and all but the baseline sparse so as not to
    outweigh it.
    """
    size = a_size(marker)
    document = guide_sheet(size, setup("a4"))
    data = dict(render(document, "png", ppi=300))[""]
    image = Image.open(io.BytesIO(data)).convert("L")
    black = np.asarray(image) < 128
    per_mm = 300 / 25.4
    share: dict[str, set[float]] = {}
    for line in items(document.pages[0], "lines"):
        row = round((297 - line.start.imag) * per_mm)
        band = black[row - 3 : row + 3, round(120 * per_mm) : round(170 * per_mm)].any(axis=0)
        share.setdefault(line.role, set()).add(round(float(band.mean()), 1))
    wanted = {
        "cobble": {"baseline": (1, 1), "x-height": (0.75, 0.85), "ascender": (0.5, 0.7), "descender": (0.4, 0.75)},
        "thorn": {"baseline": (1, 1), "x-height": (0.4, 0.65), "ascender": (0.2, 0.45), "descender": (0.1, 0.4)},
    }[marker]
    for role, (least, most) in wanted.items():
        assert all(least <= found <= most for found in share[role]), (role, share[role])


def test_guides_are_quieter_than_ink():
    size = a_size("cobble")
    page = guide_sheet(size, setup("a4")).pages[0]
    heaviest = max(line.style.stroke_mm for line in items(page, "lines") + items(page, "slant"))
    assert heaviest < 0.5 * size.marker.hairline_mm


@pytest.mark.parametrize(
    ("hand", "text"), [("joined", "1 : 1 : 1"), ("italic", "3 : 5 : 3"), ("copperplate", "3 : 2 : 3")]
)
def test_proportions_are_small_whole_numbers(hand, text):
    # 3:2:3 at 55 degrees, 1:1:1: common practice; italic 5 nib widths, extenders 3: a broad-edge handbook.
    marker = {"italic": "slate"}.get(hand, "thorn")
    assert proportions_text(a_size(marker, hand).hand) == text


def test_where_rows_leave_no_room_for_a_header_the_footer_names_marker_and_size():
    size = a_size("boulder", factor=3.92)
    page = guide_sheet(size, setup("a4", landscape=True)).pages[0]
    assert {line.row for line in items(page, "lines")} == {1, 2}
    assert "strokes" not in layer_ids(page)
    assert any(f"{size.marker.label}, x-height 26.7 mm." in item.name for item in words_of(page))


@pytest.mark.parametrize(
    ("hand", "angle"),
    # Lettering handbooks: foundational 30 degrees (Johnston), uncial and half-uncial 0 to 20, textura 45,
    # pen-made Roman capitals 30. The italic here leaves the angle to the marker, 40 degrees.
    [("foundational", 30), ("uncial", 15), ("half-uncial", 15), ("textura", 45), ("roman-capitals", 30),
     ("italic", 40)],
)
def test_a_broad_edge_is_shown_held_as_the_hand_wants_it(hand, angle):
    page = guide_sheet(a_size("slate", hand), setup("a4")).pages[0]
    words = [item.name for item in words_of(page)]
    assert f"stem at {angle}°" in words
    assert f"{angle}°" in words
    assert f"{3.0 * math.cos(math.radians(angle)):.3g} mm" in words


def test_a_hand_that_holds_the_edge_otherwise_than_the_profile_says_so():
    document = guide_sheet(a_size("slate", "foundational"), setup("a4"))
    (note,) = document.notes
    assert note == "the pen angle shown is 30°, as foundational is written; the profile of slate says 40°"
    assert guide_sheet(a_size("slate"), setup("a4")).notes == ()
