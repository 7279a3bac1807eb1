"""Words on pages: every one from ``templates/words``, in the language asked for, whole in each language that ships."""

import ast
import re
import string
import tomllib
from pathlib import Path

import pytest

import guidegen as gg
from guidegen.api.sheets import specimen
from guidegen.hands.library import templates_folder
from guidegen.scene import Placed, Purpose, Shape
from guidegen.sheets.parts.labels import lacking
from guidegen.sheets.parts.phrases import OPEN_TABLES, language_names, phrases, slots_of

PACKAGE = Path(gg.__file__).parent
WORDS = templates_folder() / "words"
GREEK = {ord(char): "α" for char in string.ascii_lowercase} | {ord(char): "Α" for char in string.ascii_uppercase}
DRAWN = {"label", "wrapped", "Title", "Head", "Page"}
"""What is given words in code: the first argument, and a page's title, bookmark and description."""
UNITS = {"mm", "in", "pt", "x"}
"""Symbols, the same in every language that is written with these letters; x stands between two sides."""


def tables(name):
    return tomllib.loads((WORDS / f"{name}.toml").read_text(encoding="utf-8"))


def greek(phrase):
    return "".join(part if part.startswith("{") else part.translate(GREEK) for part in re.split(r"(\{\w+\})", phrase))


@pytest.fixture(scope="module")
def alpha(tmp_path_factory):
    """A language whose every letter is an alpha: what else stands on a page did not come from its file."""
    lines = ['[language]\nname = "Alpha"\ncode = "el"\ndecimal = ","\n']
    for table, entries in tables("en").items():
        if table in OPEN_TABLES or table == "language":
            continue
        lines += [f"[{table}]", *(f'{key} = """{greek(phrase)}"""' for key, phrase in entries.items())]
    papers = ("C5 envelope",)
    hands = ("Joined brush script", "Italic", "Upright print")
    labels = [*hands, *papers, *(marker.label for marker in gg.markers())]
    strokes = {name for hand in ("joined", "italic", "print") for name in gg.hand(hand).strokes}
    lines += ["[labels]", *(f'"{label}" = "{greek(label)}"' for label in labels)]
    lines += ["[drills]", *(f'{name} = "{greek(name)}"' for name in sorted(strokes))]
    path = tmp_path_factory.mktemp("words") / "alpha.toml"
    path.write_text("\n".join(lines), encoding="utf-8")
    return str(path)


PAGES = {
    "sheet": lambda it: gg.sheet("cobble", language=it, slant_deg=(60, 80)),
    "sheet, in inches": lambda it: gg.sheet("slate", language=it, paper="letter", at="largest"),
    "sheet, small": lambda it: gg.sheet("grit", language=it, paper="74x52mm", margin_mm=5),
    "sheet, corrected": lambda it: gg.sheet("flint", language=it, proof="full", printer="98.6x99.1"),
    "letter": lambda it: gg.letter("cobble", language=it),
    "letter, larger": lambda it: gg.letter("pebble", language=it, x_height_mm=9.0, paper="letter"),
    "letter, broad": lambda it: gg.letter("slate", "n", language=it),
    "letter, round": lambda it: gg.letter("flint", language=it, at="smallest"),
    "trial": lambda it: gg.trial(language=it),
    "handout": lambda it: gg.handout(language=it),
    "handout, in inches": lambda it: gg.handout(["cobble", "flint"], language=it, paper="letter"),
    "compare": lambda it: gg.compare(["grit", "slate", "flint", "cobble"], "he", language=it),
    "compare, no e": lambda it: gg.compare(["grit", "boulder"], "up", language=it),
    "planner": lambda it: gg.planner("pebble", letters="a", language=it),
    "worksheet": lambda it: gg.worksheet("pebble", "up", arrows=True, language=it),
    "worksheet, strokes": lambda it: gg.worksheet("pebble", drills="all", language=it),
    "worksheet, names": lambda it: gg.worksheet("flint", names=["up", "on"], language=it),
    "worksheet, two": lambda it: gg.worksheet(["pebble", "flint"], "up", language=it),
    "specimen": lambda it: specimen("flint", others=["flint"], language=it),
    "write": lambda it: gg.write("cobble", "up", proof="bar", language=it),
    "write, on paper": lambda it: gg.write("cobble", "up", proof="bar", paper="a4", language=it),
    "plan": lambda it: gg.plan("pebble", "up", paper="c5", landscape=True, envelope=True, language=it).layout(),
    "cards": lambda it: gg.cards("pebble", ["up", "on"], up=4, language=it).layout(),
    "tiles": lambda it: gg.sheet("boulder", paper="a3", language=it).tiled("a4", language=it),
    "font": lambda it: gg.font("flint").specimen(it),
}
GIVEN = {*"abcdefghijklmnopqrstuvwxyz", "up", "on", "he", "A", "B", "C", "US", "Letter", "Flint"}
"""What the pages above were asked for: text, papers by their own names, letters shown."""
GIVEN |= {marker.name for marker in gg.markers()}


def shapes(items):
    for item in items:
        if isinstance(item, Placed):
            yield from shapes(item.symbol.items)
        elif isinstance(item, Shape):
            yield item


def words_on(page):
    """Yield what a reader, a screen reader or a list of bookmarks is told of a page."""
    yield from (page.title, page.description, page.bookmark or "")
    for layer in page.layers:
        if layer.purpose.has_words or layer.purpose is Purpose.CROP:
            yield from (shape.name for shape in shapes(layer.items) if shape.name and shape.style.fill is not None)


@pytest.mark.parametrize("kind", PAGES)
def test_every_word_of_a_page_comes_from_its_language(kind, alpha):
    made = PAGES[kind](alpha)
    told = [words for page in made.document.pages for words in words_on(page)]
    told += [made.document.title, made.document.description]
    assert any("α" in words for words in told)
    told = [re.sub(r"Corrected for a printer:.*", "", words) for words in told]  # inspect reads it
    foreign = {word for words in told for word in re.findall(r"[A-Za-z]+", words)} - UNITS - GIVEN
    assert foreign == set()


def test_the_same_pages_in_english_hold_such_words():
    page = gg.letter("cobble").document.pages[0]
    found = {word for words in words_on(page) for word in re.findall(r"[A-Za-z]+", words)}
    assert {"white", "stroke", "marks", "Print"} <= found


def test_no_words_are_given_to_labels_in_code():
    wrong = []
    for path in [*PACKAGE.glob("sheets/**/*.py"), PACKAGE / "fonts/specimen.py"]:
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and getattr(node.func, "id", "") in DRAWN:
                given = [node.args[0]] if node.args else []
                given += [entry.value for entry in node.keywords if entry.arg in {"title", "bookmark", "description"}]
                wrong += [f"{path.name}:{node.lineno} {text!r}" for one in given for text in literals(one)]
    assert wrong == []


def literals(node):
    """Yield the words of strings in an expression, those that name a phrase left out."""
    if isinstance(node, ast.Call):
        return
    if isinstance(node, ast.FormattedValue):  # how a number is written is no word
        yield from literals(node.value)
        return
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        yield from [node.value] if set(re.findall(r"[^\W\d_]+", node.value)) - UNITS else []
    for inner in ast.iter_child_nodes(node):
        yield from literals(inner)


def test_the_search_for_words_finds_them():
    assert list(literals(ast.parse('f"{a} high" if b else say("x.y")', mode="eval").body)) == [" high"]
    assert list(literals(ast.parse('f"{a:g} mm"', mode="eval").body)) == []


def start_of(node):
    return node.values[0].value if isinstance(node.values[0], ast.Constant) else ""


def named_in_code():
    """Return the names of phrases that stand in code, and a pattern for each that is put together there."""
    names, patterns = set(), []
    for path in PACKAGE.rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Constant) and isinstance(node.value, str):
                names.add(node.value)
            elif isinstance(node, ast.JoinedStr) and re.fullmatch(r"[a-z]+\.", start_of(node)):
                parts = (re.escape(part.value) if isinstance(part, ast.Constant) else ".+" for part in node.values)
                patterns.append("".join(parts))
    return names, patterns


def test_every_phrase_is_said_somewhere():
    names, patterns = named_in_code()
    keys = {f"{table}.{key}" for table, entries in tables("en").items() for key in entries if table != "language"}
    unsaid = {key for key in keys - names if not any(re.fullmatch(pattern, key) for pattern in patterns)}
    assert unsaid == set()


@pytest.mark.parametrize("name", language_names())
def test_a_language_is_whole_and_its_face_has_its_letters(name):
    english, own = tables("en"), tables(name)
    assert set(own) == set(english)
    for table, entries in english.items():
        if table in OPEN_TABLES:
            continue
        assert set(own[table]) == set(entries), table
        if table != "language":
            assert [slots_of(own[table][key]) for key in entries] == [slots_of(entries[key]) for key in entries]
    said = phrases(name)
    assert lacking("".join(said.entries.values())) == ""
    assert said.code == name


def test_what_a_language_leaves_out_stays_english(tmp_path):
    path = tmp_path / "short.toml"
    path.write_text('[language]\nname = "Short"\ncode = "nn"\ndecimal = ","\n[head]\nname = "Namn"\n', encoding="utf-8")
    say = phrases(str(path))
    assert (say("head.name"), say("head.date"), say.number("1.5")) == ("Namn", "Date", "1,5")


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ('[head]\nnick = "N"\n', r"head\.nick: .*a key of en\.toml"),
        ('[head]\npage = "Seite {n}"\n', r"head\.page: .*page, pages"),
        ('[head]\npage = "Seite {page} {pages} {page.__class__}"\n', r"head\.page: .*page, pages"),
        ('[head]\npage = "Seite {page} {pages"\n', r"head\.page: .*page, pages"),
        ("[head]\nname = 3\n", r"head\.name: .*a line of text"),
        ('[head]\nname = "a\\u0007"\n', "a line of text"),
        ('name = "x"\n', r"a table \[name\]"),
        ('[language]\ndecimal = "ten"\n', "decimal"),
    ],
)
def test_a_language_that_is_none_is_refused(text, told, tmp_path):
    path = tmp_path / "own.toml"
    start = "" if "[language]" in text or text.startswith("name") else '[language]\ncode = "de"\n'
    path.write_text(start + text, encoding="utf-8")
    with pytest.raises(gg.GuidegenError, match=told) as error:
        phrases(str(path))
    assert "\n" not in str(error.value)


def test_an_unknown_language_names_those_that_ship():
    with pytest.raises(gg.GuidegenError, match=r"`language`.*'tlh'.*en"):
        gg.sheet("cobble", language="tlh")
