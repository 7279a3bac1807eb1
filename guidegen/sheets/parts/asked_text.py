"""The words a person asks for: tidied, and refused in one line when a hand cannot write them."""

from __future__ import annotations

import string
import unicodedata
from collections.abc import Iterable

from guidegen.errors import GuidegenError, bad_input

LONGEST_TEXT = 20_000
LONGEST_WORD = 200
_SHOWN = 12


def one_text(text: str, where: str) -> str:
    """Return ``text`` on one line, composed (NFC) and with single spaces.

    Raises:
        GuidegenError: when it is empty, too long, or holds tabs or other controls.
    """
    found = text_lines(text, where)
    if len(found) > 1:
        raise bad_input(where, "", text, "one line of text")
    return found[0]


def text_lines(text: str, where: str) -> tuple[str, ...]:
    r"""Return the lines of ``text``, each composed (NFC) and with single spaces.

    A line break may be a real one or the two characters ``\n``, which are easier to type in a shell.

    Raises:
        GuidegenError: as :func:`one_text`.
    """
    if len(text) > LONGEST_TEXT:
        raise bad_input(where, "", f"{len(text)} characters", f"at most {LONGEST_TEXT} characters")
    lines = unicodedata.normalize("NFC", text.replace("\\n", "\n").replace("\r\n", "\n")).split("\n")
    odd = sorted({char for line in lines for char in line if not _writable(char)})
    if odd:
        raise bad_input(where, "", describe(odd), "letters, digits, punctuation and spaces")
    tidy = tuple(" ".join(line.split()) for line in lines)
    if not any(tidy):
        raise bad_input(where, "", text, "some text to write")
    alone = sorted({word[0] for line in tidy for word in line.split(" ") if word and is_mark(word[0])})
    if alone:
        expected, fix = "an accent behind the letter it belongs to", "write the letter first"
        raise bad_input(where, "", describe(alone), expected, fix)
    longest = max((word for line in tidy for word in line.split(" ")), key=len)
    if len(longest) > LONGEST_WORD:
        raise bad_input(where, "", f"a word of {len(longest)} letters", f"words of at most {LONGEST_WORD} letters")
    return tidy


def is_mark(char: str) -> bool:
    """Tell whether a character is only an accent, which draws nothing without a letter before it."""
    return unicodedata.category(char)[0] == "M"


def letters_of(text: str, where: str) -> tuple[str, ...]:
    """Return the letters that ``text`` names: single ones, ranges such as ``a-z``, commas or spaces between.

    Raises:
        GuidegenError: nothing named, or a range that is none.
    """
    found: list[str] = []
    for part in text.replace(",", " ").split():
        if "-" in part and len(part) > 1:  # a hyphen to be written stands alone
            low, high = part[0], part[-1]
            kinds = (string.ascii_lowercase, string.ascii_uppercase, string.digits)
            same = any(low in kind and high in kind for kind in kinds)
            if not (len(part) == 3 and part[1] == "-" and same and low <= high):
                raise bad_input(where, "", part, "a range such as a-z, A-F or 0-9")
            found += [chr(code) for code in range(ord(low), ord(high) + 1)]
        else:
            found += list(part)
    if not found:
        raise GuidegenError(f"{where}: no letter named; write them as a-z or aeo")
    if marks := sorted(filter(is_mark, set(found))):
        raise bad_input(where, "", describe(marks), "letters, not accents alone")
    return tuple(dict.fromkeys(found))


def _writable(char: str) -> bool:
    return char in (" ", "\u00a0") or unicodedata.category(char)[0] in "LMNPS"


def describe(chars: Iterable[str]) -> str:
    """Return characters as a person can find them: the sign itself, its code point, its Unicode name."""
    listed = list(chars)
    shown = ", ".join(_named(char) for char in listed[:_SHOWN])
    return shown if len(listed) <= _SHOWN else f"{shown} and {len(listed) - _SHOWN} more"


def _named(char: str) -> str:
    code = f"U+{ord(char):04X} {unicodedata.name(char, _CONTROLS.get(char, 'unnamed'))}"
    return f"{char} {code}" if char.isprintable() and not unicodedata.combining(char) else code


_CONTROLS = {"\t": "TAB", "\x00": "NULL", "\x1b": "ESCAPE", "\x07": "BELL", "\f": "FORM FEED"}
