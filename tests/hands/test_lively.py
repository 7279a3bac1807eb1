"""The lively hand, measured on its ink as the joined one is, as far as letters that bounce can be asked the same."""

import cmath
import math
import string
import unicodedata
from pathlib import Path

import numpy as np
import pytest
import shapely
from hand_measures import INKED, heights, ink_faults, setting
from test_joined import _dense, _shape, closed_white, outer_rings, widest_gap

import guidegen
from guidegen.geometry.stroke.width_laws import width_at
from guidegen.hands.alternates import alternated, shapes
from guidegen.hands.joins import letter_form, possible_forms
from guidegen.hands.library import load_hand
from guidegen.lettering.letters import ink, letter, letter_data, skeleton_map
from guidegen.lettering.sizing import right_size
from guidegen.lettering.text import ink_line, set_line
from guidegen.profiles.markers import Marker

SMALL = string.ascii_lowercase
HAND = ("lively", "cobble")
PRESSED = ["grit", "pebble", "cobble", "boulder", "thorn"]

# Letters and how many counters they enclose: loops of extenders and the curls of b, o and O among them.
COUNTERS = {
    1: "#069@ADGJPRYadehjlopy¢£§©°¶ºÆÐÞðþĐđĦħłŋŒ",
    2: "$%&8BLOSbfgkq®ØßæŁœ",
    3: "Qø",
}
ENCLOSED = {char: number for number, chars in COUNTERS.items() for char in chars}


def test_no_code_knows_a_hand_by_this_name():
    """A hand is data: only the demo's list of pictures says it, as it says the others' names."""
    files = Path(guidegen.__file__).parent.rglob("*.py")
    assert [path.name for path in files if "lively" in path.read_text()] in ([], ["scenario.py"])


@pytest.mark.parametrize("char", SMALL)
def test_every_shape_of_a_letter_meets_its_joins(char):
    """Each end lies on its join, runs as it does and is a hairline there: so any two letters meet smoothly."""
    one = setting(*HAND)
    placed, marker = skeleton_map(one), one.marker
    for shape, data in enumerate(shapes(letter_data(one.hand, char))):
        for before, after in possible_forms(one.hand, data):
            item = letter(one, char, before, after, shape)
            if before in one.hand.joins:
                first = item.strokes[0]
                _meets(first, first.path.segments[0][:2], 0.0, one.hand.joins[before], 0j, placed, marker)
            if after in one.hand.joins:
                last = item.strokes[letter_form(one.hand, data, before, after).exit_at]
                length = float(sum(abs(np.diff(_dense(last.path)))))
                ends, join = last.path.segments[-1][-2:], one.hand.joins[after]
                _meets(last, ends, length, join, item.advance_mm, placed, marker)


def _meets(stroke, ends, s, join, x_mm, placed, marker):
    at = ends[0] if s == 0 else ends[1]
    assert abs(at - placed.place(complex(0, join.height)) - x_mm) <= 0.002 * placed.x_height_mm
    heading = math.radians(join.heading_deg)
    wanted = placed.turn(complex(math.cos(heading), math.sin(heading)), join.height)
    assert math.degrees(abs(cmath.phase((ends[1] - ends[0]) / wanted))) <= 2
    assert float(width_at(stroke.widths, np.array([s]))[0]) == pytest.approx(marker.hairline_mm, rel=1e-6)


@pytest.mark.parametrize("word", ["quilts", "wharf", "oxbow", "voyage", "fjord", "zephyr", "buzzing", "coffee", "eddy"])
@pytest.mark.parametrize("marker_name", ["cobble", "thorn"])
def test_a_word_is_one_connected_outline(marker_name, word):
    dots = sum(word.count(char) for char in "ij")
    assert outer_rings(ink_line(set_line(setting("lively", marker_name), word), 0.02)) == 1 + dots


def test_every_small_letter_has_an_alternate_so_that_double_letters_differ():
    one = setting(*HAND)
    for char in SMALL:
        first, second = (placed.letter for placed in set_line(one, 2 * char).letters)
        assert (first.shape, second.shape) == (0, 1)
        low, other = (
            shapely.affinity.translate(_shape(ink([letter(one, char, "start", "end", shape)]))) for shape in (0, 1)
        )
        assert low.symmetric_difference(other).area > 0.05 * low.area, char
    assert alternated(one.hand, list("anna")) == [0, 0, 1, 1]


def test_letters_bounce_within_what_the_hand_states():
    """Feet and heads of letters without extenders; those with them move as one."""
    hand = load_hand("lively")
    one = setting(*HAND)
    lows, highs = [], []
    for char in "aceimnorsuvwxz":
        for shape, data in enumerate(shapes(letter_data(hand, char))):
            box = _shape(ink([letter(one, char, "start", "end", shape)][:1])).bounds
            body = [node.at.imag for nodes in data.strokes for node in nodes]
            lows.append(box[1] / one.x_height_mm)
            highs.append(max(body))
    assert -hand.bounce.fall - 0.1 <= min(lows) < -0.08
    assert 1.04 < max(highs) <= 1 + hand.bounce.rise + 0.05
    assert np.std(lows) > 0.03


def test_the_sample_letter_stands_on_its_lines():
    for marker_name in PRESSED:
        low, high = heights("lively", marker_name, "e")
        assert (low, high) == pytest.approx((0, 1), abs=0.005)


@pytest.mark.parametrize("share", [0.1, 0.2, 0.35, 0.5, 0.6])
def test_e_is_a_teardrop_for_every_brush(share):
    hand = load_hand("lively")
    sizes = []
    for downstroke in (0.5, 2.0, 12.0):
        found = right_size(Marker("some", "Some", "brush", downstroke, share * downstroke), hand)
        assert found.counter.form.shape == "teardrop"
        assert 200 < found.counter.form.tip_deg < 260
        assert found.counter.ratio == pytest.approx(1, abs=0.01)
        assert 3.5 < found.x_height_mm / downstroke < (6 if share <= 0.3 else 6.5)
        sizes.append(found.x_height_mm)
    assert sizes == sorted(sizes)


@pytest.mark.parametrize("marker_name", ["pebble", "thorn"])
def test_e_has_the_smallest_white_that_a_letter_must_have(marker_name):
    """As of the joined hand; curls, which are ornament, and loops are excepted."""
    whites = {char: closed_white("lively", marker_name, char) for char in "adegpq"}
    whites |= {char: widest_gap("lively", marker_name, char) for char in "bchkmnorsuvwxyz"}
    least = whites.pop("e")
    assert min(whites.values()) > least, whites


@pytest.mark.parametrize("marker_name", ["cobble", "thorn"])
def test_colour_is_even_from_a_to_z(marker_name):
    """Ink within the x-height band over the advance, each letter between two n, measured on its own height."""
    one = setting("lively", marker_name)
    lean = 1 / math.tan(math.radians(one.hand.slant_deg))
    shares = []
    for char in SMALL:
        line = set_line(one, f"n{char}n")
        left, right = (placed.x_mm for placed in line.letters[1:])
        low = letter_data(one.hand, char).bounce * one.x_height_mm
        high = low + one.x_height_mm
        corners = ((left, low), (right, low), (right, high), (left, high))
        band = shapely.Polygon([(x + lean * y, y) for x, y in corners])
        shares.append(_shape(ink_line(line, 0.02)).intersection(band).area / band.area)
    assert np.std(shares) / np.mean(shares) < 0.12


def test_every_character_of_latin_core_and_ascii_is_there():
    one = setting(*HAND)
    for char in [*INKED, *string.printable[:94]]:
        assert letter(one, char).strokes


@pytest.mark.parametrize("marker_name", PRESSED)
def test_letters_enclose_what_they_are_built_to_enclose(marker_name):
    """Every ring simple, none crossing another, no accidental hole, no counter lost. All of Latin Core: bench_hands."""
    chars = [*SMALL, *string.ascii_uppercase, *string.digits] if marker_name == "cobble" else list(SMALL)
    chars += [char for char in INKED if char not in chars][PRESSED.index(marker_name) :: 8]
    faults = {char: found for char in chars if (found := ink_faults("lively", marker_name, char, enclosed(char)))}
    assert not faults


def enclosed(char):
    """How many counters a character has by its build: its own, or those of its letter and its marks."""
    if char in ENCLOSED:
        return ENCLOSED[char]
    parts = unicodedata.normalize("NFD", char)
    return sum(ENCLOSED.get(part, part in "ȷ˚\N{COMBINING RING ABOVE}") for part in parts)


def test_ink_of_joined_letters_is_the_ink_of_the_word():
    """Separate letters in their joined forms cover what the word's unbroken strokes cover (fonts rely on it)."""
    line = set_line(setting(*HAND), "eeronn")
    parts = [shapely.affinity.translate(_shape(ink([placed.letter])), placed.x_mm, 0) for placed in line.letters]
    word = _shape(ink_line(line))
    assert shapely.union_all(parts).symmetric_difference(word).area < 0.003 * word.area

