"""The walk through an SVG's elements that collects what is painted."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any
from xml.etree.ElementTree import Element

from guidegen.geometry.path import Path, polyline
from guidegen.limits import MAX_NESTED_USES, NUMBER
from guidegen.readers.budget import Budget
from guidegen.readers.clips import Clip, clip_of, clipped
from guidegen.readers.contents import Drawn, Picture, Words
from guidegen.readers.matrix import Matrix, at, ellipse, moved, parse_transform, size_factor, then
from guidegen.readers.pen import PathPen
from guidegen.readers.svg_frame import length_px, local, view_box, view_matrix
from guidegen.readers.svg_style import START, paint, style_sheet, styled

HREF = "{http://www.w3.org/1999/xlink}href"
_INKSCAPE = "{http://www.inkscape.org/namespaces/inkscape}"
_NOT_DRAWN = {
    "defs", "symbol", "clipPath", "mask", "pattern", "marker", "metadata", "title", "desc", "style", "script",
    "linearGradient", "radialGradient", "filter", "namedview", "font", "font-face", "animate", "set",
}  # fmt: skip
_SHAPES = {"path", "rect", "circle", "ellipse", "line", "polyline", "polygon"}
_MOST_CLIPS = 200
_CLIP = re.compile(r"url\(\s*+[\"']?#([^\"')]{1,200}+)[\"']?\s*+\)")
_NUMBERS = re.compile(r"[-+]?+" + NUMBER)


@dataclass(frozen=True, slots=True)
class Place:
    """Where the walk stands: the map to mm, the style, the layer, the viewport in px, uses so far."""

    matrix: Matrix
    style: Mapping[str, str]
    layer: str | None
    view: tuple[float, float]
    data: Mapping[str, str]
    uses: int = 0
    top: bool = False
    hidden: bool = False
    clip: Clip | None = None


class Walk:
    """Collects drawn paths, pictures and words of one drawing, and counts what cut files must not have."""

    def __init__(self, root: Element, name: str) -> None:
        self.drawn: list[Drawn] = []
        self.hidden: list[Drawn] = []
        self.clipped = 0
        self.pictures: list[Picture] = []
        self.words: list[Words] = []
        self.budget = Budget(name)
        self._sheet = style_sheet(root, name)
        self._ids: dict[str, Element] = {}
        self._counts = dict.fromkeys(("transforms", "uses", "scripts", "references", "bad_paths", "double_ids"), 0)
        self._groups: list[str] = []
        for element in root.iter():
            self._note(element)

    def facts(self) -> dict[str, Any]:
        """Return what was counted on the way."""
        return {**self._counts, "groups": self._groups}

    def draw_root(self, root: Element, to_px: Matrix, to_mm: Matrix) -> None:
        """Walk the whole drawing."""
        view = view_box(root)
        told = length_px(root.get("width"), 300.0), length_px(root.get("height"), 150.0)
        size = (view[2], view[3]) if view else told
        style = styled(root, START, self._sheet)
        outer = then(parse_transform(root.get("transform", "")), then(to_px, to_mm))
        place = Place(outer, style, None, size, {}, top=True)
        for child in root:
            self._visit(child, place)

    def _note(self, element: Element) -> None:
        own = element.get("id")
        if own is not None:
            self._counts["double_ids"] += own in self._ids
            self._ids.setdefault(own, element)
        self._counts["transforms"] += "transform" in element.attrib
        self._counts["uses"] += local(element) == "use"
        self._counts["scripts"] += local(element) == "script" or any(key.startswith("on") for key in element.attrib)
        target = element.get("href") or element.get(HREF) or ""
        self._counts["references"] += bool(target) and not target.startswith(("#", "data:")) and local(element) != "a"

    def _visit(self, element: Element, place: Place) -> None:
        name = local(element)
        if not name or name in _NOT_DRAWN:
            return
        self.budget.spend("items", 1)
        style = styled(element, place.style, self._sheet)
        hidden = place.hidden or style.get("display") == "none"
        matrix = place.matrix
        if "transform" in element.attrib:
            matrix = then(parse_transform(element.attrib["transform"]), matrix)
        told = {k: v[:10_000] for k, v in element.attrib.items() if k.startswith("data-")}
        here = replace(
            place,
            matrix=matrix,
            style=style,
            layer=self._layer(element, place),
            top=False,
            data={**place.data, **told},
            hidden=hidden,
            clip=self._clip(style, matrix, place),
        )
        if name in _SHAPES:
            self.shape(element, name, here)
        elif name == "use":
            self._use(element, here)
        elif name == "svg":
            self._nested(element, here)
        elif name == "image":
            if not hidden:
                self._image(element, here)
        elif name in ("text", "foreignObject"):
            if not hidden:
                self._text(here)
        elif name in ("g", "a", "switch"):
            for child in list(element)[:1] if name == "switch" else element:
                self._visit(child, here)

    def _clip(self, style: Mapping[str, str], matrix: Matrix, place: Place) -> Clip | None:
        """Return what shows of an element: what lies inside its clip, and inside the clips around it."""
        name = _CLIP.fullmatch(style.get("clip-path", "none").strip())
        target = self._ids.get(name[1]) if name else None
        if target is None or local(target) != "clipPath" or target.get("clipPathUnits") == "objectBoundingBox":
            return place.clip
        inside = replace(place, matrix=then(parse_transform(target.get("transform", "")), matrix))
        paths = [
            moved(path, then(parse_transform(child.get("transform", "")), inside.matrix))
            for child in list(target)[:_MOST_CLIPS]
            if local(child) in _SHAPES
            for path in self.paths_of(child, local(child), inside)
        ]
        even_odd = any(child.get("clip-rule") == "evenodd" for child in target)
        return clip_of(paths, place.clip, even_odd=even_odd) if paths else place.clip

    def _layer(self, element: Element, place: Place) -> str | None:
        if not place.top or local(element) != "g":
            return place.layer
        name = element.get(f"{_INKSCAPE}label") or element.get("id")
        self._groups.append(name or "")
        return name

    def shape(self, element: Element, name: str, place: Place) -> None:
        """Take one drawn element, ``name`` its tag; a walk that looks for something else does that here."""
        fill, stroke = paint(place.style, "fill"), paint(place.style, "stroke")
        width = length_px(place.style.get("stroke-width"), _diagonal(place.view), 1.0)
        if name == "line":
            fill = None
        if place.style.get("visibility") in ("hidden", "collapse") or width <= 0:
            stroke = None
        if place.style.get("visibility") in ("hidden", "collapse") or (fill is None and stroke is None):
            return
        paths = tuple(moved(path, place.matrix) for path in self.paths_of(element, name, place))
        if not paths:
            return
        self.budget.keep(paths, counted=name == "path")
        if place.clip is not None:
            kept = clipped(paths, place.clip, 0.0 if stroke is None else width * size_factor(place.matrix) / 2)
            self.clipped += kept is not paths
            if not kept:
                return
            paths = kept
        (self.hidden if place.hidden else self.drawn).append(
            Drawn(
                paths,
                fill,
                stroke,
                None if stroke is None else width * size_factor(place.matrix),
                place.layer,
                transparent=bool(place.style.get("transparent")),
                data=place.data,
            )
        )

    def paths_of(self, element: Element, name: str, place: Place) -> tuple[Path, ...]:
        """Return the paths of a drawn element in its own units."""
        if name == "path":
            return self.path_data(element.get("d", ""))

        def px(key: str, whole: float) -> float:
            return length_px(element.get(key), whole)

        across, down = place.view
        if name == "line":
            ends = complex(px("x1", across), px("y1", down)), complex(px("x2", across), px("y2", down))
            return (polyline(ends),)
        if name in ("polyline", "polygon"):
            values = [float(v) for v in _NUMBERS.findall(element.get("points", ""))]
            points = [complex(x, y) for x, y in zip(values[::2], values[1::2], strict=False)]
            return (polyline(points, closed=name == "polygon"),) if len(points) > 1 else ()
        if name == "rect":
            return _rect(element, px, across, down)
        centre = complex(px("cx", across), px("cy", down))
        if name == "circle":
            rx = ry = px("r", _diagonal(place.view))
        else:
            rx, ry = px("rx", across), px("ry", down)
        return (Path(tuple(ellipse(centre, rx, ry, 0.0, 2 * math.pi)), True),) if rx > 0 and ry > 0 else ()

    def path_data(self, text: str) -> tuple[Path, ...]:
        """Return the paths of an attribute ``d``."""
        from fontTools.svgLib.path import parse_path

        pen = PathPen(lambda n: self.budget.spend("segments", n))
        try:
            parse_path(text, pen)
        except (ValueError, IndexError):  # drawn up to the error, as SVG asks (SVG 1.1, 8.3.2)
            self._counts["bad_paths"] += 1
        return pen.take()

    def _use(self, element: Element, place: Place) -> None:
        target = self._ids.get((element.get("href") or element.get(HREF) or "#")[1:])
        if target is None or place.uses >= MAX_NESTED_USES:
            return
        across, down = place.view
        shift = complex(length_px(element.get("x"), across), length_px(element.get("y"), down))
        inner = replace(place, matrix=then((1 + 0j, 1j, shift), place.matrix), uses=place.uses + 1)
        if local(target) in ("symbol", "svg"):
            size = length_px(element.get("width"), across, across), length_px(element.get("height"), down, down)
            self._framed(target, inner, size)
        else:
            self._visit(target, inner)

    def _nested(self, element: Element, place: Place) -> None:
        across, down = place.view
        shift = complex(length_px(element.get("x"), across), length_px(element.get("y"), down))
        size = (length_px(element.get("width"), across, across), length_px(element.get("height"), down, down))
        self._framed(element, replace(place, matrix=then((1 + 0j, 1j, shift), place.matrix)), size)

    def _framed(self, element: Element, place: Place, size: tuple[float, float]) -> None:
        view = view_box(element)
        if min(size) <= 0:
            return
        inner = then(view_matrix(element, view, size), place.matrix)
        inside = (view[2], view[3]) if view else size
        for child in element:
            self._visit(child, replace(place, matrix=inner, view=inside))

    def _image(self, element: Element, place: Place) -> None:
        across, down = place.view
        x, y = length_px(element.get("x"), across), length_px(element.get("y"), down)
        w, h = length_px(element.get("width"), across), length_px(element.get("height"), down)
        corners = [at(place.matrix, complex(x + i * w, y + j * h)) for i in (0, 1) for j in (0, 1)]
        box = (
            min(z.real for z in corners),
            min(z.imag for z in corners),
            max(z.real for z in corners),
            max(z.imag for z in corners),
        )
        self.pictures.append(Picture(box, 0, 0, "", place.layer))

    def _text(self, place: Place) -> None:
        font = place.style.get("font-family", "default").strip("'\"")[:80]
        size = length_px(place.style.get("font-size"), 16.0, 16.0) * size_factor(place.matrix)
        self.words.append(Words(font, size, embedded=False, layer=place.layer, fill=paint(place.style, "fill")))


def _rect(element: Element, px: Any, across: float, down: float) -> tuple[Path, ...]:
    x, y, w, h = px("x", across), px("y", down), px("width", across), px("height", down)
    if w <= 0 or h <= 0:
        return ()
    rx = px("rx", across) if element.get("rx") not in (None, "auto") else None
    ry = px("ry", down) if element.get("ry") not in (None, "auto") else None
    rx, ry = (ry if rx is None else rx) or 0.0, (rx if ry is None else ry) or 0.0
    rx, ry = min(rx, w / 2), min(ry, h / 2)
    if rx <= 0 or ry <= 0:
        return (polyline([complex(x, y), complex(x + w, y), complex(x + w, y + h), complex(x, y + h)], closed=True),)
    pieces: list[tuple[complex, ...]] = []
    quarter = math.pi / 2
    for k, corner in enumerate((x + w - rx + (y + h - ry) * 1j, x + rx + (y + h - ry) * 1j, x + rx + (y + ry) * 1j,
                                x + w - rx + (y + ry) * 1j)):  # fmt: skip
        turn = ellipse(corner, rx, ry, k * quarter, quarter)
        if pieces and abs(pieces[-1][-1] - turn[0][0]) > 1e-12:
            pieces.append((pieces[-1][-1], turn[0][0]))
        pieces += turn
    if abs(pieces[-1][-1] - pieces[0][0]) > 1e-12:
        pieces.append((pieces[-1][-1], pieces[0][0]))
    return (Path(tuple(pieces), True),)


def _diagonal(view: tuple[float, float]) -> float:
    return math.hypot(*view) / math.sqrt(2)
