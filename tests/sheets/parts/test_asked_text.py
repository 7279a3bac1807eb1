"""Words that cannot be written are named in one line."""

from __future__ import annotations

import pytest

from guidegen.errors import GuidegenError
from guidegen.sheets.names import read_names
from guidegen.sheets.parts.asked_text import one_text, text_lines


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("", "expected some text"),
        ("   \n  ", "expected some text"),
        ("tide\tand", r"U\+0009 TAB"),
        ("tide\x00", r"U\+0000 NULL"),
        ("tide\u202egnp", r"U\+202E RIGHT-TO-LEFT OVERRIDE"),
        ("\ue000", r"U\+E000"),
        ("x" * 10_000, "a word of 10000 letters"),
        ("tide " * 5000, "25000 characters"),
    ],
)
def test_what_is_no_text_is_named(text, told):
    with pytest.raises(GuidegenError, match=told) as caught:
        text_lines(text, "TEXT")
    assert "\n" not in str(caught.value)
    assert len(str(caught.value)) < 300


def test_lines_are_composed_and_tidied():
    assert text_lines("  cafe\u0301  au \n lait", "TEXT") == ("caf\u00e9 au", "lait")
    assert text_lines("a\\nb", "TEXT") == ("a", "b")
    assert one_text("tide", "TEXT") == "tide"


def test_names_keep_their_order_and_lose_only_what_is_empty():
    assert read_names("\ufeffAnna\r\n\n  Marit  \nAnna\n", "class.txt") == ("Anna", "Marit", "Anna")


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("\n\n", "found 'no name'"),
        ("Anna\nMa\trit", r"line 2: found 'U\+0009 TAB'"),
        ("A" * 81, "line 1.*at most 80"),
        ("x\n" * 10_001, "at most 10000 names"),
    ],
)
def test_names_that_cannot_be_are_told_with_their_line(text, told):
    with pytest.raises(GuidegenError, match=told):
        read_names(text, "class.txt")
