"""Why a PDF cannot be opened, in words for the person who has it: what ISO 32000-1, 7.5, asks of a file's frame."""

from __future__ import annotations

import re

_END = 2048  # startxref stands in the last bytes; some programs add a few of their own behind it
_OFFSET = re.compile(rb"startxref\s*+([0-9]{1,15}+)")
_OBJECT = re.compile(rb"[0-9]{1,10}+\s++[0-9]{1,5}+\s++obj")
_SECTION = re.compile(rb"\s*+([0-9]{1,10}+) ++([0-9]{1,10}+)\s*+")
_ENTRY = re.compile(rb"[0-9]{10} [0-9]{5} [nf][ \r\n]{2}")
_MOST_ENTRIES = 1_000_000


def what_is_wrong(data: bytes) -> str:
    """Return what is wrong with the frame of a PDF that cannot be opened: its end, table of objects or trailer."""
    if b"startxref" not in data[-_END:]:
        return "it breaks off: no startxref at its end"
    offsets = _OFFSET.findall(data[-_END:])
    if not offsets:
        return "no number follows startxref at its end"
    at = int(offsets[-1])
    if _OBJECT.match(data, at):  # a table packed as a stream
        return f"its table of objects at byte {at} cannot be unpacked"
    if data[at : at + 4] != b"xref":
        return f"no table of objects at byte {at}, where its end says"
    return _wrong_in_table(data, at + 4)


def _wrong_in_table(data: bytes, at: int) -> str:
    while section := _SECTION.match(data, at):
        first, count = int(section[1]), int(section[2])
        at = section.end()
        for k in range(min(count, _MOST_ENTRIES)):
            if not _ENTRY.match(data, at):
                return f"no entry for object {first + k} at byte {at}"
            at += 20
    trailer = data[at : at + _END].lstrip()
    if not trailer.startswith(b"trailer"):
        return f"no trailer at byte {at}, behind its table of objects"
    if b"/Root" not in trailer:
        return "its trailer names no catalog (/Root)"
    return "its trailer or its catalog cannot be read"
