"""Pieces of rings that are told to cross nothing do cross nothing, whatever chords show them."""

import numpy as np
import pytest
import shapely

from guidegen.geometry.measure import flatten_curves
from guidegen.geometry.path import Path
from guidegen.geometry.union import curves_back
from guidegen.geometry.union.clearance import clear_errors
from guidegen.geometry.union.pieces import Pieces, after_in_ring

TOLERANCE = 0.05
ERROR = TOLERANCE / curves_back.LOOKS[0]
SEEDS = range(60)


def rings(rng):
    """A few rings of cubics: wobbling circles, some nodes smooth, some not, some pieces straight, tiny or together."""
    curves, straight, ring = [], [], []
    for number in range(int(rng.integers(1, 4))):
        n = int(rng.integers(2, 12))
        angle = np.sort(rng.uniform(0, 2 * np.pi, n))
        if rng.random() < 0.3:
            angle[1] = angle[0] + 1e-3
        middle = complex(*rng.uniform(-1, 1, 2))
        node = middle + rng.uniform(0.3, 2) * np.exp(1j * angle) * rng.uniform(0.9, 1.1, n)
        after = np.roll(node, -1)
        size = np.abs(after - node) * rng.uniform(0.1, 0.6, n)
        turn = np.exp(1j * (angle + np.pi / 2 + rng.uniform(-1, 1, n) * rng.choice([0, 0.3, 2])))
        line = rng.random(n) < 0.2
        first = np.where(line, (2 * node + after) / 3, node + size * turn)
        second = np.where(line, (node + 2 * after) / 3, after - size * np.roll(turn, -1))
        curves += np.stack([node, first, second, after], axis=-1).tolist()
        straight += line.tolist()
        ring += [number] * n
    return Pieces(np.array(curves), np.array(straight), np.array(ring))


@pytest.mark.parametrize("fine", [ERROR, ERROR / 8, ERROR / 60])
def test_clear_pieces_cross_nothing_however_they_are_flattened(fine):
    clear_ones = several = 0
    for seed in SEEDS:
        pieces = rings(np.random.default_rng(seed))
        n = len(pieces.ring)
        clear = clear_errors(pieces, np.zeros(n, dtype=complex), ERROR)
        after = after_in_ring(pieces.ring)
        for error in (np.maximum(np.minimum(clear, 1e9), fine), np.full(n, fine)):
            points, owner, _ = flatten_curves(pieces.curves, pieces.straight, error)
            xy = np.stack([points.real, points.imag], axis=-1)
            lines = shapely.linestrings(xy, indices=owner)
            for i in np.flatnonzero(clear > 0).tolist():
                assert lines[i].is_simple
                for j in np.flatnonzero(shapely.intersects(lines, lines[i])).tolist():
                    if j == i:
                        continue
                    assert after[i] == j or after[j] == i, (seed, i, j)
                    node = pieces.curves[i, 3] if after[i] == j else pieces.curves[i, 0]
                    shared = shapely.intersection(lines[i], lines[j])
                    assert shared.equals(shapely.Point(node.real, node.imag)), (seed, i, j)
        clear_ones += (clear > 0).sum()
        several += n
    assert 0.2 * several < clear_ones < 0.95 * several


def test_looking_closely_at_some_tells_what_looking_at_all_does():
    crossed = apart = 0
    for seed in SEEDS:
        pieces = rings(np.random.default_rng(seed))
        outline = tuple(
            Path(tuple((c[0], c[3]) if s else tuple(c) for c, s in zip(*which, strict=True)), closed=True)
            for which in (
                (pieces.curves[pieces.ring == k].tolist(), pieces.straight[pieces.ring == k].tolist())
                for k in range(int(pieces.ring.max()) + 1)
            )
        )
        clean = [curves_back.is_clean(outline, TOLERANCE / part) for part in (*curves_back.LOOKS, 3000)]
        one = np.zeros(len(outline), dtype=np.int64)
        found = curves_back._crossed(pieces, one, np.zeros(1, dtype=complex), TOLERANCE)[0]
        if all(clean):
            assert not found, seed
            apart += 1
        elif not all(clean[:2]):
            assert found, seed
            crossed += 1
    assert min(crossed, apart) > 5


def test_most_of_a_plain_ring_is_clear_without_cuts():
    k = 0.5523
    quarter = np.array([1, 1 + k * 1j, k + 1j, 1j])
    circle = Pieces(quarter * 1j ** np.arange(4)[:, None], np.zeros(4, dtype=bool), np.zeros(4, dtype=np.int64))
    assert np.isinf(clear_errors(circle, np.zeros(4, dtype=complex), ERROR)).all()


def test_pieces_that_come_near_each_other_are_clear_only_if_their_parts_are():
    long = np.array([0, 1 + 1j, 3 + 1j, 4])
    for gap, expected in ((1.1, np.inf), (0.5, ERROR), (ERROR, 0)):
        above = (long + 1j * gap)[::-1]
        ends = [np.array([a, a + (b - a) / 3, b - (b - a) / 3, b]) for a, b in ((4, above[0]), (above[3], 0))]
        curves = np.stack([long, ends[0], above, ends[1]])
        pieces = Pieces(curves, np.array([False, True, False, True]), np.zeros(4, dtype=np.int64))
        assert clear_errors(pieces, np.full(4, 7 + 8j), ERROR)[0] == expected


def test_pieces_on_other_squares_have_nothing_to_do_with_each_other():
    one = np.array([0, 1 + 1j, -1 + 1j, 0.1])  # crosses itself
    square = np.array([[2, 2, 3, 3], [3, 3, 3 + 1j, 3 + 1j], [3 + 1j, 3 + 1j, 2, 2]])
    curves = np.concatenate([one[None], square])
    pieces = Pieces(curves, np.zeros(4, dtype=bool), np.array([0, 1, 1, 1]))
    assert clear_errors(pieces, np.array([0, 9, 9, 9], dtype=complex), ERROR).tolist() == [0, np.inf, np.inf, np.inf]


def test_nothing_is_sure_where_rounding_counts_or_numbers_are_missing():
    pieces = rings(np.random.default_rng(1))
    n = len(pieces.ring)
    assert not clear_errors(pieces, np.full(n, 1e10 + 0j), ERROR).any()
    pieces.curves[0, 1] = np.nan
    assert not clear_errors(pieces, np.zeros(n, dtype=complex), ERROR).any()
