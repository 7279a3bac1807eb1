"""What ``worksheet`` does: from options to practices, and a class of names into one file with flat memory."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from guidegen.cli.files import STDOUT, write_files
from guidegen.cli.hand_of import in_hand
from guidegen.cli.options import LetteringChoice, Output, PaperChoice
from guidegen.cli.progress import bar
from guidegen.cli.saving import note, output_format, output_path, page_setups, save_pages, tell_notes
from guidegen.cli.texts import check_names, letters_of, read_text_file, texts
from guidegen.errors import GuidegenError, bad_input, did_you_mean
from guidegen.saving import check_target
from guidegen.sheets.parts.words import check_text

if TYPE_CHECKING:
    from guidegen.profiles.markers import Marker
    from guidegen.scene import Document, Page, Symbol
    from guidegen.sheets.parts.frame import Setup
    from guidegen.sheets.practice import Practice, RowKind
    from guidegen.sheets.worksheet import Dress


@dataclass(frozen=True, slots=True)
class Asked:
    """The options of ``worksheet`` that say what is practised."""

    text: tuple[str, ...]
    letters: str | None
    drills: str | None
    names: Path | None
    rows: str | None
    repeats: int | str | None
    arrows: bool | None
    left_handed: bool
    tint: float | None
    missing: str


def make_worksheets(
    markers: tuple[Marker, ...],
    lettering: LetteringChoice,
    page: PaperChoice,
    output: Output,
    title: str | None,
    note: str,
    no_name_line: bool,
    binding: float,
    **asked: Any,
) -> None:
    """Make the worksheets asked for and write them."""
    from guidegen.sheets.worksheet import Dress, worksheet

    wanted = Asked(**asked)
    given = [wanted.text, wanted.letters, wanted.drills, wanted.names]
    if sum(bool(entry) for entry in given) != 1:
        raise bad_input("worksheet", "", "none or several of them", "one of TEXT, --letters, --drills, --names")
    dress = Dress(title or "", note, not no_name_line, binding)
    practices = [_practice(marker, lettering, wanted) for marker in markers]
    stem = f"worksheet-{'-'.join(marker.name for marker in markers)}"
    if wanted.names is not None:
        _write_names(stem, wanted.names, practices, dress, page, output)
        return
    save_pages(stem, page, output, lambda setup: worksheet(practices, setup, dress))


def _practice(marker: Marker, options: LetteringChoice, asked: Asked) -> Practice:
    from guidegen.sheets.parts.words import DRILL
    from guidegen.sheets.practice import Practice
    from guidegen.sheets.worksheet import drill_names

    lettering = in_hand(marker, options, asked.missing)
    single = asked.letters is not None or asked.drills is not None
    if asked.letters is not None:
        practised = letters_of(asked.letters)
        check_text(lettering, "".join(practised))
    elif asked.drills is not None:
        known = drill_names(lettering)
        if not known:
            raise GuidegenError(f"hand {lettering.hand.name}: it has guides only, no strokes to practise; try --hand")
        names = known if asked.drills == "all" else tuple(name.strip() for name in asked.drills.split(","))
        for name in names:
            if name not in lettering.hand.strokes:
                fix = did_you_mean(name, known) or "known: " + ", ".join(known)
                raise bad_input("--drills", "", name, f"a basic stroke of {lettering.hand.name}", fix)
        practised = tuple(DRILL + name for name in names)
    elif asked.names is not None:
        practised = ()
    else:
        practised = texts(asked.text)
        check_text(lettering, "".join(practised))
        practised = tuple(line for line in practised if line)
    repeats = asked.repeats if asked.repeats is not None else ("fill" if single else 1)
    return Practice(
        lettering,
        practised,
        rows_of(asked.rows, drills=asked.drills is not None),
        None if repeats == "fill" else int(repeats),
        single if asked.arrows is None else asked.arrows,
        asked.left_handed,
        None if asked.tint is None else asked.tint / 100,
        asked.names is not None,
        asked.rows is None,
        slants_deg=options.slant or (),
    )


def rows_of(text: str | None, *, drills: bool = False) -> tuple[RowKind, ...]:
    """Return the kinds of rows that ``--rows`` names; strokes are by default not written from memory.

    Raises:
        GuidegenError: for a kind that is none.
    """
    from guidegen.sheets.practice import DEFAULT_ROWS, DRILL_ROWS, ROW_KINDS

    if text is None:
        return DRILL_ROWS if drills else DEFAULT_ROWS
    known = {kind: kind for kind in ROW_KINDS}
    found = []
    for name in text.split(","):
        kind = known.get(name.strip().lower())  # type: ignore[call-overload]
        if kind is None:
            raise bad_input("--rows", "", name, "some of " + ", ".join(ROW_KINDS), did_you_mean(name, ROW_KINDS))
        found.append(kind)
    if len(found) > 40:
        raise bad_input("--rows", "", f"{len(found)} rows", "at most 40")
    return tuple(found)


Letters = tuple[int, str, tuple[int, ...]]
"""Which practice, a text, and the places of the letters in it that are to be drawn."""


@dataclass(frozen=True, slots=True)
class _NameSheets:
    """Makes the pages of one name; sent to other processes, so it holds plain data only."""

    practices: tuple[Practice, ...]
    setup: Setup
    dress: Dress

    def letters(self, names: Sequence[str]) -> list[Letters]:
        """Return the tasks of drawing each form of a letter that ``names`` need, once."""
        from guidegen.sheets.parts.forms import first_letters

        return [
            (number, text, places)
            for number, practice in enumerate(self.practices)
            if not practice.lettering.boxes
            for text, places in first_letters(practice.lettering, names)
        ]

    def draw(self, task: Letters) -> tuple[Symbol, ...]:
        """Return the artwork of one task."""
        from guidegen.sheets.worksheet import drawn_letters

        number, text, places = task
        return drawn_letters(self.practices[number], text, places)

    def knowing(self, drawn: frozenset[str]) -> _NameSheets:
        """Return the same sheets for a file that holds the symbols ``drawn`` already."""
        return replace(self, practices=tuple(replace(practice, drawn=drawn) for practice in self.practices))

    def __call__(self, name: str) -> tuple[tuple[Page, ...], tuple[str, ...]]:
        """Return the pages of one name, and what is worth telling about it."""
        from guidegen.sheets.worksheet import practice_pages

        notes: list[str] = []
        dress = self.dress if self.dress.title else replace(self.dress, title=name)
        pages = [
            replace(page, bookmark=name if number == 0 else None)
            for practice in self.practices
            for number, page in enumerate(practice_pages(replace(practice, texts=(name,)), self.setup, dress, notes))
        ]
        return tuple(pages), tuple(notes)


def _write_names(
    stem: str, source: Path, practices: list[Practice], dress: Dress, choice: PaperChoice, output: Output
) -> None:
    """Write a sheet for each name: one PDF, its pages made in several processes and written as they come."""
    from guidegen.sheets.names import read_names

    names = read_names(read_text_file(source, "--names"), str(source))
    for practice in practices:
        check_names(practice.lettering, names, source)
    setups = page_setups(choice, "bar")
    base = output_path(output, stem, "pdf")
    if output_format(output, "pdf") != "pdf" or choice.printer_paper is not None:
        save_pages(stem, choice, output, lambda setup: _document(names, practices, dress, setup))
        return
    targets = [(_named(base, setup, len(setups)), setup) for setup in setups]
    if base != STDOUT:
        for target, _ in targets:
            check_target(target, force=output.force)
    with bar("writing names", len(names) * len(targets)) as progress:

        def files() -> Iterator[tuple[Path, bytes]]:
            from guidegen.cli.names_pdf import names_pdf

            for target, setup in targets:
                data, notes = names_pdf(names, _NameSheets(tuple(practices), setup, dress), progress.advance)
                note(*notes)
                yield target, data

        written = write_files(files(), force=output.force)
    tell_notes()
    for path in written:
        click.echo(path)


def _named(base: Path, setup: Setup, papers: int) -> Path:
    return base.with_stem(f"{base.stem}-{setup.paper.name}") if papers > 1 and base != STDOUT else base


def _document(names: tuple[str, ...], practices: list[Practice], dress: Dress, setup: Setup) -> Document:
    from guidegen.scene import Document

    sheets = _NameSheets(tuple(practices), setup, dress)
    made = [sheets(name) for name in names]
    pages = tuple(page for found, _ in made for page in found)
    return Document(pages, f"{len(names)} names", "", tuple(dict.fromkeys(note for _, notes in made for note in notes)))
