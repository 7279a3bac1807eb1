"""Names from a file: one a line, each for a sheet or a card of its own."""

from __future__ import annotations

from guidegen.errors import bad_input
from guidegen.sheets.parts.wording import one_text

MOST_NAMES = 10_000
LONGEST_NAME = 80


def read_names(text: str, where: str) -> tuple[str, ...]:
    """Return the names in ``text``: one a line, in order, spaces tidied, empty lines left out.

    Raises:
        GuidegenError: no name at all, too many, one too long or with characters that are no letters
            (tabs and controls); the message names the line.
    """
    names: list[str] = []
    for number, line in enumerate(text.removeprefix("\ufeff").split("\n"), start=1):
        tidy = line.strip(" \r")
        if not tidy:
            continue
        if len(tidy) > LONGEST_NAME:
            raise bad_input(where, f"line {number}", tidy, f"a name of at most {LONGEST_NAME} characters")
        names.append(one_text(tidy, f"{where}: line {number}"))
        if len(names) > MOST_NAMES:
            raise bad_input(where, "", "more names than that", f"at most {MOST_NAMES} names", "split the file")
    if not names:
        raise bad_input(where, "", "no name", "a file with one name a line")
    return tuple(names)
