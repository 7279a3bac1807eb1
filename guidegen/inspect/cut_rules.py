"""What a file for a blade or a laser must keep, one named rule each."""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import pairwise

from guidegen.geometry.blade import defects
from guidegen.geometry.blade.narrow import thin_places
from guidegen.geometry.blade.nesting import parents
from guidegen.geometry.blade.tidy import CORNER_DEG, SMOOTH_DEG, length, turn_deg
from guidegen.geometry.measure import bounds, signed_area
from guidegen.geometry.path import Path, Segment
from guidegen.inspect.findings import Check, places
from guidegen.inspect.shapes import SAME_MM
from guidegen.readers.contents import Contents, Drawn, PageContents
from guidegen.scene import Purpose
from guidegen.shop.cutting import SHORTEST_MM

OPERATIONS = tuple(purpose.value for purpose in Purpose if purpose.is_operation)
HAIRLINE_MM = 0.0255
"""Laser drivers cut what is .001 in (.0254 mm) or .01 mm wide and engrave what is wider (several workshops)."""
FLAT_MM = 0.0005
BOTH = ("svg", "dxf")
DRAWN = ("svg", "dxf", "pdf", "eps")
_CRUMB_MM = SHORTEST_MM - 2 * FLAT_MM
_ROUNDED_MM = 0.0015
"""How far a handle's end may be off by rounding, at both of its ends."""


def cut_drawn(page: PageContents) -> list[Drawn]:
    """Return what the blade goes through: the layer ``cut``, or all that is no other operation where there is none.

    What is not plotted is not cut either.
    """
    named = [d for d in page.drawn if d.layer is not None and d.layer.lower() == Purpose.CUT]
    return named or [d for d in page.drawn if (d.layer or "").lower() not in OPERATIONS]


def cut_paths(page: PageContents) -> list[Path]:
    """Return the paths of :func:`cut_drawn`, in the order they are drawn."""
    return [path for d in cut_drawn(page) for path in d.paths]


def _each(contents: Contents) -> Iterator[tuple[int, PageContents, list[Path]]]:
    for number, page in enumerate(contents.pages, start=1):
        yield number, page, cut_paths(page)


def _units(contents: Contents) -> Iterator[str]:
    facts = contents.facts
    if contents.format == "dxf":
        if facts["insunits"] != 4:
            yield f"$INSUNITS {facts['insunits']}, not 4 (mm)"
        if facts["measurement"] != 1:
            yield f"$MEASUREMENT {facts['measurement']}, not 1 (metric)"
        return
    if not facts["states_size"]:
        yield "width and height without a unit"
    elif abs(facts["unit_mm"] - 1) > 1e-6:
        yield f"one user unit is {facts['unit_mm']:.6g} mm, not 1"


def _something(contents: Contents) -> Iterator[str]:
    if not any(paths for _, _, paths in _each(contents)):
        yield "nothing to cut"


def _closed(contents: Contents) -> Iterator[str]:
    for number, _, paths in _each(contents):
        yield from places("open path", defects.open_paths(paths, SAME_MM), number)
        yield from places("gap", [p.start for p in paths if defects.gaps(p, SAME_MM)], number)


def _no_text(contents: Contents) -> Iterator[str]:
    yield from (f"text in {word.font or 'a font'}" for page in contents.pages for word in page.words)


def _no_transform(contents: Contents) -> Iterator[str]:
    facts = contents.facts
    if contents.format == "svg":
        if facts["transforms"]:
            yield f"{facts['transforms']} transforms"
        if facts["uses"]:
            yield f"{facts['uses']} uses"
    elif facts["blocks"]:
        yield f"{facts['blocks']} block references"


def _no_reference(contents: Contents) -> Iterator[str]:
    if contents.facts["references"]:
        yield f"{contents.facts['references']} references to other files"
    if contents.facts["scripts"]:
        yield "scripts"


def _no_picture(contents: Contents) -> Iterator[str]:
    yield from (f"a picture of {p.width_px} x {p.height_px} px" for page in contents.pages for p in page.pictures)


def _no_duplicate(contents: Contents) -> Iterator[str]:
    for number, _, paths in _each(contents):
        yield from places("repeated path", defects.duplicates(paths, SAME_MM), number)


def _no_overlap(contents: Contents) -> Iterator[str]:
    for number, _, paths in _each(contents):
        yield from places("line over line", defects.overlaps(paths, FLAT_MM), number)


def _no_zero_length(contents: Contents) -> Iterator[str]:
    for number, _, paths in _each(contents):
        yield from places("segment of no length", defects.zero_length(paths, FLAT_MM), number)


def _no_self_crossing(contents: Contents) -> Iterator[str]:
    for number, _, paths in _each(contents):
        yield from places("path that crosses itself", defects.crossings(paths, SAME_MM)[0], number)


def _no_crossing(contents: Contents) -> Iterator[str]:
    for number, _, paths in _each(contents):
        yield from places("paths that cross", defects.crossings(paths, SAME_MM)[1], number)


def _united(contents: Contents) -> Iterator[str]:
    """Shapes drawn on top of each other: a contour right inside another that turns the same way."""
    for number, _, paths in _each(contents):
        around = parents(paths, SAME_MM * 5)
        for path, outer in zip(paths, around, strict=True):
            if outer:
                nearest = max(outer, key=lambda k: len(around[k]))
                if (signed_area(path) > 0) == (signed_area(paths[nearest]) > 0):
                    yield from places("contour inside another that turns the same way", [path.start], number)


def _winding(contents: Contents) -> Iterator[str]:
    for number, _, paths in _each(contents):
        turns = {
            signed_area(path) > 0
            for path, outer in zip(paths, parents(paths, SAME_MM * 5), strict=True)
            if len(outer) % 2 == 0 and path.closed
        }
        if len(turns) > 1:
            yield f"outer contours turn both ways on page {number}"


def _inner_first(contents: Contents) -> Iterator[str]:
    for number, _, paths in _each(contents):
        for k, outer in enumerate(parents(paths, SAME_MM * 5)):
            if any(j < k for j in outer):
                yield from places("contour cut after the one around it", [paths[k].start], number)


def _layers(contents: Contents) -> Iterator[str]:
    for number, page in enumerate(contents.pages, start=1):
        names = {(d.layer or "") for d in page.drawn} - set(OPERATIONS)
        yield from (
            f"layer {name or '(none)'!r} on page {number} names no operation and is plotted" for name in sorted(names)
        )


def _colours(contents: Contents) -> Iterator[str]:
    colours: dict[str, set[str]] = {}
    for page in contents.pages:
        for d in (*page.drawn, *page.hidden):
            paint = d.stroke or d.fill
            colours.setdefault(d.layer or "", set()).add(paint.name if paint else "none")
    owner: dict[str, str] = {}
    for layer, names in sorted(colours.items()):
        if len(names) > 1:
            yield f"layer {layer or '(none)'} has {len(names)} colours"
        for name in sorted(names):
            if owner.setdefault(name, layer) != layer:
                yield f"layers {owner[name]} and {layer} share the colour {name}"


def _hairline(contents: Contents) -> Iterator[str]:
    for page in contents.pages:
        for d in cut_drawn(page):
            if d.fill is not None:
                yield f"filled shape on {d.layer or 'no layer'}"
            elif (d.stroke_mm or 0.0) > HAIRLINE_MM:
                yield f"line {d.stroke_mm:.3g} mm wide on {d.layer or 'no layer'}"


def _proof(contents: Contents) -> Iterator[str]:
    for number, page in enumerate(contents.pages, start=1):
        if not any(d.layer == Purpose.PROOF for d in page.hidden):
            yield f"no layer {Purpose.PROOF} that is not plotted on page {number}"


def _inside(contents: Contents) -> Iterator[str]:
    if contents.format == "dxf":
        return
    for number, page, paths in _each(contents):
        if paths and page.size_mm is not None:
            low, high = bounds(tuple(paths))
            out = min(low.real, low.imag, page.size_mm[0] - high.real, page.size_mm[1] - high.imag)
            if out < -SAME_MM:
                yield f"cut lines {-out:.2f} mm outside page {number}"


def _few_nodes(contents: Contents) -> Iterator[str]:
    """Segments too short for a blade, and joints of curves that turn too little for a corner and too much for none."""
    for number, _, paths in _each(contents):
        for path in paths:
            crumbs = [s[0] for s in path.segments if FLAT_MM < length(s) < _CRUMB_MM]
            yield from places(f"segment under {SHORTEST_MM:g} mm", crumbs, number)
            joints = [*pairwise(path.segments), *([(path.segments[-1], path.segments[0])] if path.closed else [])]
            yield from places("kink", [b[0] for a, b in joints if _is_kink(a, b)], number)


def _is_kink(a: Segment, b: Segment) -> bool:
    if _is_line(a) and _is_line(b):
        return False
    handles = (abs(a[-1] - a[-2]), abs(b[1] - b[0]))
    if min(handles) < 2 * _ROUNDED_MM:
        return False
    unsure = sum(math.degrees(_ROUNDED_MM / handle) for handle in handles)
    return SMOOTH_DEG + unsure < abs(turn_deg(a, b)) < CORNER_DEG - unsure


def _is_line(segment: Segment) -> bool:
    """True for a line, and for a curve that is one."""
    way = segment[-1] - segment[0]
    return all(abs(((z - segment[0]) * way.conjugate()).imag) <= FLAT_MM * abs(way) for z in segment[1:-1])


def min_feature(width_mm: float, *, asked: bool) -> Check:
    """Return the rule that strokes and gaps are at least ``width_mm``; advice unless it was ``asked`` for."""

    def problems(contents: Contents) -> Iterator[str]:
        for number, _, paths in _each(contents):
            for place in thin_places([p for p in paths if p.closed], width_mm):
                kind = "gap" if place.is_gap else "stroke"
                yield from places(f"{kind} of about {place.width:.2f} mm", [place.at], number)

    return Check(
        "min-feature", f"strokes and gaps of at least {width_mm:g} mm", problems, DRAWN, "fail" if asked else "warn"
    )


CUT_CHECKS = (
    Check("units", "one unit is one millimetre, and the file says so", _units, BOTH),
    Check("something-to-cut", "at least one path to cut", _something, DRAWN),
    Check("closed", "every path to cut is closed", _closed, DRAWN),
    Check("no-text", "outlines instead of text", _no_text, DRAWN),
    Check("no-transform", "coordinates as they are, no transforms, uses or blocks", _no_transform, BOTH),
    Check("no-reference", "nothing outside the file, no scripts", _no_reference, ("svg",)),
    Check("no-picture", "no pictures of pixels", _no_picture, DRAWN),
    Check("no-duplicate", "no path twice", _no_duplicate, DRAWN),
    Check("no-overlap", "no line on top of another", _no_overlap, DRAWN),
    Check("no-zero-length", "no segment without length", _no_zero_length, DRAWN),
    Check("no-self-crossing", "no path that crosses itself", _no_self_crossing, DRAWN),
    Check("no-crossing", "no paths that cross each other", _no_crossing, DRAWN),
    Check("united", "shapes that touch are one shape", _united, DRAWN),
    Check("winding", "outer contours all turn one way", _winding, DRAWN),
    Check("inner-first", "inner contours before those around them", _inner_first, DRAWN),
    Check("layers", f"layers named {', '.join(OPERATIONS)}, nothing else that is plotted", _layers, BOTH),
    Check("colours", "one colour for each layer, and each its own", _colours, BOTH),
    Check("hairline", "cut lines at most 0.0254 mm wide, nothing filled", _hairline, DRAWN),
    Check("proof-layer", f"a proof bar on a layer {Purpose.PROOF} that is not plotted", _proof, BOTH, "warn"),
    Check("inside-page", "everything to cut within the page", _inside, DRAWN),
    Check("few-nodes", f"no segments under {SHORTEST_MM:g} mm, no kinks in curves", _few_nodes, DRAWN),
)
