"""Files for the command line: as :mod:`guidegen.saving` writes them, and ``-``, which is stdout."""

from __future__ import annotations

import sys
from collections.abc import Iterable, Iterator
from pathlib import Path

from guidegen import saving
from guidegen.errors import GuidegenError, bad_input

STDOUT = Path("-")


def write_files(files: Iterable[tuple[Path, bytes]], *, force: bool) -> list[Path]:
    """Write all files or none, and return their paths. A single file called ``-`` goes to stdout.

    Raises:
        GuidegenError: as :func:`guidegen.saving.write_files` does; several files of which one is stdout.
    """
    to_stdout: list[bytes] = []

    def named() -> Iterator[tuple[Path, bytes]]:
        for number, (path, data) in enumerate(files):
            if number and (to_stdout or path == STDOUT):
                raise several_to_stdout()
            if path == STDOUT:
                to_stdout.append(data)
            else:
                yield path, data

    written = saving.write_files(named(), force=force)
    for data in to_stdout:
        sys.stdout.buffer.write(data)
    return written


def several_to_stdout() -> GuidegenError:
    """Return the error for several files that are to go to stdout."""
    return bad_input("--out", "", "-", "a file name, for this makes several files")
