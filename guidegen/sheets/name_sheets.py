"""A practice sheet for each name of a class: what makes a name's pages, here or in another process."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from guidegen.profiles.printers import described
from guidegen.scene import Document, Page, Symbol
from guidegen.sheets.parts.forms import first_letters
from guidegen.sheets.parts.frame import Setup
from guidegen.sheets.practice import Practice
from guidegen.sheets.worksheet import Dress, drawn_letters, practice_pages

Letters = tuple[int, str, tuple[int, ...]]
"""Which practice, a text, and the places of the letters in it that are to be drawn."""


@dataclass(frozen=True, slots=True)
class NameSheets:
    """Makes the pages of one name; sent to other processes, so it holds plain data only."""

    practices: tuple[Practice, ...]
    setup: Setup
    dress: Dress

    def letters(self, names: Sequence[str]) -> list[Letters]:
        """Return the tasks of drawing each form of a letter that ``names`` need, once."""
        return [
            (number, text, places)
            for number, practice in enumerate(self.practices)
            if not practice.lettering.boxes
            for text, places in first_letters(practice.lettering, names)
        ]

    def draw(self, task: Letters) -> tuple[Symbol, ...]:
        """Return the artwork of one task."""
        number, text, places = task
        return drawn_letters(self.practices[number], text, places)

    def knowing(self, drawn: frozenset[str]) -> NameSheets:
        """Return the same sheets for a file that holds the symbols ``drawn`` already."""
        return replace(self, practices=tuple(replace(practice, drawn=drawn) for practice in self.practices))

    def __call__(self, name: str) -> tuple[tuple[Page, ...], tuple[str, ...]]:
        """Return the pages of one name, and what is worth telling about it."""
        notes: list[str] = []
        dress = self.dress if self.dress.title else replace(self.dress, title=name)
        pages = [
            replace(page, bookmark=name if number == 0 else None)
            for practice in self.practices
            for number, page in enumerate(practice_pages(replace(practice, texts=(name,)), self.setup, dress, notes))
        ]
        return tuple(pages), tuple(notes)

    @property
    def description(self) -> str:
        """What a file of these sheets says of itself: that it was corrected for a printer, if it was."""
        return described("", self.setup.printer, self.setup.paper)

    def document(self, names: Sequence[str]) -> Document:
        """Return all pages of all names as one document."""
        made = [self(name) for name in names]
        pages = tuple(page for found, _ in made for page in found)
        told = tuple(dict.fromkeys(note for _, notes in made for note in notes))
        return Document(pages, self.setup.say("worksheet.names", count=len(names)), self.description, told)
