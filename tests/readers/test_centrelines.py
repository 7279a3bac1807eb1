"""Drawings to ink are read at their real size, whole, and hostile ones are refused in one line."""

import itertools

import pytest
import svgpathtools

from guidegen.errors import GuidegenError
from guidegen.geometry.measure import flatten
from guidegen.limits import MAX_INK_SEGMENTS as MAX_SEGMENTS
from guidegen.readers.centrelines import read_centrelines

SVG = '<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="80mm" viewBox="0 0 200 160">{}</svg>'


def read(body, head=SVG, **options):
    return read_centrelines(head.format(body).encode(), "anchor.svg", **options)


def test_units_viewbox_and_transforms_give_real_millimetres_y_up():
    group = '<g transform="translate(20 10)"><g transform="scale(2) rotate(90)"><path d="M0 0 L10 0"/></g></g>'
    drawing = read(group)
    line = drawing.lines[0].path
    # rotate(90) sends x to y (down); 2 user units are 1 mm: from (20, 10) to (20, 30) user units
    assert (line.start, line.end) == (pytest.approx(10 + 75j), pytest.approx(10 + 65j))
    assert (drawing.width_mm, drawing.height_mm) == (pytest.approx(100), pytest.approx(80))


@pytest.mark.parametrize(
    ("body", "length_units"),
    [
        ("<line x1='0' y1='0' x2='30' y2='40'/>", 50.0),
        ("<polyline points='0,0 30,40 30,90'/>", 100.0),
        ("<polygon points='0,0 30,0 30,40'/>", 120.0),
        ("<circle cx='50' cy='50' r='20'/>", 2 * 3.141592653589793 * 20),
        ("<rect x='1' y='2' width='30' height='40'/>", 140.0),
        ("<path d='M0 0h30v40z'/>", 120.0),
    ],
)
def test_every_kind_of_line_has_its_length(body, length_units):
    (line,) = read(body).lines
    points = flatten(line.path, 1e-6)
    points = [*points, points[0]] if line.path.closed and points[0] != points[-1] else points
    length = sum(abs(q - p) for p, q in itertools.pairwise(points))
    assert length == pytest.approx(length_units / 2, rel=1e-5)


@pytest.mark.parametrize("data", ["M10 80 C 40 10 65 10 95 80 S 150 150 180 80", "M10 50 Q 52 -20 95 50 T 180 50",
                                  "M10 60 A 40 20 30 0 1 130 90 A 25 25 0 1 0 60 20"])  # fmt: skip
def test_curves_lie_where_svgpathtools_puts_them(data):
    """Points and arc length of svgpathtools are the reference."""
    reference = svgpathtools.parse_path(data)
    (line,) = read(f"<path d='{data}'/>").lines
    ours = flatten(line.path, 1e-5)
    assert sum(abs(ours[1:] - ours[:-1])) == pytest.approx(reference.length(error=1e-7) / 2, rel=1e-5)
    for k in range(101):
        z = reference.point(k / 100)
        assert min(abs(ours - complex(z.real / 2, 80 - z.imag / 2))) < 0.05


def test_subpaths_are_lines_of_their_own_in_drawing_order():
    lines = read("<path d='M0 0L10 0M20 0L30 0'/><line x2='5'/>").lines
    assert [line.path.start.real for line in lines] == [0, 10, 0]


def test_paint_does_not_matter_but_what_is_hidden_is_not_drawn():
    body = """<line x2="9" stroke="none"/><line x2="9" visibility="hidden"/><g style="display:none"><line x2="9"/></g>
    <defs><line x2="9"/></defs>"""
    assert len(read(body).lines) == 1


def test_arcs_without_radius_or_length_are_what_svg_says():
    """SVG 1.1 F.6.2: an arc of radius 0 is a line, one that ends where it begins is left out."""
    (line,) = read("<path d='M0 0 A0 0 0 0 0 10 0 A5 5 0 0 0 10 0 L20 0'/>").lines
    assert [len(segment) for segment in line.path.segments] == [2, 2]


def test_stated_widths_are_kept():
    (line,) = read('<polyline points="0,0 9,9 20,0" data-widths="0.4, 1.2 3.2"/>').lines
    assert line.widths_mm == (0.4, 1.2, 3.2)


def test_a_drawing_without_a_size_asks_for_its_width_and_takes_it():
    head = '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 200 160">{}</svg>'
    body = "<line x1='0' y1='0' x2='100' y2='0'/>"
    with pytest.raises(GuidegenError, match="`width_mm`"):
        read(body, head)
    drawing = read(body, head, width_mm=120)
    assert (drawing.width_mm, drawing.height_mm) == (pytest.approx(120), pytest.approx(96))
    assert drawing.lines[0].path.end == pytest.approx(60 + 96j)


HOSTILE = {
    "scripts": "<script>alert(1)</script><line x2='9'/>",
    "handlers": "<line x2='9' onclick='alert(1)'/>",
    "references": "<image href='http://example.org/a.png'/><line x2='9'/>",
    "not a number": "<path d='M0 0 L NaN 9'/>",
    "infinite": "<path d='M0 0 L 1e999 9'/>",
    "half a command": "<path d='M0 0 L 9'/>",
    "no path": "<path d='hello'/>",
    "nothing": "",
    "only a point of departure": "<path d='M5 5'/>",
    "deep": "<g>" * 500 + "</g>" * 500,
    "a million points": "<polyline points='" + "0,0 1,1 " * 500_000 + "'/>",
    "a million numbers": "<path d='M0 0 L" + "1 1 " * 500_000 + "'/>",
    "many paths": "<path d='M0 0L9 9'/>" * (MAX_SEGMENTS + 1),
    "widths in words": "<line x2='9' data-widths='thick thin'/>",
    "self-use": "<g id='a'><use href='#a'/><use href='#a'/></g>",
}


@pytest.mark.parametrize("body", HOSTILE.values(), ids=HOSTILE.keys())
def test_hostile_drawings_are_refused_in_one_line(body):
    with pytest.raises(GuidegenError) as raised:
        read(body)
    assert "\n" not in str(raised.value)
    assert len(str(raised.value)) < 400


@pytest.mark.parametrize(
    "text",
    [
        b"",
        b"no xml",
        b"<svg",
        b"<html/>",
        b'<!DOCTYPE svg [<!ENTITY a "aaaa"><!ENTITY b "&a;&a;">]><svg width="1mm" height="1mm">&b;</svg>',
        b'<!DOCTYPE svg SYSTEM "file:///etc/hostname"><svg width="1mm" height="1mm"/>',
        b"\xff\xfe\x00",
    ],
)
def test_what_is_no_drawing_is_refused_in_one_line(text):
    with pytest.raises(GuidegenError) as raised:
        read_centrelines(text, "anchor.svg")
    assert "\n" not in str(raised.value)


@pytest.mark.parametrize(
    ("drawn", "said"),
    [
        ('<line x1="nan" y1="0" x2="20" y2="20"/>', "x1"),
        ('<line x1="abc" y1="0" x2="20" y2="20"/>', "x1"),
        ('<polyline points="1,2 3"/>', "points"),
        ('<polyline points="1,2 x,4"/>', "points"),
        ('<line transform="scale(nan)" x1="0" y1="0" x2="20" y2="20"/>', "transform"),
        ('<g transform="scale(1e300)"><path d="M1 1L2 5"/></g>', "coordinate"),
        ('<g transform="translate(1e15 0)"><path d="M1 1L2 5"/></g>', "coordinate"),
    ],
)
def test_what_is_no_number_or_lies_nowhere_is_refused(drawn, said):
    text = f'<svg xmlns="http://www.w3.org/2000/svg" width="40mm" height="40mm" viewBox="0 0 40 40">{drawn}</svg>'
    with pytest.raises(GuidegenError, match=said):
        read_centrelines(text.encode(), "drawing.svg")


@pytest.mark.parametrize(
    ("extra", "said"),
    [
        ('<a href="javascript:alert(1)"><path d="M1 1L2 5"/></a>', "scripts"),
        ("<foreignObject width='9' height='9'/>", "scripts"),
        ("<style>@import url(http://nowhere.example/a.css);</style>", "references"),
        ("<path style='fill:url(http://nowhere.example/a.svg#p)' d='M1 1L2 5'/>", "references"),
    ],
)
def test_what_acts_or_points_elsewhere_is_refused(extra, said):
    text = f'<svg xmlns="http://www.w3.org/2000/svg" width="40mm" height="40mm">{extra}<path d="M1 1L9 9"/></svg>'
    with pytest.raises(GuidegenError, match=said):
        read_centrelines(text.encode(), "drawing.svg")


def test_paint_from_within_the_drawing_is_no_reference():
    text = (
        '<svg xmlns="http://www.w3.org/2000/svg" width="40mm" height="40mm">'
        '<path style="fill:url(#own)" d="M1 1L9 9"/></svg>'
    )
    assert len(read_centrelines(text.encode(), "drawing.svg").lines) == 1
