"""The words that stand on pages, in the language of the page: read from ``templates/words``, never from the code.

A language is a file with the keys of ``en.toml``; what it leaves out stays English. Messages, notes and the keys of
``--json`` are no page words and are English always.
"""

from __future__ import annotations

import string
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import Any

from guidegen.errors import Plain, bad_input, did_you_mean
from guidegen.hands.library import is_path, read_toml, templates_folder, toml_files

ENGLISH = "en"
OPEN_TABLES = ("labels", "drills")
"""Tables whose keys are names that a hand or a marker chose."""
_LONGEST = 1000


@dataclass(frozen=True, slots=True)
class Phrases:
    """The words of one language: ``say("head.page", page=1, pages=2)``.

    ``code`` is the language's tag for programs (BCP 47). ``decimal`` stands between whole numbers and tenths; where
    ``small_hands`` a hand's name is written small inside a line.
    """

    language: str
    code: str = "en"
    decimal: str = "."
    small_hands: bool = True
    entries: Mapping[str, str] = field(default_factory=dict, compare=False, repr=False)

    def __call__(self, key: str, **values: object) -> str:
        """Return the phrase called ``key`` (table.name) with ``values`` filled in."""
        return self.entries[key].format_map(values)

    def label(self, label: str) -> str:
        """Return a hand's or a marker's label in this language, as it is where the language has none for it."""
        return self.entries.get(f"labels.{label}", label)

    def drill(self, name: str) -> str:
        """Return what a basic stroke is called."""
        return self.entries.get(f"drills.{name}", name.replace("-", " "))

    def within(self, label: str) -> str:
        """Return a hand's label as it is written inside a line."""
        shown = self.label(label)
        return shown.lower() if self.small_hands else shown

    def number(self, text: str) -> str:
        """Return a number that was written with a point as this language writes it."""
        return text if self.decimal == "." else text.replace(".", self.decimal)


def language_names() -> list[str]:
    """Return the languages that ship."""
    return [path.stem for path in toml_files(templates_folder() / "words")]


@cache
def phrases(language: str = ENGLISH) -> Phrases:
    """Return the words of ``language``: a name in ``templates/words``, or the path of such a file.

    Raises:
        GuidegenError: no such language (those that ship are named), or a file that is not valid.
    """
    path = _file(language)
    tables = read_toml(path)
    english = {} if language == ENGLISH else _entries(read_toml(_file(ENGLISH)), str(_file(ENGLISH)))
    entries = _entries(tables, str(path))
    if english:
        _check(entries, english, str(path))
    head = {key.removeprefix("language."): value for key, value in entries.items() if key.startswith("language.")}
    small = head.get("small_hands", True)
    decimal, code = head.get("decimal", "."), head.get("code", "")
    if not isinstance(small, bool) or decimal not in {".", ","} or not _is_code(code):
        expected = 'code = "en" or another tag, decimal = "." or ",", small_hands = true or false'
        raise bad_input(str(path), "language", Plain("other values"), expected)
    said = {key: value for key, value in (english | entries).items() if not key.startswith("language.")}
    return Phrases(language, code, decimal, small, MappingProxyType(said))


def _file(language: str) -> Path:
    if is_path(language):
        return Path(language)
    path = templates_folder() / "words" / f"{language}.toml"
    if language in language_names():
        return path
    names = language_names()
    fix = did_you_mean(language, names) or "known: " + ", ".join(names)
    raise bad_input("`language`", "", language, "a language's name or the path of its .toml file", fix)


def _entries(tables: Mapping[str, Any], where: str) -> dict[str, Any]:
    """Return the phrases of a file by table and name."""
    found: dict[str, Any] = {}
    for table, entries in tables.items():
        if not isinstance(entries, Mapping):
            raise bad_input(where, table, entries, f"a table [{table}]")
        for name, value in entries.items():
            if table != "language" and not (isinstance(value, str) and len(value) <= _LONGEST and _is_line(value)):
                raise bad_input(where, f"{table}.{name}", value, f"a line of text, at most {_LONGEST} characters")
            found[f"{table}.{name}"] = value
    return found


def _is_code(value: object) -> bool:
    return isinstance(value, str) and 2 <= len(value) <= 20 and value.isascii() and value.replace("-", "").isalnum()


def _is_line(text: str) -> bool:
    return text.isprintable()


def _check(entries: Mapping[str, Any], english: Mapping[str, Any], where: str) -> None:
    """Raise for a key that English does not have, or a phrase that is filled in with other words."""
    for key, value in entries.items():
        if key.split(".", 1)[0] in OPEN_TABLES:
            continue
        if key not in english:
            raise bad_input(where, key, Plain("an unknown key"), "a key of en.toml", did_you_mean(key, english))
        if not key.startswith("language.") and _slots(value) != (wanted := slots_of(english[key])):
            expected = "the words in braces that en.toml has: " + (", ".join(sorted(wanted)) or "none")
            raise bad_input(where, key, value, expected)


def _slots(phrase: str) -> set[str] | None:
    """Return the words in braces of a stranger's phrase, None where a brace is not closed or holds more than a word."""
    try:
        return slots_of(phrase)
    except ValueError:
        return None


def slots_of(phrase: str) -> set[str]:
    """Return the words in braces that are filled in.

    Raises:
        ValueError: a brace that does not close, or more in it than a word.
    """
    parts = list(string.Formatter().parse(phrase))
    for _, name, spec, conversion in parts:
        if name is not None and (not name.isidentifier() or spec or conversion):
            raise ValueError(name)
    return {name for _, name, _, _ in parts if name is not None}
