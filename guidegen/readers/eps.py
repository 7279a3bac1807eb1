"""EPS files: the page they claim, and what is on it where Ghostscript is there to run their PostScript.

Their PostScript is a program. Ghostscript runs it with no way to files (-dSAFER) and within the limits of the process
that reads; where it is not installed, the page alone is told.
"""

from __future__ import annotations

import re
import shutil
import subprocess
from dataclasses import replace

from guidegen.errors import GuidegenError
from guidegen.limits import NUMBER
from guidegen.readers.budget import damaged
from guidegen.readers.contents import Contents, PageContents
from guidegen.units import MM_PER_POINT

_SIDE = r"[ \t]*+([-+]?+" + NUMBER + ")"
_BOX = re.compile(("^%%(HiRes)?BoundingBox:" + 4 * _SIDE).encode(), re.MULTILINE)
_DESCRIPTION = re.compile(rb"^%%Subject: (.{0,400}+)$", re.MULTILINE)
_COMMAND = (
    "-q", "-dSAFER", "-dBATCH", "-dNOPAUSE", "-dEPSCrop", "-sDEVICE=pdfwrite", "-dCompatibilityLevel=1.6",
    "-dAutoRotatePages=/None", "-sColorConversionStrategy=LeaveColorUnchanged", "-sOutputFile=-", "-",
)  # fmt: skip
_LONGEST_S = 30
"""Drawings take a second; a program that runs on is no drawing."""


def read_eps(data: bytes, name: str) -> Contents:
    """Return what stands in an EPS file; its page is the bounding box, the exact one where it is given.

    ``facts`` say by ``contents_read`` whether Ghostscript was there to draw it.

    Raises:
        GuidegenError: for a file without a bounding box or without its end.
    """
    found = {bool(match[1]): match for match in _BOX.finditer(data[:100_000])}
    match = found.get(True) or found.get(False)
    ended = any(mark in data[-2000:] for mark in (b"%%EOF", b"showpage", b"%%Trailer"))
    if match is None or not ended:
        raise damaged(name, "EPS", "no bounding box" if match is None else "no end")
    left, bottom, right, top = (float(match[k]) * MM_PER_POINT for k in range(2, 6))
    drawn = _drawn(data, name)
    told = _DESCRIPTION.search(data[:100_000])
    facts = {
        "exact_box": bool(match[1]),
        "rounded_to_mm": 0.0 if match[1] else MM_PER_POINT,
        "contents_read": drawn is not None,
        "description": told[1].decode("utf-8", "replace") if told else "",
    }
    page = replace(drawn or PageContents(None), size_mm=(right - left, top - bottom), boxes={})
    return Contents("eps", (page,), facts)


def _drawn(data: bytes, name: str) -> PageContents | None:
    """Return the page as Ghostscript draws it, None where it is not installed or does not get through."""
    program = shutil.which("gs")
    if program is None:
        return None
    from guidegen.readers.pdf import read_pdf

    try:
        made = subprocess.run(  # noqa: S603  no shell, no argument of the file's
            [program, *_COMMAND], input=data, capture_output=True, timeout=_LONGEST_S, check=True
        )
        return read_pdf(made.stdout, name).pages[0]
    except (subprocess.SubprocessError, OSError, GuidegenError):
        return None
