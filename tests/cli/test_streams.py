"""Streams that are closed or lack a letter, and words of strangers on a terminal."""

from __future__ import annotations

import json
import os
import subprocess
import sys

import pytest

GUIDEGEN = [sys.executable, "-m", "guidegen"]


def shell(line, folder, **environment):
    """Run a line of sh with guidegen as ``$G``; return the code, what came out and what was told."""
    setting = os.environ | {"G": " ".join(GUIDEGEN)} | environment
    done = subprocess.run(["sh", "-c", line], capture_output=True, cwd=folder, env=setting, check=False, timeout=60)
    return done.returncode, done.stdout, done.stderr


def test_a_closed_output_is_told_before_any_work(home):
    code, out, told = shell("$G sheet slate -o s.svg >&-", home)
    assert (code, out) == (2, b"")
    assert told.count(b"\n") == 1
    assert b"standard output: found closed" in told
    assert list(home.iterdir()) == []


@pytest.mark.parametrize("closing", ["2>&-", "<&-", "<&- 2>&-"])
def test_other_closed_streams_do_not_matter(home, closing):
    code, out, told = shell(f"$G sheet slate -o s.svg {closing}", home)
    assert (code, out, told) == (0, b"s.svg\n", b"")
    assert (home / "s.svg").read_bytes().endswith(b"</svg>\n")


def test_an_error_with_nobody_to_tell_keeps_its_code(home):
    assert shell("$G sheet nothing >&- 2>&-", home)[0] == 2


@pytest.mark.parametrize("encoding", ["latin-1", "cp437", "utf-16"])
def test_a_label_that_the_terminal_lacks_is_told_as_near_as_it_goes(home, encoding):
    made = shell('$G add kai --tip round --downstroke 0.5 --label "Café Ł €, 5 × 3" -o kai.toml', home)
    assert made[0] == 0
    code, out, told = shell("$G size ./kai.toml", home, PYTHONIOENCODING=encoding)
    assert (code, told) == (0, b"")
    assert "Caf" in out.decode(encoding)
    code, out, _ = shell("$G size ./kai.toml --json", home, PYTHONIOENCODING=encoding)
    assert code == 0
    assert json.loads(out.decode(encoding))["tip"] == "round"


def test_a_path_that_is_no_text_is_printed_as_its_bytes(home):
    code, out, _ = shell("$G sheet slate -o \"$(printf 'a\\377.svg')\"", home)
    assert (code, out) == (0, b"a\xff.svg\n")


ESCAPES = """<svg xmlns="http://www.w3.org/2000/svg" width="9mm" height="9mm" viewBox="0 0 9 9"><g id="{0}">
<path d="M1 1L5 5" stroke="red"/><text font-family="{0}">x</text></g></svg>"""


def test_terminal_escapes_of_a_file_are_shown_not_sent(home):
    (home / "x.svg").write_text(ESCAPES.format("tide\u009b2J\u202e\u007f"), encoding="utf-8")
    for more in ("", "--json"):
        code, out, told = shell(f"$G inspect x.svg {more}", home, PYTHONIOENCODING="utf-8")
        assert (code, told) == (0, b"")
        assert out.decode().replace("\n", "").isprintable()
    assert json.loads(out)["layers"][0]["id"] == "tide\u009b2J\u202e\u007f"


def test_a_folder_that_was_removed_is_told(home):
    code, _, told = shell('mkdir gone && cd gone && rmdir "$PWD" && $G sheet slate -o s.svg', home)
    assert code == 2
    assert b"current folder no longer exists" in told
    assert told.count(b"\n") == 1
