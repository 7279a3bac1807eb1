"""Print-shop PDF: plates in Ghostscript, syntax in qpdf, boxes, layers in pdfium, cards on a sheet."""

from __future__ import annotations

import io
import pathlib
import re
import shutil
import subprocess

import numpy as np
import pikepdf
import pypdfium2
import pytest
from PIL import Image

from guidegen.errors import GuidegenError
from guidegen.geometry.path import polyline
from guidegen.scene import BLACK, WHITE, Document, Ink, Layer, Line, Page, Placed, Shape, Style, Symbol, grey
from guidegen.shop.printshop import PrintOptions, guides_in_spot, print_pdf_bytes
from guidegen.shop.printshop_metadata import UNREGISTERED, Intent, check_profile

MM = 72 / 25.4
PROFILES = [pathlib.Path("/usr/share/color/icc/ghostscript/default_cmyk.icc")]


def need(program: str) -> str:
    found = shutil.which(program)
    if found is None:
        pytest.skip(f"{program} is not installed here")
    return found


def square(left: float, low: float, side: float):
    z = complex(left, low)
    return (polyline([z, z + side, z + side * (1 + 1j), z + side * 1j], closed=True),)


def document(*, width: float = 100.0, height: float = 60.0, background: Ink | None = None) -> Document:
    lines = (
        Line(10 + 10j, 90 + 10j, Style(stroke_mm=0.2), "baseline", 1),
        Line(10 + 20j, 90 + 20j, Style(stroke_mm=0.2, stroke=grey(0.4))),
    )
    stamp = Symbol("stamp", (Shape(square(0, 0, 10), Style(fill=BLACK)), Shape(square(3, 3, 4), Style(fill=WHITE))))
    layers = (Layer("lines", lines), Layer("ink", (Placed(stamp, 30 + 30j),), "cobble"))
    return Document((Page(width, height, layers, background=background),), "Evening tide", "A test")


def opened(data: bytes) -> pikepdf.Pdf:
    return pikepdf.open(io.BytesIO(data))


def plates(data: bytes, folder: pathlib.Path) -> dict[str, float]:
    """The share of each plate that Ghostscript inks at all."""
    path = folder / "print.pdf"
    path.write_bytes(data)
    command = [need("gs"), "-q", "-dNOPAUSE", "-dBATCH", "-dSAFER", "-sDEVICE=tiffsep", "-r150"]
    subprocess.run([*command, f"-sOutputFile={folder / 'plate.tif'}", str(path)], check=True, capture_output=True)
    found = {}
    for file in folder.glob("plate*.tif"):
        name = re.search(r"\((.*)\)", file.name)
        if name:
            found[name[1]] = float((np.asarray(Image.open(file).convert("L")) < 250).mean())
    return found


def test_black_only_is_on_the_black_plate_only(tmp_path):
    found = plates(print_pdf_bytes(document()), tmp_path)
    assert {name for name, share in found.items() if share > 0} == {"Black"}


def test_guides_and_letters_in_spot_colours_are_on_plates_of_their_own(tmp_path):
    harbour = Ink((0.9, 0.5, 0.1), (0.0, 0.5, 0.9, 0.1), "Harbour")
    data = print_pdf_bytes(document(), PrintOptions(inks=guides_in_spot() | {"ink": harbour}))
    found = plates(data, tmp_path)
    assert {name for name, share in found.items() if share > 0} == {"Black", "Guides", "Harbour"}  # crop marks: black
    without = plates(print_pdf_bytes(document(), PrintOptions(inks={"ink": harbour}, marks=False)), tmp_path)
    assert without["Harbour"] == pytest.approx((100 - 16) / (106 * 66), rel=0.1)


def test_a_cmyk_ground_is_on_its_plates(tmp_path):
    sand = Ink((1.0, 0.95, 0.8), (0.0, 0.05, 0.2, 0.0))
    found = plates(print_pdf_bytes(document(background=sand)), tmp_path)
    assert {name for name, share in found.items() if share > 0} == {"Black", "Magenta", "Yellow"}


@pytest.mark.parametrize(
    "options", [PrintOptions(), PrintOptions(standard="x-1a"), PrintOptions(up=4, inks=guides_in_spot())]
)
def test_qpdf_finds_nothing_to_say(options, tmp_path):
    path = tmp_path / "print.pdf"
    path.write_bytes(print_pdf_bytes(document(width=85, height=55), options))
    told = subprocess.run([need("qpdf"), "--check", str(path)], capture_output=True, text=True, check=False)
    assert told.returncode == 0, told.stdout + told.stderr
    assert "WARNING" not in told.stdout + told.stderr


def test_no_operator_of_grey_or_rgb_stands_anywhere():
    pdf = opened(print_pdf_bytes(document(background=grey(0.1)), PrintOptions(inks=guides_in_spot())))
    used = set()
    for stream in [page.Contents for page in pdf.pages] + [o for o in pdf.objects if _is_form(o)]:
        used |= {str(i.operator) for i in pikepdf.parse_content_stream(stream)}
    assert not used & {"g", "G", "rg", "RG", "sh", "Tj", "TJ", "BI"}
    assert used >= {"k", "K", "SCN", "BDC", "EMC", "gs", "Do"}
    assert not any(isinstance(o, pikepdf.Dictionary) and o.get("/Type") == "/Font" for o in pdf.objects)


def _is_form(thing) -> bool:
    return isinstance(thing, pikepdf.Stream) and thing.get("/Subtype") == "/Form"


def in_mm(box) -> list[float]:
    return [float(side) / MM for side in box]


@pytest.mark.parametrize(
    ("bleed", "marks", "edge"), [(3.0, True, 9.0), (5.0, True, 11.0), (3.0, False, 3.0), (0.0, False, 0.0)]
)
def test_boxes_lie_in_each_other_and_the_trim_is_the_page(bleed, marks, edge):
    pdf = opened(print_pdf_bytes(document(), PrintOptions(bleed_mm=bleed, marks=marks)))
    page = pdf.pages[0]
    assert in_mm(page.trimbox) == pytest.approx([edge, edge, edge + 100, edge + 60], abs=1e-5)
    assert in_mm(page.obj.BleedBox) == pytest.approx(
        [edge - bleed, edge - bleed, edge + 100 + bleed, edge + 60 + bleed], abs=1e-5
    )
    assert in_mm(page.mediabox) == pytest.approx([0, 0, 100 + 2 * edge, 60 + 2 * edge], abs=1e-5)


def rendered(data: bytes, hidden: tuple[str, ...] = ()) -> np.ndarray:
    """The first page in pdfium, some layers switched off, at 4 px/mm."""
    pdf = opened(data)
    if hidden:
        groups = [g for g in pdf.Root.OCProperties.OCGs if str(g.Name) in hidden]
        pdf.Root.OCProperties.D.OFF = pikepdf.Array(groups)
    target = io.BytesIO()
    pdf.save(target)
    page = pypdfium2.PdfDocument(target.getvalue())[0]
    return np.asarray(page.render(scale=4 / MM, grayscale=True).to_pil())


def test_layers_switch_on_and_off_in_pdfium():
    data = print_pdf_bytes(document(), PrintOptions(marks=False))
    whole, lines_off, ink_off = rendered(data), rendered(data, ("lines",)), rendered(data, ("ink",))
    stamp = (
        slice(((66 - 3 - 40) * 4) + 4, ((66 - 3 - 30) * 4) - 4),
        slice((33 * 4) + 2, (43 * 4) - 2),
    )
    assert whole[stamp].min() < 50 and lines_off[stamp].min() < 50 and ink_off[stamp].min() > 250  # noqa: PT018
    below = slice((66 - 3 - 12) * 4, None)
    assert whole[below].min() < 200 and ink_off[below].min() < 200 and lines_off[below].min() > 250  # noqa: PT018


def test_black_lines_overprint_and_white_knocks_out(tmp_path):
    # A black line over a spot ground must leave the ground whole; white on it must not.
    ground = Ink((0.9, 0.5, 0.1), (0.0, 0.5, 0.9, 0.1), "Harbour")
    items = (
        Shape(square(10, 10, 40), Style(fill=ground)),
        Line(5 + 20j, 60 + 20j, Style(stroke_mm=2.0)),
        Shape(square(20, 30, 10), Style(fill=WHITE)),
    )
    page = Page(70.0, 60.0, (Layer("ink", items),))
    found = plates(print_pdf_bytes(Document((page,), "Over"), PrintOptions(marks=False)), tmp_path)
    assert found["Harbour"] == pytest.approx((1600 - 100) / (76 * 66), rel=0.03)


def test_several_pages_and_their_boxes():
    pages = (document().pages[0], document(width=80, height=90).pages[0])
    pdf = opened(print_pdf_bytes(Document(pages, "Two")))
    assert [in_mm(page.trimbox)[2:] for page in pdf.pages] == [
        pytest.approx([109, 69], abs=1e-5),
        pytest.approx([89, 99], abs=1e-5),
    ]


@pytest.mark.parametrize(("up", "places"), [(1, 1), (8, 8), (10, 10)])
def test_cards_on_a_sheet(up, places):
    pdf = opened(print_pdf_bytes(document(width=85, height=55), PrintOptions(up=up)))
    page = pdf.pages[0]
    moves = [
        [float(v) for v in i.operands] for i in pikepdf.parse_content_stream(page.Contents) if str(i.operator) == "cm"
    ][1:]
    corners = sorted((m[4], m[5]) for m in moves)
    assert len(set(corners)) == places
    trim = in_mm(page.trimbox)
    # the block lies in the middle of an A4 sheet, cards edge to edge
    assert (trim[0] + trim[2], trim[1] + trim[3]) == (pytest.approx(210), pytest.approx(297))
    assert (trim[2] - trim[0]) * (trim[3] - trim[1]) == pytest.approx(places * 85 * 55)
    assert corners[0] == (pytest.approx(trim[0]), pytest.approx(trim[1]))


def test_cards_that_print_to_the_edge_are_cut_apart_twice():
    sand = Ink((1.0, 0.95, 0.8), (0.0, 0.05, 0.2, 0.0))
    pdf = opened(print_pdf_bytes(document(width=85, height=55, background=sand), PrintOptions(up=8)))
    page = pdf.pages[0]
    trim = in_mm(page.trimbox)
    assert (trim[2] - trim[0], trim[3] - trim[1]) == (pytest.approx(2 * 85 + 6), pytest.approx(4 * 55 + 18))


def test_a_set_fills_sheet_after_sheet():
    pages = tuple(document(width=85, height=55).pages[0] for _ in range(11))
    pdf = opened(print_pdf_bytes(Document(pages, "Set"), PrintOptions(up=8)))
    assert [len(page.Resources.XObject.keys()) for page in pdf.pages] == [8, 3]


def test_too_many_cards_are_refused_and_told_how_many_fit():
    with pytest.raises(GuidegenError, match=r"`up`.*at most 10 fit"):
        print_pdf_bytes(document(width=85, height=55), PrintOptions(up=12))
    with pytest.raises(GuidegenError, match="not even one fits"):
        print_pdf_bytes(document(width=300, height=55), PrintOptions(up=1))


def test_what_the_file_says_of_itself():
    pdf = opened(print_pdf_bytes(document(), PrintOptions(intent=Intent("FOGRA51"))))
    intent = pdf.Root.OutputIntents[0]
    assert (str(intent.OutputConditionIdentifier), str(intent.RegistryName)) == ("FOGRA51", "http://www.color.org")
    assert "/DestOutputProfile" not in intent
    assert pdf.trailer.Info.Trapped == "/False"
    assert str(pdf.trailer.Info.Title) == "Evening tide"
    assert "/GTS_PDFXVersion" not in pdf.trailer.Info  # layers and no profile: nothing is claimed
    assert b"PDF/X" not in pdf.Root.Metadata.read_bytes()
    assert len(pdf.trailer.ID) == 2
    assert pdf.pdf_version == "1.6"


def test_x1a_has_no_layers_is_old_and_says_so():
    pdf = opened(print_pdf_bytes(document(), PrintOptions(standard="x-1a")))
    assert "/OCProperties" not in pdf.Root
    assert pdf.pdf_version == "1.4"
    assert str(pdf.trailer.Info.GTS_PDFXVersion) == "PDF/X-1a:2003"


def cmyk_profile() -> bytes:
    for path in PROFILES:
        if path.exists():
            return path.read_bytes()
    pytest.skip("no CMYK profile is installed here")


def test_a_profile_is_put_into_the_file_and_pdf_x4_is_claimed():
    profile = check_profile(cmyk_profile(), "--icc")
    pdf = opened(print_pdf_bytes(document(), PrintOptions(intent=Intent("Ours", profile))))
    stored = pdf.Root.OutputIntents[0].DestOutputProfile
    assert stored.read_bytes() == profile
    assert int(stored.N) == 4
    assert b"<pdfxid:GTS_PDFXVersion>PDF/X-4</pdfxid:GTS_PDFXVersion>" in pdf.Root.Metadata.read_bytes()


def test_a_profile_alone_claims_no_registered_condition():
    pdf = opened(print_pdf_bytes(document(), PrintOptions(intent=Intent(UNREGISTERED, cmyk_profile()))))
    intent = pdf.Root.OutputIntents[0]
    assert str(intent.OutputConditionIdentifier) == "Custom"  # ISO 32000-1, table 365
    assert "/RegistryName" not in intent
    assert "/DestOutputProfile" in intent
    assert "FOGRA" not in str(dict(intent))


def test_a_profile_of_a_screen_or_no_profile_is_refused():
    from PIL import ImageCms

    screen = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    for data in (b"", b"tide" * 50, screen, cmyk_profile()[:-1]):
        with pytest.raises(GuidegenError, match="--icc"):
            check_profile(data, "--icc")


def test_the_same_bytes_again_and_the_date_that_was_asked_for(monkeypatch):
    first = print_pdf_bytes(document())
    assert first == print_pdf_bytes(document())
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "1700000000")
    assert str(opened(print_pdf_bytes(document())).trailer.Info.CreationDate).startswith("D:20231114")


def test_layer_names_and_odd_titles_survive():
    page = Page(50.0, 50.0, (Layer("letter-smallest", (Shape(square(9, 9, 9), Style(fill=BLACK)),)),))
    pdf = opened(print_pdf_bytes(Document((page,), 'Möwe & "<Boot>"')))
    assert [str(g.Name) for g in pdf.Root.OCProperties.OCGs] == ["letter-smallest", "crop"]
    assert str(pdf.trailer.Info.Title) == 'Möwe & "<Boot>"'
