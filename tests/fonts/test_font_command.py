"""``guidegen font`` as a person calls it: files, what is told, and one clear line for what cannot be."""

import io
import json
import re

import pytest
from fontTools.ttLib import TTFont


def test_a_font_is_written_and_its_true_size_told(cli, tmp_path):
    out = tmp_path / "flint.ttf"
    done = cli("font", "flint", "--face", "dotted", "-o", str(out), "--json")
    assert done.code == 0, done.err
    told = json.loads(done.out)
    assert set(told) == {"path", "face", "true_size_pt", "x_height_mm", "units_per_em", "glyphs"}
    font = TTFont(out)
    assert told["face"] == "dotted"
    assert told["units_per_em"] == font["head"].unitsPerEm
    assert told["glyphs"] == len(font.getGlyphOrder())
    assert isinstance(told["true_size_pt"], int)
    assert told["true_size_pt"] <= 999
    em_mm = told["true_size_pt"] * 25.4 / 72
    size = json.loads(cli("size", "flint", "--json").out)
    assert font["OS/2"].sxHeight / font["head"].unitsPerEm * em_mm == pytest.approx(size["x_height_mm"], abs=0.01)
    assert told["x_height_mm"] == pytest.approx(size["x_height_mm"], abs=0.01)


@pytest.mark.parametrize("ending", ["otf", "woff2"])
def test_the_ending_decides_the_format(cli, tmp_path, ending):
    out = tmp_path / f"quay.{ending}"
    assert cli("font", "flint", "--face", "dotted", "--family", "Quay", "-o", str(out)).code == 0
    font = TTFont(io.BytesIO(out.read_bytes()))
    assert ("CFF " in font) == (ending == "otf")
    assert font.flavor == (None if ending == "otf" else "woff2")
    assert font["name"].getDebugName(1) == "Quay Dotted"


def test_specimen_and_sources_come_on_request(cli, tmp_path):
    done = cli(
        "font", "flint", "--face", "dotted", "--ruled", "--starts", "--specimen", "--ufo", "-o", str(tmp_path / "q.ttf")
    )
    assert done.code == 0, done.err
    assert (tmp_path / "q-specimen.pdf").read_bytes().startswith(b"%PDF")
    page = (tmp_path / "q-specimen.html").read_text()
    assert re.search(r"src: url\(data:font/woff2;base64,[A-Za-z0-9+/=]{1000,}\)", page)
    assert not re.search(r"https?://|<script|<link|<img", page)
    assert (tmp_path / "q.ufo" / "metainfo.plist").exists()
    first, *others = done.out.splitlines()
    assert first.startswith(f"{tmp_path / 'q.ttf'}: set it at ")
    assert others == [str(tmp_path / name) for name in ("q-specimen.pdf", "q-specimen.html", "q.ufo")]


def test_json_names_the_files_beside_each_font(cli, tmp_path):
    done = cli("font", "flint", "--face", "dotted", "--specimen", "--ufo", "--json", "-o", tmp_path / "q.ttf")
    told = json.loads(done.out)
    assert told["specimen"] == [str(tmp_path / "q-specimen.pdf"), str(tmp_path / "q-specimen.html")]
    assert told["sources"] == [str(tmp_path / "q.ufo")]
    assert {"path", "face", "true_size_pt", "x_height_mm", "units_per_em", "glyphs"} < set(told)


def test_names_and_pages_tell_no_program(cli, tmp_path):
    cli("font", "flint", "--face", "dotted", "--specimen", "-o", str(tmp_path / "q.ttf"))
    assert b"guidegen" not in (tmp_path / "q.ttf").read_bytes().lower()
    assert "guidegen" not in (tmp_path / "q-specimen.html").read_text().lower()
    cli("font", "flint", "--face", "dotted", "--credit", "Ada of Quay Street", "--force", "-o", str(tmp_path / "q.ttf"))
    assert TTFont(tmp_path / "q.ttf")["name"].getDebugName(0) == "Ada of Quay Street"


def test_two_runs_give_the_same_bytes(cli, tmp_path):
    for name in ("a", "b"):
        cli("font", "flint", "--face", "dotted", "-o", str(tmp_path / f"{name}.ttf"))
    assert (tmp_path / "a.ttf").read_bytes() == (tmp_path / "b.ttf").read_bytes()


BAD = {
    "a foreign ending": (["font", "flint", "-o", "quay.docx"], "found 'docx', expected one of ttf, otf, woff2"),
    "a foreign format": (["font", "flint", "--format", "bdf"], "found 'bdf', expected one of ttf, otf, woff2"),
    "no such folder": (["font", "flint", "-o", "nowhere/quay.ttf"], "no such folder"),
    "a hand without letters": (["font", "slate", "--hand", "uncial"], "it has no letters yet, so no font can be made"),
    "too small": (["font", "slate", "--x-height", "0.01mm"], "fonts reach from about 0.1 to 142 mm"),
    "too large": (["font", "slate", "--x-height", "400mm"], "no whole point size up to 999"),
    "starts without dots": (["font", "flint", "--starts"], "expected --face dotted"),
    "a set and a face": (["font", "flint", "--set", "all", "--ruled"], "the set has them all"),
    "an empty family": (["font", "flint", "--family", " "], "expected a line of text"),
    "no such marker": (["font", "flinty"], "did you mean flint?"),
}


@pytest.mark.parametrize("case", BAD)
def test_bad_input_is_one_clear_line(cli, home, case):
    arguments, words = BAD[case]
    done = cli(*arguments)
    assert done.code == 2
    assert words in done.line
    assert list(home.iterdir()) == []


def test_a_file_that_exists_is_left_as_it_is(cli, tmp_path):
    out = tmp_path / "quay.ttf"
    out.write_bytes(b"mine")
    done = cli("font", "flint", "--face", "dotted", "-o", str(out))
    assert done.code == 2
    assert "exists already" in done.line
    assert out.read_bytes() == b"mine"


def test_a_set_makes_the_family(cli, tmp_path):
    done = cli("font", "flint", "--set", "all", "--format", "woff2", "-o", tmp_path / "set", "--json")
    assert done.code == 0, done.err
    fonts = json.loads(done.out)["fonts"]
    assert len(fonts) == 8
    assert {entry["true_size_pt"] for entry in fonts} == {fonts[0]["true_size_pt"]}
    assert len(list((tmp_path / "set").iterdir())) == 8
