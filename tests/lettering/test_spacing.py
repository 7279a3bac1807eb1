"""Spacing from the white between letters: measured on ink with shapely, not with the spacing code's own profiles."""

import numpy as np
import pytest
import shapely
from hand_measures import polygon, setting

from guidegen.lettering.lettering import Lettering
from guidegen.lettering.spacing import kern_mm, spaced
from guidegen.lettering.text import set_line

HANDS = [("print", "flint"), ("italic", "slate")]
ROWS = np.linspace(0.025, 0.975, 20)


def placed(hand_key, text):
    """The letters of a line as shapely geometries, the slant taken out, in x-heights."""
    one = setting(*hand_key)
    hand, x = one.hand, one.x_height_mm
    line = set_line(one, text)
    lean = 0.0 if hand.slant_deg == 90 else 1 / np.tan(np.radians(hand.slant_deg))

    def upright(geometry, at):
        return shapely.transform(geometry, lambda p: np.c_[p[:, 0] + at - p[:, 1] * lean, p[:, 1]] / x)

    return [upright(polygon(*hand_key, item.letter.char), item.x_mm) for item in line.letters]


def white(left, right, limit):
    """Mean distance of two letters over the x-height, counted up to ``limit``."""
    gaps = []
    for y in ROWS:
        line = shapely.LineString([(-50, y), (50, y)])
        a, b = left.intersection(line), right.intersection(line)
        gaps.append(limit if a.is_empty or b.is_empty else min(b.bounds[0] - a.bounds[2], limit))
    return float(np.mean(gaps))


@pytest.mark.parametrize("key", HANDS)
def test_white_between_small_letters_is_even(key):
    spacing = setting(*key).hand.spacing
    limit = spacing.white + spacing.depth
    found = {pair: white(*placed(key, pair), limit) for pair in ("nn", "no", "on", "oo", "hi", "ad", "be", "un", "pe")}
    mean = float(np.mean(list(found.values())))
    assert mean == pytest.approx(spacing.white, rel=0.12)
    assert all(value == pytest.approx(mean, rel=0.2) for value in found.values()), found


@pytest.mark.parametrize("key", HANDS)
def test_boxes_of_round_letters_come_closer_than_those_of_stems(key):
    def gap(pair):
        left, right = placed(key, pair)
        return right.bounds[0] - left.bounds[2]

    if key[0] == "print":  # the italic's serifs and exits reach into the gap between its stems
        assert gap("oo") < gap("no") < gap("hn")


@pytest.mark.parametrize("key", HANDS)
@pytest.mark.parametrize("pair", ["To", "Ta", "Yo", "LT", "LY"])
def test_open_pairs_are_drawn_together(key, pair):
    assert kern_mm(setting(*key), *pair) < -0.03 * setting(*key).x_height_mm


@pytest.mark.parametrize("key", HANDS)
def test_even_pairs_are_left_alone(key):
    assert all(kern_mm(setting(*key), *pair) == 0 for pair in ("nn", "ni", "oo", "HI", "11", "no"))


@pytest.mark.parametrize("key", HANDS)
@pytest.mark.parametrize(
    "pair", ["fl", "fi", "gj", "rf", "Th", "fb", "ff", "ty", "yg", "qj", "Ty", "Tö", "Yî", "Vâ", "fì", "ďh", "ľh", "ťk"]
)
def test_no_two_letters_touch(key, pair):
    left, right = placed(key, pair)
    assert left.distance(right) > 0.03


@pytest.mark.parametrize("key", HANDS)
def test_words_stand_the_width_of_o_apart(key):
    """Edward Johnston, Writing & Illuminating, & Lettering (1906), p. 79; on the average of common word ends."""
    ends = [a + " " + b for a in "edstnry" for b in "taosiwhb"]  # how English words most often end and begin
    gaps = []
    for text in ends:
        left, right = (item.intersection(shapely.box(-50, 0.01, 50, 0.99)) for item in placed(key, text))
        gaps.append(right.bounds[0] - left.bounds[2])
    o = placed(key, "o")[0]
    assert np.mean(gaps) == pytest.approx(o.bounds[2] - o.bounds[0], rel=0.12)
    assert min(gaps) > 0.6 * np.mean(gaps)


@pytest.mark.parametrize("key", HANDS)
def test_sides_given_in_the_data_win(key):
    from dataclasses import replace
    from types import MappingProxyType

    one = setting(*key)
    hand, marker, x = one.hand, one.marker, one.x_height_mm
    letters = {**hand.letters, "n": replace(hand.letters["n"], sides=(0.5, 0.25))}
    own = replace(hand, letters=MappingProxyType(letters))
    item = spaced(Lettering(marker, own, x), "n")
    low, _, high, _ = polygon(*key, "n").bounds
    if key[0] == "print":
        assert item.shift_mm + low == pytest.approx(0.5 * x, abs=0.02 * x)
        assert item.advance_mm == pytest.approx(0.5 * x + high - low + 0.25 * x, abs=0.02 * x)
    assert item.advance_mm > spaced(one, "n").advance_mm


@pytest.mark.parametrize("key", HANDS)
def test_spacing_scales_with_the_letters(key):
    one = setting(*key)
    hand, marker, x = one.hand, one.marker, one.x_height_mm
    from dataclasses import replace

    double = replace(marker, downstroke_mm=2 * marker.downstroke_mm, hairline_mm=2 * marker.hairline_mm)
    one, two = set_line(one, "harbour"), set_line(Lettering(double, hand, 2 * x), "harbour")
    assert two.width_mm == pytest.approx(2 * one.width_mm, rel=1e-9)
