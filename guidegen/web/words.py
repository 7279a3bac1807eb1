"""The words of the page in the browser, by their keys: one file a language in ``templates/words/browser``."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from types import MappingProxyType

from guidegen.hands.library import read_toml, templates_folder, toml_files
from guidegen.sheets.parts.phrases import ENGLISH, Phrases


@cache
def page_languages() -> tuple[str, ...]:
    """Return the languages of the page, English first."""
    names = [path.stem for path in toml_files(_folder())]
    return (ENGLISH, *(name for name in names if name != ENGLISH))


@cache
def words(language: str = ENGLISH) -> Phrases:
    """Return the words of ``language``, one of :func:`page_languages`; what its file leaves out is English."""
    entries: dict[str, str] = {}
    head = {}
    for name in dict.fromkeys((ENGLISH, language)):
        tables = read_toml(_folder() / f"{name}.toml")
        head = tables.pop("language")
        entries |= {f"{table}.{key}": text for table, found in tables.items() for key, text in found.items()}
    return Phrases(language, head["code"], head["decimal"], entries=MappingProxyType(entries))


def _folder() -> Path:
    return templates_folder() / "words" / "browser"
