"""DXF: units, layers, splines and polylines, read back by ezdxf."""

from __future__ import annotations

import io

import ezdxf
import numpy as np
import pytest
import shapely
from ezdxf.math import BSpline
from ruled_pages import drawn_document

from guidegen.geometry.cubic import as_cubics, point
from guidegen.geometry.path import Path, polyline
from guidegen.readers import read_bytes
from guidegen.scene import BLACK, Ink, Layer, Line, Page, Shape, Style
from guidegen.writers import render
from guidegen.writers.dxf import dxf_bytes
from guidegen.writers.svg_px import svg_px_bytes

LEAF = Path(
    ((20 + 20j, 20 + 45j, 60 + 50j, 70 + 30j), (70 + 30j, 65 + 10j, 40 + 8j, 30 + 10j), (30 + 10j, 20 + 20j)), True
)


def page(*items, size=(120.0, 80.0)) -> Page:
    return Page(*size, (Layer("cut", items), Layer("proof", (Line(5 + 5j, 25 + 5j, Style(stroke_mm=0.2)),))))


def leaf_page() -> Page:
    style = Style(stroke_mm=0.01, stroke=Ink((0.8, 0.1, 0.4)))
    square = polyline([80 + 10j, 100 + 10j, 100 + 30j, 80 + 30j], closed=True)
    return page(Shape((LEAF,), style), Shape((square,), style))


def loaded(data: bytes):
    return ezdxf.read(io.StringIO(data.decode()))


def test_units_limits_and_layers():
    document = loaded(dxf_bytes(leaf_page()))
    header = document.header
    assert (header["$INSUNITS"], header["$MEASUREMENT"]) == (4, 1)
    assert tuple(header["$LIMMAX"])[:2] == tuple(header["$EXTMAX"])[:2] == (120.0, 80.0)
    assert {layer.dxf.name for layer in document.layers} >= {"cut", "proof"}
    assert document.layers.get("cut").rgb == (204, 26, 102)
    assert document.audit().errors == []


def test_curves_are_true_splines_and_straight_shapes_polylines():
    space = loaded(dxf_bytes(leaf_page())).modelspace()
    assert [entity.dxftype() for entity in space] == ["SPLINE", "LWPOLYLINE", "LINE"]
    spline = space[0]
    assert spline.closed
    assert len(spline.control_points) == 3 * 3 + 1
    curve = BSpline(spline.control_points, order=4, knots=spline.knots)
    # each of the three spans is one of our cubics: compared at 50 parameters each
    ours = point(as_cubics(LEAF.segments), np.tile(np.linspace(0, 1, 50), (3, 1))).ravel()
    theirs = [complex(p.x, p.y) for span in range(3) for p in curve.points(span + np.linspace(0, 1, 50))]
    assert np.abs(ours - np.array(theirs)).max() < 1e-4


@pytest.mark.parametrize("tolerance", [0.1, 0.01, 0.001])
def test_old_polylines_keep_the_tolerance(tolerance):
    document = loaded(dxf_bytes(leaf_page(), splines=False, tolerance_mm=tolerance))
    assert document.dxfversion == "AC1009"
    entity = next(iter(document.modelspace()))
    assert (entity.dxftype(), entity.is_closed) == ("POLYLINE", True)
    corners = [(v.dxf.location.x, v.dxf.location.y) for v in entity.vertices]
    ring = shapely.linestrings([*corners, corners[0]])
    true = point(as_cubics(LEAF.segments), np.tile(np.linspace(0, 1, 400), (3, 1))).ravel()
    error = shapely.distance(shapely.points(true.real, true.imag), ring).max()
    assert error <= tolerance
    assert error > tolerance / 5  # and no more corners than that takes


def test_an_old_drawing_states_its_units_too():
    data = dxf_bytes(leaf_page(), splines=False)
    assert b"$INSUNITS\n 70\n4\n" in data
    read = read_bytes(data, "x.dxf")
    assert (read.facts["insunits"], read.facts["measurement"]) == (4, 1)


@pytest.mark.parametrize("splines", [True, False])
def test_the_page_is_read_back(splines):
    assert read_bytes(dxf_bytes(leaf_page(), splines=splines), "x.dxf").pages[0].size_mm == (120.0, 80.0)
    assert read_bytes(dxf_bytes(page(size=(420.0, 297.0)), splines=splines), "x.dxf").pages[0].size_mm == (420.0, 297.0)


def test_layers_have_numbered_colours_of_their_own():
    pink, rose = Ink((0.8, 0.1, 0.4)), Ink((0.81, 0.1, 0.4))
    layers = (
        Layer("cut", (Line(0j, 9 + 0j, Style(stroke_mm=0.1, stroke=pink)),)),
        Layer("score", (Line(0j, 9j, Style(stroke_mm=0.1, stroke=rose)),)),
        Layer("engrave", (Line(0j, 9 + 9j, Style(stroke_mm=0.1)),)),
    )
    document = loaded(dxf_bytes(Page(50.0, 50.0, layers), splines=False))
    colours = [document.layers.get(name).dxf.color for name in ("cut", "score", "engrave")]
    assert len(set(colours)) == 3
    assert colours[2] == 7


def test_the_same_page_gives_the_same_bytes_and_another_others():
    assert dxf_bytes(leaf_page()) == dxf_bytes(leaf_page())
    assert dxf_bytes(leaf_page()) != dxf_bytes(page(Shape((LEAF,), Style(fill=BLACK))))


def test_everything_a_scene_can_hold():
    files = dict(render(drawn_document(), "dxf"))
    assert list(files) == ["-1", "-2"]
    read = read_bytes(files["-1"], "x.dxf")
    assert [d.layer for d in read.pages[0].drawn] == ["lines", *["letter"] * 6]


@pytest.mark.parametrize("ppi", [72, 90, 96])
def test_svg_for_readers_that_ignore_millimetres(ppi):
    data = svg_px_bytes(leaf_page(), ppi, "leaf")
    read = read_bytes(data, "x.svg")
    # read as CSS asks, at 96 px an inch, it is ppi/96 of its size: so at ppi px an inch it is right
    assert read.pages[0].size_mm == pytest.approx((120 * ppi / 96, 80 * ppi / 96), abs=1e-3)
    assert read.pages[0].drawn[0].paths[0].start == pytest.approx((20 + 20j) * ppi / 96, abs=1e-3)
    assert read.pages[0].drawn[0].stroke_mm == pytest.approx(0.01 * ppi / 96, abs=2e-4)
    assert not read.facts["states_size"]
