"""On which chord does each edge of a ring lie? (A step of a union: :mod:`guidegen.geometry.union.unite`.)"""

from __future__ import annotations

import numpy as np

from guidegen.geometry.cubic import Bools, Complexes, Ints
from guidegen.geometry.union.board import Board, Chords, key_of, spans
from guidegen.geometry.union.faces import Rings

Pairs = tuple[Ints, Ints]
_MANY = 200_000  # pairs of points and segments from which on a tree is quicker than looking at all


def sources(rings: Rings, chords: Chords, board: Board) -> tuple[Ints, Bools]:
    """Return for each edge of the rings the chord it lies on, and the drawings for which some edge lies on none.

    Most edges are whole chords, found by their ends; those cut at a node, and straight ones, which may lie on longer
    ones, are looked for among all chords of their drawing. Of coincident chords one of the curve before is taken.
    """
    start, end = rings.z, rings.z[rings.after]
    noded = np.flatnonzero(board.bounding[chords.curve])  # the others made no edges
    edge, candidate = _equal(start, end, chords.start[noded], chords.end[noded])
    candidate = noded[candidate]
    straight = board.straight[chords.curve[candidate]]
    sure = np.zeros(len(start), dtype=bool)
    sure[edge] = True
    sure[edge[straight]] = False
    keep = sure[edge]
    more_edge, more_candidate = _near(np.flatnonzero(~sure), start, end, rings, chords, board, noded)
    edge = np.concatenate([edge[keep], more_edge])
    candidate = np.concatenate([candidate[keep], more_candidate])
    whole = _holds(start[edge], end[edge], chords.start[candidate], chords.end[candidate], 4 * board.grid)
    known = np.zeros(len(start), dtype=bool)
    known[edge[whole]] = True
    use = whole | ~known[edge]  # a chord that only touches the middle of a long edge may be parallel to it, too
    edge, candidate = edge[use], candidate[use]
    step, chord_step = (end - start)[edge], (chords.end - chords.start)[candidate]
    along = (step * np.conj(chord_step)).real
    order = np.lexsort((candidate, -np.round(along / (np.abs(step) * np.abs(chord_step))), edge))
    edge, candidate, along = edge[order], candidate[order], along[order]
    first = np.searchsorted(edge, np.arange(len(start) + 1))
    count = np.diff(first)
    lost = np.zeros(len(board.drawings), dtype=bool)
    lost[rings.drawing[rings.of_vertex[count == 0]]] = True
    owner = np.full(len(start), -1)
    owner[count > 0] = candidate[first[:-1][count > 0]]
    before = rings.before
    for k in np.flatnonzero(count > 1).tolist():
        options = candidate[first[k] : first[k + 1]]
        ahead = along[first[k] : first[k + 1]] > 0
        good = options[ahead] if ahead.any() else options
        same = good[chords.curve[good] == chords.curve[owner[before[k]]]]
        owner[k] = same[0] if len(same) else good[0]
    return owner, lost


def _holds(start: Complexes, end: Complexes, a: Complexes, b: Complexes, near: float) -> Bools:
    """Return which edges lie on their chords a-b from end to end, to within ``near``."""
    d = b - a
    square = d.real**2 + d.imag**2
    off = np.zeros(len(start))
    for z in (start - a, end - a):
        share = np.clip((z * np.conj(d)).real / square, 0, 1)
        off = np.maximum(off, np.abs(z - share * d))
    return np.asarray(off <= near)


def _equal(start: Complexes, end: Complexes, chord_start: Complexes, chord_end: Complexes) -> Pairs:
    """Return pairs of edges and the chords that have the same ends, in either direction."""
    if not len(chord_start):
        return np.zeros(0, dtype=np.int64), np.zeros(0, dtype=np.int64)
    there = key_of(chord_start, chord_end)
    order = np.argsort(there)
    there = there[order]
    runs = np.diff(np.flatnonzero(np.concatenate(([True], there[1:] != there[:-1], [True]))))
    alike = np.repeat(runs, runs)  # how many chords have the same key
    key = key_of(start, end)
    asked, low = np.argsort(key), np.empty(len(key), dtype=np.int64)
    low[asked] = np.searchsorted(there[:-1], key[asked])  # in order they are found much faster
    count = np.where(there[low] == key, alike[low], 0)
    chord, edge = order[spans(low, count)], np.repeat(np.arange(len(key)), count)
    a, b, c, d = start[edge], end[edge], chord_start[chord], chord_end[chord]
    real = ((a == c) & (b == d)) | ((a == d) & (b == c))
    return edge[real], chord[real]


def _near(
    edges: Ints, start: Complexes, end: Complexes, rings: Rings, chords: Chords, board: Board, noded: Ints
) -> Pairs:
    """Return pairs of edges and the chords of their drawing on which their middle lies."""
    middle = (start[edges] + end[edges]) / 2
    drawing = rings.drawing[rings.of_vertex[edges]]
    of = board.drawing[chords.curve[noded]]
    by_drawing = np.argsort(of, kind="stable")  # bridges come after all curves
    noded = noded[by_drawing]
    bounds = np.searchsorted(of[by_drawing], np.arange(len(board.drawings) + 1))
    found: list[Pairs] = [(np.zeros(0, dtype=np.int64), np.zeros(0, dtype=np.int64))]
    for k in sorted(set(drawing.tolist())):  # np.unique would import numpy.ma
        mine = np.flatnonzero(drawing == k)
        some = noded[bounds[k] : bounds[k + 1]]
        row, chord = _touching(middle[mine], chords.start[some], chords.end[some], 2 * board.grid)
        found.append((edges[mine[row]], some[chord]))
    return np.concatenate([f[0] for f in found]), np.concatenate([f[1] for f in found])


def _touching(p: Complexes, a: Complexes, b: Complexes, near: float) -> Pairs:
    """Return pairs of points and segments a-b no further than ``near`` from each other."""
    if len(p) * len(a) > _MANY:
        return _touching_many(p, a, b, near)
    low_x, high_x = np.minimum(a.real, b.real) - near, np.maximum(a.real, b.real) + near
    low_y, high_y = np.minimum(a.imag, b.imag) - near, np.maximum(a.imag, b.imag) + near
    x, y = p.real[:, None], p.imag[:, None]
    row, k = np.nonzero((x >= low_x) & (x <= high_x) & (y >= low_y) & (y <= high_y))
    d = b[k] - a[k]
    z = p[row] - a[k]
    share = np.clip((z * np.conj(d)).real / (d.real**2 + d.imag**2), 0, 1)
    close = np.abs(z - share * d) <= near
    return row[close], k[close]


def _touching_many(p: Complexes, a: Complexes, b: Complexes, near: float) -> Pairs:
    import shapely

    ends = np.stack([a, b], axis=1)
    tree = shapely.STRtree(shapely.linestrings(np.stack([ends.real, ends.imag], axis=-1)))
    row, k = tree.query(shapely.points(p.real, p.imag), predicate="dwithin", distance=near)
    return row, k
