"""How thick the thickest stroke of some ink is."""

from __future__ import annotations

from guidegen.geometry.blade.narrow import thickest
from guidegen.geometry.path import Path

SEARCH_MM = 0.01


def thickest_mm(paths: tuple[Path, ...]) -> float:
    """Return the diameter of the largest disc that fits into the ink, within 0.02 mm.

    Where strokes meet, a disc may be somewhat larger than either.
    """
    return thickest(paths, SEARCH_MM)
