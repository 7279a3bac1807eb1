"""Every rule of the preflight has a file here that breaks it and nothing else, and a sound file that keeps it."""

from __future__ import annotations

import io

import pikepdf
import pytest
from foreign import ezdxf_dxf, pillow_png, reportlab_pdf, svg

from guidegen.errors import GuidegenError
from guidegen.geometry.path import Path, polyline, reverse
from guidegen.inspect.cut_rules import CUT_CHECKS
from guidegen.inspect.preflight import failed, preflight
from guidegen.inspect.print_rules import PRINT_CHECKS
from guidegen.readers import read_bytes
from guidegen.scene import BLACK, Document, Ink, Layer, Line, Page, Shape, Style
from guidegen.sheets.parts.proof import proof_bar
from guidegen.shop.cutting import prepare_for_cut
from guidegen.shop.printshop import PrintOptions, print_pdf_bytes
from guidegen.writers import render
from guidegen.writers.dxf import dxf_bytes


def box(left: float, low: float, right: float, top: float) -> Path:
    corners = [complex(left, low), complex(right, low), complex(right, top), complex(left, top)]
    return polyline(corners, closed=True)


def broken(data: bytes, purpose: str, **options) -> set[str]:
    """The names of the rules that a file does not keep, warnings included."""
    return {f.rule for f in preflight(read_bytes(data, "x"), purpose, **options) if f.status != "pass"}


def sound_drawing() -> Document:
    ring = (box(20, 30, 60, 70), reverse(box(30, 40, 50, 60)))
    page = Page(
        210.0, 100.0, (Layer("ink", (Shape(ring, Style(fill=BLACK)),)), Layer("proof", proof_bar(12 + 12j, 186.0)))
    )
    return prepare_for_cut(Document((page,), "Sound"))


def test_a_sound_cut_file_keeps_every_rule():
    drawing = sound_drawing()
    for data in (
        dict(render(drawing, "svg"))[""], dxf_bytes(drawing.pages[0]), dxf_bytes(drawing.pages[0], splines=False)
    ):  # fmt: skip
        assert broken(data, "cut") == set()


# A cut file by hand: a frame, its hole before it, and a proof mark. Each entry below changes what is cut.
LINE = 'fill="none" stroke="#c21a6b" stroke-width="0.01"'
HOLE = f'<path {LINE} d="M30 40v20h20v-20z"/>'
FRAME = f'<path {LINE} d="M20 30h40v40h-40z"/>'
PROOF = '<g id="proof" display="none"><path fill="none" stroke="#777777" stroke-width="0.2" d="M10 140h20"/></g>'


def cut(body: str = HOLE + FRAME, more: str = PROOF, **frame) -> bytes:
    return svg(f'<g id="cut">{body}</g>{more}', **frame)


BROKEN_CUTS = {
    "units": cut(width="210", height="148"),
    "something-to-cut": cut(""),
    "closed": cut(HOLE + FRAME + f'<path {LINE} d="M80 30h40v40"/>'),
    "no-text": cut(more=PROOF + '<text x="9" y="9">tide</text>'),
    "no-transform": cut(f'<g transform="translate(1 0)">{HOLE}{FRAME}</g>'),
    "no-reference": cut(more=PROOF + '<script href="tide.js"/>'),
    "no-picture": cut(more=PROOF + '<image href="data:," width="9" height="9"/>'),
    "no-duplicate": cut(HOLE + FRAME + f'<path {LINE} d="M80 30h40v40z"/><path {LINE} d="M120 70v-40h-40z"/>'),
    "no-overlap": cut(HOLE + FRAME + f'<path {LINE} d="M60 35h40v20h-40z"/>'),
    "no-zero-length": cut(HOLE + f'<path {LINE} d="M20 30h40v0h0v40h-40z"/>'),
    "no-self-crossing": cut(HOLE + FRAME + f'<path {LINE} d="M80 30h30l-30 30h30l-15-45z"/>'),
    "no-crossing": cut(HOLE + FRAME + f'<path {LINE} d="M55 50h20v30h-20z"/>'),
    "united": cut(f'<path {LINE} d="M30 40h20v20h-20z"/>' + FRAME),
    "winding": cut(HOLE + FRAME + f'<path {LINE} d="M80 30v40h40v-40z"/>'),
    "inner-first": cut(FRAME + HOLE),
    "layers": cut(more=PROOF + f'<g id="Layer 1"><path {LINE.replace("c21a6b", "00ff00")} d="M80 30h40v40z"/></g>'),
    "colours": cut(more=PROOF + f'<g id="score"><path {LINE} d="M80 30h40"/></g>'),
    "hairline": cut((HOLE + FRAME).replace("0.01", "0.5")),
    "proof-layer": cut(more=""),
    "inside-page": cut(HOLE + FRAME + f'<path {LINE} d="M180 30h40v40h-40z"/>'),
    "few-nodes": cut(HOLE + FRAME + f'<path {LINE} d="M80 30{"l.02 .01 .02 .011" * 20}h40v40h-41z"/>'),
    "few-nodes ": cut(HOLE + FRAME + f'<path {LINE} d="M80 30h.04l9 .02h30v40h-39.04z"/>'),
    "few-nodes  ": cut(HOLE + FRAME + f'<path {LINE} d="M80 30c10 0 20 0 30 1c10 1.9 10 20 10 30h-40z"/>'),
    "layers ": cut(more=PROOF.replace(' display="none"', "")),
    "min-feature": cut(HOLE + FRAME + f'<path {LINE} d="M80 30h1v40h-1z"/>'),
}
# what cannot be broken alone: a doubled path lies on itself, a shape across an edge crosses and so on
WITH_IT = {
    "no-duplicate": {"no-overlap", "winding", "min-feature"},
    "no-overlap": {"inner-first", "united"},
    "no-self-crossing": {"winding", "min-feature"},
    "no-crossing": {"inner-first", "united"},
    "layers ": {"proof-layer"},
}


def test_the_cut_file_by_hand_is_sound():
    assert broken(cut(), "cut") == set()


@pytest.mark.parametrize("rule", BROKEN_CUTS)
def test_each_rule_for_cutting_catches_its_broken_file(rule):
    assert broken(BROKEN_CUTS[rule], "cut") == {rule.strip()} | WITH_IT.get(rule, set())


def test_every_rule_for_cutting_has_a_broken_file():
    assert {check.rule for check in CUT_CHECKS} | {"min-feature"} == {rule.strip() for rule in BROKEN_CUTS}


@pytest.mark.parametrize("units", [1, 5])
def test_a_drawing_in_other_units_is_no_drawing_in_mm(units):
    assert "units" in broken(ezdxf_dxf(units), "cut")


def test_blocks_and_texts_are_caught_in_dxf_too():
    assert {"no-transform", "no-text", "layers"} <= broken(ezdxf_dxf(), "cut")


def test_thin_strokes_are_advice_until_a_width_is_asked_for():
    read = read_bytes(BROKEN_CUTS["min-feature"], "x.svg")
    assert not failed(preflight(read, "cut"))
    assert failed(preflight(read, "cut", 2.0))
    assert not failed(preflight(read, "cut", 0.5))


@pytest.mark.parametrize("purpose", ["cut", "print"])
def test_a_picture_is_neither_cut_nor_printed(purpose):
    assert failed(preflight(read_bytes(pillow_png(), "x.png"), purpose))


def test_an_unknown_purpose_is_refused():
    with pytest.raises(GuidegenError, match="`purpose`"):
        preflight(read_bytes(cut(), "x.svg"), "knit")


def sound_page() -> Document:
    lines = tuple(Line(complex(20, y), complex(180, y), Style(stroke_mm=0.2), "baseline", 1) for y in (40, 60, 80))
    ring = (box(20, 100, 60, 140), reverse(box(30, 110, 50, 130)))
    page = Page(210.0, 297.0, (Layer("lines", lines), Layer("ink", (Shape(ring, Style(fill=BLACK)),))))
    return Document((page,), "Evening tide & boats", "A test")


@pytest.mark.parametrize("options", [PrintOptions(), PrintOptions(standard="x-1a"), PrintOptions(up=1, bleed_mm=3.0)])
def test_a_sound_print_file_keeps_every_rule(options):
    if options.up:
        options = PrintOptions(up=2, sheet_mm=(450.0, 330.0))
    assert broken(print_pdf_bytes(sound_page(), options), "print") == set()


def edited(change, options: PrintOptions | None = None, document: Document | None = None) -> bytes:
    pdf = pikepdf.open(io.BytesIO(print_pdf_bytes(document or sound_page(), options or PrintOptions())))
    change(pdf)
    target = io.BytesIO()
    pdf.save(target, **({"force_version": "1.7"} if change is newer else {}))
    return target.getvalue()


def newer(pdf) -> None:
    """Only the version changes, when the file is saved."""


def painted(operators: bytes):
    """Add operators at the end of the page, in points."""

    def change(pdf) -> None:
        page = pdf.pages[0]
        scale = b"q 0.352777778 0 0 0.352777778 0 0 cm "  # back from the page's millimetres
        page.contents_add(pdf.make_stream(scale + operators + b" Q"))

    return change


def with_resource(group: str, name: str, value, operators: bytes):
    def change(pdf) -> None:
        resources = pdf.pages[0].obj.Resources
        if f"/{group}" not in resources:
            resources[f"/{group}"] = pikepdf.Dictionary()
        resources[f"/{group}"][f"/{name}"] = pdf.make_indirect(value)
        painted(operators)(pdf)

    return change


def set_box(name: str, grow_pt: float):
    def change(pdf) -> None:
        page = pdf.pages[0].obj
        box = [float(side) for side in page["/TrimBox"]]
        page[f"/{name}"] = [box[0] - grow_pt, box[1] - grow_pt, box[2] + grow_pt, box[3] + grow_pt]

    return change


def dropped(*path: str):
    def change(pdf) -> None:
        place = pdf.Root if path[0] == "Root" else pdf.trailer if path[0] == "trailer" else pdf.pages[0].obj
        for key in path[1:-1]:
            place = place[f"/{key}"]
        del place[f"/{path[-1]}"]

    return change


HELVETICA = pikepdf.Dictionary(Type=pikepdf.Name.Font, Subtype=pikepdf.Name.Type1, BaseFont=pikepdf.Name.Helvetica)
SEE_THROUGH = pikepdf.Dictionary(Type=pikepdf.Name.ExtGState, ca=0.5)
SCRIPT = pikepdf.Dictionary(S=pikepdf.Name.JavaScript, JS="app.alert(1)")


def two_intents(pdf) -> None:
    pdf.Root.OutputIntents.append(pdf.Root.OutputIntents[0])


def unnamed_intent(pdf) -> None:
    pdf.Root.OutputIntents[0].OutputConditionIdentifier = ""


def scripted(pdf) -> None:
    pdf.Root.OpenAction = SCRIPT


def untrapped(pdf) -> None:
    pdf.trailer.Info.Trapped = pikepdf.Name.Unknown


def other_title(pdf) -> None:
    pdf.trailer.Info.Title = "Low tide"


def scaled_by_viewers(pdf) -> None:
    pdf.Root.ViewerPreferences.PrintScaling = pikepdf.Name.AppDefault


def claims_x1a(pdf) -> None:
    pdf.trailer.Info.GTS_PDFXVersion = "PDF/X-1a:2003"


def noted(pdf) -> None:
    note = pikepdf.Dictionary(Type=pikepdf.Name.Annot, Subtype=pikepdf.Name.Text, Rect=[300, 300, 320, 320])
    pdf.pages[0].obj.Annots = pikepdf.Array([pdf.make_indirect(note)])


def viewed_to_the_trim(pdf) -> None:
    pdf.Root.ViewerPreferences.ViewArea = pikepdf.Name.TrimBox


def with_stream(group: str, name: str, operators: bytes, body: bytes = b"", **entries):
    def change(pdf) -> None:
        with_resource(group, name, pdf.make_stream(body, **entries), operators)(pdf)

    return change


def shaded(space):
    blend = pikepdf.Dictionary(FunctionType=2, Domain=[0, 1], C0=[0] * space[1], C1=[1] * space[1], N=1)
    return pikepdf.Dictionary(
        ShadingType=2, ColorSpace=pikepdf.Name(space[0]), Coords=[300, 300, 330, 330], Function=blend
    )


def without_id() -> bytes:
    data = print_pdf_bytes(sound_page())
    place = data.rindex(b"/ID")
    return data[:place] + b"/XX" + data[place + 3 :]


def locked() -> bytes:
    pdf = pikepdf.open(io.BytesIO(print_pdf_bytes(sound_page())))
    target = io.BytesIO()
    pdf.save(target, encryption=pikepdf.Encryption(user="", owner="boat", R=4))
    return target.getvalue()


OVER = b"/GSover gs "
INVERTED = pikepdf.Dictionary(FunctionType=2, Domain=[0, 1], C0=[1], C1=[0], N=1)
PICTURE = b"q 100 0 0 100 300 300 cm BI /W 2 /H 2 /CS /G /BPC 8 ID \x20\x40\x60\x80 EI Q"
PATTERN = pikepdf.Dictionary(PatternType=2, Shading=shaded(("/DeviceRGB", 3)))
BROKEN_PRINTS = {
    "pdf": lambda: dict(render(sound_page(), "svg"))[""],
    "trim-box": lambda: edited(dropped("page", "TrimBox")),
    "boxes-nested": lambda: edited(set_box("BleedBox", 100)),
    "bleed": lambda: edited(set_box("BleedBox", 2)),
    "marks-outside": lambda: edited(painted(OVER + b"0 0 0 1 K 1 w 300 0 m 300 60 l S")),
    "no-rgb": lambda: edited(painted(b"1 0 0 rg 300 300 30 30 re f")),
    "ink-limit": lambda: edited(painted(b"0.9 0.9 0.9 0.9 k 300 300 30 30 re f")),
    "black-alone": lambda: edited(painted(b"0.5 0.4 0.4 0.9 K 1 w 300 300 m 350 300 l S")),
    "overprint": lambda: edited(painted(b"/GSknock gs 0 0 0 1 K 1 w 300 300 m 350 300 l S")),
    "line-weight": lambda: edited(painted(OVER + b"0 0 0 1 K 0.1 w 300 300 m 350 300 l S")),
    "safe-margin": lambda: edited(painted(b"0 0 0 1 k 28 300 30 30 re f")),
    "fonts-embedded": lambda: edited(
        with_resource("Font", "F", HELVETICA, b"0 0 0 1 k BT /F 12 Tf 300 300 Td (tide) Tj ET")
    ),
    "output-intent": lambda: edited(dropped("Root", "OutputIntents")),
    "info": lambda: edited(dropped("trailer", "Info", "ModDate")),
    "trapped": lambda: edited(untrapped),
    "xmp": lambda: edited(other_title),
    "file-id": without_id,
    "no-encryption": locked,
    "no-scripts": lambda: edited(scripted),
    "no-scaling": lambda: edited(scaled_by_viewers),
    "version": lambda: edited(newer),
    "no-rgb ": lambda: edited(with_resource("Shading", "H", shaded(("/DeviceRGB", 3)), b"/H sh")),
    "no-rgb  ": lambda: edited(with_resource("Pattern", "P", PATTERN, b"/Pattern cs /P scn 300 300 30 30 re f")),
    "tint-bleeds": lambda: edited(painted(b"0 0 0 0.2 k 25.512 300 60 30 re f")),
    "resolution": lambda: edited(painted(PICTURE)),
    "white-overprint": lambda: edited(painted(OVER + b"0 0 0 0 k 300 300 30 30 re f")),
    "no-transfer": lambda: edited(
        with_resource("ExtGState", "T", pikepdf.Dictionary(TR=INVERTED), b"/T gs 0 0 0 1 k 300 300 30 30 re f")
    ),
    "no-annotations": lambda: edited(noted),
    "no-postscript": lambda: edited(
        with_stream("XObject", "S", b"/S Do", b"0 0 moveto", Type=pikepdf.Name.XObject, Subtype=pikepdf.Name.PS)
    ),
    "view-area": lambda: edited(viewed_to_the_trim),
    "no-layers-in-x1a": lambda: edited(claims_x1a),
    "no-transparency": lambda: edited(
        with_resource("ExtGState", "T", SEE_THROUGH, b"/T gs 0 0 0 1 k 300 300 30 30 re f")
    ),
}
PRINTS_WITH_IT = {"boxes-nested": {"marks-outside"}, "tint-bleeds": {"safe-margin"}}


@pytest.mark.parametrize("rule", BROKEN_PRINTS)
def test_each_rule_for_printing_catches_its_broken_file(rule):
    assert broken(BROKEN_PRINTS[rule](), "print") == {rule.strip()} | PRINTS_WITH_IT.get(rule, set())


def test_every_rule_for_printing_has_a_broken_file():
    assert {check.rule for check in PRINT_CHECKS} == {rule.strip() for rule in BROKEN_PRINTS}


def test_a_shading_for_the_press_is_no_rgb():
    assert broken(edited(with_resource("Shading", "H", shaded(("/DeviceCMYK", 4)), b"/H sh")), "print") == set()


@pytest.mark.parametrize("change", [two_intents, unnamed_intent])
def test_other_ways_to_break_the_output_intent(change):
    assert broken(edited(change), "print") == {"output-intent"}


def test_a_home_printer_s_pdf_is_no_print_file():
    rules = broken(dict(render(sound_page(), "pdf"))[""], "print")
    assert {"trim-box", "bleed", "output-intent", "xmp"} <= rules


def test_a_foreign_pdf_is_told_what_it_lacks():
    assert {"no-rgb", "trim-box", "fonts-embedded", "output-intent", "no-scaling"} <= broken(reportlab_pdf(), "print")


def test_ink_that_runs_out_into_the_bleed_is_no_breach_of_the_margin():
    page = Page(
        90.0,
        60.0,
        (Layer("ink", (Shape((box(20, 20, 40, 40),), Style(fill=BLACK)),)),),
        background=Ink((1, 1, 0.8), (0, 0, 0.2, 0)),
    )
    assert broken(print_pdf_bytes(Document((page,), "Ground")), "print") == set()
