"""The print hand: upright school letters for round tips, measured on its ink with shapely.

Heights: ISO 3098-0:1997, lettering type B (line h/10; capitals and ascenders 10 lines, lower case 7, tails 3); the
tails of `print` are longer than that, those of `technical` are the standard's.
"""

import string

import pytest
import shapely
from hand_measures import (
    CLOSED,
    INKED,
    assert_sound,
    bowl_width,
    heights,
    holes,
    polygon,
    setting,
    slices,
    stem_slant_deg,
)

HAND = ("print", "flint")
CAP, TAIL = 10 / 7, -0.6
SMALL = "aceimnorsuvwxz"
STEMS = [("b", 0, 1.1, 1.3), ("d", -1, 1.1, 1.3), ("h", 0, 1.1, 1.3), ("k", 0, 1.1, 1.3), ("l", 0, 0.5, 1.2)]
STEMS += [("i", 0, 0.2, 0.8), ("m", 0, 0.1, 0.4), ("m", 1, 0.1, 0.4), ("m", 2, 0.1, 0.4), ("n", 0, 0.1, 0.4)]
STEMS += [("n", -1, 0.1, 0.4), ("p", 0, -0.3, -0.1), ("q", -1, -0.15, -0.05), ("r", 0, 0.1, 0.4), ("u", -1, 0.5, 0.9)]
STEMS += [("t", 0, 0.4, 0.8), ("f", 0, 0.2, 0.8), ("a", -1, 0.45, 0.55), ("g", -1, 0.45, 0.55), ("H", 0, 0.2, 0.6)]
STEMS += [("I", 0, 0.3, 1.1), ("T", 0, 0.3, 1.1), ("E", 0, 0.3, 0.6), ("4", -1, 0.1, 0.3), ("1", 0, 0.2, 0.9)]


@pytest.mark.parametrize("char", SMALL)
def test_small_letters_touch_baseline_and_x_height(char):
    low, high = heights(*HAND, char)
    assert low == pytest.approx(0, abs=0.005)
    if char != "i":
        assert high == pytest.approx(1, abs=0.005)


@pytest.mark.parametrize("char", string.ascii_uppercase + string.digits)
def test_capitals_and_figures_are_ten_lines_high(char):
    assert heights(*HAND, char)[1] == pytest.approx(CAP, abs=0.005)


@pytest.mark.parametrize("char", "bdfhkl")
def test_ascenders_stand_at_ten_lines_as_capitals_do(char):
    assert heights(*HAND, char)[1] == pytest.approx(CAP, abs=0.005)


@pytest.mark.parametrize("char", "gjpqy")
def test_tails_hang_well_below(char):
    assert heights(*HAND, char)[0] == pytest.approx(TAIL, abs=0.005)


@pytest.mark.parametrize("char", "bdfhklgjpqyþđ")
def test_technical_letters_keep_the_extenders_of_the_standard(char):
    low, high = heights("technical", "flint", char)
    if char not in "gjpqy":
        assert high == pytest.approx(CAP, abs=0.005)
    if char in "gjpqyþ":
        assert low == pytest.approx(-3 / 7, abs=0.005)


@pytest.mark.parametrize(("char", "which", "low", "high"), STEMS)
def test_stems_are_upright_and_one_line_wide(char, which, low, high):
    one = setting(*HAND)
    marker, x = one.marker, one.x_height_mm
    assert stem_slant_deg(*HAND, char, which, low, high) == pytest.approx(90, abs=0.25)
    left, right = slices(*HAND, char, (low + high) / 2)[which]
    assert (right - left) * x == pytest.approx(marker.downstroke_mm, rel=0.01)


def test_bowls_of_a_d_g_o_q_are_the_same():
    widths = [bowl_width(*HAND, char) for char in "adgoq"]
    assert max(widths) / min(widths) < 1.02


def test_counters_are_open_and_e_has_the_smallest():
    line = setting(*HAND).marker.downstroke_mm
    area = {char: holes(*HAND, char)[0].area for char in "abdegopq"}
    assert min(area, key=area.get) == "e"
    for char in "abdegopq":
        assert 2 * shapely.maximum_inscribed_circle(holes(*HAND, char)[0]).length > 1.5 * line


@pytest.mark.parametrize("char", [c for c in INKED if c.isascii()] + [c for c in INKED if not c.isascii()][::4])
def test_ink_is_sound(char):
    assert_sound(*HAND, char)


@pytest.mark.benchmark
@pytest.mark.parametrize("char", INKED)
def test_ink_is_sound_for_the_whole_latin_core(char):
    assert_sound(*HAND, char)


def test_the_table_of_counters_can_fail():
    assert len(holes(*HAND, "B")) == CLOSED["B"] == 2
    assert "c" not in CLOSED


def test_i_l_and_1_are_told_apart_by_form():
    shapes = [polygon(*HAND, char) for char in ("i", "l", "1", "I")]
    moved = [shapely.transform(s, lambda p, s=s: p - s.bounds[:2]) for s in shapes]
    for i, one in enumerate(moved):
        for other in moved[i + 1 :]:
            shared = one.intersection(other).area / one.union(other).area
            assert shared < 0.8


@pytest.mark.parametrize("char", "ÅŐŽĞÎÑŮĶŢČ")
def test_accents_of_capitals_stay_in_the_gap_between_rows(char):
    hand = setting(*HAND).hand
    low, high = heights(*HAND, char)
    assert high <= hand.ascender + hand.row_gap + 0.002
    assert low >= -hand.descender - 0.002
