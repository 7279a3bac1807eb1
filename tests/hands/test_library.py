import os
import subprocess
import sys

import pytest

from guidegen.errors import GuidegenError
from guidegen.hands.library import (
    MAX_TOML_BYTES,
    hand_names,
    list_markers,
    list_papers,
    load_hand,
    load_marker,
    load_paper,
    read_toml,
    templates_folder,
)

PROFILE = '[marker]\nname = "{name}"\nlabel = "Test"\ntip = "brush"\ndownstroke_mm = {down}\nhairline_mm = 0.2\n'


@pytest.fixture
def folder(tmp_path):
    path = tmp_path / "markers"
    path.mkdir()
    return path


def save(folder, name, down=2.0, file=None):
    path = folder / f"{file or name}.toml"
    path.write_text(PROFILE.format(name=name, down=down))
    return path


DEMO = [
    # The demo scenario's table: name, tip, downstroke, hairline.
    ("grit", "brush", 0.9, 0.25),
    ("pebble", "brush", 1.6, 0.35),
    ("cobble", "brush", 3.2, 0.6),
    ("boulder", "brush", 6.8, 1.2),
    ("thorn", "pointed", 1.1, 0.12),
    ("slate", "broad", 3.0, 0.3),
    ("flint", "round", 0.8, 0.8),
]


@pytest.mark.parametrize(("name", "tip", "down", "hair"), DEMO)
def test_the_demo_markers_ship(name, tip, down, hair):
    marker = load_marker(name)
    assert (marker.tip, marker.downstroke_mm, marker.hairline_mm) == (tip, down, hair)
    assert marker.nib_angle_deg == (40 if tip == "broad" else None)


def test_all_markers_are_listed_thinnest_first(folder):
    found, problems = list_markers([folder])
    assert problems == []
    assert [entry.marker.name for entry in found] == ["flint", "grit", "thorn", "pebble", "slate", "cobble", "boulder"]
    assert all(entry.built_in for entry in found)


def test_the_first_folder_wins(folder, tmp_path):
    save(folder, "cobble", down=4.0)
    second = tmp_path / "second"
    second.mkdir()
    save(second, "cobble", down=5.0)
    assert load_marker("cobble", [folder, second]).downstroke_mm == 4.0
    assert load_marker("cobble", [second, folder]).downstroke_mm == 5.0
    assert load_marker("cobble").downstroke_mm == 3.2
    found, _ = list_markers([folder, second])
    assert [entry.marker.downstroke_mm for entry in found if entry.marker.name == "cobble"] == [4.0]


def test_a_path_is_read_whatever_its_name(folder):
    path = save(folder, "tide", file="anything")
    assert load_marker(str(path)).name == "tide"


def test_the_name_counts_not_the_file_name(folder):
    save(folder, "tide", file="anything")
    assert load_marker("tide", [folder]).name == "tide"


def test_unknown_names_suggest_near_ones():
    with pytest.raises(GuidegenError, match="did you mean cobble"):
        load_marker("cobbel")
    with pytest.raises(GuidegenError, match="did you mean cobble"):
        load_marker("Cobble")
    with pytest.raises(GuidegenError, match="guidegen markers"):
        load_marker("zzz")


def test_two_files_with_one_name_in_a_folder(folder):
    save(folder, "tide", file="a")
    save(folder, "tide", file="b")
    with pytest.raises(GuidegenError, match=r"a\.toml and b\.toml both hold a marker named 'tide'"):
        load_marker("tide", [folder])
    _, problems = list_markers([folder])
    assert len(problems) == 1
    assert "a.toml also holds a marker named 'tide'" in problems[0]


def test_a_broken_file_does_not_hide_the_others(folder):
    (folder / "broken.toml").write_text("[marker")
    save(folder, "tide")
    assert load_marker("tide", [folder]).name == "tide"
    found, problems = list_markers([folder])
    assert len(found) == 8
    assert len(problems) == 1
    assert problems[0].startswith(str(folder / "broken.toml"))
    with pytest.raises(GuidegenError, match="not a TOML file"):
        load_marker("broken", [folder])


def test_no_such_folder_is_an_empty_one_and_a_file_is_an_error(folder, tmp_path):
    assert load_marker("cobble", [tmp_path / "none"]).name == "cobble"
    path = save(folder, "tide")
    with pytest.raises(GuidegenError, match="expected a folder"):
        load_marker("cobble", [path])


def bad_files(folder):
    """Return (path, words) for every way a file can be wrong before its values are."""
    binary = folder / "binary.toml"
    binary.write_bytes(b'[marker]\nname = "caf\xe9"\n')
    empty, blank = folder / "empty.toml", folder / "blank.toml"
    empty.touch()
    blank.write_text("\n \n")
    large = folder / "large.toml"
    with large.open("wb") as file:
        file.truncate(100_000_000)
    deep = folder / "deep.toml"
    deep.write_text("a = " + "[" * 100_000)
    digits = folder / "digits.toml"
    digits.write_text("a = " + "9" * 5000)
    syntax = folder / "syntax.toml"
    syntax.write_text('[marker]\nname = "x\n')
    pipe = folder / "pipe.toml"
    os.mkfifo(pipe)
    directory = folder / "directory.toml"
    directory.mkdir()
    return [
        (folder / "missing.toml", "no such file"),
        (empty / "below.toml", "no such file"),
        (directory, "a folder"),
        (pipe, "no ordinary file"),
        (empty, "an empty file"),
        (blank, "an empty file"),
        (binary, "line 2: found byte 0xe9, expected UTF-8 text"),
        (large, "at most 400 kB"),
        (deep, "nested too deeply"),
        (digits, "a number of 5000 digits, expected at most 40"),
        (syntax, "not a TOML file"),
    ]


def test_every_bad_file_is_one_line_that_names_it(folder):
    for path, words in bad_files(folder):
        with pytest.raises(GuidegenError) as caught:
            read_toml(path)
        message = str(caught.value)
        assert message.startswith(str(path))
        assert words in message
        assert message.isprintable()


def test_the_largest_file_allowed_is_read(folder):
    path = folder / "long.toml"
    path.write_text("a = 1\n#" + "x" * (MAX_TOML_BYTES - 7))
    assert read_toml(path) == {"a": 1}


def test_a_byte_order_mark_is_no_hindrance(folder):
    path = folder / "mark.toml"
    path.write_bytes(b"\xef\xbb\xbfa = 1\r\n")
    assert read_toml(path) == {"a": 1}


def test_hands_of_all_tips_ship():
    assert {"joined", "italic", "print"} <= set(hand_names())
    for name in hand_names():
        assert load_hand(name).name == name


def test_unknown_hands_suggest_near_ones(tmp_path):
    with pytest.raises(GuidegenError, match="did you mean joined"):
        load_hand("joind")
    with pytest.raises(GuidegenError, match=r"folder with a hand\.toml"):
        load_hand(str(tmp_path))


def copy_of_joined(tmp_path, head):
    folder = tmp_path / "mine"
    folder.mkdir()
    source = (templates_folder() / "hands" / "joined" / "hand.toml").read_text()
    (folder / "hand.toml").write_text(source.replace('name = "joined"', head))
    return folder


def test_a_hand_of_files_in_a_folder_of_ones_own(tmp_path):
    folder = copy_of_joined(tmp_path, 'name = "mine"')
    (folder / "letters.toml").write_bytes((templates_folder() / "hands" / "joined" / "lowercase.toml").read_bytes())
    assert load_hand(str(folder)).letters.keys() == load_hand(str(folder / "hand.toml")).letters.keys()
    assert "e" in load_hand(str(folder)).letters


def test_a_hand_may_borrow_letters(tmp_path):
    folder = copy_of_joined(tmp_path, 'name = "mine"\nletters_from = "joined"')
    assert load_hand(str(folder)).letters.keys() == load_hand("joined").letters.keys()


def test_hands_that_borrow_in_a_circle(tmp_path):
    folder = copy_of_joined(tmp_path, 'name = "mine"\nletters_from = "other"')
    other = tmp_path / "other"
    other.mkdir()
    (other / "hand.toml").write_text((folder / "hand.toml").read_text().replace('"other"', '"mine"'))
    with pytest.raises(GuidegenError, match="letters_from"):
        load_hand(str(folder))


def test_one_letter_in_two_files(tmp_path):
    folder = copy_of_joined(tmp_path, 'name = "mine"')
    for name in ("a", "b"):
        (folder / f"{name}.toml").write_text("[letters.e]\nstrokes = []\nadvance = 1\n")
    with pytest.raises(GuidegenError, match=r"b\.toml: letters\.e"):
        load_hand(str(folder))


def test_papers_by_name_and_size():
    assert load_paper("A4").width_mm == 210.0  # ISO 216
    assert load_paper("letter").height_mm == 11 * 25.4
    assert load_paper("123.4x321mm").height_mm == 321.0
    assert {"a4", "letter", "a5", "legal"} <= set(list_papers())


@pytest.mark.parametrize(
    "text", ["leter", "", "a4x", "0x0", "210x", "nanxnan", "1e9x1e9", "210x297furlong", "-210x297"]
)
def test_unknown_papers(text):
    with pytest.raises(GuidegenError, match="expected"):
        load_paper(text)


PICKLED = """
import pickle, sys
from guidegen.hands.library import hand_names, load_hand
for name in hand_names():
    hand = load_hand(name)
    again = pickle.loads(pickle.dumps(hand))
    assert again == hand and again is not hand and hash(again) == hash(hand), name
    assert again.slanted(57) != hand
    try:
        again.letters["e"] = None
    except TypeError:
        continue
    raise SystemExit(f"{name}: its letters can be changed")
assert "guidegen.jobs" not in sys.modules
"""


def test_hands_go_through_pickle_whatever_else_is_loaded():
    done = subprocess.run([sys.executable, "-c", PICKLED], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
