"""What is to be written: a text, a file of names or of lines, letters of the alphabet."""

from __future__ import annotations

import string
from pathlib import Path
from typing import TYPE_CHECKING

from guidegen.errors import GuidegenError, bad_input
from guidegen.limits import MAX_TEXT_BYTES
from guidegen.sheets.parts.words import check_text

if TYPE_CHECKING:
    from guidegen.lettering.lettering import Lettering


def texts(arguments: tuple[str, ...]) -> tuple[str, ...]:
    """Return the lines to write: each TEXT begins a new one."""
    from guidegen.sheets.parts.wording import text_lines

    if not arguments:
        raise bad_input("TEXT", "", "nothing", "some text to write")
    return tuple(line for text in arguments for line in text_lines(text, "TEXT"))


def letters_of(text: str) -> tuple[str, ...]:
    """Return the letters that ``--letters`` names: single ones, ranges such as ``a-z``, commas or spaces between.

    Raises:
        GuidegenError: nothing named, or a range that is none.
    """
    from guidegen.sheets.parts.wording import describe, is_mark

    found: list[str] = []
    for part in text.replace(",", " ").split():
        if len(part) == 3 and part[1] == "-":
            low, high = part[0], part[2]
            kinds = (string.ascii_lowercase, string.ascii_uppercase, string.digits)
            same = any(low in kind and high in kind for kind in kinds)
            if not same or low > high:
                raise bad_input("--letters", "", part, "a range such as a-z, A-F or 0-9")
            found += [chr(code) for code in range(ord(low), ord(high) + 1)]
        else:
            found += list(part)
    if not found:
        raise GuidegenError("--letters: no letter named; write them as a-z or aeo")
    if marks := sorted(filter(is_mark, set(found))):
        raise bad_input("--letters", "", describe(marks), "letters, not accents alone")
    return tuple(dict.fromkeys(found))


def read_text_file(path: Path, where: str) -> str:
    """Return a small UTF-8 file.

    Raises:
        GuidegenError: it is missing, a folder, too large or not UTF-8.
    """
    if not path.is_file():
        raise bad_input(where, "", str(path), "a text file", "is the path right?")
    if path.stat().st_size > MAX_TEXT_BYTES:
        raise bad_input(where, "", f"{path.stat().st_size // 1000} kB", f"at most {MAX_TEXT_BYTES // 1000} kB")
    try:
        return path.read_bytes().decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise bad_input(where, str(path), f"byte 0x{error.object[error.start]:02x}", "UTF-8 text") from None


def check_names(lettering: Lettering, names: tuple[str, ...], source: Path) -> None:
    """Raise when the hand cannot write all names; the message names the characters and the first such name."""
    try:
        check_text(lettering, "".join(names))
    except GuidegenError as error:
        for name in names:
            try:
                check_text(lettering, name)
            except GuidegenError:
                raise GuidegenError(f"{source}: {name!r}: {error}") from None
        raise
