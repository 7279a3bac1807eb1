"""From a file to what stands in it, whoever wrote it: one file per format, each loaded only when asked for."""

from __future__ import annotations

import importlib
from pathlib import Path

from guidegen import limits
from guidegen.errors import GuidegenError, Plain, bad_input
from guidegen.readers.budget import damaged
from guidegen.readers.contents import Contents

READERS = {
    "svg": "read_svg",
    "pdf": "read_pdf",
    "png": "read_png",
    "dxf": "read_dxf",
    "font": "read_font",
    "eps": "read_eps",
}
_FONT_STARTS = (b"\x00\x01\x00\x00", b"OTTO", b"true", b"ttcf", b"wOFF", b"wOF2")


def read_file(path: Path) -> Contents:
    """Return what stands in the file at ``path``.

    Raises:
        GuidegenError: for a file of no known format, a damaged one, or one that is too large.
        OSError: when it cannot be read.
    """
    if path.is_dir():
        raise bad_input(str(path), "", "a folder", "an SVG, PDF, PNG, DXF, EPS or font file")
    if path.is_fifo() or path.is_socket():  # opening one waits for a writer that may never come
        raise bad_input(str(path), "", "a pipe", "an SVG, PDF, PNG, DXF, EPS or font file")
    with path.open("rb") as file:
        data = file.read(limits.MAX_FILE_BYTES + 1)
    return read_bytes(data, path.name)


def read_bytes(data: bytes, name: str) -> Contents:
    """Return what stands in ``data``; ``name`` is the file's name in messages.

    Raises:
        GuidegenError: for a file of no known format, a damaged one, or one that is too large.
    """
    if len(data) > limits.MAX_FILE_BYTES:
        limit = f"at most {limits.MAX_FILE_BYTES // 1_000_000} MB"
        raise bad_input(name, "", Plain("a larger file"), limit, "save it in parts")
    kind = sniff(data, name)
    module = importlib.import_module(f"guidegen.readers.{kind}")
    try:
        contents = getattr(module, READERS[kind])(data, name)
    except GuidegenError:
        raise
    except MemoryError:
        raise
    except RecursionError:
        raise damaged(name, kind.upper(), "things nested in things without end") from None
    except Exception as error:  # noqa: BLE001  libraries raise whatever a damaged file makes them meet
        raise damaged(name, kind.upper(), error) from None
    assert isinstance(contents, Contents)
    return contents


def sniff(data: bytes, name: str) -> str:
    """Return the format of ``data`` by its first bytes.

    Raises:
        GuidegenError: when it is none of those that can be read.
    """
    head = data[:4096]
    text = head.lstrip(b"\xef\xbb\xbf \t\r\n")
    if data.startswith(b"\x89PNG\r\n\x1a\n"):
        return "png"
    if b"%PDF-" in head[:1024]:
        return "pdf"
    if text.startswith(b"%!PS") or data.startswith(b"\xc5\xd0\xd3\xc6"):
        return "eps"
    if data.startswith(_FONT_STARTS):
        return "font"
    if text.startswith(b"<") or data.startswith((b"\xff\xfe<", b"\xfe\xff\x00<")):
        return "svg"
    if data.startswith(b"AutoCAD Binary DXF") or _is_dxf(text):
        return "dxf"
    found = "an empty file" if not data else "a file of another kind"
    raise bad_input(name, "", found, "an SVG, PDF, PNG, DXF, EPS or font file")


def _is_dxf(text: bytes) -> bool:
    lines = [line.strip() for line in text.splitlines()[:40]]
    codes = [k for k in range(0, len(lines) - 1, 2) if lines[k] != b"999"]
    return bool(codes) and lines[codes[0]] == b"0" and lines[codes[0] + 1] == b"SECTION"
