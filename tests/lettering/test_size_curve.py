"""The right size by a hand's one curve, against the search that inks the letter and measures it."""

from dataclasses import replace

import numpy as np
import pytest

from guidegen.hands.library import hand_names, load_hand
from guidegen.lettering.size_curve import SizeCurve, digest, fitted, size_curve
from guidegen.lettering.sizing import BROADEST_ON_CURVE_MM, right_size, x_heights_for
from guidegen.profiles.markers import SMALLEST_WIDTH_MM, Marker

MOST_MM = 0.01
HANDS = [name for name in hand_names() if load_hand(name).size.rule == "counter"]
CASES = [(name, tip) for name in HANDS for tip in load_hand(name).tips]
SHARES = np.linspace(0.01, 0.66, 50)
DOWNSTROKES_MM = np.geomspace(0.3, BROADEST_ON_CURVE_MM, 50)[np.random.default_rng(4).permutation(50)]


def marker(tip, downstroke_mm, share):
    return Marker("some", "Some", tip, downstroke_mm, share * downstroke_mm)


def furthest_mm(name, tip, numbers):
    """How far the curve's sizes, right and at both ends of the band, lie from those searched for."""
    hand = load_hand(name)
    curve, rule, worst = size_curve(hand, tip), hand.size, 0.0
    for number in numbers:
        share = float(SHARES[number])
        downstroke_mm = max(float(DOWNSTROKES_MM[number]), 1.001 * SMALLEST_WIDTH_MM / share)
        ratios = (rule.value, rule.smallest, rule.largest)
        found = [downstroke_mm * curve.height(share, ratio) for ratio in ratios]
        wanted = x_heights_for(hand, marker(tip, downstroke_mm, share), ratios)
        worst = max(worst, *(abs(a - b) for a, b in zip(found, wanted, strict=True)))
    return worst


@pytest.mark.parametrize(("name", "tip"), CASES)
def test_every_hand_that_ships_has_its_curve(name, tip):
    made = "a letter or its inking changed: run tests/lettering/make_size_curves.py"
    assert size_curve(load_hand(name), tip) is not None, made


@pytest.mark.parametrize("name", HANDS)
def test_the_curve_agrees_with_the_search(name):
    """A sample of the fifty ratios of the benchmark: two of real markers, and a thick hairline."""
    assert furthest_mm(name, load_hand(name).tips[0], (4, 12, 46)) <= MOST_MM


@pytest.mark.benchmark
@pytest.mark.parametrize(("name", "tip"), CASES)
def test_the_curve_agrees_with_the_search_at_fifty_ratios(name, tip):
    worst = furthest_mm(name, tip, range(50))
    print(f"\n{name}, {tip}: curve and search differ by at most {worst:.4f} mm")
    assert worst <= MOST_MM


def test_a_size_is_the_curves():
    hand, tool = load_hand("joined"), marker("brush", 3.2, 0.2)
    height = size_curve(hand, "brush").height(tool.hairline_mm / tool.downstroke_mm, 1.0)
    assert right_size(tool, hand).x_height_mm == 3.2 * height


@pytest.mark.parametrize(
    "change",
    [
        {"slant_deg": 58.0},
        {"pressure": replace(load_hand("joined").pressure, release=0.3)},
        {"letters": {**load_hand("joined").letters, "e": load_hand("joined").letters["o"]}},
        {"size": replace(load_hand("joined").size, largest=1.6)},
        {"ascender": 2.2},
    ],
)
def test_another_hand_has_another_curve_or_none(change):
    hand = replace(load_hand("joined"), **change)
    assert digest(hand, "brush") != digest(load_hand("joined"), "brush")
    assert size_curve(hand, "brush") is None


def test_what_the_rule_does_not_read_changes_nothing():
    hand = load_hand("joined")
    letters = {**hand.letters, "a": hand.letters["o"]}
    other = replace(hand, name="harbour", label="Harbour", row_gap=0.7, letters=letters)
    assert size_curve(other, "brush") == size_curve(hand, "brush")


def test_broad_and_round_tips_have_none():
    assert size_curve(load_hand("joined"), "broad") is None
    assert size_curve(load_hand("joined"), "round") is None


def test_very_broad_or_even_markers_and_hands_without_curve_are_searched_for():
    hand = load_hand("joined")
    broadest = marker("brush", 4 * BROADEST_ON_CURVE_MM, 0.2)
    assert right_size(broadest, hand).x_height_mm == x_heights_for(hand, broadest, (1.0,))[0]
    even = marker("brush", 3.2, 0.9)
    assert right_size(even, hand).x_height_mm == x_heights_for(hand, even, (1.0,))[0]
    tool, leaning = marker("brush", 3.2, 0.2), hand.slanted(57.0)
    assert right_size(tool, leaning).x_height_mm == x_heights_for(leaning, tool, (1.0,))[0]


def test_between_its_points_a_curve_follows_a_parabola_exactly():
    """Slopes of parabolas and a cubic between them leave a parabola as it is."""
    shares = (0.0, 0.1, 0.35, 0.4, 1.0)
    curve = SizeCurve((1.0,), shares, (tuple(3 + 2 * x + 5 * x * x for x in shares),))
    for x in np.linspace(0, 1, 41):
        assert curve.height(float(x), 1.0) == pytest.approx(3 + 2 * x + 5 * x * x, abs=1e-12)
    assert curve.height(1.01, 1.0) is None
    assert curve.height(0.5, 0.9) is None


def test_points_stand_close_where_a_curve_has_a_corner():
    def corner(share):
        return [4 + 2 * share + 3 * max(0.0, share - 0.77)]

    curve = fitted(corner, (1.0,), 0.0, 1.0)
    assert max(abs(curve.height(float(x), 1.0) - corner(x)[0]) for x in np.linspace(0, 1, 999)) < 1e-3
    assert len(curve.shares) < 60
