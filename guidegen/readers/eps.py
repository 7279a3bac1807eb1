"""EPS files: the page they claim. Their PostScript is a program, and is not run."""

from __future__ import annotations

import re

from guidegen.limits import NUMBER
from guidegen.readers.budget import damaged
from guidegen.readers.contents import Contents, PageContents
from guidegen.units import MM_PER_POINT

_SIDE = r"[ \t]*+([-+]?+" + NUMBER + ")"
_BOX = re.compile(("^%%(HiRes)?BoundingBox:" + 4 * _SIDE).encode(), re.MULTILINE)


def read_eps(data: bytes, name: str) -> Contents:
    """Return the page of an EPS file: its bounding box, the exact one where it is given.

    Raises:
        GuidegenError: for a file without a bounding box or without its end.
    """
    found = {bool(match[1]): match for match in _BOX.finditer(data[:100_000])}
    match = found.get(True) or found.get(False)
    ended = any(mark in data[-2000:] for mark in (b"%%EOF", b"showpage", b"%%Trailer"))
    if match is None or not ended:
        raise damaged(name, "EPS", "no bounding box" if match is None else "no end")
    left, bottom, right, top = (float(match[k]) * MM_PER_POINT for k in range(2, 6))
    facts = {"exact_box": bool(match[1]), "rounded_to_mm": 0.0 if match[1] else MM_PER_POINT}
    return Contents("eps", (PageContents((right - left, top - bottom)),), facts)
