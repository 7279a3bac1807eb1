"""``handout``, ``compare``, ``worksheet``, ``write`` and ``plan`` as commands: files, words, what is refused."""

from __future__ import annotations

import json
import re

import pypdfium2
import pytest

from guidegen.api.words import names_of


def pages(path):
    return len(pypdfium2.PdfDocument(path))


@pytest.mark.parametrize(
    ("arguments", "names"),
    [
        (["handout", "flint", "slate"], ["handout.pdf"]),
        (["compare", "flint", "slate", "--format", "svg"], ["compare.svg"]),
        (["worksheet", "flint", "tide"], ["worksheet-flint.pdf"]),
        (["worksheet", "flint,slate", "tide", "-o", "w.svg"], ["w-1.svg", "w-2.svg"]),
        (["worksheet", "flint", "--letters", "a-c,o", "--left-handed"], ["worksheet-flint.pdf"]),
        (["worksheet", "flint", "--drills", "oval,stem"], ["worksheet-flint.pdf"]),
        (["worksheet", "flint", "--drills"], ["worksheet-flint.pdf"]),
        (["worksheet", "flint", "tide", "--rows", "solid,blank", "--paper", "a4,letter"],
         ["worksheet-flint-a4.pdf", "worksheet-flint-letter.pdf"]),
        (["write", "flint", "tide", "-o", "t.svg"], ["t.svg"]),
        (["write", "slate", "tide", "--paper", "a3", "--printer-paper", "a4", "-o", "t.pdf"], ["t.pdf"]),
    ],
)  # fmt: skip
def test_commands_write_what_they_say(cli, home, arguments, names):
    result = cli(*arguments)
    assert result.code == 0, result.err
    assert result.out.split() == names
    assert all((home / name).stat().st_size > 500 for name in names)


def test_a_class_of_names_gets_a_sheet_each_with_a_bookmark(cli, home):
    names = [a + b for a in ("an", "be", "li", "mo", "ru", "so") for b in ("na", "no", "ri", "to")]
    (home / "class.txt").write_text("\n".join(names))
    assert cli("worksheet", "flint", "--names", "class.txt").code == 0
    made = home / "worksheet-flint.pdf"
    document = pypdfium2.PdfDocument(made)
    assert len(document) == len(names)
    assert [entry.get_title() for entry in document.get_toc()] == names
    first = made.read_bytes()
    assert cli("worksheet", "flint", "--names", "class.txt", "--force").code == 0
    assert made.read_bytes() == first


TEXTS = [
    ("", "expected some text"),
    ("tide\tpool", "U+0009 TAB"),
    ("\u05e9\u05dc\u05d5\u05dd", "U+05E9"),
    ("high \U0001f30a tide", "U+1F30A"),
    ("x" * 10_000, "10000 letters"),
]


@pytest.mark.parametrize(("text", "told"), [*TEXTS, ("a\u202eb", "U+202E RIGHT-TO-LEFT OVERRIDE"), ("a\0b", "NULL")])
@pytest.mark.parametrize(
    "command",
    [["write", "flint"], ["worksheet", "flint"], ["plan", "flint"], ["compare", "flint", "--text"]],
    ids=lambda command: command[0],
)
def test_text_that_cannot_be_written_is_named_in_one_line(cli, home, command, text, told):
    result = cli(*command, text)
    assert result.code == 2
    assert told in result.line
    assert not list(home.iterdir())


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ("tide\tpool", "U+0009 TAB"),
        ("\u05e9\u05dc\u05d5\u05dd", "U+05E9 HEBREW LETTER SHIN"),
        ("high \U0001f30a tide", "U+1F30A WATER WAVE"),
        ("x" * 10_000, "10000 letters"),
        ("high tide " * 30, "at most 200"),
        ("two\nlines", "one line of text"),
    ],
)
@pytest.mark.parametrize(
    "command",
    [
        ["worksheet", "flint", "tide", "--title"],
        ["worksheet", "flint", "tide", "--note"],
        ["handout", "flint", "--title"],
        ["planner", "flint", "--title"],
        ["sheet", "flint", "--credit"],
    ],
    ids=lambda command: f"{command[0]} {command[-1]}",
)
def test_own_words_on_a_page_are_named_in_one_line_when_they_cannot_stand_there(cli, home, command, words, told):
    result = cli(*command, words)
    assert result.code == 2
    assert result.line.startswith(command[-1])
    assert told in result.line
    assert not list(home.iterdir())


@pytest.mark.parametrize("command", [["worksheet", "flint"], ["plan", "flint", "--up", "4"]], ids=lambda one: one[0])
def test_a_name_that_cannot_be_written_is_named_with_its_characters(cli, home, command):
    (home / "class.txt").write_text("anna\nmar\u263eit\nleif \U0001f30a\n")
    line = cli(*command, "--names", "class.txt").line
    assert line.startswith("class.txt: 'mar\u263eit': hand print: it cannot write \u263e (U+263E) \U0001f30a (U+1F30A)")


TILED = [
    ["sheet", "slate"],
    ["letter", "flint"],
    ["trial", "--to", "10"],
    ["handout", "flint", "slate"],
    ["compare", "flint", "slate"],
    ["worksheet", "flint", "tide"],
    ["worksheet", "flint", "--names", "class.txt"],
    ["write", "flint", "high tide", "--guides"],
    ["plan", "flint", "high tide"],
    ["plan", "flint", "--names", "class.txt", "--up", "2"],
]


@pytest.mark.parametrize("command", TILED, ids=lambda command: " ".join(command[::2]))
def test_every_page_larger_than_the_printers_paper_is_tiled(cli, home, command):
    """An A3 page on A4: two by two tiles upright or lying (overlap and margins keep one or two from being enough)."""
    (home / "class.txt").write_text("Anna\n")
    result = cli(*command, "--paper", "a3", "--printer-paper", "a4", "-o", "t.pdf")
    assert result.code == 0, result.err
    document = pypdfium2.PdfDocument(home / "t.pdf")
    sizes = {tuple(sorted(round(side / 72 * 25.4) for side in page.get_size())) for page in document}
    assert sizes == {(210, 297)}
    assert len(document) >= 2
    whole = cli(*command, "--paper", "a5", "--printer-paper", "a4", "-o", "w.pdf")
    assert whole.code == 0, whole.err
    assert {round(page.get_width() / 72 * 25.4) for page in pypdfium2.PdfDocument(home / "w.pdf")} == {148}


@pytest.mark.parametrize(
    "command",
    [
        ["write", "flint", "tide", "--paper", "a7"],
        ["worksheet", "flint", "tide", "--paper", "a7"],
        ["plan", "flint", "tide", "--paper", "nosuch"],
        ["compare", "flint", "--paper", "a7", "--all", "--text", "harbour"],
        ["sheet", "flint", "--paper", "a7"],
    ],
    ids=lambda command: command[0],
)
def test_an_x_height_outside_the_band_that_fails_too_is_one_line(cli, home, command):
    result = cli(*command, "--x-height", "70mm")
    assert result.code == 2
    assert result.line
    assert not list(home.iterdir())


def test_an_x_height_outside_the_band_is_told_once_the_file_is_there(cli, home):
    for command in (["write", "flint", "tide"], ["worksheet", "flint", "tide"], ["plan", "flint", "tide"]):
        result = cli(*command, "--x-height", "9mm", "-o", f"{command[0]}.pdf")
        assert result.code == 0
        assert result.line.startswith("an x-height of 9.0 mm is too large for flint")


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (["boulder", "--size", "400x300"], "400 × 300 pixels: the index of so many pages does not fit; the smallest"),
        (["boulder", "--size", "600x600"], "600 × 600 pixels: no row of boulder fits; the smallest page that would do"),
    ],
)
def test_a_planners_page_is_named_by_its_pixels(cli, home, arguments, told):
    line = cli("planner", *arguments).line
    assert line.startswith(told)
    width, height = (int(side) for side in re.search(r"--size (\d+)x(\d+)", line).groups())
    again = cli("planner", "boulder", "--size", f"{width}x{height}")
    assert again.code == 0 or "--size" in again.line  # where the index fits a row may still need more
    assert again.code == 2 or list(home.iterdir())


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (["handout"], "at least one marker, or --all"),
        (["compare", "nosuch"], "a marker's name"),
        (["worksheet", "flint"], "one of TEXT, --letters, --drills, --names"),
        (["worksheet", "flint", "tide", "--letters", "a"], "one of TEXT, --letters, --drills, --names"),
        (["worksheet", "flint", "tide", "--rows", "solid,dashed"], "some of solid, hollow, dotted"),
        (["worksheet", "flint", "tide", "--repeats", "0"], "a number from 1 to 200, or fill"),
        (["worksheet", "flint", "--letters", "z-a"], "a range such as a-z"),
        (["worksheet", "flint", "--letters", ","], "no letter named"),
        (["worksheet", "flint", "--drills", "zigzag"], "a basic stroke of print"),
        (["worksheet", "flint", "--names", "nosuch.txt"], "a text file"),
        (["worksheet", "flint,flint", "tide"], "each value once"),
        (["worksheet", "flint", "tide", "--hand", "uncial"], "guides only"),
        (["plan", "flint"], "MARKER TEXT"),
        (["plan", "flint", "high tide", "--lines", "3"], "at most 2"),
        (["plan", "--line", "flint"], "MARKER:TEXT"),
        (["plan", "flint", "tide", "--up", "4"], "add --names"),
        (["write", "flint"], "some text to write"),
        (["write", "slate", "the boats come in with the tide", "--paper", "a7"], "the smallest paper that would do"),
        (["write", "flint", "tide", "--printer-paper", "30x30mm"], "no room for tiles"),
    ],
)  # fmt: skip
def test_what_cannot_be_is_told_in_one_line(cli, home, arguments, told):
    result = cli(*arguments)
    assert result.code == 2
    assert told in result.line
    assert not list(home.iterdir())


@pytest.mark.parametrize(
    ("content", "told"),
    [
        (b"anna\nma\trit\n", "line 2"),
        (b"", "no name"),
        (b"anna\x81\n", "save it as UTF-8"),
        ("anna\n\u05d3\u05d5\u05d3\n".encode(), "U+05D3"),
        (b"x" * 1_000_001, "at most 1000 kB"),
    ],
)
def test_a_bad_file_of_names_is_told_in_one_line(cli, home, content, told):
    (home / "class.txt").write_bytes(content)
    result = cli("worksheet", "flint", "--names", "class.txt")
    assert result.code == 2
    assert told in result.line
    assert [path.name for path in home.iterdir()] == ["class.txt"]


def test_a_plan_as_json_has_the_keys_of_the_contract(cli):
    result = cli("plan", "flint", "the boats come in with the evening tide", "--paper", "a6", "--json")
    assert result.code == 0
    values = json.loads(result.out)
    for key in ("fits", "lines", "width_mm", "height_mm", "x_height_mm", "smallest_paper", "largest_marker"):
        assert key in values
    assert values["fits"] is True
    assert values["lines"] == len(values["text"])


def test_a_plan_that_does_not_fit_says_so_and_succeeds(cli, home):
    result = cli("plan", "slate", "the boats come in with the evening tide", "--paper", "a6")
    assert result.code == 0
    assert result.out.startswith("does not fit A6")
    assert re.search(r"smallest paper +a\d", result.out)
    assert not list(home.iterdir())


def test_one_line_is_told_as_one_line(cli, home):
    assert cli("plan", "grit", "tide", "--paper", "a6").out.startswith("fits A6: 1 line at x-height")
    (home / "one.txt").write_text("anna\n")
    assert cli("plan", "flint", "--names", "one.txt").out.startswith("1 name at x-height")


def test_a_set_of_names_is_planned_and_its_cards_written(cli, home):
    (home / "guests.txt").write_text("anna\nmarit\nleif\n")
    result = cli("plan", "flint", "--names", "guests.txt", "--up", "8", "-o", "cards.pdf")
    assert result.code == 0, result.err
    assert result.out.startswith("3 names at x-height 5.6 mm, in the band")
    assert pages(home / "cards.pdf") == 1


@pytest.mark.parametrize("up", [[], ["--up", "4"]])
def test_a_set_as_json_has_the_keys_of_the_contract_and_they_are_true(cli, home, up):
    (home / "guests.txt").write_text("Anna\nMarit\nBartholomew\n")
    result = cli("plan", "pebble", "--names", "guests.txt", *up, "--json")
    assert result.code == 0
    values = json.loads(result.out)
    for key in ("fits", "lines", "width_mm", "height_mm", "x_height_mm", "smallest_paper", "largest_marker"):
        assert key in values
    assert values["fits"] is True
    assert values["longest"] == "Bartholomew"
    paper = [values["smallest_paper"], *(["--landscape"] if values["smallest_paper_landscape"] else [])]
    size = ["--x-height", f"{values['x_height_mm'] - 0.001}"]
    there = cli("plan", "pebble", "--names", "guests.txt", *up, "--json", "--paper", *paper, *size)
    assert json.loads(there.out)["x_height_mm"] == pytest.approx(values["x_height_mm"] - 0.001, abs=0.0002)
    biggest = cli("plan", values["largest_marker"], "--names", "guests.txt", *up, "--json")
    right = cli("size", values["largest_marker"], "--json")
    assert json.loads(biggest.out)["x_height_mm"] == pytest.approx(json.loads(right.out)["x_height_mm"], abs=0.001)


def test_a_cut_word_is_told_beside_the_file(cli, home):
    result = cli("worksheet", "slate", "lighthousekeepersdaughter", "--rows", "solid", "--paper", "a5", "-o", "w.pdf")
    assert result.code == 0
    assert "is practised in parts; the smallest paper that holds it whole is" in result.line


@pytest.mark.parametrize("command", ["write", "worksheet"])
def test_a_character_the_hand_lacks_is_a_box_where_that_is_asked_for(cli, home, command):
    text = "tide \u263e \u05e9x"
    assert "U+263E" in cli(command, "flint", text, "-o", "t.svg").line
    assert cli(command, "flint", text, "--missing", "box", "-o", "t.svg").code == 0
    assert text in (home / "t.svg").read_text()


def test_no_bar_where_nobody_watches(cli_process, home):
    (home / "class.txt").write_text("\n".join(["anna", "marit"] * 12))
    result = cli_process("worksheet", "flint", "--names", "class.txt")
    assert result.code == 0
    assert result.err == ""


def test_a_class_of_names_is_the_same_file_however_many_processes_make_it():
    from guidegen.hands.library import list_papers, load_hand, load_marker
    from guidegen.lettering.lettering import Lettering
    from guidegen.sheets.name_sheets import NameSheets
    from guidegen.sheets.parts.frame import Setup
    from guidegen.sheets.practice import Practice
    from guidegen.sheets.worksheet import Dress
    from guidegen.writers.names_pdf import names_pdf

    practice = Practice(Lettering(load_marker("flint"), load_hand("print"), 5.6), (), by_letter=True)
    sheets = NameSheets((practice,), Setup(list_papers()["a5"]), Dress())
    names = [first + rest for rest in ("na", "lo", "ri") for first in "abdefghjklmnprst"]
    files = {names_pdf(names, sheets, processes=processes)[0] for processes in (1, 2, 3)}
    assert len(files) == 1


@pytest.mark.parametrize(
    ("name", "data", "names"),
    [
        ("class.txt", "Jörg\r\nZoë\r\n".encode("cp1252"), ["Jörg", "Zoë"]),
        ("class.txt", "Jörg\nZoë\n".encode("utf-16"), ["Jörg", "Zoë"]),
        ("class.csv", "No;Nachname;Vorname\n1;Lund;Jörg\n2;Holm;Zoë\n".encode("cp1252"), ["Jörg", "Zoë"]),
        ("class.csv", b'"Ada ""A."" Lund",8b\nTom,8b\n', ['Ada "A." Lund', "Tom"]),
        ("class.tsv", b"Name\tRoom\nAda\t1\n\t\nTom\t2\n", ["Ada", "Tom"]),
    ],
)
def test_class_lists_of_spreadsheets_and_older_editors_are_read(home, name, data, names):
    """Windows-1252 and UTF-16 are what editors there have called ANSI and Unicode (from memory); CSV is RFC 4180."""
    (home / name).write_bytes(data)
    assert list(names_of(home / name)[0]) == names


def test_a_table_that_is_none_is_told_in_one_line(cli, home):
    (home / "class.csv").write_text('Ada,"8b\nTom,8b\n')
    result = cli("worksheet", "flint", "--names", "class.csv")
    assert result.code == 2
    assert "CSV" in result.line
