"""Code that only tests call goes: every public function and class of the package is named somewhere else in it."""

import ast
import re
from collections import Counter
from functools import cache
from pathlib import Path

from guidegen.cli.commands import COMMANDS

PACKAGE = Path(__file__).resolve().parent.parent / "guidegen"
WORD = re.compile(r"[A-Za-z_]+")

# What nothing in the package names, and who does.
CALLED_FROM_OUTSIDE = {
    "geometry/measure.py": "path_length",  # the lengths that stroke tests build their widths on
    "geometry/stroke/expand.py": "raw_drawing",  # what goes into the union, which tests hold against the discs
    "geometry/union/curves_back.py": "is_clean",  # asked of every outline in the stroke tests
    "writers/pdf.py": "showPage",  # reportlab calls it
}
# Methods that another library's protocol calls: fontTools' pens, click's groups and types.
PROTOCOLS = {
    *("arcTo", "endPath", "qCurveTo"),
    *("format_commands", "get_command", "get_metavar", "list_commands", "shell_complete"),
}


@cache
def trees():
    return {path: ast.parse(path.read_text(encoding="utf-8")) for path in PACKAGE.rglob("*.py")}


def named(tree):
    """Yield every name that code reads, and every string that names a function for a table or another process."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Name) and isinstance(node.ctx, ast.Load):
            yield node.id
        elif isinstance(node, ast.Attribute):
            yield node.attr
        elif isinstance(node, ast.Constant) and isinstance(node.value, str):
            yield node.value.rpartition(":")[2]


def named_by_pages():
    """Return every word in the templates of the page in the browser, which read what is made for them."""
    return (word for path in PACKAGE.rglob("*.html") for word in WORD.findall(path.read_text(encoding="utf-8")))


def unnamed(trees):
    """Return {file: {names}} of public functions, methods and classes that no code in ``trees`` names."""
    read = Counter(name for tree in trees.values() for name in named(tree))
    read.update(named_by_pages())
    found = {}
    for path, tree in trees.items():
        for node in ast.walk(tree):
            is_public = isinstance(node, ast.FunctionDef | ast.ClassDef) and not node.name.startswith("_")
            if is_public and not read[node.name]:
                found.setdefault(path, set()).add(node.name)
    return found


def test_nothing_is_there_for_tests_alone():
    commands = {target.partition(":")[2] for target, _ in COMMANDS.values()}
    found = {path.relative_to(PACKAGE).as_posix(): names - commands - PROTOCOLS
             for path, names in unnamed(trees()).items()}  # fmt: skip
    expected = {path: set(names.split()) for path, names in CALLED_FROM_OUTSIDE.items()}
    assert {path: names for path, names in found.items() if names - expected.get(path, set())} == {}


def test_the_search_finds_what_nothing_names(tmp_path):
    (tmp_path / "a.py").write_text("def tide():\n    return 1\n\ndef boat():\n    return tide()\n")
    path = tmp_path / "a.py"
    assert unnamed({path: ast.parse(path.read_text())}) == {path: {"boat"}}
