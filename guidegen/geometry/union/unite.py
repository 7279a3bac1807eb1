"""The filled area of many raw loops as one clean outline that keeps its curves.

Recipe: (1) flatten all curves to a small part of the tolerance, remembering curve and parameter; (2) node the
chords and build the faces between them; (3) keep the faces that some part covers, by its winding number; (4) walk the
boundary of what was kept and put the curves back: a run of chords of one curve becomes a piece of that curve, and
where two curves meet their intersection is refined by Newton's method on the curves; (5) check the result.

Drawings that have nothing to do with each other are done many at a time, nodes in floating point. What fails the
check, and what shows a crack, is done again with nodes on a grid (snap rounding in GEOS, which cannot fail
topologically), still many at a time, and, should it cross itself, on its own with finer and finer chords. If every
attempt fails, the polygon of step 3 is the answer, correct to the same tolerance, and the caller is warned
(:class:`StraightEdges`).
"""

from __future__ import annotations

import warnings
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from guidegen.geometry import cubic as cb
from guidegen.geometry.cubic import Bools, Complexes, Floats, Ints
from guidegen.geometry.path import Outline
from guidegen.geometry.union import cracks, curves_back
from guidegen.geometry.union.board import (
    Board,
    Chords,
    Drawing,
    Part,
    board,
    boards,
    chords_of,
    grid_for,
    snapped,
    spans,
)
from guidegen.geometry.union.faces import Rings, hollow, rings_of
from guidegen.geometry.union.provenance import sources
from guidegen.geometry.union.sure_ink import SURE_SHARE

CHORD_SHARE = 0.15  # of the tolerance: how far chords may stray from curves
ATTEMPTS = 4
PATCHES = 3  # rounds of laying discs over cracks
PATCH_INSET = 0.55  # of the tolerance: laid over discs stay inside the fitted curves
_MOST_ALONG = 200  # points along one edge
_NOWHERE = np.zeros(0, dtype=np.int64)


class StraightEdges(UserWarning):
    """An outline is made of lines alone, and of many: its curves could not be put back without crossing each other."""


def filled_outline(drawing: Drawing, tolerance: float) -> Outline:
    """Return the outline of all that the parts cover, within ``tolerance`` (half of it is used here).

    Warns with :class:`StraightEdges` where the edges are lines instead of curves.
    """
    return filled_outlines([drawing], tolerance)[0]


def filled_outlines(drawings: Sequence[Drawing], tolerance: float) -> list[Outline]:
    """Return :func:`filled_outline` of every drawing; many at once cost much less than one by one."""
    chord = CHORD_SHARE * tolerance
    found: dict[int, Outline] = {k: () for k, drawing in enumerate(drawings) if not len(drawing.curves)}
    for look in (_at_once, _with_care):
        left = [k for k in range(len(drawings)) if k not in found]
        for places, many in boards([drawings[k] for k in left], chord):
            for place, outline in zip(places, look(many, chord, tolerance), strict=True):
                if outline is not None:
                    found[left[place]] = outline
    return [found[k] if k in found else _with_finer_chords(drawing, tolerance) for k, drawing in enumerate(drawings)]


def _at_once(many: Board, chord: float, tolerance: float) -> list[Outline | None]:
    """Return the outlines of a board's drawings, None for those that need a closer look."""
    import shapely

    chords = chords_of(many, chord)
    try:
        rings = rings_of(many, chords, tolerance, exact=False)
    except shapely.errors.GEOSException:  # nodes in floating point may not fit together
        return [None] * len(many.drawings)
    if not len(rings.z):
        return [()] * len(many.drawings)
    owner, lost = sources(rings, chords, many)
    if lost.any():
        return [None] * len(many.drawings)
    unsound = hollow(many, rings, tolerance)
    unsound[rings.drawing[rings.of_vertex[many.backwards[chords.curve[owner]]]]] = True
    return curves_back.curved(rings, owner, many, chords, chord, tolerance, unsound, careful=False)


@dataclass(frozen=True, slots=True)
class _Noded:
    """Drawings with their nodes on a grid: board, chords, rings, the chord of every edge, which drawings are settled.

    ``numbers`` are those of the drawings on the board that was asked for.
    """

    numbers: list[int]
    board: Board
    chords: Chords
    rings: Rings
    owner: Ints
    settled: Bools


def _with_care(many: Board, chord: float, tolerance: float) -> list[Outline | None]:
    """Return the outlines of a board's drawings, nodes on the grid and cracks closed, None where that does not do."""
    result: list[Outline | None] = [None] * len(many.drawings)
    for some in _patched(many, chord, tolerance):
        outlines = curves_back.curved(
            some.rings, some.owner, some.board, some.chords, chord, tolerance, ~some.settled, careful=True
        )
        for number, outline in zip(some.numbers, outlines, strict=True):
            result[number] = outline if result[number] is None else result[number]
    return result


def _with_finer_chords(drawing: Drawing, tolerance: float) -> Outline:
    """Return the outline of one drawing, its chords as fine as it takes; straight ones if all is in vain."""
    for attempt in range(1, ATTEMPTS):
        chord = CHORD_SHARE * tolerance / 6**attempt
        alone = board([drawing], grid_for(drawing.curves, chord))
        outline = _with_care(alone, chord, tolerance)[0]
        if outline is not None:
            return outline
    *_, last = _patched(alone, chord, tolerance)
    polygons = last.rings.each()
    corners = sum(len(ring) for ring in polygons)
    told = f"an outline is made of {corners} straight lines, as its curves cross each other"
    warnings.warn(told, StraightEdges, stacklevel=2)
    return curves_back.straight_outline(polygons)


def _patched(many: Board, chord: float, tolerance: float) -> Iterator[_Noded]:
    """Yield boards on which together every drawing is settled once, if no edge of it is lost.

    Where rings run deep inside sure ink, discs of it are laid over their drawing first, which goes on on a board with
    others of its kind.
    """
    drawings = [replace(drawing, sure=drawing.sure.found()) for drawing in many.drawings]
    waiting = [(list(range(len(drawings))), replace(many, drawings=tuple(drawings)))]
    for rounds in range(PATCHES + 1):
        patched: dict[int, Drawing] = {}
        for numbers, some in waiting:
            chords = chords_of(some, chord)
            rings = rings_of(some, chords, tolerance, exact=True)
            more = _over_sure_ink(some, rings, tolerance) if rounds < PATCHES else {}
            patched |= {numbers[k]: drawing for k, drawing in more.items()}
            settled = np.ones(len(numbers), dtype=bool)
            settled[list(more)] = False
            if settled.any():
                yield _bridged(_Noded(numbers, some, chords, rings, _NOWHERE, settled), tolerance)
        names = list(patched)
        waiting = [([names[k] for k in of], some) for of, some in boards(list(patched.values()), chord)]


def _over_sure_ink(many: Board, rings: Rings, tolerance: float) -> dict[int, Drawing]:
    """Return those drawings of a board that run deep inside sure ink, with discs of it as further parts."""
    start, end = rings.z, rings.z[rings.after]
    first = rings.first[np.searchsorted(rings.drawing, np.arange(len(many.drawings) + 1))]
    found = {}
    for k, drawing in enumerate(many.drawings):
        a, b = (z[first[k] : first[k + 1]] - many.shift[k] for z in (start, end))
        deep = drawing.sure.hides(np.concatenate([a, (a + b) / 2]), SURE_SHARE * tolerance).reshape(2, -1).any(axis=0)
        if not deep.any():
            continue
        deep |= np.roll(deep, -1)  # edges that end there
        points = _along(a[deep], b[deep], tolerance)
        centre, radius = drawing.sure.over(points, SURE_SHARE * tolerance)
        found[k] = _with_discs(drawing, centre, radius - PATCH_INSET * tolerance, tolerance)
    return found


def _along(a: Complexes, b: Complexes, step: float) -> Complexes:
    """Return points along straight lines from a to b, neighbours hardly further apart than ``step`` on most of them."""
    count = np.clip(np.ceil(np.abs(b - a) / step), 2, _MOST_ALONG).astype(np.int64)
    k = np.repeat(np.arange(len(a)), count)
    share = spans(np.zeros_like(count), count) / count[k]
    return np.concatenate([a[k] + share * (b - a)[k], b])


def _bridged(some: _Noded, tolerance: float) -> _Noded:
    """Return a board with bridges across the mouths of cracks where rings run backwards, and whose edges are lost."""
    many, chords, rings = some.board, some.chords, some.rings
    owner, lost = sources(rings, chords, many)
    flags = many.backwards[chords.curve[owner]] & (some.settled & ~lost)[rings.drawing[rings.of_vertex]]
    across = cracks.bridges(rings.each(), flags, tolerance)
    if len(across):
        many, chords = _with_bridges(many, chords, across)
        rings = rings_of(many, chords, tolerance, exact=True, across=across)
        owner, lost = sources(rings, chords, many)
    return _Noded(some.numbers, many, chords, rings, owner, some.settled & ~lost)


def _with_discs(drawing: Drawing, centre: Complexes, r: Floats, tolerance: float) -> Drawing:
    """Return a drawing with discs as further parts."""
    whole = np.full(len(r), 2 * np.pi)
    arcs, count = cb.arcs(centre, r, np.zeros(len(r)), whole, 0.1 * tolerance)
    ends = np.cumsum(count)
    arcs[ends - 1, 3] = arcs[ends - count, 0]
    no, ours = np.zeros(len(arcs), dtype=bool), len(drawing.curves)
    parts = [Part(ours + np.arange(b - n, b)) for b, n in zip(ends.tolist(), count.tolist(), strict=True)]
    return replace(
        drawing,
        curves=np.concatenate([drawing.curves, arcs]),
        straight=np.concatenate([drawing.straight, no]),
        backwards=np.concatenate([drawing.backwards, no]),
        bounding=np.concatenate([drawing.bounding, ~no]),
        parts=(*drawing.parts, *parts),
    )


def _with_bridges(many: Board, chords: Chords, across: Complexes) -> tuple[Board, Chords]:
    """Return a board and its chords with straight bridges (n, 2) that bound but fill nothing."""
    n, first = len(across), len(many.curves)
    drawing = many.drawing_at(across.mean(axis=1))
    a, b = snapped(across[:, 0], many.grid), snapped(across[:, 1], many.grid)
    lines = np.stack([a, a + (b - a) / 3, b - (b - a) / 3, b], axis=-1) - many.shift[drawing][:, None]
    yes, no = np.ones(n, dtype=bool), np.zeros(n, dtype=bool)
    wider = replace(
        many,
        curves=np.concatenate([many.curves, lines]),
        straight=np.concatenate([many.straight, yes]),
        backwards=np.concatenate([many.backwards, no]),
        bounding=np.concatenate([many.bounding, yes]),
        drawing=np.concatenate([many.drawing, drawing]),
    )
    real = a != b
    more = Chords(
        np.concatenate([chords.start, a[real]]),
        np.concatenate([chords.end, b[real]]),
        np.concatenate([chords.curve, first + np.flatnonzero(real)]),
        np.concatenate([chords.t0, np.zeros(real.sum())]),
        np.concatenate([chords.t1, np.ones(real.sum())]),
    )
    return wider, more
