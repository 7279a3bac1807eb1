"""The nouns of a font: glyphs in font units and the face they make up, before any file format."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

from guidegen.fonts.truesize import TrueSize
from guidegen.geometry.path import Outline

PART = "_part."
DOT = f"{PART}dot"
RING = f"{PART}ring"
RULE = f"{PART}rule"
"""Parts shared by many glyphs; no character has such a name."""


@dataclass(frozen=True, slots=True)
class Component:
    """Another glyph of the same face, moved by ``at`` (whole font units), never scaled."""

    name: str
    at: complex


@dataclass(frozen=True, slots=True)
class Glyph:
    """One glyph, y up, in font units. It has an outline or components, not both; components are never nested.

    ``anchors`` are the points where combining marks attach, by name (``above``, ``below``, ...); a mark's own
    carry a leading underscore. ``mark`` tells that it is a combining mark.
    """

    name: str
    codepoints: tuple[int, ...]
    advance: int
    outline: Outline = ()
    components: tuple[Component, ...] = ()
    anchors: Mapping[str, complex] = field(default_factory=lambda: MappingProxyType({}))
    mark: bool = False


@dataclass(frozen=True, slots=True)
class Metrics:
    """Vertical measures in font units, all from the baseline; ``below`` and ``descender`` count downwards."""

    x_height: int
    capital: int
    ascender: int
    descender: int
    above: int
    below: int


@dataclass(frozen=True, slots=True)
class Names:
    """What the name table says. ``family`` and ``style`` are what a person picks from a menu."""

    family: str
    style: str
    version: str
    description: str
    licence: str | None = None
    credit: str | None = None

    @property
    def full(self) -> str:
        return self.family if self.style == "Regular" else f"{self.family} {self.style}"

    @property
    def postscript(self) -> str:
        def plain(text: str) -> str:
            return "".join(c for c in text if c.isascii() and c.isalnum())

        family = plain(self.family)[: 62 - len(plain(self.style))] or "Marker"
        return f"{family}-{plain(self.style)}"


@dataclass(frozen=True, slots=True)
class FontFace:
    """A whole face, ready to be compiled: glyphs in their final order, the first is ``.notdef``.

    ``slant_deg`` is that of the letters, from the baseline.
    """

    names: Names
    size: TrueSize
    metrics: Metrics
    glyphs: tuple[Glyph, ...]
    features: str
    panose: tuple[int, ...]
    ruled: bool = False
    slant_deg: float = 90.0

    @property
    def codepoints(self) -> dict[int, str]:
        return {code: glyph.name for glyph in self.glyphs for code in glyph.codepoints}


def glyph_name(char: str, suffix: str = "") -> str:
    """Return the glyph name of a character by the Adobe Glyph List, or ``uniXXXX``, with an optional suffix."""
    from fontTools.agl import UV2AGL

    code = ord(char)
    fallback = f"uni{code:04X}" if code <= 0xFFFF else f"u{code:X}"
    name = str(UV2AGL.get(code, fallback))
    return f"{name}.{suffix}" if suffix else name


def bounds(glyphs: Iterable[Glyph]) -> tuple[float, float]:
    """Return the lowest and highest y of the glyphs' control points, components included; (0, 0) when blank."""
    known = {glyph.name: glyph for glyph in glyphs}
    ys = [z.imag for glyph in known.values() for path in glyph.outline for segment in path.segments for z in segment]
    for glyph in known.values():
        for part in glyph.components:
            outline = known[part.name].outline
            ys += [z.imag + part.at.imag for path in outline for segment in path.segments for z in segment]
    return (min(ys), max(ys)) if ys else (0.0, 0.0)
