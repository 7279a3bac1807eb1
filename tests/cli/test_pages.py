"""``sheet``, ``letter`` and ``trial`` as files: names, papers, formats, what is refused."""

import os
import re
import string
import subprocess
import sys
from pathlib import Path

import pypdfium2
import pytest

# Sizes of these papers in mm: ISO 216, and ANSI letter 8.5 x 11 in.
SIZES = {"a4": ("210", "297"), "letter": ("215.9", "279.4")}


def made(result):
    assert result.code == 0, result.err
    return [Path(line) for line in result.out.splitlines()]


def page_of(path):
    return re.search(r'viewBox="0 0 ([\d.]+) ([\d.]+)"', path.read_text()).groups()


@pytest.mark.parametrize(
    ("arguments", "names"),
    [
        (["sheet", "slate"], ["sheet-slate.pdf"]),
        (["letter", "flint"], ["letter-flint.pdf"]),
        (["letter", "flint", "--char", "o", "--format", "svg"], ["letter-flint-u006f.svg"]),
        (["trial", "--format", "svg"], [f"trial-{page}.svg" for page in (1, 2, 3, 4)]),
        (["trial", "-o", "t.pdf"], ["t.pdf"]),
        (["sheet", "slate", "--paper", "a4,letter"], ["sheet-slate-a4.pdf", "sheet-slate-letter.pdf"]),
        (["sheet", "slate", "--paper", "a4,8.5x11in", "-o", "s.svg"], ["s-a4.svg", "s-8.5x11in.svg"]),
        (["sheet", "slate", "-o", "s.data", "--format", "svg"], ["s.data"]),
        (["sheet", "slate", "-o", ".", "--format", "png"], ["sheet-slate.png"]),
        (["sheet", "slate", "-o", "S.SVG"], ["S.SVG"]),
    ],
)
def test_files_are_named_after_command_and_marker(cli, home, arguments, names):
    assert [path.name for path in made(cli(*arguments))] == names
    assert sorted(path.name for path in home.iterdir()) == sorted(names)
    signatures = {".pdf": b"%PDF-", ".svg": b"<?xml", ".png": b"\x89PNG"}
    for name in names:
        head = Path(name).read_bytes()[:5]
        assert head.startswith(signatures.get(Path(name).suffix.lower(), b"<?xml")[:5])


@pytest.mark.parametrize(("paper", "size"), SIZES.items())
def test_the_page_is_the_paper(cli, paper, size):
    (path,) = made(cli("sheet", "slate", "--paper", paper, "-o", "s.svg"))
    assert page_of(path) == size
    (path,) = made(cli("sheet", "slate", "--paper", paper, "--landscape", "-o", "l.svg"))
    assert page_of(path) == size[::-1]


def test_stdout_takes_a_page(cli, home):
    result = cli("sheet", "slate", "--format", "svg", "-o", "-")
    assert result.code == 0
    assert result.out.startswith("<?xml")
    assert cli("sheet", "slate", "-o", "s.svg").code == 0
    assert Path("s.svg").read_text() == result.out
    result = cli("sheet", "slate", "--format", "svg", "--paper", "a4,letter", "-o", "-")
    assert (result.code, result.out) == (2, "")


def test_a_paper_named_twice_is_made_once(cli):
    assert [path.name for path in made(cli("sheet", "slate", "--paper", "a4,letter,a4", "-o", "s.svg"))] == [
        "s-a4.svg", "s-letter.svg",
    ]  # fmt: skip
    assert made(cli("sheet", "slate", "--paper", "a5,a5", "-o", "t.svg")) == [Path("t.svg")]


def test_characters_that_no_page_can_show_are_named(cli, home):
    result = cli("sheet", "slate", "--credit", "海 Łódź – Ærø", "-o", "s.svg")
    assert result.code == 2
    assert result.line.startswith("--credit: the face of the page's words lacks 海 U+6D77")
    assert not list(home.iterdir())
    assert cli("sheet", "slate", "--credit", "Łódź – Ærø", "-o", "t.svg").err == ""


def test_sizes_of_the_band_and_slants_of_ones_own(cli):
    def rows(*arguments):
        text = made(cli("sheet", "slate", "-o", "s.svg", "--force", *arguments))[0].read_text()
        return text.count('data-line="baseline"'), text.count('data-line="slant"')

    smallest, right, largest = (rows("--at", at)[0] for at in ("smallest", "right", "largest"))
    assert smallest > right > largest
    assert rows("--slant", "82,60")[1] > rows("--slant", "82")[1]
    assert rows("--x-height", "3in")[0] == 1


def test_an_x_height_outside_the_band_is_made_and_said(cli):
    result = cli("sheet", "slate", "--x-height", "40", "-o", "s.svg")
    assert result.code == 0
    assert "too large for slate" in result.line


def test_a_printer_that_is_off_is_kept_by_name(cli, tmp_path):
    made(cli("sheet", "slate", "--measured", "98.6x99.1", "--printer", "staffroom", "-o", "a.svg"))
    made(cli("sheet", "slate", "--printer", "staffroom", "-o", "b.svg"))
    made(cli("sheet", "slate", "--measured", "98.6x99.1", "-o", "c.svg"))
    assert Path("a.svg").read_text() == Path("b.svg").read_text() == Path("c.svg").read_text()
    assert "98.6" in (tmp_path / "config" / "guidegen" / "printers.toml").read_text()
    made(cli("sheet", "slate", "--measured", "100.4x100", "--printer", "hall", "-o", "d.svg"))
    kept = (tmp_path / "config" / "guidegen" / "printers.toml").read_text()
    assert "staffroom" in kept
    assert "hall" in kept
    result = cli("sheet", "slate", "--printer", "stafroom", "-o", "e.svg")
    assert result.code == 2
    assert "did you mean staffroom" in result.line


BAD = [
    (["--paper", "leter"], "did you mean letter"),
    (["--paper", ""], "--paper"),
    (["--paper", "a4,,letter"], "--paper"),
    (["--paper", "0x100mm"], "sides from 10 mm"),
    (["--paper", "20x20mm"], "room"),
    (["--margin", "-1"], "--margin"),
    (["--margin", "150mm"], "--margin"),
    (["--margin", "2lightyears"], "a length such as"),
    (["--x-height", "nan"], "a length such as"),
    (["--x-height", "400mm"], "paper"),
    (["--slant", "60,x"], "--slant"),
    (["--slant", "60,60"], "each value once"),
    (["--slant", "200"], "20 to 160"),
    (["--at", "medium"], "'medium' is not one of"),
    (["--proof", "maybe"], "is not one of"),
    (["--measured", "98"], "across x down"),
    (["--measured", "9x9"], "across x down"),
    (["--printer", "attic"], "--measured"),
    (["--printer", "A B"], "lower-case"),
    (["--format", "docx"], "one of"),
    (["--format", "spg"], "did you mean svg"),
    (["-o", "page.docx"], "one of"),
    (["-o", "nowhere/page.pdf"], "no such folder"),
    (["-o", "taken.pdf"], "exists already"),
    (["-o", "taken.pdf/page.pdf"], "a file"),
    (["-o", "page.png", "--ppi", "0"], "--ppi"),
    (["-o", "page.png", "--ppi", "nan"], "--ppi"),
    (["--hand", "joind"], "did you mean joined"),
    (["--hand", "."], "hand.toml"),
]


@pytest.mark.parametrize(("arguments", "words"), BAD)
def test_bad_input_is_one_line_and_nothing_is_written(cli, home, arguments, words):
    Path("taken.pdf").write_bytes(b"old")
    result = cli("sheet", "slate", *arguments)
    assert result.code == 2
    assert result.out == ""
    assert words in result.line
    assert [path.name for path in home.iterdir()] == ["taken.pdf"]
    assert Path("taken.pdf").read_bytes() == b"old"


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["letter", "slate", "--char", "ee"], "one letter"),
        (["letter", "slate", "--char", "☃"], "☃"),
        (["letter", "slate", "--hand", "uncial"], "no letter"),
        (["letter", "boulder", "--paper", "a8"], "paper"),
        (["trial", "--from", "20", "--to", "3"], "--from"),
        (["trial", "--to", "300mm"], "--to"),
        (["trial", "--slant", "x"], "--slant"),
        (["sheet", "nobody"], "a marker's name"),
    ],
)
def test_other_pages_refuse_as_clearly(cli, home, arguments, words):
    result = cli(*arguments)
    assert result.code == 2
    assert words in result.line
    assert list(home.iterdir()) == []


def test_an_unwritable_folder(cli_process, home):
    """A folder nobody may write in, root included: the kernel's own /proc."""
    result = cli_process("sheet", "slate", "-o", "/proc/page.svg")
    assert result.code == 2
    assert result.line.startswith("/proc/page.svg: ")


def test_a_full_disk_is_one_line(cli_process):
    result = cli_process("sheet", "slate", "--format", "svg", "-o", "/dev/full")
    assert result.code == 2
    assert result.line == "/dev/full: the disk is full; no file was left half written"


@pytest.mark.parametrize("ending", ["svg", "pdf", "png", "eps"])
def test_the_same_input_gives_the_same_bytes(home, ending):
    """Whatever the hash seed, the time zone, the locale, the user and the hour."""
    found = set()
    for seed, zone, locale in (("0", "UTC", "C"), ("12345", "Pacific/Auckland", "C.UTF-8")):
        environment = os.environ | {"PYTHONHASHSEED": seed, "TZ": zone, "LC_ALL": locale, "USER": f"user{seed}"}
        command = [sys.executable, "-m", "guidegen", "letter", "cobble", "-o", f"{seed}.{ending}"]
        ppi = ["--ppi", "60"] if ending == "png" else []
        subprocess.run([*command, *ppi], env=environment, check=True, capture_output=True)
        found.add(Path(f"{seed}.{ending}").read_bytes())
    assert len(found) == 1


def test_several_markers_make_one_file_or_one_each(cli, home):
    assert cli("sheet", "grit", "pebble", "grit").out == "sheet-grit-pebble.pdf\n"
    document = pypdfium2.PdfDocument(home / "sheet-grit-pebble.pdf")
    assert [entry.get_title().split(",")[0] for entry in document.get_toc()] == ["Grit", "Pebble"]
    document.close()
    assert cli("letter", "grit", "slate", "-o", "{marker}-e.svg").out == "grit-e.svg\nslate-e.svg\n"
    (home / "class").mkdir()
    assert cli("sheet", "grit", "pebble", "-o", "class").out == "class/sheet-grit.pdf\nclass/sheet-pebble.pdf\n"
    (home / "class" / "sheet-thorn.pdf").write_bytes(b"mine")
    result = cli("sheet", "flint", "thorn", "-o", "class")
    assert (result.code, sorted(path.name for path in (home / "class").iterdir())) == (
        2, ["sheet-grit.pdf", "sheet-pebble.pdf", "sheet-thorn.pdf"]
    )  # fmt: skip


def test_an_alphabet_holds_every_letter_on_guides(cli, home):
    assert cli("alphabet", "flint", "--order", "family", "--text", "tide", "-o", "a.svg").code == 0
    drawn = "".join(path.read_text() for path in sorted(home.glob("a*.svg")))
    assert all(f"<title>{char}</title>" in drawn for char in string.ascii_letters + string.digits)
    assert drawn.count('data-line="baseline"') >= 12
    result = cli("alphabet", "slate", "--hand", "uncial")
    assert (result.code, "no specimen without" in result.line) == (2, True)
