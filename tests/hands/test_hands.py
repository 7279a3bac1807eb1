"""Hand files: every value is checked, in one line that says what to do; a letterer's own hand needs no code."""

import cmath
import copy
import math
import shutil
import tomllib

import pytest

from guidegen.errors import GuidegenError
from guidegen.hands.files import hand_from_tables
from guidegen.hands.library import hand_names, load_hand, load_marker, templates_folder
from guidegen.lettering.lettering import Lettering
from guidegen.lettering.letters import letter
from guidegen.lettering.sizing import right_size
from guidegen.lettering.text import ink_line, set_line

OWN = """
[hand]
name = "buoy"
label = "Buoy script"
tips = ["brush"]
slant_deg = 70

[size]
rule = "counter"
value = 1.0
smallest = 0.6
largest = 1.5

[joins]
low = { height = 0.2, heading = 60 }

[strokes]
stem = "0,1 0,0"
turn = "0,1,270 0,.4,270 .2,0,0 .4,.2,60"

[letters.i]
strokes = ["turn@.3,0"]
entries = { low = "0,.2,60 .25,.9,75" }
exits = { low = ".7,.2,60" }
marks = [".3,1.5,270^1 .3,1.4,270^1"]
advance = 0.9

[letters.e]
strokes = [".2,.4,30 .6,.66,90^0 .4,1,180^0 .15,.8,270^1 .15,.6,270^1 .45,0,0^0"]
entries = { low = "0,.2,60 .2,.4,30" }
exits = { low = ".45,0,0 .65,.2,60" }
advance = 0.8

[letters."!"]
strokes = ["0,2 0,.4"]
advance = 0.3

[marks.acute]
strokes = [".1,.4 -.1,.2"]
"""


@pytest.fixture
def tables():
    return tomllib.loads(OWN)


def test_a_hand_of_ones_own_is_a_folder_of_files_and_no_code(tmp_path):
    head, _, letters = OWN.partition("[letters.i]")
    (tmp_path / "hand.toml").write_text(head)
    (tmp_path / "some-letters.toml").write_text("[letters.i]" + letters)
    hand, marker = load_hand(str(tmp_path)), load_marker("cobble")
    assert sorted(hand.letters) == ["!", "e", "i"]
    assert 2 < right_size(marker, hand).x_height_mm / marker.downstroke_mm < 8
    line = set_line(Lettering(marker, hand, 15), "ieié!")
    assert len(line.letters) == 5
    # From one stem of i through e to the next stem and again, two dots, the accent, the "!".
    assert len(line.strokes) == 2 + 2 + 1 + 1


def test_a_copy_of_a_built_in_hand_with_one_letter_changed(tmp_path):
    shutil.copytree(templates_folder() / "hands" / "joined", tmp_path / "mine")
    path = tmp_path / "mine" / "lowercase.toml"
    path.write_text(path.read_text().replace("[letters.z]", "[letters.z]\nsides = [0.1, 0.1]"))
    assert load_hand(str(tmp_path / "mine")).letters["z"].sides == (0.1, 0.1)


@pytest.mark.parametrize("name", hand_names())
def test_built_in_hands_pass(name):
    hand = load_hand(name)
    assert hand.name == name
    assert hand.slanted(75).slant_deg == 75


WRONG = [
    ({"hand.name": "My Hand"}, "hand.name: found 'My Hand', expected a name of lower-case letters"),
    ({"hand.name": None}, "hand.name: found "),
    ({"hand.label": ""}, "hand.label: found ''"),
    ({"hand.label": 3}, "hand.label: found 3"),
    ({"hand.tips": []}, "hand.tips: found [], expected a list of some of brush, pointed, broad, round"),
    ({"hand.tips": ["brush", "quill"]}, "hand.tips"),
    ({"hand.tips": [["brush"]]}, "hand.tips"),
    ({"hand.slant_deg": 0}, "hand.slant_deg: found 0, expected a number from 20 to 160"),
    ({"hand.slant_deg": "60"}, "hand.slant_deg: found '60'"),
    ({"hand.slant_deg": float("nan")}, "hand.slant_deg: found nan"),
    ({"hand.slant_deg": True}, "hand.slant_deg: found True"),
    ({"hand.slant_deg": None}, "hand.slant_deg: found nothing"),
    ({"hand.width": 0}, "hand.width: found 0, expected a number from 0.2 to 5"),
    ({"hand.ascender": 0.5}, "hand.ascender: found 0.5, expected a number from 1 to 10"),
    ({"hand.ascendre": 2}, "hand.ascendre: found an unknown entry"),
    ({"hand": 3}, "hand: found 3, expected a table [hand]"),
    ({"size": None}, "size: found nothing, expected a table [size]"),
    ({"size.rule": "eye"}, "size.rule: found 'eye', expected one of counter, nib widths, line height"),
    ({"size.value": 0}, "size.value: found 0"),
    ({"size.smallest": 2}, "size.smallest: found 2, expected a number from 0.01 to 1"),
    ({"size.largest": 0.5}, "size.largest: found 0.5, expected a number from 1 to"),
    ({"pressure": {"on": 3}}, "pressure.on: found an unknown entry, expected one of on_deg"),
    ({"pressure": {"press": 0}}, "pressure.press: found 0"),
    ({"pressure": {"cut_deg": {"broad": 3}}}, "pressure.cut_deg.broad: found an unknown entry"),
    ({"joins.start": {"height": 0, "heading": 0}}, "joins.start: found 'start', expected another name"),
    ({"joins.low": 3}, "joins.low: found 3"),
    ({"joins.low": {"height": 0.2}}, "joins.low.heading: found nothing"),
    ({"spacing": {"white": -1}}, "spacing.white: found -1"),
    ({"strokes.Stem": "0,1 0,0"}, "strokes.Stem: found 'Stem', expected a name of lower-case letters"),
    ({"strokes.stem": 3}, "strokes.stem: found 3, expected a stroke in quotes"),
    ({"strokes.stem": "0,1 O,0"}, "strokes.stem: found 'O,0', expected a node like"),
    ({"letters.ie": {"strokes": ["stem"]}}, "letters.ie: found 'ie', expected one character"),
    ({"letters.x": 3}, "letters.x: found 3, expected a table"),
    ({"letters.x": {}}, "letters.x.strokes: found nothing, expected a list of strokes"),
    ({"letters.x": {"strokes": "stem"}}, "letters.x.strokes: found 'stem', expected a list of strokes"),
    ({"letters.x": {"strokes": ["stam"]}}, "letters.x.strokes: found 'stam'"),
    ({"letters.x": {"strokes": ["0,0"]}}, "letters.x.strokes: found '0,0', expected a stroke of two nodes"),
    ({"letters.x": {"strokes": [3]}}, "letters.x.strokes: found 3"),
    ({"letters.x": {"strokes": ["stem"], "advanse": 1}}, "did you mean advance?"),
    ({"letters.x": {"strokes": ["stem"], "advance": float("inf")}}, "letters.x.advance: found inf"),
    ({"letters.x": {"strokes": ["stem"], "anchors": {"above": [1]}}}, "letters.x.anchors.above: found [1]"),
    ({"letters.x": {"strokes": ["stem"], "sides": [1, "2"]}}, "letters.x.sides.y: found '2'"),
    ({"letters.x": {"strokes": ["stem"], "entries": {"middle": "0,0 1,1"}}}, "letters.x.entries.middle: found an"),
    ({"letters.x": {"from": "q"}}, "letters.x.from: found 'q', expected a letter written before this one"),
    ({"letters.x": {"from": "i", "scale": 0}}, "letters.x.scale: found 0"),
    ({"letters.i.exits": {"low": ".7,.3,60"}}, "letters.i.exits.low: found height 0.3, heading 60, expected"),
    ({"letters.i.exits": {"low": ".7,.2,50"}}, "letters.i.exits.low: found height 0.2, heading 50"),
    ({"letters.i.exits": {"low": ".7,.2"}}, "letters.i.exits.low: found height 0.2, heading none"),
    ({"letters.i.entries": {"low": "0,.1,60 .2,.9,75"}}, "letters.i.entries.low: found height 0.1"),
    ({"letters.i.exits": {"low": "3,.2,60"}}, "letters.i.exits.low: found one node, where no stroke of it ends"),
    ({"marks.acute": {"strokes": []}}, "marks.acute.strokes: found []"),
    ({"letter.x": {}}, "letter: found an unknown entry"),
]


@pytest.mark.parametrize(("change", "line"), WRONG, ids=[str(number) for number in range(len(WRONG))])
def test_a_wrong_value_is_told_in_one_line(tables, change, line):
    wrong = copy.deepcopy(tables)
    for path, value in change.items():
        *parents, last = path.split(".")
        table = wrong
        for parent in parents:
            table = table.setdefault(parent, {})
        table.pop(last, None)
        if value is not None:
            table[last] = value
    with pytest.raises(GuidegenError) as error:
        hand_from_tables(wrong, "my-hand")
    message = str(error.value)
    assert message.startswith("my-hand: ")
    assert line in message
    assert "\n" not in message


def test_width_makes_letters_wider_and_keeps_heights_and_joins(tables):
    plain = hand_from_tables(copy.deepcopy(tables), "here")
    tables["hand"]["width"] = 1.25
    wide, marker = hand_from_tables(tables, "here"), load_marker("cobble")
    for char in "ie!":
        for nodes, wider in zip(plain.letters[char].strokes, wide.letters[char].strokes, strict=True):
            assert [complex(1.25 * n.at.real, n.at.imag) for n in nodes] == pytest.approx([n.at for n in wider])
        assert wide.letters[char].advance == pytest.approx(1.25 * plain.letters[char].advance)
    for char in "ie":
        assert wide.letters[char].exits["low"][-1].arrive_deg == pytest.approx(wide.joins["low"].heading_deg)
    assert wide.joins["low"].height == plain.joins["low"].height
    # Stretched and leaning strokes of one word are still one ink: i and e with a dot beside them.
    outline = ink_line(set_line(Lettering(marker, wide, 15), "ie"))
    assert sum(area(path) > 0 for path in outline) == 2


def area(path):
    z = [segment[0] for segment in path.segments]
    return sum((a.conjugate() * b).imag for a, b in zip(z, z[1:] + z[:1], strict=True))


def test_strokes_come_in_writing_order():
    hand, marker = load_hand("joined"), load_marker("thorn")
    item = letter(Lettering(marker, hand, 14), "i")
    starts = [stroke.path.segments[0] for stroke in item.strokes]
    assert len(starts) == 3  # way in, stem, dot
    assert starts[1][0].imag > 0.8 * 14
    heading = math.degrees(cmath.phase(starts[1][1] - starts[1][0]))
    assert heading == pytest.approx(hand.slant_deg - 180, abs=0.1)
    assert starts[2][0].imag > 14
