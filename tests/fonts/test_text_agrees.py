"""Text on a page against HarfBuzz on the marker's own font: every letter in its place, every line as wide.

A page rounds nothing, the font each advance and each kerning to a whole unit, half a unit off each: so a letter may
stand off by a unit for every glyph before it, spaces counted, and the first one not at all.
"""

from __future__ import annotations

import itertools
import string

import pytest
from made import DEMO_MARKERS, file_of, letters_of
from shaped import shape

from guidegen.fonts.charset import is_mark
from guidegen.hands.accents import COMBINING
from guidegen.lettering.text import set_line
from guidegen.sheets.parts.words import line_of

SENTENCES = (
    "the boats come in with the evening tide",
    "Fog over the quay; the ferry leaves at 6.45, or so they say.",
    '"Ahoy!" cried Ada (from the jetty): "Is that a gull? A tern?"',
    "  two spaces  lead, and two  stand between ",
    "Vega, Yawl & Tide: 19/7 at 11.30 - 'high water'! Off we jolly well go...",
    "Pj\u00e1ty Z\u00fcrich, \u0141\u00f3d\u017a; \u00cele d'Yeu? \u00abT\u00ebte\u00bb.",
    "f\u00efn V\u00cet \u010f\u00e1s\u00a0\u013ehota (\u00d4bidos) T\u00ef\u00ef!",
)
SIGNS = ".,;:!?'\")(-&\u2019\u201d\u2013"
LOW, TALL = string.ascii_lowercase, string.ascii_uppercase + string.digits


def word_pairs():
    """Return lines that end and begin words with every letter, alone and beside signs: all pairs turn up that can."""
    rows = [" ".join(f"n{a} {b}n" for b in LOW) for a in LOW]
    rows += [" ".join(f"{a}n{b}" for b in SIGNS) + " " + " ".join(f"{b}{a}n" for b in SIGNS) for a in LOW]
    rows += [" ".join(f"{a}{b}" for b in TALL) + " ".join(a + b for b in LOW + SIGNS) for a in TALL]
    return rows


CHARS = "".join(sorted(set("".join([*SENTENCES, *word_pairs()])) - set(" \u00a0")))


def differences(marker, text):
    """Return by how many units letters stand off, how many glyphs stand before each, and both for the line's end."""
    data, letters = file_of(marker, "solid", CHARS), letters_of(marker, CHARS)
    line = set_line(letters.lettering, text)
    glyphs = shape(data, text)
    before = [number for number, glyph in enumerate(glyphs) if glyph.name not in {"space", "uni00A0"}]
    shifts = {item.name: item.strokes[0].path.start.real for item in letters.items}
    places = [units(letters, entry.x_mm + entry.letter.strokes[0].path.start.real) for entry in line.letters]
    found = [glyphs[number] for number in before]
    off = [place - glyph.x - units(letters, shifts[glyph.name]) for place, glyph in zip(places, found, strict=True)]
    return off, before, units(letters, line.width_mm) - sum(glyph.advance for glyph in glyphs), len(glyphs)


def units(letters, mm):
    return letters.size.units(mm)


@pytest.mark.parametrize("marker", DEMO_MARKERS)
def test_every_letter_of_a_line_stands_where_harfbuzz_sets_it(marker):
    for text in SENTENCES:
        off, before, end, glyphs = differences(marker, text)
        assert abs(end) <= glyphs, text
        assert all(abs(each) <= number + 1e-6 for number, each in zip(before, off, strict=True)), text


@pytest.mark.parametrize("marker", ["cobble", "slate", "flint"])
def test_all_pairs_across_spaces_and_signs_agree(marker):
    for text in word_pairs():
        off, _, end, glyphs = differences(marker, text)
        steps = [b - a for a, b in itertools.pairwise(off)]
        assert all(abs(step) <= 3 for step in steps), text  # advance, kerning, space: each rounded once
        assert abs(end) <= glyphs, text


@pytest.mark.parametrize("marker", ["pebble", "slate", "flint"])
def test_planned_lines_are_as_wide_as_harfbuzz_sets_them(marker):
    letters = letters_of(marker, CHARS)
    one = letters.lettering
    for text in SENTENCES:
        advance = sum(glyph.advance for glyph in shape(file_of(marker, "solid", CHARS), text))
        assert abs(units(letters, line_of(one, text).width_mm) - advance) <= len(text), text


@pytest.mark.parametrize("marker", ["cobble", "slate", "flint"])
def test_marks_that_no_letter_holds_stand_where_the_font_attaches_them(marker):
    chars = CHARS + "".join(COMBINING) + "\u0131"
    letters, data = letters_of(marker, chars), file_of(marker, "solid", chars)
    stacked = ("n\u0308\u0301", "nn\u0308\u0304r")
    for text in ("x\u0302", "q\u0301on", "i\u030b", "B\u0304", "t\u0302", "H\u0328", *stacked):
        line = set_line(letters.lettering, text)
        marks = [entry for entry in line.letters if entry.letter.char in COMBINING]
        starts = {item.name: item.strokes[0].path.start for item in letters.items if is_mark(item.char)}
        found = [glyph for glyph in shape(data, text) if glyph.name in starts]
        assert len(marks) == len(found) == sum(map(is_mark, text)), text
        for entry, glyph in zip(marks, found, strict=True):
            by = entry.letter.strokes[0].path.start + entry.x_mm - starts[glyph.name]
            assert abs(units(letters, by.real) - glyph.x) <= 4, (text, glyph)
            assert abs(units(letters, by.imag) - glyph.y) <= 2, (text, glyph)
