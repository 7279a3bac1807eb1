"""Strokes to ink: the union of discs or swept nibs as one outline of lines and cubics, to a stated tolerance.

The definition of width is in :mod:`guidegen.geometry.stroke`. **Bound**: for the union U(e) of the same discs (or
nibs) with every radius changed by e, U(-tolerance) lies in the result and the result in U(+tolerance). Of the
tolerance, at most 0.5 goes to fitting the envelope and the rest to the union (chords are used to find where curves
meet, never to draw). The raw contours and why their non-zero fill is the union:
:mod:`guidegen.geometry.contour` (discs), :mod:`guidegen.geometry.sweep` (nibs); the union:
:mod:`guidegen.geometry.union`.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from guidegen.geometry import contour
from guidegen.geometry import cubic as cb
from guidegen.geometry.arrangement import Drawing, HalfPlane, Part
from guidegen.geometry.centreline import Centreline, Stretch, centrelines, is_steep, stretches
from guidegen.geometry.contour import Loop
from guidegen.geometry.cubic import Bools, Complexes, Ints
from guidegen.geometry.envelope import Sides, fit_sides
from guidegen.geometry.path import Outline
from guidegen.geometry.stroke import AnyStroke, NibStroke, Stroke
from guidegen.geometry.sweep import nib_loops
from guidegen.geometry.union import filled_outlines
from guidegen.geometry.widths import width_at

FIT_SHARE = 0.5


def expand(strokes: Sequence[AnyStroke], tolerance: float) -> Outline:
    """Return the ink of all strokes as one outline: outer loops anticlockwise, holes clockwise, none crossing.

    ``tolerance`` in the strokes' unit. Raises ValueError for a tolerance that is not positive, for an empty path,
    for coordinates or widths that are not finite and for negative widths.
    """
    return expand_all([strokes], tolerance)[0]


def expand_all(groups: Sequence[Sequence[AnyStroke]], tolerance: float) -> list[Outline]:
    """Return the ink of each group of strokes as one outline, as :func:`expand` does for one; many are quicker so."""
    if not (tolerance > 0 and math.isfinite(tolerance)):
        raise ValueError(f"tolerance must be positive, not {tolerance}")
    for strokes in groups:
        for stroke in strokes:
            check(stroke)
    return filled_outlines(raw_drawings(groups, FIT_SHARE * tolerance), tolerance)


def check(stroke: AnyStroke) -> None:
    """Raise ValueError if a stroke has no points, numbers that are not finite, or widths below zero."""
    if not stroke.path.segments:
        raise ValueError("a stroke needs at least one segment")
    points = np.array([z for s in stroke.path.segments for z in s], dtype=np.complex128)
    if not np.isfinite(points).all():
        raise ValueError("a stroke's points must be finite")
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
class _Plan:
    """One disc stroke on its way to loops: its stretches, and its cuts as (arc length, line) from either end."""

    stroke: Stroke
    line: Centreline
    pieces: list[Stretch]
    start: tuple[float, HalfPlane] | None = None
    end: tuple[float, HalfPlane] | None = None


@dataclass(slots=True)
class _Builder:
    """Collects loops and parts; equal curves of several parts of one stroke are held once."""

    curves: list[Complexes] = field(default_factory=list)
    straight: list[Bools] = field(default_factory=list)
    backwards: list[Bools] = field(default_factory=list)
    bounding: list[Bools] = field(default_factory=list)
    parts: list[Part] = field(default_factory=list)
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
        )


def raw_drawing(strokes: Sequence[AnyStroke], tolerance: float) -> Drawing:
    """Return the raw loops of all strokes, fitted to ``tolerance`` in one batch, before any union."""
    return raw_drawings([strokes], tolerance)[0]


def raw_drawings(groups: Sequence[Sequence[AnyStroke]], tolerance: float) -> list[Drawing]:
    """Return the raw loops of each group of strokes as one drawing, all groups fitted in one batch."""
    builders = [_Builder() for _ in groups]
    plans: list[tuple[_Builder, _Plan]] = []
    every = [(builder, stroke) for builder, strokes in zip(builders, groups, strict=True) for stroke in strokes]
    for (builder, stroke), line in zip(every, centrelines([s.path for _, s in every]), strict=True):
        if isinstance(stroke, NibStroke):
            builder.add(nib_loops(line, stroke.nib))
        elif line.length == 0:
            builder.add(contour.dot(stroke, tolerance))
        else:
            plans.append((builder, _plan(stroke, line)))
    kept = [piece for _, plan in plans for piece in plan.pieces if not is_steep(piece)]
    fitted = iter(fit_sides(kept, tolerance))
    for builder, plan in plans:
        sides = [None if is_steep(piece) else next(fitted) for piece in plan.pieces]
        _add_plan(builder, plan, sides, tolerance)
    return [builder.drawing() for builder in builders]


def _plan(stroke: Stroke, line: Centreline) -> _Plan:
    start = end = None
    if stroke.start_cut_deg is not None:
        start = _cut(stroke, line, stroke.start_cut_deg, at_end=False)
    if stroke.end_cut_deg is not None:
        end = _cut(stroke, line, stroke.end_cut_deg, at_end=True)
    more = tuple(cut[0] for cut in (start, end) if cut is not None)
    return _Plan(stroke, line, stretches(line, stroke.widths, more), start, end)


def _cut(stroke: Stroke, line: Centreline, angle_deg: float, *, at_end: bool) -> tuple[float, HalfPlane]:
    """Return how far along the cut acts, and the side that is kept: the one into which the centreline leaves.

    The cut acts up to the first disc, seen from its end, that lies wholly on the kept side (or touches the line).
    """
    direction = cmath.exp(1j * math.radians(angle_deg))
    end = line.curves[-1, 3] if at_end else line.curves[0, 0]
    k = np.arange(len(line.curves))
    low, high = np.zeros(len(k)), np.ones(len(k))
    step = np.linspace(0, 1, 65)
    for round_ in range(4):  # each round looks 64 times closer at where the first disc clears the line
        t = low[:, None] + (high - low)[:, None] * step
        points = cb.point(line.curves[k], t)
        s = line.s[k][:, None] + cb.lengths_at(line.curves, cb.MARKS, line.run, k, t)
        rows = np.repeat(k, len(step))
        t, s, points = t.ravel(), s.ravel(), points.ravel()
        if at_end:
            rows, t, s, points = rows[::-1], t[::-1], s[::-1], points[::-1]
        height = ((points - end) * direction.conjugate()).imag
        if round_ == 0:
            off = np.flatnonzero(np.abs(height) > 1e-9 * line.length)
            if len(off) and height[off[0]] < 0:
                direction, height = -direction, -height
        clear = np.flatnonzero(height - width_at(stroke.widths, s) / 2 >= 0)
        if not len(clear):
            return (0.0 if at_end else line.length), HalfPlane(complex(end), direction)
        at = int(clear[0])
        before = max(at - 1, 0)
        if rows[before] != rows[at]:
            break
        k = rows[at : at + 1]
        low, high = np.minimum(t[[before]], t[[at]]), np.maximum(t[[before]], t[[at]])
    return float(s[at]), HalfPlane(complex(end), direction)


def _add_plan(builder: _Builder, plan: _Plan, sides: list[Sides | None], tolerance: float) -> None:
    """Add a stroke's loops; with cuts, one part for each side of the cut lines.

    A point on the kept side of a cut is covered by any disc, a point beyond it only by discs that the cut
    does not act on. Beyond the line, the contour of these discs is the contour of the whole stroke (the first of them
    does not reach over), so only the whole stroke's loops and the line itself bound the result.
    """
    if plan.start is None and plan.end is None:
        builder.add(_loops(plan, sides, 0.0, plan.line.length, tolerance))
        return
    plan.line = replace(plan.line, closed=False)  # a closed stroke that is cut has ends
    whole = _loops(plan, sides, 0.0, plan.line.length, tolerance)
    reach = plan.line.length + max(w for _, w in plan.stroke.widths.knots)
    for cut in (plan.start, plan.end):
        if cut is not None:
            builder.line(cut[1].point - reach * cut[1].direction, cut[1].point + reach * cut[1].direction)
    for cut_start in (False, True) if plan.start else (False,):
        for cut_end in (False, True) if plan.end else (False,):
            low = plan.start[0] if plan.start and cut_start else 0.0
            high = plan.end[0] if plan.end and cut_end else plan.line.length
            planes = []
            if plan.start:
                planes.append(HalfPlane(plan.start[1].point, plan.start[1].direction, not cut_start))
            if plan.end:
                planes.append(HalfPlane(plan.end[1].point, plan.end[1].direction, not cut_end))
            if low < high:
                loops = whole if not (cut_start or cut_end) else _loops(plan, sides, low, high, tolerance)
                builder.add(loops, tuple(planes), bounding=not (cut_start or cut_end))


def _loops(plan: _Plan, sides: list[Sides | None], low: float, high: float, tolerance: float) -> list[Loop]:
    slack = 1e-11 * plan.line.length
    use = [k for k, p in enumerate(plan.pieces) if p.s0 >= low - slack and p.s1 <= high + slack]
    pieces, some = [plan.pieces[k] for k in use], [sides[k] for k in use]
    return contour.raw_loops(some, plan.line.closed, tolerance) + contour.swallowing_discs(pieces, tolerance)
