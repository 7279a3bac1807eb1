"""What a clip leaves of paths: the part inside the box that holds the clip.

A clip of another shape than an upright box is taken as the box round it, so that nothing visible is ever left out.
"""

from __future__ import annotations

from collections.abc import Sequence

from guidegen.geometry.measure import bounds
from guidegen.geometry.path import Path, polyline
from guidegen.readers.contents import Edges

_SLACK = 1e-6


def box_of(paths: Sequence[Path]) -> Edges:
    """Return the box that holds ``paths``."""
    low, high = bounds(tuple(paths))
    return low.real, low.imag, high.real, high.imag


def within(box: Edges, outer: Edges | None) -> Edges:
    """Return what two boxes share; it may be nothing, its right less than its left."""
    if outer is None:
        return box
    return max(box[0], outer[0]), max(box[1], outer[1]), min(box[2], outer[2]), min(box[3], outer[3])


def clipped(paths: tuple[Path, ...], clip: Edges, pad: float = 0.0) -> tuple[Path, ...]:
    """Return what of ``paths`` shows inside ``clip``: the same object where that is all of it.

    Straight lines and upright rectangles are cut to the box, other paths kept whole where any of them shows; ``pad`` is
    how far their strokes reach.
    """
    found: list[Path] = []
    changed = False
    for path in paths:
        left, low, right, top = box_of([path])
        inside = (
            left >= clip[0] - _SLACK and low >= clip[1] - _SLACK
            and right <= clip[2] + _SLACK and top <= clip[3] + _SLACK
        )  # fmt: skip
        if inside:
            found.append(path)
            continue
        changed = True
        shows = (
            left < clip[2] + pad and right > clip[0] - pad and low < clip[3] + pad and top > clip[1] - pad
            and clip[2] > clip[0] and clip[3] > clip[1]
        )  # fmt: skip
        if shows:
            kept = _cut(path, clip)
            found += [] if kept is None else [kept]
    return tuple(found) if changed else paths


def _cut(path: Path, clip: Edges) -> Path | None:
    if len(path.segments) == 1 and len(path.segments[0]) == 2 and not path.closed:
        return _line(path.start, path.end, clip)
    left, low, right, top = box_of([path])
    corners = {complex(left, low), complex(right, low), complex(right, top), complex(left, top)}
    if path.closed and len(path.segments) == 4 and {s[0] for s in path.segments} == corners:
        l, b, r, t = within((left, low, right, top), clip)
        return polyline((complex(l, b), complex(r, b), complex(r, t), complex(l, t)), closed=True)
    return path


def _line(a: complex, b: complex, clip: Edges) -> Path | None:
    """Return the part of a line inside a box (after Liang and Barsky, 1984)."""
    way, first, last = b - a, 0.0, 1.0
    for toward, room in (
        (-way.real, a.real - clip[0]), (way.real, clip[2] - a.real),
        (-way.imag, a.imag - clip[1]), (way.imag, clip[3] - a.imag),
    ):  # fmt: skip
        if toward == 0:
            if room < -_SLACK:
                return None
        elif toward < 0:
            first = max(first, room / toward)
        else:
            last = min(last, room / toward)
    return polyline((a + first * way, a + last * way)) if first < last else None
