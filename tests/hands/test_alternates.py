"""Letters that bounce and letters that have alternates: as read from a hand's files and as words take them."""

import pytest
from shaped import shape

from guidegen.errors import GuidegenError
from guidegen.fonts.alphabet import alphabet
from guidegen.fonts.build import Labels, font_face
from guidegen.fonts.compile import compile_face
from guidegen.fonts.faces import FaceStyle
from guidegen.fonts.setting import set_word
from guidegen.hands.alternates import alternated, shapes
from guidegen.hands.library import load_hand, load_marker
from guidegen.lettering.lettering import Lettering
from guidegen.lettering.letters import letter_data
from guidegen.lettering.text import set_line

HEAD = """
[hand]
name = "quay"
label = "Quay"
tips = ["brush"]
slant_deg = 60
letters_from = "joined"
[size]
rule = "counter"
value = 1.0
smallest = 0.6
largest = 1.5
[bounce]
rise = 0.1
fall = 0.15
[alternates]
reach = 3
"""
PLAIN = HEAD[: HEAD.index("[bounce]")]
EVENING = """
[letters.n]
from = "n"
bounce = -0.1
[letters.e]
from = "e"
[[letters.e.alternates]]
bounce = 0.05
[[letters.e.alternates]]
bounce = -0.05
[letters.t]
from = "t"
alternates = [{ marks = ["bar@.25,1.2"] }]
"""


def quay(tmp_path, text, head=HEAD):
    (tmp_path / "hand.toml").write_text(head + text)
    return load_hand(str(tmp_path))


def test_a_letter_bounces_and_its_joins_stay(tmp_path):
    hand = quay(tmp_path, EVENING)
    own, moved = letter_data(load_hand("joined"), "n"), letter_data(hand, "n")
    for before, after in zip(own.strokes, moved.strokes, strict=True):
        rises = [b.at.imag - a.at.imag for a, b in zip(before, after, strict=True)]
        assert rises == pytest.approx([-0.1] * len(rises))
    assert moved.entries["low"][0].at.imag == own.entries["low"][0].at.imag
    assert moved.entries["low"][-1].at.imag == pytest.approx(own.entries["low"][-1].at.imag - 0.1)
    assert moved.exits["low"][-1].at.imag == own.exits["low"][-1].at.imag
    assert moved.exits["end"][-1].at.imag == pytest.approx(own.exits["end"][-1].at.imag - 0.1)
    accent = [letter_data(which, "\u00f1").marks[-1][0].at.imag for which in (load_hand("joined"), hand)]
    assert accent[1] == pytest.approx(accent[0] - 0.1)


def test_letters_that_come_again_take_their_next_shape(tmp_path):
    hand = quay(tmp_path, EVENING)
    assert [data.bounce for data in shapes(letter_data(hand, "e"))] == [0, 0.05, -0.05]
    cases = {
        "ee": [0, 1],
        "eeee": [0, 1, 2, 0],
        "e e": [0, 0, 0],
        "eaaae": [0, 0, 0, 0, 0],  # further than the reach of three
        "eaae": [0, 0, 0, 1],
        "e\u00e9e": [0, 1, 2],  # the letter under an accent counts
        "letter": [0, 0, 0, 1, 1, 0],
    }
    for word, expected in cases.items():
        assert alternated(hand, [None if char == " " else char for char in word]) == expected, word


def test_text_and_font_take_the_same_shapes(tmp_path):
    hand, marker = quay(tmp_path, EVENING), load_marker("cobble")
    lettering = Lettering(marker, hand, 14.0)
    letters = alphabet(lettering, "aent\u00e9")
    face = font_face(letters, FaceStyle("solid", ruled=False, starts=False), Labels("Quay"))
    data = compile_face(face, "ttf")
    for text in ("een", "eeee tee", "neeen\u00e9 e", "tatet ante", "aentaneee", "e\u00e9e\u00e9", "tt e"):
        glyphs = shape(data, text)
        assert [glyph.name for glyph in glyphs] == [name for name, _ in set_word(letters, face, text).glyphs]
        line = set_line(lettering, text)
        told = [0 if ".alt" not in g.name else int(g.name.split(".alt")[1][0]) for g in glyphs if g.name != "space"]
        assert [placed.letter.shape for placed in line.letters] == told
        assert sum(told) > 0
        off = letters.size.units(line.width_mm) - sum(glyph.advance for glyph in glyphs)
        assert abs(off) <= len(glyphs)


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ('[letters.n]\nfrom = "n"\nbounce = 0.3', "letters.n.bounce: found 0.3, expected a number from -0.15 to 0.1"),
        ('[letters.n]\nfrom = "n"\nalternates = []', "letters.n.alternates: found \\[\\], expected 1 to 4 tables"),
        ('[letters.n]\nfrom = "n"\nalternates = [{}]', "letters.n.alternates: found .*, expected a table"),
        (
            '[letters.n]\nfrom = "n"\n[[letters.n.alternates]]\nsides = [0, 1]',
            "letters.n.alternates.sides: found an unknown entry",
        ),
        (
            '[letters.n]\nfrom = "n"\n[[letters.n.alternates]]\nexits = { high = "0,0,0 .5,.82,-15" }',
            "letters.n.alternates.exits: found .high., expected joins that the letter itself has",
        ),
        (
            '[letters.n]\nfrom = "n"\n[[letters.n.alternates]]\nentries = { low = "0,0,0 .23,1,80" }',
            "letters.n.alternates.entries.low: found height 0, heading 0, expected height 0.2, heading",
        ),
        ('[letters.n]\nfrom = "n"\n[[letters.n.alternates]]\nstrokes = []', "letters.n.alternates.strokes: found"),
        ('[letters.g]\nfrom = "g"\nbounce = 0.1', "letters.g.exits.low: found one node, expected two or more"),
        ('[marks.acute]\nstrokes = ["0,0 1,1"]\nbounce = 0.1', "marks.acute.bounce: found an unknown entry"),
        ("[letters]", ""),
    ],
)
def test_mistakes_are_one_line(tmp_path, text, found):
    if not found:
        assert quay(tmp_path, text).reach == 3
        return
    with pytest.raises(GuidegenError, match=found) as error:
        quay(tmp_path, text)
    assert "\n" not in str(error.value)


@pytest.mark.parametrize(
    ("head", "found"),
    [
        ("rise = 0.1\nfell = 0.15", "bounce.fell: found an unknown entry"),
        ("rise = 2", "bounce.rise: found 2, expected a number from 0 to 0.5"),
        ("[alternates]\nreach = 1.5", "alternates.reach: found 1.5, expected a whole number"),
        ("[alternates]\nreach = 0", "alternates.reach: found 0, expected a number from 1 to 6"),
    ],
)
def test_wrong_tables_are_one_line(tmp_path, head, found):
    with pytest.raises(GuidegenError, match=found):
        quay(tmp_path, "", PLAIN + "[bounce]\n" + head)


def test_a_hand_that_borrows_from_one_that_bounces_keeps_its_bounce(tmp_path):
    first, second = tmp_path / "quay", tmp_path / "pier"
    first.mkdir()
    second.mkdir()
    quay(first, EVENING)
    (second / "hand.toml").write_text(
        PLAIN.replace("joined", "quay") + '[letters."\u00f8"]\nfrom = "e"\nmarks = ["0,0 1,1"]'
    )
    hand = load_hand(str(second))
    assert (hand.bounce.rise, hand.bounce.fall, hand.reach) == (0.1, 0.15, 3)
    own, *others = shapes(letter_data(hand, "\u00f8"))
    assert [data.bounce for data in (own, *others)] == [0, 0.05, -0.05]
    assert [data.marks[-1][0].at.imag for data in (own, *others)] == [0, 0.05, -0.05]
