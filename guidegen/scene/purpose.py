"""What the artwork on a page is for: the one list of layers, and what may be asked of each.

A layer's id is the same word in every file: the SVG group, the PDF layer, the DXF layer. Who draws a page names a
purpose; who writes, cuts, prints or measures it asks for a trait and never for a word.
"""

from __future__ import annotations

from enum import Flag, StrEnum, auto
from typing import Self


class Trait(Flag):
    """What is true of everything of one purpose."""

    NONE = 0
    LETTERS = auto()
    """Letters, in whatever form: what the size of the writing is told by."""
    INK = auto()
    """Letters in a marker's own strokes, filled: what a blade cuts and what a plate of their colour prints."""
    GUIDE = auto()
    """Lines to write between."""
    MARK = auto()
    """Whatever tells something about the page: neither letters nor lines to write between."""
    WORDS = auto()
    """Words, set in the open face of the labels."""
    OPERATION = auto()
    """What a cutting machine is told to do."""


class Purpose(StrEnum):
    """The purposes of layers. The value is the id in a file; the properties are what may be asked."""

    traits: Trait

    def __new__(cls, identifier: str, traits: Trait = Trait.NONE) -> Self:
        """Make a member: the identifier is its value, so ``Purpose("ink")`` finds it."""
        made = str.__new__(cls, identifier)
        made._value_ = identifier
        made.traits = traits
        return made

    LINES = "lines", Trait.GUIDE
    SLANT = "slant", Trait.GUIDE
    LETTER = "letter", Trait.LETTERS | Trait.INK
    LETTER_SMALLEST = "letter-smallest", Trait.LETTERS | Trait.INK
    LETTER_LARGEST = "letter-largest", Trait.LETTERS | Trait.INK
    INK = "ink", Trait.LETTERS | Trait.INK
    TRACE = "trace", Trait.LETTERS
    """Letters to write over."""
    ORDER = "order", Trait.LETTERS
    """The letters whose order of strokes ``arrows`` show."""
    ARROWS = "arrows", Trait.MARK
    DIMENSIONS = "dimensions", Trait.MARK
    STROKES = "strokes", Trait.MARK
    """Strokes of stated width to hold a pen beside, and the pen-angle mark."""
    ENLARGED = "enlarged", Trait.MARK
    """A letter of a tiny marker shown larger, and its lines: a picture, no size to write at."""
    LADDER = "ladder", Trait.MARK
    """Squares of the nib's width that count a row's heights."""
    COMB = "comb", Trait.MARK
    """Bars of known width to hold beside a stroke."""
    FIDUCIALS = "fiducials", Trait.MARK
    """Ring marks by which a scan or photograph of the page is measured."""
    CELLS = "cells", Trait.MARK
    """Corners of the boxes to draw one stroke or write one letter in."""
    BLANKS = "blanks", Trait.MARK
    """Rules to fill in a word on."""
    STAMP = "stamp", Trait.MARK
    """The corner of an envelope that is kept free."""
    LABELS = "labels", Trait.MARK | Trait.WORDS
    PROOF = "proof", Trait.MARK | Trait.WORDS
    """What shows that a print is true to scale."""
    CROP = "crop", Trait.MARK
    """Where to cut or fold by hand."""
    BACKGROUND = "background", Trait.MARK
    """The ground of a page that has a colour of its own."""
    CUT = "cut", Trait.OPERATION
    SCORE = "score", Trait.OPERATION
    ENGRAVE = "engrave", Trait.OPERATION
    THIN = "thin", Trait.MARK
    """Rings round what a blade would tear."""

    @property
    def is_ink(self) -> bool:
        """True for letters in a marker's own strokes, filled."""
        return Trait.INK in self.traits

    @property
    def is_guide(self) -> bool:
        """True for lines to write between."""
        return Trait.GUIDE in self.traits

    @property
    def is_mark(self) -> bool:
        """True for what tells something about the page: neither letters nor lines to write between."""
        return Trait.MARK in self.traits

    @property
    def has_letters(self) -> bool:
        """True for letters in whatever form."""
        return Trait.LETTERS in self.traits

    @property
    def has_words(self) -> bool:
        """True for words in the face of the labels."""
        return Trait.WORDS in self.traits

    @property
    def is_operation(self) -> bool:
        """True for what a cutting machine is told to do."""
        return Trait.OPERATION in self.traits

    @property
    def may_be_cut(self) -> bool:
        """True for closed shapes that a blade follows."""
        return self.is_ink or self is Purpose.CUT

    @classmethod
    def of(cls, identifier: str | None) -> Purpose | None:
        """Return the purpose that a file's layer is named for, None for a name that is not ours."""
        return _BY_ID.get(identifier or "")


_BY_ID: dict[str, Purpose] = {purpose.value: purpose for purpose in Purpose}
