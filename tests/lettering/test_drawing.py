"""Somebody's own drawing inked: direction decides, or the widths it states; the ink holds the tolerance."""

import functools
import math
from dataclasses import replace

import numpy as np
import pytest
import shapely

from guidegen.errors import GuidegenError
from guidegen.geometry.measure import bounds, flatten
from guidegen.geometry.path import Path, polyline
from guidegen.geometry.stroke.radius_spans import width_at
from guidegen.geometry.stroke.stroke import NibStroke
from guidegen.hands.library import load_hand, load_marker
from guidegen.lettering.drawing import DrawnLine, LineDrawing, ink_drawing, pen_stroke_along, stated_widths
from guidegen.lettering.lettering import Lettering
from guidegen.profiles.markers import Marker

COBBLE = Marker("cobble", "Cobble", "brush", 3.2, 0.6)
SLATE = Marker("slate", "Slate", "broad", 3.0, 0.3, 40.0)
FLINT = Marker("flint", "Flint", "round", 0.8, 0.8)
X_HEIGHT = 14.0


def inked(path, marker, widths=None):
    lines = (DrawnLine(path, widths),)
    return ink_drawing(LineDrawing(100, 100, lines), Lettering(marker, load_hand("joined"), X_HEIGHT))


def across(outline, at, direction):
    """Ink on the line through ``at``: measured by shapely on the flattened outline."""
    polygons = [shapely.Polygon([(z.real, z.imag) for z in flatten(path, 1e-5)]) for path in outline]
    body = functools.reduce(shapely.symmetric_difference, polygons)  # loops do not cross: even-odd is the ink
    ends = at - 50 * direction, at + 50 * direction
    return body.intersection(shapely.LineString([(z.real, z.imag) for z in ends])).length


def test_down_is_the_downstroke_and_up_is_the_hairline():
    slant = np.exp(1j * math.radians(60))
    down = polyline([50 + 50j + 40 * slant, 50 + 50j])
    up = polyline([50 + 50j, 50 + 50j + 40 * slant])
    middle, normal = 50 + 50j + 20 * slant, 1j * slant
    assert across(inked(down, COBBLE), middle, normal) == pytest.approx(3.2, abs=0.002)
    assert across(inked(up, COBBLE), middle, normal) == pytest.approx(0.6, abs=0.002)


@pytest.mark.parametrize("tip", ["brush", "pointed"])
def test_a_line_that_starts_under_pressure_starts_as_its_tip_does_and_not_round(tip):
    down = polyline([50 + 90j, 50 + 50j])
    low, high = bounds(inked(down, replace(COBBLE, tip=tip)))
    # round ends would reach half a downstroke beyond both ends
    assert high.imag < 90 + 1.6 * 0.75
    assert low.imag > 50 - 1.6 * 0.75


def test_stated_widths_are_linear_along_arc_length_between_vertices():
    path = polyline([0, 30 + 40j, 130 + 40j])
    widths = stated_widths(DrawnLine(path, (0.4, 3.2, 1.2)))
    for s, width in ((0, 0.4), (25, 1.8), (50, 3.2), (100, 2.2), (150, 1.2)):
        assert float(width_at(widths, s)) == pytest.approx(width)


def test_stated_widths_of_a_taper_have_the_edge_angle_of_the_closed_form():
    """Straight taper r1 to r2 over d: the edge turns by asin((r1 - r2) / d) from the centreline."""
    outline = inked(polyline([10 + 50j, 60 + 50j]), COBBLE, (8.0, 2.0))
    turn = math.asin((4.0 - 1.0) / 50)
    height = 2 * (4.0 - 25 * math.sin(turn)) / math.cos(turn)
    assert across(outline, 35 + 50j, 1j) == pytest.approx(height, abs=0.01)


def test_vertices_on_one_another_take_the_wider_disc():
    path = Path(((0, 10 + 0j), (10 + 0j, 10 + 0j), (10 + 0j, 20 + 0j)))
    widths = stated_widths(DrawnLine(path, (1.0, 2.0, 4.0, 1.0)))
    assert width_at(widths, 10.0) == pytest.approx(4.0)


@pytest.mark.parametrize("stated", [(1.0,), (1.0, 2.0, 3.0), (1.0, -1.0), (1.0, math.nan), (1.0, 1e9)])
def test_widths_that_do_not_fit_are_refused(stated):
    with pytest.raises(GuidegenError, match="data-widths"):
        stated_widths(DrawnLine(polyline([0, 10]), stated))


def test_a_circle_has_no_seam_and_is_thick_where_it_goes_down():
    k = 0.5519150 * 20
    right, top, left, bottom = 70 + 50j, 50 + 70j, 30 + 50j, 50 + 30j
    circle = Path(  # clockwise from the right: drawn down on the right side
        ((right, right - 1j * k, bottom + k, bottom), (bottom, bottom - k, left - 1j * k, left),
         (left, left + 1j * k, top - k, top), (top, top + k, right + 1j * k, right)), closed=True)  # fmt: skip
    outline = inked(circle, COBBLE)
    assert len(outline) == 2
    assert across(outline, 50 + 50j, 1) == pytest.approx(3.2 + 0.6, abs=0.1)  # downstroke right, hairline left
    assert across(outline, 50 + 50j, 1j) == pytest.approx(0.6 + 0.6, abs=0.1)  # hairlines at top and bottom


def test_broad_and_round_tips_keep_their_own_mark():
    path = polyline([10, 60 + 30j])
    stroke = pen_stroke_along(DrawnLine(path), Lettering(SLATE, load_hand("italic"), X_HEIGHT))
    assert isinstance(stroke, NibStroke)
    assert across(inked(path, FLINT), 35 + 15j, 1j * (50 + 30j) / abs(50 + 30j)) == pytest.approx(0.8, abs=0.002)


def test_a_scribble_that_crosses_itself_without_end_is_refused():
    corners = np.random.default_rng(3).uniform(0, 100, (3000, 2))
    scribble = LineDrawing(100.0, 100.0, (DrawnLine(polyline([complex(x, y) for x, y in corners])),))
    with pytest.raises(GuidegenError, match="cross"):
        ink_drawing(scribble, Lettering(load_marker("flint"), load_hand("print"), 5.6))
