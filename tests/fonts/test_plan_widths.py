"""Planned widths against HarfBuzz on the marker's own font: within a unit a glyph."""

from __future__ import annotations

import pytest
from made import file_of, letters_of
from shaped import shape

from guidegen.sheets.lettering import Lettering

LINES = ("the boats come in", "with the evening tide", "fog over the quay")
CHARS = "".join(sorted(set("".join(LINES))))


def differences(marker, texts):
    """Yield for each text: planned width less HarfBuzz's in font units, and the number of glyphs."""
    data, letters = file_of(marker, "solid", CHARS), letters_of(marker, CHARS)
    one = Lettering(letters.marker, letters.hand, letters.x_height_mm)
    for text in texts:
        glyphs = shape(data, text)
        advance = sum(glyph.advance for glyph in glyphs)
        yield letters.size.units(one.line(text).width_mm) - advance, len(glyphs)


@pytest.mark.parametrize("marker", ["slate", "flint"])
def test_lines_are_as_wide_as_harfbuzz_sets_them(marker):
    for difference, glyphs in differences(marker, LINES):
        assert abs(difference) <= glyphs


def test_joined_words_are_as_wide_as_harfbuzz_sets_them():
    """Words only: between joined words the page evens the white, for which a font's one space has no choice."""
    words = [word for line in LINES for word in line.split()]
    for difference, glyphs in differences("pebble", words):
        assert abs(difference) <= glyphs
