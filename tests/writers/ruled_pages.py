"""A page of known lines, and ways to measure it in somebody else's renderer."""

from __future__ import annotations

import numpy as np

from guidegen.geometry.path import polyline
from guidegen.scene import BLACK, Document, Layer, Line, Link, Page, Placed, Shape, Style, Symbol, grey

SIZES = {
    "a4": (210.0, 297.0),
    "letter": (215.9, 279.4),
    "half letter": (5.5 * 25.4, 8.5 * 25.4),
    "odd": (123.4, 321.0),
}


def line_heights(height_mm: float) -> list[float]:
    """Heights of the test lines above the page's lower edge: uneven, so that no grid hides an error."""
    return [7.123 + 13.3371 * number for number in range(int((height_mm - 14) / 13.3371))]


def ruled_document(width_mm: float, height_mm: float) -> Document:
    """Horizontal lines at :func:`line_heights` and uprights at the same distances from the left edge."""
    thin = Style(stroke_mm=0.2)
    across = [
        Line(complex(3, y), complex(width_mm - 3, y), thin, "baseline", row)
        for row, y in enumerate(line_heights(height_mm), start=1)
    ]
    up = [Line(complex(x, 3), complex(x, 6.5), thin) for x in line_heights(width_mm)]
    page = Page(width_mm, height_mm, (Layer("lines", tuple(across)), Layer("slant", tuple(up))), "Ruled")
    return Document((page,), "Ruled page")


def drawn_document() -> Document:
    """Two pages with everything a scene can hold."""
    drop = Shape((polyline([0, 4, 2 + 3j], closed=True),), Style(fill=BLACK), "drop")
    hollow = Shape((polyline([0, 4, 4 + 3j]),), Style(stroke_mm=0.3, stroke=grey(0.4), round_ends=True))
    stamp = Symbol("stamp", (drop, hollow))
    dashed = Line(10 + 30j, 90 + 30j, Style(stroke_mm=0.25, dash_mm=(2.0, 1.0)), "x-height", 1)
    first = Page(
        100.0,
        60.0,
        (
            Layer("lines", (dashed,)),
            Layer("letter", (Placed(stamp, 10 + 10j), Placed(stamp, 20 + 10j)), marker="grit"),
            Layer("letter", (Placed(stamp, 30 + 10j),), marker="cobble"),
        ),
        "First",
        bookmark="One",
        links=(Link(5 + 5j, 15 + 15j, 1),),
        background=grey(0.1),
    )
    second = Page(80.0, 120.0, (Layer("ink", (Placed(stamp, 40 + 40j),)),), "Second", bookmark="Two")
    return Document((first, second), "Two pages", "All that a scene can hold")


def centres(darkness: np.ndarray) -> list[float]:
    """Return where lines cross a strip, as the centroids of its dark runs, in pixels (a pixel's centre is +0.5)."""
    dark = darkness > 0.02
    edges = np.flatnonzero(np.diff(np.concatenate(([False], dark, [False])).astype(int)))
    spots = np.arange(len(darkness)) + 0.5
    return [
        float((spots[a:b] * darkness[a:b]).sum() / darkness[a:b].sum())
        for a, b in zip(edges[::2], edges[1::2], strict=True)
    ]
