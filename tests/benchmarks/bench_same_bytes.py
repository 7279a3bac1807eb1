"""Everything `demo` makes, every page in every format, fonts, files for the shop and what commands print: the same
bytes over hash seeds, time zones, languages, folders and numbers of threads.
"""

from __future__ import annotations

import hashlib
import os
import subprocess
import sys
from itertools import product
from pathlib import Path

import pytest
import unfit_pictures
from test_same_bytes import DRAWING, SETTINGS

pytestmark = pytest.mark.benchmark
PAGES = (
    "sheet {}", "letter {}", "worksheet {} tide", "handout {} pebble", "compare {} pebble", "planner {} --letters ab",
    "plan {} tide", "write {} tide",
)  # fmt: skip
FORMATS = ("svg", "pdf", "png --ppi 50", "eps", "dxf")
MARKERS = ("cobble", "slate", "flint")
FILES = {
    "d.svg": DRAWING.encode(),
    "names.txt": b"Mara\nTom\n",
    "jobs.toml": b'[[job]]\ncommand = "sheet"\nmarker = ["flint", "slate"]\nout = "{marker}.svg"\n',
    "scan.png": unfit_pictures.strokes(),
    "letters.png": unfit_pictures.letters(),
}
FACES = (*((marker, "solid") for marker in MARKERS), ("flint", "dotted"), ("flint", "hollow"))


def commands():
    """Yield command lines; ``{}`` in one is the name of the file it writes."""
    yield "demo -o demo"
    for page, marker, ending in product(PAGES, MARKERS, FORMATS):
        yield f"{page.format(marker)} --format {ending} -o {{}}.{ending.split()[0]}"
    for (marker, face), ending in product(FACES, ("ttf", "otf", "woff2")):
        yield f"font {marker} --face {face} -o {{}}.{ending}"
    for marker in MARKERS:
        yield f"write {marker} tide --for cut -o {{}}.svg"
        yield f"write {marker} tide --for cut -o {{}}.dxf"
        yield f"write {marker} tide --for cut --dxf r12 -o {{}}.dxf"
        yield f"write {marker} tide --for print -o {{}}.pdf"
        yield f"ink d.svg --marker {marker} -o {{}}.svg"
        yield f"size {marker} --json"
        yield f"plan {marker} tide --json"
        yield f"alphabet {marker} -o {{}}.pdf"
        yield f"alphabet {marker} --order family -o {{}}.svg"
        yield f"swatch {marker} --letters -o {{}}.pdf"
        yield f"swatch {marker} -o {{}}.svg --json"
        yield f"packet class --marker {marker} --names names.txt -o {{}}.pdf"
    yield "measure scan.png --name kai -o {}.toml --report {}.pdf --json"
    yield "check letters.png --marker pebble --report {}.png --json"
    yield "batch jobs.toml --folder {} --json"
    yield "add kai --tip round --downstroke 1.3 -o {}.toml"
    yield "trial -o {}.pdf"
    yield "markers --json"
    yield from (f"inspect {name} --json" for name in ("demo/sheet-cobble.pdf", "demo/flint-hollow.otf", "d.svg"))


RUN = """
import contextlib, io, sys
from pathlib import Path
from guidegen.cli.app import run
for number, line in enumerate(sys.stdin.read().splitlines()):
    told = io.StringIO()
    with contextlib.redirect_stdout(told):
        assert run(line.replace("{}", f"x{number}").split()) in (0, 2), line
    Path(f"told-{number}.txt").write_text(told.getvalue())
"""


def hashes(folder: Path, setting: dict[str, str]) -> dict[str, str]:
    """Run all commands in a new folder under a setting; return the hash of each file and of what each printed."""
    folder.mkdir(parents=True)
    for name, data in FILES.items():
        (folder / name).write_bytes(data)
    environment = os.environ | {"XDG_CONFIG_HOME": str(folder / "home"), "HOME": str(folder / "home")} | setting
    done = subprocess.run(
        [sys.executable, "-c", RUN], input="\n".join(commands()), cwd=folder, env=environment, text=True, check=False,
        stderr=subprocess.PIPE,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr[-2000:]
    return {
        path.relative_to(folder).as_posix(): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted(folder.rglob("*"))
        if path.is_file() and ".guidegen" not in path.parts  # a ledger tells when
    }


def test_all_outputs_are_the_same_in_five_settings(tmp_path):
    first, *others = (hashes(tmp_path / f"folder {k}", setting) for k, setting in enumerate(SETTINGS))
    print(f"\n{len(first)} outputs, {len(SETTINGS)} settings")
    assert len(first) >= 380
    for other in others:
        assert {name for name in first.keys() | other.keys() if first.get(name) != other.get(name)} == set()
