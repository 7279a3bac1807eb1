"""Which pieces of rings cross nothing, however they are flattened? The others are to be looked at closely.

All chords of a cubic lie within the hull of its control points. So a piece whose legs all go forward along some
direction does not cross itself; two pieces that follow each other meet at their node alone if a line through it has
the control points of the one on one side and those of the other on the other; two more are apart if a line parts
their control points, or those of all parts into which they are cut by more than the errors of their chords. What
cannot be told so may meet: most of it does not, either.
"""

from __future__ import annotations

import numpy as np

from guidegen.geometry import cubic as cb
from guidegen.geometry.cubic import Bools, Complexes, Floats, Ints
from guidegen.geometry.union.pieces import Pieces, after_in_ring

_FORWARD = 0.05  # of a leg's length, at least, is its way forward: far above rounding
_PARTS = 4  # of a piece that is long or bent beside another
_MOST = 20_000  # pairs whose parts are looked at
_LARGEST = 1e9  # times the error: beyond that, rounding might count
_ROUNDING = 1e-3  # of the error: far above it otherwise


def clear_errors(pieces: Pieces, place: Complexes, error: float) -> Floats:
    """Return up to which error of its chords each piece certainly crosses neither itself nor another one.

    The chords are those of the pieces moved to their ``place`` (n,), and no others' errors above theirs. Any does for
    most (inf), ``error`` for those that had to be cut, and none (0) for pieces of which it is not sure.
    """
    curves = pieces.curves + place[:, None]
    if not np.abs(curves.view(np.float64)).max(initial=0.0) < _LARGEST * error:
        return np.zeros(len(curves))
    after = after_in_ring(pieces.ring)
    unsure = ~_goes_forward(pieces.curves)
    beside = ~_parted_at_node(pieces.curves, pieces.curves[after]) | (after[after] == np.arange(len(after)))
    unsure |= beside
    unsure[after[beside]] = True
    p, q = _with_boxes_that_meet(curves, _ROUNDING * error)
    others = (p < q) & (after[p] != q) & (after[q] != p) & ~(unsure[p] & unsure[q])
    p, q = p[others], q[others]
    near = ~_parted(curves[p], curves[q], _ROUNDING * error)
    p, q = p[near], q[near]
    result = np.full(len(curves), np.inf)
    result[p] = result[q] = error
    if len(p) <= _MOST:
        near = ~_parts_parted(curves, p, q, 2.1 * error)
        p, q = p[near], q[near]
    unsure[p] = unsure[q] = True
    result[unsure] = 0
    return result


def _goes_forward(curves: Complexes) -> Bools:
    """Return which cubics go forward all the time along the line between their ends."""
    p = curves.T.copy()
    legs = np.diff(p, axis=0)
    return np.asarray((_along(legs, _unit(p[3] - p[0])) >= _FORWARD * np.abs(legs)).all(axis=0))


def _parted_at_node(first: Complexes, then: Complexes) -> Bools:
    """Return which cubics are parted from the ones that begin at their ends by a line through there."""
    p, q = first.T.copy(), then.T.copy()
    back, ahead = p[:3] - p[3], q[1:] - q[0]
    across = _unit(_unit(ahead).sum(axis=0) - _unit(back).sum(axis=0))
    parted = (_along(ahead, across) >= _FORWARD * np.abs(ahead)) & (_along(back, across) <= -_FORWARD * np.abs(back))
    return np.asarray(parted.all(axis=0))


def _with_boxes_that_meet(curves: Complexes, more: float) -> tuple[Ints, Ints]:
    """Return pairs of cubics whose boxes, larger by ``more`` on all sides, meet."""
    import shapely

    x, y = curves.real.T.copy(), curves.imag.T.copy()
    low_x, low_y, high_x, high_y = x.min(axis=0), y.min(axis=0), x.max(axis=0), y.max(axis=0)
    boxes = shapely.box(low_x - more, low_y - more, high_x + more, high_y + more)
    p, q = shapely.STRtree(boxes).query(boxes)
    return p, q


def _parted(p: Complexes, q: Complexes, gap: float) -> Bools:
    """Return which cubics have control points that lie further apart than ``gap`` in some direction."""
    p, q = p.T.copy(), q.T.copy()
    parted = np.zeros(p.shape[1], dtype=bool)
    for direction in (1j * (p[3] - p[0]), 1j * (q[3] - q[0]), q.sum(axis=0) - p.sum(axis=0)):
        unit = _unit(direction)
        a, b = _along(p, unit), _along(q, unit)
        parted |= (a.max(axis=0) + gap < b.min(axis=0)) | (b.max(axis=0) + gap < a.min(axis=0))
    return parted


def _parts_parted(curves: Complexes, p: Ints, q: Ints, gap: float) -> Bools:
    """Return which pairs of cubics are parted part by part."""
    asked = np.zeros(len(curves), dtype=bool)
    asked[p] = asked[q] = True
    number = np.cumsum(asked) - 1
    t = np.tile(np.arange(_PARTS) / _PARTS, int(asked.sum()))
    parts = cb.part(np.repeat(curves[asked], _PARTS, axis=0), t, t + 1 / _PARTS).reshape(-1, _PARTS, 4)
    a = np.repeat(parts[number[p]], _PARTS, axis=1).reshape(-1, 4)
    b = np.tile(parts[number[q]], (1, _PARTS, 1)).reshape(-1, 4)
    return np.asarray(_parted(a, b, gap).reshape(-1, _PARTS * _PARTS).all(axis=1))


def _along(z: Complexes, unit: Complexes) -> Floats:
    """Return the lengths of vectors (m, n) along unit vectors (n,)."""
    return np.asarray(z.real * unit.real + z.imag * unit.imag)


def _unit(z: Complexes) -> Complexes:
    return np.asarray(z / np.maximum(np.abs(z), 1e-300))
