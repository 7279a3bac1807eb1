"""What else a cutting machine's owner expects: a frame to weed by, marks to lay sheets by, how long it will run."""

from __future__ import annotations

from collections.abc import Sequence

from guidegen.errors import GuidegenError
from guidegen.geometry.blade.stencil import Bridge
from guidegen.geometry.measure import bounds, path_length
from guidegen.geometry.path import Path, polyline, reverse
from guidegen.scene import Document, Item, Page, Purpose, Shape

WEED_MM = 4.0
"""Between the work and the frame to weed it by."""
REGISTER_MM = 4.0
REGISTER_INSET_MM = 2.0
"""Side of a registration square, and how far it lies inside the page."""
WIDE = 0.5
"""A bridge wider than this share of its counter is worth telling."""


def weed_box(contours: Sequence[Path], gap_mm: float) -> Path:
    """Return the frame round what is cut: when its strip is peeled off, the waste round the letters comes with it.

    It runs clockwise, for what lies inside it runs the other way.
    """
    low, high = bounds(tuple(contours))
    return reverse(rectangle(low - gap_mm * (1 + 1j), high + gap_mm * (1 + 1j)))


def register_marks(page: Page, contours: Sequence[Path]) -> list[Path]:
    """Return squares in three corners of the page, at the same places in every file of it: no side is mistaken.

    Raises:
        GuidegenError: when what is cut lies in their way.
    """
    side, inset = REGISTER_MM * (1 + 1j), REGISTER_INSET_MM
    right, top = page.width_mm - inset - REGISTER_MM, page.height_mm - inset - REGISTER_MM
    corners = (complex(inset, inset), complex(right, inset), complex(inset, top))
    for path in contours:
        low, high = bounds((path,))
        for corner in corners:
            gap = max(
                low.real - (corner + side).real, corner.real - high.real,
                low.imag - (corner + side).imag, corner.imag - high.imag,
            )  # fmt: skip
            if gap < 0:
                raise GuidegenError(
                    f"`register`: the marks need {inset + REGISTER_MM:g} mm of white in the corners of the page; "
                    "use a larger `margin_mm`"
                )
    return [rectangle(corner, corner + side) for corner in corners]


def rectangle(low: complex, high: complex) -> Path:
    """Return a closed rectangle, anticlockwise."""
    return polyline((low, complex(high.real, low.imag), high, complex(low.real, high.imag)), closed=True)


def length_note(document: Document) -> str:
    """Return how long a machine's ways are, for each operation that is a line."""
    told = []
    for purpose in (Purpose.CUT, Purpose.SCORE):
        layers = (layer for page in document.pages for layer in page.layers if layer.purpose is purpose)
        paths = [path for layer in layers for item in layer.items for path in _paths(item)]
        if paths:
            metres = sum(path_length(path) for path in paths) / 1000
            told.append(f"{purpose} {metres:.2f} m in {len(paths)} path{'' if len(paths) == 1 else 's'}")
    return ", ".join(told)


def _paths(item: Item) -> Sequence[Path]:
    return item.paths if isinstance(item, Shape) else ()


def wide_bridge_notes(
    bridges: Sequence[Bridge],
    letters: Sequence[tuple[str, complex]],
    lean: complex,
    single: Sequence[tuple[str, complex, complex]] = (),
) -> list[str]:
    """Return what to tell of bridges wider than half of their counter, and in which letters they stand.

    ``letters`` are those written, each with its origin; ``lean`` is the direction of their axis. ``single`` are those
    that stand alone, each with the corners of its box.
    """
    wide = [bridge for bridge in bridges if bridge.width > WIDE * bridge.across]
    if not wide:
        return []
    told = (_letter_round(bridge.start, single) or _letter_at(bridge.start, letters, lean) for bridge in wide)
    names = dict.fromkeys(name for name in told if name)
    where = f" in {', '.join(names)}" if names else ""
    count = f"{len(wide)} bridge{' is' if len(wide) == 1 else 's are'}"
    return [f"{count} wider than half of the white they hold{where}: use narrower ones or larger letters"]


def _letter_round(spot: complex, single: Sequence[tuple[str, complex, complex]]) -> str:
    for name, low, high in single:
        if low.real <= spot.real <= high.real and low.imag <= spot.imag <= high.imag:
            return name
    return ""


def _letter_at(spot: complex, letters: Sequence[tuple[str, complex]], lean: complex) -> str:
    found, nearest = "", float("inf")
    for name, origin in letters:
        up = spot - origin
        along = up.real - up.imag * lean.real / lean.imag
        far = abs(up.imag) * 2 + along  # of letters above each other, that of the nearer line
        if along >= 0 and far < nearest:
            found, nearest = name, far
    return found
