"""The one error that reaches a user: a single line that says what to do about it."""

from __future__ import annotations

from collections.abc import Iterable


class GuidegenError(Exception):
    """Input that cannot be used, told in one line. The command line exits with 2 on it.

    Parameters stand in backquotes in it, by the names they have here; the command line writes its options there.
    """


class Plain(str):
    """A description of what was found ("a folder", "nothing"), shown without the quotes of a person's own words."""

    __slots__ = ()


class BadInputError(GuidegenError):
    """The usual error line in its parts: file or thing, field, what was found, what is expected, how to fix it.

    ``found`` is kept as it is shown: as the user wrote it, shortened, so that a hostile value cannot flood the screen.
    """

    def __init__(self, where: str, field: str, found: object, expected: str, fix: str = "") -> None:
        self.where, self.field, self.expected, self.fix = where, field, expected, fix
        self.found = Plain(one_line(_as_written(found), 80))
        place = f"{where}: {field}" if where and field else where or field
        line = f"{place}: found {self.found}, expected {expected}"
        super().__init__(f"{line}; {fix}" if fix else line)

    def at(self, where: str, field: str) -> BadInputError:
        """Return the same error for another place: a noun knows its field, a reader the file, a command the option."""
        return BadInputError(where, field, self.found, self.expected, self.fix)

    def __reduce__(self) -> tuple[type[BadInputError], tuple[str, str, Plain, str, str]]:
        return BadInputError, (self.where, self.field, self.found, self.expected, self.fix)


def bad_input(where: str, field: str, found: object, expected: str, fix: str = "") -> BadInputError:
    """Build the usual error line: file (or a parameter in backquotes), field, found, expected, how to fix it."""
    return BadInputError(where, field, found, expected, fix)


def _as_written(found: object) -> str:
    try:
        return repr(found) if isinstance(found, str) and not isinstance(found, Plain) else str(found)
    except ValueError:  # Python refuses to print an integer of thousands of digits
        return "a number of thousands of digits"


def one_line(text: str, limit: int = 400) -> str:
    """Return ``text`` on one line, of printable characters only, shortened to ``limit`` characters."""
    flat = "".join(c if c.isprintable() else "?" for c in " ".join(text[: 4 * limit].split()))
    return flat if len(flat) <= limit else flat[: limit - 1] + "…"


def printable(text: str) -> str:
    """Return ``text`` with every character that is not printable as its escape, so that none acts on a terminal."""
    if text.isprintable():
        return text
    return "".join(c if c.isprintable() else c.encode("unicode_escape").decode("ascii") for c in text)


def did_you_mean(word: str, known: Iterable[str]) -> str:
    """Return ``did you mean ...?`` for up to three known words near ``word``, or an empty string."""
    from difflib import get_close_matches

    near = get_close_matches(word[:80].lower(), list(known), n=3)
    return f"did you mean {' or '.join(near)}?" if near else ""
