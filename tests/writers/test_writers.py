"""The contract of each format: what stands in the file, and that it is the same file every time."""

from __future__ import annotations

import copy
import dataclasses
import io
import os
import pathlib
import re
import subprocess
import sys
import xml.etree.ElementTree as ET

import pikepdf
import pypdfium2
import pytest
from ruled_pages import drawn_document, ruled_document

from guidegen.errors import GuidegenError
from guidegen.geometry.path import Path, polyline
from guidegen.scene import BLACK, Document, Layer, Page, Placed, Shape, Style, Symbol, grey
from guidegen.writers import FORMATS, png, render
from guidegen.writers.numbers import number
from guidegen.writers.svg import path_data
from guidegen.writers.svg_library import svg_library

FOLDER = pathlib.Path(__file__).parent
SVG = "{http://www.w3.org/2000/svg}"
CHILD = """
import hashlib, sys
from guidegen.writers import FORMATS, render
from ruled_pages import drawn_document
for name in FORMATS:
    for suffix, data in render(drawn_document(), name, ppi=60):
        print(name, suffix, hashlib.sha256(data).hexdigest())
"""


def first_svg() -> ET.Element:
    return ET.fromstring(dict(render(drawn_document(), "svg"))["-1"])


def test_the_root_is_in_millimetres_and_one_unit_is_one_millimetre():
    root = first_svg()
    assert (root.get("width"), root.get("height"), root.get("viewBox")) == ("100mm", "60mm", "0 0 100 60")


def test_groups_are_direct_children_one_for_each_purpose_with_markers_inside():
    root = first_svg()
    groups = root.findall(f"{SVG}g")
    assert [group.get("id") for group in groups] == ["background", "lines", "letter"]
    assert [group.get("data-marker") for group in groups[2]] == ["grit", "cobble"]
    ids = [element.get("id") for element in root.iter() if element.get("id")]
    assert len(ids) == len(set(ids))


def test_a_guide_says_what_it_is_and_y_runs_down():
    line = first_svg().find(f"{SVG}g[@id='lines']/{SVG}line")
    assert (line.get("data-line"), line.get("data-row")) == ("x-height", "1")
    assert [line.get(name) for name in ("x1", "y1", "x2", "y2")] == ["10", "30", "90", "30"]
    assert line.get("stroke-dasharray") == "2 1"


def test_an_svg_has_a_title_and_no_text_transform_or_reference():
    root = first_svg()
    assert root.find(f"{SVG}title").text == "First"
    assert root.find(f"{SVG}desc").text == "All that a scene can hold"
    assert {element.tag.removeprefix(SVG) for element in root.iter()} <= {
        "svg", "title", "desc", "defs", "g", "line", "path", "rect",
    }  # fmt: skip
    assert not [name for element in root.iter() for name in element.attrib if "transform" in name or "href" in name]


def test_repeated_artwork_is_drawn_where_it_is_placed():
    starts = re.findall(r'd="M([0-9. ]+)', dict(render(drawn_document(), "svg"))["-1"].decode())
    assert starts == ["10 50", "10 50", "20 50", "20 50", "30 50", "30 50"]


def test_path_data_loses_what_vanishes_and_leaves_the_closing_line_to_z():
    square = polyline([0, 10, 10 + 10j, 10j], closed=True)
    speck = Path(((0j, 0.0001 + 0j), (0.0001 + 0j, 0j)), closed=True)
    assert path_data((square, speck), 20) == "M0 20L10 20L10 10L0 10Z"
    curve = Path(((0j, 1j, 1 + 1j, 1 + 0j),))
    assert path_data((curve,), 1) == "M0 1C0 0 1 0 1 1"


@pytest.mark.parametrize(
    ("value", "text"), [(1.0, "1"), (0.00049, "0"), (-0.0001, "0"), (12.3456, "12.346"), (100, "100")]
)
def test_numbers_are_short(value, text):
    assert number(value) == text


def open_pdf(document: Document) -> pikepdf.Pdf:
    return pikepdf.open(io.BytesIO(dict(render(document, "pdf"))[""]))


def test_a_pdf_asks_not_to_be_scaled_and_names_no_font():
    pdf = open_pdf(drawn_document())
    assert pdf.Root.ViewerPreferences.PrintScaling == "/None"
    assert b"/BaseFont" not in dict(render(drawn_document(), "pdf"))[""]
    assert not any(obj.get("/Type") == "/Font" for obj in pdf.objects if isinstance(obj, pikepdf.Dictionary))


def test_a_pdf_is_sound_in_qpdf_and_has_its_pages_links_and_outline():
    pdf = open_pdf(drawn_document())
    assert pdf.check_pdf_syntax() == [] if hasattr(pdf, "check_pdf_syntax") else pdf.check() == []
    boxes = [[float(side) * 25.4 / 72 for side in page.mediabox] for page in pdf.pages]
    assert boxes == [pytest.approx([0, 0, 100, 60], abs=1e-4), pytest.approx([0, 0, 80, 120], abs=1e-4)]
    with pdf.open_outline() as outline:
        assert [entry.title for entry in outline.root] == ["One", "Two"]
    assert pdf.pages[0].Annots[0].Dest[0].objgen == pdf.pages[1].obj.objgen


def test_a_symbol_is_stored_once_for_all_its_places():
    stamp = Symbol("stamp", (Shape((polyline([0, 4, 3j], closed=True),), Style(fill=BLACK)),))
    other = Symbol("stamp", (Shape((polyline([0, 8, 3j], closed=True),), Style(fill=BLACK)),))
    pages = tuple(
        Page(50, 50, (Layer("ink", (Placed(stamp, complex(n, 9)), Placed(other, complex(n, 20)))),)) for n in range(20)
    )
    pdf = open_pdf(Document(pages, "Many"))
    forms = [obj for obj in pdf.objects if isinstance(obj, pikepdf.Stream) and obj.get("/Subtype") == "/Form"]
    assert len(forms) == 2


def pixels(page) -> bytes:
    return page.render(scale=3, grayscale=True).to_pil().tobytes()


@pytest.mark.parametrize("again", [lambda layers: layers, copy.deepcopy], ids=["shared", "equal"])
def test_layers_that_come_again_are_stored_once_and_look_the_same(again):
    first = dataclasses.replace(drawn_document().pages[0], links=())
    pages = [first] + [dataclasses.replace(first, layers=again(first.layers)) for _ in range(29)]
    data = dict(render(Document(tuple(pages), "Many"), "pdf"))[""]
    pdf = pypdfium2.PdfDocument(data)
    assert len({pixels(pdf[number]) for number in (0, 1, 2, 29)}) == 1
    stored = open_pdf(Document(tuple(pages), "Many"))
    forms = [obj for obj in stored.objects if isinstance(obj, pikepdf.Stream) and obj.get("/Subtype") == "/Form"]
    assert len(forms) == 1 + len(first.layers)
    alone = len(dict(render(Document((first,), "One"), "pdf"))[""])
    assert len(data) < alone + 29 * 700


def test_a_layer_that_differs_by_a_thousandth_is_drawn_as_it_is():
    first = drawn_document().pages[0]
    line = first.layers[0].items[0]
    moved = dataclasses.replace(line, start=line.start + 0.001j)
    pages = (first, first, dataclasses.replace(first, layers=(Layer("lines", (moved,)), *first.layers[1:])))
    pdf = open_pdf(Document(pages, "Three"))
    assert b"10 30.001 m" in pdf.pages[2].Contents.read_bytes()


def test_a_placed_symbol_shows_where_it_is_placed():
    page = pypdfium2.PdfDocument(dict(render(drawn_document(), "pdf"))[""])[1]
    image = page.render(scale=10 * 25.4 / 72, grayscale=True).to_pil()
    left, top, right, bottom = (side / 10 for side in image.point(lambda level: 255 * (level < 250)).getbbox())
    assert (left, right) == pytest.approx((39.85, 44.15), abs=0.2)
    assert (120 - bottom, 120 - top) == pytest.approx((39.85, 43.15), abs=0.2)


@pytest.mark.parametrize("draw", [png._by_cairo, png._by_pdfium])
def test_a_transparent_png_is_clear_between_the_ink_even_on_a_page_with_a_background(draw):
    page = drawn_document().pages[0]
    assert draw(page, (400, 240), True).getpixel((300, 20))[3] == 0
    assert draw(page, (400, 240), True).getpixel((50, 195))[3] == 255
    assert draw(page, (400, 240), False).convert("L").getpixel((300, 20)) == pytest.approx(230, abs=1)


def test_an_eps_carries_no_date_and_its_box_is_the_page():
    data = dict(render(ruled_document(210, 297), "eps"))[""]
    assert data.startswith(b"%!PS-Adobe-3.0 EPSF-3.0")
    assert b"CreationDate" not in data
    assert b"%%BoundingBox: 0 0 596 842\n" in data


@pytest.mark.parametrize("name", FORMATS)
def test_one_file_for_a_page_and_numbered_ones_for_several(name):
    one = [suffix for suffix, _ in render(ruled_document(100, 60), name, ppi=50)]
    two = [suffix for suffix, _ in render(drawn_document(), name, ppi=50)]
    assert one == [""]
    assert two == ([""] if name == "pdf" else ["-1", "-2"])


def test_the_same_bytes_on_every_run_hash_seed_time_zone_and_language():
    runs = set()
    for seed, zone, locale in (("0", "UTC", "C"), ("1", "Pacific/Chatham", "C.UTF-8"), ("77", "America/Lima", "C")):
        environment = os.environ | {"PYTHONHASHSEED": seed, "TZ": zone, "LC_ALL": locale}
        child = subprocess.run(
            [sys.executable, "-c", CHILD], env=environment, cwd=FOLDER, capture_output=True, text=True, check=True
        )
        runs.add(child.stdout)
    assert len(runs) == 1
    assert len(runs.pop().splitlines()) == 9


def test_the_date_of_a_reproducible_build_is_honoured(monkeypatch):
    data = dict(render(drawn_document(), "pdf"))[""]
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "1700000000")  # 14 November 2023, 22:13:20 UTC
    dated = dict(render(drawn_document(), "pdf"))[""]
    assert b"D:20231114221320" in dated
    assert b"D:20231114221320" not in data
    assert dated == dict(render(drawn_document(), "pdf"))[""]


def test_another_page_gives_other_bytes():
    for name in FORMATS:
        pair = [dict(render(ruled_document(100, height), name, ppi=50))[""] for height in (60, 61)]
        assert pair[0] != pair[1]


def test_an_unknown_format_and_an_endless_picture_are_refused_in_one_line():
    with pytest.raises(GuidegenError, match="`file_format`"):
        list(render(drawn_document(), "bmp"))
    with pytest.raises(GuidegenError, match="`ppi`"):
        list(render(drawn_document(), "png", ppi=50_000))
    for ppi in (0, -3, float("nan"), float("inf"), 0.01):
        with pytest.raises(GuidegenError, match="`ppi`"):
            list(render(drawn_document(), "png", ppi=ppi))


def test_a_grey_is_a_grey_on_screen_and_on_a_press():
    assert grey(0.25).rgb == (0.75, 0.75, 0.75)
    assert grey(0.25).cmyk == (0.0, 0.0, 0.0, 0.25)


def test_the_library_checks_values_for_whoever_asks_it_to():
    """Its patterns are compiled late: our pages don't need them, and others who use it still get its errors."""
    drawing = svg_library().Drawing(debug=True)
    drawing.add(drawing.path(d="M0 0L5 5", transform="rotate(5)"))
    with pytest.raises(TypeError, match="tide"):
        drawing.path(d="M0 0", transform="rotate(tide)")
