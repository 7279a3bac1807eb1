"""Every command and format read back: what ``inspect`` measures is what was asked for."""

from __future__ import annotations

import json
import os
import re
from pathlib import Path

import pytest

from guidegen.hands.library import list_papers
from guidegen.inspect import inspect_file

A4, LETTER = [210.0, 297.0], [215.9, 279.4]
VECTOR = ("svg", "pdf", "dxf")
# name: (arguments, page asked for or None where the page is the work's own, whether it has guide rows)
COMMANDS = {
    "sheet": (["sheet", "cobble"], A4, True),
    "sheet on letter, turned": (["sheet", "pebble", "--paper", "letter", "--landscape"], LETTER[::-1], True),
    "sheet at a size": (["sheet", "flint", "--x-height", "6mm", "--slant", "75"], A4, True),
    "letter": (["letter", "cobble", "--paper", "a4"], A4, False),
    "trial": (["trial"], A4, False),
    "handout": (["handout", "grit", "pebble"], A4, False),
    "compare": (["compare", "grit", "cobble", "--paper", "a3"], [297.0, 420.0], False),
    "worksheet": (["worksheet", "cobble", "tide"], A4, False),
    "write": (["write", "cobble", "tide", "--paper", "120x80mm"], [120.0, 80.0], False),
    "write on its own page": (["write", "slate", "boat", "--guides", "--proof", "bar"], None, True),
    "planner": (["planner", "pebble"], [1620 / 264 * 25.4, 2160 / 264 * 25.4], False),
    "plan": (["plan", "cobble", "high tide", "--paper", "a5", "--landscape"], [210.0, 148.0], False),
}
FORMATS = ("svg", "pdf", "png", "eps", "dxf")


@pytest.fixture(autouse=True)
def drawing(home):
    (home / "anchor.svg").write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="40mm" viewBox="0 0 60 40">'
        '<path d="M10 5 V30 C10 36 30 36 30 25" fill="none" stroke="black"/></svg>'
    )


def made(cli, folder: Path, arguments: list[str], ending: str) -> Path:
    done = cli(*arguments, "-o", folder / f"made.{ending}")
    assert done.code == 0, done.err
    return min(folder.glob(f"made*.{ending}"))


def right_x_height(cli, arguments: list[str]) -> float:
    if "--x-height" in arguments:
        return float(arguments[arguments.index("--x-height") + 1].removesuffix("mm"))
    return json.loads(cli("size", arguments[1], "--json").out)["x_height_mm"]


def read(path: Path, **options):
    return inspect_file(path, papers=tuple(list_papers().values()), **options)


@pytest.mark.parametrize("ending", FORMATS)
@pytest.mark.parametrize("name", COMMANDS)
def test_what_is_written_is_what_is_read(cli, home, name, ending):
    arguments, page, has_rows = COMMANDS[name]
    own_pixels = name == "planner"
    resolution = ["--ppi", "150"] if ending == "png" and not own_pixels else []
    found = read(made(cli, home, [*arguments, *resolution], ending))
    assert found["format"] == ending
    slack = 0.1 if ending == "png" else 1e-3  # a picture has whole pixels, of 0.17 mm here
    if page is not None:
        assert found["page_mm"] == pytest.approx(page, abs=slack)
    if ending in VECTOR:
        assert found["scaled"] is None or found["scaled"]["ratio"] in (1.0, None)
        assert found["text"] == found["pictures"] == []
        assert found["paths"]["zero_length"] == 0
    if ending == "png":
        ppi = 264 if own_pixels else 150
        assert found["ppi"] == pytest.approx([ppi, ppi], abs=0.02)  # whole pixels a metre
    if has_rows and ending in VECTOR:
        asked = right_x_height(cli, arguments)
        assert found["lines"]["x_height_mm"] == pytest.approx(asked, abs=2e-3)


@pytest.mark.parametrize("ending", ["svg", "pdf", "dxf"])
def test_a_sheet_s_slant_is_read_back(cli, home, ending):
    found = read(made(cli, home, ["sheet", "cobble", "--slant", "52"], ending))
    assert found["slants"][0]["deg"] == pytest.approx(52, abs=0.02)


@pytest.mark.parametrize("ending", FORMATS)
def test_an_inked_drawing_keeps_its_page(cli, home, ending):
    found = read(made(cli, home, ["ink", "anchor.svg", "--marker", "grit"], ending))
    assert found["page_mm"] == pytest.approx([60, 40], abs=0.1 if ending == "png" else 1e-3)


@pytest.mark.parametrize(
    ("command", "ending"),
    [
        (["letter", "cobble"], "svg"),
        (["letter", "cobble", "--dxf", "r12"], "dxf"),
        (["write", "boulder", "tide"], "svg"),
        (["write", "boulder", "tide", "--bridges", "2"], "dxf"),
        (["write", "slate", "boat", "--mirror", "--guides"], "svg"),
        (["plan", "cobble", "tide"], "svg"),
        (["ink", "anchor.svg", "--marker", "grit"], "dxf"),
    ],
)
def test_what_is_made_for_cutting_passes_its_own_preflight(cli, home, command, ending):
    path = made(cli, home, [*command, "--for", "cut"], ending)
    found = read(path, purpose="cut")
    told = {f["rule"]: f["status"] for f in found["preflight"] if f["status"] != "pass"}
    told.pop("min-feature", None)  # advice, which most letters get
    told.pop("proof-layer", None) if command[0] == "ink" else None  # a drawing's page has no room for it
    assert told == {}
    checked = cli("inspect", path, "--for", "cut")
    assert checked.code == 0


@pytest.mark.parametrize(
    "command",
    [
        ["letter", "cobble"],
        ["write", "pebble", "tide", "--guides", "--guides-spot", "--spot", "Harbour"],
        ["write", "pebble", "Mara", "--paper", "85x55mm", "--up", "8"],
        ["plan", "cobble", "tide", "--pdfx", "x-1a"],
        ["ink", "anchor.svg", "--marker", "grit", "--no-marks"],
    ],
)
def test_what_is_made_for_print_passes_its_own_preflight(cli, home, command):
    path = made(cli, home, [*command, "--for", "print"], "pdf")
    found = read(path, purpose="print")
    assert {f["rule"]: f["found"] for f in found["preflight"] if f["status"] == "fail"} == {}
    assert cli("inspect", path, "--for", "print").code == 0


def test_a_font_is_read_back_at_its_true_size(cli, home):
    done = cli("font", "cobble", "-o", home / "cobble.ttf", "--json")
    assert done.code == 0, done.err
    told = json.loads(done.out)
    told = told[0] if isinstance(told, list) else told
    found = read(home / "cobble.ttf")
    assert (found["format"], found["page_mm"], found["units_per_em"]) == ("font", None, told["units_per_em"])
    x_height_mm = found["x_height"] / found["units_per_em"] * told["true_size_pt"] * 25.4 / 72
    assert x_height_mm == pytest.approx(told["x_height_mm"], rel=2e-3)
    assert (found["true_size_pt"], found["true_x_height_mm"]) == (told["true_size_pt"], pytest.approx(x_height_mm))
    # its stems are the marker's downstroke of 3.2 mm there, wider along the baseline by the slant
    told = json.loads(cli("inspect", home / "cobble.ttf", "--against", "cobble", "--json").out)["against"]
    assert told["stem_at_right_size_mm"] == pytest.approx(3.2, rel=0.03)
    assert told["fits"]
    # and the line for a person shows the stem that is compared
    shown = re.search(r"^stem +([0-9]+) units, the last of n$", cli("inspect", home / "cobble.ttf").out, re.MULTILINE)
    em_mm = told["right_size_pt"] * 25.4 / 72
    assert int(shown[1]) / found["units_per_em"] * em_mm == pytest.approx(told["stem_at_right_size_mm"], rel=0.01)


def test_a_sheet_fits_its_marker_and_no_other(cli, home):
    path = made(cli, home, ["sheet", "cobble"], "svg")
    for marker, verdict in (("cobble", "right"), ("boulder", "too small"), ("grit", "too large")):
        found = json.loads(cli("inspect", path, "--against", marker, "--json").out)
        assert found["against"]["verdict"] == verdict
        assert found["against"]["fits"] == (verdict == "right")


def test_a_failed_check_exits_with_one_and_plain_inspect_with_none(cli, home):
    path = made(cli, home, ["sheet", "cobble"], "pdf")
    assert cli("inspect", path).code == 0
    checked = cli("inspect", path, "--for", "print")
    assert checked.code == 1
    assert "FAIL  trim-box" in checked.out
    assert checked.err == ""


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (["inspect", "nowhere.svg"], "No such file"),
        (["inspect", "."], "folder"),
        (["inspect", "anchor.svg", "--min-feature", "2"], "--for cut"),
        (["inspect", "anchor.svg", "--hand", "joined"], "--against"),
        (["inspect", "anchor.svg", "--page", "2"], "--page"),
        (["write", "cobble", "tide", "--for", "cut", "-o", "x.png"], "one of svg, dxf, eps, pdf"),
        (["write", "cobble", "tide", "--for", "print", "-o", "x.svg"], "one of pdf"),
        (["write", "cobble", "tide", "--bridges", "2"], "--for cut"),
        (["write", "cobble", "tide", "--bleed", "2"], "--for print"),
        (["write", "cobble", "tide", "--for", "cut", "--measured", "99x99"], "--measured"),
        (["write", "cobble", "tide", "--for", "cut", "--colour", "cut=pink"], "--colour"),
        (["write", "cobble", "tide", "--for", "cut", "--colour", "cut=#737373"], "same colour"),
        (["write", "cobble", "tide", "--for", "print", "--icc", "anchor.svg"], "--icc"),
        (["write", "cobble", "tide", "--for", "print", "--spot", "/"], "--spot"),
        (["write", "cobble", "tide", "--for", "print", "--sheet", "a3"], "--up"),
    ],
)
def test_what_cannot_be_is_told_in_one_line(cli, home, arguments, says):
    done = cli(*arguments)
    assert done.code == 2
    assert says in done.line


@pytest.mark.parametrize("of_names", [False, True])
def test_a_plan_to_cut_has_each_contour_once(cli, home, of_names):
    """The printed plan draws contours as thin bands; a blade would cut both edges of a band."""
    (home / "names.txt").write_text("tide\n", encoding="utf-8")
    what = ("--names", "names.txt") if of_names else ("tide",)
    assert cli("plan", "cobble", *what, "--for", "cut", "-o", "plan.svg").code == 0
    assert cli("write", "cobble", "tide", "--for", "cut", "-o", "ink.svg").code == 0
    counts = []
    for name in ("plan.svg", "ink.svg"):
        done = cli("inspect", name, "--for", "cut", "--json")
        layers = json.loads(done.out)["layers"]
        counts.append(next(layer["count"] for layer in layers if layer["id"] == "cut"))
    assert counts[0] == counts[1]


def test_a_pipe_is_not_waited_for(cli, home):
    os.mkfifo(home / "pipe.svg")
    done = cli("inspect", "pipe.svg")
    assert done.code == 2
    assert "pipe" in done.line


def test_a_hostile_file_is_told_in_one_line_by_the_command(cli_process, home):
    entities = "".join(f'<!ENTITY a{n} "{f"&a{n - 1};" * 10}">' for n in range(1, 12))
    (home / "bomb.svg").write_text(
        f'<!DOCTYPE svg [<!ENTITY a0 "tide">{entities}]><svg xmlns="http://www.w3.org/2000/svg"/>'
    )
    done = cli_process("inspect", home / "bomb.svg")
    assert done.code == 2
    assert "entities" in done.line


def test_the_fence_ends_what_takes_too_long_or_too_much():
    from guidegen.errors import GuidegenError
    from guidegen.fence import fenced

    with pytest.raises(GuidegenError, match="takes more than"):
        fenced("time:sleep", (30.0,), "slow.svg", seconds=1.0)
    with pytest.raises(GuidegenError, match="MB"):
        fenced("guidegen.writers.numbers:number", (1.0, 2 * 10**9), "large.svg", megabytes=1000)
    assert fenced("guidegen.writers.numbers:number", (1.25, 1), "fine.svg") == "1.2"


@pytest.mark.parametrize("ending", ["svg", "dxf"])
def test_the_nib_ladder_and_the_pen_angle_mark_are_neither_letters_nor_guides(cli, home, ending):
    # slate's nib is 3.0 mm wide, held at 40 degrees; the one letter on its sheet is the sample e
    found = read(made(cli, home, ["sheet", "slate", "--slant", "80"], ending))
    assert [round(slant["deg"], 1) for slant in found["slants"]] == [80.0]
    assert found["lines"]["count"] % 4 == 0
    assert found["lines"]["shortest_mm"] > 100
    heights = {round(entry["mm"], 1) for entry in found["shapes"]["heights_mm"]}
    assert 3.0 not in heights
    assert found["shapes"]["tallest_mm"] == pytest.approx(found["lines"]["x_height_mm"], abs=0.01)


def test_bars_of_known_width_are_no_letters(cli, home):
    assert read(made(cli, home, ["trial"], "svg"))["shapes"]["count"] == 0


def test_rings_round_thin_places_are_no_letters(cli, home):
    found = read(made(cli, home, ["write", "cobble", "tide", "--for", "cut"], "svg"))
    counts = {layer["id"]: layer["count"] for layer in found["layers"]}
    assert list(counts) == ["cut"]
    assert found["hidden_layers"] == ["proof", "thin"]
    assert found["shapes"]["count"] == counts["cut"]
