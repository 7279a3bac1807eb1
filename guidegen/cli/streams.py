"""Standard input, output and error as they may come: closed, or in an encoding that lacks a letter."""

from __future__ import annotations

import codecs
import os
import sys
import unicodedata

from guidegen.cli.codes import BAD_INPUT

_NEAR = {"×": "x", "–": "-", "—": "-", "−": "-", "‘": "'", "’": "'", "“": '"', "”": '"', "°": " deg"}


def prepare() -> bool:
    """Make the three streams usable and return whether standard output was closed by whoever started us.

    A closed descriptor would be given to the first file that is opened, and words would land in it.
    """
    closed = sys.stdout is None
    for number in (0, 1, 2):
        try:
            os.fstat(number)
        except OSError:
            os.open(os.devnull, os.O_RDWR)  # takes the lowest number that is free: this one
    codecs.register_error("guidegen", _nearest)
    for name in ("stdout", "stderr"):
        stream = getattr(sys, name)
        if stream is None:
            setattr(sys, name, open(os.devnull, "w", encoding="utf-8"))  # noqa: SIM115, PTH123  for as long as we run
        elif hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="guidegen")
    return closed


def refuse_closed() -> int:
    """Tell that nobody would hear of what was done, and return the exit code."""
    line = "guidegen: standard output: found closed, expected open; send it to /dev/null if nobody is to see it\n"
    os.write(2, line.encode())
    return BAD_INPUT


def _nearest(error: UnicodeError) -> tuple[str | bytes, int]:
    """Write what an encoding lacks as near as it goes: bytes of a file's name as they are, é as e, × as x, else ?."""
    if not isinstance(error, UnicodeEncodeError):
        raise error
    made = b""
    for char in error.object[error.start : error.end]:
        if 0xDC80 <= ord(char) <= 0xDCFF:  # a byte of a path that is no text (PEP 383)
            made += bytes([ord(char) - 0xDC00])
            continue
        near = _NEAR.get(char) or unicodedata.normalize("NFKD", char)
        made += near.encode("ascii", "ignore") or b"?"
    if error.encoding.lower().replace("-", "").startswith(("utf16", "utf32")):
        return made.decode("ascii", "replace"), error.end
    return made, error.end
