"""Shapes, paths, strokes, colours and layers of a page."""

from __future__ import annotations

from collections import Counter
from typing import Any

from guidegen.geometry.blade import defects
from guidegen.geometry.blade.nesting import parents
from guidegen.geometry.measure import bounds
from guidegen.geometry.path import Path
from guidegen.inspect.slant_and_rows import clusters
from guidegen.readers.contents import Drawn, PageContents
from guidegen.scene import Purpose

SAME_MM = 0.002
"""Two points closer than this are one: twice the rounding of our own files, a tenth of a blade's repeatability."""


def measure_shapes(page: PageContents) -> dict[str, Any]:
    """Return ``ink_mm``, ``shapes``, ``paths``, ``strokes_mm``, ``colours``, ``layers``, ... as ``--json`` has them."""
    paths = [path for drawn in page.drawn for path in drawn.paths]
    return {
        "ink_mm": _ink_box(page.drawn),
        "shapes": _shapes(page),
        "paths": _paths(paths),
        "strokes_mm": [
            {"mm": mm, "count": n}
            for mm, n in clusters([d.stroke_mm for d in page.drawn if d.stroke_mm is not None], 0.002)[:12]
        ],
        "colours": _colours(page),
        "layers": _layers(page),
        "hidden_layers": sorted({d.layer or "" for d in page.hidden}),
        "text": _words(page),
        "pictures": [
            {"box_mm": list(p.box), "pixels": [p.width_px, p.height_px], "ppi": p.ppi, "colours": p.space}
            for p in page.pictures[:50]
        ],
    }


def _ink_box(drawn: tuple[Drawn, ...]) -> list[float] | None:
    boxes = []
    for d in drawn:
        if d.paths and not _is_ground(d):
            low, high = bounds(d.paths)
            pad = (d.stroke_mm or 0.0) / 2
            boxes.append((low.real - pad, low.imag - pad, high.real + pad, high.imag + pad))
    if not boxes:
        return None
    return [min(b[0] for b in boxes), min(b[1] for b in boxes), max(b[2] for b in boxes), max(b[3] for b in boxes)]


def _is_ground(d: Drawn) -> bool:
    """True for a white or background sheet under the drawing."""
    is_white = d.stroke is None and d.fill is not None and d.fill.name in ("#ffffff", "gray 1")
    return d.layer == Purpose.BACKGROUND or is_white


def _may_be_letters(layer: str | None) -> bool:
    """True for layers of letters, of what a machine makes of them, and for all that is not ours."""
    purpose = Purpose.of(layer)
    return purpose is None or purpose.has_letters or purpose.is_operation


def outer_shapes(drawn: Drawn) -> list[Path]:
    """Return the closed outer contours of what is drawn together: each piece of ink, its holes left out."""
    closed = [path for path in drawn.paths if path.closed or abs(path.end - path.start) <= SAME_MM]
    if len(closed) < 2:
        return closed
    return [path for path, around in zip(closed, parents(closed, 0.05), strict=True) if len(around) % 2 == 0]


def _shapes(page: PageContents) -> dict[str, Any]:
    sizes: list[tuple[float, float]] = []
    for drawn in page.drawn:
        if _is_ground(drawn) or not _may_be_letters(drawn.layer) or (drawn.fill is None and drawn.stroke is None):
            continue
        for path in outer_shapes(drawn):
            low, high = bounds((path,))
            sizes.append((high.real - low.real, high.imag - low.imag))
    if not sizes:
        return {"count": 0}
    by_area = sorted(sizes, key=lambda size: size[0] * size[1])
    return {
        "count": len(sizes),
        "largest_mm": list(by_area[-1]),
        "smallest_mm": list(by_area[0]),
        "tallest_mm": max(s[1] for s in sizes),
        "heights_mm": [{"mm": mm, "count": n} for mm, n in clusters([s[1] for s in sizes], 0.05)[:20]],
    }


def _paths(paths: list[Path]) -> dict[str, Any]:
    segments = [s for path in paths for s in path.segments]
    opened = defects.open_paths(paths, SAME_MM)
    return {
        "count": len(paths),
        "open": len(opened),
        "closed": len(paths) - len(opened),
        "nodes": len(segments) + len(opened),
        "straight": sum(len(s) == 2 for s in segments),
        "curved": sum(len(s) != 2 for s in segments),
        "duplicate": len(defects.duplicates(paths, SAME_MM)),
        "zero_length": len(defects.zero_length(paths, SAME_MM / 4)),
    }


def _colours(page: PageContents) -> list[dict[str, Any]]:
    counts: Counter[tuple[str, str]] = Counter()
    for d in page.drawn:
        for use, paint in (("fill", d.fill), ("stroke", d.stroke)):
            if paint is not None:
                counts[paint.name, use] += 1
    for w in page.words:
        counts[w.fill.name if w.fill else "none", "text"] += 1
    return [{"colour": name, "use": use, "count": n} for (name, use), n in sorted(counts.items())][:100]


def _layers(page: PageContents) -> list[dict[str, Any]]:
    names = list(dict.fromkeys(d.layer for d in page.drawn))
    result = []
    for name in names[:200]:
        mine = tuple(d for d in page.drawn if d.layer == name)
        paths = tuple(path for d in mine for path in d.paths)
        if not paths:
            continue
        low, high = bounds(paths)
        result.append(
            {
                "id": name,
                "count": len(mine),
                "nodes": sum(len(path.segments) for path in paths),
                "box_mm": [low.real, low.imag, high.real, high.imag],
            }
        )
    return result


def _words(page: PageContents) -> list[dict[str, Any]]:
    counts: Counter[tuple[str, float, bool]] = Counter((w.font, round(w.size_mm, 3), w.embedded) for w in page.words)
    return [
        {"font": font, "size_mm": size, "embedded": embedded, "count": n}
        for (font, size, embedded), n in sorted(counts.items())
    ][:50]
