"""Long commands stopped at moments drawn by chance, disks that fill, folders that go, many writers of one file."""

from __future__ import annotations

import os
import random
import shutil
import signal
import subprocess
import sys
import threading
import time

import pytest
import unfit_pictures
from test_same_bytes import SETTINGS, made
from test_stops import names, stopped  # noqa: F401  the fixture is used by its name

pytestmark = pytest.mark.benchmark
GUIDEGEN = [sys.executable, "-m", "guidegen"]
LONG = (
    ("worksheet", "pebble", "--names", "names.txt", "-o", "out.pdf", "--force"),
    ("font", "cobble", "--set", "all", "-o", "out"),
    ("demo", "-o", "out"),
    ("planner", "pebble", "--letters", "a-z", "-o", "out.pdf", "--force"),
    ("alphabet", "cobble", "slate", "grit", "-o", "out.pdf", "--force"),
    ("packet", "class", "--marker", "pebble,slate", "--names", "names.txt", "-o", "out.pdf", "--force"),
    ("batch", "jobs.toml", "--folder", "out"),
    ("measure", "scan.png", "--name", "kai", "-o", "out/kai.toml", "--report", "out.pdf", "--force"),
)
JOBS = b'[[job]]\ncommand = "worksheet"\nmarker = "*"\ntext = "tide"\nout = "{marker}.pdf"\n'
MOMENTS = int(os.environ.get("GUIDEGEN_MOMENTS", "60"))


def test_stopped_at_any_moment_nothing_is_half_written_and_nobody_stays(names):  # noqa: F811
    (names / "jobs.toml").write_bytes(JOBS)
    (names / "scan.png").write_bytes(unfit_pictures.strokes())
    chance, ends, there = random.Random(12), {}, set(names.rglob("*"))
    for k in range(MOMENTS):
        command = LONG[k % len(LONG)]
        shutil.rmtree(names / "out", ignore_errors=True)
        if command[0] == "measure":
            (names / "out").mkdir()
        (names / "out.pdf").write_bytes(b"old")
        sign = (signal.SIGKILL, signal.SIGTERM, signal.SIGINT)[k % 3]
        code, told = stopped(names, sign, chance.uniform(0.05, 12.0), [*GUIDEGEN, *command], everybody=k % 2 == 0)
        ends[code] = ends.get(code, 0) + 1
        assert "Traceback" not in told, told
        data = (names / "out.pdf").read_bytes()
        assert data == b"old" or data.rstrip().endswith(b"%%EOF")
        for path in set(names.rglob("*")) - there - {names / "out.pdf"}:
            if path.is_file() and path.suffix in {".pdf", ".ttf", ".svg", ".png"}:
                assert path.stat().st_size > 100, path
        left = list(names.rglob("*.part"))
        assert sign == signal.SIGKILL or left == [], left
        for path in left:
            path.unlink()
    print(f"\n{MOMENTS} moments; codes {ends}")


def test_a_full_disk_keeps_what_was_there(tmp_path):
    disk = tmp_path / "disk"
    disk.mkdir()
    mounted = subprocess.run(["mount", "-t", "tmpfs", "-o", "size=200k", "none", disk], check=False)
    if mounted.returncode:
        pytest.fail("a small disk cannot be mounted here")
    try:
        (disk / "cards.pdf").write_bytes(b"old")
        over = ("font", "cobble", "-o", "cards.pdf", "--format", "ttf", "--force")  # the larger of the fonts
        packet = ("packet", "class", "--marker", "cobble", "-o", "p.svg")
        for words in (("font", "flint", "--set", "all", "-o", "f"), ("demo", "-o", "d"), over, packet):
            done = subprocess.run([*GUIDEGEN, *words], cwd=disk, capture_output=True, check=False)
            assert done.returncode == 2, done.stderr
            assert done.stderr.count(b"\n") == 1
            assert b"disk is full" in done.stderr
            assert (disk / "cards.pdf").read_bytes() == b"old"
            assert not list(disk.rglob("*.part"))
            shutil.rmtree(disk / "d", ignore_errors=True)
        assert [path.name for path in disk.iterdir()] == ["cards.pdf"]
    finally:
        subprocess.run(["umount", disk], check=True)


def test_a_folder_that_goes_is_told(tmp_path):
    for after_s in (0.2, 0.6, 1.0, 1.6):
        folder = tmp_path / "out"
        folder.mkdir()
        threading.Timer(after_s, shutil.rmtree, [folder], {"ignore_errors": True}).start()
        command = [*GUIDEGEN, "planner", "pebble", "--letters", "a-f", "-o", "out/x.pdf"]
        done = subprocess.run(command, cwd=tmp_path, capture_output=True, check=False)
        time.sleep(2)
        assert done.returncode in (0, 2)
        assert done.stderr.count(b"\n") == (done.returncode == 2)
        assert b"defect" not in done.stderr
        shutil.rmtree(folder, ignore_errors=True)


def test_eight_writers_of_one_file(tmp_path):
    for more in ((), ("--force",)):
        started = [
            subprocess.Popen(
                [*GUIDEGEN, "sheet", "flint", "--x-height", f"{5 + k}mm", "-o", "x.svg", *more],
                cwd=tmp_path,
                stdout=subprocess.DEVNULL,
                stderr=subprocess.DEVNULL,
            )
            for k in range(8)
        ]
        codes = [process.wait() for process in started]
        assert (tmp_path / "x.svg").read_bytes().endswith(b"</svg>\n")
        assert [path.name for path in tmp_path.iterdir()] == ["x.svg"]
        assert sorted(codes) == ([0] * 8 if more else [0] + [2] * 7)


def test_bytes_are_the_same_over_seeds_zones_languages_and_threads(tmp_path):
    first, *others = (made(tmp_path / f"a folder {k}", **setting) for k, setting in enumerate(SETTINGS))
    for other in others:
        assert other == first
