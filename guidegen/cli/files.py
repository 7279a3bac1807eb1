"""Writing files so that nothing is ever half written and nothing old is lost.

Bytes go to a temporary file in the target's own folder, which then takes the target's name in one step. With
several files none takes its name before all are written.
"""

from __future__ import annotations

import itertools
import os
import sys
from collections.abc import Iterable
from pathlib import Path

from guidegen.errors import GuidegenError, Plain, bad_input

STDOUT = Path("-")
_numbers = itertools.count()


def write_files(files: Iterable[tuple[Path, bytes]], *, force: bool) -> list[Path]:
    """Write all files or none, and return their paths. A single file called ``-`` goes to stdout.

    ``files`` may be a generator: each file's bytes are let go once they are on the disk.

    Raises:
        GuidegenError: a file exists (without ``force``), is a folder, or its folder is missing.
        OSError: a folder cannot be written, the disk is full.
    """
    staged: list[tuple[Path, Path]] = []
    paths: list[Path] = []
    to_stdout = b""
    try:
        for path, data in files:
            if STDOUT in (path, *paths):
                if paths:
                    raise bad_input("--out", "", "-", "a file name, for this makes several files")
                to_stdout = data
            else:
                staged += _stage(path, data, force=force)
            paths.append(path)
        for temporary, path in staged:
            _take_name(temporary, path)
        if STDOUT in paths:
            sys.stdout.buffer.write(to_stdout)
    finally:
        for temporary, _ in staged:
            temporary.unlink(missing_ok=True)
    return [path for path in paths if path != STDOUT]


def check_target(path: Path, *, force: bool) -> None:
    """Raise when ``path`` may not be written: it exists (without ``force``), is a folder, or has no folder."""
    if path.is_dir():
        raise bad_input(str(path), "", Plain("a folder"), "a file name", "add a name to it")
    if not force and (path.is_file() or path.is_symlink()):
        raise GuidegenError(f"{path}: exists already and was left as it is; choose another name or add --force")
    if not path.parent.is_dir():
        found = Plain("a file" if path.parent.exists() else "no such folder")
        raise bad_input(str(path.parent), "", found, "an existing folder to write in")


def _stage(path: Path, data: bytes, *, force: bool) -> list[tuple[Path, Path]]:
    """Write ``data`` beside its target; return what is left to do (nothing for a device such as /dev/null)."""
    check_target(path, force=force)
    target = Path(os.path.realpath(path))
    if target.exists() and not target.is_file():
        try:
            target.write_bytes(data)
        except OSError as error:
            raise _named(error, path) from None
        return []
    temporary = target.with_name(f".guidegen-{os.getpid()}-{next(_numbers)}.part")
    try:
        with temporary.open("xb") as file:
            file.write(data)
            if target.exists():
                file.flush()
                os.fsync(file.fileno())  # the old file goes only when the new one is on the disk
                temporary.chmod(target.stat().st_mode & 0o7777)
    except BaseException as error:  # noqa: BLE001  # Ctrl-C too leaves no trace
        temporary.unlink(missing_ok=True)
        raise _named(error, path) from None
    return [(temporary, path)]


def _take_name(temporary: Path, path: Path) -> None:
    try:
        temporary.replace(os.path.realpath(path))
    except OSError as error:
        raise _named(error, path) from None


def _named(error: BaseException, path: Path) -> BaseException:
    """Let a message about a temporary file name the file that was asked for."""
    if isinstance(error, OSError):
        error.filename, error.filename2 = str(path), None
    return error
