"""Centrelines of a drawing to be inked: every line in an SVG file, in the order and direction it was drawn.

What is painted does not matter here (a centreline may have any colour or width, or none); what is hidden, and
what stands in definitions, is not read. Path data goes through svgpathtools.
"""

from __future__ import annotations

import math
import re
import warnings
from typing import Any
from xml.etree.ElementTree import Element

from guidegen.errors import bad_input
from guidegen.geometry.path import Path, Segment
from guidegen.lettering.drawing import DrawnLine, LineDrawing
from guidegen.limits import MAX_INK_LINES, MAX_INK_SEGMENTS, NUMBER
from guidegen.readers.budget import too_much
from guidegen.readers.matrix import ellipse, is_transform, moved
from guidegen.readers.svg import parsed, root_frame
from guidegen.readers.svg_frame import MM_PER_PX, local, unit_of
from guidegen.readers.svg_walk import HREF, Place, Walk

_REAL_UNITS = {"mm", "cm", "in", "pt", "pc", "q"}
_PATH_DATA = re.compile(rf"(?>[MmZzLlHhVvCcSsQqTtAa,\s]++|[-+]?+{NUMBER})*+", re.ASCII)
_NUMBER = re.compile(r"[-+]?+" + NUMBER, re.ASCII)
_W, _N = r"[,\s]*+", r"[-+]?+" + NUMBER
_ARC = re.compile(r"[Aa]([^A-DF-Za-df-z]*+)", re.ASCII)
_ARC_DATA = re.compile(rf"(?>{_W}{_N}{_W}{_N}{_W}{_N}{_W}[01]{_W}[01]{_W}{_N}{_W}{_N}{_W})++", re.ASCII)
"""An arc's radii and turn, its two flags, which may stand without a space behind them, and its end (SVG 1.1, 8.3.9)."""

_ELSEWHERE = re.compile(r"@import|url\(\s*+[\"']?+\s*+(?!#|data:)", re.IGNORECASE)
_LENGTHS = ("x1", "y1", "x2", "y2", "cx", "cy", "r", "rx", "ry", "x", "y", "width", "height")
_LENGTH = re.compile(_NUMBER.pattern + r"\s*+(?:mm|cm|in|pt|pc|px|q|em|rem|ex|%)?|auto", re.ASCII | re.IGNORECASE)


def read_centrelines(data: bytes, name: str, width_mm: float | None = None) -> LineDrawing:
    """Return the centrelines of an SVG drawing in mm, y up.

    Args:
        data: the file.
        name: what errors call it.
        width_mm: the drawing's real width, for one that does not state its size in mm, cm, in or pt.

    Raises:
        GuidegenError: no whole SVG, scripts, entities or references to other files, no size, path data with
            errors, nothing to ink, or too much of it.
    """
    root = parsed(data, name)
    if local(root) != "svg":
        raise bad_input(name, "", f"a file whose root is <{local(root)}>"[:80], "an SVG drawing")
    size, _, to_px = root_frame(root, name)
    states_size = all(unit_of(root.get(side)) in _REAL_UNITS for side in ("width", "height"))
    if width_mm is None and not states_size:
        found = f"width={root.get('width')!r}"
        raise bad_input(name, "width", found, "a size in mm, cm, in or pt", "say how wide it is: `width_mm` 120")
    mm_per_px = MM_PER_PX if width_mm is None else width_mm / size[0]
    height_mm = size[1] * mm_per_px
    walk = _CentrelineWalk(root, name)
    _refuse_active(walk, root, data, name)
    walk.draw_root(root, to_px, (complex(mm_per_px, 0), complex(0, -mm_per_px), complex(0, height_mm)))
    if not walk.lines:
        raise bad_input(name, "", "no line", "paths, lines, polylines, circles or arcs to ink")
    return LineDrawing(size[0] * mm_per_px, height_mm, tuple(walk.lines))


def _refuse_active(walk: Walk, root: Element, data: bytes, name: str) -> None:
    """Refuse what acts or points elsewhere; a drawing to be inked needs none of it."""
    facts = walk.facts()
    scripts, references = facts["scripts"], facts["references"] + (b"<?xml-stylesheet" in data)
    for element in root.iter():
        target = "".join((element.get("href") or element.get(HREF) or "").split()).lower()
        scripts += target.startswith("javascript:") or local(element) == "foreignObject"
        style = element.text or "" if local(element) == "style" else element.get("style", "")
        references += _ELSEWHERE.search(style) is not None
    for count, what in ((scripts, "scripts"), (references, "references to other files")):
        if count:
            raise bad_input(name, "", what, f"a drawing without {what}", "save it as plain SVG")


class _CentrelineWalk(Walk):
    """Collects lines whatever their paint, and takes no path data with errors."""

    def __init__(self, root: Element, name: str) -> None:
        super().__init__(root, name)
        self.lines: list[DrawnLine] = []
        self._name = name
        self._left = MAX_INK_SEGMENTS

    def _visit(self, element: Element, place: Place) -> None:
        transform = element.get("transform")
        if transform is not None and not is_transform(transform):
            label = f"{self._name}: <{local(element)}{_id(element)}>"
            raise bad_input(label, "transform", transform[:60], "such as translate(10 20) or rotate(30)")
        super()._visit(element, place)

    def shape(self, element: Element, name: str, place: Place) -> None:
        if place.hidden or place.style.get("visibility") in ("hidden", "collapse"):
            return
        label = f"{self._name}: <{name}{_id(element)}>"
        widths = _widths(element, label)
        _check_numbers(element, label)
        paths = tuple(moved(path, place.matrix) for path in self.paths_of(element, name, place))
        self.budget.keep(paths)
        for path in paths:
            self._left -= len(path.segments)
            if self._left < 0:
                raise too_much(self._name, "segments", MAX_INK_SEGMENTS, "ink it in parts")
            self.lines.append(DrawnLine(path, widths, label))
            if len(self.lines) > MAX_INK_LINES:
                raise too_much(self._name, "lines", MAX_INK_LINES, "ink it in parts")

    def path_data(self, text: str) -> tuple[Path, ...]:
        text, label = text.strip(), f"{self._name}: <path>"
        if sum(1 for _ in _NUMBER.finditer(text)) > 6 * MAX_INK_SEGMENTS:
            raise too_much(self._name, "segments", MAX_INK_SEGMENTS, "ink it in parts")
        if not _PATH_DATA.fullmatch(text) or (text and text[0] not in "Mm"):
            raise bad_input(label, "d", text, "path data such as M 0 0 L 10 20")
        for arc in _ARC.finditer(text):
            if not _ARC_DATA.fullmatch(arc[1]):
                expected = "an arc such as A 5 5 0 0 1 20 10, its flags 0 or 1"
                raise bad_input(label, "d", arc[0][:40], expected)
        try:
            return _svg_paths(text, label) if text else ()
        except AssertionError:  # an arc that ends where it begins: SVG leaves it out, svgpathtools cannot
            return super().path_data(text)


def _check_numbers(element: Element, label: str) -> None:
    """Refuse what is no number where one is meant: a viewer skips it, but a pen would go wrong unnoticed."""
    for key in _LENGTHS:
        text = element.get(key)
        if text is not None and not _LENGTH.fullmatch(text.strip()):
            raise bad_input(label, key, text[:40], "a number, with or without a unit")
    points = element.get("points")
    if points is not None:
        left = _NUMBER.sub(" ", points).replace(",", " ").strip()
        if left or sum(1 for _ in _NUMBER.finditer(points)) % 2:
            raise bad_input(label, "points", (left or points)[:40], "pairs of numbers")


def _id(element: Element) -> str:
    own = element.get("id")
    return "" if own is None else f' id="{own[:40]}"'


def _widths(element: Element, label: str) -> tuple[float, ...] | None:
    text = element.get("data-widths")
    if text is None:
        return None
    parts = text.replace(",", " ").split()
    if not parts or len(parts) > MAX_INK_SEGMENTS + 1 or not all(_NUMBER.fullmatch(part) for part in parts):
        raise bad_input(label, "data-widths", text, "one width in mm for each vertex, such as 0.4 1.2 3.2")
    return tuple(float(part) for part in parts)


def _svg_paths(text: str, label: str) -> tuple[Path, ...]:
    from svgpathtools import parse_path

    try:
        with warnings.catch_warnings():  # it tells of arcs without a radius, which SVG takes for lines, as we do
            warnings.simplefilter("ignore")
            chain = parse_path(text)
        pieces = [[_segments(piece) for piece in run] for run in chain.continuous_subpaths()] if len(chain) else []
    except (ValueError, IndexError, ZeroDivisionError, OverflowError) as error:
        raise bad_input(label, "d", f"{text[:40]} ({error})", "path data such as M 0 0 L 10 20") from None
    paths = []
    for run in pieces:
        segments = tuple(segment for piece in run for segment in piece)
        paths.append(Path(segments, closed=len(segments) > 1 and abs(segments[0][0] - segments[-1][-1]) < 1e-9))
    return tuple(paths)


def _segments(piece: Any) -> list[Segment]:
    """Return a svgpathtools segment as lines and cubics (a quadratic is a cubic; an arc becomes several)."""
    kind = type(piece).__name__
    if kind == "Arc":
        start, sweep, turn = (math.radians(angle) for angle in (piece.theta, piece.delta, piece.rotation))
        arc = ellipse(piece.center, piece.radius.real, piece.radius.imag, start, sweep, turn)
        arc[0] = (piece.start, *arc[0][1:])
        arc[-1] = (*arc[-1][:-1], piece.end)
        return arc
    points = tuple(complex(z) for z in piece.bpoints())
    if kind == "QuadraticBezier":
        p, q, r = points
        return [(p, p + 2 / 3 * (q - p), r + 2 / 3 * (q - r), r)]
    return [points]
