"""Put curves back where their chords bound an area (the last steps of :mod:`guidegen.geometry.union`)."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from guidegen.geometry import cubic as cb
from guidegen.geometry.cubic import Bools, Complexes, Floats, Ints
from guidegen.geometry.measure import flatten_outline, signed_area
from guidegen.geometry.path import Outline, Path, Segment

if TYPE_CHECKING:
    from guidegen.geometry.union import Chords


@dataclass(slots=True)
class _Run:
    """A stretch of boundary along one curve, from parameter a to b, between two vertices."""

    curve: int
    a: float
    b: float
    start: complex
    end: complex
    points: Complexes


def curved(
    rings: list[Complexes], owner: Ints, curves: Complexes, straight: Bools, chords: Chords, chord: float
) -> Outline | None:
    """Return the rings with curves in place of their chords (``owner`` as :func:`sources` gives it).

    None if a loop did not keep its area to within some chord errors: finer chords are needed.
    """
    start = np.concatenate(rings)
    end = np.concatenate([np.roll(r, -1) for r in rings])
    paths: list[Path] = []
    at = 0
    for ring in rings:
        n = len(ring)
        runs = _runs(start[at : at + n], end[at : at + n], owner[at : at + n], chords)
        at += n
        runs = _merge_detours(runs, curves, 2 * chord)
        runs = _skip_loops(runs, curves, 40 * chord)
        segments = _segments(runs, curves, straight, chord)
        path = Path(tuple(segments), closed=True)
        around = float(np.abs(np.roll(ring, -1) - ring).sum())
        if len(segments) < 2 or abs(signed_area(path) - _polygon_area(ring)) > 2 * chord * around:
            return None
        paths.append(path)
    return tuple(paths)


def _polygon_area(z: Complexes) -> float:
    after = np.roll(z, -1)
    return float((z.real * after.imag - after.real * z.imag).sum()) / 2


def straight_outline(rings: list[Complexes]) -> Outline:
    """Return the rings as they are."""
    return tuple(
        Path(tuple((complex(a), complex(b)) for a, b in zip(r, np.roll(r, -1), strict=True)), closed=True)
        for r in rings
    )


def is_clean(outline: Outline, chord: float) -> bool:
    """True if no loop of the outline crosses itself or another, seen at chord error ``chord``."""
    import shapely

    if not outline:
        return True
    polygons = [np.stack([p.real, p.imag], axis=-1) for p in flatten_outline(outline, chord)]
    if any(len(p) < 3 for p in polygons):
        return False
    loops = shapely.polygons([shapely.linearrings(p) for p in polygons])
    if not shapely.is_valid(loops).all():
        return False
    if len(loops) == 1:
        return True
    tree = shapely.STRtree(loops)
    a, b = tree.query(loops, predicate="intersects")
    pair = a < b
    return not shapely.overlaps(loops[a[pair]], loops[b[pair]]).any()  # loops may touch


def sources(rings: list[Complexes], chords: Chords, grid: float) -> Ints | None:
    """Return for each edge of the rings the chord it lies on; among coincident ones, one of the curve before it.

    None if some edge lies on no chord.
    """
    import shapely

    start = np.concatenate(rings)
    end = np.concatenate([np.roll(r, -1) for r in rings])
    ends = np.stack([chords.start, chords.end], axis=1)
    tree = shapely.STRtree(shapely.linestrings(np.stack([ends.real, ends.imag], axis=-1)))
    middle = (start + end) / 2
    edge, candidate = tree.query(shapely.points(middle.real, middle.imag), predicate="dwithin", distance=2 * grid)
    along = ((end - start)[edge] * np.conj((chords.end - chords.start)[candidate])).real
    size = np.abs(end - start)[edge] * np.abs(chords.end - chords.start)[candidate]
    order = np.lexsort((candidate, -np.round(along / size), edge))
    edge, candidate, along = edge[order], candidate[order], along[order]
    first = np.searchsorted(edge, np.arange(len(start) + 1))
    if np.any(first[1:] == first[:-1]):
        return None
    owner = candidate[first[:-1]]
    several = np.flatnonzero(first[1:] - first[:-1] > 1)
    for k in several.tolist():
        options = candidate[first[k] : first[k + 1]]
        ahead = along[first[k] : first[k + 1]] > 0
        good = options[ahead] if ahead.any() else options
        before = chords.curve[owner[k - 1]]
        same = good[chords.curve[good] == before]
        owner[k] = same[0] if len(same) else good[0]
    return np.asarray(owner)


def _runs(start: Complexes, end: Complexes, owner: Ints, chords: Chords) -> list[_Run]:
    curve = chords.curve[owner]
    chord_step = chords.end[owner] - chords.start[owner]
    share0 = ((start - chords.start[owner]) * np.conj(chord_step)).real / np.abs(chord_step) ** 2
    share1 = ((end - chords.start[owner]) * np.conj(chord_step)).real / np.abs(chord_step) ** 2
    t0 = chords.t0[owner] + (chords.t1 - chords.t0)[owner] * np.clip(share0, 0, 1)
    t1 = chords.t0[owner] + (chords.t1 - chords.t0)[owner] * np.clip(share1, 0, 1)
    ahead = t1 >= t0
    new = (curve != np.roll(curve, 1)) | (np.abs(t0 - np.roll(t1, 1)) > 1e-6) | (ahead != np.roll(ahead, 1))
    firsts = np.flatnonzero(new)
    if not len(firsts):
        firsts = np.array([0])
    n = len(start)
    runs = []
    for k, f in enumerate(firsts.tolist()):
        last = int(firsts[(k + 1) % len(firsts)]) - 1
        last = last + n if last < f else last
        index = np.arange(f, last + 1) % n
        points = np.append(start[index], end[index[-1]])
        runs.append(_Run(int(curve[f]), float(t0[f]), float(t1[index[-1]]), start[f], end[index[-1]], points))
    return runs


def _merge_detours(runs: list[_Run], curves: Complexes, near: float) -> list[_Run]:
    """Undo detours: where the boundary leaves a curve and returns to it staying within ``near``, keep the curve."""
    changed = True
    while changed and len(runs) > 2:
        changed = False
        for k in range(len(runs)):
            a, between, b = runs[k], runs[(k + 1) % len(runs)], runs[(k + 2) % len(runs)]
            if a is b or a.curve != b.curve or not (a.a <= a.b <= b.a <= b.b):
                continue
            if _stray(curves[a.curve], a.b, b.a, between.points) > near:
                continue
            merged = _Run(a.curve, a.a, b.b, a.start, b.end, np.concatenate([a.points, b.points]))
            drop = {k, (k + 1) % len(runs), (k + 2) % len(runs)}
            kept = [r for j, r in enumerate(runs) if j not in drop]
            place = sum(1 for j in range(k) if j not in drop)
            runs = [*kept[:place], merged, *kept[place:]]
            changed = True
            break
    return runs


def _stray(curve: Complexes, a: float, b: float, chain: Complexes) -> float:
    """Return how far a curve between two parameters and a polyline stray from each other."""
    on = cb.point(np.repeat(curve[None], 17, axis=0), np.linspace(a, b, 17))
    steps = np.linspace(0, 1, 5)[:-1]
    dense = np.append((chain[:-1, None] + np.diff(chain)[:, None] * steps).ravel(), chain[-1])
    return max(_far(dense, on), _far(on, dense))


def _far(points: Complexes, chain: Complexes) -> float:
    """Return the greatest distance from the points to a polyline."""
    d = np.diff(chain)
    size = np.abs(d) ** 2
    z = points[:, None] - chain[:-1]
    share = np.clip((z * np.conj(d)).real / np.where(size > 0, size, 1), 0, 1)
    return float(np.abs(z - share * d).min(axis=1).max())


def _skip_loops(runs: list[_Run], curves: Complexes, short: float) -> list[_Run]:
    """Drop short runs whose neighbours cross each other: the loop between was too small for the chords to see."""
    k = 0
    while k < len(runs) and len(runs) > 3:  # of three runs any two meet at their other ends too
        a, b, c = runs[k - 1], runs[k], runs[(k + 1) % len(runs)]
        size = float(np.abs(np.diff(b.points)).sum())
        found = _crossing(a, c, curves, 3 * size) if size < short and a is not c else None
        if found is None:
            k += 1
            continue
        a.b, c.a, where = found
        a.end = c.start = where
        runs.pop(k)
        k = max(0, k - 1)
    return runs


def _crossing(a: _Run, c: _Run, curves: Complexes, reach: float) -> tuple[float, float, complex] | None:
    """Return where the last bit of run a crosses the first bit of run c, inside of both."""
    p, q = curves[a.curve], curves[c.curve]
    u = _near_end(p, a.b, a.a, reach)
    v = _near_end(q, c.a, c.b, reach)
    x, y = cb.point(np.repeat(p[None], len(u), 0), u), cb.point(np.repeat(q[None], len(v), 0), v)
    dx, dy = np.diff(x)[:, None], np.diff(y)[None, :]
    gap = y[None, :-1] - x[:-1, None]
    cross = (np.conj(dx) * dy).imag
    with np.errstate(all="ignore"):
        m = (np.conj(gap) * dy).imag / cross
        n = (np.conj(gap) * dx).imag / cross
    i, j = np.nonzero((m >= 0) & (m <= 1) & (n >= 0) & (n <= 1) & (cross != 0))
    away = (i + j) > 0
    if not away.any():
        return None
    i, j = i[away], j[away]
    k = int(np.argmax(i))
    first = i[k], j[k]
    s = u[first[0]] + m[first] * (u[first[0] + 1] - u[first[0]])
    t = v[first[1]] + n[first] * (v[first[1] + 1] - v[first[1]])
    return float(s), float(t), complex(x[first[0]] + m[first] * (x[first[0] + 1] - x[first[0]]))


def _near_end(p: Complexes, end: float, other: float, reach: float) -> Floats:
    """Return parameters from ``end`` towards ``other`` over about the length ``reach``, denser at the end."""
    t = end + (other - end) * np.linspace(0, 1, 33) ** 2
    run = np.cumsum(np.abs(np.diff(cb.point(np.repeat(p[None], 33, 0), t))))
    last = min(int(np.searchsorted(run, reach)) + 1, 32)
    return np.asarray(end + (t[last] - end) * np.linspace(0, 1, 25))


def _segments(runs: list[_Run], curves: Complexes, straight: Bools, chord: float) -> list[Segment]:
    """Return the pieces of curve, joined exactly: at their intersection, or midway where there is none."""
    runs = [r for r in runs if np.abs(np.diff(r.points)).sum() > chord / 20] or runs
    n = len(runs)
    if n < 2 and abs(runs[0].start - runs[0].end) > chord:
        return []
    nodes = [_meet(runs[k - 1], runs[k], curves, chord) for k in range(n)]
    segments: list[Segment] = []
    for k, run in enumerate(runs):
        a, b = nodes[k], nodes[(k + 1) % n]
        if a == b and n > 1:
            continue
        if straight[run.curve]:
            segments.append((a, b))
            continue
        c = cb.part(curves[run.curve][None], np.array([run.a]), np.array([run.b]))[0].tolist()
        segments.append((a, c[1] + (a - c[0]), c[2] + (b - c[3]), b))
    return _join_lines(segments, chord)


def _meet(before: _Run, after: _Run, curves: Complexes, chord: float) -> complex:
    """Return where two runs meet and set their parameters there."""
    p, q = curves[before.curve], curves[after.curve]
    if before.b == 1 and after.a == 0 and p[3] == q[0]:
        return complex(q[0])
    if before.b == 0 and after.a == 1 and p[0] == q[3]:
        return complex(q[3])
    where = (before.end + after.start) / 2
    u, v = before.b, after.a
    pair = np.stack([p, q])
    best = None
    for _ in range(8):
        t = np.array([u, v])
        on, speed = cb.point(pair, t), cb.derivative(pair, t)
        gap = on[1] - on[0]
        cross = (np.conj(speed[0]) * speed[1]).imag
        if abs(gap) < 1e-13 * (1 + abs(where)):
            best = complex(on[0])
            break
        if abs(cross) < 1e-9 * abs(speed[0]) * abs(speed[1]) + 1e-300:
            break
        u += (np.conj(gap) * speed[1]).imag / cross
        v += (np.conj(gap) * speed[0]).imag / cross
        if not (-0.01 <= u <= 1.01 and -0.01 <= v <= 1.01):
            break
    inside = -1e-9 <= u <= 1 + 1e-9 and -1e-9 <= v <= 1 + 1e-9
    ahead = (u - before.a) * (before.b - before.a) > 0 and (after.b - v) * (after.b - after.a) > 0
    if best is not None and inside and ahead and abs(best - where) <= 20 * chord:
        before.b, after.a = float(np.clip(u, 0, 1)), float(np.clip(v, 0, 1))
        return best
    return complex(where)


def _join_lines(segments: list[Segment], chord: float) -> list[Segment]:
    """Join consecutive lines that go on straight."""
    n = len(segments)
    first = next((k for k in range(n) if not _goes_on(segments[k - 1], segments[k], chord)), 0)
    result: list[Segment] = []
    for segment in segments[first:] + segments[:first]:
        if result and _goes_on(result[-1], segment, chord):
            result[-1] = (result[-1][0], segment[1])
        else:
            result.append(segment)
    return result


def _goes_on(a: Segment, b: Segment, chord: float) -> bool:
    if len(a) != 2 or len(b) != 2:
        return False
    whole, first = b[1] - a[0], a[1] - a[0]
    if abs(whole) == 0 or (whole * first.conjugate()).real <= 0:
        return False
    return abs((whole.conjugate() * first).imag) / abs(whole) < 1e-4 * chord


