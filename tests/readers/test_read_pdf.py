"""PDF files by reportlab, matplotlib and pikepdf alone, against ISO 32000-1."""

from __future__ import annotations

import io

import pikepdf
import pytest
from foreign import CIRCLE, HEIGHTS, PAGE, matplotlib_file, reportlab_pdf

from guidegen.errors import GuidegenError
from guidegen.geometry.measure import bounds
from guidegen.readers import read_bytes

PT = 25.4 / 72


def made(content: bytes, resources: pikepdf.Dictionary | None = None, **keys) -> bytes:
    """A page of 100 x 200 pt with this content."""
    pdf = pikepdf.new()
    page = pikepdf.Page(
        pikepdf.Dictionary(
            Type=pikepdf.Name.Page, MediaBox=[0, 0, 100, 200], Contents=pdf.make_stream(content),
            Resources=resources or pikepdf.Dictionary(),
        )
    )  # fmt: skip
    for key, value in keys.items():
        page.obj[f"/{key}"] = value
    pdf.pages.append(page)
    target = io.BytesIO()
    pdf.save(target)
    return target.getvalue()


def page(data: bytes):
    return read_bytes(data, "x.pdf").pages[0]


def test_a_page_by_reportlab():
    read = read_bytes(reportlab_pdf(), "x.pdf")
    assert [p.size_mm for p in read.pages] == [pytest.approx(PAGE, abs=1e-4), pytest.approx((100, 50), abs=1e-4)]
    black = [d for d in read.pages[0].drawn if d.stroke is not None and d.stroke.space != "cmyk"]
    assert [d.paths[0].start.imag for d in black] == pytest.approx(HEIGHTS, abs=1e-3)
    assert [d.stroke_mm for d in black] == pytest.approx([0.3] * 5, abs=1e-4)
    disc = next(d for d in read.pages[0].drawn if d.fill is not None)
    low, high = bounds(disc.paths)
    assert (low, high) == (
        pytest.approx(complex(CIRCLE[0] - CIRCLE[2], CIRCLE[1] - CIRCLE[2]), abs=2e-3),
        pytest.approx(complex(CIRCLE[0] + CIRCLE[2], CIRCLE[1] + CIRCLE[2]), abs=2e-3),
    )
    assert disc.fill.name == "#ff0000"
    words = read.pages[0].words[0]
    assert (words.font, words.size_mm, words.embedded) == ("Helvetica", pytest.approx(12 * PT), False)


def test_a_page_by_matplotlib_has_its_font_inside():
    shown = page(matplotlib_file("pdf"))
    assert shown.size_mm == pytest.approx(PAGE, abs=1e-3)
    lines = [d for d in shown.drawn if d.stroke is not None and d.stroke_mm > 0.1]
    assert [d.paths[0].start.imag for d in lines] == pytest.approx(HEIGHTS, abs=2e-3)
    assert [w.embedded for w in shown.words] == [True]


def test_every_path_operator():
    shown = page(made(b"10 10 m 20 10 l 20 20 l h S 0 0 5 5 re f 1 1 m 2 2 3 2 4 1 c 5 0 6 1 v 7 2 8 1 y b"))
    assert [len(d.paths[0].segments) for d in shown.drawn] == [3, 4, 4]
    assert [d.paths[0].closed for d in shown.drawn] == [True, True, True]
    assert shown.drawn[1].paths[0].segments[0] == (0j, pytest.approx(5 * PT))


def test_matrices_stack_and_are_restored():
    shown = page(made(b"q 2 0 0 2 10 0 cm 3 w 0 0 m 10 0 l S Q 0 0 m 10 0 l S"))
    assert [abs(d.paths[0].end) for d in shown.drawn] == pytest.approx([30 * PT, 10 * PT])
    assert [d.stroke_mm for d in shown.drawn] == pytest.approx([6 * PT, PT])


def test_forms_inside_forms_are_placed():
    pdf = pikepdf.new()
    inner = pdf.make_stream(
        b"0 0 10 10 re f", Type=pikepdf.Name.XObject, Subtype=pikepdf.Name.Form, BBox=[0, 0, 10, 10]
    )
    outer = pdf.make_stream(
        b"q 1 0 0 1 5 5 cm /I Do Q", Type=pikepdf.Name.XObject, Subtype=pikepdf.Name.Form, BBox=[0, 0, 50, 50],
        Matrix=[2, 0, 0, 2, 0, 0], Resources=pikepdf.Dictionary(XObject=pikepdf.Dictionary(I=inner)),
    )  # fmt: skip
    pdf.pages.append(pikepdf.Page(pikepdf.Dictionary(
        Type=pikepdf.Name.Page, MediaBox=[0, 0, 100, 100], Contents=pdf.make_stream(b"1 0 0 1 3 0 cm /O Do"),
        Resources=pikepdf.Dictionary(XObject=pikepdf.Dictionary(O=outer)))))  # fmt: skip
    target = io.BytesIO()
    pdf.save(target)
    low, high = bounds(page(target.getvalue()).drawn[0].paths)
    assert (low, high) == (pytest.approx((13 + 10j) * PT), pytest.approx((33 + 30j) * PT))


def spaces() -> pikepdf.Dictionary:
    function = pikepdf.Dictionary(FunctionType=2, Domain=[0, 1], C0=[0, 0, 0, 0], C1=[0, 1, 1, 0], N=1)
    return pikepdf.Dictionary(
        ColorSpace=pikepdf.Dictionary(
            S=pikepdf.Array([pikepdf.Name.Separation, pikepdf.Name("/Guides"), pikepdf.Name.DeviceCMYK, function]),
            L=pikepdf.Array([pikepdf.Name.Lab, pikepdf.Dictionary(WhitePoint=[1, 1, 1])]),
        ),
        ExtGState=pikepdf.Dictionary(
            O=pikepdf.Dictionary(OP=True, op=True, OPM=1),
            T=pikepdf.Dictionary(ca=0.5),
            B=pikepdf.Dictionary(BM=pikepdf.Name.Multiply),
        ),
    )


@pytest.mark.parametrize(
    ("operators", "name"),
    [
        (b"0.5 g", "gray 0.5"), (b"1 0 0 rg", "#ff0000"), (b"0 0 0 1 k", "cmyk 0 0 0 1"),
        (b"/S cs 0.6 scn", "spot Guides 0.6"), (b"/L cs 50 0 0 sc", "lab 50 0 0"),
        (b"/DeviceCMYK cs 0.1 0.2 0.3 0.4 sc", "cmyk 0.1 0.2 0.3 0.4"), (b"/DeviceCMYK cs", "cmyk 0 0 0 1"),
        (b"", "gray 0"),
    ],
)  # fmt: skip
def test_colours(operators, name):
    assert page(made(operators + b" 0 0 5 5 re f", spaces())).drawn[0].fill.name == name


def test_overprint_and_transparency():
    drawn = page(
        made(b"q /O gs 0 0 m 9 0 l S Q q /T gs 0 0 5 5 re f Q q /B gs 0 0 5 5 re f Q 0 0 5 5 re f", spaces())
    ).drawn
    assert [d.overprint for d in drawn] == [True, False, False, False]
    assert [d.transparent for d in drawn] == [False, True, True, False]


def test_boxes_rotation_and_user_unit():
    shown = page(made(b"0 0 5 5 re f", TrimBox=[10, 10, 90, 190], Rotate=90, UserUnit=2))
    assert shown.size_mm == pytest.approx((400 * PT, 200 * PT))
    assert shown.boxes["TrimBox"] == pytest.approx(tuple(2 * PT * side for side in (10, 10, 190, 90)))  # turned
    assert "BleedBox" not in shown.boxes


def test_a_box_that_does_not_start_at_zero():
    shown = page(made(b"60 60 5 5 re f", MediaBox=[50, 50, 150, 250]))
    assert bounds(shown.drawn[0].paths)[0] == pytest.approx((10 + 10j) * PT)


@pytest.mark.parametrize("off", [True, False])
def test_layers_by_optional_content(off):
    pdf = pikepdf.open(io.BytesIO(made(b"/OC /L BDC 0 0 5 5 re f EMC 0 0 5 5 re f")))
    group = pdf.make_indirect(pikepdf.Dictionary(Type=pikepdf.Name.OCG, Name="guides"))
    pdf.pages[0].obj.Resources.Properties = pikepdf.Dictionary(L=group)
    pdf.Root.OCProperties = pikepdf.Dictionary(OCGs=[group], D=pikepdf.Dictionary(OFF=[group] if off else []))
    target = io.BytesIO()
    pdf.save(target)
    read = read_bytes(target.getvalue(), "x.pdf")
    assert [d.layer for d in read.pages[0].drawn] == ([None] if off else ["guides", None])
    assert read.facts["optional_layers"] == ["guides"]
    assert read.facts.get("layers_off", []) == (["guides"] if off else [])


def test_a_picture_and_its_resolution():
    from PIL import Image
    from reportlab.lib.utils import ImageReader
    from reportlab.pdfgen.canvas import Canvas

    target = io.BytesIO()
    canvas = Canvas(target, pagesize=(200, 200))
    canvas.drawImage(ImageReader(Image.new("RGB", (150, 300), "red")), 10, 20, 36, 72)
    canvas.save()
    picture = page(target.getvalue()).pictures[0]
    assert (picture.width_px, picture.height_px, picture.space) == (150, 300, "rgb")
    assert picture.box == pytest.approx(tuple(PT * side for side in (10, 20, 46, 92)))
    assert picture.ppi == pytest.approx(300)


def test_a_locked_file_is_refused_in_a_line():
    pdf = pikepdf.open(io.BytesIO(reportlab_pdf()))
    target = io.BytesIO()
    pdf.save(target, encryption=pikepdf.Encryption(user="tide", owner="boat"))
    with pytest.raises(GuidegenError, match="password"):
        read_bytes(target.getvalue(), "x.pdf")


def told(data: bytes) -> str:
    with pytest.raises(GuidegenError) as error:
        read_bytes(data, "x.pdf")
    return str(error.value)


@pytest.mark.parametrize(
    ("content", "place", "shown"),
    [
        (b"0 0 m 1 0 0 1 0 cm", "page 1, operator 2", "`1 0 0 1 0 cm`"),
        (b"0 0 m 5 5 l S /x /y l", "page 1, operator 4", "`/x /y l`"),
        (b"q 0 0 m 9 0 l S Q cm", "page 1, operator 6", "`cm`"),
        (b"q 1 0 0 1 0 0 cm 900000000000000 0 m 0 0 l S", "page 1, operator 5", "a coordinate that lies nowhere"),
        (b"/G gs", "page 1, operator 1", "`/G gs`"),
    ],
)
def test_what_is_wrong_in_a_content_stream_is_told_by_page_and_operator(content, place, shown):
    resources = pikepdf.Dictionary(ExtGState=pikepdf.Dictionary(G=pikepdf.Array([1])))
    line = told(made(content, resources))
    assert line.startswith(f"x.pdf: {place}: found ")
    assert shown in line


def test_an_operator_inside_a_form_of_the_second_page_is_told_by_both():
    pdf = pikepdf.open(io.BytesIO(made(b"0 0 5 5 re f")))
    form = pdf.make_stream(b"0 0 5 5 re f 3 w tide w", Type=pikepdf.Name.XObject, Subtype=pikepdf.Name.Form)
    pdf.pages.append(pikepdf.Page(pikepdf.Dictionary(
        Type=pikepdf.Name.Page, MediaBox=[0, 0, 100, 100], Contents=pdf.make_stream(b"q /F Do Q"),
        Resources=pikepdf.Dictionary(XObject=pikepdf.Dictionary(F=form)))))  # fmt: skip
    target = io.BytesIO()
    pdf.save(target)
    assert told(target.getvalue()).startswith("x.pdf: page 2, operator 2, operator 5: found `w`")


@pytest.mark.parametrize(
    ("keys", "line"),
    [
        ({"CropBox": [0, 0, 9]}, "page 1: found /CropBox [0 0 9], expected four numbers"),
        ({"TrimBox": pikepdf.Name("/tide")}, "page 1: found /TrimBox /tide, expected four numbers"),
        ({"Rotate": pikepdf.Name("/tide")}, "page 1: found /Rotate /tide, expected a number"),
        ({"UserUnit": pikepdf.Array([])}, "page 1: found /UserUnit [], expected a number"),
        ({"MediaBox": [0, 0, 0, 0]}, "page 1: found 0 x 0 mm, expected a page of ordinary size"),
    ],
)
def test_what_is_wrong_with_a_page_is_told_by_its_entry(keys, line):
    assert told(made(b"", **keys)).startswith(f"x.pdf: {line}")


def test_what_is_wrong_with_the_catalog_is_told_by_its_entry():
    pdf = pikepdf.open(io.BytesIO(made(b"")))
    pdf.Root.OCProperties = pikepdf.Dictionary(OCGs=5)
    target = io.BytesIO()
    pdf.save(target)
    assert told(target.getvalue()).startswith("x.pdf: catalog /OCProperties: found an entry of another kind")


def test_a_stream_that_does_not_unpack_is_told_by_its_object():
    data = made(b"0 0 m 9 9 l S " * 40)
    pdf = pikepdf.open(io.BytesIO(data))
    number = pdf.pages[0].obj.Contents.objgen[0]
    target = io.BytesIO()
    pdf.save(target, recompress_flate=True, object_stream_mode=pikepdf.ObjectStreamMode.disable)
    packed = target.getvalue()
    at = packed.index(b"stream\n") + 30
    line = told(packed[:at] + b"\xff\xff" + packed[at + 2 :])
    assert line.startswith(f"x.pdf: page 1, object {number}: found a stream packed by /FlateDecode that does not")


def test_an_empty_page_is_a_page():
    assert page(made(b"")).drawn == ()


def test_what_is_wrong_with_the_frame_of_a_file_is_told():
    """ISO 32000-1, 7.5: the table of objects lies where `startxref` says, 20 bytes an entry, then the trailer."""
    pdf = pikepdf.open(io.BytesIO(made(b"0 0 5 5 re f")))
    target = io.BytesIO()
    pdf.save(target, object_stream_mode=pikepdf.ObjectStreamMode.disable)
    data = target.getvalue()
    table = data.index(b"xref\n")
    entry = data.index(b" 00000 n", table) - 10
    assert read_bytes(data, "x.pdf").format == "pdf"
    for harmed, words in (
        (data[:-40], "it breaks off: no startxref"),
        (data[:60] + b"tide" + data[60:], f"no table of objects at byte {table}, where its end says"),
        (data[:entry] + b"tide" + data[entry + 4 :], f"no entry for object 1 at byte {entry}"),
        (data.replace(b"trailer", b"tailor "), "no trailer at byte"),
        (data.replace(b"/Root", b"/Boot"), "its trailer names no catalog"),
    ):
        assert f"found a damaged file ({words}" in told(harmed)
