"""Letters in mm: the map from skeletons, missing letters, what each tip makes of a skeleton."""

import math

import pytest
import shapely

from guidegen.errors import GuidegenError
from guidegen.geometry.stroke.stroke import NibStroke
from guidegen.hands.library import load_hand, load_marker
from guidegen.lettering.lettering import Lettering
from guidegen.lettering.letters import ink, letter, pen_height_mm, skeleton_map
from guidegen.lettering.sizing import right_size
from guidegen.profiles.markers import Marker


def bounds(outline):
    points = [(z.real, z.imag) for path in outline for segment in path.segments for z in segment]
    return shapely.MultiPoint(points).bounds


@pytest.mark.parametrize("marker_name", ["cobble", "thorn", "slate", "flint"])
@pytest.mark.parametrize("x_height_mm", [8.0, 25.0])
def test_ink_touches_the_lines_with_every_tip(marker_name, x_height_mm):
    """Not the centreline but the outline stands on the baseline and reaches the x-height line."""
    hand, marker = load_hand("joined"), load_marker(marker_name)
    low, high = bounds(ink([letter(Lettering(marker, hand, x_height_mm), "o")]))[1::2]
    assert low == pytest.approx(0, abs=0.01 * x_height_mm)
    assert high == pytest.approx(x_height_mm, abs=0.01 * x_height_mm)


def test_height_of_a_pen_s_mark():
    """A rectangle a x b turned by an angle is a sin + b cos high."""
    assert pen_height_mm(Marker("n", "N", "broad", 3.0, 0.3, 40.0)) == pytest.approx(
        3 * math.sin(math.radians(40)) + 0.3 * math.cos(math.radians(40))
    )
    assert pen_height_mm(load_marker("cobble")) == 0.6


def test_broad_tips_sweep_their_nib_and_round_tips_have_one_width():
    broad = letter(Lettering(load_marker("slate"), load_hand("joined"), 15), "n")
    assert all(isinstance(stroke, NibStroke) for stroke in broad.strokes)
    plain = letter(Lettering(load_marker("flint"), load_hand("joined"), 8), "n")
    assert all(stroke.widths.knots == ((0.0, 0.8),) and stroke.start_cut_deg is None for stroke in plain.strokes)


def test_the_slant_is_that_of_the_hand_and_can_be_changed():
    hand, marker = load_hand("joined"), load_marker("thorn")
    for slant in (hand.slant_deg, 52.0, 90.0, 110.0):
        stem = letter(Lettering(marker, hand.slanted(slant), 15), "n").strokes[1]
        first, last = stem.path.start, stem.path.end
        angle = math.degrees(math.atan2(first.imag - last.imag, first.real - last.real))
        assert angle == pytest.approx(slant, abs=1e-6)


def test_heights_between_lines_keep_tangents_smooth():
    placed = skeleton_map(Lettering(load_marker("cobble"), load_hand("joined"), 15.0))
    for level in (-1.0, 0.0, 1.0, 2.0):
        assert placed.height_mm(level + 1e-7) == pytest.approx(placed.height_mm(level - 1e-7), abs=1e-4)
    heights = [placed.height_mm(y / 20) for y in range(-40, 60)]
    assert heights == sorted(heights)


def test_a_missing_letter_is_named():
    with pytest.raises(GuidegenError, match="no letter 'ж'"):
        letter(Lettering(load_marker("cobble"), load_hand("joined"), 15), "ж")
    with pytest.raises(GuidegenError, match="none yet"):
        letter(Lettering(load_marker("slate"), load_hand("uncial"), 15), "a")


def test_a_borrowing_hand_has_the_letters_at_its_own_slant():
    hand = load_hand("copperplate")
    assert hand.slant_deg == 55
    assert len(letter(Lettering(load_marker("thorn"), hand, 6), "n").strokes) == 3


def test_a_brush_of_one_width_writes_too():
    """Nothing of its strokes changes where it lands and is lifted."""
    one = right_size(Marker("blunt", "Blunt", "brush", 2.0, 2.0), load_hand("joined")).lettering
    for char in "hnpdt":
        assert all(width == 2.0 for stroke in letter(one, char).strokes for _, width in stroke.widths.knots), char
