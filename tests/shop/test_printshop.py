"""Print-shop PDF: plates in Ghostscript, syntax in qpdf, boxes, layers in pdfium, cards on a sheet."""

from __future__ import annotations

import io
import pathlib
import re
import shutil
import subprocess
from dataclasses import replace

import numpy as np
import pikepdf
import pypdfium2
import pytest
from PIL import Image

import guidegen as gg
from guidegen.errors import GuidegenError
from guidegen.geometry.path import polyline
from guidegen.scene import BLACK, WHITE, Document, Ink, Layer, Line, Page, Placed, Shape, Style, Symbol, grey
from guidegen.shop.orders import print_options
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
    found = plates(print_pdf_bytes(document(), PrintOptions(marks=False)), tmp_path)
    assert {name for name, share in found.items() if share > 0} == {"Black"}


def test_crop_marks_stand_on_every_plate(tmp_path):
    """ISO 32000-1, 8.6.6.4: All paints on every plate, those of spot inks too."""
    harbour = Ink((0.9, 0.5, 0.1), (0.0, 0.5, 0.9, 0.1), "Harbour")
    options = PrintOptions(inks=guides_in_spot() | {"ink": harbour})
    corners = marked_plates(print_pdf_bytes(document(), options), tmp_path)
    assert set(corners) == {"Cyan", "Magenta", "Yellow", "Black", "Guides", "Harbour"}
    assert all(share > 0 for share in corners.values())


def marked_plates(data: bytes, folder: pathlib.Path) -> dict[str, float]:
    """The share of ink on each plate in the page's lower left corner, where only marks are."""
    plates(data, folder)
    found = {}
    for file in folder.glob("plate*.tif"):
        name = re.search(r"\((.*)\)", file.name)
        if name:
            corner = np.asarray(Image.open(file).convert("L"))[-round(6 / 25.4 * 150) :]
            found[name[1]] = float((corner < 200).mean())
    return found


def test_guides_and_letters_in_spot_colours_are_on_plates_of_their_own(tmp_path):
    harbour = Ink((0.9, 0.5, 0.1), (0.0, 0.5, 0.9, 0.1), "Harbour")
    data = print_pdf_bytes(document(), PrintOptions(inks=guides_in_spot() | {"ink": harbour}))
    found = plates(data, tmp_path)
    assert {name for name, share in found.items() if share > 0} >= {"Black", "Guides", "Harbour"}
    without = plates(print_pdf_bytes(document(), PrintOptions(inks={"ink": harbour}, marks=False)), tmp_path)
    assert without["Harbour"] == pytest.approx((100 - 16) / (106 * 66), rel=0.1)


def test_a_cmyk_ground_is_on_its_plates(tmp_path):
    sand = Ink((1.0, 0.95, 0.8), (0.0, 0.05, 0.2, 0.0))
    found = plates(print_pdf_bytes(document(background=sand), PrintOptions(marks=False)), tmp_path)
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
    assert used >= {"k", "SCN", "BDC", "EMC", "gs", "Do"}
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


# By the book: what is claimed, named and dated.


def test_no_view_area_is_named():
    """ISO 15930 lets ViewArea, ViewClip, PrintArea, PrintClip be MediaBox or BleedBox alone (from memory)."""
    for standard in ("x-4", "x-1a"):
        pdf = opened(print_pdf_bytes(document(), PrintOptions(standard=standard)))
        wanted = pdf.Root.ViewerPreferences
        assert not {"/ViewArea", "/ViewClip", "/PrintArea", "/PrintClip"} & set(wanted.keys())


def test_an_unknown_condition_needs_its_profile():
    with pytest.raises(GuidegenError, match=r"`output_intent`.*Tuesday.*a registered printing.*`icc`"):
        print_options(output_intent="Tuesday")
    profile = PROFILES[0]
    if not profile.exists():
        pytest.skip("no CMYK profile is installed here")
    options = print_options(output_intent="Tuesday", icc=profile)
    pdf = opened(print_pdf_bytes(document(), options))
    intent = pdf.Root.OutputIntents[0]
    assert str(intent.OutputConditionIdentifier) == "Tuesday"
    assert "/RegistryName" not in intent  # it is in no registry


def test_what_is_not_claimed_is_told():
    assert any("claims no PDF/X" in note for note in gg.write("flint", "tide").for_print().notes)
    assert not any("PDF/X" in note for note in gg.write("flint", "tide").for_print(pdfx="x-1a").notes)


@pytest.mark.parametrize("name", ["All", "none", "Black", "CYAN", "Magenta", "yellow"])
def test_names_that_mean_another_plate_are_refused(name):
    with pytest.raises(GuidegenError, match="`spot`"):
        print_options(spot=f"{name}=0,55,85,0")


def test_a_spot_called_as_the_guides_plate_is_refused():
    with pytest.raises(GuidegenError, match="`spot`"):
        print_options(spot="Guides", guides_spot=True)


def test_ids_differ_with_the_content_alone():
    moved = document()
    page = moved.pages[0]
    lines = replace(page.layers[0], items=page.layers[0].items[:1])
    other = replace(moved, pages=(replace(page, layers=(lines, page.layers[1])),))
    ids = []
    for one in (document(), moved, other):
        pdf = opened(print_pdf_bytes(one))
        ids.append((re.search(rb"DocumentID>(.*?)<", pdf.Root.Metadata.read_bytes())[1], bytes(pdf.trailer.ID[0])))
    assert ids[0] == ids[1]
    assert ids[0][0] != ids[2][0]
    assert ids[0][1] != ids[2][1]


def test_a_date_that_was_asked_for_is_in_xmp_too(monkeypatch):
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "1700000000")
    assert b"CreateDate>2023-11-14T" in opened(print_pdf_bytes(document())).Root.Metadata.read_bytes()


def test_a_ground_and_guides_that_reach_the_trim_run_out_to_the_bleeds_edge():
    lines = (Line(0j + 20j, 100 + 20j, Style(stroke_mm=1.0)), Line(10 + 40j, 90 + 40j, Style(stroke_mm=1.0)))
    slant = Layer("slant", (Line(50 + 0j, 80 + 60j, Style(stroke_mm=1.0)),))
    page = Page(100.0, 60.0, (Layer("lines", lines), slant))
    options = print_options(ground="0,10,40,0", marks=False)
    picture = np.asarray(rendered(print_pdf_bytes(Document((page,), "Ground"), options)))  # 4 px/mm, 3 mm bleed
    assert picture.shape == pytest.approx((66 * 4, 106 * 4), abs=1)
    assert (picture[[1, -2]][:, 1:-1] < 250).all()  # the ground, to the very edge
    assert (picture[1:-1][:, [1, -2]] < 250).all()
    row = picture[(60 + 3 - 20) * 4]
    assert (row[[1, -2]] < 60).all()  # the guide, from edge to edge
    short = picture[(60 + 3 - 40) * 4]
    assert (short[[1, 3 * 4 + 20, -2]] > 60).all()  # one that ends within the page stays as it is
    assert picture[1].min() < 60  # and the slanted one runs out on its own way
    assert picture[-2].min() < 60
    dark = [np.flatnonzero(picture[y] < 60).mean() / 4 - 3 for y in (1, -2)]
    assert dark == pytest.approx([50 + 0.5 * 62.6, 50 - 0.5 * 2.6], abs=0.5)


@pytest.mark.parametrize(("guides", "whole"), [("overprint", True), ("knockout", False), (None, False)])
def test_guides_overprint_or_knock_out_by_choice(guides, whole, tmp_path):
    ground = Ink((0.9, 0.5, 0.1), (0.0, 0.5, 0.9, 0.0))
    line = Line(0 + 30j, 100 + 30j, Style(stroke_mm=4.0, stroke=Ink((0, 0, 0), (0.0, 0.0, 0.0, 0.5))))
    page = Page(100.0, 60.0, (Layer("lines", (line,)),), background=ground)
    data = print_pdf_bytes(Document((page,), "Over"), print_options(marks=False, guides=guides))
    found = plates(data, tmp_path)
    assert found["Magenta"] == pytest.approx(1.0 if whole else 1 - 4 / 66, abs=0.01)


def test_cards_with_a_gutter_on_sra3():
    options = print_options(up=8, sheet="sra3", gutter_mm=6.0)
    assert options.sheet_mm == (320, 450)  # ISO 217, from memory
    pdf = opened(print_pdf_bytes(document(width=85, height=55), options))
    trim = in_mm(pdf.pages[0].trimbox)
    columns = round((trim[2] - trim[0] + 6) / 91)
    assert (trim[2] - trim[0], trim[3] - trim[1]) == (
        pytest.approx(91 * columns - 6), pytest.approx(61 * (8 // columns) - 6)
    )  # fmt: skip
    with pytest.raises(GuidegenError, match="`gutter_mm`"):
        print_options(gutter_mm=6.0)


@pytest.mark.parametrize("ground", ["", "1,2,3", "0,0,0,101", "#ffeedd", "90,90,90,90"])
def test_a_ground_that_is_none_is_refused(ground):
    with pytest.raises(GuidegenError, match="`ground`"):
        print_options(ground=ground)


PRESSED = {
    "sheet": ["sheet", "cobble"],
    "sheet-ground": ["sheet", "slate", "--margin", "0mm", "--proof", "none", "--ground", "0,5,15,0", "--pdfx", "x-1a"],
    "worksheet": ["worksheet", "cobble", "tide", "--binding", "10"],
    "handout": ["handout", "grit", "pebble"],
    "compare": ["compare", "pebble", "cobble"],
    "trial": ["trial"],
    "planner": ["planner", "pebble"],
    "up": ["write", "grit", "Mara", "--paper", "85x55mm", "--up", "8", "--sheet", "sra3", "--gutter", "5mm"],
}


@pytest.mark.parametrize("name", PRESSED)
def test_every_page_goes_to_a_print_shop(name, cli, home):
    """Kept by our own rules, and read without a word by qpdf and mutool."""
    path = home / "it.pdf"
    made = cli(*PRESSED[name], "--for", "print", "-o", path)
    assert made.code == 0, made.err
    checked = cli("inspect", path, "--for", "print")
    assert checked.code == 0, checked.out
    told = subprocess.run([need("qpdf"), "--check", str(path)], capture_output=True, text=True, check=False)
    assert told.returncode == 0, told.stdout + told.stderr
    told = subprocess.run([need("mutool"), "info", str(path)], capture_output=True, text=True, check=False)
    assert told.returncode == 0, told.stderr
    assert "Fonts (0)" in told.stdout or "Fonts" not in told.stdout
