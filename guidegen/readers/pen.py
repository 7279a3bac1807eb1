"""Collects what path data, fonts and PDF operators draw as paths of lines and cubics."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from guidegen.geometry.path import Path, Segment
from guidegen.readers.matrix import endpoint_arc

Point = tuple[float, float]


class PathPen:
    """Speaks the pen protocol of fontTools (and its ``arcTo``), so that its parsers can draw into it.

    ``spent`` is called with the number of new segments as they come, so that a budget can stop a flood.
    """

    def __init__(self, spent: Callable[[int], None] | None = None) -> None:
        self.paths: list[Path] = []
        self._segments: list[Segment] = []
        self._first = self._now = 0j
        self._open = False
        self._spent = spent

    def moveTo(self, pt: Point) -> None:  # noqa: N802  (the protocol's names)
        self._first = self._now = complex(*pt)
        self._segments = []
        self._open = True

    def lineTo(self, pt: Point) -> None:  # noqa: N802
        self._add((self._now, complex(*pt)))

    def curveTo(self, *pts: Point) -> None:  # noqa: N802
        self._add((self._now, *(complex(*pt) for pt in pts)))

    def qCurveTo(self, *pts: Any) -> None:  # noqa: N802
        if pts[-1] is None:  # a TrueType contour without any on-curve point
            off = [complex(*pt) for pt in pts[:-1]]
            self._first = self._now = (off[-1] + off[0]) / 2
            self._open = True
            chain = [*off, self._first]
        else:
            chain = [complex(*pt) for pt in pts]
        for k, control in enumerate(chain[:-1]):
            end = chain[-1] if k == len(chain) - 2 else (control + chain[k + 1]) / 2
            start = self._now
            self._add((start, start + 2 / 3 * (control - start), end + 2 / 3 * (control - end), end))

    def arcTo(self, rx: float, ry: float, rotation: float, large: bool, sweep: bool, pt: Point) -> None:  # noqa: N802
        turn = rotation * 0.017453292519943295
        arc = endpoint_arc(self._now, complex(*pt), complex(rx, ry), turn, large=large, sweep=sweep)
        for segment in arc:
            self._add(segment)

    def closePath(self) -> None:  # noqa: N802
        if self._now != self._first:
            self._add((self._now, self._first))
        self._end(closed=True)

    def endPath(self) -> None:  # noqa: N802
        self._end(closed=False)

    def addComponent(self, name: str, transformation: Any) -> None:  # noqa: N802
        """Components are taken apart before they reach a pen like this one."""

    def take(self) -> tuple[Path, ...]:
        """Return the paths so far and begin anew; an unfinished one is ended."""
        if self._open:
            self._end(closed=False)
        paths, self.paths = tuple(self.paths), []
        return paths

    def _add(self, segment: Segment) -> None:
        if self._spent is not None:
            self._spent(1)
        self._segments.append(segment)
        self._now = segment[-1]

    def _end(self, *, closed: bool) -> None:
        if self._segments:
            self.paths.append(Path(tuple(self._segments), closed))
        elif closed and self._open:  # a path that goes nowhere: a blade that dips in
            self._add((self._first, self._first))
            self.paths.append(Path(tuple(self._segments), closed))
        self._segments = []
        self._open = False
        self._now = self._first
