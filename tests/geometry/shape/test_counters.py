"""Counters and their shape, against closed forms."""

from __future__ import annotations

import cmath
import math

import numpy as np
import pytest

from guidegen.geometry.measure import area, bounds, signed_area
from guidegen.geometry.path import Path, affine, polyline, reverse
from guidegen.geometry.shape.counters import counter_shape, holes, longest_chord

# x = cos t, y = sin t sin^m(t/2): area, length to width, skew, widest place (area and place in closed form)
DROPS = {1: (32 / 15, 1.299, 0.223, 1 / 3), 2: (math.pi / 2, 1.540, 0.385, 1 / 4), 3: (128 / 105, 1.747, 0.510, 1 / 5)}


def drop(m, tip_deg=0.0, mirrored=False):
    t = np.linspace(0, 2 * np.pi, 3001)[:-1]
    z = np.cos(t) + 1j * np.sin(t) * np.sin(t / 2) ** m  # the tip at +1
    z = (-z.conjugate() if mirrored else z) * cmath.exp(1j * math.radians(tip_deg))
    return polyline([complex(p) for p in z], closed=True)


def ellipse(a, b, turn_deg=0.0):
    k = 4 / 3 * math.tan(math.pi / 8)
    quarters = []
    for q in range(4):
        p, r = 1j**q, 1j ** (q + 1)
        quarters.append((p, p + 1j * p * k, r - 1j * r * k, r))
    turn = cmath.exp(1j * math.radians(turn_deg))
    return affine(Path(tuple(quarters), True), a * turn, 1j * b * turn, 0)


@pytest.mark.parametrize("m", DROPS)
@pytest.mark.parametrize("tip", [205.0, 230.0, 255.0, 310.0])
def test_drops_measure_as_their_closed_forms(m, tip):
    size, ratio, skew, widest = DROPS[m]
    shape = counter_shape(drop(m, tip))
    assert shape.area == pytest.approx(size, rel=1e-5)
    assert shape.length_to_width == pytest.approx(ratio, abs=6e-4)
    assert shape.skew == pytest.approx(skew, abs=6e-4)
    assert shape.widest_at == pytest.approx(widest, abs=2e-3)
    assert shape.tip_deg == pytest.approx(tip, abs=1e-3)
    assert shape.shape == "teardrop"


@pytest.mark.parametrize("m", DROPS)
def test_a_drop_upside_down_gives_the_opposite_answer(m):
    up, down = counter_shape(drop(m, 230.0, mirrored=True)), counter_shape(drop(m, 230.0))
    assert up.skew == pytest.approx(-down.skew, abs=1e-9)
    assert abs(up.tip_deg - down.tip_deg) == pytest.approx(180, abs=1e-6)
    assert up.shape == "ellipse"


def test_the_direction_of_travel_does_not_matter():
    a, b = counter_shape(drop(2, 220.0)), counter_shape(reverse(drop(2, 220.0)))
    assert (a.skew, a.tip_deg, a.area) == pytest.approx((b.skew, b.tip_deg, b.area))


def test_ellipse_circle_and_nothing_in_that_order():
    long = counter_shape(ellipse(3, 1, 50))
    assert (long.shape, long.widest_at) == ("ellipse", pytest.approx(0.5, abs=1e-3))
    assert long.skew == pytest.approx(0, abs=1e-9)
    assert long.axis_deg == pytest.approx(230, abs=1e-6)
    assert long.length_to_width == pytest.approx(3, rel=1e-4)
    assert counter_shape(ellipse(1.1, 1)).shape == "circle"
    assert counter_shape(None).shape == "closed"
    assert counter_shape(polyline([0, 1, 0], closed=True)).shape == "closed"


@pytest.mark.parametrize("axis", [52.0, 60.0, 75.0, 90.0])
def test_longest_chord_of_an_ellipse_is_its_diameter_in_that_direction(axis):
    a, b = 2.0, 1.0
    chord = longest_chord(reverse(ellipse(a, b)), axis)
    direction = math.radians(axis - 90)
    expected = 2 / math.hypot(math.cos(direction) / a, math.sin(direction) / b)
    assert chord.width == pytest.approx(expected, rel=4e-4)  # four cubics are within 2.7e-4 of an ellipse
    assert cmath.phase(chord.right - chord.left) == pytest.approx(direction, abs=1e-9)


def test_holes_come_largest_first():
    outline = (ellipse(9, 9), affine(reverse(ellipse(1, 1)), 1, 1j, 4), affine(reverse(ellipse(2, 1)), 1, 1j, -4))
    assert [round(signed_area(h), 1) for h in holes(outline)] == [-6.3, -3.1]


def test_area_and_bounds_of_cubics():
    assert area((ellipse(2, 1),)) == pytest.approx(2 * math.pi, rel=6e-4)
    low, high = bounds((ellipse(2, 1, 30),))
    half = complex(math.hypot(2 * math.cos(math.pi / 6), 0.5), math.hypot(1, math.cos(math.pi / 6)))
    assert high.real == pytest.approx(half.real, rel=3e-4)
    assert low.imag == pytest.approx(-half.imag, rel=3e-4)
