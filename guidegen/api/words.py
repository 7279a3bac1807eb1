"""The words a page is made of: lines of a text, names of a class, kinds of rows."""

from __future__ import annotations

import codecs
import os
from collections.abc import Iterable, Sequence
from pathlib import Path

from guidegen.api.pages import FilePath
from guidegen.api.reading import read_small
from guidegen.errors import GuidegenError, Plain, bad_input
from guidegen.lettering.lettering import Lettering
from guidegen.limits import MAX_TEXT_BYTES
from guidegen.sheets.names import names_of_table, read_names
from guidegen.sheets.parts.asked_text import text_lines
from guidegen.sheets.parts.words import check_text

_WHERE = "`text`"


def lines_of(text: str | Sequence[str]) -> tuple[str, ...]:
    """Return the lines to write: each text begins a new one.

    Raises:
        GuidegenError: nothing to write, controls in it, or too much of it.
    """
    given = (text,) if isinstance(text, str) else tuple(text)
    if not given:
        raise bad_input(_WHERE, "", "nothing", "some text to write")
    return tuple(line for part in given for line in text_lines(part, _WHERE))


def names_of(names: FilePath | Sequence[str]) -> tuple[tuple[str, ...], str]:
    """Return names, and what to call them in messages: those of a file with one a line, or the names themselves.

    A file is UTF-8, or what older programs on Windows write (UTF-16, Windows-1252). Of a table (``.csv``, ``.tsv``)
    the column headed as names is taken, else the first.

    Raises:
        GuidegenError: no file, no name, too many, or one that is none.
    """
    if isinstance(names, str | os.PathLike):
        path = Path(names)
        data = read_small(path, f"`names`: {path}", "a text file", MAX_TEXT_BYTES)
        text = _decoded(data, path)
        if path.suffix.lower() in {".csv", ".tsv"}:
            text = names_of_table(text, str(path))
        return read_names(text, str(path)), str(path)
    return read_names("\n".join(names), "`names`"), "`names`"


def _decoded(data: bytes, path: Path) -> str:
    utf16 = data[:2] in {codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE}
    for encoding in ("utf-16",) if utf16 else ("utf-8-sig", "cp1252"):
        try:
            return data.decode(encoding)
        except UnicodeDecodeError as error:
            byte = f"byte 0x{error.object[error.start]:02x}"
    raise bad_input("`names`", str(path), Plain(byte), "text", "save it as UTF-8: in the save dialog, under encoding")


def check_names(lettering: Lettering, names: Iterable[str], source: str) -> None:
    """Raise when the hand cannot write all names; the message names the characters and the first such name."""
    given = tuple(names)
    try:
        check_text(lettering, "".join(given))
    except GuidegenError as error:
        for name in given:
            try:
                check_text(lettering, name)
            except GuidegenError:
                raise GuidegenError(f"{source}: {name!r}: {error}") from None
        raise
