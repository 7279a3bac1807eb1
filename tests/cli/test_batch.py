"""``batch``: the commands' own bytes, every mistake before the first file, and again only what changed."""

from __future__ import annotations

import json
import os
import random
import signal
import subprocess
import sys
import time

import pytest

EVENING = """
[batch]
folder = "sheets"
[[job]]
command = "sheet"
marker = ["cobble", "slate"]
paper = ["a5", "letter"]
landscape = true
out = "{marker}/{paper}.pdf"
[[job]]
command = "worksheet"
marker = "pebble"
text = { csv = "class.csv", column = "name" }
arrows = false
rows = "solid,blank"
out = "names/{text}.svg"
[[job]]
command = "handout"
markers = ["grit", "own.toml"]
title = "Tuesday -- evening"
out = "handout.svg"
[[job]]
command = "write"
marker = "own.toml"
text = "-tide"
hand = "quay"
out = "{marker}.dxf"
"""
OWN = '[marker]\nname = "kai"\nlabel = "Kai"\ntip = "brush"\ndownstroke_mm = 2.2\nhairline_mm = 0.4\n'
HAND = '[hand]\nname = "quay"\nlabel = "Quay"\nletters_from = "joined"\ntips = ["brush"]\nslant_deg = 70\n[size]\nrule = "counter"\nvalue = 1.0\nsmallest = 0.6\nlargest = 1.5\n'  # noqa: E501


@pytest.fixture
def evening(home):
    """A manifest that reads a class list, a marker and a hand of its own beside it."""
    folder = home / "lists"
    (folder / "quay").mkdir(parents=True)
    (folder / "evening.toml").write_text(EVENING, encoding="utf-8")
    (folder / "class.csv").write_text("name,age\nMarta,9\nJörn,10\n", encoding="utf-8")
    (folder / "own.toml").write_text(OWN)
    (folder / "quay" / "hand.toml").write_text(HAND)
    return folder


def found(folder):
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in sorted(folder.rglob("*"))
            if path.is_file() and ".guidegen" not in path.parts}  # fmt: skip


def test_every_result_is_what_the_command_writes(cli, evening, home):
    done = cli("batch", evening / "evening.toml")
    assert (done.code, done.err) == (0, "")
    assert "8 made" in done.out
    made = found(evening / "sheets")
    one = home / "one"
    one.mkdir()
    for words in (
        ("sheet", "cobble", "--paper", "a5", "--landscape", "-o", one / "cobble-a5.pdf"),
        ("sheet", "cobble", "--paper", "letter", "--landscape", "-o", one / "cobble-letter.pdf"),
        ("sheet", "slate", "--paper", "a5", "--landscape", "-o", one / "slate-a5.pdf"),
        ("sheet", "slate", "--paper", "letter", "--landscape", "-o", one / "slate-letter.pdf"),
        *(("worksheet", "pebble", name, "--no-arrows", "--rows", "solid,blank", "-o", one / f"names-{name}.svg")
          for name in ("Marta", "Jörn")),
        ("handout", "grit", evening / "own.toml", "--title", "Tuesday -- evening", "-o", one / "handout.svg"),
        ("write", "--hand", evening / "quay", "-o", one / "own.dxf", "--", evening / "own.toml", "-tide"),
    ):  # fmt: skip
        assert cli(*words).code == 0
    assert {name.replace("/", "-"): data for name, data in made.items()} == found(one)


def test_again_is_nothing_and_each_thing_it_reads_counts(cli, evening, monkeypatch):
    def made():
        done = cli("batch", evening / "evening.toml", "--json", "--processes", 1)
        assert done.code == 0, done.err
        return json.loads(done.out)["made"]

    assert made() == 8
    assert made() == 0
    (evening / "own.toml").write_text(OWN.replace("2.2", "2.3"))
    assert made() == 2  # handout and text
    (evening / "quay" / "hand.toml").write_text(HAND.replace("70", "71"))
    assert made() == 1
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "86400")
    assert made() == 8
    monkeypatch.setattr("guidegen.batch.tasks.versions", lambda: {"guidegen": "9"})
    assert made() == 8
    assert made() == 0


MISTAKES = """
[[job]]
command = "sheet"
marker = ["cobbel", "nobody.toml", "cobble"]
paper = ["a4", "a99"]
margin = "3 apples"
hand = "jioned"
x_height = true
out = "x.pdf"
[[job]]
command = "letter"
marker = "cobble"
names = 3
[[job]]
command = "letter"
[[job]]
command = "worksheet"
marker = "cobble"
text = "tide"
names = "nobody.txt"
printer = "staffroom"
json = true
[[job]]
command = "size"
marker = "cobble"
[[job]]
command = "batch"
"""


def test_every_mistake_is_told_before_anything_is_made(cli, home):
    (home / "bad.toml").write_text(MISTAKES)
    first = cli("batch", "bad.toml")
    assert first.code == 2
    assert [line.split(": ")[2] for line in first.err.splitlines()] == [
        "[[job]] 2", "[[job]] 4", "[[job]] 5", "[[job]] 6"]  # fmt: skip
    (home / "bad.toml").write_text("\n".join(
        line for line in MISTAKES.replace('"size"', '"sheet"').replace('"batch"', '"trial"').splitlines()
        if not line.startswith(("names = 3", "json"))))  # fmt: skip
    second = cli("batch", "bad.toml")
    assert second.code == 2
    told = second.err.splitlines()
    for words in ("1: marker: found 'cobbel'", "1: paper: found 'a99'", "1: margin: found '3",
                  "1: hand: ", "1: x_height: found", "3: Missing argument 'MARKER",
                  "4: printer: found", "1: out: 'x.pdf' is the result of another job of this table"):  # fmt: skip
        assert sum(f"[[job]] {words}" in line for line in told) == 1, (words, told)
    for name in ("nobody.toml", "nobody.txt"):
        assert sum(f"{name}: found no such file" in line for line in told) == 1
    assert sorted(path.name for path in home.iterdir()) == ["bad.toml"]


def test_a_job_that_fails_is_one_line_and_the_rest_goes_on(cli, home):
    (home / "class.toml").write_text(
        '[[job]]\ncommand = "letter"\nmarker = "boulder"\npaper = ["a7", "a4"]\nx_height = 25\nout = "{paper}.svg"\n'
        '[[job]]\ncommand = "letter"\nmarker = "cobble"\npaper = "a5"\nx_height = 8\nout = "b.svg"\n'
    )
    done = cli("batch", "class.toml")
    assert done.code == 1
    assert "2 made" in done.out
    assert "1 failed" in done.out
    assert "guidegen: [[job]] 1, a7.svg: the letter at 25.0 mm does not fit A7" in done.err
    assert "guidegen: [[job]] 2, b.svg: " in done.err  # a note: beneath the band
    assert "defect" not in done.err
    assert cli("batch", "class.toml", "--stop", "--processes", 1).code == 1


def test_plan_makes_nothing(cli, evening):
    done = cli("batch", evening / "evening.toml", "--plan")
    assert "8 jobs, 8 to do" in done.out
    assert "about " in done.out
    told = json.loads(cli("batch", evening / "evening.toml", "--plan", "--json").out)
    assert (told["jobs"], told["todo"]) == (8, 8)
    assert told["bytes"] > 10_000
    assert found(evening / "sheets") == {}


def test_check_finds_what_was_tampered_with_and_the_next_run_mends_it(cli, evening):
    assert cli("batch", evening / "evening.toml").code == 0
    before = found(evening / "sheets")
    assert cli("batch", evening / "evening.toml", "--check").code == 0
    path = evening / "sheets" / "cobble" / "a5.pdf"
    times = path.stat()
    path.write_bytes(b"x" * times.st_size)
    os.utime(path, ns=(times.st_atime_ns, times.st_mtime_ns))
    (evening / "sheets" / "handout.svg").unlink()
    done = cli("batch", evening / "evening.toml", "--check", "--json")
    assert done.code == 1
    assert json.loads(done.out)["changed"] == [
        {"file": "cobble/a5.pdf", "found": "not as it was made"},
        {"file": "handout.svg", "found": "missing"},
    ]
    assert "2 made" in cli("batch", evening / "evening.toml").out
    assert found(evening / "sheets") == before


def test_shards_do_each_job_once_and_merge(cli, evening):
    runs = [cli("batch", evening / "evening.toml", "--shard", f"{k}/3", "--json") for k in (1, 2, 3)]
    made = [json.loads(run.out)["made"] for run in runs]
    assert sum(made) == 8
    assert max(made) < 8
    assert "8 jobs taken over" in cli("batch", evening / "evening.toml", "--merge").out
    assert "0 made" in cli("batch", evening / "evening.toml").out


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("--shard", "4/3"), "a part such as 3/16"),
        (("--shard", "0/3"), "a part such as 3/16"),
        (("--plan", "--check"), "one of --merge, --plan, --check"),
        (("--scheduler", "tcp://127.0.0.1:1", "--processes", "2"), "the cluster has its own"),
        (("--processes", "0"), "a whole number from 1"),
        (("--folder", "evening.toml"), "expected a folder"),
        (("--folder", "harbour://x"), "Protocol not known"),
    ],
)
def test_options_that_make_no_sense(cli, evening, monkeypatch, words, told):
    monkeypatch.chdir(evening)
    done = cli("batch", "evening.toml", *words)
    assert done.code == 2
    assert told in done.line
    assert not (evening / "sheets").exists()


MANY = """
[[job]]
command = "trial"
from = [3, 4, 5, 6, 7, 8]
to = [20, 21, 22, 23, 24]
out = "trial-{from}-{to}.svg"
"""


def test_killed_at_any_moment_and_two_at_once(home, cli):
    """Whole files only, and the next run does what is missing; two runs on one folder share the rest."""
    (home / "many.toml").write_text(MANY)
    command = [sys.executable, "-m", "guidegen", "batch", "many.toml"]
    moments = random.Random(5)
    for _ in range(4):
        process = subprocess.Popen(command, start_new_session=True, stderr=subprocess.PIPE, stdout=subprocess.PIPE)
        time.sleep(moments.uniform(0.5, 2.5))
        os.killpg(process.pid, signal.SIGKILL)
        process.communicate()
    whole = found(home / "output")
    assert all(data.rstrip().endswith(b"</svg>") for data in whole.values())
    both = [subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE) for _ in range(2)]
    told = [process.communicate(timeout=120) for process in both]
    assert [err for _, err in told] == [b"", b""]
    done = cli("batch", "many.toml", "--json")
    assert (json.loads(done.out)["made"], json.loads(done.out)["kept"]) == (0, 30)
    assert {name: data for name, data in found(home / "output").items() if name in whole} == whole
    assert cli("batch", "many.toml", "--check").code == 0
    assert sorted(path.name for path in (home / "output" / ".guidegen").iterdir()) == ["ledger.sqlite"]
