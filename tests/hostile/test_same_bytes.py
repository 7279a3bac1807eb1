"""The same input gives the same bytes, whatever Python draws its hashes from, and wherever and when it runs."""

from __future__ import annotations

import hashlib
import os
import subprocess
import sys
from pathlib import Path

COMMANDS = (
    "sheet flint -o s.svg", "sheet flint -o s.pdf", "sheet flint -o s.png --ppi 60", "sheet flint -o s.eps", "write cobble tide --for cut -o c.dxf",
    "write cobble tide --for cut --dxf r12 -o r.dxf", "write cobble tide --for cut -o c.svg", "write flint tide --for print -o p.pdf", "font flint -o f.ttf", "font flint -o f.otf",
    "font flint -o f.woff2", "worksheet pebble,flint tide -o w.pdf", "ink d.svg --marker cobble -o i.svg", "planner flint -o l.pdf", "inspect p.pdf --json", "inspect c.dxf --json",
    "inspect f.ttf --json", "inspect c.svg --json --for cut", "size cobble --json", "markers --json",
)  # fmt: skip
RUN = """
import sys
from guidegen.cli.app import run
for line in sys.argv[1:]:
    assert run(line.split()) in (0, 1), line
    sys.stdout.flush()
"""
DRAWING = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="90mm" height="90mm" viewBox="0 0 90 90">'
    '<path id="a" d="M5 5C9 40 30 60 50 40"/><path id="b" d="M60 5L60 40"/></svg>'
)


def made(folder: Path, **setting: str) -> dict[str, str]:
    """Run all commands in a new folder under a setting; return the hash of each file and of what was printed."""
    (folder / "work").mkdir(parents=True)
    (folder / "work" / "d.svg").write_text(DRAWING)
    environment = os.environ | {"XDG_CONFIG_HOME": str(folder), "HOME": str(folder)} | setting
    done = subprocess.run(
        [sys.executable, "-c", RUN, *COMMANDS], cwd=folder / "work", env=environment, capture_output=True, check=False
    )
    assert done.returncode == 0, done.stderr.decode()[-2000:]
    files = {path.name: path.read_bytes() for path in (folder / "work").iterdir()}
    assert [path.name for path in folder.iterdir()] == ["work"], "something was left in the home folder"
    return {name: hashlib.sha256(data).hexdigest() for name, data in {**files, "printed": done.stdout}.items()}


SETTINGS = (
    {"PYTHONHASHSEED": "1", "TZ": "UTC", "LANG": "C.UTF-8"},
    {"PYTHONHASHSEED": "4", "TZ": "Pacific/Auckland", "LANG": "tr_TR.UTF-8", "OPENBLAS_NUM_THREADS": "2"},
    {"PYTHONHASHSEED": "99", "TZ": "America/St_Johns", "LC_ALL": "C", "OMP_NUM_THREADS": "1"},
    {"PYTHONHASHSEED": "1234", "TZ": "Asia/Kathmandu", "LANG": "de_DE.UTF-8", "OPENBLAS_NUM_THREADS": "4"},
    {"PYTHONHASHSEED": "0", "TZ": "", "LANG": "", "OMP_NUM_THREADS": "3"},
)


def test_every_format_is_the_same_for_two_hash_seeds(tmp_path):
    first, second = (made(tmp_path / str(k), **SETTINGS[k]) for k in (0, 1))
    assert first == second
    assert len(first) >= len(COMMANDS) - 5
