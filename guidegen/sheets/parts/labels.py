"""Words on a page as outlines, in an open sans face (Source Sans 3, OFL) that covers Latin Core.

Pages carry no text and no font: every label is filled outlines. Sizes are the em in millimetres (a point is
0.353 mm); the face's capitals are 0.656 and its lowercase 0.486 of it. HarfBuzz sets the words, so that pairs are
kerned and accents stand where they belong.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache, lru_cache
from itertools import pairwise
from pathlib import Path as FilePath
from typing import Any, Literal

from guidegen.geometry.path import Outline, Path, Segment, scale, translate
from guidegen.scene import BLACK, Ink, Shape, Style

Anchor = Literal["start", "middle", "end"]
CAP_HEIGHT = 0.656
ASCENT = 0.73
X_HEIGHT = 0.486
RISE = 0.9
"""The height of accents on capitals, of Latin Core."""
REGULAR, STRONG = 400, 600
SMALLEST_LABEL_MM = 6 * 25.4 / 72
"""6 points: nobody should have to read anything smaller."""
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
    """Return the width ``text`` takes at ``size_mm`` (the sum of the advances, kerning included)."""
    return _set(text, weight)[1] * size_mm


def rise_of(text: str) -> float:
    """Return how far ``text`` rises above its baseline, in em: higher with letters that may carry an accent."""
    return ASCENT if text.isascii() else RISE


def lacking(text: str) -> str:
    """Return the characters of ``text`` that the labels' face has no glyph for, each once."""
    font = _font(REGULAR)
    return "".join(dict.fromkeys(char for char in text if not font.get_nominal_glyph(ord(char))))


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
    if not text:
        return (), 0.0
    import uharfbuzz

    font, buffer = _font(weight), uharfbuzz.Buffer()
    buffer.add_str(text)
    buffer.direction, buffer.script, buffer.language = "ltr", "Latn", "en"  # never guessed from the system's locale
    uharfbuzz.shape(font, buffer)
    unit = 1 / font.face.upem
    x = 0.0
    paths: list[Path] = []
    for info, place in zip(buffer.glyph_infos, buffer.glyph_positions, strict=True):
        at = complex(x + place.x_offset, place.y_offset)
        paths += translate(_glyph(info.codepoint, weight), at * unit)
        x += place.x_advance
    return tuple(paths), x * unit


@cache
def _font(weight: int) -> Any:
    import uharfbuzz

    font = uharfbuzz.Font(_face())
    font.set_variations({"wght": weight})
    return font


@cache
def _face() -> Any:
    import uharfbuzz

    return uharfbuzz.Face(uharfbuzz.Blob.from_file_path(str(face_path())))


def face_path() -> FilePath:
    """Return the file of the labels' face."""
    import fontpkg_source_sans_3

    return FilePath(fontpkg_source_sans_3.__file__).parent / "files" / _FILE


@cache
def _glyph(number: int, weight: int) -> Outline:
    """Return a glyph's outline in em."""
    contours: list[_Contour] = []
    font = _font(weight)
    font.draw_glyph(number, _drawing(), contours)
    return scale(tuple(_path(contour) for contour in contours), 1 / font.face.upem)


_Contour = list[Segment]
"""Lines and quadratic curves (three points) in font units; the first is its starting point alone."""


@cache
def _drawing() -> Any:
    """Return the functions by which HarfBuzz draws a glyph into a list of contours."""
    import uharfbuzz

    functions = uharfbuzz.DrawFuncs()
    functions.set_move_to_func(lambda x, y, contours: contours.append([(complex(x, y),)]))
    functions.set_line_to_func(lambda x, y, contours: _extend(contours, complex(x, y)))
    functions.set_quadratic_to_func(lambda a, b, x, y, contours: _extend(contours, complex(a, b), complex(x, y)))
    functions.set_close_path_func(lambda contours: _extend(contours, contours[-1][0][0]))
    return functions


def _extend(contours: list[_Contour], *points: complex) -> None:
    here = contours[-1][-1][-1]
    if points[-1] != here or len(points) > 1:
        contours[-1].append((here, *points))


def _path(contour: _Contour) -> Path:
    """Return a contour as lines and cubics, each run of quadratic curves that a cubic was made into as that cubic."""
    segments: list[Segment] = []
    run: list[Segment] = []
    for segment in (*contour[1:], ()):
        if run and not (len(segment) == 3 and _goes_on(run[-1], segment)):
            segments += _as_cubics(run)
            run = []
        if len(segment) == 3:
            run.append(segment)
        elif segment:
            segments.append(segment)
    return Path(tuple(segments), closed=True)


def _goes_on(before: Segment, after: Segment) -> bool:
    """Tell whether the point between two quadratic curves is one that TrueType leaves out: midway between controls."""
    return abs(before[1] + after[1] - 2 * before[2]) < 0.01


def _as_cubics(run: Sequence[Segment]) -> list[Segment]:
    """Return a run of n quadratic curves as one cubic, or as n where one strays over half a unit (1/2000 em).

    Whoever cuts a cubic into n equal parts and turns each into a quadratic curve leaves the first and the last
    control point 3/(2n) of the cubic's own handle from its ends.
    """
    n = len(run)
    start, end = run[0][0], run[-1][2]
    reach = 2 * n / 3
    a, b = start + reach * (run[0][1] - start), end + reach * (run[-1][1] - end)
    for number, (before, _) in enumerate(pairwise(run), start=1):
        t = number / n
        u = 1 - t
        if abs(u**3 * start + 3 * u * u * t * a + 3 * u * t * t * b + t**3 * end - before[2]) > _CURVE_TOLERANCE_UNITS:
            return [(p, p + (c - p) * 2 / 3, q + (c - q) * 2 / 3, q) for p, c, q in run]
    return [(start, a, b, end)]
