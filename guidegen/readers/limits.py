"""How much a file may ask of us. A guide sheet needs a thousandth of it; a bomb is told in one line."""

from __future__ import annotations

import cmath

from guidegen.errors import GuidegenError, bad_input
from guidegen.geometry.path import Path

MAX_FILE_BYTES = 64_000_000
MAX_STREAM_BYTES = 24_000_000
"""Unpacked bytes of all content of one PDF."""
MAX_ITEMS = 400_000
MAX_SEGMENTS = 1_500_000
MAX_DEPTH = 120
MAX_NESTED_USES = 12
MAX_PAGES = 3_000
MAX_PIXELS = 150_000_000
LARGEST_MM = 1e7


class Budget:
    """Counts what a file makes us hold, and stops it."""

    def __init__(self, name: str) -> None:
        self.name = name
        self._left = {"items": MAX_ITEMS, "segments": MAX_SEGMENTS, "bytes of content": MAX_STREAM_BYTES}

    def spend(self, what: str, count: int) -> None:
        """Take ``count`` of ``what``.

        Raises:
            GuidegenError: when there is not so much left.
        """
        self._left[what] -= count
        if self._left[what] < 0:
            raise too_much(self.name, what)

    def left(self, what: str) -> int:
        """Return how much of ``what`` is left."""
        return self._left[what]

    def keep(self, paths: tuple[Path, ...], *, counted: bool = False) -> tuple[Path, ...]:
        """Return ``paths`` when they can be held and lie within 10 km; ``counted`` segments are not counted again.

        Raises:
            GuidegenError: when there are too many segments or a coordinate is no place on a page.
        """
        self.spend("items", 1)
        for path in paths:
            self.spend("segments", 0 if counted else len(path.segments))
            for segment in path.segments:
                for z in segment:
                    if not cmath.isfinite(z) or abs(z) > LARGEST_MM:
                        raise bad_input(self.name, "", "a coordinate that lies nowhere", "finite coordinates")
        return paths


def too_much(name: str, what: str) -> GuidegenError:
    """Return the error for a file that holds more than can be measured here."""
    return bad_input(name, "", f"more {what} than can be measured", "a drawing or page of ordinary size")


def damaged(name: str, kind: str, error: BaseException | str) -> GuidegenError:
    """Return the error for a file that cannot be read as what it says it is."""
    said = error if isinstance(error, str) else f"{type(error).__name__} {error}".strip()
    return bad_input(name, "", f"a damaged file ({said})"[:200], f"a whole {kind} file", "make or copy it again")
