"""Names from a file: one a line, each for a sheet or a card of its own."""

from __future__ import annotations

import csv

from guidegen.errors import Plain, bad_input
from guidegen.sheets.parts.asked_text import one_text

MOST_NAMES = 10_000
LONGEST_NAME = 80
_HEADS = ("name", "names", "student", "first name", "firstname", "given name", "vorname", "rufname", "schüler",
          "nachname", "last name", "surname")  # fmt: skip
"""What the column of names is called in a class list, the likeliest first."""


def names_of_table(text: str, where: str) -> str:
    """Return the names in a table as spreadsheets save one, a line each.

    Cells are parted by semicolons, tabs or commas, whichever the first line has most of. A first line whose cells
    say what the columns are is no name; the column that it calls names is taken, of first and last names the first.

    Raises:
        GuidegenError: it is no table (a quote that does not close).
    """
    lines = text.removeprefix("\ufeff").splitlines()
    first = next((line for line in lines if line.strip()), "")
    mark = max(";\t,", key=first.count)
    try:
        rows = [row for row in csv.reader(lines, delimiter=mark, strict=True) if any(cell.strip() for cell in row)]
    except csv.Error as error:
        raise bad_input(where, "", Plain(str(error)), "a table as spreadsheets save it (CSV)") from None
    heads = [cell.strip().lower() for cell in rows[0]] if rows else []
    column = next((heads.index(head) for head in _HEADS if head in heads), None)
    if column is not None:
        rows = rows[1:]
    return "\n".join(row[column or 0].strip() for row in rows if len(row) > (column or 0))


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
