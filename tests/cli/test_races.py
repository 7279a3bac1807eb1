"""Several processes that write the same: each finds the old or the whole new, and nobody is told what is not so."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from guidegen import saving
from guidegen.errors import GuidegenError
from guidegen.saving import new_folders, write_files

GUIDEGEN = [sys.executable, "-m", "guidegen"]


def together(folder, *commands):
    """Start commands at once and return (code, stderr) of each."""
    started = [
        subprocess.Popen([*GUIDEGEN, *words], cwd=folder, stdout=subprocess.PIPE, stderr=subprocess.PIPE)
        for words in commands
    ]
    return [(process.wait(60), process.communicate()[1].decode()) for process in started]


def test_parallel_printers_are_all_kept(home, tmp_path):
    commands = [
        ("sheet", "flint", "--measured", f"98.{k}x99", "--printer", f"room-{k}", "-o", f"{k}.svg") for k in range(4)
    ]
    assert together(home, *commands) == [(0, "")] * 4
    kept = (tmp_path / "config" / "guidegen" / "printers.toml").read_text()
    assert [line.split(" ")[0] for line in kept.splitlines()[1:]] == [f"room-{k}" for k in range(4)]


def test_of_parallel_adds_one_is_saved_and_the_others_say_so(home, tmp_path):
    words = ("add", "kai", "--tip", "round", "--downstroke")
    told = together(home, *[(*words, f"0.{k}") for k in range(2, 6)])
    assert sorted(code for code, _ in told) == [0, 2, 2, 2]
    assert all("exists already" in line for code, line in told if code)
    folder = tmp_path / "config" / "guidegen" / "markers"
    assert [path.name for path in folder.iterdir()] == ["kai.toml"]


def test_a_name_taken_meanwhile_is_not_taken_again(tmp_path):
    def slow():
        yield tmp_path / "a", b"ours"
        yield tmp_path / "b", b"ours"
        (tmp_path / "b").write_bytes(b"theirs")  # after it was looked at

    with pytest.raises(GuidegenError, match="exists already"):
        write_files(slow(), force=False)
    assert (tmp_path / "b").read_bytes() == b"theirs"
    assert [path.name for path in tmp_path.iterdir()] == ["b"]


@pytest.mark.parametrize("nameless", [True, False])
@pytest.mark.parametrize("force", [True, False])
def test_files_come_whole_with_and_without_nameless_files(tmp_path, monkeypatch, nameless, force):
    monkeypatch.setattr(saving, "MOST_NAMELESS", 100 if nameless else 0)
    paths = write_files(((tmp_path / f"{k}", b"x" * k) for k in range(120)), force=force)
    assert [len(path.read_bytes()) for path in paths] == list(range(120))
    assert len(list(tmp_path.iterdir())) == 120


def test_a_disk_without_links_still_takes_new_names(tmp_path, monkeypatch):
    def none(*_words, **_more):
        raise PermissionError(1, "Operation not permitted")

    monkeypatch.setattr(saving, "MOST_NAMELESS", 0)
    monkeypatch.setattr(saving.os, "link", none)
    write_files([(tmp_path / "a", b"new")], force=False)
    with pytest.raises(GuidegenError, match="exists already"):
        write_files([(tmp_path / "a", b"newer")], force=False)
    assert [(path.name, path.read_bytes()) for path in tmp_path.iterdir()] == [("a", b"new")]


def test_what_a_killed_process_left_is_swept(tmp_path):
    dead = subprocess.Popen([sys.executable, "-c", ""])
    dead.wait()
    (tmp_path / f".guidegen-{dead.pid}-0.part").write_bytes(b"half")
    (tmp_path / ".guidegen-1-0.part").write_bytes(b"of a process that lives")
    write_files([(tmp_path / "a", b"new")], force=False)
    assert sorted(path.name for path in tmp_path.iterdir()) == [".guidegen-1-0.part", "a"]


def test_a_pipe_that_nobody_reads_is_refused_and_one_that_is_read_is_written(tmp_path):
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    with pytest.raises(GuidegenError, match="nobody reads"):
        write_files([(pipe, b"new")], force=True)
    reading = os.open(pipe, os.O_RDONLY | os.O_NONBLOCK)
    write_files([(pipe, b"new")], force=True)
    assert os.read(reading, 9) == b"new"
    os.close(reading)


def test_no_new_file_among_devices():
    with pytest.raises(GuidegenError, match="among devices"):
        write_files([(Path("/dev/null-1"), b"new")], force=True)
    assert not Path("/dev/null-1").exists()


def test_folders_made_for_what_fails_are_taken_back(tmp_path):
    def fail():
        with new_folders(tmp_path / "a" / "b", tmp_path / "c"):
            (tmp_path / "c" / "kept").touch()
            raise GuidegenError("no")

    with pytest.raises(GuidegenError):
        fail()
    assert sorted(path.name for path in tmp_path.iterdir()) == ["c"]


@pytest.mark.parametrize("body", ["printers = 5\n", "[printers]\na = 3\n", "[printers]\na = 'x'\n", "x = 1\n", "\n"])
def test_kept_printers_of_another_shape_are_named_and_left_alone(cli, tmp_path, body):
    kept = tmp_path / "config" / "guidegen" / "printers.toml"
    kept.parent.mkdir(parents=True)
    kept.write_text(body)
    for words in (("--printer", "a"), ("--printer", "a", "--measured", "98x99")):
        told = cli("sheet", "flint", "-o", "s.svg", *words)
        assert told.code == 2
        assert "printers.toml" in told.line
    assert kept.read_text() == body


@pytest.mark.parametrize(
    "words",
    [
        ("sheet", "flint", "--hand", ""),
        ("sheet", "flint", "--paper", ""),
        ("sheet", "flint", "--printer", " "),
        ("--markers", "", "sheet", "flint"),
        ("sheet", "flint", "-o", ""),
        ("sheet", "flint", "--format", ""),
        ("sheet", "flint", "--slant", "٤٠"),
        ("sheet", "flint", "--slant", "6_0"),
        ("plan", "flint", "tide", "--lines", "٣"),
        ("write", "flint", "tide", "--for", "print", "--up", "2", "--sheet", ""),
        ("write", "flint", "tide", "--for", "cut", "--bleed", "0"),
        ("write", "flint", "tide", "--bleed", "0"),
        ("write", "cobble", "tide", "--for", "print", "--spot", "A=.,0,0,1"),
        ("write", "cobble", "tide", "--for", "print", "--spot", "A=."),
        ("worksheet", "flint", "--letters", "a-z", "--paper", "a4,letter", "-o", "-"),
        ("font", "flint", "--set", "all", "-o", "-"),
    ],
)
def test_what_was_taken_silently_is_refused(cli, home, words):
    told = cli(*words)
    assert told.code == 2
    assert told.line
    assert told.out == ""
    assert list(home.iterdir()) == []
