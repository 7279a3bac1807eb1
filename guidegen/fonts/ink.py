"""Pen strokes to the outlines of a face, in mm: the whole ink, or its contour as a thin line of even weight."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from guidegen.geometry import cubic as cb
from guidegen.geometry.path import Outline, Path, polyline
from guidegen.geometry.shape.inset_line import Opening, rim
from guidegen.geometry.stroke.expand import expand_all
from guidegen.geometry.stroke.radius_spans import width_at
from guidegen.geometry.stroke.stroke import AnyStroke, Stroke
from guidegen.geometry.union.board import Drawing, Part
from guidegen.geometry.union.unite import filled_outlines
from guidegen.lettering.letters import INK_TOLERANCE_MM


def solid_all(glyphs: Sequence[Sequence[AnyStroke]], tolerance: float = INK_TOLERANCE_MM) -> list[Outline]:
    """Return the ink of several glyphs."""
    return expand_all(glyphs, tolerance)


def hollow(
    ink: Outline, line_mm: float, openings: Sequence[Opening] = (), tolerance: float = INK_TOLERANCE_MM
) -> Outline:
    """Return the contour of the ink as a line of ``line_mm`` inside it, of even weight everywhere.

    Parts of the ink that are no wider than two such lines stay filled. At ``openings``, where a joined letter runs on
    in the next, the contour is cut square and open, so that joined letters share one contour.
    """
    return rim(ink, line_mm, tolerance, openings)


def opening(stroke: AnyStroke, *, at_start: bool) -> Opening | None:
    """Return the opening at one end of a stroke; None for a nib's, whose ends are no half discs."""
    if not isinstance(stroke, Stroke):
        return None
    points = [z for segment in stroke.path.segments for z in segment]
    points = points if at_start else points[::-1]
    step = next((z - points[0] for z in points if z != points[0]), None)
    if step is None:
        return None
    curves = cb.as_cubics(stroke.path.segments)
    total = float(cb.lengths(curves, np.zeros(len(curves)), np.ones(len(curves))).sum())
    width = float(width_at(stroke.widths, 0.0 if at_start else total))
    return Opening(points[0], -step / abs(step), width)


def united_all(outlines: Sequence[Outline], tolerance: float = INK_TOLERANCE_MM) -> list[Outline]:
    """Return of each what is filled by the non-zero rule, as an outline whose paths do not cross."""
    return filled_outlines([_as_drawing(outline) for outline in outlines], tolerance)


def _as_drawing(outline: Outline) -> Drawing:
    curves = cb.as_cubics([segment for path in outline for segment in path.segments])
    straight = np.array([len(segment) == 2 for path in outline for segment in path.segments])
    part = Part(np.arange(len(curves)))
    forward, bounding = np.zeros(len(curves), dtype=bool), np.ones(len(curves), dtype=bool)
    return Drawing(curves, straight, forward, bounding, (part,))


def bar(low: complex, high: complex) -> Path:
    """Return the rectangle between two corners, anticlockwise."""
    return polyline([low, complex(high.real, low.imag), high, complex(low.real, high.imag)], closed=True)


def circle(radius: float, *, clockwise: bool = False) -> Path:
    """Return a circle about the origin as four cubics (error 2e-4 of the radius)."""
    handle = 0.551915 * radius
    turn = -1j if clockwise else 1j
    points = [radius * turn**k for k in range(5)]
    share = handle * turn / radius
    arcs = tuple((p, p + share * p, q - share * q, q) for p, q in pairwise(points))
    return Path(arcs, closed=True)
