"""The full downstroke against strokes whose width is known in closed form."""

import cmath
import math

import pytest

from guidegen.geometry.path import Path, polyline
from guidegen.geometry.shape.downstroke import full_downstroke
from guidegen.geometry.stroke.stroke import Nib, NibStroke, Stroke, Widths


def stem(from_axis_deg, axis_deg, length=10.0):
    step = -length * cmath.exp(1j * math.radians(axis_deg + from_axis_deg))
    return polyline([3 + 20j, 3 + 20j + step])


@pytest.mark.parametrize("axis_deg", [55.0, 90.0, 110.0])
@pytest.mark.parametrize("from_axis_deg", [-28.0, 0.0, 12.0])
def test_a_straight_stroke_is_its_width_over_the_cosine_of_its_lean(axis_deg, from_axis_deg):
    chord = full_downstroke([Stroke(stem(from_axis_deg, axis_deg), Widths(((0.0, 1.5),)))], axis_deg)
    assert chord.width == pytest.approx(1.5 / math.cos(math.radians(from_axis_deg)), rel=1e-3)
    assert cmath.phase((chord.right - chord.left) * cmath.exp(1j * math.radians(90 - axis_deg))) == pytest.approx(0)


def test_the_thickest_place_is_found_and_shown_where_it_lies():
    swelling = Stroke(stem(0, 90), Widths(((2.0, 0.4), (5.0, 2.0), (8.0, 0.4)), eased=True))
    chord = full_downstroke([swelling], 90)
    assert chord.width == pytest.approx(2.0, rel=1e-3)
    assert (chord.left + chord.right) / 2 == pytest.approx(3 + 15j, abs=0.06)


def test_upstrokes_turns_and_strokes_that_cross_do_not_count():
    up = Stroke(polyline([0j, 2 + 10j]), Widths(((0.0, 5.0),)))
    level = Stroke(polyline([15j, 6 + 15j]), Widths(((0.0, 3.0),)))
    down = Stroke(stem(0, 90), Widths(((0.0, 1.0),)))
    assert full_downstroke([up, level], 90) is None
    assert full_downstroke([up, level, down], 90).width == pytest.approx(1.0, rel=1e-3)


def test_a_curve_counts_only_where_it_runs_down_along_the_axis():
    """An even round stroke is widest, across the axis, where it turns away from it: by definition, at 30 degrees."""
    k = 4 / 3 * math.tan(math.pi / 8)
    left = Path(((10j, -10 * k + 10j, -10 + 10j * k, -10 + 0j), (-10 + 0j, -10 - 10j * k, -10 * k - 10j, -10j)))
    one = Stroke(left, Widths(((0.0, 1.0),)))
    assert full_downstroke([one], 90, within_deg=1.0).width == pytest.approx(1.0, rel=2e-3)
    assert 1.1 < full_downstroke([one], 90).width < 1 / math.cos(math.radians(30)) + 0.02


@pytest.mark.parametrize("angle_deg", [0.0, 30.0, 45.0, 90.0])
def test_an_upright_stem_of_a_nib_is_as_wide_as_the_nib_held_at_its_angle(angle_deg):
    turn = math.radians(angle_deg)
    chord = full_downstroke([NibStroke(stem(0, 90), Nib(3.0, 0.5, angle_deg))], 90)
    assert chord.width == pytest.approx(3 * math.cos(turn) + 0.5 * math.sin(turn), rel=0.01)
