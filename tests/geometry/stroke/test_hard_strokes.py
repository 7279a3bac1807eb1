"""Strokes that broke the engine once, and strokes of every family that nobody tuned it for."""

from __future__ import annotations

import json
from pathlib import Path as File

import dense
import ink_check
import numpy as np
import pytest
import wild_strokes

from guidegen.geometry.path import Path, polyline, scale
from guidegen.geometry.stroke.expand import expand, expand_all
from guidegen.geometry.stroke.stroke import Stroke, Widths

CASES = json.loads((File(__file__).parents[2] / "data" / "hard_strokes.json").read_text())
EACH = 72  # drawings of each of the fourteen families; a hundred times as many in benchmarks/bench_wild_strokes.py


def stroke(data):
    segments = tuple(tuple(complex(*p) for p in s) for s in data["segments"])
    return Stroke(Path(segments, data["closed"]), Widths(tuple(map(tuple, data["widths"])), data["eased"]))


@pytest.mark.parametrize("case", CASES, ids=[case["name"] for case in CASES])
def test_strokes_that_had_cracks_or_crossing_rings_keep_the_tolerance(case):
    strokes = [stroke(data) for data in case["strokes"]]
    assert ink_check.complaint(expand(strokes, 0.01), strokes, 0.01) is None


@pytest.mark.parametrize("family", wild_strokes.FAMILIES)
def test_wild_strokes_keep_the_tolerance(family):
    drawings = [wild_strokes.strokes(family, seed) for seed in range(EACH)]
    failed = {}
    for tolerance, some in ((0.05, range(0, EACH, 3)), (0.01, range(1, EACH, 3)), (0.001, range(2, EACH, 3))):
        for seed, outline in zip(some, expand_all([drawings[k] for k in some], tolerance), strict=True):
            wrong = ink_check.complaint(outline, drawings[seed], tolerance)
            if wrong:
                failed[seed] = (tolerance, wrong)
    assert not failed


# A hair whose rings cross where they touch (was a polygon of thousands of lines); an end moved
# further than its piece was long; short pieces beside long ones (were left in hundreds of pieces); a path that leaves
# the cut of its end along it, or to one side for next to nothing (the other half was kept); a face whose point lay in a
# tail of no width (was left out); a node past an edge that crosses both curves; rings that touch and cross right there;
# a cap of next to no size beside another edge; the end of a hair that is clear of its cut for less than a step
ONCE_WRONG = [
    ("near_cusps", 70035, 0.05, 60),
    ("near_cusps", 70035, 0.001, 80),
    ("cusps", 5000037, 0.05, 15),
    ("short_long", 70052, 0.05, 60),
    ("short_long", 70040, 0.05, 40),
    ("cut_ends", 7000001, 0.05, 8),
    ("cut_ends", 7000098, 0.01, 40),
    ("collinear", 202115, 0.001, 20),
    ("several", 201722, 0.001, 130),
    ("closed", 201442, 0.01, 55),
    ("cubics", 203006, 0.05, 65),
    ("cut_ends", 203272, 0.01, 90),
    ("cubics", 207238, 0.05, 70),
    ("near_cusps", 204777, 0.001, 25),
    ("cusps", 301397, 0.001, 45),
    ("closed", 400234, 0.01, 85),
    ("cut_ends", 401132, 0.01, 10),
    ("cut_ends", 403625, 0.05, 20),
    ("short_long", 404916, 0.001, 50),
    ("level_cusps", 406999, 0.001, 55),
]


@pytest.mark.parametrize(("family", "seed", "tolerance", "most"), ONCE_WRONG)
def test_strokes_that_once_came_out_wrong_or_in_too_many_pieces(family, seed, tolerance, most):
    beside = [wild_strokes.strokes(family, seed - k) for k in range(5)]  # what is on the board may matter
    outline = expand_all(beside, tolerance)[0]
    assert ink_check.complaint(outline, beside[0], tolerance) is None
    assert sum(len(path.segments) for path in outline) <= most


@pytest.mark.parametrize("family", wild_strokes.FAMILIES)
def test_wild_strokes_agree_with_the_dense_union_in_area(family):
    for tolerance, seeds in ((0.05, range(100, 104)), (0.01, range(104, 105))):
        drawings = [wild_strokes.strokes(family, seed) for seed in seeds]
        for outline, strokes in zip(expand_all(drawings, tolerance), drawings, strict=True):
            assert max(dense.excess(outline, strokes, tolerance)) < 1e-6


def test_the_check_can_fail():
    square = [Stroke(polyline([0, 10, 10 + 10j, 10j, 0]), Widths(((0.0, 2.0),)))]
    ink = expand(square, 0.01)
    assert len(ink) == 2
    assert ink_check.complaint(ink, square, 0.01) is None
    speck = polyline([10 + 5j, 10 + 5.001j, 10.001 + 5j], closed=True)
    for wrong, found in (
        (ink[:1], "winding 1"),  # the white inside filled
        (ink[1:], "winding"),  # the ring lost
        (scale(ink, 1.002), "outside"),
        (scale(ink, 0.9985), "inside"),
        ((*ink, speck), "inside"),
        ((), "nothing drawn"),
    ):
        assert found in ink_check.complaint(wrong, square, 0.01)


def test_the_check_sees_rings_that_cross():
    bow = polyline([0, 1, 1 + 1e-4j, 1j], closed=True)
    assert ink_check.crossing((bow,), 1e-6) is None
    assert "crosses itself" in ink_check.crossing((polyline([0, 1, 1e-9j, 1 + 1j], closed=True),), 1e-6)
    a, b = polyline([0, 2, 2 + 2j, 2j], closed=True), polyline([1 + 1j, 3 + 1j, 3 + 3j, 1 + 3j], closed=True)
    assert "cross" in ink_check.crossing((a, b), 1e-6)
    hole = polyline([0.5 + 0.5j, 0.5 + 1j, 2.0001 + 0.6j], closed=True)
    assert "cross" in ink_check.crossing((a, hole), 1e-6)
    assert ink_check.crossing((a, polyline([0.5 + 0.5j, 0.5 + 1j, 2 + 0.6j], closed=True)), 1e-6) is None


def test_distances_are_those_of_the_nearest_disc():
    ball = Stroke(polyline([0, 8]), Widths(((0.0, 1.0), (8.0, 3.0))))
    # the envelope of radii growing by 1/8 leans by asin(1/8): r(x) = .5 + x/8, distance (h - r(x)) cos(lean)
    points = np.array([4 + 5j, 4 - 1j, -3, 11])
    lean = np.arcsin(1 / 8)
    expected = [5 * np.cos(lean) - 4 * np.sin(lean) - 0.5, np.cos(lean) - 4 * np.sin(lean) - 0.5, 2.5, 1.5]
    assert ink_check.distance(points, [ink_check.discs_of(ball, 1e-4)]) == pytest.approx(expected, abs=1e-9)
