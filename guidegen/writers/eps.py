"""A page as encapsulated PostScript, drawn by cairo from our SVG.

The date that cairo writes is left out. Its bounding box encloses the ink only; ours is the page, so that a
placed file keeps its size and position.
"""

from __future__ import annotations

import math
import re

from guidegen.errors import GuidegenError
from guidegen.scene import Page
from guidegen.units import points

_DATE = re.compile(rb"^%%CreationDate:.*\n", re.MULTILINE)
_BOX = re.compile(rb"^%%(Page)?BoundingBox: .*$", re.MULTILINE)


def eps_bytes(page: Page, title: str = "") -> bytes:
    """Return ``page`` as EPS.

    Raises:
        GuidegenError: when the system's cairo library is missing.
    """
    from guidegen.writers.svg import svg_bytes

    try:
        import cairosvg
    except OSError as missing:
        raise GuidegenError("EPS needs the cairo library of the system (libcairo2); write PDF instead") from missing
    written: bytes = cairosvg.svg2eps(bytestring=svg_bytes(page.as_shown(), title))
    corner = b"%d %d" % tuple(math.ceil(points(side) - 1e-6) for side in (page.width_mm, page.height_mm))
    exact = b"%.4f %.4f" % (points(page.width_mm), points(page.height_mm))

    def boxes(found: re.Match[bytes]) -> bytes:
        plain = b"%%" + (found[1] or b"") + b"BoundingBox: 0 0 " + corner
        return plain if found[1] else plain + b"\n%%HiResBoundingBox: 0 0 " + exact

    said = b"\n%%Subject: " + page.description.encode("ascii", "replace")[:200] if page.description else b""
    return _DATE.sub(b"", _BOX.sub(boxes, written)).replace(b"\n", said + b"\n", 1)
