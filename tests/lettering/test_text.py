"""Lines and blocks of text."""

import math
import string

import pytest
from hand_measures import setting

from guidegen.errors import GuidegenError
from guidegen.hands.library import load_hand, load_marker
from guidegen.lettering.lettering import Lettering
from guidegen.lettering.sizing import right_size
from guidegen.lettering.text import (
    LETTER_FREQUENCY,
    check_characters,
    ink_line,
    letters_per_line,
    mean_advance_mm,
    set_line,
)

HANDS = [("print", "flint"), ("italic", "slate")]
INCH = 25.4


@pytest.mark.parametrize("key", HANDS)
def test_a_line_holds_every_letter_in_order(key):
    line = set_line(setting(*key), "tide at noon")
    assert "".join(item.letter.char for item in line.letters) == "tideatnoon"
    assert [item.x_mm for item in line.letters] == sorted(item.x_mm for item in line.letters)
    assert len(line.strokes) == sum(len(item.letter.strokes) for item in line.letters)
    assert ink_line(line)


@pytest.mark.parametrize("key", HANDS)
def test_decomposed_text_is_set_as_composed(key):
    composed, decomposed = (
        set_line(setting(*key), text) for text in ("Žluťoučký", "Z\u030clut\u030couc\u030cky\u0301")
    )
    assert composed == decomposed


@pytest.mark.parametrize("key", HANDS)
def test_empty_text_and_spaces(key):
    assert set_line(setting(*key), "").width_mm == 0
    one, two = (set_line(setting(*key), text).width_mm for text in ("n n", "n  n"))
    assert two > one > set_line(setting(*key), "nn").width_mm
    assert set_line(setting(*key), "n\u00a0n").width_mm == one


@pytest.mark.parametrize("name", ["print", "italic", "joined"])
def test_missing_characters_are_all_named_on_one_line(name):
    with pytest.raises(GuidegenError) as error:
        check_characters(load_hand(name), "tide \u2665 \u05d1\t\u2665 x \U0001f30a")
    message = str(error.value)
    assert "\n" not in message
    assert name in message
    assert "\u2665 (U+2665)" in message
    for code in ("U+05D1", "U+0009", "U+1F30A"):
        assert message.count(code) == 1
    assert "x (" not in message


def test_many_missing_characters_are_counted():
    with pytest.raises(GuidegenError, match="and 88 more"):
        check_characters(load_hand("print"), "".join(map(chr, range(0x4E00, 0x4E00 + 100))))


def test_a_hand_of_guides_only_says_so():
    with pytest.raises(GuidegenError, match="guides only"):
        set_line(Lettering(load_marker("slate"), load_hand("textura"), 15), "tide")


def test_frequencies_are_those_of_a_language():
    assert "".join(LETTER_FREQUENCY) == string.ascii_lowercase
    assert sum(LETTER_FREQUENCY.values()) == pytest.approx(100, abs=0.05)
    assert max(LETTER_FREQUENCY, key=LETTER_FREQUENCY.get) == "e"


@pytest.mark.parametrize("key", HANDS)
def test_mean_advance_is_that_of_running_words(key):
    """English of the table's mix: its letters in proportion, in an order of no meaning, set as one long word."""
    one = setting(*key)
    counts = {char: round(weight * 4) for char, weight in LETTER_FREQUENCY.items()}
    text = "".join(char * count for char, count in counts.items())
    shuffled = "".join(text[(i * 149) % len(text)] for i in range(len(text)))
    assert len(shuffled) == sum(counts.values())
    running = set_line(one, shuffled).width_mm / len(text)
    assert mean_advance_mm(one) == pytest.approx(running, rel=0.02)


@pytest.mark.parametrize("key", HANDS)
def test_letters_per_line_is_the_floor(key):
    one = setting(*key)
    hand, marker, x = one.hand, one.marker, one.x_height_mm
    mean = mean_advance_mm(one)
    assert letters_per_line(one, 186) == math.floor(186 / mean)
    assert letters_per_line(one, 0.5 * mean) == 0
    assert right_size(marker, hand).mean_advance_mm == mean
    assert letters_per_line(Lettering(marker, load_hand("uncial"), x), 186) is None


def test_a_letterer_adds_a_hand_with_files_alone(tmp_path):
    """Proportions, a basic stroke, two letters built of it, one taken from another, and a mark: no code."""
    folder = tmp_path / "slip"
    folder.mkdir()
    (folder / "hand.toml").write_text(
        '[hand]\nname = "slip"\nlabel = "Slip capitals"\ntips = ["round"]\nslant_deg = 85\nascender = 1.5\n'
        '[size]\nrule = "line height"\nvalue = 8\nsmallest = 6\nlargest = 12\n'
        "[spacing]\nwhite = 0.5\n"
    )
    (folder / "letters.toml").write_text(
        '[strokes]\nstem = "0,1 0,0"\n'
        '[letters.l]\nstrokes = ["stem@0,.5 0,0 .4,0"]\n'
        '[letters.i]\nstrokes = ["stem"]\nmarks = ["0,1.4 0,1.3"]\n'
        '[letters."ł"]\nfrom = "l"\nmarks = ["-.2,.5 .2,.8"]\n'
        '[marks.acute]\nstrokes = [".1,.5 0,.2"]\n'
    )
    hand, marker = load_hand(str(folder)), load_marker("flint")
    line = set_line(Lettering(marker, hand, 6.4), "lií ł")
    assert [item.letter.char for item in line.letters] == ["l", "i", "í", "ł"]
    assert [len(item.letter.strokes) for item in line.letters] == [1, 2, 2, 2]
    assert ink_line(line)
    with pytest.raises(GuidegenError, match=r"hand slip: it cannot write o \(U\+006F\)"):
        set_line(Lettering(marker, hand, 6.4), "lio")
