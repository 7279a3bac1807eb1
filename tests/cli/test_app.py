import importlib
import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import click
import pytest

from guidegen.cli import app
from guidegen.cli.commands import COMMANDS


def test_help_lists_every_command(cli):
    result = cli("--help")
    assert result.code == 0
    for name, (_, line) in COMMANDS.items():
        assert f"  {name} " in result.out
        assert line.split()[0] in result.out
    assert cli().out == result.out


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_explains_itself_with_examples(cli, name):
    result = cli(name, "--help")
    assert result.code == 0
    assert "Examples:\n" in result.out
    assert f"    guidegen {name}" in result.out
    assert cli(name, "-h").out == result.out


@pytest.mark.parametrize("name", COMMANDS)
def test_the_table_and_the_command_agree(name):
    module, function = COMMANDS[name][0].split(":")
    command = getattr(importlib.import_module(module), function)
    assert isinstance(command, click.Command)
    assert command.name == name
    assert command.help
    assert COMMANDS[name][1].endswith((".", "?"))


def test_every_option_has_a_help_line():
    for name in COMMANDS:
        module, function = COMMANDS[name][0].split(":")
        command = getattr(importlib.import_module(module), function)
        for param in command.params:
            if isinstance(param, click.Option):
                assert param.help, f"{name} {param.opts}"


def test_version(cli):
    result = cli("--version")
    assert result.code == 0
    assert result.out.startswith("guidegen 0.")


USAGE = [
    (["shet"], "did you mean sheet"),
    (["zzz"], "`guidegen --help` lists them"),
    (["--bogus"], "No such option"),
    (["size", "--bogus", "cobble"], "see `guidegen size --help`"),
    (["size", "cobble", "extra"], "unexpected extra argument"),
    (["sheet"], "Missing argument 'MARKER...'"),
    (["add", "tide"], "Missing option '--tip'"),
    (["size", "--x-height"], "requires an argument"),
    (["size", "cobble", "--tip", "wet"], "'wet' is not one of 'brush', 'pointed', 'broad', 'round'"),
    (["size", ""], "a marker's name"),
]


@pytest.mark.parametrize(("arguments", "words"), USAGE)
def test_a_wrong_call_is_one_line(cli, arguments, words):
    result = cli(*arguments)
    assert result.code == 2
    assert result.out == ""
    assert words in result.line


def raising(monkeypatch, error):
    @click.command()
    def broken():
        raise error

    monkeypatch.setitem(app.COMMANDS, "broken", ("tests:broken", "x"))
    monkeypatch.setattr(app.LazyGroup, "get_command", lambda *_: broken)


@pytest.mark.parametrize(
    ("error", "code", "words"),
    [
        (PermissionError(13, "Permission denied", "a.svg"), 2, "a.svg: Permission denied"),
        (OSError(28, "No space left on device", "a.svg"), 2, "a.svg: the disk is full; no file was left half written"),
        (MemoryError(), 2, "not enough memory"),
        (KeyboardInterrupt(), 130, "stopped"),
        (ZeroDivisionError("float\ndivision"), 70, "a defect in guidegen, not in your input: ZeroDivisionError"),
    ],
)
def test_every_error_is_one_line(cli, monkeypatch, error, code, words):
    raising(monkeypatch, error)
    result = cli("broken")
    assert result.code == code
    assert words in result.line


def test_a_defect_shows_where_when_asked(cli, monkeypatch):
    raising(monkeypatch, ZeroDivisionError())
    monkeypatch.setenv("GUIDEGEN_DEBUG", "1")
    with pytest.raises(ZeroDivisionError):
        cli("broken")


def test_ctrl_c_from_outside(home):
    """Interrupt a process at many moments of its life: exit code 130 or a finished run, never a traceback."""
    command = [sys.executable, "-m", "guidegen", "markers"]
    runs = []
    for _ in range(2):  # the first may be slow, from a cold disk
        started = time.monotonic()
        subprocess.run(command, check=True, capture_output=True)
        runs.append(time.monotonic() - started)
    whole = min(runs)
    codes = set()
    for part in (0.35, 0.5, 0.7):
        process = subprocess.Popen(
            command,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            # a shell's background jobs, and so the tests run as one, ignore Ctrl-C, and children inherit that
            preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL),  # noqa: PLW1509
        )
        time.sleep(whole * part)
        process.send_signal(signal.SIGINT)
        _, err = process.communicate(timeout=60)
        codes.add(process.returncode)
        assert b"Traceback" not in err
        assert err.count(b"\n") <= 1
    assert codes <= {0, 130}
    assert 130 in codes


def test_a_reader_that_goes_away_is_no_error(home):
    command = f"{sys.executable} -m guidegen --help | true"
    done = subprocess.run(["bash", "-c", f"set -o pipefail; {command}"], capture_output=True, check=False)
    assert done.stderr == b""
    assert done.returncode in {0, 141}


def test_a_full_disk_behind_stdout(home):
    done = subprocess.run(
        ["bash", "-c", f"{sys.executable} -m guidegen --help > /dev/full"], capture_output=True, check=False, text=True
    )  # fmt: skip
    assert done.returncode == 2
    assert done.stderr == "guidegen: the disk is full; no file was left half written\n"


HEAVY = {
    "numpy",
    "scipy",
    "svgwrite",
    "reportlab",
    "cairosvg",
    "PIL",
    "fontTools",
    "shapely",
    "pathops",
    "svgpathtools",
}


@pytest.mark.parametrize("arguments", [["--help"], ["sheet", "--help"], ["--version"]])
def test_help_imports_click_and_nothing_else_from_outside(home, arguments):
    """The measure is the interpreter's own: -X importtime names each module as it is imported."""
    command = [sys.executable, "-X", "importtime", "-m", "guidegen", *arguments]
    done = subprocess.run(command, capture_output=True, check=True, text=True)
    imported = {line.rsplit("|", 1)[1].strip().split(".")[0] for line in done.stderr.splitlines() if "|" in line}
    baseline = subprocess.run(
        [sys.executable, "-X", "importtime", "-c", "import click"], capture_output=True, check=True, text=True
    )
    known = {line.rsplit("|", 1)[1].strip().split(".")[0] for line in baseline.stderr.splitlines() if "|" in line}
    foreign = imported - known - set(sys.stdlib_module_names) - {"guidegen", "imported package"}
    foreign -= {"org"}  # the standard library's copy module looks whether it runs on a Java platform
    assert foreign == set()
    assert not imported & HEAVY


def test_shell_completion_knows_commands_and_markers(home):
    environment = os.environ | {
        "_GUIDEGEN_COMPLETE": "bash_complete",
        "COMP_WORDS": "guidegen size co",
        "COMP_CWORD": "2",
    }
    done = subprocess.run(
        [sys.executable, "-c", "from guidegen.cli.main import main; main()"],
        env=environment, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert "plain,cobble" in done.stdout


@pytest.mark.parametrize(("ending", "purpose", "library"), [("dxf", "cut", "ezdxf"), ("pdf", "print", "pikepdf")])
def test_a_library_that_only_some_need_is_named_when_it_is_missing(cli, monkeypatch, ending, purpose, library):
    monkeypatch.setitem(sys.modules, library, None)
    result = cli("letter", "flint", "--for", purpose, "-o", f"e.{ending}")
    assert result.code == 2
    assert result.line.endswith(f"needs {library}: pip install {library}")
    assert not Path(f"e.{ending}").exists()
