"""Draw a path anew with few cubics, or few chords."""

from __future__ import annotations

import math

import numpy as np

from guidegen.geometry import cubic as cb
from guidegen.geometry.cubic import Complexes, Floats, Ints
from guidegen.geometry.fit import fit_pieces
from guidegen.geometry.measure import flatten
from guidegen.geometry.path import Path, Segment
from guidegen.geometry.stroke.centreline import centreline, corner_pieces


def chords(path: Path, tolerance: float, shortest: float) -> Complexes:
    """Return the corners of a polyline within ``tolerance`` of the path, none nearer than ``shortest`` to the next.

    A closed path's first corner is not repeated. Corners that the tolerance cannot spare stay, however near.
    """
    import shapely

    points = flatten(path, tolerance / 2)
    line = np.append(points, points[0]) if path.closed else points
    slim = shapely.simplify(shapely.linestrings(np.stack([line.real, line.imag], axis=-1)), 0.45 * tolerance)
    kept = [complex(x, y) for x, y in shapely.get_coordinates(slim)]
    k = 1
    while k < len(kept) - 1 and len(kept) > 4:
        before, here, after = kept[k - 1 : k + 2]
        way = after - before
        off = abs(((here - before) * way.conjugate()).imag) / abs(way) if way else math.inf
        if min(abs(here - before), abs(after - here)) < shortest and off < 0.4 * tolerance:
            del kept[k]
        else:
            k += 1
    for k in range(len(kept) - 2, 0, -1):
        if len(kept) > 4 and k + 1 < len(kept) - 1 and abs(kept[k + 1] - kept[k]) < shortest:
            kept = _without_crumb(kept, k, line, tolerance / 2)
    return np.array(kept[:-1] if path.closed else kept)


def _without_crumb(kept: list[complex], k: int, line: Complexes, tolerance: float) -> list[complex]:
    """Return corners without the short chord from corner ``k`` on, as they are where that strays from the ``line``."""
    import shapely

    true = shapely.linestrings(np.stack([line.real, line.imag], axis=-1))
    a, b, c, d = kept[k - 1 : k + 3]
    cross = ((b - a).conjugate() * (d - c)).imag
    # where its neighbours would meet if they went on: on the outside of a gentle bend
    meeting = [b + (b - a) * ((c - b).conjugate() * (d - c)).imag / cross] if cross else []
    for instead in ([b], [c], [(b + c) / 2], meeting):
        tried = np.array([*kept[:k], *instead, *kept[k + 2 :]])
        drawn = shapely.linestrings(np.stack([tried.real, tried.imag], axis=-1))
        if shapely.hausdorff_distance(drawn, true) < tolerance:
            return list(tried)
    return kept


def resample(path: Path, tolerance: float, corner_deg: float = 1.0) -> Path:
    """Return the path as few cubics within ``tolerance``; ends, corners and the tangents there are kept.

    Turns sharper than ``corner_deg`` are corners; stretches that are straight become one line. Joints in between
    are fitted over. Raises ValueError unless the tolerance is positive.
    """
    if not tolerance > 0:
        raise ValueError(f"tolerance must be positive, not {tolerance}")
    line = centreline(path)
    if line.length == 0:
        return path
    marks = [0, *corner_pieces(line, corner_deg), len(line.curves)]
    first, last = np.array(marks[:-1]), np.array(marks[1:])
    low, high = line.s[first], line.s[last]

    def sample(span: Ints, s: Floats) -> tuple[Complexes, Complexes]:
        k = np.searchsorted(line.s, s, side="right") - 1
        k = np.clip(k, first[span][:, None], last[span][:, None] - 1)
        flat = k.ravel()
        inside = np.clip(s.ravel() - line.s[flat], 0, line.run[flat, -1])
        t = np.clip(cb.parameter_at(line.curves[flat], inside), 0, 1)
        t = np.where(s.ravel() >= line.s[flat + 1], 1.0, t)
        curves = line.curves[flat]
        return cb.point(curves, t).reshape(s.shape), cb.tangent(curves, t).reshape(s.shape)

    # joints inside a span are not smooth, so samples may miss more of the error than on one curve
    cubics, span, _ = fit_pieces(sample, low, high, 0.8 * tolerance)
    segments: list[Segment] = []
    for k in range(len(first)):
        a, b = complex(line.curves[first[k], 0]), complex(line.curves[last[k] - 1, 3])
        if all(line.straight[first[k] : last[k]]) and abs(abs(b - a) - (high[k] - low[k])) <= 1e-12 * abs(b - a):
            segments.append((a, b))
            continue
        chain = cubics[span == k]
        chain[1:, 0] = chain[:-1, 3]
        chain[0, 0], chain[-1, 3] = a, b
        segments += [tuple(complex(z) for z in c) for c in chain]
    return Path(tuple(segments), path.closed)
