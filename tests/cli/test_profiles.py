import json
from pathlib import Path

import pytest

from guidegen.errors import GuidegenError
from guidegen.hands.library import load_marker

TIDE = ("add", "tide", "--tip", "brush", "--downstroke", "2.4mm", "--hairline", "0.5mm")


def saved(result):
    assert result.code == 0, result.err
    assert result.out.startswith("saved ")
    return Path(result.out.removeprefix("saved ").rstrip("\n"))


def test_add_says_where_and_the_marker_is_known_from_then_on(cli, tmp_path):
    path = saved(cli(*TIDE))
    assert path == tmp_path / "config" / "guidegen" / "markers" / "tide.toml"
    assert path.read_text() == (
        '[marker]\nname = "tide"\nlabel = "Tide"\ntip = "brush"\ndownstroke_mm = 2.4\nhairline_mm = 0.5\n'
    )
    assert cli("size", "tide").code == 0
    assert "tide" in cli("markers").out


def test_an_existing_profile_is_kept_unless_forced(cli):
    path = saved(cli(*TIDE))
    before = path.read_bytes()
    result = cli(*TIDE[:-1], "0.6mm")
    assert result.code == 2
    assert "exists already" in result.line
    assert path.read_bytes() == before
    saved(cli(*TIDE[:-1], "0.6mm", "--force"))
    assert load_marker(str(path)).hairline_mm == 0.6


@pytest.mark.parametrize(
    ("arguments", "entry", "value"),
    [
        (["--tip", "round", "--downstroke", "0.8"], "hairline_mm", 0.8),
        (["--tip", "broad", "--downstroke", "3", "--hairline", "0.3"], "nib_angle_deg", 40.0),
        (["--tip", "broad", "--downstroke", "3", "--hairline", "0.3", "--nib-angle", "30"], "nib_angle_deg", 30.0),
        (["--tip", "pointed", "--downstroke", "0.05in", "--hairline", "0.1"], "downstroke_mm", 1.27),
        (["--tip", "brush", "--downstroke", "2", "--hairline", "1", "--label", "Türkis Nº 2"], "label", "Türkis Nº 2"),
        (["--tip", "brush", "--downstroke", "2", "--hairline", "1", "--from-x-height", "9.5"], "x_height_mm", 9.5),
    ],
)
def test_what_add_writes(cli, arguments, entry, value):
    path = saved(cli("add", "quay", *arguments))
    assert getattr(load_marker(str(path)), entry) == pytest.approx(value)


def test_add_writes_to_the_folder_or_file_asked_for(cli, home):
    assert saved(cli("--markers", "class", *TIDE)) == Path("class/tide.toml")
    assert cli("--markers", "class", "size", "tide").code == 0
    assert cli("size", "tide").code == 2
    assert saved(cli(*TIDE, "-o", "mail.toml")) == Path("mail.toml")
    assert cli("size", "mail.toml").code == 0


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["Tide", "--tip", "brush", "--downstroke", "2", "--hairline", "1"], "lower-case"),
        (["../tide", "--tip", "brush", "--downstroke", "2", "--hairline", "1"], "lower-case"),
        (["tide", "--tip", "brush", "--downstroke", "2"], "--hairline"),
        (["tide", "--tip", "brush", "--downstroke", "2", "--hairline", "3"], "wrong way round"),
        (["tide", "--tip", "round", "--downstroke", "2", "--hairline", "1"], "the same as --downstroke"),
        (["tide", "--tip", "brush", "--downstroke", "2", "--hairline", "1", "--label", "a\nb"], "line of text"),
        (["tide", "--tip", "brush", "--downstroke", "2", "--hairline", "1", "--from-x-height", "0"], "--from-x-height"),
    ],
)
def test_bad_profiles_are_not_written(cli, home, tmp_path, arguments, words):
    result = cli("add", *arguments)
    assert result.code == 2
    assert words in result.line
    assert not list(tmp_path.rglob("*.toml"))


def test_markers_is_a_table_thinnest_first(cli):
    lines = cli("markers").out.splitlines()
    assert lines[0].split() == ["marker", "tip", "downstroke", "upstroke,", "hairline", "x-height", "band", "label"]
    assert [line.split()[0] for line in lines[1:]] == [
        "flint", "grit", "thorn", "pebble", "slate", "cobble", "boulder",
    ]  # fmt: skip


def test_markers_that_fit_a_ruling(cli):
    rows = json.loads(cli("markers", "--json").out)["markers"]
    slate = next(row for row in rows if row["marker"] == "slate")
    given = slate["x_height_mm"]
    fitting = json.loads(cli("markers", "--json", "--x-height", given).out)["markers"]
    assert fitting[0]["marker"] == "slate"
    expected = {row["marker"] for row in rows if row["smallest_x_height_mm"] <= given <= row["largest_x_height_mm"]}
    assert {row["marker"] for row in fitting} == expected
    result = cli("markers", "--x-height", "900")
    assert (result.code, result.out.startswith("no known marker")) == (0, True)


def test_a_broken_profile_is_named_and_the_rest_is_listed(cli, home):
    Path("class").mkdir()
    Path("class/broken.toml").write_text("[marker]\nname = 3\n")
    result = cli("--markers", "class", "markers")
    assert result.code == 0
    assert "cobble" in result.out
    assert result.line.startswith("class/broken.toml: ")


def test_a_marker_no_size_works_for_is_listed_all_the_same(cli, monkeypatch):
    def none(marker, hand):
        raise GuidegenError("no size")

    monkeypatch.setattr("guidegen.lettering.sizing.right_size", none)
    lines = cli("markers").out.splitlines()
    assert len(lines) == 8
    assert all("none" in line for line in lines[1:])


def test_a_markers_folder_that_is_not_there(cli):
    result = cli("--markers", "nowhere", "size", "cobble")
    assert result.code == 2
    assert "--markers" in result.line


def test_a_profile_of_ones_own_gets_another_name_and_goes(cli, tmp_path):
    old = saved(cli(*TIDE))
    new = saved(cli("markers", "--rename", "tide", "ebb-tide"))
    assert (old.exists(), new.name) == (False, "ebb-tide.toml")
    assert load_marker(str(new)).label == "Ebb tide"
    assert cli("size", "ebb-tide").code == 0
    assert cli("size", "tide").code == 2
    assert cli("markers", "--remove", "ebb-tide").out == f"removed {new}\n"
    assert list(new.parent.iterdir()) == []


def test_a_label_of_ones_own_stays_and_a_file_called_otherwise_is_found(cli, home):
    path = saved(cli(*TIDE, "--label", "The blue one", "-o", "blue.toml"))
    (home / "class").mkdir()
    path.rename(home / "class" / "blue.toml")
    new = saved(cli("--markers", "class", "markers", "--rename", "tide", "ebb"))
    assert load_marker(str(new)).label == "The blue one"
    assert [path.name for path in (home / "class").iterdir()] == ["ebb.toml"]


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (["--remove", "cobble"], "a profile of your own"),
        (["--remove", "tidd"], "tide"),
        (["--rename", "tide", "Ebb Tide"], "--rename: found 'Ebb Tide'"),
        (["--rename", "tide", "tide"], "a name that is free"),
        (["--remove", "tide", "--rename", "tide", "ebb"], "alone"),
        (["--remove", "tide", "--json"], "alone"),
    ],
)
def test_what_cannot_be_removed_or_renamed_stays(cli, arguments, told):
    path = saved(cli(*TIDE))
    before = path.read_bytes()
    result = cli("markers", *arguments)
    assert result.code == 2
    assert told in result.line
    assert (path.read_bytes(), [entry.name for entry in path.parent.iterdir()]) == (before, ["tide.toml"])


def test_a_broad_tip_is_added_without_its_edge_and_says_what_it_took(cli):
    result = cli("add", "quay", "--tip", "broad", "--downstroke", "2.5")
    path = saved(result)
    assert load_marker(str(path)).hairline_mm == 0.3
    assert "0.3 mm thick" in result.err
    again = cli("add", "quay", "--tip", "broad", "--downstroke", "2.5", "--hairline", "0.4", "--force")
    assert "thick" not in again.err


@pytest.mark.parametrize(("height", "told"), [("30", "too large"), ("3", "too small"), ("10.5", "")])
def test_a_size_from_a_trial_far_from_the_widths_is_told(cli, height, told):
    result = cli(*TIDE, "--from-x-height", height)
    saved(result)
    assert (told in result.err) if told else not result.err
