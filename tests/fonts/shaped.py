"""Text through HarfBuzz and FreeType: what a program would set."""

from dataclasses import dataclass
from functools import cache

import freetype
import numpy as np
import shapely
import uharfbuzz


@dataclass(frozen=True)
class Glyph:
    name: str
    x: int
    y: int
    advance: int


@cache
def harfbuzz_font(data):
    return uharfbuzz.Font(uharfbuzz.Face(data))


def shape(data, text, features=None, language="en"):
    """Return the glyphs of one line, in font units, each with the place of its origin."""
    font = harfbuzz_font(data)
    buffer = uharfbuzz.Buffer()
    buffer.add_str(text)
    buffer.guess_segment_properties()
    buffer.language = language
    uharfbuzz.shape(font, buffer, features or {})
    x, glyphs = 0, []
    for info, at in zip(buffer.glyph_infos, buffer.glyph_positions, strict=True):
        glyphs.append(Glyph(font.glyph_to_string(info.codepoint), x + at.x_offset, at.y_offset, at.x_advance))
        x += at.x_advance
    return glyphs


@cache
def regions(data):
    """Return a function from glyph name to its filled region, in font units, as FreeType reads the outlines."""
    import io

    face = freetype.Face(io.BytesIO(data))
    names = {face.get_glyph_name(i).decode(): i for i in range(face.num_glyphs)}

    @cache
    def region(name):
        face.load_glyph(names[name], freetype.FT_LOAD_NO_SCALE | freetype.FT_LOAD_NO_HINTING)
        return _filled(_contours(face.glyph.outline))

    return region


def _contours(outline):
    """Return the contours of a FreeType outline as dense polygons."""
    contours = []

    def start(to, _):
        contours.append([complex(to.x, to.y)])

    def line(to, _):
        contours[-1].append(complex(to.x, to.y))

    def quadratic(off, to, _):
        p, q, r = contours[-1][-1], complex(off.x, off.y), complex(to.x, to.y)
        t = np.linspace(0, 1, 17)[1:]
        contours[-1].extend((1 - t) ** 2 * p + 2 * t * (1 - t) * q + t * t * r)

    def cubic(off, off2, to, _):
        p, q, r, s = contours[-1][-1], complex(off.x, off.y), complex(off2.x, off2.y), complex(to.x, to.y)
        t = np.linspace(0, 1, 25)[1:]
        u = 1 - t
        contours[-1].extend(u**3 * p + 3 * t * u * u * q + 3 * t * t * u * r + t**3 * s)

    outline.decompose(None, start, line, quadratic, cubic)
    return contours


def _filled(contours):
    """Return the non-zero fill of contours that nest or, running the same way, overlap: the largest first."""
    found = []
    for ring in contours:
        if len(ring) > 2:
            area = sum((a.conjugate() * b).imag for a, b in zip(ring, ring[1:] + ring[:1], strict=True))
            found.append((area, shapely.Polygon([(z.real, z.imag) for z in ring]).buffer(0)))
    found.sort(key=lambda entry: -abs(entry[0]))
    region = shapely.Polygon()
    for area, ring in found:
        region = region.union(ring) if area * found[0][0] > 0 else region.difference(ring)
    return region


def placed(data, glyphs):
    """Return the regions of set glyphs in their places."""
    region = regions(data)
    return [shapely.affinity.translate(region(glyph.name), glyph.x, glyph.y) for glyph in glyphs]
