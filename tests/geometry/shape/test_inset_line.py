"""The rim of a shape is its erosion's complement, checked against shapely's own buffer; curves come back as cubics."""

import math

import numpy as np
import pytest
import shapely

from guidegen.geometry.measure import flatten_outline
from guidegen.geometry.path import Path, polyline
from guidegen.geometry.shape.inset_line import Opening, rim, smoothed
from guidegen.geometry.stroke.expand import expand
from guidegen.geometry.stroke.stroke import Stroke, Widths

TOLERANCE = 0.005


def filled(outline):
    """Return the filled region: nested rings, the largest first, anticlockwise ones added and clockwise ones taken."""
    rings = [shapely.Polygon(np.column_stack((ring.real, ring.imag))) for ring in flatten_outline(outline, 1e-4)]
    region = shapely.Polygon()
    for ring in sorted(rings, key=lambda ring: -ring.area):
        region = region.union(ring) if ring.exterior.is_ccw else region.difference(ring)
    return region


def inked(*strokes):
    """Return the ink of straight strokes and chains given as (path, width knots)."""
    return expand([Stroke(path, Widths(knots)) for path, knots in strokes], TOLERANCE)


LOOP = Path(((5, 5 + 7j, -5 + 7j, -5), (-5, -5 - 7j, 5 - 7j, 5)))
SHAPES = {
    "bar": inked((polyline([0, 12]), ((0.0, 3.0),))),
    "taper": inked((polyline([0, 10 + 10j]), ((0.0, 0.5), (14.0, 4.0)))),
    "ring": inked((LOOP, ((0.0, 2.0),))),
    "cross": inked((polyline([-6, 6]), ((0.0, 2.0),)), (polyline([-6j, 6j]), ((0.0, 1.0),))),
    "square": (polyline([0, 8, 8 + 8j, 8j], closed=True),),
}


@pytest.mark.parametrize("name", SHAPES)
@pytest.mark.parametrize("weight", [0.15, 0.3])
def test_the_rim_is_what_lies_within_its_weight_of_the_edge(name, weight):
    whole = filled(SHAPES[name])
    found = filled(rim(SHAPES[name], weight, TOLERANCE))
    white = whole.buffer(-weight, quad_segs=64)
    exact = whole.difference(white)
    assert exact.buffer(-TOLERANCE).difference(found).area <= 1e-6
    # white narrower than a third of the line is left out, so it may be filled
    speck = 0.36 * weight / 2
    narrow = white.difference(white.buffer(-speck).buffer(2 * speck))
    assert found.difference(exact.buffer(TOLERANCE)).difference(narrow.buffer(TOLERANCE)).area <= 1e-6


def test_where_the_shape_is_thin_it_stays_filled():
    thin = expand([Stroke(polyline([0, 9]), Widths(((0.0, 0.4),)))], TOLERANCE)
    found = filled(rim(thin, 0.25, TOLERANCE))
    assert found.symmetric_difference(filled(thin)).area <= 9 * 2 * TOLERANCE


def test_an_opening_is_cut_square_and_runs_out_open():
    stroke = expand([Stroke(polyline([0, 10]), Widths(((0.0, 2.0),)))], TOLERANCE)
    found = filled(rim(stroke, 0.3, TOLERANCE, [Opening(10, 1, 2.0)]))
    assert found.bounds[2] == pytest.approx(10, abs=2 * TOLERANCE)
    assert not found.intersects(shapely.box(5, -0.65, 11, 0.65))  # nothing closes the end
    assert found.intersects(shapely.box(-1, -0.2, -0.7, 0.2))  # the other end is closed
    walls = found.intersection(shapely.box(9.5, -2, 9.9, 2))
    assert len(shapely.get_parts(walls)) == 2
    assert walls.area == pytest.approx(2 * 0.3 * 0.4, rel=0.05)


def test_dense_polygons_come_back_as_few_cubics_with_their_corners():
    t = np.linspace(0, math.pi, 400)
    half_disc = 10 * np.exp(1j * t)  # and the straight side back
    (path,) = smoothed([half_disc], 0.001)
    assert len(path.segments) <= 8
    ends = [segment[0] for segment in path.segments]
    assert any(abs(z - 10) < 1e-6 for z in ends)
    assert any(abs(z + 10) < 1e-6 for z in ends)
    ring = np.concatenate(flatten_outline((path,), 1e-5))
    bent = ring[ring.imag > 1e-3]
    assert np.abs(np.abs(bent) - 10).max() <= 0.002
