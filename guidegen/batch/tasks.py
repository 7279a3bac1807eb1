"""A job ready to be done anywhere: its arguments, the files it reads, the key by which its result is known again."""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path

from guidegen import __version__
from guidegen.batch.manifest import BatchJob
from guidegen.hands.library import templates_folder

WRITERS = (
    "numpy", "svgwrite", "cairosvg", "pillow", "reportlab", "pypdfium2", "fonttools", "uharfbuzz", "brotli", "shapely",
    "pikepdf", "ezdxf", "fontpkg-source-sans-3",
)  # fmt: skip
"""Libraries whose version may change a result's bytes."""


@dataclass(frozen=True, slots=True)
class Attached:
    """An argument that is the path of an attached file, behind ``option=`` where it belongs to an option."""

    prefix: str
    name: str


@dataclass(frozen=True, slots=True)
class Task:
    """A job that needs nothing of the computer it is done on but this program.

    ``arguments`` follow the command; ``attached`` are the files they name, as name (with ``/``) and bytes.
    """

    job: BatchJob
    key: str
    arguments: tuple[str | Attached, ...]
    attached: tuple[tuple[str, bytes], ...]


@dataclass(frozen=True, slots=True)
class TaskResult:
    """What a task gave: files by name, beside each other; or what went wrong, in a line. ``notes`` are for people."""

    files: tuple[tuple[str, bytes], ...]
    notes: tuple[str, ...]
    error: str | None
    seconds: float


def task_key(
    job: BatchJob, arguments: Sequence[str | Attached], attached: Sequence[tuple[str, bytes]], contents: Sequence[str]
) -> str:
    """Return the SHA-256 over all that a job's bytes depend on.

    That is the command and its arguments, the attached files, digests of other contents (hands, words, papers), the
    ending of the result's name, the versions of this program and of the libraries that write, and the date that files
    carry (``SOURCE_DATE_EPOCH``).
    """
    told = {
        "command": job.command,
        "arguments": [arg if isinstance(arg, str) else [arg.prefix, arg.name] for arg in arguments],
        "attached": [[name, hashlib.sha256(data).hexdigest()] for name, data in attached],
        "contents": list(contents),
        "out": job.out,
        "versions": dict(versions()),
        "date": os.environ.get("SOURCE_DATE_EPOCH", ""),
    }
    return hashlib.sha256(json.dumps(told, sort_keys=True, ensure_ascii=True).encode()).hexdigest()


@cache
def versions() -> Mapping[str, str]:
    """Return the versions of this program and of the libraries that write, by name; ``-`` for one that is missing."""
    found = {"guidegen": __version__}
    for name in WRITERS:
        try:
            found[name] = version(name)
        except PackageNotFoundError:
            found[name] = "-"
    return found


@cache
def folder_digest(folder: Path) -> str:
    """Return the SHA-256 over the TOML files of a folder and of those in it, by name and content."""
    digest = hashlib.sha256()
    for path in sorted(folder.rglob("*.toml")):
        digest.update(f"{path.relative_to(folder).as_posix()}\0{path.stat().st_size}\0".encode())
        digest.update(path.read_bytes())
    return digest.hexdigest()


def shipped_digest(room: str) -> str:
    """Return :func:`folder_digest` of a folder of ``templates``, of none where there is no such folder."""
    folder = templates_folder() / room
    return folder_digest(folder) if folder.is_dir() else ""
