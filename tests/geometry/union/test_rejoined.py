"""Many pieces become few where a cubic will do, and stay within what is allowed."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from guidegen.geometry import cubic as cb
from guidegen.geometry.union.pieces import Pieces
from guidegen.geometry.union.rejoined import rejoined


def chain(curves, straight=False):
    return Pieces(curves, np.full(len(curves), straight), np.zeros(len(curves), dtype=int))


def far(a, b):
    """The greatest distance between the edges of two rings, by shapely."""
    t = np.broadcast_to(np.linspace(0, 1, 300), (1, 300))
    edges = [
        shapely.LinearRing([(z.real, z.imag) for c in p.curves for z in cb.point(c[None], t)[0][:-1]]) for p in (a, b)
    ]
    return shapely.hausdorff_distance(*edges)


@pytest.mark.parametrize(("allowed", "most"), [(1e-2, 4), (1e-3, 8), (1e-4, 12)])
def test_a_circle_in_many_arcs_becomes_a_few(allowed, most):
    pieces = chain(cb.arc(1 + 2j, 3.0, 0.0, 2 * np.pi, 1e-12))
    pieces.curves[-1, 3] = pieces.curves[0, 0]
    assert len(pieces.curves) > 40
    found = rejoined(pieces, allowed)
    assert len(found.curves) <= most
    assert far(pieces, found) < 1.2 * allowed
    assert (found.curves[1:, 0] == found.curves[:-1, 3]).all()
    assert found.curves[-1, 3] == found.curves[0, 0]


def test_noise_below_what_is_allowed_goes():
    rng = np.random.default_rng(5)
    turn = np.linspace(0, 2 * np.pi, 200, endpoint=False)
    z = 3 * np.exp(1j * turn) + 0.0002 * (rng.normal(size=200) + 1j * rng.normal(size=200))
    pieces = chain(cb.as_cubics(list(zip(z.tolist(), np.roll(z, -1).tolist(), strict=True))), straight=True)
    found = rejoined(pieces, 0.002)
    assert len(found.curves) < 40
    assert far(pieces, found) < 0.004
    assert not found.straight[np.abs(found.curves[:, 3] - found.curves[:, 0]) > 0.2].any()


def test_corners_stay():
    corners = np.array([0, 4, 4 + 3j, 3j])
    along = np.linspace(0, 1, 12)[:-1]
    z = (corners[:, None] + (np.roll(corners, -1) - corners)[:, None] * along).ravel()
    pieces = chain(cb.as_cubics(list(zip(z.tolist(), np.roll(z, -1).tolist(), strict=True))), straight=True)
    found = rejoined(pieces, 1e-3)
    assert len(found.curves) <= 12
    assert far(pieces, found) < 1e-3


def test_rings_do_not_run_into_each_other():
    arcs = cb.arc(0j, 1.0, 0.0, 2 * np.pi, 1e-9)
    arcs[-1, 3] = arcs[0, 0]
    both = np.concatenate([arcs, arcs + 5])
    found = rejoined(Pieces(both, np.zeros(len(both), dtype=bool), np.repeat([0, 1], len(arcs))), 1e-3)
    for k, middle in enumerate((0, 5)):
        mine = found.curves[found.ring == k]
        assert len(mine) >= 3
        assert np.abs(np.abs(mine[:, 0] - middle) - 1).max() < 1e-9
