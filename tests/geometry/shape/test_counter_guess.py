"""The estimate of a counter against the ink it estimates, and against circles, whose white is known."""

import pytest

from guidegen.geometry.cubic import arc
from guidegen.geometry.path import Path, polyline
from guidegen.geometry.shape.counter_guess import bowl_estimate
from guidegen.geometry.shape.counters import holes, longest_chord
from guidegen.geometry.stroke.expand import expand
from guidegen.geometry.stroke.stroke import Stroke, Widths
from guidegen.hands.library import load_hand
from guidegen.lettering.lettering import Lettering
from guidegen.lettering.letters import letter
from guidegen.profiles.markers import Marker


def ring(centre, radius, width):
    curves = arc(centre, radius, 0.3, 6.2831853, 1e-6)
    return Stroke(Path(tuple(tuple(complex(z) for z in curve) for curve in curves)), Widths(((0.0, width),)))


@pytest.mark.parametrize("axis_deg", [55, 90, 120])
def test_a_ring_encloses_its_diameter_less_its_width(axis_deg):
    white = bowl_estimate([ring(3 + 4j, 5.0, 1.0)], axis_deg)
    assert white.width == pytest.approx(9.0, abs=0.01)


@pytest.mark.parametrize("downstroke_mm", [0.5, 3.2, 12.0])
@pytest.mark.parametrize("share", [0.1, 0.2, 0.6])
@pytest.mark.parametrize("x_height", [3.2, 4.2, 5.5])
def test_the_bowl_of_e_is_within_a_thousandth_of_its_ink(downstroke_mm, share, x_height):
    hand, marker = load_hand("joined"), Marker("m", "M", "brush", downstroke_mm, downstroke_mm * share)
    strokes = letter(Lettering(marker, hand, x_height * downstroke_mm), "e").strokes
    white = bowl_estimate(strokes, hand.slant_deg)
    outline = expand(strokes, downstroke_mm / 640)
    bowl = max(holes(outline), key=lambda hole: max(z.imag for segment in hole.segments for z in segment))
    chord = longest_chord(bowl, hand.slant_deg)
    allowed = 0.002 * downstroke_mm  # the outline's own tolerance on both sides, and a little
    assert white.width == pytest.approx(chord.width, abs=0.001 * chord.width + allowed)


def test_the_higher_of_two_counters_is_meant():
    white = bowl_estimate([ring(0j, 5.0, 1.0), ring(9j, 3.0, 1.0)], 90)
    assert white.width == pytest.approx(5.0, abs=0.02)


def test_a_line_encloses_nothing():
    assert bowl_estimate([Stroke(polyline([0j, 3 + 4j]), Widths(((0.0, 1.0),)))], 60) is None
