"""Where dots stand: even along the path, on ends and corners, half a spacing from a join, never merging."""

import cmath
import math

import numpy as np
import pytest

from guidegen.fonts.dotted import Traced, all_dots
from guidegen.geometry.path import Path, polyline


def dots_of(strokes, spacing, *, starts=False):
    return all_dots([strokes], spacing, starts=starts)[0]


def arc(radius, turn=math.pi):
    """Return a half circle (by default) as cubics of at most a quarter turn each."""
    n = max(1, math.ceil(turn / (math.pi / 2)))
    step = turn / n
    handle = 4 / 3 * math.tan(step / 4) * radius
    segments = []
    for k in range(n):
        p, q = (radius * cmath.exp(1j * step * (k + j)) for j in (0, 1))
        segments.append((p, p + handle * 1j * p / radius, q - handle * 1j * q / radius, q))
    return Path(tuple(segments))


def test_dots_on_a_line_stand_on_both_ends_and_evenly():
    places = dots_of([Traced(polyline([0, 10]))], 1.1).places
    assert places[0] == 0
    assert places[-1] == 10
    assert np.diff([z.real for z in places]) == pytest.approx([10 / 9] * 9)


def test_dots_on_an_arc_have_equal_arc_length_between():
    places = np.array(dots_of([Traced(arc(10))], 0.9).places)
    angles = np.diff(np.angle(places))
    assert angles == pytest.approx([math.pi / 35] * 35, rel=2e-4)
    assert np.abs(places) == pytest.approx([10.0] * 36, rel=3e-4)  # the cubic's own error


def test_a_corner_carries_a_dot_once():
    places = dots_of([Traced(polyline([0, 5, 5 + 7j]))], 1.0).places
    assert places.count(5) == 1
    assert len(places) == 13


def test_two_letters_share_the_gap_at_their_join():
    left = dots_of([Traced(polyline([0, 7.3]), joins_after=True)], 1.0).places
    right = dots_of([Traced(polyline([7.3, 11.9]), joins_before=True)], 1.0).places
    assert 0.6 <= abs(right[0] - left[-1]) <= 1.4
    assert left[0] == 0
    assert right[-1] == pytest.approx(11.9)


@pytest.mark.parametrize("length", np.linspace(0.3, 5, 48))
def test_any_two_lengths_meet_within_the_bounds_at_a_join(length):
    spacing = 1.0
    middle = dots_of([Traced(polyline([0, length]), joins_before=True, joins_after=True)], spacing).places
    assert middle
    gaps = [middle[0].real, length - middle[-1].real]
    assert gaps == pytest.approx([gaps[0]] * 2)
    if length >= 0.6 * spacing:
        assert 0.3 - 1e-9 <= gaps[0] <= 0.7 + 1e-9


def test_a_retraced_stroke_has_no_merged_dots():
    down, up = polyline([10j, 0]), polyline([0.05, 0.05 + 9.6j])
    places = dots_of([Traced(down), Traced(up)], 1.0).places
    nearest = min(abs(a - b) for i, a in enumerate(places) for b in places[:i])
    assert nearest >= 0.55


def test_a_stroke_that_turns_back_on_itself_has_no_dot_twice():
    stroke = Traced(polyline([7j, 0, 7j, 2 + 9j]))
    places = dots_of([stroke], 1.0).places
    nearest = min(abs(a - b) for i, a in enumerate(places) for b in places[:i])
    assert nearest >= 0.55
    assert 0 in places


def test_a_point_is_one_dot():
    assert len(dots_of([Traced(polyline([1 + 1j, 1.1 + 1j]))], 1.0).places) == 1


def test_starts_are_told_apart_only_where_the_pen_is_put_down():
    strokes = [Traced(polyline([0, 5]), joins_before=True), Traced(polyline([2j, 5 + 2j]))]
    found = dots_of(strokes, 1.0, starts=True)
    assert found.starts == (2j,)
    assert 2j not in found.places
    assert dots_of(strokes, 1.0).starts == ()


def test_strokes_that_begin_together_share_a_start():
    strokes = [Traced(polyline([0, 5])), Traced(polyline([0, 5j])), Traced(polyline([9, 9 + 5j]))]
    assert dots_of(strokes, 1.0, starts=True).starts == (0, 9)
