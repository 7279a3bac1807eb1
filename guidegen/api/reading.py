"""Small files that a person names, read with a limit on their size."""

from __future__ import annotations

from pathlib import Path

from guidegen.errors import Plain, bad_input


def read_small(path: Path, where: str, expected: str, limit: int) -> bytes:
    """Return a file of at most ``limit`` bytes.

    Raises:
        GuidegenError: it is missing, a folder or too large.
    """
    if not path.is_file():
        found = Plain("a folder" if path.is_dir() else "no such file")
        raise bad_input(where, "", found, expected, "is the path right?")
    size = path.stat().st_size
    if size > limit:
        unit, name = (1_000_000, "MB") if limit > 1_000_000 else (1000, "kB")
        raise bad_input(where, "", Plain(f"{size // unit} {name}"), f"at most {limit // unit} {name}")
    return path.read_bytes()
