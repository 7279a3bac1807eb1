"""Stroke notation and its curves, against Hobby's published formula and the usual cubic for a quarter circle."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from guidegen.errors import GuidegenError
from guidegen.hands.skeletons import Node, chain, handles, parse_nodes, shift, stretch


def parse(text, **strokes):
    return parse_nodes(text, {name: parse_nodes(value, {}, "f", name) for name, value in strokes.items()}, "file", "x")


def test_a_node_is_a_point_a_heading_a_tension_and_a_pressure():
    corner, smooth, both, free = parse("0,1 .5,-.25,270 1,0,90|-45*1.2|.8^.5 1,1,0*2")
    assert corner == Node(1j)
    assert smooth == Node(0.5 - 0.25j, 270, 270)
    assert both == Node(1, 90, -45, 1.2, 0.5, 0.8)
    assert (free.tension, free.leave_tension, free.pressure) == (2, None, None)


def test_basic_strokes_are_put_in_moved_and_stretched():
    nodes = parse("turn@.5,0 turn@1,1*2,.5", turn="0,1,270 0,0,0")
    assert [node.at for node in nodes] == [0.5 + 1j, 0.5, 1 + 1.5j, 1 + 1j]


def test_a_broad_edge_is_turned_for_a_whole_stroke():
    assert [node.pen_turn_deg for node in parse("pen-12.5 0,1 0,0")] == [-12.5, 0]
    assert parse("stem", stem="pen+20 0,1 0,0")[0].pen_turn_deg == 20
    with pytest.raises(GuidegenError):
        parse("0,1 pen+20 0,0")


def test_a_basic_stroke_that_starts_on_the_node_before_joins_it():
    nodes = parse("0,0,90*1.5^1 turn", turn="0,0,60*.8 1,1,0")
    assert len(nodes) == 2
    assert (nodes[0].arrive_deg, nodes[0].leave_deg, nodes[0].tension, nodes[0].leave_tension) == (90, 60, 1.5, 0.8)
    assert nodes[0].pressure == 1


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("", "at least one node"),
        ("0,1 wave", "a node like .3,1,270 or a basic stroke"),
        ("0,1,,2", "a node like"),
        ("0;1", "a node like"),
        ("0,nan", "a node like"),
        ("999,0", "coordinates within 50"),
        ("0,0,90*0", "a tension"),
        ("0,0,90*1|99", "a tension"),
        ("0,0^1.5", "a pressure"),
        ("0,0^.1|90", "a node like"),
        ("0,0 " * 600, "a stroke of more than 120 nodes"),
    ],
)
def test_a_wrong_stroke_is_told_in_one_line(text, expected):
    with pytest.raises(GuidegenError, match=expected) as error:
        parse(text)
    assert str(error.value).startswith("file: x: found ")
    assert "\n" not in str(error.value)


def test_basic_strokes_cannot_multiply_without_end():
    strokes = {"a": parse("0,0 1,1")}
    for name in "abc":
        strokes["a"] = parse_nodes("a a@3,0 a@6,0", strokes, "file", name)
    with pytest.raises(GuidegenError, match="more than 120 nodes"):
        parse_nodes("a a@3,0 a@6,0 a", strokes, "file", "x")


def test_a_quarter_circle_has_the_usual_handles():
    """Hobby's velocity at 45 and 45 degrees gives c = .5522847, the cubic that touches the circle at its middle."""
    out, back = handles(Node(1, leave_deg=90), Node(1j, arrive_deg=180))
    assert out == pytest.approx(0.5522847j, abs=1e-6)
    assert back == pytest.approx(0.5522847, abs=1e-6)


def hobby(theta, phi):
    """The velocity of Hobby 1986 (as quoted in The METAFONTbook, exercise 14; from memory), with tension 1."""
    a = math.sqrt(2) * (math.sin(theta) - math.sin(phi) / 16) * (math.sin(phi) - math.sin(theta) / 16)
    a *= math.cos(theta) - math.cos(phi)
    return (2 + a) / (3 * (1 + (math.sqrt(5) - 1) / 2 * math.cos(theta) + (3 - math.sqrt(5)) / 2 * math.cos(phi)))


@given(st.floats(-60, 60), st.floats(-60, 60), st.floats(0.5, 2), st.floats(0.5, 2))
def test_handles_follow_the_formula_and_tension_shortens_them(theta, phi, k, l):
    if max(abs(theta), abs(phi)) < 0.01:
        return
    here, there = Node(0, leave_deg=theta, tension=9, leave_tension=k), Node(1, arrive_deg=-phi, tension=l)
    out, back = handles(here, there)
    assert abs(out) * k == pytest.approx(hobby(math.radians(theta), math.radians(phi)), rel=1e-9)
    assert abs(back) * l == pytest.approx(hobby(math.radians(phi), math.radians(theta)), rel=1e-9)


@given(st.floats(0, 360), st.floats(0, 360), st.complex_numbers(min_magnitude=0.01, max_magnitude=3))
def test_handles_are_finite_and_bounded_for_every_pair_of_headings(leave, arrive, there):
    found = handles(Node(0, leave_deg=leave), Node(there, arrive_deg=arrive))
    if found is not None:
        assert all(0 < abs(handle) <= 1.2 * abs(there) * (1 + 1e-9) for handle in found)


def test_straight_where_both_sides_are_corners_or_aligned():
    assert handles(Node(0), Node(1)) is None
    assert handles(Node(0, leave_deg=45), Node(1 + 1j, arrive_deg=45)) is None
    assert handles(Node(0, leave_deg=45), Node(0, arrive_deg=45)) is None


def test_stretching_turns_headings_and_mirrors():
    turned = stretch(parse("1,1,45 2,0,0"), 1, -1, 0.5)
    assert [node.at for node in turned] == [1.5 - 1j, 2.5]
    assert turned[0].arrive_deg == pytest.approx(315)


def test_chain_and_shift():
    first, second = parse("0,0 1,0,0"), parse("1,0,90 1,1,90")
    assert len(chain(first, second)) == 3
    assert len(chain(first, shift(second, 1))) == 4
    assert chain((), first) == first
