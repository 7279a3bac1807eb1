"""The boundary of ink as runs: stretches along one curve each, and what has to be mended before they are joined.

A union's rings are chords; a run gathers the chords of one curve. Where curves nearly coincide a boundary may leave a
curve and return to it (a detour), and a loop that was too small for the chords to see may be left between two runs.
Both are found for all rings at once, and mended ring by ring: few rings have any.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from guidegen.geometry import cubic as cb
from guidegen.geometry.cubic import Bools, Complexes, Floats, Ints
from guidegen.geometry.union.board import Chords
from guidegen.geometry.union.faces import Rings


@dataclass(slots=True)
class Run:
    """One run on its own: along ``curve`` from parameter a to b, the vertices it stands for, ends included."""

    curve: int
    a: float
    b: float
    start: complex
    end: complex
    points: Complexes


@dataclass(frozen=True, slots=True)
class Runs:
    """Runs in a row, ring after ring: curve, parameters, end vertices, length in chords, and the ring of each."""

    curve: Ints
    a: Floats
    b: Floats
    start: Complexes
    end: Complexes
    size: Floats
    ring: Ints
    from_edge: Ints  # first edge and number of edges, counted round the ring
    edges: Ints

    def neighbours(self) -> tuple[Ints, Ints, Ints]:
        """Return the run before and after each in its ring, and how many its ring has."""
        return neighbours(self.ring)

    def pick(self, which: Bools | Ints) -> Runs:
        """Return some of the runs."""
        return Runs(*(getattr(self, name)[which] for name in Runs.__slots__))


def neighbours(ring: Ints) -> tuple[Ints, Ints, Ints]:
    """Return the item before and after each in its ring, and how many its ring has; ``ring`` is in order."""
    new = np.append(True, ring[1:] != ring[:-1]) if len(ring) else np.zeros(0, dtype=bool)
    first = np.flatnonzero(new)
    count = np.diff(np.append(first, len(ring)))
    before, after = np.arange(-1, len(ring) - 1), np.arange(1, len(ring) + 1)
    before[first], after[first + count - 1] = first + count - 1, first
    return before, after, np.repeat(count, count)


def runs_of(rings: Rings, owner: Ints, chords: Chords) -> Runs:
    """Return the runs of all rings; ``owner`` is the chord on which each edge lies."""
    z, after, before = rings.z, rings.after, rings.before
    start, end, curve = z, z[after], chords.curve[owner]
    step = chords.end[owner] - chords.start[owner]
    square = step.real**2 + step.imag**2
    t0, t1 = chords.t0[owner], chords.t1[owner]
    ta, tb = (
        t0 + (t1 - t0) * np.clip(((p - chords.start[owner]) * np.conj(step)).real / square, 0, 1) for p in (start, end)
    )
    ahead = tb >= ta
    new = (curve != curve[before]) | (np.abs(ta - tb[before]) > 1e-6) | (ahead != ahead[before])
    lone = np.add.reduceat(new, rings.first[:-1]) == 0
    new[rings.first[:-1][lone]] = True
    firsts = np.flatnonzero(new)
    ring = np.searchsorted(rings.first, firsts, side="right") - 1
    _, following, _ = neighbours(ring)
    lasts = before[firsts[following]]
    in_ring = np.diff(rings.first)[ring]
    edges = (lasts - firsts) % in_ring + 1
    along = np.concatenate([[0.0], np.cumsum(np.abs(end - start))])
    wrapped = lasts < firsts
    size = along[lasts + 1] - along[firsts] + wrapped * (along[rings.first[ring + 1]] - along[rings.first[ring]])
    return Runs(curve[firsts], ta[firsts], tb[lasts], start[firsts], end[lasts], size, ring, firsts, edges)


def mended(runs: Runs, rings: Rings, curves: Complexes, shift: Complexes, chord: float) -> Runs:
    """Return the runs without detours and without loops too small for the chords to see.

    ``curves`` stand where they were drawn; ``shift`` (curves) moves each to the board, where the rings are.
    """
    suspect = _may_detour(runs) | _may_loop(runs, curves, shift, 40 * chord)
    if not suspect.any():
        return runs
    odd = np.unique(runs.ring[suspect])
    changed = [runs.pick(~np.isin(runs.ring, odd))]
    for ring in odd.tolist():
        mine = [_alone(runs, rings, k) for k in np.flatnonzero(runs.ring == ring).tolist()]
        placed = {run.curve: curves[run.curve] + shift[run.curve] for run in mine}
        mine = _merge_detours(mine, placed, 2 * chord)
        changed.append(_together(_skip_loops(mine, placed, 40 * chord), ring))
    whole = Runs(*(np.concatenate([getattr(r, name) for r in changed]) for name in Runs.__slots__))
    return whole.pick(np.argsort(whole.ring, kind="stable"))


def _alone(runs: Runs, rings: Rings, k: int) -> Run:
    ring = int(runs.ring[k])
    first, n = int(rings.first[ring]), int(rings.first[ring + 1] - rings.first[ring])
    vertices = first + (runs.from_edge[k] - first + np.arange(runs.edges[k] + 1)) % n
    a, b = float(runs.a[k]), float(runs.b[k])
    return Run(int(runs.curve[k]), a, b, complex(runs.start[k]), complex(runs.end[k]), rings.z[vertices])


def _together(runs: list[Run], ring: int) -> Runs:
    n = len(runs)
    sizes = [float(np.abs(np.diff(r.points)).sum()) for r in runs]
    ints = np.zeros(n, dtype=np.int64)
    return Runs(
        np.array([r.curve for r in runs], dtype=np.int64),
        np.array([r.a for r in runs]),
        np.array([r.b for r in runs]),
        np.array([r.start for r in runs]),
        np.array([r.end for r in runs]),
        np.array(sizes),
        np.full(n, ring),
        ints,
        ints,
    )


def _may_detour(runs: Runs) -> Bools:
    """Return the runs after which the boundary comes back to their curve, further on."""
    _, after, count = runs.neighbours()
    then = after[after]
    forward = (runs.a <= runs.b) & (runs.b <= runs.a[then]) & (runs.a[then] <= runs.b[then])
    return np.asarray((count > 2) & (runs.curve == runs.curve[then]) & forward)


def _may_loop(runs: Runs, curves: Complexes, shift: Complexes, short: float) -> Bools:
    """Return the short runs whose neighbours cross each other."""
    before, after, count = runs.neighbours()
    result = np.zeros(len(runs.ring), dtype=bool)
    k = np.flatnonzero((count > 3) & (runs.size < short))
    if not len(k):
        return result
    a, c = before[k], after[k]
    p, q = (curves[r] + shift[r][:, None] for r in (runs.curve[a], runs.curve[c]))
    x = cb.point(p, _near_ends(p, runs.b[a], runs.a[a], 3 * runs.size[k]))
    y = cb.point(q, _near_ends(q, runs.a[c], runs.b[c], 3 * runs.size[k]))
    meet = np.ones(len(k), dtype=bool)
    for u, v in ((x.real, y.real), (x.imag, y.imag)):
        meet &= (u.min(axis=1) <= v.max(axis=1)) & (v.min(axis=1) <= u.max(axis=1))
    result[k[meet]] = _cross(x[meet], y[meet])[0].any(axis=(1, 2))
    return result


def _cross(x: Complexes, y: Complexes) -> tuple[Bools, Floats, Floats]:
    """Return which bits of polylines x and y (n, m) cross, but for their first ones, and where along either."""
    dx, dy = np.diff(x)[:, :, None], np.diff(y)[:, None, :]
    gap = y[:, None, :-1] - x[:, :-1, None]
    cross = (np.conj(dx) * dy).imag
    with np.errstate(all="ignore"):
        m = (np.conj(gap) * dy).imag / cross
        n = (np.conj(gap) * dx).imag / cross
    hit = (m >= 0) & (m <= 1) & (n >= 0) & (n <= 1) & (cross != 0)
    hit[:, 0, 0] = False
    return hit, m, n


def _near_ends(p: Complexes, end: Floats, other: Floats, reach: Floats) -> Floats:
    """Return parameters (n, 25) from ``end`` towards ``other`` over about the length ``reach``, the curves p (n, 4)."""
    t = end[:, None] + (other - end)[:, None] * np.linspace(0, 1, 33) ** 2
    run = np.cumsum(np.abs(np.diff(cb.point(p, t))), axis=1)
    last = np.minimum((run < reach[:, None]).sum(axis=1) + 1, 32)
    far = t[np.arange(len(t)), last]
    return np.asarray(end[:, None] + (far - end)[:, None] * np.linspace(0, 1, 25))


def _merge_detours(runs: list[Run], curves: dict[int, Complexes], near: float) -> list[Run]:
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
            merged = Run(a.curve, a.a, b.b, a.start, b.end, np.concatenate([a.points, b.points]))
            drop = {k, (k + 1) % len(runs), (k + 2) % len(runs)}
            kept = [r for j, r in enumerate(runs) if j not in drop]
            place = sum(1 for j in range(k) if j not in drop)
            runs = [*kept[:place], merged, *kept[place:]]
            changed = True
            break
    return runs


def _stray(curve: Complexes, a: float, b: float, chain: Complexes) -> float:
    """Return how far a curve between two parameters and a polyline stray from each other."""
    on = cb.point(curve[None], np.linspace(a, b, 17)[None])[0]
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


def _skip_loops(runs: list[Run], curves: dict[int, Complexes], short: float) -> list[Run]:
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


def _crossing(a: Run, c: Run, curves: dict[int, Complexes], reach: float) -> tuple[float, float, complex] | None:
    """Return where the last bit of run a crosses the first bit of run c, inside of both."""
    p, q = curves[a.curve][None], curves[c.curve][None]
    u = _near_ends(p, np.array([a.b]), np.array([a.a]), np.array([reach]))
    v = _near_ends(q, np.array([c.a]), np.array([c.b]), np.array([reach]))
    x, y = cb.point(p, u), cb.point(q, v)
    (hit,), (m,), (n,) = _cross(x, y)
    i, j = np.nonzero(hit)
    if not len(i):
        return None
    k = int(np.argmax(i))
    i0, j0 = i[k], j[k]
    u, v, x = u[0], v[0], x[0]
    s = u[i0] + m[i0, j0] * (u[i0 + 1] - u[i0])
    t = v[j0] + n[i0, j0] * (v[j0 + 1] - v[j0])
    return float(s), float(t), complex(x[i0] + m[i0, j0] * (x[i0 + 1] - x[i0]))
