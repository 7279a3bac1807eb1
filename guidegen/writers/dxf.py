"""A page as DXF in millimetres: true splines, or for old machines R12 polylines at a stated tolerance.

Each closed path is one closed entity: a polyline where all is straight, else one cubic spline (a Bézier chain is a
B-spline with triple knots). Limits and extents are the page. Layers carry the colours; the same page gives the same
bytes.
"""

from __future__ import annotations

import io
import logging
import math
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from guidegen.errors import GuidegenError
from guidegen.geometry.blade.resample import chords
from guidegen.geometry.cubic import as_cubic
from guidegen.geometry.path import Path, Segment
from guidegen.readers.dxf_library import dxf_library
from guidegen.scene import Ink, Item, Layer, Line, Page, Placed, Shape, Visitor

TOLERANCE_MM = 0.01
NOTHING_MM = 0.001
"""Segments shorter than the rounding of our other files are left out."""
SHORTEST_MM = 0.05
"""Chords of a curve are no shorter where the tolerance allows."""
_DIGITS = 4
_VERSION = "$ACADVER\n  1\nAC1009\n"
_UNITS = "  9\n$INSUNITS\n 70\n4\n  9\n$MEASUREMENT\n 70\n1\n"


def dxf_bytes(page: Page, *, splines: bool = True, tolerance_mm: float = TOLERANCE_MM) -> bytes:
    """Return ``page`` as DXF R2010 with splines, or as DXF R12 with polylines within ``tolerance_mm``.

    Raises:
        GuidegenError: when ezdxf (the extra ``cut``) is not installed.
    """
    try:
        ezdxf = dxf_library()
        from ezdxf.document import Drawing
    except ImportError:
        raise GuidegenError("DXF needs ezdxf: pip install ezdxf") from None
    logging.getLogger("ezdxf").setLevel(logging.ERROR)
    with _fixed_metadata(ezdxf):
        document = Drawing.new("R2010" if splines else "R12")
        _set_header(document, page)
        if splines and page.description:  # R12 has no place for it
            document.header.custom_vars.append("Description", page.description)
        _add_layers(document, page, splines=splines)
        draw = _Pen(document.modelspace(), tolerance_mm, splines=splines)
        for layer in page.layers:
            draw.layer(layer)
        if splines:
            _sort_classes(document)
        text = io.StringIO()
        document.write(text)
    written = text.getvalue()
    if not splines:  # ezdxf leaves them out of R12, which had no units yet; readers that know them use them
        written = written.replace(_VERSION, _VERSION + _UNITS, 1)
    return written.encode("utf-8")


def _sort_classes(document: Any) -> None:
    """Put the classes in the order of their names: ezdxf gathers them in a set, whose order differs by run."""
    classes = document.classes
    classes.add_required_classes(document.dxfversion)
    entries = sorted(classes.classes.items())
    classes.classes.clear()
    classes.classes.update(entries)


@contextmanager
def _fixed_metadata(ezdxf: Any) -> Iterator[None]:
    """Let ezdxf write no clock and no random identifier while inside."""
    before = ezdxf.options.write_fixed_meta_data_for_testing
    ezdxf.options.write_fixed_meta_data_for_testing = True
    try:
        yield
    finally:
        ezdxf.options.write_fixed_meta_data_for_testing = before


def _set_header(document: Any, page: Page) -> None:
    size = (round(page.width_mm, _DIGITS), round(page.height_mm, _DIGITS))
    header = document.header
    header["$MEASUREMENT"] = 1
    header["$INSUNITS"] = 4
    header["$LUNITS"] = 2
    space = document.modelspace()
    space.reset_limits((0.0, 0.0), size)
    space.reset_extents((0.0, 0.0, 0.0), (*size, 0.0))
    header["$LIMMIN"], header["$LIMMAX"] = (0.0, 0.0), size
    header["$EXTMIN"], header["$EXTMAX"] = (0.0, 0.0, 0.0), (*size, 0.0)


def _add_layers(document: Any, page: Page, *, splines: bool) -> None:
    taken: set[int] = set()
    for layer in page.layers:
        if layer.id in document.layers:
            continue
        ink = _ink_of(layer.items)
        index = _nearest_index(ink, taken)
        taken.add(index)
        made = document.layers.add(layer.id, color=index)
        if not layer.shown:
            made.freeze()
            made.dxf.plot = 0  # R12 knows no such flag, so that there frozen has to do
        if splines:
            made.rgb = tuple(round(255 * part) for part in ink.rgb)


def _ink_of(items: tuple[Item, ...]) -> Ink:
    for item in items:
        if isinstance(item, Placed):
            return _ink_of(item.symbol.items)
        if item.style.stroke_mm is not None or item.style.fill is None:
            return item.style.stroke
        return item.style.fill
    return Ink()


def _nearest_index(ink: Ink, taken: set[int]) -> int:
    """Return the nearest of the 255 numbered colours that no other layer has; black is 7, the paper's opposite."""
    from ezdxf.colors import aci2rgb

    if ink.rgb == (0.0, 0.0, 0.0) and 7 not in taken:
        return 7

    def off(index: int) -> float:
        return sum((a - b / 255) ** 2 for a, b in zip(ink.rgb, aci2rgb(index), strict=True))

    return min((index for index in range(1, 250) if index not in taken and index != 7), key=off)


class _Pen(Visitor):
    """Adds scene items to a drawing."""

    def __init__(self, space: Any, tolerance_mm: float, *, splines: bool) -> None:
        self._space = space
        self._tolerance = tolerance_mm
        self._splines = splines
        self._attributes: dict[str, Any] = {}

    def layer(self, layer: Layer) -> None:
        """Add a layer's items."""
        self._attributes = {"layer": layer.id}
        self.visit(layer.items)

    def line(self, line: Line, by: complex = 0j) -> None:
        ends = _spot(line.start + by), _spot(line.end + by)
        if ends[0] != ends[1]:
            self._space.add_line(*ends, dxfattribs=self._attributes)

    def shape(self, shape: Shape, by: complex = 0j) -> None:
        for path in shape.paths:
            if not path.segments:
                continue
            if all(len(segment) == 2 for segment in path.segments):
                self._polyline([s[0] + by for s in path.segments] + [path.end + by], closed=path.closed)
            elif self._splines:
                self._spline(path, by)
            else:
                # a little is kept back for the rounding
                points = [complex(z) + by for z in chords(path, 0.98 * self._tolerance, SHORTEST_MM)]
                self._polyline([*points, points[0]] if path.closed else points, closed=path.closed)

    def _polyline(self, points: list[complex], *, closed: bool) -> None:
        spots = [_spot(z) for z in points]
        kept = spots[:1]
        kept += [spot for spot in spots[1:] if _apart(spot, kept[-1]) > NOTHING_MM]
        if closed and len(kept) > 1 and _apart(kept[-1], kept[0]) <= NOTHING_MM:
            kept.pop()
        spots = kept
        if len(spots) < 2:
            return
        if len(spots) == 2 and not closed:
            self._space.add_line(*spots, dxfattribs=self._attributes)
        elif self._splines:
            self._space.add_lwpolyline(spots, format="xy", close=closed, dxfattribs=self._attributes)
        else:
            self._space.add_polyline2d(spots, format="xy", close=closed, dxfattribs=self._attributes)

    def _spline(self, path: Path, by: complex) -> None:
        from ezdxf.math import BSpline

        cubics = [as_cubic(segment) for segment in path.segments if _is_long(segment)]
        if not cubics:
            return
        points = [_spot(cubics[0][0] + by)] + [_spot(z + by) for cubic in cubics for z in cubic[1:]]
        if path.closed:
            points[-1] = points[0]
        count = len(cubics)
        knots = [0.0] * 4 + [float(k) for k in range(1, count) for _ in range(3)] + [float(count)] * 4
        spline = self._space.add_spline(dxfattribs=self._attributes)
        spline.apply_construction_tool(BSpline(points, order=4, knots=knots))
        if path.closed:
            spline.dxf.flags |= 1


def _is_long(segment: Segment) -> bool:
    """True for a segment that leaves its start by more than nothing."""
    return any(abs(z - segment[0]) > NOTHING_MM for z in segment)


def _apart(a: tuple[float, float], b: tuple[float, float]) -> float:
    return math.hypot(a[0] - b[0], a[1] - b[1])


def _spot(z: complex) -> tuple[float, float]:
    """Return a point rounded to 0.0001 mm, zero without a sign."""
    return round(z.real, _DIGITS) + 0.0, round(z.imag, _DIGITS) + 0.0
