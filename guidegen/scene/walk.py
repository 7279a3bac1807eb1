"""Going through the items of a page, symbols put in where they are placed."""

from __future__ import annotations

from dataclasses import replace

from guidegen.geometry.path import translate
from guidegen.scene.page import Item, Line, Placed, Shape


def flattened(item: Item, by: complex = 0j) -> list[Line | Shape]:
    """Return the lines and shapes of ``item``, moved by ``by``, with symbols put in where they are placed."""
    if isinstance(item, Placed):
        return [flat for inner in item.symbol.items for flat in flattened(inner, by + item.at)]
    if by == 0:
        return [item]
    if isinstance(item, Line):
        return [replace(item, start=item.start + by, end=item.end + by)]
    return [replace(item, paths=translate(item.paths, by))]


def hull_bounds(items: tuple[Item, ...]) -> tuple[complex, complex]:
    """Return lower left and upper right of a box that holds ``items`` with their strokes, in mm.

    It encloses the control points, so it may be a little larger than the artwork itself.

    Raises:
        ValueError: when there is nothing to enclose.
    """
    corners = [corner for item in items for corner in _item_corners(item)]
    low = complex(min(z.real for z in corners), min(z.imag for z in corners))
    return low, complex(max(z.real for z in corners), max(z.imag for z in corners))


def _item_corners(item: Item) -> tuple[complex, ...]:
    if isinstance(item, Placed):
        return tuple(corner + item.at for corner in hull_bounds(item.symbol.items)) if item.symbol.items else ()
    if isinstance(item, Line):
        points: tuple[complex, ...] = (item.start, item.end)
    else:
        points = tuple(z for path in item.paths for segment in path.segments for z in segment)
    pad = (item.style.stroke_mm or 0.0) / 2 * (1 + 1j)
    return tuple(corner for z in points for corner in (z - pad, z + pad))
