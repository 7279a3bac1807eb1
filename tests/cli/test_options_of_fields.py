"""Messages of the library name its parameters; on the command line they name options that exist."""

import ast
import importlib
import re
from pathlib import Path

import pytest

import guidegen
from guidegen.cli.commands import COMMANDS
from guidegen.cli.wording import in_options, option_of

PACKAGE = Path(guidegen.__file__).parent
LIBRARY = [
    path for path in sorted(PACKAGE.rglob("*.py")) if not {"cli", "web"} & set(path.relative_to(PACKAGE).parts)
]
"""The page in the browser names its own fields."""


@pytest.fixture(scope="module")
def params():
    """The options and arguments of ``write``."""
    return importlib.import_module("guidegen.cli.pieces").write.params


@pytest.mark.parametrize(
    ("message", "told"),
    [
        ("`margin_mm`: 99 mm leave no room; use a smaller one", "--margin: 99 mm leave no room; use a smaller one"),
        ("found 'x'; `guidegen markers` lists them", "found 'x'; `guidegen markers` lists them"),
        ("use `proof` none or `printer_paper` a4", "use --proof none or --printer-paper a4"),
        ("`slant_deg`: found 7", "--slant: found 7"),
        ("`text`: found nothing", "TEXT: found nothing"),
        ("found '`drills`'", "found '`drills`'"),  # no option of this command
    ],
)
def test_fields_become_options_and_arguments(params, message, told):
    assert in_options(message, params) == told


def strings(path):
    """Yield (line, text) of every string of a file but its docstrings."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    told = {id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr)}
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in told:
            yield node.lineno, node.value


def test_the_library_names_no_options():
    wrong = [
        f"{path.relative_to(PACKAGE)}:{line}"
        for path in LIBRARY
        for line, text in strings(path)
        if re.search(r"(^|[ :,;(`])--[a-z]", re.sub("`guidegen [^`]*`", "", text))
    ]
    assert wrong == []


def test_every_field_named_in_a_message_is_an_option_or_argument_of_some_command():
    options = set()
    for place, _ in COMMANDS.values():
        module, function = place.split(":")
        for param in getattr(importlib.import_module(module), function).params:
            options.update(param.opts)
    named = {
        (field, f"{path.relative_to(PACKAGE)}:{line}")
        for path in LIBRARY
        for line, text in strings(path)
        for field in re.findall("`([a-z]+(?:_[a-z]+)*)`", text)
    }
    assert len({field for field, _ in named}) > 20
    options |= {"--text", "--markers", "--images", "--make"}  # arguments, and what only Python has
    assert {entry for entry in named if option_of(entry[0]) not in options} == set()
