"""Outlines in whole font units, as every format stores them, without what rounding makes of no length."""

from __future__ import annotations

from itertools import pairwise

from guidegen.geometry.path import Outline, Path, Segment


def whole(outline: Outline) -> Outline:
    """Return ``outline`` with whole coordinates; segments and paths that come to nothing are left out.

    A cubic whose handles fall on its ends becomes a line. A path needs two segments with some area between them.
    """
    paths = []
    for path in outline:
        segments = [_rounded(segment) for segment in path.segments]
        kept = tuple(segment for segment in segments if any(z != segment[0] for z in segment))
        if len(kept) > 1 and _has_area(kept):
            paths.append(Path(kept, closed=True))
    return tuple(paths)


def _rounded(segment: Segment) -> Segment:
    points = tuple(complex(round(z.real), round(z.imag)) for z in segment)
    if len(points) == 4 and points[1] == points[0] and points[2] == points[3]:
        return (points[0], points[3])
    return points


def _has_area(segments: tuple[Segment, ...]) -> bool:
    ring = [z for segment in segments for z in segment[:-1]]
    return any(((z - ring[0]).conjugate() * (w - ring[0])).imag != 0 for z, w in pairwise(ring))
