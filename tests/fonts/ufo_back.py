"""A UFO read back as the glyphs it was made of, by fontTools' own reader."""

from types import SimpleNamespace

from fontTools.ufoLib import UFOReader

from guidegen.fonts.glyphs import Component, Glyph
from guidegen.geometry.path import Path


def read_ufo_glyphs(root):
    """Yield the glyphs of a UFO that :func:`ufo_files` made, in their order."""
    reader = UFOReader(root, validate=True)
    glyphs = reader.getGlyphSet()
    for name in reader.readLib()["public.glyphOrder"]:
        found, sink = SimpleNamespace(width=0, height=0, unicodes=[], anchors=[]), _Collector()
        glyphs.readGlyph(name, found, sink)
        anchors = {anchor["name"]: complex(anchor["x"], anchor["y"]) for anchor in found.anchors}
        marks = any(key.startswith("_") for key in anchors)
        outline, parts = tuple(sink.paths), tuple(sink.components)
        yield Glyph(name, tuple(found.unicodes), round(found.width), outline, parts, anchors, marks)
    reader.close()


class _Collector:
    """A point pen that keeps contours as paths and components as they are."""

    def __init__(self):
        self.paths = []
        self.components = []
        self._points = []

    def beginPath(self, **_):  # noqa: N802  # the protocol's name
        self._points = []

    def addPoint(self, pt, segmentType=None, **_):  # noqa: N802
        self._points.append((complex(*pt), segmentType))

    def endPath(self):  # noqa: N802
        self.paths.append(Path(tuple(_segments(self._points)), closed=True))

    def addComponent(self, baseGlyphName, transformation, **_):  # noqa: N802
        self.components.append(Component(baseGlyphName, complex(*tuple(transformation)[4:6])))


def _segments(points):
    first = next(i for i, (_, kind) in enumerate(points) if kind is not None)
    ring = points[first:] + points[: first + 1]
    segments = []
    start, off = ring[0][0], []
    for z, kind in ring[1:]:
        if kind is None:
            off.append(z)
            continue
        segments.append((start, *off, z))
        start, off = z, []
    return segments
