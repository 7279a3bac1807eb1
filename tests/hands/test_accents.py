"""Accented letters: coverage of GF Latin Core, and where marks go."""

import unicodedata

import pytest
from hand_measures import INKED, LATIN_CORE, heights, polygon, setting

from guidegen.hands.accents import COMBINING, find_letter, lacking, mark_name
from guidegen.hands.library import load_hand

HANDS = [("print", "flint"), ("italic", "slate")]
ABOVE = "áàâäãåāăćčċéêëěėğíîïĩńňñóôöőõŕřśšúùûüůűŵýÿŷźžż"
BELOW = "çşșțķļņŗ"


def test_the_list_is_latin_core():
    assert len(LATIN_CORE) == len(set(LATIN_CORE)) == 319
    assert set(map(chr, range(0x20, 0x7F))) <= set(LATIN_CORE)


@pytest.mark.parametrize("name", ["print", "italic", "joined"])
def test_hands_write_all_of_latin_core(name):
    assert lacking(load_hand(name), INKED) == []


@pytest.mark.parametrize("hand", HANDS)
@pytest.mark.parametrize("char", ABOVE)
def test_marks_above_stand_clear_over_the_middle(hand, char):
    base = unicodedata.normalize("NFD", char)[0]
    x = setting(*hand).x_height_mm
    whole, plain = polygon(*hand, char), polygon(*hand, {"i": "ı"}.get(base, base))
    mark = whole.difference(plain.buffer(0.02 * x))
    assert mark.bounds[1] > x + 0.02 * x
    assert mark.distance(plain) > 0.04 * x
    lean = setting(*hand).hand.slant_deg
    shift = (mark.centroid.y - 0.5 * x) * (0 if lean == 90 else 0.1405)  # cotangent of 82 degrees
    middle = (plain.bounds[0] + plain.bounds[2]) / 2
    assert abs(mark.centroid.x - shift - middle) < 0.27 * x


@pytest.mark.parametrize("hand", HANDS)
@pytest.mark.parametrize("char", BELOW)
def test_marks_below_stay_above_the_descender_line(hand, char):
    low = heights(*hand, char)[0]
    assert -setting(*hand).hand.descender - 0.01 <= low < -0.15


@pytest.mark.parametrize("hand", HANDS)
def test_dots_go_under_accents_and_stay_over_ogoneks(hand):
    x = setting(*hand).x_height_mm
    assert len(polygon(*hand, "í").geoms) == len(polygon(*hand, "i").geoms) == 2
    assert heights(*hand, "ı")[1] == pytest.approx(1, abs=0.005)
    assert heights(*hand, "į")[1] == heights(*hand, "i")[1]
    assert polygon(*hand, "ȷ").equals_exact(polygon(*hand, "j"), 1e-9) is False
    assert heights(*hand, "ȷ")[1] * x == pytest.approx(x, rel=0.005)


@pytest.mark.parametrize(
    ("base", "combining", "name"),
    [
        ("g", "\u0327", "comma-turned"),  # Unicode code charts, U+0123: Latvian, the mark is above the g
        ("k", "\u0327", "comma-below"),  # U+0137, likewise as a comma below
        ("s", "\u0327", "cedilla"),  # U+015F: a cedilla proper in Turkish
        ("d", "\u030c", "caron-side"),  # U+010F: Czech and Slovak print an apostrophe
        ("L", "\u030c", "caron-side"),
        ("D", "\u030c", "caron"),
        ("e", "\u030c", "caron"),
        ("e", "\u0340", None),
    ],
)
def test_marks_by_letter(base, combining, name):
    assert mark_name(base, combining) == name


def test_all_combining_marks_are_known_to_unicode():
    for char, name in COMBINING.items():
        assert unicodedata.combining(char)
        assert name


@pytest.mark.parametrize("char", ["\u2665", "\u0416", "\u05d1", "\u4e00", "\U0001f30a", "\t", "\n"])
def test_what_a_hand_lacks_is_none(char):
    assert find_letter(load_hand("print"), char) is None


def test_stacked_marks_climb():
    hand = load_hand("print")
    data = find_letter(hand, "\u01d8")  # u, dieresis, acute
    tops = sorted(max(node.at.imag for node in nodes) for nodes in data.marks)
    assert tops[-1] > tops[0] + 0.1


@pytest.mark.parametrize("hand_name", ["joined", "lively", "copperplate"])
def test_accents_stand_close_above_their_capitals(hand_name):
    """No further from the letter than half an x-height, whatever height ascenders have beside capitals."""
    x = setting(hand_name, "pebble").x_height_mm
    for char in "ÄÉÎÕÚ":
        shapes = getattr(polygon(hand_name, "pebble", char), "geoms", [])
        base = max(shapes, key=lambda shape: shape.area)
        marks = [shape for shape in shapes if shape.bounds[1] > 1.5 * x]
        assert marks, char
        assert all(shape.distance(base) < 0.5 * x for shape in marks), char
