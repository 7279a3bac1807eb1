"""Words on a page as outlines, in an open sans face (Source Sans 3, OFL) that covers Latin Core.

Pages carry no text and no font: every label is filled outlines. Sizes are the em in millimetres (a point is
0.353 mm); the face's capitals are 0.656 and its lowercase 0.486 of it.
"""

from __future__ import annotations

from functools import cache, lru_cache
from typing import Any, Literal

from guidegen.geometry.path import Outline, Path, Segment, scale, translate
from guidegen.scene import BLACK, Ink, Shape, Style

Anchor = Literal["start", "middle", "end"]
CAP_HEIGHT = 0.656
ASCENT = 0.73
X_HEIGHT = 0.486
REGULAR, STRONG = 400, 600
_FILE = "SourceSans3[wght].ttf"
_CURVE_TOLERANCE_UNITS = 0.5


def label(
    text: str,
    at: complex,
    size_mm: float,
    *,
    anchor: Anchor = "start",
    weight: int = REGULAR,
    ink: Ink = BLACK,
) -> Shape:
    """Return ``text`` as filled outlines, its baseline through ``at``.

    ``anchor`` says which point of the text ``at`` is; ``weight`` is 200 to 900. A character the face lacks is
    drawn as the face's own empty box.
    """
    outline, width_em = _set(text, weight)
    shift = {"start": 0.0, "middle": width_em / 2, "end": width_em}[anchor] * size_mm
    return Shape(translate(scale(outline, size_mm), at - shift), Style(fill=ink), text)


def label_width_mm(text: str, size_mm: float, weight: int = REGULAR) -> float:
    """Return the width ``text`` takes at ``size_mm`` (the sum of the advances)."""
    return _set(text, weight)[1] * size_mm


def lacking(text: str) -> str:
    """Return the characters of ``text`` that the labels' face has no glyph for, each once."""
    known = _face().getBestCmap()
    return "".join(dict.fromkeys(char for char in text if ord(char) not in known))


def wrapped(text: str, width_mm: float, size_mm: float, weight: int = REGULAR) -> tuple[str, ...]:
    """Return ``text`` broken at spaces into lines of at most ``width_mm``; a longer word has a line of its own."""
    lines: list[str] = []
    for word in text.split():
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and label_width_mm(longer, size_mm, weight) <= width_mm:
            lines[-1] = longer
        else:
            lines.append(word)
    return tuple(lines)


@lru_cache(maxsize=128)
def _set(text: str, weight: int) -> tuple[Outline, float]:
    """Return the outline of a line of text in em, starting at the origin, and its width."""
    x = 0.0
    paths: list[Path] = []
    for char in text:
        outline, advance = _glyph(_glyph_name(char), weight)
        paths += translate(outline, complex(x, 0))
        x += advance
    return tuple(paths), x


@cache
def _face() -> Any:
    from importlib.resources import files

    from fontTools.ttLib import TTFont

    return TTFont(files("fontpkg_source_sans_3").joinpath("files", _FILE).open("rb"), lazy=True)


def _glyph_name(char: str) -> str:
    return _face().getBestCmap().get(ord(char), ".notdef")  # type: ignore[no-any-return]


@cache
def _glyph_set(weight: int) -> Any:
    return _face().getGlyphSet(location={"wght": weight})


@cache
def _glyph(name: str, weight: int) -> tuple[Outline, float]:
    """Return a glyph's outline and advance in em."""
    glyphs, units = _glyph_set(weight), _face()["head"].unitsPerEm
    sink = _outline_sink(glyphs)
    _draw_as_cubics(glyphs[name], sink)
    return scale(tuple(sink.paths), 1 / units), glyphs[name].width / units


def _draw_as_cubics(glyph: Any, sink: Any) -> None:
    """Draw a glyph with its runs of quadratic curves as few cubics, half a unit (1/2000 em) off at most."""
    from fontTools.pens.qu2cuPen import Qu2CuPen

    glyph.draw(Qu2CuPen(sink, _CURVE_TOLERANCE_UNITS, all_cubic=True))


def _outline_sink(glyphs: Any) -> Any:
    """Return a sink that collects closed paths."""
    from fontTools.pens.basePen import BasePen

    class OutlineSink(BasePen):  # type: ignore[misc]
        def __init__(self) -> None:
            super().__init__(glyphs)
            self.paths: list[Path] = []
            self._chain: list[Segment] = []
            self._first = 0j

        def _moveTo(self, pt: tuple[float, float]) -> None:  # noqa: N802
            self._chain, self._first = [], complex(*pt)

        def _lineTo(self, pt: tuple[float, float]) -> None:  # noqa: N802
            self._chain.append((self._here(), complex(*pt)))

        def _curveToOne(self, *points: tuple[float, float]) -> None:  # noqa: N802
            self._chain.append((self._here(), *(complex(*pt) for pt in points)))

        def _closePath(self) -> None:  # noqa: N802
            if self._here() != self._first:
                self._chain.append((self._here(), self._first))
            self.paths.append(Path(tuple(self._chain), closed=True))

        def _here(self) -> complex:
            return self._chain[-1][-1] if self._chain else self._first

    return OutlineSink()
