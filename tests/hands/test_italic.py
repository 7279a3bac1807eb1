"""The italic hand for broad edges, measured on its ink with shapely.

Five nib widths, extenders of three, pen at 40 to 45 degrees, slope at most 10 degrees from the vertical with 8
adopted: Edward Johnston, Writing & Illuminating, & Lettering (1906), and Alfred Fairbank's handwriting manuals.
"""

import itertools
import math
import string

import pytest
import shapely
from hand_measures import INKED, assert_sound, bowl_width, heights, holes, polygon, setting, slices, stem_slant_deg

from guidegen.geometry.stroke.stroke import NibStroke
from guidegen.lettering.letters import letter
from guidegen.lettering.spacing import spaced
from guidegen.profiles.markers import Marker

HAND = ("italic", "slate")
LOOPED = "k"  # a hand's own loops are not counters its letters must have
SMALL = "acemnorsuvwxz"
STEMS = [("b", 0, 1.1, 1.3), ("d", -1, 1.1, 1.3), ("h", 0, 1.1, 1.3), ("k", 0, 1.1, 1.3), ("l", 0, 0.5, 1.3)]
STEMS += [("i", 0, 0.4, 0.75), ("m", 0, 0.16, 0.28), ("m", 1, 0.16, 0.28), ("n", 0, 0.16, 0.28), ("n", -1, 0.35, 0.55)]
STEMS += [("p", 0, -0.4, -0.1), ("q", -1, -0.3, -0.1), ("r", 0, 0.16, 0.28), ("t", 0, 0.4, 0.75), ("f", 0, 0.3, 0.7)]
STEMS += [("H", 0, 0.2, 0.5), ("H", -1, 0.2, 0.5), ("I", 0, 0.2, 1.1), ("P", 0, 0.16, 0.45), ("T", 0, 0.2, 1.0)]
STEMS += [("E", 0, 0.3, 0.5), ("F", 0, 0.16, 0.5), ("L", 0, 0.4, 1.1), ("1", 0, 0.2, 0.9), ("4", -1, 0.16, 0.28)]


def test_proportions_are_those_of_the_ladder():
    one = setting(*HAND)
    hand, marker, x = one.hand, one.marker, one.x_height_mm
    assert x / marker.downstroke_mm == pytest.approx(5)
    assert hand.ascender * x / marker.downstroke_mm == pytest.approx(8)
    assert hand.descender * x / marker.downstroke_mm == pytest.approx(3)
    assert hand.capital * x / marker.downstroke_mm == pytest.approx(7)
    assert 80 <= hand.slant_deg <= 85


@pytest.mark.parametrize("char", SMALL)
def test_small_letters_touch_baseline_and_x_height(char):
    assert heights(*HAND, char) == pytest.approx((0, 1), abs=0.005)


@pytest.mark.parametrize(
    ("chars", "top"), [("bdfhkl", 1.6), (string.ascii_uppercase, 1.4), (string.digits, 1.4), ("t", 1.18)]
)
def test_tall_letters_reach_their_line(chars, top):
    for char in chars:
        assert heights(*HAND, char)[1] == pytest.approx(top, abs=0.005), char


@pytest.mark.parametrize("char", "gjpqy")
def test_tails_reach_the_descender_line(char):
    assert heights(*HAND, char)[0] == pytest.approx(-0.6, abs=0.005)


@pytest.mark.parametrize(("char", "which", "low", "high"), STEMS)
def test_stems_are_parallel_and_as_wide_as_the_nib_makes_them(char, which, low, high):
    one = setting(*HAND)
    hand, marker, x = one.hand, one.marker, one.x_height_mm
    assert stem_slant_deg(*HAND, char, which, low, high) == pytest.approx(hand.slant_deg, abs=0.25)
    lean = math.radians(hand.slant_deg - marker.nib_angle_deg)
    across = marker.downstroke_mm * math.sin(lean) + marker.hairline_mm * math.cos(lean)
    left, right = slices(*HAND, char, (low + high) / 2)[which]
    assert (right - left) * x * math.sin(math.radians(hand.slant_deg)) == pytest.approx(across, rel=0.01)


def test_bowls_of_a_d_g_o_q_are_the_same():
    widths = [bowl_width(*HAND, char) for char in "adgoq"]
    assert max(widths) / min(widths) < 1.02


def test_counters_are_open_and_e_has_the_smallest():
    nib = setting(*HAND).marker.downstroke_mm
    area = {char: holes(*HAND, char)[0].area for char in "abdegopq"}
    assert min(area, key=area.get) == "e"
    for char in "abdegopq":
        assert 2 * shapely.maximum_inscribed_circle(holes(*HAND, char)[0]).length > nib * 0.77  # a stem's width


def darkness(char):
    """Share of a capital's field, its advance by its height, that is ink."""
    one = setting(*HAND)
    return polygon(*HAND, char).area / (spaced(one, char).advance_mm * one.hand.capital * one.x_height_mm)


@pytest.mark.parametrize("char", "MNW")
def test_letters_of_many_diagonals_are_no_blacker_than_others(char):
    """Scribes turn the pen steeper for the stems of M and N (Johnston 1906, roman capitals); common practice for W."""
    mean = sum(map(darkness, string.ascii_uppercase)) / 26
    assert darkness(char) < 1.1 * mean


@pytest.mark.parametrize(("char", "top"), [("z", 1.0), ("Z", 1.4)])
def test_the_thin_diagonal_of_z_is_made_with_a_flatter_pen(char, top):
    one = setting(*HAND)
    marker, x = one.marker, one.x_height_mm
    (left, right), *more = slices(*HAND, char, top / 2)
    assert not more
    level = marker.downstroke_mm * math.sin(math.radians(marker.nib_angle_deg)) / x  # a crossbar's, pen as usual
    assert (right - left) * math.sin(math.radians(60)) > level * 0.9  # the diagonal rises at about 60 degrees


@pytest.mark.parametrize("char", "HIFPTKRY")
def test_stems_stand_on_feet(char):
    low, mid = (slices(*HAND, char, y)[0] for y in (0.03, 0.3))
    lean = 0.27 / math.tan(math.radians(setting(*HAND).hand.slant_deg))
    assert mid[0] - lean - low[0] > 0.03


@pytest.mark.parametrize("char", [c for c in INKED if c.isascii()] + [c for c in INKED if not c.isascii()][::4])
def test_ink_is_sound(char):
    assert_sound(*HAND, char, LOOPED)


@pytest.mark.benchmark
@pytest.mark.parametrize("char", INKED)
def test_ink_is_sound_for_the_whole_latin_core(char):
    assert_sound(*HAND, char, LOOPED)


@pytest.mark.parametrize("char", string.ascii_lowercase + string.ascii_uppercase)
def test_the_edge_is_pulled(char):
    """Long strokes run down or to the right; upwards only along the hairline, or back up a stem just made."""
    one = setting(*HAND)
    hand, marker, x = one.hand, one.marker, one.x_height_mm
    for stroke in letter(one, char).strokes:
        assert isinstance(stroke, NibStroke)
        pushed = sum(_pushed_mm(segment, marker, hand) for segment in stroke.path.segments)
        assert pushed < 0.5 * x, char


def _pushed_mm(segment, marker: Marker, hand) -> float:
    """Length run against the pull: upwards, more than 30 degrees off the edge, and not back up a stem's ink."""
    steps = 40
    points = [_at(segment, k / steps) for k in range(steps + 1)]
    total = 0.0
    for a, b in itertools.pairwise(points):
        deg = math.degrees(math.atan2((b - a).imag, (b - a).real)) % 360
        off_edge = abs(deg - marker.nib_angle_deg) if deg < 220 else 0.0
        along_stem = abs(deg - hand.slant_deg) < 3
        if 0 < deg < 150 and off_edge > 30 and not along_stem:
            total += abs(b - a)
    return total


def _at(segment, t):
    if len(segment) == 2:
        return segment[0] + (segment[1] - segment[0]) * t
    a, b, c, d = segment
    return a * (1 - t) ** 3 + 3 * b * t * (1 - t) ** 2 + 3 * c * t * t * (1 - t) + d * t**3
