"""Every language says all that the page says, with the same words filled in, and the page is written in it."""

import re
import tomllib
from pathlib import Path

import pytest

from guidegen.hands.library import load_hand, load_marker
from guidegen.lettering.sizing import right_size
from guidegen.sheets.parts.figures import mm_text
from guidegen.sheets.parts.phrases import slots_of
from guidegen.web.words import page_languages, words

PAGES = Path(__file__).resolve().parents[2] / "guidegen" / "web"
FOLDER = PAGES.parents[1] / "templates" / "words" / "browser"
SAME = {"unit.mm", "which.stroke", "which.strokes"}


def entries(language):
    tables = tomllib.loads((FOLDER / f"{language}.toml").read_text(encoding="utf-8"))
    tables.pop("language")
    return {f"{table}.{name}": text for table, found in tables.items() for name, text in found.items()}


@pytest.mark.parametrize("language", [name for name in page_languages() if name != "en"])
def test_a_language_says_what_english_says(language):
    english, found = entries("en"), entries(language)
    assert set(english) - set(found) <= SAME
    assert set(found) <= set(english)
    assert {key: slots_of(text) for key, text in found.items()} == {key: slots_of(english[key]) for key in found}


def test_the_page_says_only_what_there_are_words_for_and_all_of_it():
    source = "".join(path.read_text(encoding="utf-8") for path in PAGES.rglob("*") if path.suffix in {".py", ".html"})
    said = set(re.findall(r"""say\(["']([a-z_]+\.[a-z_]+)["']""", source))
    said |= set(re.findall(r'"(large\.[a-z_]+)"', source)) - {"large.html"}
    assert said <= set(entries("en"))
    named = {"web": "web.", "option": "", "field": "", "kinds": "", "tip": "", "large": "large."}
    unused = {key for key in entries("en") if key not in said and key.split(".")[0] not in named}
    assert {key for key in unused if key not in source and f'"{key.split(".")[1]}"' not in source} == set()


def test_the_browser_says_the_language(server):
    german = server.ask("/", Accept_Language="de-AT,de;q=0.9,en;q=0.5").text
    assert '<html lang="de">' in german
    assert "Welcher Stift?" in german
    size = mm_text(right_size(load_marker("cobble"), load_hand("joined")).x_height_mm)
    assert size.replace(".", ",") in german
    assert "Which marker?" in server.ask("/?language=en", Accept_Language="de").text
    assert words("de").decimal == ","
