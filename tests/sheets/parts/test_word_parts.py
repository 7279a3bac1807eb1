"""Words in parts: as few as fit, cut where they are spoken in parts."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from guidegen.sheets.parts.word_parts import word_parts


def at_most(letters):
    return lambda part: len(part) <= letters


@given(st.text(st.characters(codec="ascii", categories=("Ll", "Lu")), min_size=1, max_size=24), st.integers(1, 9))
def test_parts_are_as_few_as_fit_and_make_the_word(word, letters):
    parts = word_parts(word, at_most(letters))
    assert "".join(parts) == word
    assert all(0 < len(part) <= letters for part in parts)
    assert len(parts) == -(-len(word) // letters)


def test_a_single_letter_is_never_cut():
    assert word_parts("abc", lambda _: False) == ["a", "b", "c"]


# Dictionaries divide tide not at all, and har-bour, wa-ter, fish-ing so (from memory); the measure asks for two parts.
@pytest.mark.parametrize(
    ("word", "letters", "parts"),
    [
        ("tide", 3, ["ti", "de"]),
        ("harbour", 4, ["har", "bour"]),
        ("water", 3, ["wa", "ter"]),
        ("regatta", 4, ["rega", "tta"]),
        ("lighter", 5, ["ligh", "ter"]),
        ("fishing", 4, ["fish", "ing"]),
    ],
)
def test_words_are_cut_where_they_are_spoken_in_parts(word, letters, parts):
    assert word_parts(word, at_most(letters)) == parts


def test_an_accent_stays_with_its_letter():
    word = "re\u0301gate"
    for letters in (2, 3, 4):
        assert not any(part.startswith("\u0301") for part in word_parts(word, at_most(letters)))
