"""Good files damaged by chance, the same chance on every run: bytes changed, cut, doubled, put elsewhere."""

from __future__ import annotations

import random
import subprocess
import sys
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

from rows import Row, svg

DRAWING = svg(
    '<style>.a{stroke:red}</style><g transform="translate(5 5)"><path class="a" d="M5 5C9 0 20 3 25 25S40 40 50 30"/></g>'
    '<polyline points="5,60 20,70 60,50" data-widths="1 2 3"/><circle cx="50" cy="20" r="9"/>'
)
MADE = {
    "svg": ("letter", "flint"), "pdf": ("letter", "flint"), "png": ("sheet", "flint", "--ppi", "40"), "eps": ("sheet", "flint"),
    "dxf": ("write", "flint", "tide", "--for", "cut"), "ttf": ("font", "flint"), "woff2": ("font", "flint"),
}  # fmt: skip
KINDS = (*MADE, "print.pdf", "ink")
_TOKENS = (b"0", b"-1", b"1e999", b"nan", b"999999999", b"\0", b"\xff", b"<", b">>", b"(", b"\n", b'"', b"/", b"", b"obj", b"M", b"--")


@cache
def good(kind: str) -> bytes:
    """Return a good file of a kind, made by the command."""
    if kind == "ink":
        return DRAWING
    words = ("write", "flint", "tide", "--for", "print") if kind == "print.pdf" else MADE[kind]
    with TemporaryDirectory() as folder:
        path = Path(folder) / f"x.{kind.rpartition('.')[2]}"
        subprocess.run(
            [sys.executable, "-m", "guidegen", *words, "-o", path], check=True, capture_output=True,
            env={"XDG_CONFIG_HOME": folder, "HOME": folder}, cwd=Path(__file__).resolve().parents[2],
        )  # fmt: skip
        return path.read_bytes()


def damaged(data: bytes, chance: random.Random) -> bytes:
    """Return ``data`` with one to eight things changed."""
    harmed = bytearray(data)
    for _ in range(chance.choice((1, 1, 2, 4, 8))):
        at = chance.randrange(len(harmed) or 1)
        what = chance.randrange(7)
        if what == 0:
            harmed[at : at + 1] = bytes([chance.randrange(256)])
        elif what == 1:
            del harmed[at : at + chance.choice((1, 3, 20, 400))]
        elif what == 2:
            harmed[at:at] = chance.choice(_TOKENS)
        elif what == 3:
            piece = bytes(harmed[at : at + chance.choice((4, 60, 900))])
            harmed[at:at] = piece * chance.choice((1, 2, 50))
        elif what == 4:
            digits = [k for k in range(at, min(at + 200, len(harmed))) if 48 <= harmed[k] <= 57]
            if digits:
                harmed[digits[0] : digits[0] + 1] = chance.choice((b"9" * 400, b"-", b"1e308", b"0", b"99999"))
        elif what == 5:
            harmed[at:] = b"" if chance.random() < 0.3 else harmed[at:]
        else:
            other = chance.randrange(len(harmed) or 1)
            harmed[at : at + 9] = harmed[other : other + 9]
    return bytes(harmed)


def damaged_rows(kind: str, count: int, seed: int = 20) -> list[Row]:
    """Return ``count`` rows that read a damaged file of a kind."""
    chance = random.Random(f"{kind} {seed}")
    data = good(kind)
    if kind == "ink":
        words, name = ("ink", "d.svg", "--marker", "flint", "-o", "out.svg"), "d.svg"
    else:
        words, name = ("inspect", f"x.{kind}"), f"x.{kind}"
    return [Row(f"{kind} {k}", words, {name: damaged(data, chance)}) for k in range(count)]
