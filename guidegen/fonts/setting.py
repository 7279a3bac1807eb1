"""A word set in a face as a shaper would set it, for the pages that show a font; HarfBuzz agrees (see the tests)."""

from __future__ import annotations

import unicodedata
from dataclasses import dataclass

from guidegen.errors import GuidegenError
from guidegen.fonts.alphabet import Alphabet
from guidegen.fonts.forms import form_glyph_name
from guidegen.fonts.glyphs import FontFace, Glyph
from guidegen.geometry.measure import bounds
from guidegen.geometry.path import Outline, scale, translate
from guidegen.hands.alternates import alternated
from guidegen.hands.joins import START, form_names
from guidegen.lettering.free_ends import SPACE, unjoined_mm
from guidegen.lettering.letters import letter_data
from guidegen.lettering.spacing import kern_mm


@dataclass(frozen=True, slots=True)
class SetWord:
    """Glyph names with the places of their origins, and the width, in font units."""

    glyphs: tuple[tuple[str, int], ...]
    width: int


def set_word(letters: Alphabet, face: FontFace, text: str) -> SetWord:
    """Return ``text`` set on one line of ``face``, which was built from ``letters``.

    Raises:
        GuidegenError: the face lacks a character.
    """
    known = {glyph.name: glyph for glyph in face.glyphs}
    line = unicodedata.normalize("NFC", text)
    for char in line:
        if ord(char) not in face.codepoints:
            raise GuidegenError(f"font {face.names.full}: it has no {char!r}; leave it out")
    forms = _forms(letters, face, line)
    x, placed, before = 0, [], ""
    for char, (name, free) in zip(line, forms, strict=True):
        sign = SPACE if char.isspace() else char
        x += _kern(letters, face, before, sign) if before and free else 0
        placed.append((name, x))
        x += known[name].advance
        before = sign
    return SetWord(tuple(placed), x)


def filled(letters: Alphabet, face: FontFace, text: str, room: float) -> SetWord:
    """Return ``text`` set; in a ruled face spaces, which carry the lines, fill the row up to ``room`` font units."""
    word = set_word(letters, face, text)
    space = next((glyph.advance for glyph in face.glyphs if 0x20 in glyph.codepoints), 0)
    more = int((room - word.width) // space) if face.ruled and space else 0
    return set_word(letters, face, text + " " * more) if more > 0 else word


def _forms(letters: Alphabet, face: FontFace, line: str) -> list[tuple[str, bool]]:
    """Return each character's glyph, and whether nothing leads into it from the one before."""
    hand = letters.hand
    if not hand.joins:
        return [(face.codepoints[ord(char)], True) for char in line]
    forms = form_names(hand, [None if char.isspace() else letter_data(hand, char) for char in line])
    shapes = alternated(hand, [None if char.isspace() else char for char in line])
    return [
        (face.codepoints[ord(char)] if char.isspace() else form_glyph_name(hand, char, form, shape), form[0] == START)
        for char, form, shape in zip(line, forms, shapes, strict=True)
    ]


def _kern(letters: Alphabet, face: FontFace, left: str, right: str) -> int:
    if "feature kern" not in face.features:
        return 0
    kern = unjoined_mm if letters.hand.joins else kern_mm
    return letters.units(kern(letters.lettering, left, right))


def word_span(face: FontFace, word: SetWord) -> tuple[float, float]:
    """Return how far a word's ink reaches left and right of its start, its width included, in font units."""
    outline = word_outline(face, word, 1.0)
    if not outline:
        return 0.0, float(word.width)
    low, high = bounds(outline)
    return min(low.real, 0.0), max(high.real, float(word.width))


def word_outline(face: FontFace, word: SetWord, mm_per_unit: float) -> Outline:
    """Return the outlines of a word on its baseline from x = 0, ``mm_per_unit`` to the unit."""
    known = {glyph.name: glyph for glyph in face.glyphs}
    paths = [path for name, x in word.glyphs for path in translate(glyph_outline(known[name], known), x)]
    return scale(tuple(paths), mm_per_unit)


def glyph_outline(glyph: Glyph, known: dict[str, Glyph]) -> Outline:
    """Return a glyph's outline with its components put in, in font units."""
    parts = [path for part in glyph.components for path in translate(known[part.name].outline, part.at)]
    return (*glyph.outline, *parts)
