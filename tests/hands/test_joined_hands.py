"""What hands with joined letters have in common, asked of each of them, measured on the ink."""

import string
import unicodedata

import pytest
import shapely
from hand_measures import INKED, ink_faults, setting
from joined_measures import closed_white, outer_rings, shape_of, widest_gap

from guidegen.hands.library import load_hand
from guidegen.lettering.letters import ink, letter
from guidegen.lettering.sizing import right_size
from guidegen.lettering.text import ink_line, set_line
from guidegen.profiles.markers import Marker

SMALL = string.ascii_lowercase
HANDS = ("joined", "lively")
PRESSED = ["grit", "pebble", "cobble", "boulder", "thorn"]

# Letters and how many counters they enclose as they are built, loops of extenders among them.
COUNTERS = {
    "joined": {
        1: "ADJLOPQRY0469adehjlopyđŋłŒðþÆĐÐĦŁÞ#@£¢§¶°©º",
        2: "B8bfgkqæœøħØ%&$®",
        0: "CEFGHIKMNSTUVWXZ12357cßimnrstuvwxzŧŦŊẞ.,:;!¡?¿'\"‘’“”‚„‹›«»-–—…·•()[]{}/\\|_^~*+−=×÷<>€¥™ª",
    },
    "lively": {1: "#0469@ADJOPQRYadehjlopy¢£§©°¶ºÆÐÞðþĐđĦħłŋŒ", 2: "$%&8BLbfgkq®ØøæŁœ"},
}
ENCLOSED = {
    name: {char: number for number, chars in table.items() for char in chars} for name, table in COUNTERS.items()
}


@pytest.mark.parametrize("word", ["quilts", "wharf", "oxbow", "voyage", "jumpy", "fjord", "zephyr", "backboard"])
@pytest.mark.parametrize("marker_name", ["cobble", "thorn"])
@pytest.mark.parametrize("hand_name", HANDS)
def test_a_word_is_one_connected_outline(hand_name, marker_name, word):
    dots = sum(word.count(char) for char in "ij")
    assert outer_rings(ink_line(set_line(setting(hand_name, marker_name), word), 0.02)) == 1 + dots


@pytest.mark.parametrize(
    ("hand_name", "marker_name"),
    [*(("joined", name) for name in PRESSED), ("lively", "pebble"), ("lively", "thorn")],
)
def test_e_has_the_smallest_white_that_a_letter_must_have(hand_name, marker_name):
    """Across the slant axis, in all letters that have white between their strokes; loops of extenders are excepted.

    Closed white counts one by one; of a letter that is open, its widest white between two strokes. Of f i j l t the
    only strokes between the lines are the downstroke and what leads in and out, so they hold no white. The
    k of the lively hand closes where strokes happen to meet: its white counts as open.
    """
    closed = "abdegkopq" if hand_name == "joined" else "abdegopq"
    whites = {char: closed_white(hand_name, marker_name, char) for char in closed}
    whites |= {char: widest_gap(hand_name, marker_name, char) for char in SMALL if char not in closed + "fijlt"}
    least = whites.pop("e")
    assert least == pytest.approx(setting(hand_name, marker_name).marker.downstroke_mm, rel=0.02)
    assert min(whites.values()) > least, whites


@pytest.mark.parametrize("share", [0.1, 0.2, 0.35, 0.5, 0.6])
@pytest.mark.parametrize("hand_name", HANDS)
def test_e_is_a_teardrop_as_wide_as_a_full_downstroke_for_every_brush(hand_name, share):
    hand = load_hand(hand_name)
    sizes = []
    for downstroke in (0.5, 2.0, 12.0):
        found = right_size(Marker("some", "Some", "brush", downstroke, share * downstroke), hand)
        assert found.counter.form.shape == "teardrop"
        assert 200 < found.counter.form.tip_deg < 260
        assert found.counter.ratio == pytest.approx(1, abs=0.01)
        assert found.counter.downstroke_mm == pytest.approx(downstroke, rel=0.01)
        assert 3.5 < found.x_height_mm / downstroke < 6.5
        sizes.append(found.x_height_mm)
    assert sizes == sorted(sizes)


@pytest.mark.parametrize("hand_name", HANDS)
def test_every_character_of_latin_core_and_ascii_is_there(hand_name):
    one = setting(hand_name, "cobble")
    for char in [*INKED, *string.printable[:94]]:
        assert letter(one, char).strokes, char


@pytest.mark.parametrize("marker_name", PRESSED)
@pytest.mark.parametrize("hand_name", HANDS)
def test_letters_enclose_what_they_are_built_to_enclose(hand_name, marker_name):
    """Every ring simple, none crossing another, no accidental hole, no counter lost. All of Latin Core: bench_hands."""
    known = ENCLOSED[hand_name]
    chars = [*SMALL, *string.ascii_uppercase, *string.digits, *(known if marker_name == "cobble" else ())]
    chars += [char for char in INKED if char not in known][PRESSED.index(marker_name) :: 12]
    inked = {char: ink_faults(hand_name, marker_name, char, enclosed(known, char)) for char in dict.fromkeys(chars)}
    assert {char: found for char, found in inked.items() if found} == {}


def enclosed(known, char):
    """How many counters a character has by its build: its own, or those of its letter and its marks."""
    if char in known:
        return known[char]
    parts = unicodedata.normalize("NFD", char)
    return sum(known.get(part, part in "ȷ˚\N{COMBINING RING ABOVE}") for part in parts)


def test_a_fault_of_the_ink_is_found():
    assert ink_faults("joined", "cobble", "a", 0) == ["counters: 1, built with 0"]


def test_every_letter_written_in_the_files_is_in_the_table():
    assert set(load_hand("joined").letters) == set(ENCLOSED["joined"])


@pytest.mark.parametrize(("hand_name", "word"), [("joined", "anoe"), ("joined", "eeronn"), ("lively", "eeronn")])
def test_ink_of_joined_letters_is_the_ink_of_the_word(hand_name, word):
    """Separate letters in their joined forms cover what the word's unbroken strokes cover (fonts rely on it)."""
    line = set_line(setting(hand_name, "cobble"), word)
    parts = [shapely.affinity.translate(shape_of(ink([placed.letter])), placed.x_mm, 0) for placed in line.letters]
    whole = shape_of(ink_line(line))
    assert shapely.union_all(parts).symmetric_difference(whole).area < 0.003 * whole.area
