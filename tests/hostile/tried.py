"""Tries a row of the table in a process of its own, and says what was wrong with the answer."""

from __future__ import annotations

import os
import signal
import stat
import sys
import time
from dataclasses import dataclass
from functools import cache
from importlib import import_module
from pathlib import Path

import click
from rows import Row

SECONDS, MEGABYTES = 10.0, 1500.0
_LOADED = (
    "guidegen.cli.saving", "guidegen.cli.commands", "guidegen.cli.pages", "guidegen.cli.pieces", "guidegen.cli.inspect", "guidegen.cli.batch",
    "guidegen.cli.swatches", "guidegen.cli.planners", "guidegen.cli.font", "guidegen.cli.ink", "guidegen.api.sheets", "guidegen.api.texts",
    "guidegen.api.plans", "guidegen.api.packets", "guidegen.api.scans", "guidegen.api.swatches", "guidegen.readers.inking", "guidegen.readers.svg_walk",
    "guidegen.readers.pdf_walk", "guidegen.readers.dxf", "guidegen.readers.font", "guidegen.inspect.preflight", "guidegen.scan.check", "guidegen.scan.measure",
    "guidegen.batch.ledger", "scipy.optimize", "scipy.ndimage", "PIL.Image", "PIL.ImageCms", "fontTools.ttLib", "ezdxf.path", "ezdxf.filemanagement",
)  # fmt: skip


@dataclass(frozen=True)
class Answer:
    code: int
    out: bytes
    told: bytes
    seconds: float
    megabytes: float
    changed: tuple[str, ...]

    def wrong(self, codes: tuple[int, ...] = (2,)) -> str:
        """Return what is wrong with this answer to a bad input, "" for nothing."""
        line = self.told.decode("utf-8", "replace")
        if self.code not in codes:
            return f"left with {self.code}: {line[-300:]}"
        if not line.endswith("\n") or line.count("\n") != 1 or not line.startswith("guidegen: "):
            return f"no single line: {line[-500:]}"
        if not line[:-1].isprintable():
            return f"characters that act on a terminal: {line!r}"
        if "defect" in line or "Traceback" in line or len(line) > 700:
            return f"no line for a person: {line[:900]}"
        if self.out:
            return f"said something on stdout: {self.out[:200]!r}"
        if self.changed:
            return f"changed {', '.join(self.changed)}"
        if self.seconds > SECONDS or self.megabytes > MEGABYTES:
            return f"took {self.seconds:.1f} s and {self.megabytes:.0f} MB"
        return ""


def tried(row: Row, folder: Path, patience_s: float = 300.0) -> Answer:
    """Run a row's words in ``folder``, which gets its files, as a process that is a copy of this one."""
    _load()

    home = folder / "config"
    home.mkdir(parents=True)
    for name, data in row.written().items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_bytes(data)
    out, told = folder.with_name(folder.name + ".out"), folder.with_name(folder.name + ".told")
    before = _listed(folder)
    process = os.fork()
    if not process:
        _run(row, folder, out, told)
    began = time.monotonic()
    done = 0
    while not done:
        done, status, used = os.wait4(process, os.WNOHANG)
        if not done and time.monotonic() - began > patience_s:
            os.kill(process, signal.SIGKILL)
        time.sleep(0.002)
    after = _listed(folder)
    changed = tuple(sorted(name for name in before.keys() | after.keys() if before.get(name) != after.get(name)))
    code = os.waitstatus_to_exitcode(status)
    seconds, megabytes = used.ru_utime + used.ru_stime, used.ru_maxrss / 1000
    return Answer(code, out.read_bytes(), told.read_bytes(), seconds, megabytes, changed)


@cache
def _load() -> None:
    """Import what the commands import, so that the copies need not load it again: most rows then take a tenth."""
    for name in _LOADED:
        import_module(name)


def _listed(folder: Path) -> dict[str, bytes | tuple[int, int]]:
    """Return what lies there: the bytes of small files, of the others size and time."""
    found: dict[str, bytes | tuple[int, int]] = {}
    for path in folder.rglob("*"):
        info, name = path.lstat(), str(path.relative_to(folder))
        if not stat.S_ISREG(info.st_mode):
            found[name] = (info.st_mode, 0)
        else:
            found[name] = path.read_bytes() if info.st_size < 100_000 else (info.st_size, info.st_mtime_ns)
    return found


def _run(row: Row, folder: Path, out: Path, told: Path) -> None:
    """In the copy: run the command and end."""
    code = 99
    try:
        os.setpgid(0, 0)
        for number, path in ((1, out), (2, told)):
            descriptor = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_TRUNC)
            os.dup2(descriptor, number)
        sys.stdout = open(1, "w", encoding="utf-8", errors="surrogateescape", closefd=False)  # noqa: SIM115
        sys.stderr = open(2, "w", encoding="utf-8", errors="backslashreplace", closefd=False)  # noqa: SIM115
        click.utils.should_strip_ansi = lambda *_, **__: False  # what a terminal would get, though this is none
        os.chdir(folder)
        os.environ |= {"XDG_CONFIG_HOME": str(folder / "config"), "HOME": str(folder)}
        from guidegen.cli.app import run

        code = run(list(row.words))
        sys.stdout.flush()
        sys.stderr.flush()
    finally:
        os._exit(code)
