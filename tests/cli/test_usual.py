"""The settings that hold unless a command says otherwise: kept, shown, obeyed, and read by the commands alone."""

import json

import pytest

import guidegen as gg


def size_of(path):
    text = path.read_text()
    return text.split('width="', 1)[1].split('"')[0], text.split('height="', 1)[1].split('"')[0]


@pytest.fixture
def kept(cli):
    result = cli("usual", "--paper", "a5", "--margin", "15mm", "--language", "de", "--hand", "lively", "--units", "in")
    assert result.code == 0, result.err
    return cli


def test_what_is_kept_is_shown_and_forgotten(kept, tmp_path):
    path = tmp_path / "config" / "guidegen" / "usual.toml"
    told = kept("usual").out.splitlines()
    assert [line.split() for line in told[:-1]] == [
        ["paper", "a5"], ["margin", "15mm"], ["hand", "lively"], ["units", "in"], ["language", "de"]
    ]  # fmt: skip
    assert told[-1] == f"kept in {path}"
    kept("usual", "--forget", "margin", "--left-handed")
    assert json.loads(kept("usual", "--json").out)["usual"] == {
        "paper": "a5", "hand": "lively", "units": "in", "left_handed": True, "language": "de"
    }  # fmt: skip


def test_a_setting_that_is_no_longer_good_is_called_one(cli, home, tmp_path):
    path = tmp_path / "config" / "guidegen" / "usual.toml"
    path.parent.mkdir(parents=True)
    for line, option in (('paper = "a99"', "paper"), ('hand = "gone"', "hand"), ('units = "ft"', "units")):
        path.write_text(f"[usual]\n{line}\n")
        told = cli("sheet", "cobble", "-o", "a.svg").line
        assert f"it is one of your usual settings: `guidegen usual --forget {option}`" in told
    told = cli("sheet", "cobble", "-o", "a.svg", "--units", "yd").line
    assert "usual settings" not in told


def test_commands_obey_and_what_they_are_told_counts_more(kept, home):
    kept("sheet", "cobble", "-o", "a.svg")
    kept("sheet", "cobble", "-o", "b.svg", "--paper", "a4", "--language", "en")
    assert (size_of(home / "a.svg"), size_of(home / "b.svg")) == (("148mm", "210mm"), ("210mm", "297mm"))
    assert "Grundlinie" in (home / "a.svg").read_text()
    assert " in, die richtige" in (home / "a.svg").read_text()
    assert "baseline<" in (home / "b.svg").read_text()


def test_a_hand_counts_where_it_suits_every_marker(kept, home):
    for marker in ("cobble", "slate"):
        assert kept("sheet", marker, "-o", f"{marker}.svg").code == 0
    assert "Lebendige Pinselschrift" in (home / "cobble.svg").read_text()
    assert "Kursive" in (home / "slate.svg").read_text()


def test_a_hand_reaches_sizes_fonts_and_plans(kept):
    lively = gg.right_size("cobble", hand="lively").x_height_mm
    assert json.loads(kept("size", "cobble", "--json").out)["x_height_mm"] == pytest.approx(lively, abs=1e-3)
    assert json.loads(kept("size", "slate", "--json").out)["hand"] == "italic"
    assert json.loads(kept("plan", "cobble", "tide", "--json").out)["x_height_mm"] == pytest.approx(lively, abs=1e-3)
    assert json.loads(kept("plan", "--line", "slate:tide", "--json").out)["fits"]
    kept("usual", "--hand", "uncial")  # it has no letters: a font of it is refused at once
    assert "uncial" in kept("font", "slate", "-o", "slate.ttf").err


def test_the_text_keeps_its_own_page_and_the_planner_its_screen(kept, home):
    before = gg.write("cobble", "tide", hand="lively", margin_mm=15).page_mm[0]
    kept("write", "cobble", "tide", "-o", "tide.svg")
    assert float(size_of(home / "tide.svg")[0].removesuffix("mm")) == pytest.approx(before[0], abs=0.002)


def test_the_library_and_batch_do_not_read_it(kept, home):
    assert gg.sheet("cobble").page_mm == ((210.0, 297.0),)
    (home / "jobs.toml").write_text('[[job]]\ncommand = "sheet"\nmarker = "cobble"\nout = "c.svg"\n')
    assert kept("batch", "jobs.toml").code == 0
    assert size_of(next(home.rglob("c.svg"))) == ("210mm", "297mm")


def test_a_usual_printer_gives_way_to_measures_and_to_the_print_shop(cli, home):
    assert cli("sheet", "cobble", "--measured", "98x99", "--printer", "staffroom", "-o", "a.pdf").code == 0
    assert cli("usual", "--printer", "staffroom").code == 0
    assert cli("sheet", "cobble", "--measured", "97x97", "-o", "b.pdf").code == 0
    assert '"98x99"' in (home.parent / "config" / "guidegen" / "printers.toml").read_text()
    assert cli("write", "cobble", "tide", "--for", "cut", "-o", "c.svg").code == 0


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (["--paper", "a44"], "--paper"),
        (["--margin", "wide"], "--margin"),
        (["--hand", "nosuch"], "hand"),
        (["--language", "tlh"], "--language"),
        (["--printer", "nosuch"], "--printer"),
        (["--guide-style", "loud"], "--guide-style"),
        (["--forget", "papr"], "paper"),
        (["--paper", "a5", "--forget", "paper"], "--forget"),
    ],
)
def test_what_no_command_would_take_is_not_kept(cli, tmp_path, arguments, told):
    result = cli("usual", *arguments)
    assert (result.code, told in result.line) == (2, True)
    assert not (tmp_path / "config" / "guidegen" / "usual.toml").exists()


@pytest.mark.parametrize("text", ["paper = 3\n", "[usual]\npapr = 'a4'\n", "[usual]\npaper = 4\n", "[usual\n"])
def test_a_broken_file_is_named_and_left_alone(cli, tmp_path, text):
    path = tmp_path / "config" / "guidegen" / "usual.toml"
    path.parent.mkdir(parents=True)
    path.write_text(text)
    for arguments in (["sheet", "cobble"], ["usual", "--paper", "a5"]):
        result = cli(*arguments)
        assert (result.code, "usual.toml" in result.line) == (2, True)
    assert path.read_text() == text
