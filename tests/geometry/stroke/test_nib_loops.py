"""The swept nib against Minkowski sums built with shapely."""

from __future__ import annotations

import cmath
import itertools
import math

import dense
import nasty
import nib_check
import numpy as np
import pytest
import shapely
import wild_strokes

from guidegen.geometry.measure import area
from guidegen.geometry.path import polyline, scale
from guidegen.geometry.stroke.expand import expand, expand_all
from guidegen.geometry.stroke.stroke import Nib, NibStroke

CASES = [(f"{group}: {name}", path) for group, items in nasty.shapes().items() for name, path in items]


@pytest.mark.parametrize("k", range(0, len(CASES), 2), ids=[name for name, _ in CASES[::2]])
def test_nasty_shapes_agree_with_the_minkowski_sum(k):
    stroke = NibStroke(CASES[k][1], list(nasty.NIBS.values())[k // 2 % 3])
    tolerance = 0.01
    assert max(dense.excess(expand([stroke], tolerance), [stroke], tolerance)) < 1e-6


@pytest.mark.parametrize("angle", [0.0, 20.0, 40.0, 90.0, 130.0])
def test_polyline_agrees_with_the_hull_of_each_step_to_the_last_digit(angle):
    # Minkowski sum of a segment and a convex shape: the hull of the shape at both ends; no curves, so no tolerance
    points = [0, 4 + 1j, 1 + 3j, 5 + 5j]
    nib = Nib(2.0, 0.3, angle)
    turn = cmath.exp(1j * math.radians(angle))
    corners = turn * np.array([1 + 0.15j, -1 + 0.15j, -1 - 0.15j, 1 - 0.15j])
    hulls = [
        shapely.convex_hull(shapely.MultiPoint(dense.xy(np.concatenate([a + corners, b + corners]))))
        for a, b in itertools.pairwise(points)
    ]
    expected = shapely.union_all(hulls)
    outline = expand([NibStroke(polyline(points), nib)], 0.01)
    assert all(len(s) == 2 for p in outline for s in p.segments)
    ours = dense.polygon_of(outline, 1e-6)
    assert ours.symmetric_difference(expected).area < 1e-4  # vertices are within 2 millionths
    assert area(outline) == pytest.approx(expected.area, rel=1e-5)


def test_a_vertical_stem_is_nib_width_times_cosine_wide():
    (loop,) = expand([NibStroke(polyline([0, 10j]), Nib(3.0, 0.0, 40.0))], 0.01)
    xs = [z.real for s in loop.segments for z in s]
    assert max(xs) - min(xs) == pytest.approx(3 * math.cos(math.radians(40)), abs=1e-5)


def test_curves_come_out_as_the_centreline_itself_moved():
    path = nasty.one(0, 1 + 0.2j, 3 + 0.2j, 4)  # between the nib's edge directions all the way
    (loop,) = expand([NibStroke(path, Nib(2.0, 0.3, 45.0))], 0.01)
    curves = [s for s in loop.segments if len(s) == 4]
    assert len(curves) == 2
    for curve in curves:
        c = np.array(curve)
        c = c if c[0].real < c[-1].real else c[::-1]
        assert np.ptp((c - np.array(path.segments[0])).real) < 1e-4
        assert np.ptp((c - np.array(path.segments[0])).imag) < 1e-4


def test_moving_along_an_edge_without_thickness_leaves_no_ink():
    assert expand([NibStroke(polyline([0, 5]), Nib(2.0, 0.0, 0.0))], 0.01) == ()


@pytest.mark.parametrize("family", [name for name in wild_strokes.FAMILIES if name not in ("cut_ends", "level_cusps")])
def test_wild_centrelines_keep_the_distance(family):
    nibs = list(nasty.NIBS.values())
    for tolerance, seeds in ((0.05, range(6)), (0.01, range(6, 12)), (0.001, range(12, 14))):
        drawings = [[NibStroke(s.path, nibs[k % 3]) for s in wild_strokes.strokes(family, k)] for k in seeds]
        for outline, strokes in zip(expand_all(drawings, tolerance), drawings, strict=True):
            assert nib_check.complaint(outline, strokes, tolerance) is None


def test_the_distance_check_can_fail():
    square = [NibStroke(polyline([0, 10, 10 + 10j, 10j, 0]), Nib(2.0, 0.5, 30.0))]
    ink = expand(square, 0.01)
    speck = polyline([5, 5 + 0.01j, 5.01], closed=True)
    assert nib_check.complaint(ink, square, 0.01) is None
    for wrong, found in (
        (ink[:1], "winding 1"),
        (scale(ink, 1.01), "outside"),
        (scale(ink, 0.99), "inside"),
        ((*ink, speck), "inside"),
    ):
        assert found in nib_check.complaint(wrong, square, 0.01)
