"""Outlines without crumbs and kinks: no segment too short for a blade to turn on, no joint that turns by a hair.

A machine slows down at every joint that turns and stutters on segments shorter than its step. Crumbs are drawn
together with a neighbour they go on from smoothly, or given up to the corner they stand in; a joint between
curves that turns by a few degrees is rounded over a short way on either side.
"""

from __future__ import annotations

import cmath
import itertools
import math
from collections.abc import Iterator

from guidegen.geometry import cubic as cb
from guidegen.geometry.blade.defects import crossings
from guidegen.geometry.blade.resample import resample
from guidegen.geometry.path import Path, Segment

SMOOTH_DEG = 1.0
"""Joints that turn by less are none."""
CORNER_DEG = 10.0
"""Joints that turn by more are corners of the drawing."""
_PASSES = 3
_ROUNDED = 4 / 27 / 2
"""How far a curve moves, in its own length and the angle that one of its ends is turned by. A handle of a third of
the length moves it by 4/9 of the handle's way at most (the greatest value of 3 t (1 - t)^2), each side by half."""


def tidied(path: Path, shortest: float, tolerance: float) -> Path:
    """Return ``path`` without segments shorter than ``shortest`` and without kinks, within ``tolerance``.

    Corners of the drawing stay; one that is cut off over less than ``shortest`` becomes sharp, which may move the
    outline by half of that. A path that would come to less than three segments stays as it is.
    """
    segments = _without_crumbs(list(path.segments), shortest, tolerance, closed=path.closed)
    for _ in range(_PASSES):  # a line that was bent at one end may meet another at a kink, which lines alone may
        before = segments
        segments = _without_kinks(segments, shortest, tolerance, closed=path.closed)
        if len(segments) == len(before) and segments == before:
            break
    return Path(tuple(segments), path.closed)


def length(segment: Segment) -> float:
    """Return a segment's length, within about a thousandth."""
    if len(segment) == 2:
        return abs(segment[1] - segment[0])
    spots = [_point(segment, k / 16) for k in range(17)]
    return sum(abs(b - a) for a, b in itertools.pairwise(spots))


def turn_deg(a: Segment, b: Segment) -> float:
    """Return by how many degrees a path turns from ``a`` to ``b`` at their joint; left is positive."""
    turn = _way(b) / _way(a[::-1]) * -1
    return math.degrees(cmath.phase(turn)) if turn else 0.0


def _point(segment: Segment, t: float) -> complex:
    a, b, c, d = segment
    u = 1 - t
    return u * u * (u * a + 3 * t * b) + t * t * (3 * u * c + t * d)


def _way(segment: Segment) -> complex:
    """Return the direction in which a segment leaves, 0 for one of no length."""
    ways = (z - segment[0] for z in segment[1:])
    return next((way / abs(way) for way in ways if abs(way) > 1e-9), 0j)


def _without_crumbs(segments: list[Segment], shortest: float, tolerance: float, *, closed: bool) -> list[Segment]:
    lengths = [length(segment) for segment in segments]
    while len(segments) > 3:
        k = min(range(len(segments)), key=lengths.__getitem__)
        if lengths[k] >= shortest:
            break
        if closed:  # in second place the crumb has a neighbour on both sides
            segments = segments[k - 1 :] + segments[: k - 1]
            lengths = lengths[k - 1 :] + lengths[: k - 1]
            k = 1
        before = segments[k - 1] if k else None
        after = segments[k + 1] if k + 1 < len(segments) else None
        for new, first, stop in _ways_together(before, segments[k], after, shortest, tolerance):
            tried = [*segments[: k + first], *new, *segments[k + stop :]]
            smooth = stop - first < 3  # two made one along the same way cross nothing new
            if smooth or _is_simple(tried, tolerance, closed=closed):
                segments = tried
                lengths[k + first : k + stop] = [length(segment) for segment in new]
                break
        else:
            lengths[k] = math.inf  # whatever replaced it would cross the path elsewhere
    return segments


def _is_simple(segments: list[Segment], tolerance: float, *, closed: bool) -> bool:
    return not crossings([Path(tuple(segments), closed)], tolerance / 4)[0]


def _ways_together(
    before: Segment | None, crumb: Segment, after: Segment | None, shortest: float, tolerance: float
) -> Iterator[tuple[list[Segment], int, int]]:
    """Yield what may stand in place of a crumb and its neighbours, and which of them it replaces (-1 to 2)."""
    pairs = (((before, crumb), (-1, 1)), ((crumb, after), (0, 2)))
    for (a, b), span in pairs:
        if a is None or b is None or abs(turn_deg(a, b)) > SMOOTH_DEG:
            continue
        one = _as_one(a, b, tolerance)
        if all(length(segment) >= shortest for segment in one):
            yield one, *span
    if before is None or after is None:
        kept = _moved(after, 0, crumb[0]) if after else _moved(before or crumb, -1, crumb[-1])
        yield [kept], *((0, 2) if after else (-1, 1))
        return
    for spot in (_corner(before, crumb, after), (crumb[0] + crumb[-1]) / 2, crumb[0], crumb[-1]):
        yield [_moved(before, -1, spot), _moved(after, 0, spot)], -1, 2


def _as_one(a: Segment, b: Segment, tolerance: float) -> list[Segment]:
    if len(a) == len(b) == 2:
        return [(a[0], b[1])]
    return list(resample(Path((a, b)), tolerance, corner_deg=2 * SMOOTH_DEG).segments)


def _corner(before: Segment, crumb: Segment, after: Segment) -> complex:
    """Return where the neighbours of a crumb meet: where they would if they went on, if that is near, else midway."""
    middle = (crumb[0] + crumb[-1]) / 2
    out, back = -_way(before[::-1]), -_way(after)
    cross = (out.conjugate() * back).imag
    if abs(cross) > math.sin(math.radians(CORNER_DEG)):
        gap = crumb[-1] - crumb[0]
        ahead, behind = (gap.conjugate() * back).imag / cross, -(out.conjugate() * gap).imag / cross
        if 0 <= ahead <= abs(gap) * 1.5 and 0 <= behind <= abs(gap) * 1.5:
            return crumb[0] + ahead * out
    return middle


def _moved(segment: Segment, end: int, spot: complex) -> Segment:
    """Return a segment with its first (0) or last (-1) point at ``spot``, its direction there kept."""
    by = spot - segment[end]
    if len(segment) == 2:
        return (spot, segment[1]) if end == 0 else (segment[0], spot)
    a, b, c, d = segment
    return (spot, b + by, c, d) if end == 0 else (a, b, c + by, spot)


def _without_kinks(segments: list[Segment], shortest: float, tolerance: float, *, closed: bool) -> list[Segment]:
    if len(segments) < 2:
        return segments
    done = list(segments)
    heads: list[list[Segment]] = [[] for _ in segments]  # what was split off at each segment's start
    tails: list[list[Segment]] = [[] for _ in segments]
    for k in range(0 if closed else 1, len(segments)):
        a, b = done[k - 1], done[k]
        if len(a) == len(b) == 2:
            continue
        turn = turn_deg(a, b)
        if not SMOOTH_DEG / 2 < abs(turn) < CORNER_DEG:
            continue
        reach = tolerance / (_ROUNDED * math.radians(abs(turn)))
        way = -_way(a[::-1]) * cmath.rect(1, math.radians(turn / 2))
        rest, end = _split_off(a[::-1], reach, shortest)
        done[k - 1] = rest[::-1] if rest else _turned(end, -way)[::-1]
        if rest:
            tails[k - 1] = [_turned(end, -way)[::-1]]
        rest, start = _split_off(b, reach, shortest)
        done[k] = rest or _turned(start, way)
        if rest:
            heads[k] = [_turned(start, way)]
    return [one for k in range(len(done)) for one in (*heads[k], done[k], *tails[k])]


def _split_off(segment: Segment, reach: float, shortest: float) -> tuple[Segment | None, Segment]:
    """Return the rest and the first ``reach`` of a segment as a cubic; no rest where that is about all of it."""
    whole = length(segment)
    share = reach / whole
    if share > 0.7 or whole - reach < shortest or reach < shortest:
        return None, cb.as_cubic(segment)
    if len(segment) == 2:
        spot = segment[0] + share * (segment[1] - segment[0])
        return (spot, segment[1]), cb.as_cubic((segment[0], spot))
    first, rest = cb.split(segment, _parameter(segment, reach))
    return rest, first


def _parameter(segment: Segment, reach: float) -> float:
    """Return the parameter at which a cubic has run ``reach``, within a 32nd of it."""
    run, now = 0.0, segment[0]
    for k in range(1, 33):
        here = _point(segment, k / 32)
        step = abs(here - now)
        if run + step >= reach:
            return (k - 1 + (reach - run) / step) / 32
        run, now = run + step, here
    return 1.0


def _turned(segment: Segment, way: complex) -> Segment:
    """Return a cubic that leaves its start in the direction ``way``, its handle as long as before."""
    a, b, c, d = segment
    handle = abs(b - a) or abs(d - a) / 3
    return (a, a + handle * way, c, d)
