"""A face as UFO 3 for a font editor: outlines, components, anchors, measures, names, feature code."""

from __future__ import annotations

import tempfile
from pathlib import Path as FilePath
from typing import Any

from guidegen.fonts.glyphs import FontFace, Glyph
from guidegen.fonts.naming import (
    INSTALLABLE_EMBEDDING,
    ITALIC_ANGLE,
    NO_VENDOR,
    USE_TYPO_METRICS,
    caret_slope,
    name_strings,
)
from guidegen.fonts.sinks import draw

_CREATOR = "org.unifiedfontobject"
"""UFO asks for a creator: the format itself, for a font made here carries no program's name."""


class _UfoGlyph:
    """What ufoLib wants of a glyph: attributes with the names of its specification."""

    def __init__(self, glyph: Glyph) -> None:
        self.width, self.height = glyph.advance, 0
        self.unicodes = list(glyph.codepoints)
        self.anchors: list[dict[str, Any]] = [{"name": n, "x": z.real, "y": z.imag} for n, z in glyph.anchors.items()]


class _Info:
    """Font info by the attribute names of UFO 3."""


def ufo_files(face: FontFace) -> dict[str, bytes]:
    """Return the files of the UFO by their path inside it; the same face gives the same bytes."""
    from fontTools.ufoLib import UFOWriter

    with tempfile.TemporaryDirectory() as folder:
        root = FilePath(folder) / "face.ufo"
        writer = UFOWriter(root, fileCreator=_CREATOR)
        writer.writeInfo(_info(face))
        writer.writeFeatures(face.features)
        writer.writeLib({"public.glyphOrder": [glyph.name for glyph in face.glyphs]})
        glyphs = writer.getGlyphSet()
        for glyph in face.glyphs:
            glyphs.writeGlyph(glyph.name, _UfoGlyph(glyph), lambda sink, glyph=glyph: _draw_points(glyph, sink))
        glyphs.writeContents()
        writer.writeLayerContents(["public.default"])
        writer.close()
        found = sorted(path for path in root.rglob("*") if path.is_file())
        return {path.relative_to(root).as_posix(): path.read_bytes() for path in found}


def _info(face: FontFace) -> Any:
    names, m = face.names, face.metrics
    major, minor = names.version.split()[1].split(";")[0].split(".")
    strings = name_strings(face)
    values = {
        "familyName": names.full,
        "styleName": "Regular",
        "styleMapFamilyName": strings["familyName"],
        "styleMapStyleName": "regular",
        "unitsPerEm": face.size.units_per_em,
        "xHeight": m.x_height,
        "capHeight": m.capital,
        "ascender": m.ascender,
        "descender": -m.descender,
        "italicAngle": ITALIC_ANGLE,
        "versionMajor": int(major),
        "versionMinor": int(minor),
        "copyright": names.credit,
        "postscriptFontName": names.postscript,
        "openTypeNameDescription": names.description,
        "openTypeNameLicense": strings.get("licenseDescription"),
        "openTypeNameLicenseURL": strings.get("licenseInfoURL"),
        "openTypeNameVersion": names.version,
        "openTypeOS2VendorID": NO_VENDOR,
        "openTypeOS2Type": [bit for bit in range(16) if INSTALLABLE_EMBEDDING >> bit & 1],
        "openTypeOS2Selection": [bit for bit in range(16) if USE_TYPO_METRICS >> bit & 1],
        "openTypeOS2Panose": list(face.panose),
        "openTypeOS2TypoAscender": m.above,
        "openTypeOS2TypoDescender": -m.below,
        "openTypeOS2TypoLineGap": 0,
        "openTypeOS2WinAscent": m.above,
        "openTypeOS2WinDescent": m.below,
        "openTypeHheaAscender": m.above,
        "openTypeHheaDescender": -m.below,
        "openTypeHheaLineGap": 0,
        "openTypeHheaCaretSlopeRise": caret_slope(face)[0],
        "openTypeHheaCaretSlopeRun": caret_slope(face)[1],
        "openTypeHeadCreated": "2000/01/01 00:00:00",
    }
    info = _Info()
    for key, value in values.items():
        if value is not None:
            setattr(info, key, value)
    return info


def _draw_points(glyph: Glyph, sink: Any) -> None:
    from fontTools.pens.pointPen import SegmentToPointPen

    segments = SegmentToPointPen(sink)
    draw(glyph.outline, segments)
    for part in glyph.components:
        sink.addComponent(part.name, (1, 0, 0, 1, round(part.at.real), round(part.at.imag)))
