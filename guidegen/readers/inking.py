"""From a drawing's file to its ink: the whole of ``ink`` but for writing, fit to run behind a fence."""

from __future__ import annotations

from pathlib import Path

from guidegen.errors import Plain, bad_input
from guidegen.lettering.lettering import Lettering
from guidegen.limits import MAX_DRAWING_BYTES
from guidegen.readers.centrelines import read_centrelines
from guidegen.scene import Document
from guidegen.sheets.inked import inked_drawing


def ink_file(
    path: Path,
    lettering: Lettering,
    width_mm: float | None,
    tolerance_mm: float,
    centrelines: bool,
) -> Document:
    """Return the drawing at ``path`` inked; see :func:`guidegen.sheets.inked.inked_drawing`.

    Raises:
        GuidegenError: for no drawing, one too large, one that cannot be read, or lines that cannot be inked.
        OSError: when the file cannot be read.
    """
    if not path.is_file():
        found = "a folder" if path.is_dir() else "no ordinary file" if path.exists() else "no such file"
        raise bad_input(str(path), "", Plain(found), "an SVG drawing", "is the path right?")
    if path.stat().st_size > MAX_DRAWING_BYTES:
        found, limit = f"{path.stat().st_size // 1_000_000} MB", f"at most {MAX_DRAWING_BYTES // 1_000_000} MB"
        raise bad_input(str(path), "", Plain(found), limit, "ink it in parts")
    with path.open("rb") as file:
        data = file.read(MAX_DRAWING_BYTES)
    drawing = read_centrelines(data, path.name, width_mm)
    return inked_drawing(drawing, lettering, title=path.stem, tolerance_mm=tolerance_mm, centrelines=centrelines)
