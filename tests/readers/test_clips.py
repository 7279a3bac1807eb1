"""What a clip leaves, by closed forms: chords of a circle, a square on its corner, a ring with a hole."""

import math

import pytest

from guidegen.geometry.measure import bounds, path_length
from guidegen.geometry.path import Path, polyline
from guidegen.readers.clips import clip_of, clipped

K = 4 / 3 * (math.sqrt(2) - 1)
"""Length of the handles of four cubics that are a circle to 0.03 %."""


def circle(radius, centre=0j):
    quarters = []
    for turn in (1, 1j, -1, -1j):
        a, b = centre + radius * turn, centre + radius * turn * 1j
        quarters.append((a, a + radius * turn * 1j * K, b + radius * turn * K, b))
    return Path(tuple(quarters), True)


def line(y, reach=60):
    return polyline((complex(-reach, y), complex(reach, y)))


def lengths(paths):
    return [path_length(path) for path in paths]


@pytest.mark.parametrize("y", [0.0, 10.0, 39.0])
def test_a_line_in_a_round_clip_is_its_chord(y):
    kept = clipped((line(y),), clip_of([circle(40)], None))
    assert lengths(kept) == pytest.approx([2 * math.sqrt(40**2 - y**2)], abs=0.15)  # cubics are 0.01 mm larger
    assert clipped((line(40.5),), clip_of([circle(40)], None)) == ()


def test_a_square_on_its_corner_is_no_box():
    clip = clip_of([polyline((30, 30j, -30, -30j), closed=True)], None)
    assert lengths(clipped((line(20),), clip)) == pytest.approx([20])
    corner = polyline((25 + 25j, 29 + 25j, 29 + 29j, 25 + 29j), closed=True)  # in the box, not in the square
    assert clipped((corner,), clip) == ()
    inside = (line(0, 5),)
    assert clipped(inside, clip) is inside


def test_a_hole_leaves_two_pieces_and_only_where_it_is_one():
    ring = [circle(40), circle(20)]  # both turn the same way
    assert lengths(clipped((line(0),), clip_of(ring, None, even_odd=True))) == pytest.approx([20, 20], rel=1e-3)
    assert lengths(clipped((line(0),), clip_of(ring, None))) == pytest.approx([80], rel=1e-3)


def test_clips_in_clips_leave_what_they_share():
    outer = clip_of([circle(40)], None)
    box = polyline((-10 - 50j, 50 - 50j, 50 + 50j, -10 + 50j), closed=True)
    assert lengths(clipped((line(0),), clip_of([box], outer))) == pytest.approx([50], rel=1e-3)
    assert lengths(clipped((line(0),), clip_of([circle(40, 40)], outer))) == pytest.approx([40], rel=1e-3)
    assert clipped((line(0),), clip_of([circle(5, 90)], outer)) == ()


def test_what_cannot_be_cut_is_kept_whole_where_it_shows():
    clip = clip_of([circle(40)], None)
    curved = (circle(10, 38),)
    assert clipped(curved, clip) is curved
    upright = polyline((-100 - 10j, 100 - 10j, 100 + 10j, -100 + 10j), closed=True)
    (kept,) = clipped((upright,), clip)
    low, high = bounds((kept,))
    assert (low.real, high.real) == pytest.approx((-40, 40), abs=0.02)
