"""Looking up discs against looking at all of them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pytest

from guidegen.geometry.union import sure_ink
from guidegen.geometry.union.sure_ink import SureInk


@dataclass(frozen=True)
class Some:
    centre: np.ndarray
    radius: np.ndarray

    def discs(self):
        return self.centre, self.radius


@pytest.fixture(params=["side by side", "cell by cell"])
def ways(request, monkeypatch):
    if request.param == "cell by cell":
        monkeypatch.setattr(sure_ink, "_TOO_MANY", 0)


def drawn(seed, count=333):
    rng = np.random.default_rng(seed)
    line = np.cumsum(rng.normal(size=count) + 1j * rng.normal(size=count)) * 0.2
    sources = [Some(line[k::2], rng.uniform(0.1, 1.5, len(line[k::2]))) for k in (0, 1)]
    points = rng.choice(line, 500) + 2 * (rng.normal(size=500) + 1j * rng.normal(size=500))
    centre, radius = (np.concatenate([getattr(s, name) for s in sources]) for name in ("centre", "radius"))
    return SureInk(tuple(sources)), points, centre, radius


@pytest.mark.parametrize("least", [0.0, 0.3])
@pytest.mark.parametrize("seed", range(4))
def test_points_are_hidden_by_the_disc_they_lie_deepest_in(ways, seed, least):
    sure, points, centre, radius = drawn(seed)
    depth = (radius - np.abs(points[:, None] - centre)).max(axis=1)
    assert (sure.hides(points, least) == (depth > least)).all()
    assert (sure.found().hides(points, least) == (depth > least)).all()
    assert 0 < (depth > least).sum() < len(points)


@pytest.mark.parametrize("seed", range(4))
def test_a_few_discs_cover_every_deep_point(ways, seed):
    sure, points, centre, radius = drawn(seed)
    some, r = sure.over(points, 0.2)
    deep = (radius - np.abs(points[:, None] - centre)).max(axis=1) > 0.2
    assert ((r - np.abs(points[deep, None] - some)).max(axis=1) > 0.2).all()
    assert len(some) < 60
    assert np.isin(some, centre).all()


def test_boxes_that_are_held_lie_in_a_disc(ways):
    sure, points, centre, radius = drawn(9)
    half = np.random.default_rng(1).uniform(0, 0.3, len(points)) * (1 + 0.5j)
    held = sure.holds(points, points - half, points + half)
    corners = points[:, None] + half[:, None].real * [1, 1, -1, -1] + 1j * half[:, None].imag * [1, -1, 1, -1]
    inside = (np.abs(corners[:, :, None] - centre) < radius).all(axis=1).any(axis=1)
    assert inside[held].all()
    assert held.sum() > 0.5 * inside.sum()


def test_where_nothing_is_sure_nothing_is_hidden():
    points = np.array([0j, 1j])
    assert not SureInk().hides(points, 0.0).any()
    assert not SureInk().holds(points, points, points).any()
    assert len(SureInk().over(points, 0.0)[0]) == 0
