"""SVG files: units, viewBox, transforms, shapes and styles, against the rules of SVG 1.1 and CSS 2.1."""

from __future__ import annotations

import math

import pytest
from foreign import CIRCLE, HEIGHTS, PAGE, matplotlib_file, svg

from guidegen.errors import GuidegenError
from guidegen.geometry.measure import bounds
from guidegen.readers import read_bytes


def page(data: bytes):
    return read_bytes(data, "x.svg").pages[0]


def box(data: bytes) -> list[float]:
    low, high = bounds(tuple(path for drawn in page(data).drawn for path in drawn.paths))
    return [low.real, low.imag, high.real, high.imag]


# CSS 2.1, 4.3.2: 1in = 96px = 72pt = 6pc = 2.54cm; CSS Values 4: 1q = 0.25mm
@pytest.mark.parametrize(
    ("width", "mm"),
    [("210mm", 210), ("21cm", 210), ("8.5in", 215.9), ("96px", 25.4), ("96", 25.4), ("72pt", 25.4), ("6pc", 25.4),
     ("40q", 10), ("1e2mm", 100)],
)  # fmt: skip
def test_the_page_is_as_large_as_its_unit_says(width, mm):
    assert page(svg("", width, width, None)).size_mm == pytest.approx((mm, mm))


def test_without_a_size_the_viewbox_counts_in_pixels():
    data = b'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 960 480"/>'
    read = read_bytes(data, "x.svg")
    assert read.pages[0].size_mm == pytest.approx((254, 127))
    assert not read.facts["states_size"]


def test_one_side_alone_takes_the_other_from_the_viewbox():
    data = b'<svg xmlns="http://www.w3.org/2000/svg" width="100mm" viewBox="0 0 200 50"/>'
    assert page(data).size_mm == pytest.approx((100, 25))


RECT = '<rect x="10" y="20" width="30" height="40"/>'


@pytest.mark.parametrize(
    ("view", "ratio", "expected"),
    [
        ("0 0 210 148", "", [10, 88, 40, 128]),
        ("0 0 420 296", "", [5, 118, 20, 138]),
        ("-10 -20 210 148", "", [20, 68, 50, 108]),
        # 105 x 148 units into 210 x 148 mm: scale 1, centred, at either end, or stretched (SVG 1.1, 7.8)
        ("0 0 105 148", "", [62.5, 88, 92.5, 128]),
        ("0 0 105 148", "xMinYMid", [10, 88, 40, 128]),
        ("0 0 105 148", "xMaxYMid meet", [115, 88, 145, 128]),
        ("0 0 105 148", "none", [20, 88, 80, 128]),
        ("0 0 105 148", "xMidYMin slice", [20, 28, 80, 108]),
    ],
)
def test_the_viewbox_places_the_drawing(view, ratio, expected):
    more = f'preserveAspectRatio="{ratio}"' if ratio else ""
    assert box(svg(RECT, view=view, more=more)) == pytest.approx(expected)


@pytest.mark.parametrize(
    ("transform", "expected"),
    [
        ("translate(5)", [15, 88, 45, 128]),
        ("translate(5,-10)", [15, 98, 45, 138]),
        ("scale(2)", [20, 28, 80, 108]),
        ("scale(2 0.5)", [20, 118, 80, 138]),
        ("rotate(90)", [-60, 108, -20, 138]),
        ("rotate(90 10 20)", [-30, 98, 10, 128]),
        ("matrix(1 0 0 1 7 8)", [17, 80, 47, 120]),
        ("translate(10 0) scale(2)", [30, 28, 90, 108]),
        ("scale(2) translate(10,0)", [40, 28, 100, 108]),
        ("skewX(45)", [30, 88, 100, 128]),
        ("skewY(45)", [10, 48, 40, 118]),
    ],
)
def test_transforms(transform, expected):
    assert box(svg(f'<g transform="{transform}">{RECT}</g>')) == pytest.approx(expected, abs=1e-9)


def test_groups_in_groups_do_the_inner_transform_first():
    body = f'<g transform="translate(10 0)"><g transform="scale(2)">{RECT}</g></g>'
    assert box(svg(body)) == pytest.approx([30, 28, 90, 108])


@pytest.mark.parametrize(
    ("shape", "expected"),
    [
        ('<circle cx="50" cy="48" r="20"/>', [30, 80, 70, 120]),
        ('<ellipse cx="50" cy="48" rx="20" ry="10"/>', [30, 90, 70, 110]),
        ('<line x1="10" y1="48" x2="60" y2="38" stroke="black"/>', [10, 100, 60, 110]),
        ('<polygon points="10,48 60,48 60,28"/>', [10, 100, 60, 120]),
        ('<polyline points="10 48 60 48 60 28" fill="none" stroke="red"/>', [10, 100, 60, 120]),
        ('<rect x="10" y="28" width="50" height="20" rx="8"/>', [10, 100, 60, 120]),
        ('<path d="M10 48h50v-20z"/>', [10, 100, 60, 120]),
        ('<path d="m10,48 l50,0 0-20 z m0 10 h5 v5"/>', [10, 85, 60, 120]),
        ('<path d="M10 48 A25 25 0 0 1 60 48"/>', [10, 100, 60, 125]),  # a half circle, upwards
        ('<path d="M10 48 a25 25 0 0 0 50 0"/>', [10, 75, 60, 100]),
        ('<path d="M30 48 A1 1 0 0 1 60 48"/>', [30, 100, 60, 115]),  # radii too small grow to fit
        ('<path d="M10 48 Q35 -2 60 48"/>', [10, 100, 60, 125]),  # a parabola's top is half-way to its control
        ('<path d="M10 48 Q20 38 30 48 T50 48"/>', [10, 95, 50, 105]),
        ('<path d="M10 48 C10 28 30 28 30 48 S50 68 50 48"/>', [10, 85, 50, 115]),
        ('<path d="M10-12.5.5-10"/>', [0.5, 158, 10, 160.5]),
    ],
)
def test_shapes_and_path_data(shape, expected):
    assert box(svg(shape)) == pytest.approx(expected, abs=2e-5)


def test_a_circle_is_round_everywhere():
    drawn = page(svg('<circle cx="50" cy="48" r="20"/>')).drawn[0]
    from guidegen.geometry.measure import flatten

    distance = abs(flatten(drawn.paths[0], 1e-6) - complex(50, 100))
    assert distance == pytest.approx([20] * len(distance), abs=2e-5)


def test_path_data_is_drawn_up_to_its_error():
    read = read_bytes(svg('<path d="M10 48 L60 48 L60 28 C1"/>'), "x.svg")
    assert len(read.pages[0].drawn[0].paths[0].segments) == 2
    assert read.facts["bad_paths"] == 1


def test_uses_and_symbols_are_drawn_where_they_are_used():
    symbol = '<symbol id="s" viewBox="0 0 1 1"><rect width="1" height="1"/></symbol>'
    body = f'<defs><rect id="r" width="4" height="2"/>{symbol}</defs>'
    body += '<use href="#r" x="10" y="20"/><use xlink:href="#s" x="100" y="50" width="20" height="20"/>'
    drawn = page(svg(body)).drawn
    boxes = [bounds(d.paths) for d in drawn]
    assert boxes[0] == (pytest.approx(10 + 126j), pytest.approx(14 + 128j))
    assert boxes[1] == (pytest.approx(100 + 78j), pytest.approx(120 + 98j))


def test_a_nested_drawing_has_its_own_frame():
    body = '<svg x="10" y="10" width="50" height="50" viewBox="0 0 10 10"><rect width="10" height="10"/></svg>'
    assert box(svg(body)) == pytest.approx([10, 88, 60, 138])


def test_styles_come_from_attributes_sheets_and_the_element_itself():
    sheet = "<style>.thick{stroke-width:3;stroke:#00f} #only{stroke:lime} rect{fill:none}</style>"
    body = (
        f'{sheet}<g stroke="red" stroke-width="2"><rect id="a" width="9" height="9"/>'
        '<rect class="thick" width="9" height="9"/><rect id="only" class="thick" width="9" height="9"/>'
        '<rect class="thick" style="stroke:#123456; stroke-width: 0.5" width="9" height="9"/></g>'
    )
    drawn = page(svg(body)).drawn
    assert [(d.stroke.name, d.stroke_mm) for d in drawn] == [
        ("#ff0000", pytest.approx(2)), ("#0000ff", pytest.approx(3)), ("#00ff00", pytest.approx(3)),
        ("#123456", pytest.approx(0.5)),
    ]  # fmt: skip
    assert all(d.fill is None for d in drawn)


def test_what_is_hidden_or_only_defined_is_not_there():
    body = (
        '<g display="none"><rect width="9" height="9"/></g><rect visibility="hidden" width="9" height="9"/>'
        '<clipPath id="c"><rect width="9" height="9"/></clipPath><rect fill="none" width="9" height="9"/>'
    )
    assert page(svg(body)).drawn == ()


def test_a_line_s_width_grows_with_its_transform():
    drawn = page(svg('<line x2="9" stroke="black" stroke-width="0.2" transform="scale(3)"/>')).drawn[0]
    assert drawn.stroke_mm == pytest.approx(0.6)


def test_layers_are_the_groups_under_the_root_and_data_is_kept():
    body = (
        '<g id="lines"><line data-line="baseline" data-row="2" x2="9" stroke="black"/></g><g id="ink"><g>'
        + RECT
        + "</g></g>"
    )
    drawn = page(svg(body)).drawn
    assert [d.layer for d in drawn] == ["lines", "ink"]
    assert drawn[0].data == {"data-line": "baseline", "data-row": "2"}


def test_text_and_pictures_are_told():
    body = '<text style="font-family:Sansserif;font-size:5px" x="5" y="5">tide</text>'
    body += '<image href="x.png" width="20" height="10"/>'
    read = read_bytes(svg(body), "x.svg")
    assert [(w.font, w.size_mm) for w in read.pages[0].words] == [("Sansserif", pytest.approx(5))]
    assert read.pages[0].pictures[0].box == pytest.approx((0, 138, 20, 148))
    assert read.facts["references"] == 1


def test_a_drawing_by_matplotlib():
    shown = page(matplotlib_file("svg"))
    assert shown.size_mm == pytest.approx(PAGE, abs=1e-4)
    lines = [d for d in shown.drawn if d.stroke is not None]
    assert [d.paths[0].start.imag for d in lines] == pytest.approx(HEIGHTS, abs=1e-4)
    assert [d.paths[0].end.real - d.paths[0].start.real for d in lines] == pytest.approx([190] * 5, abs=1e-4)
    assert [d.stroke_mm for d in lines] == pytest.approx([0.3] * 5, abs=1e-4)
    disc = next(d for d in shown.drawn if d.fill is not None and d.fill.name == "#d00000")
    low, high = bounds(disc.paths)
    assert (high - low) == pytest.approx(complex(2 * CIRCLE[2], 2 * CIRCLE[2]), abs=0.01)
    assert len(shown.words) == 1


def test_an_entity_is_refused_and_a_plain_doctype_is_not():
    plain = '<!DOCTYPE svg PUBLIC "-//W3C//DTD SVG 1.1//EN" "http://www.w3.org/Graphics/SVG/1.1/DTD/svg11.dtd">'
    assert page(plain.encode() + svg(RECT)).drawn
    with pytest.raises(GuidegenError, match="entities"):
        read_bytes(b'<!DOCTYPE svg [<!ENTITY a "b">]>' + svg(RECT), "x.svg")


def test_a_turned_arc_ends_where_it_should_and_keeps_its_radii():
    path = page(svg('<path d="M50 60 A40 20 30 1 1 80 40" fill="none" stroke="red"/>', more="")).drawn[0].paths[0]
    from guidegen.geometry.measure import flatten

    points = flatten(path, 1e-6)
    assert path.end == pytest.approx(80 + 108j)
    # in the ellipse's own axes all points keep (u/40)^2 + (v/20)^2 = 1 about one centre
    turned = points * complex(math.cos(math.radians(30)), math.sin(math.radians(30)))
    u, v = turned.real, turned.imag * 2
    k = len(u) // 3
    circle = _centre(u[0] + 1j * v[0], u[k] + 1j * v[k], u[2 * k] + 1j * v[2 * k])
    assert abs(u + 1j * v - circle) == pytest.approx([40] * len(u), abs=1e-4)


def _centre(a: complex, b: complex, c: complex) -> complex:
    b, c = b - a, c - a
    d = 2 * (b.real * c.imag - b.imag * c.real)
    x = (c.imag * abs(b) ** 2 - b.imag * abs(c) ** 2) / d
    y = (b.real * abs(c) ** 2 - c.real * abs(b) ** 2) / d
    return a + complex(x, y)
