"""The face of the page: the open one of our sheets, cut down to Latin letters, as WOFF2."""

from __future__ import annotations

import io

from guidegen.sheets.parts.labels import face_path

_KEPT = (*range(0x20, 0x7F), *range(0xA0, 0x180), 0x2010, 0x2013, 0x2014, 0x2018, 0x2019, 0x201C, 0x201D, 0x201E,
         0x2026, 0x2190, 0x2192, 0x2212)  # fmt: skip
_WEIGHTS = (250, 400, 600)
_FEATURES = ("kern", "mark", "mkmk", "ccmp", "locl", "tnum", "lnum")
_LEGAL_NAMES = (0, 13, 14)
"""Copyright and licence stay; the face's own name is not given to a part of it."""


def page_face() -> bytes:
    """Return the face as a WOFF2 file: its weights from light to strong, the letters of European languages."""
    from fontTools import subset
    from fontTools.ttLib import TTFont
    from fontTools.varLib import instancer

    font = TTFont(face_path(), recalcTimestamp=False)
    options = subset.Options(layout_features=list(_FEATURES), hinting=False, name_IDs=list(_LEGAL_NAMES))
    part = subset.Subsetter(options)
    part.populate(unicodes=_KEPT)
    part.subset(font)
    font = instancer.instantiateVariableFont(font, {"wght": _WEIGHTS})
    font.flavor = "woff2"
    target = io.BytesIO()
    font.save(target)
    return target.getvalue()
