"""Every example that a command's --help shows is run as it stands.

Those of ``demo`` are in the test of README; ``serve``, which runs until it is told to stop, in those of the page.
"""

import importlib
import shlex
from pathlib import Path

import pytest
from sample_pages import write_pictures

from guidegen.cli.commands import COMMANDS
from guidegen.hands.library import templates_folder

DRAWING = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="80mm" viewBox="0 0 60 80">'
    '<path d="M30 10v55M20 22h20M10 50q4 18 20 18q16 0 20-18" fill="none" stroke="#000"/></svg>'
)
# What the examples take for granted: a drawing, lists of names, and files that earlier commands made.
MADE = [
    'write cobble "high tide" -o tide.svg',
    'write boulder "high tide" --for cut -o tide.dxf',
    "write pebble Mara --for print -o cards.pdf",
    "sheet cobble",
]
BATCH = """
[[job]]
command = "sheet"
marker = ["flint", "grit"]
out = "{marker}.svg"
"""
OWN = {"--rename": "tidepen", "--remove": "tide-pen"}
"""The profiles of their own that people change by each option."""


def command_of(name):
    module, function = COMMANDS[name][0].split(":")
    return getattr(importlib.import_module(module), function)


def examples(name):
    shown = command_of(name).help.split("Examples:")[-1].splitlines()
    return [shlex.split(line)[1:] for line in map(str.strip, shown) if line.startswith("guidegen ")]


EXAMPLES = [
    pytest.param(words, id=shlex.join(words)) for name in COMMANDS if name not in ("demo", "serve")
    for words in examples(name)
]


def test_every_command_has_examples():
    assert all(examples(name) for name in COMMANDS)


@pytest.mark.parametrize("words", EXAMPLES)
def test_the_example_runs(cli, home, words):
    Path("anchor.svg").write_text(DRAWING)
    Path("class.txt").write_text("Ada\nTom\n")
    Path("guests.txt").write_text("Ada\nTom\nMara Lund\n")
    Path("evening.toml").write_text(BATCH)
    if words[0] in ("measure", "check"):
        write_pictures(Path())
    shipped = templates_folder() / "sheets" / "class.toml"
    Path("tuesday.toml").write_text(shipped.read_text(encoding="utf-8"), encoding="utf-8")
    if words[0] == "markers":
        for name in (own for option, own in OWN.items() if option in words):
            assert cli("add", name, "--tip", "round", "--downstroke", "0.8").code == 0
    if words[0] == "inspect":
        for line in MADE:
            assert cli(*shlex.split(line)).code == 0
    if words[0] == "batch" and "--check" in words:
        assert cli(*[word for word in words if word != "--check"]).code == 0
    result = cli(*words)
    allowed = {0, 1} if words[0] == "inspect" else {0}  # a check that was asked for may fail
    assert result.code in allowed, result.err
