"""The filled area of many raw loops as one clean outline that keeps its curves.

Recipe: (1) flatten all curves to a small part of the tolerance, remembering curve and parameter; (2) node the
chords and build the faces between them; (3) keep the faces that some part covers, by its winding number; (4) walk the
boundary of what was kept and put the curves back: a run of chords of one curve becomes a piece of that curve, and
where two curves meet their intersection is refined by Newton's method on the curves; (5) check the result.

Drawings that have nothing to do with each other are done many at a time, nodes in floating point. What fails the
check, and what shows a crack, is done again on its own with nodes on a grid (snap rounding in GEOS, which cannot fail
topologically) and, should it cross itself, with finer and finer chords. If every attempt fails, the polygon of step 3
is the answer, correct to the same tolerance, and the caller is warned (:class:`StraightEdges`).
"""

from __future__ import annotations

import warnings
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from guidegen.geometry import cubic as cb
from guidegen.geometry.cubic import Complexes, Floats
from guidegen.geometry.path import Outline
from guidegen.geometry.union import cracks, curves_back
from guidegen.geometry.union.board import Board, Chords, Drawing, Part, board, boards, chords_of, grid_for, snapped
from guidegen.geometry.union.faces import Rings, rings_of
from guidegen.geometry.union.provenance import sources
from guidegen.geometry.union.sure_ink import SURE_SHARE

CHORD_SHARE = 0.15  # of the tolerance: how far chords may stray from curves
ATTEMPTS = 4
PATCHES = 3  # rounds of laying discs over cracks
PATCH_INSET = 0.55  # of the tolerance: laid over discs stay inside the fitted curves


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
    found: dict[int, Outline] = {}
    for numbers, many in boards(drawings, chord):
        for number, outline in zip(numbers, _at_once(many, chord, tolerance), strict=True):
            found[number] = _with_care(drawings[number], tolerance) if outline is None else outline
    return [found.get(k, ()) for k in range(len(drawings))]


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
    unsound = np.zeros(len(many.drawings), dtype=bool)
    unsound[rings.drawing[rings.of_vertex[many.backwards[chords.curve[owner]]]]] = True
    unsound[rings.hollow] = True
    return curves_back.curved(rings, owner, many, chords, chord, tolerance, unsound, careful=False)


def _with_care(drawing: Drawing, tolerance: float) -> Outline:
    """Return the outline of one drawing: nodes on a grid, cracks closed, chords as fine as it takes."""
    polygons: list[Complexes] = []
    drawing = replace(drawing, sure=drawing.sure.found())
    for attempt in range(ATTEMPTS):
        chord = CHORD_SHARE * tolerance / 6**attempt
        drawing, alone, chords, rings = _patched(drawing, chord, tolerance)
        if not len(rings.z):
            return ()
        owner, lost = sources(rings, chords, alone)
        if not lost.any() and drawing.backwards[chords.curve[owner]].any():
            across = cracks.bridges(rings.each(), drawing.backwards[chords.curve[owner]], tolerance)
            alone, chords = _with_bridges(alone, chords, across)
            rings = rings_of(alone, chords, tolerance, exact=True, across=across)
            if not len(rings.z):
                return ()
            owner, lost = sources(rings, chords, alone)
        polygons = rings.each()
        if not lost.any():
            none = np.zeros(1, dtype=bool)
            outline = curves_back.curved(rings, owner, alone, chords, chord, tolerance, none, careful=True)[0]
            if outline is not None:
                return outline
    corners = sum(len(ring) for ring in polygons)
    told = f"an outline is made of {corners} straight lines, as its curves cross each other"
    warnings.warn(told, StraightEdges, stacklevel=2)
    return curves_back.straight_outline(polygons)


def _patched(drawing: Drawing, chord: float, tolerance: float) -> tuple[Drawing, Board, Chords, Rings]:
    """Return a drawing's rings; where they run deep inside sure ink, discs of it are laid over the drawing first."""
    for rounds in range(PATCHES + 1):
        alone = board([drawing], grid_for(drawing.curves, chord))
        chords = chords_of(alone, chord)
        rings = rings_of(alone, chords, tolerance, exact=True)
        if rounds == PATCHES or not len(rings.z):
            break
        points = np.concatenate([rings.z, (rings.z + rings.z[rings.after]) / 2])
        centre, radius = drawing.sure.over(points, SURE_SHARE * tolerance)
        if not len(centre):
            break
        drawing = _with_discs(drawing, centre, radius - PATCH_INSET * tolerance, tolerance)
    return drawing, alone, chords, rings


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


def _with_bridges(alone: Board, chords: Chords, across: Complexes) -> tuple[Board, Chords]:
    """Return a board and its chords with straight bridges (n, 2) that bound but fill nothing."""
    n, first = len(across), len(alone.curves)
    a, b = snapped(across[:, 0], alone.grid), snapped(across[:, 1], alone.grid)
    lines = np.stack([a, a + (b - a) / 3, b - (b - a) / 3, b], axis=-1)
    yes, no = np.ones(n, dtype=bool), np.zeros(n, dtype=bool)
    wider = replace(
        alone,
        curves=np.concatenate([alone.curves, lines]),
        straight=np.concatenate([alone.straight, yes]),
        backwards=np.concatenate([alone.backwards, no]),
        bounding=np.concatenate([alone.bounding, yes]),
        drawing=np.concatenate([alone.drawing, np.zeros(n, dtype=np.int64)]),
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
