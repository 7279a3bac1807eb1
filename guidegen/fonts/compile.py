"""A face to a font file: TrueType or CFF outlines, plain or as WOFF2.

TrueType takes quadratics: cubics are turned by cu2qu within half a unit. Components stay components in TrueType and,
where a component is used often (the dot of a tracing face), become a subroutine in CFF. Nothing in the file depends
on the clock: the dates are ``SOURCE_DATE_EPOCH`` or 2000-01-01.
"""

from __future__ import annotations

import math
import os
from collections.abc import Mapping
from io import BytesIO
from typing import Any, Literal

from guidegen.errors import GuidegenError
from guidegen.fonts.charstrings import charstrings
from guidegen.fonts.glyphs import PART, RULE, FontFace, Glyph
from guidegen.fonts.naming import ITALIC_ANGLE, caret_slope, name_strings, os2_values
from guidegen.fonts.quick_features import feature_statements
from guidegen.fonts.sinks import draw
from guidegen.fonts.truesize import LARGEST_COORDINATE
from guidegen.geometry.path import Outline

GlyphBox = tuple[float, float, float, float]
Format = Literal["ttf", "otf", "woff2"]
FORMATS: tuple[Format, ...] = ("ttf", "otf", "woff2")
QUADRATIC_TOLERANCE_UNITS = 0.5
OVERLAP_COMPOUND = 1 << 10
"""A component flag of ``glyf``: the parts overlap. Only where a tracing dot stands on a guide line: the dot stays one
shared part and the line one straight bar from bound to bound, so that lines meet from glyph to glyph; both wind the
same way, and the flag tells rasterisers to fill them as one. Every other overlap is removed."""
_SECONDS_1904_TO_1970 = 2082844800
_DEFAULT_DATE = 946684800  # 2000-01-01, seconds since 1970


def compile_face(face: FontFace, file_format: Format) -> bytes:
    """Return the font file of ``face``; the same face gives the same bytes.

    Raises:
        GuidegenError: a glyph reaches further than a font's 16-bit coordinates.
    """
    _check_reach(face)
    font = _font(face, file_format)
    buffer = BytesIO()
    font.flavor = "woff2" if file_format == "woff2" else None
    font.save(buffer, reorderTables=None)
    return buffer.getvalue()


def screen_woff2(otf: bytes) -> bytes:
    """Return an OTF packed for a page on screen: no hinting of TrueType's rounds its thin lines away."""
    from fontTools.ttLib import TTFont

    font = TTFont(BytesIO(otf), recalcTimestamp=False)
    font.flavor = "woff2"
    buffer = BytesIO()
    font.save(buffer, reorderTables=None)
    return buffer.getvalue()


def stored_glyphs(face: FontFace, file_format: Format) -> tuple[Glyph, ...]:
    """Return the glyphs that stand in a file: in CFF shared parts are subroutines, no glyphs that nothing reaches."""
    return tuple(glyph for glyph in face.glyphs if file_format != "otf" or not glyph.name.startswith(PART))


def _check_reach(face: FontFace) -> None:
    for glyph in face.glyphs:
        far = max((abs(v) for p in glyph.outline for s in p.segments for z in s for v in (z.real, z.imag)), default=0)
        if max(far, glyph.advance) > LARGEST_COORDINATE:
            reach_mm = max(far, glyph.advance) * face.size.unit_mm
            raise GuidegenError(
                f"glyph {glyph.name}: it reaches {reach_mm:.0f} mm, further than a font can say "
                f"({LARGEST_COORDINATE * face.size.unit_mm:.0f} mm at {face.size.point_size} pt); use `guidegen write`"
            )


def _font(face: FontFace, file_format: Format) -> Any:
    from fontTools.feaLib.builder import addOpenTypeFeatures
    from fontTools.fontBuilder import FontBuilder

    truetype = file_format != "otf"
    date = int(os.environ.get("SOURCE_DATE_EPOCH") or _DEFAULT_DATE) + _SECONDS_1904_TO_1970
    builder = FontBuilder(face.size.units_per_em, isTTF=truetype)
    font = builder.font
    font.recalcTimestamp = False
    version = float(face.names.version.split()[1].split(";")[0])
    stored = stored_glyphs(face, file_format)
    builder.setupGlyphOrder([glyph.name for glyph in stored])
    builder.setupCharacterMap(face.codepoints)
    names = name_strings(face)
    if truetype:
        builder.setupGlyf(truetype_glyphs(face))
        table = font["glyf"]
        lefts = {name: getattr(table[name], "xMin", 0) for name in font.getGlyphOrder()}
        builder.setupMaxp()
    else:
        strings, private, subroutines = charstrings(face)
        full = face.names.full.encode("ascii", "replace").decode()
        info = {"FullName": full, "FamilyName": full, "Weight": "Regular",
                "version": f"{version:.3f}", "ItalicAngle": ITALIC_ANGLE}  # fmt: skip
        builder.setupCFF(face.names.postscript, info, strings, private)
        top = font["CFF "].cff.topDictIndex[0]
        for subroutine in subroutines:
            top.GlobalSubrs.append(subroutine)
        boxes = glyph_boxes(face)
        lefts = {glyph.name: boxes.get(glyph.name, (0,))[0] for glyph in stored}
        top.FontBBox = _union_box([boxes[glyph.name] for glyph in stored if glyph.name in boxes])
    builder.setupHorizontalMetrics({glyph.name: (glyph.advance, lefts[glyph.name]) for glyph in stored})
    metrics = face.metrics
    rise, run = caret_slope(face)
    builder.setupHorizontalHeader(
        ascent=metrics.above, descent=-metrics.below, lineGap=0, caretSlopeRise=rise, caretSlopeRun=run
    )
    builder.setupNameTable(names, mac=False)
    builder.setupOS2(**os2_values(face))
    font["OS/2"].recalcCodePageRanges(font)
    builder.setupPost(keepGlyphNames=True, italicAngle=ITALIC_ANGLE, isFixedPitch=0, **_underline(face))
    font["head"].created = font["head"].modified = date
    font["head"].fontRevision = version
    font["head"].flags = 0b11  # baseline at y = 0, left side bearing at x = 0: no hinting, no more
    font["head"].lowestRecPPEM = 9
    if truetype:
        _set_smoothing(font)
    if face.features:
        addOpenTypeFeatures(font, feature_statements(face.features, frozenset(font.getGlyphOrder())))
    return font


def _set_smoothing(font: Any) -> None:
    """Ask for grey smoothing and smart dropout control at every size, since the outlines carry no hints."""
    from fontTools.ttLib import newTable
    from fontTools.ttLib.tables.ttProgram import Program

    font["gasp"] = newTable("gasp")
    font["gasp"].version = 1
    font["gasp"].gaspRange = {0xFFFF: 0b1111}
    font["prep"] = newTable("prep")
    font["prep"].program = Program()
    font["prep"].program.fromAssembly(["PUSHW[] 511", "SCANCTRL[]", "PUSHB[] 4", "SCANTYPE[]"])


def _underline(face: FontFace) -> dict[str, int]:
    thickness = max(1, round(face.metrics.x_height / 12))
    return {"underlinePosition": -round(face.metrics.descender / 2), "underlineThickness": thickness}


def truetype_glyphs(face: FontFace) -> dict[str, Any]:
    """Return ``glyf`` glyphs: outer contours clockwise, as the format asks; components as they are."""
    from fontTools.pens.cu2quPen import Cu2QuPen
    from fontTools.pens.ttGlyphPen import TTGlyphPen

    glyphs: dict[str, Any] = {}
    names = {glyph.name for glyph in face.glyphs}
    shared = {part.name for glyph in face.glyphs for part in glyph.components} if face.ruled else set()
    boxes = {glyph.name: _path_boxes(glyph.outline) for glyph in face.glyphs if glyph.name in shared}
    for glyph in face.glyphs:
        sink = TTGlyphPen(names)
        if glyph.components:
            for part in glyph.components:
                sink.addComponent(part.name, (1, 0, 0, 1, round(part.at.real), round(part.at.imag)))
        else:
            draw(glyph.outline, Cu2QuPen(sink, QUADRATIC_TOLERANCE_UNITS, reverse_direction=True))
        glyphs[glyph.name] = sink.glyph(dropImpliedOnCurves=False)
        if face.ruled and glyph.components and _parts_overlap(glyph, boxes):
            glyphs[glyph.name].components[0].flags |= OVERLAP_COMPOUND
    return glyphs


def _path_boxes(outline: Outline) -> list[GlyphBox]:
    """Return the boxes around the points of each path: of circles and bars these are the true ones."""
    boxes = []
    for path in outline:
        points = [z for segment in path.segments for z in segment]
        xs, ys = [z.real for z in points], [z.imag for z in points]
        boxes.append((min(xs), min(ys), max(xs), max(ys)))
    return boxes


def _parts_overlap(glyph: Glyph, boxes: Mapping[str, list[GlyphBox]]) -> bool:
    """Tell whether a guide line meets a dot or ring in a glyph that is made of these."""
    rules = [part for part in glyph.components if part.name.startswith(RULE)]
    others = [_moved(box, part.at) for part in glyph.components if part not in rules for box in boxes[part.name]]
    lines = [_moved(box, part.at) for part in rules for box in boxes[part.name]]
    return any(a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3] for a in lines for b in others)


def glyph_boxes(face: FontFace) -> dict[str, GlyphBox]:
    """Return each inked glyph's bounding box, rounded outwards."""
    from fontTools.pens.boundsPen import BoundsPen

    own: dict[str, GlyphBox] = {}
    for glyph in face.glyphs:
        sink = BoundsPen(None)
        draw(glyph.outline, sink)
        if sink.bounds:
            x0, y0, x1, y1 = sink.bounds
            own[glyph.name] = (math.floor(x0), math.floor(y0), math.ceil(x1), math.ceil(y1))
    found = dict(own)
    for glyph in face.glyphs:
        moved = [_moved(own[part.name], part.at) for part in glyph.components if part.name in own]
        if moved:
            found[glyph.name] = _union_box(moved)
    return found


def _moved(box: GlyphBox, at: complex) -> GlyphBox:
    x, y = round(at.real), round(at.imag)
    return (box[0] + x, box[1] + y, box[2] + x, box[3] + y)


def _union_box(boxes: list[GlyphBox]) -> GlyphBox:
    if not boxes:
        return (0, 0, 0, 0)
    lows = [min(box[i] for box in boxes) for i in (0, 1)]
    highs = [max(box[i] for box in boxes) for i in (2, 3)]
    return (lows[0], lows[1], highs[0], highs[1])
