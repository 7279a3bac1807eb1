"""Going through the items of a page: the visitor that writers are, items flattened, the box that holds them."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Iterable

from guidegen.scene.page import Item, Line, Placed, Shape
from guidegen.scene.transform import moved_drawing


class Visitor(ABC):
    """Goes through items and draws each line and shape, moved by ``by`` mm.

    A symbol is drawn wherever it is placed; a format that stores artwork once does something else in ``placed``.
    """

    def visit(self, items: Iterable[Item], by: complex = 0j) -> None:
        """Draw ``items`` in their order."""
        for item in items:
            if isinstance(item, Line):
                self.line(item, by)
            elif isinstance(item, Shape):
                self.shape(item, by)
            else:
                self.placed(item, by)

    @abstractmethod
    def line(self, line: Line, by: complex = 0j) -> None:
        """Draw a line."""

    @abstractmethod
    def shape(self, shape: Shape, by: complex = 0j) -> None:
        """Draw a shape."""

    def placed(self, placed: Placed, by: complex = 0j) -> None:
        """Draw a symbol at its place."""
        self.visit(placed.symbol.items, by + placed.at)


def flattened(item: Item, by: complex = 0j) -> list[Line | Shape]:
    """Return the lines and shapes of ``item``, moved by ``by``, with symbols put in where they are placed."""
    if isinstance(item, Placed):
        return [flat for inner in item.symbol.items for flat in flattened(inner, by + item.at)]
    return [item if by == 0 else moved_drawing(item, by)]


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
