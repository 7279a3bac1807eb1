"""One affine map for everything on a page, against numpy's matrices."""

from __future__ import annotations

import cmath

import numpy as np
import pytest

from guidegen.geometry.measure import signed_area
from guidegen.geometry.path import Path, polyline
from guidegen.scene import (
    BLACK,
    WHITE,
    AffineMap,
    Ink,
    Layer,
    Line,
    Link,
    Page,
    Placed,
    Purpose,
    Shape,
    Style,
    Symbol,
    flattened,
    moved,
    painted,
)

LINE = Line(1 + 2j, 4 + 6j, Style(stroke_mm=0.3, dash_mm=(1.0, 2.0)), "baseline", 3)
CURVE = Path(((0j, 1 + 2j, 3 + 1j, 4 + 0j), (4 + 0j, 0j)), closed=True)
SHAPE = Shape((polyline((0j, 5 + 0j, 5 + 3j), closed=True), CURVE), Style(fill=BLACK), "sail")
STAMP = Symbol("stamp", (LINE, SHAPE))
MAPS = [
    AffineMap(c=3 - 2j),
    AffineMap(1.02, 0.97j, widths=1.2),
    AffineMap(-1, 1j, 210.0),
    AffineMap(cmath.rect(2, 0.4), cmath.rect(2, 0.4) * 1j, 1 + 1j, 2.0),
]


def points(item):
    """Return every point of what an item draws."""
    found = []
    for flat in flattened(item):
        chains = [(flat.start, flat.end)] if isinstance(flat, Line) else [s for p in flat.paths for s in p.segments]
        found += [z for chain in chains for z in chain]
    return found


def by_matrix(which: AffineMap, zs):
    matrix = np.array([[which.a.real, which.b.real, which.c.real], [which.a.imag, which.b.imag, which.c.imag]])
    return [complex(*(matrix @ (z.real, z.imag, 1.0))) for z in zs]


def in_order(zs):
    return sorted(zs, key=lambda z: (round(z.real, 6), round(z.imag, 6)))


@pytest.mark.parametrize("which", MAPS)
@pytest.mark.parametrize("item", [LINE, SHAPE, Placed(STAMP, 7 + 5j)])
def test_every_point_goes_where_the_matrix_says(which, item):
    found, expected = points(which.item(item)), by_matrix(which, points(item))
    # a mirrored path runs the other way round
    assert in_order(found) == pytest.approx(in_order(expected))


def test_a_mirror_keeps_outer_boundaries_anticlockwise():
    mirrored = AffineMap(-1, 1j, 210.0).item(SHAPE)
    for before, after in zip(SHAPE.paths, mirrored.paths, strict=True):
        assert signed_area(after) == pytest.approx(signed_area(before))


def test_widths_and_dashes_are_scaled_once():
    line = AffineMap(2, 2j, widths=2.0).item(LINE)
    assert (line.style.stroke_mm, line.style.dash_mm, line.role, line.row) == (0.6, (2.0, 4.0), "baseline", 3)
    assert AffineMap(c=5).item(LINE).style is LINE.style


def test_a_symbol_is_mapped_once_for_all_its_places():
    stamps = Layer(Purpose.INK, (Placed(STAMP, 1j), Placed(STAMP, 9 + 1j)))
    page = Page(100, 50, (stamps,), links=(Link(0j, 1 + 1j, 2),))
    made = AffineMap(2, 3j).page(page)
    first, second = made.layers[0].items
    assert first.symbol is second.symbol
    assert (made.width_mm, made.height_mm, made.links[0].high, second.at) == (200, 150, 2 + 3j, 18 + 3j)


def test_moving_leaves_symbols_as_they_are():
    assert moved(Placed(STAMP, 1j), 3).symbol is STAMP
    assert points(moved(SHAPE, 3 + 1j)) == [z + (3 + 1j) for z in points(SHAPE)]


def test_painting_reaches_symbols_and_names_them_anew():
    blue = Ink((0.0, 0.0, 1.0))
    item = painted(Placed(STAMP, 1j), lambda ink: blue if ink == BLACK else ink, " blue")
    assert item.symbol.name == "stamp blue"
    assert [part.style.stroke for part in item.symbol.items] == [blue, blue]
    assert painted(Shape((CURVE,), Style(fill=WHITE)), lambda ink: ink).style.fill == WHITE
