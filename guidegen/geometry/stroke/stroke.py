"""What a pen draws: a centreline with a width along it (discs), or a nib swept along it.

Definition of width. For a :class:`Stroke` the width at a centreline point is the diameter of the disc
there: the ink is the union of discs of radius ``width/2`` along the centreline. This is not plain normal
offsetting, which is short by about r r'^2/2 where the width changes. For a :class:`Nib` the ink is the
Minkowski sum of the centreline and the nib's rectangle, held at a fixed angle.
"""

from __future__ import annotations

from dataclasses import dataclass

from guidegen.geometry.path import Path


@dataclass(frozen=True, slots=True)
class Widths:
    """Width along a stroke: knots ``(s, width)`` with s the arc length from the stroke's start, increasing.

    Between knots the width is linear in s, or with ``eased`` a smoothstep (3u^2 - 2u^3), which starts and
    ends level. Before the first and after the last knot the width is constant. Two knots at one place are a jump.
    """

    knots: tuple[tuple[float, float], ...]
    eased: bool = False


@dataclass(frozen=True, slots=True)
class Stroke:
    """A disc stroke: an open centreline and its widths.

    ``start_cut_deg``/``end_cut_deg`` cut an end straight: ink beyond the line through the end point in that
    direction (degrees, 0 = along x) is left out. The cut acts on the discs from that end on up to the first
    disc that does not reach over the line, so that a later part of the same stroke is never cut. The side that is
    kept is the one into which the centreline leaves. None leaves the round end of the last disc; a stroke without
    length has no direction and is never cut; a closed path that is cut has ends.
    """

    path: Path
    widths: Widths
    start_cut_deg: float | None = None
    end_cut_deg: float | None = None


@dataclass(frozen=True, slots=True)
class Nib:
    """A flat edge: a rectangle ``width`` x ``thickness`` whose long side is held at ``angle_deg`` from the x axis."""

    width: float
    thickness: float
    angle_deg: float


@dataclass(frozen=True, slots=True)
class NibStroke:
    """A centreline swept by a nib (the centre of the rectangle travels along the path)."""

    path: Path
    nib: Nib


AnyStroke = Stroke | NibStroke
