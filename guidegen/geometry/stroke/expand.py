"""Strokes to ink: the union of discs or swept nibs as one outline of lines and cubics, to a stated tolerance.

The definition of width is in :mod:`guidegen.geometry.stroke.stroke`. **Bound**: for the union U(e) of the same discs
(or nibs) with every radius changed by e, U(-tolerance) lies in the result and the result in U(+tolerance). Of the
tolerance, at most 0.5 goes to fitting the envelope and the rest to the union (chords are used to find where curves
meet, never to draw). That a stroker should state and keep such a bound: D. Nehab, "Converting stroked primitives to
filled primitives" (2020), who found none among 22. The raw contours and why their non-zero fill is the union:
:mod:`guidegen.geometry.stroke.disc_loops` (discs), :mod:`guidegen.geometry.stroke.nib_loops` (nibs); fitting:
:mod:`guidegen.geometry.fit`; the union: :mod:`guidegen.geometry.union.unite`.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np

from guidegen.geometry import cubic as cb
from guidegen.geometry.cubic import Bools, Complexes, Floats, Ints
from guidegen.geometry.path import Outline
from guidegen.geometry.stroke import disc_loops
from guidegen.geometry.stroke.centreline import (
    Stretches,
    centrelines,
    cuts_at,
    law_cuts,
    merged,
    sampled_discs,
    stretches,
)
from guidegen.geometry.stroke.disc_loops import Loop, Span
from guidegen.geometry.stroke.end_cuts import EndCuts, end_cuts
from guidegen.geometry.stroke.envelope import fit_sides
from guidegen.geometry.stroke.nib_loops import nib_loops
from guidegen.geometry.stroke.radius_spans import radius_laws
from guidegen.geometry.stroke.stroke import AnyStroke, NibStroke, Stroke
from guidegen.geometry.union.board import Drawing, HalfPlane, Part
from guidegen.geometry.union.sure_ink import Discs, SureInk
from guidegen.geometry.union.unite import filled_outlines

FIT_SHARE = 0.5
SAG_SHARE = 0.2
LARGEST = 1e13  # times the tolerance: beyond that, coordinates are rounded too much for the promise to hold


def expand(strokes: Sequence[AnyStroke], tolerance: float) -> Outline:
    """Return the ink of all strokes as one outline: outer loops anticlockwise, holes clockwise, none crossing.

    ``tolerance`` in the strokes' unit. Raises ValueError for a tolerance that is not positive, for an empty path,
    for coordinates or widths that are not finite and for negative widths. Warns with
    :class:`~guidegen.geometry.union.unite.StraightEdges` if the outline had to be made of lines.
    """
    return expand_all([strokes], tolerance)[0]


def expand_all(groups: Sequence[Sequence[AnyStroke]], tolerance: float) -> list[Outline]:
    """Return the ink of each group of strokes as one outline, as :func:`expand` does for one; many are quicker so."""
    if not (tolerance > 0 and math.isfinite(tolerance)):
        raise ValueError(f"tolerance must be positive, not {tolerance}")
    for strokes in groups:
        for stroke in strokes:
            check(stroke, tolerance)
    return filled_outlines(raw_drawings(groups, FIT_SHARE * tolerance), tolerance)


def check(stroke: AnyStroke, tolerance: float) -> None:
    """Raise ValueError if a stroke has no points, gaps, numbers that are not finite, or widths below zero."""
    if not stroke.path.segments:
        raise ValueError("a stroke needs at least one segment")
    if any(len(s) not in (2, 4) for s in stroke.path.segments):
        raise ValueError("a segment has two points or four")
    points = np.array([z for s in stroke.path.segments for z in s], dtype=np.complex128)
    if not np.isfinite(points).all():
        raise ValueError("a stroke's points must be finite")
    largest = float(np.abs(points).max())
    if largest > LARGEST * tolerance:
        raise ValueError(f"coordinates of {largest:g} are too large to be told apart by a tolerance of {tolerance:g}")
    if any(abs(a[-1] - b[0]) > tolerance for a, b in itertools.pairwise(stroke.path.segments)):
        raise ValueError("each segment of a stroke must start where the one before ends")
    cuts = () if isinstance(stroke, NibStroke) else (stroke.start_cut_deg, stroke.end_cut_deg)
    if any(cut is not None and not math.isfinite(cut) for cut in cuts):
        raise ValueError("the angles of cuts must be finite")
    if isinstance(stroke, NibStroke):
        sizes = [stroke.nib.width, stroke.nib.thickness, abs(stroke.nib.angle_deg)]
    else:
        if not stroke.widths.knots:
            raise ValueError("a stroke needs at least one width")
        sizes = [w for _, w in stroke.widths.knots]
        places = np.array([s for s, _ in stroke.widths.knots])
        if not np.isfinite(places).all() or np.any(np.diff(places) < 0):
            raise ValueError("width knots must be finite and in increasing order of arc length")
    if not all(math.isfinite(w) and w >= 0 for w in sizes):
        raise ValueError("widths must be finite and not negative")


@dataclass(slots=True)
class _Builder:
    """Collects loops and parts; equal curves of several parts of one stroke are held once."""

    curves: list[Complexes] = field(default_factory=list)
    straight: list[Bools] = field(default_factory=list)
    backwards: list[Bools] = field(default_factory=list)
    bounding: list[Bools] = field(default_factory=list)
    parts: list[Part] = field(default_factory=list)
    sure: list[Discs] = field(default_factory=list)
    count: int = 0

    def add(self, loops: list[Loop], planes: tuple[HalfPlane, ...] = (), *, bounding: bool = True) -> None:
        numbers = [self._append(q, bounding and not q.hidden) for q in loops]
        if numbers:
            self.parts.append(Part(np.concatenate(numbers), planes))

    def line(self, a: complex, b: complex) -> None:
        self._append(Loop(cb.as_cubics([(a, b)]), np.array([True]), np.array([False])), True)

    def _append(self, loop: Loop, bounding: bool) -> Ints:
        n = len(loop.curves)
        self.curves.append(loop.curves)
        self.straight.append(loop.straight)
        self.backwards.append(loop.backwards)
        self.bounding.append(np.full(n, bounding))
        self.count += n
        return np.arange(self.count - n, self.count)

    def drawing(self) -> Drawing:
        if not self.curves:
            none = np.zeros(0, dtype=bool)
            return Drawing(np.zeros((0, 4), dtype=np.complex128), none, none, none, ())
        return Drawing(
            np.concatenate(self.curves),
            np.concatenate(self.straight),
            np.concatenate(self.backwards),
            np.concatenate(self.bounding),
            tuple(self.parts),
            SureInk(tuple(self.sure)),
        )


def raw_drawing(strokes: Sequence[AnyStroke], tolerance: float) -> Drawing:
    """Return the raw loops of all strokes, fitted to ``tolerance`` in one batch, before any union."""
    return raw_drawings([strokes], tolerance)[0]


def raw_drawings(groups: Sequence[Sequence[AnyStroke]], tolerance: float) -> list[Drawing]:
    """Return the raw loops of each group of strokes as one drawing, all groups fitted in one batch.

    Strokes that are equal are fitted once. What comes out for a stroke does not depend on the others.
    """
    number: dict[AnyStroke, int] = {}
    members = [[number.setdefault(stroke, len(number)) for stroke in strokes] for strokes in groups]
    discs = {k: stroke for stroke, k in number.items() if isinstance(stroke, Stroke)}
    nibs = {k: stroke for stroke, k in number.items() if isinstance(stroke, NibStroke)}
    contours = dict(zip(discs, _disc_contours(list(discs.values()), tolerance), strict=True))
    contours |= dict(zip(nibs, _nib_contours(list(nibs.values())), strict=True))
    drawings = []
    for some in members:
        builder = _Builder()
        for k in dict.fromkeys(some):  # drawn twice is drawn once
            contours[k].into(builder)
        drawings.append(builder.drawing())
    return drawings


@dataclass(slots=True)
class _Contour:
    """One stroke's loops: parts inside half planes, of which the first bounds the result, and lines that do so too."""

    parts: list[tuple[list[Loop], tuple[HalfPlane, ...]]] = field(default_factory=list)
    lines: list[tuple[complex, complex]] = field(default_factory=list)
    sure: list[Discs] = field(default_factory=list)

    def into(self, builder: _Builder) -> None:
        builder.sure += self.sure
        for a, b in self.lines:
            builder.line(a, b)
        for k, (loops, planes) in enumerate(self.parts):
            builder.add(loops, planes, bounding=k == 0)


def _nib_contours(strokes: Sequence[NibStroke]) -> list[_Contour]:
    if not strokes:
        return []
    lines = centrelines([stroke.path for stroke in strokes])
    return [_Contour([(loops, ())]) for loops in nib_loops(lines, [stroke.nib for stroke in strokes])]


def _disc_contours(strokes: Sequence[Stroke], tolerance: float) -> list[_Contour]:
    if not strokes:
        return []
    pieces, ends = _cut_stretches(strokes)
    contours = [_Contour() for _ in strokes]
    cuts: list[list[int]] = [[] for _ in strokes]
    for number, k in enumerate(ends.owner.tolist()):
        cuts[k].append(number)
    places: list[tuple[_Contour, tuple[HalfPlane, ...]]] = []
    spans: list[Span] = []
    sized = (pieces.first[1:] > pieces.first[:-1]).tolist()
    for k, stroke in enumerate(strokes):
        if not sized[k]:
            contours[k].parts.append((disc_loops.dot(stroke, tolerance), ()))
            continue
        contours[k].sure.append(_StrokeDiscs(pieces, k, ends, tolerance))
        reach = float(pieces.lines.length[k]) + max(w for _, w in stroke.widths.knots)
        for number in cuts[k]:
            at, way = complex(ends.point[number]), complex(ends.direction[number])
            contours[k].lines.append((at - reach * way, at + reach * way))
        for span, planes in _parts(pieces, k, ends, cuts[k]):
            spans.append(span)
            places.append((contours[k], planes))
    loops = disc_loops.raw_loops(pieces, fit_sides(pieces, tolerance), spans, tolerance)
    for (owner, planes), some in zip(places, loops, strict=True):
        owner.parts.append((some, planes))
    return contours


@dataclass(frozen=True)
class _StrokeDiscs:
    """The discs of one stroke that no cut of its ends acts on."""

    pieces: Stretches
    number: int
    ends: EndCuts
    tolerance: float

    def discs(self) -> tuple[Complexes, Floats]:
        return self._once

    @cached_property
    def _once(self) -> tuple[Complexes, Floats]:  # asked for at a first look and, if that does not do, with care
        rows = np.arange(self.pieces.first[self.number], self.pieces.first[self.number + 1])
        s, centre, r = sampled_discs(self.pieces, rows, SAG_SHARE * self.tolerance, self.tolerance)
        keep = r > self.tolerance
        for cut in np.flatnonzero(self.ends.owner == self.number).tolist():
            acts = s > self.ends.s[cut] if self.ends.at_end[cut] else s < self.ends.s[cut]
            height = ((centre - self.ends.point[cut]) * np.conj(self.ends.direction[cut])).imag
            keep &= ~acts | (height >= r)
        return centre[keep], r[keep]


def _cut_stretches(strokes: Sequence[Stroke]) -> tuple[Stretches, EndCuts]:
    """Return the stretches of all strokes, cut where cuts of their ends cease to act, and these cuts."""
    lines = centrelines([stroke.path for stroke in strokes])
    laws = radius_laws([stroke.widths for stroke in strokes], lines.length)
    cuts = law_cuts(lines, laws)
    pieces = stretches(lines, laws, cuts)
    asked = [
        (k, at_end, angle)
        for k, stroke in enumerate(strokes)
        for at_end, angle in ((False, stroke.start_cut_deg), (True, stroke.end_cut_deg))
        if angle is not None and pieces.first[k] < pieces.first[k + 1]
    ]
    owner = np.array([k for k, _, _ in asked], dtype=np.int64)
    at_end = np.array([flag for _, flag, _ in asked], dtype=bool)
    ends = end_cuts(pieces, owner, at_end, np.array([angle for _, _, angle in asked], dtype=np.float64))
    if asked:
        pieces = stretches(lines, laws, merged(lines, cuts, cuts_at(lines, ends.owner, ends.s)))
    return pieces, ends


def _parts(pieces: Stretches, k: int, ends: EndCuts, cuts: Sequence[int]) -> list[tuple[Span, tuple[HalfPlane, ...]]]:
    """Return what covers a stroke: with cut ends one part for each side of the cut lines, the whole one first.

    A point on the kept side of a cut is covered by any disc, a point beyond it only by discs that the cut
    does not act on. Beyond the line, the contour of these discs is the contour of the whole stroke (the first of them
    does not reach over), so only the whole stroke's loops and the line itself bound the result. A closed stroke that
    is cut has ends.
    """
    first, last = int(pieces.first[k]), int(pieces.first[k + 1])
    if not cuts:
        return [(Span(first, last, bool(pieces.lines.closed[k])), ())]
    slack = 1e-11 * float(pieces.lines.length[k])
    parts = []
    for beyond in itertools.product((False, True), repeat=len(cuts)):
        low, high, planes = first, last, []
        for number, over in zip(cuts, beyond, strict=True):
            s = ends.s[number]
            if over and ends.at_end[number]:
                high = first + int((pieces.s1[first:last] <= s + slack).sum())
            elif over:
                low = last - int((pieces.s0[first:last] >= s - slack).sum())
            planes.append(HalfPlane(complex(ends.point[number]), complex(ends.direction[number]), not over))
        if low < high:
            parts.append((Span(low, high), tuple(planes)))
    return parts
