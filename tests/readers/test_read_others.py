"""DXF by ezdxf, PNG by Pillow, fonts by fontTools and from the system, EPS by cairo."""

from __future__ import annotations

import io
import pathlib

import pytest
from foreign import CIRCLE, HEIGHTS, PAGE, ezdxf_dxf, made_font, matplotlib_file, pillow_png

from guidegen.geometry.measure import bounds
from guidegen.readers import read_bytes, read_file


@pytest.mark.parametrize("units", [4, 1, 5])
def test_a_drawing_in_mm_inches_or_cm(units):
    read = read_bytes(ezdxf_dxf(units), "x.dxf")
    shown = read.pages[0]
    lines = [d for d in shown.drawn if d.layer == "guides"]
    assert [d.paths[0].start.imag for d in lines] == pytest.approx(HEIGHTS, abs=1e-6)
    circle = next(d for d in shown.drawn if d.layer == "cut")
    low, high = bounds(circle.paths)
    assert high - low == pytest.approx(complex(2 * CIRCLE[2], 2 * CIRCLE[2]), abs=1e-4)
    assert circle.paths[0].closed
    assert circle.stroke.name == "#ff0000"  # AutoCAD colour index 1
    assert read.facts["insunits"] == units


def test_blocks_arcs_and_texts():
    read = read_bytes(ezdxf_dxf(), "x.dxf")
    tab = next(d for d in read.pages[0].drawn if d.paths[0].start == pytest.approx(20 + 80j))
    assert tab.paths[0].end == pytest.approx(26 + 80j)
    closed = next(d for d in read.pages[0].drawn if d.data["entity"] == "LWPOLYLINE")
    low, high = bounds(closed.paths)
    # the bulge of 1 is a half circle of radius 5 from (10, 10) to (0, 10), upwards
    assert (low, high) == (pytest.approx(0j, abs=1e-4), pytest.approx(10 + 15j, abs=2e-3))
    assert read.facts["blocks"] == 1
    assert [w.size_mm for w in read.pages[0].words] == [5]
    assert read.pages[0].size_mm == pytest.approx((200, 122.5), abs=1e-4)


def test_an_old_drawing():
    read = read_bytes(ezdxf_dxf(4, "R12"), "x.dxf")
    assert read.facts["version"] == "R12"
    assert [d.paths[0].start.imag for d in read.pages[0].drawn if d.layer == "guides"] == pytest.approx(HEIGHTS)


def test_a_picture_by_pillow():
    read = read_bytes(pillow_png(), "x.png")
    assert read.pages[0].size_mm == pytest.approx((100, 60))
    assert read.facts["ppi"] == pytest.approx([254, 254])
    assert read.facts["ink_mm"] == pytest.approx([5, 10, 95, 50])
    assert read.facts["line_heights_mm"] == pytest.approx([49.85])


def test_a_picture_without_resolution_has_no_size():
    read = read_bytes(pillow_png(None), "x.png")
    assert read.pages[0].size_mm is None
    assert read.facts["ink_px"] == [50, 100, 950, 500]


def test_a_picture_by_matplotlib():
    read = read_bytes(matplotlib_file("png"), "x.png")
    assert read.pages[0].size_mm == pytest.approx(PAGE, abs=0.15)  # whole pixels of 0.127 mm
    assert read.facts["line_heights_mm"] == pytest.approx(HEIGHTS, abs=0.13)


def test_a_font_by_fonttools():
    facts = read_bytes(made_font(), "x.ttf").facts
    assert (facts["units_per_em"], facts["x_height"], facts["cap_height"]) == (1000, 500, 700)
    assert (facts["ascender_height"], facts["descender"]) == (705, -210)
    assert facts["stems"]["l"] == pytest.approx([80])
    assert facts["stems"]["o"] == pytest.approx([70, 70])
    assert facts["nodes"] == 8 * 4
    assert facts["family"] == "Tideway"


# DejaVu comes with matplotlib; its design has lower-case letters of 1120 and capitals of 1493 in 2048 units (1063 the
# lower case with serifs).
@pytest.mark.parametrize(
    ("name", "x_height", "cap_height"),
    [("DejaVuSans.ttf", 1120, 1493), ("DejaVuSerif.ttf", 1063, 1493)],
)
def test_an_open_font(name, x_height, cap_height):
    import matplotlib as mpl

    facts = read_file(pathlib.Path(mpl.get_data_path()) / "fonts" / "ttf" / name).facts
    assert (facts["x_height"], facts["cap_height"]) == pytest.approx((x_height, cap_height), abs=2)


def test_open_fonts_agree_with_their_own_tables(open_fonts):
    for path in open_fonts:
        facts = read_file(path).facts
        stated = facts["os2_x_height"]
        if stated and facts["x_height"]:
            assert facts["x_height"] == pytest.approx(stated, rel=0.08), path.name


@pytest.fixture
def open_fonts():
    import fontpkg_source_sans_3

    folder = pathlib.Path(fontpkg_source_sans_3.__file__).parent
    found = sorted(p for p in folder.rglob("*") if p.suffix in (".ttf", ".otf", ".woff2"))[:6]
    assert found
    return found


def test_an_eps_by_matplotlib():
    read = read_bytes(matplotlib_file("eps"), "x.eps")
    assert read.pages[0].size_mm == pytest.approx(PAGE, abs=0.4)  # its plain bounding box is in whole points


def test_the_format_is_told_by_the_content(tmp_path):
    path = tmp_path / "tide.txt"
    path.write_bytes(pillow_png())
    assert read_file(path).format == "png"
    assert read_bytes(io.BytesIO(made_font()).read(), "nameless").format == "font"
