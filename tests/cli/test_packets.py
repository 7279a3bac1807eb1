"""Packets: the pages of a class from a small list, all of them or none."""

import inspect

import pypdfium2
import pytest

import guidegen as gg
from guidegen.api import packet_values, packets

ANY = '[packet]\ntitle = "Tuesday"\nmarkers = ["flint"]\npaper = "a5"\n'
SHEET = '[[page]]\nmake = "sheet"\n'
NAMES = '[[page]]\nmake = "worksheet"\nnames = true\n'


def bookmarks(path):
    document = pypdfium2.PdfDocument(path)
    try:
        return [entry.get_title() for entry in document.get_toc()]
    finally:
        document.close()


def test_every_option_of_every_page_is_checked():
    asked = {key for make in packets._MAKERS.values() for key in inspect.signature(make).parameters}
    assert asked == set(packet_values._CHECKS)


def test_the_packet_that_ships_holds_model_strokes_letters_names_and_guides(cli, home):
    (home / "class.txt").write_text("Ada\nTom\n")
    assert cli("packet", "class", "--marker", "flint", "--names", "class.txt", "-o", "evening.pdf").code == 0
    told = bookmarks(home / "evening.pdf")
    assert "Upright print" in told[0]
    assert any(title.startswith("Basic strokes") for title in told)
    assert [title for title in told if title in {"Ada", "Tom"}] == ["Ada", "Tom"]
    assert "guide sheet" in told[-1]


def test_pages_come_in_their_order_and_what_the_command_says_counts_most(cli, home):
    pages = SHEET + '[[page]]\nmake = "letter"\nmarkers = ["grit"]\nchar = "n"\npaper = "a4"\n'
    (home / "tuesday.toml").write_text(ANY + pages)
    made = gg.packet("tuesday.toml")
    assert [round(width) for width, _ in made.page_mm] == [148, 210]
    assert made.document.title == "Tuesday"
    assert cli("packet", "tuesday.toml", "--paper", "letter", "-o", "t.pdf").code == 0
    with pypdfium2.PdfDocument(home / "t.pdf") as document:
        assert {round(document[number].get_width()) for number in range(2)} == {612}


def test_pages_for_names_are_left_out_without_any_and_told(cli, home):
    (home / "t.toml").write_text(ANY + NAMES + SHEET)
    result = cli("packet", "t.toml")
    assert (result.code, "1 of 2 pages are for names" in result.err) == (0, True)


@pytest.mark.parametrize(
    ("text", "told"),
    [
        (ANY + '[[page]]\nmake = "shet"\n', "page 1: make: found 'shet'"),
        (ANY + SHEET + '[[page]]\nmake = "sheet"\nlettrs = "a"\n', "page 2: lettrs"),
        (ANY + SHEET + '[[page]]\nmake = "worksheet"\nletters = "ʒ"\n', "page 2: "),
        (ANY + '[[page]]\nmake = "sheet"\nmargin_mm = "wide"\n', "page 1: "),
        (ANY + '[[page]]\nmake = "sheet"\nmarkers = 3\n', "page 1: markers"),
        ('[packet]\nmarkrs = ["flint"]\n' + SHEET, "packet.markrs"),
        (SHEET, "page 1: markers"),
        (ANY, "at least one table [[page]]"),
        (ANY + NAMES, "no page to make"),
        ("[[pages]]\n", "an unknown table"),
    ],
)
def test_a_packet_that_is_none_is_told_in_one_line_and_writes_nothing(cli, home, text, told):
    (home / "t.toml").write_text(text)
    result = cli("packet", "t.toml", "-o", "t.pdf")
    assert (result.code, told in result.line) == (2, True), result.line
    assert not (home / "t.pdf").exists()
