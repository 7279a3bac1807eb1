"""No regular expression of the package backtracks: each takes long texts, made to make it do so, in a moment."""

from __future__ import annotations

import ast
import importlib
import pkgutil
import re
import time
from pathlib import Path

import pytest

import guidegen

LONG = 20_000
UNITS = ("1", ".", "-", " ", "a", "1.", "1 ", ",", "e", '"', "(", "url(", "\n")
SECONDS = 2.0
"""Of processor time for some hundred texts of that length; one that tries all ways takes minutes for each."""

sre = re._parser


def patterns():
    """Return every compiled pattern at the top of a module of the package, by its name."""
    found = {}
    for module in pkgutil.walk_packages(guidegen.__path__, "guidegen."):
        if not module.name.endswith("__main__"):
            for name, value in vars(importlib.import_module(module.name)).items():
                if isinstance(value, re.Pattern):
                    found.setdefault((value.pattern, value.flags), f"{module.name}.{name}")
    return {name: re.compile(*pattern) for pattern, name in found.items()}


PATTERNS = patterns()
FROM_ANYWHERE = {"search", "findall", "finditer", "sub", "subn", "split"}


def uses():
    """Return the methods that the package calls of each pattern, by the pattern's own name."""
    found = {}
    for path in Path(guidegen.__file__).parent.rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name):
                found.setdefault(node.value.id, set()).add(node.attr)
    return found


USES = uses()


def char_of(items):
    """Return a character that a set of a parsed pattern takes."""
    kind = {sre.CATEGORY_DIGIT: "1", sre.CATEGORY_WORD: "a", sre.CATEGORY_SPACE: " "}
    for operation, value in items:
        if operation is sre.NEGATE:
            taken = {chr(v) for o, v in items if o is sre.LITERAL}
            taken |= {chr(c) for o, v in items if o is sre.RANGE for c in range(v[0], v[1] + 1)}
            spaces = any(o is sre.CATEGORY and v is sre.CATEGORY_SPACE for o, v in items)
            return next(c for c in "x1.-(" + ("" if spaces else " ") if c not in taken)
        if operation is sre.LITERAL:
            return chr(value)
        if operation is sre.RANGE:
            return chr(value[0])
        if operation is sre.CATEGORY:
            return kind.get(value, "!")
    return "x"


def texts_of(parsed, pumped, counter):
    """Return a text that a parsed pattern takes, the ``pumped``-th of its repeats made very long."""
    made = ""
    for operation, value in parsed:
        if operation is sre.LITERAL:
            made += chr(value)
        elif operation is sre.NOT_LITERAL:
            made += "y" if chr(value) == "x" else "x"
        elif operation is sre.IN:
            made += char_of(value)
        elif operation is sre.ANY:
            made += "x"
        elif operation in (sre.MAX_REPEAT, sre.MIN_REPEAT, sre.POSSESSIVE_REPEAT):
            low, high, inner = value
            counter[0] += 1
            mine = counter[0] == pumped
            once = texts_of(inner, pumped, counter)
            most = LONG if high is sre.MAXREPEAT else min(int(high), LONG)
            made += once * (min(most, max(1, LONG // max(1, len(once)))) if mine else max(low, 1))
        elif operation is sre.SUBPATTERN:
            made += texts_of(value[3], pumped, counter)
        elif operation is sre.ATOMIC_GROUP:
            made += texts_of(value, pumped, counter)
        elif operation is sre.BRANCH:
            every = [texts_of(branch, pumped, counter) for branch in value[1]]  # so that all repeats are counted
            made += every[0]
    return made


def hostile(pattern):
    """Yield long texts made of what ``pattern`` repeats, with and without an end that it cannot take."""
    text = pattern.pattern if isinstance(pattern.pattern, str) else pattern.pattern.decode("latin-1")
    parsed = sre.parse(text, pattern.flags & ~re.UNICODE if isinstance(pattern.pattern, bytes) else pattern.flags)
    counter = [0]
    texts_of(parsed, 0, counter)
    made = [texts_of(parsed, pumped, [0]) for pumped in range(counter[0] + 1)]
    made += [unit * (LONG // len(unit)) for unit in UNITS]
    for whole in made:
        for piece in (whole, whole[:-1], whole + "\0", whole + "x", "x" + whole, whole + whole[-1:] * 9 + ";"):
            yield piece if isinstance(pattern.pattern, str) else piece.encode("latin-1", "replace")


@pytest.mark.parametrize("name", PATTERNS)
def test_no_pattern_backtracks(name):
    pattern = PATTERNS[name]
    used = USES.get(name.rpartition(".")[2], set()) & {"match", "fullmatch", *FROM_ANYWHERE}
    assert used, f"{name} is used in a way this test does not see"
    looks = [pattern.fullmatch, pattern.match, *([pattern.search, pattern.findall] if used & FROM_ANYWHERE else [])]
    began = time.process_time()
    for text in hostile(pattern):
        for look in looks:
            look(text)
            assert time.process_time() - began < SECONDS, text[:60]


@pytest.mark.parametrize("text", [r"(a|a)*b", r"-?\d*\.?\d+x", r"(?:[\s,]|\d+)*\)"])
def test_a_pattern_that_backtracks_is_found(text):
    pattern = re.compile(text)
    began = time.process_time()
    for hard in hostile(pattern):
        pattern.fullmatch(hard[:24] if "|" in text else hard)  # where ways double with each character, few will do
        if time.process_time() - began > 0.2:
            return
    pytest.fail("it was quick")


def test_patterns_are_compiled_at_the_top_of_modules():
    """So that none escapes the test above."""
    wrong = []
    for path in sorted(Path(guidegen.__file__).parent.rglob("*.py")):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        named = (node for node in tree.body if isinstance(node, ast.Assign | ast.AnnAssign))
        top = {id(inner) for node in named for inner in ast.walk(node)}
        wrong += [
            f"{path.name}:{node.lineno}"
            for node in ast.walk(tree)
            if isinstance(node, ast.Call)
            and isinstance(node.func, ast.Attribute)
            and isinstance(node.func.value, ast.Name)
            and node.func.value.id == "re"
            and not (node.func.attr == "compile" and id(node) in top)
            and node.func.attr != "escape"
        ]
    assert wrong == []
