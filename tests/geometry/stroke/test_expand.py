"""Strokes to outlines: the tolerance test on nasty shapes, closed forms, cuts, random curves."""

from __future__ import annotations

import cmath
import math

import bounds_check
import dense
import nasty
import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from guidegen.geometry.measure import area, bounds, path_length, signed_area
from guidegen.geometry.path import Path, polyline
from guidegen.geometry.stroke.expand import expand, expand_all, raw_drawing, raw_drawings
from guidegen.geometry.stroke.stroke import Nib, NibStroke, Stroke, Widths
from guidegen.geometry.union.curves_back import is_clean

CASES = [(f"{group}: {name}", path) for group, items in nasty.shapes().items() for name, path in items]


def nth(things, k):
    return list(things)[k % len(things)]


def well_made(outline):
    for path in outline:
        assert path.closed
        assert path.start == path.end
        for a, b in zip(path.segments, path.segments[1:], strict=False):
            assert a[-1] == b[0]
        assert all(np.abs(np.diff(s)).sum() > 0 for s in path.segments)
        assert len(set(path.segments)) == len(path.segments)


def test_there_are_at_least_90_nasty_shapes():
    assert len(CASES) >= 90
    assert len(nasty.profiles(1)) >= 5


@pytest.mark.parametrize("k", range(len(CASES)), ids=[name for name, _ in CASES])
def test_nasty_shapes_keep_the_tolerance(k):
    # every shape with one profile and tolerance here; all of them in benchmarks/bench_stroke.py
    path = CASES[k][1]
    tolerance = 0.001 if k % 17 == 2 else 0.01 if k % 2 else 0.05
    widths = nth(nasty.profiles(path_length(path)).values(), k)
    stroke = Stroke(path, widths)
    outline = expand([stroke], tolerance)
    well_made(outline)
    assert is_clean(outline, tolerance / 50)  # chords much coarser may cross where their curves do not
    assert max(dense.excess(outline, [stroke], tolerance)) < 1e-6


CUT = [k for k in range(0, len(CASES), 6) if path_length(CASES[k][1]) > 0]  # a dot has no end to cut


@pytest.mark.parametrize("k", CUT, ids=[CASES[k][0] for k in CUT])
def test_cut_ends_keep_the_tolerance(k):
    path = CASES[k][1]
    stroke = Stroke(path, nth(nasty.profiles(path_length(path)).values(), k // 6), 75.0, 20.0 if k % 2 else None)
    assert max(dense.excess(expand([stroke], 0.01), [stroke], 0.01)) < 1e-6


def test_the_reference_can_tell():
    # the tolerance test must fail on an outline that is 1.5 tolerances too fat, or too thin
    path, tolerance = nasty.one(0, 9 + 7j, -5 + 7j, 4), 0.01
    right = Stroke(path, Widths(((0, 1.0),)))
    for change, which in ((3 * tolerance, 1), (-3 * tolerance, 0)):
        wrong = expand([Stroke(path, Widths(((0, 1.0 + change),)))], tolerance)
        assert dense.excess(wrong, [right], tolerance)[which] > 1e-3


@pytest.mark.parametrize("direction_deg", [0.0, 33.0, 90.0, 200.0])
@pytest.mark.parametrize("width", [0.12, 0.8, 6.8])
def test_straight_stroke_of_constant_width_is_exact(direction_deg, width):
    end = 20 * cmath.exp(1j * math.radians(direction_deg))
    (loop,) = expand([Stroke(polyline([0, end]), Widths(((0, width),)))], 0.005)
    lines = [s for s in loop.segments if len(s) == 2]
    assert len(lines) == 2
    turn = end.conjugate() / abs(end)
    offsets = sorted((s[0] * turn).imag for s in lines)
    assert offsets == pytest.approx([-width / 2, width / 2], abs=0.002 / 2)
    assert all(abs((s[1] - s[0]) * turn) == pytest.approx(20, abs=0.002) for s in lines)


def test_straight_taper_has_the_closed_form_edge_angle():
    # two discs of radii r1, r2 at distance d: their common tangents lean by asin((r1 - r2)/d)
    r1, r2, d = 1.5, 0.25, 6.0
    (loop,) = expand([Stroke(polyline([0, d]), Widths(((0, 2 * r1), (d, 2 * r2))))], 0.001)
    lines = [s for s in loop.segments if len(s) == 2]
    lean = sorted(math.asin((s[1] - s[0]).imag / abs(s[1] - s[0])) for s in lines)
    expected = math.asin((r1 - r2) / d)
    assert np.abs(lean) == pytest.approx([expected, expected], abs=1e-9)
    assert all(abs(s[1] - s[0]) == pytest.approx(math.sqrt(d * d - (r1 - r2) ** 2), abs=1e-9) for s in lines)


def test_circle_of_constant_width_gives_two_circles():
    outline = expand([Stroke(nasty.circle(5), Widths(((0, 1.0),)))], 0.005)
    assert len(outline) == 2
    for loop, radius in zip(sorted(outline, key=lambda p: -signed_area(p)), (5.5, 4.5), strict=True):
        r = np.abs(bounds_check.samples((loop,)))
        assert np.abs(r - radius).max() < 0.005
    assert sorted(np.sign(signed_area(loop)) for loop in outline) == [-1, 1]


def test_a_point_gives_a_circle_and_a_line_of_no_width_nothing():
    outline = expand([Stroke(polyline([1 + 1j, 1 + 1j]), Widths(((0, 2.0),)))], 0.001)
    assert area(outline) == pytest.approx(math.pi, rel=1e-3)
    assert expand([Stroke(polyline([0, 4]), Widths(((0, 0.0),)))], 0.01) == ()
    assert expand([], 0.01) == ()


def test_a_swallowed_stretch_leaves_the_larger_disc():
    stroke = Stroke(polyline([0, 1]), Widths(((0, 0.2), (1, 4.0))))  # r' = 1.9
    outline = expand([stroke], 0.001)
    assert area(outline) == pytest.approx(4 * math.pi, rel=1e-3)
    low, high = bounds(outline)
    assert low.real == pytest.approx(-1, abs=1e-3)
    assert high.real == pytest.approx(3, abs=1e-3)


def test_cut_end_is_a_straight_line_through_the_end_point():
    stroke = Stroke(polyline([0, 10j]), Widths(((0, 2.0),)), start_cut_deg=30.0, end_cut_deg=0.0)
    (loop,) = expand([stroke], 0.005)
    low, high = bounds((loop,))
    assert high.imag == pytest.approx(10, abs=1e-9)
    # the line at 30 degrees leaves the start disc, of radius 1, at -cos 30, -sin 30
    assert low.imag == pytest.approx(-0.5, abs=0.005)
    slopes = [math.degrees(cmath.phase(s[1] - s[0])) % 180 for s in loop.segments if len(s) == 2]
    assert min(abs(a - 30) for a in slopes) < 1e-6
    assert min(min(a, 180 - a) for a in slopes) < 1e-6


def test_a_cut_spares_a_later_part_of_the_same_stroke():
    # down, and back across the line of the cut at the start
    path = polyline([0, -6j, 3 - 6j, 3 + 3j])
    outline = expand([Stroke(path, Widths(((0, 1.0),)), start_cut_deg=0.0)], 0.005)
    _, high = bounds(outline)
    assert high.imag == pytest.approx(3.5, abs=0.005)
    ours = dense.polygon_of(outline, 1e-4)
    assert ours.contains(shapely.Point(3, 2))
    assert not ours.contains(shapely.Point(0, 0.2))


def test_several_strokes_become_one_outline_with_the_counter_as_a_hole():
    bowl = Stroke(nasty.circle(3, closed=False), Widths(((0, 1.0),)))
    stem = Stroke(polyline([3 + 3j, 3 - 3j]), Widths(((0, 1.0),)))
    outline = expand([bowl, stem], 0.005)
    well_made(outline)
    assert [signed_area(p) > 0 for p in sorted(outline, key=signed_area)] == [False, True]
    assert max(dense.excess(outline, [bowl, stem], 0.005)) < 1e-6


def test_the_same_stroke_twice_is_the_stroke():
    stroke = Stroke(nasty.one(0, 9 + 7j, -5 + 7j, 4), Widths(((0, 0.4), (8, 1.6)), eased=True))
    once, twice = expand([stroke], 0.005), expand([stroke, stroke], 0.005)
    assert area(once) == pytest.approx(area(twice), rel=1e-9)
    assert [len(p.segments) for p in once] == [len(p.segments) for p in twice]


def test_many_at_once_are_the_same_as_one_by_one():
    groups = []
    for first in range(0, len(CASES) - 1, 7):
        sizes = [(path, path_length(path)) for _, path in CASES[first : first + 2]]
        groups.append([Stroke(path, nth(nasty.profiles(size).values(), first)) for path, size in sizes])
        groups.append([Stroke(path, nth(nasty.profiles(size).values(), first + 3), 75.0, 20.0) for path, size in sizes])
    groups += [[], [NibStroke(CASES[3][1], nasty.NIBS["broad"]), groups[0][0], groups[0][0]]]
    for together, strokes in zip(raw_drawings(groups, 0.005), groups, strict=True):
        alone = raw_drawing(strokes, 0.005)
        assert np.array_equal(together.curves, alone.curves)  # to the last bit
        assert np.array_equal(together.backwards, alone.backwards)
        assert np.array_equal(together.bounding, alone.bounding)
        assert [part.curves.tolist() for part in together.parts] == [part.curves.tolist() for part in alone.parts]
        assert [part.planes for part in together.parts] == [part.planes for part in alone.parts]
    for outline, strokes in zip(expand_all(groups, 0.01), groups, strict=True):
        assert area(outline) == pytest.approx(area(expand(strokes, 0.01)), rel=1e-3)


def test_scale_and_place_change_nothing():
    path, widths = nasty.one(0, 9 + 7j, -5 + 7j, 4), ((0, 0.4), (8, 1.6))
    here = expand([Stroke(path, Widths(widths, eased=True))], 0.005)
    for factor, by in ((25.4, 0), (1, 1000 - 700j), (0.01, 3j)):
        moved = Path(tuple(tuple(factor * z + by for z in s) for s in path.segments))
        scaled = Widths(tuple((factor * s, factor * w) for s, w in widths), eased=True)
        there = expand([Stroke(moved, scaled)], 0.005 * factor)
        assert area(there) == pytest.approx(area(here) * factor**2, rel=1e-4)
        assert [len(p.segments) for p in there] == [len(p.segments) for p in here]


@pytest.mark.parametrize(
    ("stroke", "message"),
    [
        (Stroke(Path(()), Widths(((0, 1.0),))), "segment"),
        (Stroke(polyline([0, complex("nan")]), Widths(((0, 1.0),))), "finite"),
        (Stroke(polyline([0, 1]), Widths(())), "width"),
        (Stroke(polyline([0, 1]), Widths(((0, -1.0),))), "negative"),
        (Stroke(polyline([0, 1]), Widths(((0, math.inf),))), "finite"),
        (Stroke(polyline([0, 1]), Widths(((1, 1.0), (0, 2.0)))), "order"),
        (NibStroke(polyline([0, 1]), Nib(-1, 1, 0)), "negative"),
    ],
)
def test_bad_strokes_are_refused(stroke, message):
    with pytest.raises(ValueError, match=message):
        expand([stroke], 0.01)


@pytest.mark.parametrize("tolerance", [0, -1, math.nan, math.inf])
def test_bad_tolerances_are_refused(tolerance):
    with pytest.raises(ValueError, match="tolerance"):
        expand([Stroke(polyline([0, 1]), Widths(((0, 1.0),)))], tolerance)


coordinate = st.integers(-300, 300).map(lambda n: n / 100)
point = st.builds(complex, coordinate, coordinate)
width = st.integers(0, 200).map(lambda n: n / 100)


@st.composite
def random_strokes(draw):
    """A chain of up to three lines and cubics, coordinates on a coarse grid so that coincidences do happen."""
    here = draw(point)
    segments = []
    for _ in range(draw(st.integers(1, 3))):
        rest = draw(st.lists(point, min_size=1, max_size=1) | st.lists(point, min_size=3, max_size=3))
        segments.append((here, *rest))
        here = rest[-1]
    places = sorted(draw(st.lists(st.integers(0, 60).map(lambda n: n / 10), min_size=1, max_size=4)))
    widths = Widths(tuple((s, draw(width)) for s in places), eased=draw(st.booleans()))
    return Stroke(Path(tuple(segments)), widths)


@settings(max_examples=1000, deadline=None, derandomize=True)
@given(random_strokes())
def test_random_strokes_keep_the_bound(stroke):
    outline = expand([stroke], 0.02)
    assert bounds_check.complaint(outline, [stroke], 0.02) is None


def test_a_forward_run_does_not_cross_the_backward_one_at_its_cusp():
    # a ball on a hairpin: fitted no better than asked, the run beside the cusp left a crack across the stroke
    path = dict(nasty.shapes()["radius larger than the curve"])["hairpin"]
    stroke = Stroke(path, nasty.profiles(path_length(path))["steep and eased"])
    assert max(dense.excess(expand([stroke], 0.05), [stroke], 0.05)) < 1e-6


def test_two_loops_that_touch_where_the_width_is_nothing_keep_their_curves():
    path = Path(((2.7 + 2.72j, 1.95 - 2.51j, -1.37 - 2.37j, 0.88 + 0.04j), (0.88 + 0.04j, -0.24 - 1.1j)))
    stroke = Stroke(path, Widths(((0.5, 1.15), (1.2, 1.11), (2.1, 0.0), (4.0, 0.95))))
    outline = expand([stroke], 0.02)
    assert len(outline) == 2
    assert sum(len(loop.segments) for loop in outline) < 40
    assert is_clean(outline, 0.0004)
    assert max(dense.excess(outline, [stroke], 0.02)) < 1e-6
