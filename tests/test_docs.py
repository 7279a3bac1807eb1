"""README and DEVELOPERS.md say what is true: each command shown is run, each command is shown."""

import re
import shlex
from pathlib import Path

import pytest
from sample_pages import write_pictures

from guidegen.cli.commands import COMMANDS

REPOSITORY = Path(__file__).resolve().parent.parent
README = (REPOSITORY / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (REPOSITORY / "DEVELOPERS.md").read_text(encoding="utf-8")


def blocks(text, kind):
    return re.findall(rf"^```{kind}\n(.*?)^```$", text, re.DOTALL | re.MULTILINE)


def commands(block):
    return [shlex.split(line, comments=True) for line in block.splitlines() if line.startswith("guidegen ")]


SHOWN = blocks(README, "sh")


@pytest.fixture
def own_files(home):
    """The files that README takes for granted: a drawing and a list of names."""
    drawing = '<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="80mm" viewBox="0 0 60 80">'
    drawing += '<path d="M30 10v55M20 22h20M10 50q4 18 20 18q16 0 20-18" fill="none" stroke="#000"/></svg>'
    (home / "anchor.svg").write_text(drawing)
    (home / "class.txt").write_text("Ada\nTom\n")
    write_pictures(home)
    (home / "class.csv").write_text("name,age\nAda,9\nTom,10\n")
    (home / "evening.toml").write_text(next(text for text in blocks(README, "toml") if "[[job]]" in text))


@pytest.mark.parametrize("block", SHOWN, ids=[commands(block)[0][1] for block in SHOWN])
def test_every_command_shown_runs(block, cli, own_files):
    """The commands of a block run one after the other in one folder, on the shipped markers."""
    assert commands(block)
    for arguments in commands(block):
        result = cli(*arguments[1:])
        assert result.code == 0, (arguments, result.err)


def test_the_python_of_the_readme_runs_as_it_stands(home, capsys):
    names = {}
    for block in blocks(README, "python"):
        exec(compile(block, "README", "exec"), names)
    assert len(blocks(README, "python")[0].split("\n\n")[0].splitlines()) <= 5
    assert {path.name for path in home.iterdir()} == {"cobble.pdf", "tide.pdf", "tide.svg", "tidepen.otf"}
    assert float(capsys.readouterr().out.splitlines()[0]) > 5


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_is_shown(name):
    assert any(arguments[1] == name for block in SHOWN for arguments in commands(block))


def test_readme_shows_two_set_up_commands():
    plain = [block.strip() for block in blocks(README, "")]
    assert any(block.endswith("pip install . && .venv/bin/guidegen demo") for block in plain)
    assert any('pip install -e ".[test]"' in block and "pytest" in block for block in plain)


def test_readme_starts_with_the_job_in_one_paragraph_and_states_the_licence():
    title, paragraph, *_ = README.split("\n\n")
    assert title == "# guidegen"
    assert 60 < len(paragraph.split()) < 160
    assert re.search(r"^## Licence\n\nMIT", README, re.MULTILINE)


@pytest.mark.parametrize("text", [README, DEVELOPERS], ids=["README", "DEVELOPERS"])
def test_links_and_pictures_lead_somewhere(text):
    for target in re.findall(r"\]\(([^)#]+)\)", text):
        assert (REPOSITORY / target).exists(), target


@pytest.mark.parametrize("text", [README, DEVELOPERS], ids=["README", "DEVELOPERS"])
def test_files_named_in_the_text_exist(text):
    for target in re.findall(r"`((?:guidegen|tests|templates)/[\w./]+)`", text):
        assert (REPOSITORY / target).exists(), target


def test_the_hand_in_developers_works_as_it_stands(cli, home):
    toml = blocks(DEVELOPERS, "toml")[0]  # those after it are parts of a file
    (home / "my-hand").mkdir()
    (home / "my-hand" / "hand.toml").write_text(toml)
    assert cli("size", "cobble", "--hand", "./my-hand").code == 0
    assert cli("letter", "cobble", "--hand", "./my-hand", "--char", "l", "-o", "l.svg").code == 0


def test_the_profile_in_readme_works_as_it_stands(cli, home):
    (toml,) = (text for text in blocks(README, "toml") if "[marker]" in text)
    (home / "mine.toml").write_text(toml)
    assert cli("size", "mine.toml").code == 0
