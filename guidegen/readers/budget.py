"""Counts what a file makes us hold, and stops it; how it is told. The limits stand in :mod:`guidegen.limits`."""

from __future__ import annotations

import cmath

from guidegen import limits
from guidegen.errors import GuidegenError, Plain, bad_input
from guidegen.geometry.path import Path


class Budget:
    """Counts what a file makes us hold, and stops it."""

    def __init__(self, name: str) -> None:
        self.name = name
        self._left = {
            "items": limits.MAX_ITEMS,
            "segments": limits.MAX_SEGMENTS,
            "bytes of content": limits.MAX_STREAM_BYTES,
        }
        self._most = dict(self._left)

    def spend(self, what: str, count: int) -> None:
        """Take ``count`` of ``what``.

        Raises:
            GuidegenError: when there is not so much left.
        """
        self._left[what] -= count
        if self._left[what] < 0:
            raise too_much(self.name, what, self._most[what])

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
                    if not cmath.isfinite(z) or abs(z) > limits.LARGEST_MM:
                        raise bad_input(self.name, "", "a coordinate that lies nowhere", "finite coordinates")
        return paths


def too_much(name: str, what: str, most: int, fix: str = "read it in parts") -> GuidegenError:
    """Return the error for a file that holds more of ``what`` than can be measured here."""
    return bad_input(name, "", Plain(f"more {what} than can be measured"), f"at most {most}", fix)


def damaged(name: str, kind: str, error: BaseException | str) -> GuidegenError:
    """Return the error for a file that cannot be read as what it says it is."""
    said = error if isinstance(error, str) else f"{type(error).__name__} {error}".strip()
    return bad_input(name, "", Plain(f"a damaged file ({said})"), f"a whole {kind} file", "make or copy it again")
