"""A centreline cut into smooth pieces by arc length, and into stretches under one width law each."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from guidegen.geometry import cubic as cb
from guidegen.geometry.cubic import Complexes, Floats
from guidegen.geometry.path import Path, Segment
from guidegen.geometry.stroke import Widths
from guidegen.geometry.widths import Law, radius_laws, steep_points

_STEEP = 1 - 1e-9  # slopes above this are "one disc swallows the next"


@dataclass(frozen=True, slots=True)
class Stretch:
    """A smooth piece of centreline under one width law, from arc length s0 to s1."""

    curve: Segment  # four points
    straight: bool
    s0: float
    s1: float
    law: Law
    steep_start: bool = False  # the slope is 1 at this end: the envelope goes like a square root there
    steep_end: bool = False

    def r(self, s: float) -> float:
        u = min(max((s - self.law.s0) / (self.law.s1 - self.law.s0), 0.0), 1.0) if self.law.low != self.law.high else 0
        return self.law.low + (self.law.high - self.law.low) * (u * u * (3 - 2 * u) if self.law.eased else u)

    def slope(self, s: float) -> float:
        if self.law.low == self.law.high:
            return 0.0
        run = self.law.s1 - self.law.s0
        u = min(max((s - self.law.s0) / run, 0.0), 1.0)
        return (self.law.high - self.law.low) / run * (6 * u * (1 - u) if self.law.eased else 1.0)


@dataclass(frozen=True, slots=True)
class Centreline:
    """A path cut into smooth pieces with their arc lengths."""

    curves: Complexes  # (n, 4)
    straight: list[bool]
    s: Floats  # (n + 1,) arc lengths at the pieces' ends
    run: Floats  # (n, marks) arc lengths within each piece at cubic.MARKS
    closed: bool
    start: complex

    @property
    def length(self) -> float:
        return float(self.s[-1])


def centreline(path: Path) -> Centreline:
    """Return the smooth pieces of a path: no zero lengths, split at cusps, collinear cubics as lines."""
    return centrelines([path])[0]


def centrelines(paths: Sequence[Path]) -> list[Centreline]:
    """Return the centrelines of many paths, measured in one go."""
    segments = [segment for path in paths for segment in path.segments]
    every = cb.as_cubics(segments)
    plain = cb.is_plain(every)
    pieces: list[Complexes] = []
    straight: list[list[bool]] = []
    counts: list[int] = []
    at = 0
    for path in paths:
        flags: list[bool] = []
        for k in range(at, at + len(path.segments)):
            if plain[k]:
                pieces.append(every[k : k + 1])
                flags.append(False)
                continue
            for piece, is_line in _smooth(segments[k]):
                if max(abs(z - piece[0]) for z in piece) > 0:
                    pieces.append(cb.as_cubics([piece]))
                    flags.append(is_line)
        at += len(path.segments)
        straight.append(flags)
        counts.append(len(flags))
    curves = np.concatenate([np.zeros((0, 4), dtype=np.complex128), *pieces])
    run = cb.length_table(curves, cb.MARKS)
    lines = []
    ends = np.cumsum(counts).tolist()
    for path, flags, n, last in zip(paths, straight, counts, ends, strict=True):
        mine = slice(last - n, last)
        closed = path.closed and n > 0 and path.segments[0][0] == path.segments[-1][-1]
        s = np.concatenate([[0.0], np.cumsum(run[mine, -1])])
        lines.append(Centreline(curves[mine], flags, s, run[mine], closed, path.segments[0][0]))
    return lines


def _smooth(segment: Segment) -> list[tuple[Segment, bool]]:
    if len(segment) == 2:
        return [(cb.as_cubic(segment), True)]
    turns = cb.turning_points(segment)
    c = cb.as_cubics([segment])
    if turns is not None:
        ends = cb.point(np.repeat(c, len(turns), axis=0), np.array(turns)).tolist() if turns else []
        chain = [segment[0], *ends, segment[3]]
        return [(cb.as_cubic((a, b)), True) for a, b in itertools.pairwise(chain) if a != b]
    cuts = np.array([0.0, *cb.slow_points(segment), 1.0])
    parts = cb.part(np.repeat(c, len(cuts) - 1, axis=0), cuts[:-1], cuts[1:])
    parts[0, 0], parts[-1, 3] = segment[0], segment[3]
    return [(tuple(complex(z) for z in p), False) for p in parts]


def stretches(line: Centreline, widths: Widths, more: tuple[float, ...] = ()) -> list[Stretch]:
    """Cut a centreline at its width knots, at slopes of 1 and at the arc lengths ``more``."""
    whole = line.length
    laws = radius_laws(widths, whole)
    steep = {s for law in laws for s in steep_points(law)}
    cuts = sorted({s for law in laws for s in (law.s0, law.s1) if 0 < s < whole} | steep | set(more))
    result: list[Stretch] = []
    least = 1e-12 * whole
    at = np.searchsorted(line.s, cuts, side="right") - 1
    inside = (np.array(cuts) - line.s[at] > least) & (line.s[np.minimum(at + 1, len(line.s) - 1)] - cuts > least)
    at, places = at[inside], np.array(cuts)[inside]
    t = cb.parameter_at(line.curves[at], places - line.s[at], line.run[at]) if len(at) else places
    first = np.searchsorted(at, np.arange(len(line.curves) + 1)).tolist()
    for k in range(len(line.curves)):
        mine = slice(first[k], first[k + 1])
        marks = [float(line.s[k]), *places[mine].tolist(), float(line.s[k + 1])]
        curves = line.curves[k : k + 1]
        if len(marks) > 2:
            cut = np.concatenate([[0.0], t[mine], [1.0]])
            ends = curves[0, 0], curves[0, 3]
            curves = cb.part(np.repeat(curves, len(cut) - 1, axis=0), cut[:-1], cut[1:])
            curves[0, 0], curves[-1, 3] = ends
        for curve, s0, s1 in zip(curves.tolist(), marks, marks[1:], strict=False):
            middle = (s0 + s1) / 2
            law = laws[0] if len(laws) == 1 else next((q for q in laws if q.s0 <= middle <= q.s1), laws[-1])
            near = [any(abs(s - e) <= 2 * least for e in steep) for s in (s0, s1)] if steep else (False, False)
            result.append(Stretch(tuple(curve), line.straight[k], s0, s1, law, near[0], near[1]))
    return result


def is_steep(stretch: Stretch) -> bool:
    """True where one disc swallows the next."""
    return abs(stretch.slope((stretch.s0 + stretch.s1) / 2)) >= _STEEP


def corner_pieces(line: Centreline, corner_deg: float) -> list[int]:
    """Return the numbers of the pieces at whose start the tangent turns by more than ``corner_deg``."""
    n = len(line.curves)
    arriving = cb.tangent(line.curves[:-1], np.ones(n - 1))
    leaving = cb.tangent(line.curves[1:], np.zeros(n - 1))
    turn = np.degrees(np.abs(np.angle(leaving * np.conj(arriving))))
    return [int(k) + 1 for k in np.flatnonzero(turn > corner_deg)]
