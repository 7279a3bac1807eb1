"""Slow points and turning points of cubics, against closed forms and numpy's roots."""

from __future__ import annotations

import numpy as np
import pytest

from guidegen.geometry.cubic import as_cubics
from guidegen.geometry.stroke.slow_points import quadratic_roots, real_roots_in_unit, slow_points_of, turning_points


def slow_points(segment):
    return slow_points_of(as_cubics([segment]))[0]


def test_slow_points_are_found_at_cusps_and_near_cusps():
    assert slow_points((0j, 4 + 4j, 4j, 4 + 0j)) == pytest.approx([0.5])
    assert slow_points((0j, 4 + 4j, 0.02 + 4j, 4 + 0j)) == pytest.approx([0.5], abs=0.01)
    assert slow_points((0j, 1 + 3j, 3 + 3j, 4 + 0j)) == []
    assert turning_points((0j, 6 + 0j, -2 + 0j, 4 + 0j)) == pytest.approx([0.3, 0.7], abs=0.05)
    assert turning_points((0j, 6 + 1j, -2 + 0j, 4 + 0j)) is None


def test_roots_of_quadratics_agree_with_numpy():
    rng = np.random.default_rng(3)
    a = rng.uniform(-1, 1, (200, 3)) * rng.choice([1, 1, 1, 0], (200, 3))
    for row, found in zip(a, quadratic_roots(*a.T), strict=True):
        roots = np.roots(row[::-1])
        expected = sorted(t.real for t in roots if abs(t.imag) == 0 and 1e-9 < t.real < 1 - 1e-9)
        assert sorted(found[np.isfinite(found)]) == pytest.approx(expected, abs=1e-9)
        assert real_roots_in_unit(*row) == pytest.approx(expected, abs=1e-9)
