"""Stopped in the middle: no process stays, nothing is half written, one line is told."""

from __future__ import annotations

import os
import random
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

COMMAND = [sys.executable, "-m", "guidegen", "worksheet", "pebble", "--names", "names.txt", "-o", "names.pdf"]
COMMAND += ["--force"]


def processes_of(group):
    """Return the processes of a process group that have not ended."""
    found = []
    for entry in Path("/proc").iterdir():
        if entry.name.isdecimal():
            try:
                state, _, owner = (entry / "stat").read_text().rpartition(")")[2].split()[:3]
            except OSError:
                continue
            if int(owner) == group and state != "Z":
                found.append(int(entry.name))
    return found


def stopped(folder, sign, after_s, command=COMMAND, *, everybody=False):
    """Stop a command after some seconds; return its code, what it told and what still runs two seconds later."""
    running = subprocess.Popen(
        command, cwd=folder, stdout=subprocess.PIPE, stderr=subprocess.PIPE, start_new_session=True
    )
    time.sleep(after_s)
    if everybody:
        os.killpg(running.pid, sign)
    else:
        running.send_signal(sign)
    began = time.monotonic()
    _, told = running.communicate(timeout=60)
    while (left := processes_of(running.pid)) and time.monotonic() - began < 6:
        time.sleep(0.05)
    assert left == [], f"still running {time.monotonic() - began:.1f} s later"
    return running.returncode, told.decode()


@pytest.fixture
def names(home):
    if not Path("/proc/self/stat").exists():
        pytest.fail("asks Linux which processes run")
    (home / "names.txt").write_text("".join(f"Mara Lund {'abcdefgh'[k % 8]}{'abcdefgh'[k // 8]}\n" for k in range(64)))
    (home / "names.pdf").write_bytes(b"old")
    return home


@pytest.mark.parametrize("sign", [signal.SIGKILL, signal.SIGTERM, signal.SIGINT])
def test_no_process_stays_and_the_old_file_does(names, sign):
    code, told = stopped(names, sign, 1.8)
    if code == 0:
        return  # it was done before
    assert code == (-9 if sign == signal.SIGKILL else 128 + sign)
    assert told == ("" if sign == signal.SIGKILL else "guidegen: stopped; no file was left half written\n")
    assert (names / "names.pdf").read_bytes() == b"old"
    assert sorted(path.name for path in names.iterdir()) == ["names.pdf", "names.txt"]


def test_ctrl_c_in_the_first_second_shows_no_traceback(names):
    chance = random.Random(7)
    for _ in range(3):
        code, told = stopped(names, signal.SIGINT, chance.uniform(0.15, 1.0), everybody=True)
        assert "Traceback" not in told
        assert told.count("\n") <= 1
        assert code in (0, 130, -signal.SIGINT)


def test_a_library_that_does_not_return_is_left_behind(home):
    code = "import time, numpy; from guidegen.cli import stops; stops.listen()\n"
    code += "while True:\n    try: time.sleep(60)\n    except KeyboardInterrupt: pass\n"
    code, told = stopped(home, signal.SIGTERM, 3.0, [sys.executable, "-c", code])
    assert (code, told) == (143, "guidegen: stopped; no file was left half written\n")
