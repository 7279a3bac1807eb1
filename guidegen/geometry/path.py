"""The nouns of the geometry: segments, paths, outlines.

A point is a ``complex`` (x + iy), y up. A segment is a tuple of two points (a line) or four
(a cubic Bézier). A path is a chain of segments, each starting where the one before ends. An outline
is a tuple of closed paths that do not cross themselves or each other: outer boundaries run
anticlockwise, holes clockwise, so that the non-zero and the even-odd rule agree on what is filled.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable
from dataclasses import dataclass

Segment = tuple[complex, ...]


@dataclass(frozen=True, slots=True)
class Path:
    """A chain of lines and cubics. ``closed`` paths end where they begin; the closing segment is explicit."""

    segments: tuple[Segment, ...]
    closed: bool = False

    @property
    def start(self) -> complex:
        return self.segments[0][0]

    @property
    def end(self) -> complex:
        return self.segments[-1][-1]


Outline = tuple[Path, ...]


def polyline(points: Iterable[complex], closed: bool = False) -> Path:
    """Return the path of straight lines through ``points`` (closed back to the first when asked)."""
    chain = list(points)
    if closed and chain[0] != chain[-1]:
        chain.append(chain[0])
    return Path(tuple(itertools.pairwise(chain)), closed)


def affine(path: Path, a: complex, b: complex, c: complex) -> Path:
    """Return ``path`` with every point z mapped to ``a*x + b*y + c`` (a and b are the images of the axes)."""
    return Path(
        tuple(tuple(a * z.real + b * z.imag + c for z in segment) for segment in path.segments),
        path.closed,
    )


def translate(outline: Outline, by: complex) -> Outline:
    """Return ``outline`` moved by the vector ``by``."""
    return tuple(Path(tuple(tuple([z + by for z in s]) for s in path.segments), path.closed) for path in outline)


def scale(outline: Outline, factor: float) -> Outline:
    """Return ``outline`` scaled about the origin by a positive ``factor``."""
    return tuple(Path(tuple(tuple([factor * z for z in s]) for s in path.segments), path.closed) for path in outline)


def reverse(path: Path) -> Path:
    """Return ``path`` run the other way."""
    return Path(tuple(segment[::-1] for segment in path.segments[::-1]), path.closed)
