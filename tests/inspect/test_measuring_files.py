"""What inspect measures: foreign files with known lines, and the scale verdict."""

from __future__ import annotations

import pytest
from foreign import HEIGHTS, ezdxf_dxf, made_font, matplotlib_file, pillow_png, reportlab_pdf, svg

from guidegen.errors import GuidegenError
from guidegen.hands.library import list_papers
from guidegen.inspect import measure
from guidegen.inspect.against import Target, fit
from guidegen.inspect.scaled import RATIOS
from guidegen.readers import read_bytes
from guidegen.scene import Document, Layer, Line, Page, Style
from guidegen.sheets.parts.proof import proof_bar
from guidegen.writers import render

COBBLE = Target("cobble", "joined", 13.0, 10.0, 17.0, 3.2)


def measured(data: bytes, page: int = 1):
    return measure(read_bytes(data, "x"), page, list_papers().values())


@pytest.mark.parametrize(
    "make", [reportlab_pdf, ezdxf_dxf, lambda: matplotlib_file("svg"), lambda: matplotlib_file("pdf")]
)
def test_lines_of_foreign_files(make):
    found = measured(make())
    heights = found["lines"]["heights_mm"]
    for y in HEIGHTS:
        assert min(abs(y - height) for height in heights) < 2e-3
    assert found["lines"]["longest_mm"] == pytest.approx(190, abs=2e-3)


def test_slants_of_a_foreign_file():
    slant = measured(reportlab_pdf())["slants"][0]
    assert slant["deg"] == pytest.approx(55, abs=1e-3)
    assert (slant["count"], slant["spacing_mm"]) == (15, pytest.approx(7, abs=1e-3))


def test_another_page_and_one_that_is_not_there():
    assert measured(reportlab_pdf(), 2)["shapes"]["largest_mm"] == pytest.approx([30, 20], abs=1e-3)
    with pytest.raises(GuidegenError, match="`page`"):
        measured(reportlab_pdf(), 3)


def test_colours_layers_and_fonts_of_a_foreign_file():
    found = measured(reportlab_pdf())
    assert {c["colour"] for c in found["colours"]} >= {"cmyk 1 0 0 0", "#ff0000"}
    assert found["text"][0]["font"] == "Helvetica"
    assert [layer["id"] for layer in measured(ezdxf_dxf())["layers"]] == ["guides", "cut", "0"]


def test_paths_are_counted():
    body = (
        '<path d="M10 10h10v10" fill="none" stroke="red"/><path d="M40 10h10v10z"/><path d="M50 20v-10h-10z"/>'
        '<path d="M5 5h0h9v9z"/>'
    )
    paths = measured(svg(body))["paths"]
    assert (paths["count"], paths["open"], paths["closed"]) == (4, 1, 3)
    assert paths["nodes"] == 3 + 3 + 3 + 4
    assert (paths["duplicate"], paths["zero_length"]) == (1, 1)


def test_largest_and_smallest_shapes_leave_holes_out():
    body = '<path d="M10 10h40v30h-40z M20 20v10h10v-10z"/><rect x="100" y="100" width="2" height="3"/>'
    shapes = measured(svg(body))["shapes"]
    assert shapes["count"] == 2
    assert shapes["largest_mm"] == pytest.approx([40, 30])
    assert shapes["smallest_mm"] == pytest.approx([2, 3])


def four_line_rows(x_height: float, rows: int = 3, labelled: bool = True, proof: bool = True) -> Document:
    lines = []
    for row in range(rows):
        base = 60.0 + 5 * x_height * row
        for role, up in (("ascender", 2.2), ("x-height", 1.0), ("baseline", 0.0), ("descender", -0.9)):
            y = base + up * x_height
            told = (role, row + 1) if labelled else (None, None)
            lines.append(Line(complex(12, y), complex(198, y), Style(stroke_mm=0.2), *told))
    marks = proof_bar(12 + 12j, 186.0) if proof else ()
    return Document((Page(210.0, 297.0, (Layer("lines", tuple(lines)), Layer("proof", marks))),), "rows")


@pytest.mark.parametrize("kind", ["svg", "pdf", "png"])
@pytest.mark.parametrize("labelled", [True, False])
def test_guide_rows_are_found_by_their_labels_or_their_spacings(kind, labelled):
    found = measured(dict(render(four_line_rows(12.5, labelled=labelled), kind))[""])["lines"]
    slack = 0.1 if kind == "png" else 1e-3  # a picture of 300 ppi tells half a pixel, .042 mm, at either line
    assert found["rows"] == 3
    assert found["x_height_mm"] == pytest.approx(12.5, abs=slack)
    assert found["ascender_height_mm"] == pytest.approx(27.5, abs=slack)
    assert found["descender_mm"] == pytest.approx(11.25, abs=slack)


def test_lines_without_a_pattern_are_no_rows():
    assert "x_height_mm" not in measured(reportlab_pdf())["lines"]


def rescaled(data: bytes, ratio: float) -> bytes:
    """The SVG as a program saves it that read its millimetres at the wrong number of pixels."""
    text = data.decode()
    for side in ("210", "297"):
        assert text.count(f'"{side}mm"') == 1
        text = text.replace(f'"{side}mm"', f'"{float(side) * ratio:.6f}mm"')
    return text.encode()


# 90/96 = .9375, 72/96 = .75, 96/72 = 1.3333: what readers of SVG at 90 or 72 px an inch make of it.
@pytest.mark.parametrize("ratio", [0.9375, 0.75, 4 / 3, *RATIOS])
def test_a_file_scaled_by_a_reader_is_recognised_by_its_proof_bar(ratio):
    data = rescaled(dict(render(four_line_rows(10.0), "svg"))[""], ratio)
    found = measured(data)["scaled"]
    assert found["ratio"] == pytest.approx(ratio)
    assert found["told_by"] == "proof bar"
    assert not found["true"]


@pytest.mark.parametrize("ratio", [0.9375, 0.75, 4 / 3])
def test_and_without_a_bar_by_its_paper(ratio):
    data = rescaled(dict(render(four_line_rows(10.0, proof=False), "svg"))[""], ratio)
    found = measured(data)["scaled"]
    assert found["ratio"] == pytest.approx(ratio)
    assert found["told_by"] == "paper a4"


def test_a_scale_that_no_reader_makes_is_told_as_it_is():
    data = rescaled(dict(render(four_line_rows(10.0), "svg"))[""], 0.97)
    found = measured(data)["scaled"]
    assert found["ratio"] == pytest.approx(0.97, abs=1e-4)
    assert found["cause"] == "scaled by something else"


@pytest.mark.parametrize("kind", ["svg", "pdf"])
def test_a_true_file_is_true(kind):
    found = measured(dict(render(four_line_rows(10.0), kind))[""])["scaled"]
    assert found == {"ratio": 1.0, "told_by": "proof bar", "cause": "drawn at true size", "true": True}


def test_a_foreign_page_of_no_known_size_tells_nothing():
    assert measured(svg(RECT, "123mm", "45mm", "0 0 123 45"))["scaled"] is None


RECT = '<rect width="9" height="9"/>'


@pytest.mark.parametrize(("x_height", "verdict"), [(9.0, "too small"), (13.0, "right"), (18.0, "too large")])
def test_against_a_marker_by_the_guide_rows(x_height, verdict):
    read = read_bytes(dict(render(four_line_rows(x_height, rows=2), "svg"))[""], "x.svg")
    told = fit(read, 1, measure(read)["lines"], COBBLE)
    assert told["verdict"] == verdict
    assert told["fits"] == (verdict == "right")


@pytest.mark.parametrize(("width", "fits"), [(3.2, True), (1.6, False), (5.0, False)])
def test_against_a_marker_by_the_thickest_stroke(width, fits):
    read = read_bytes(svg(f'<rect x="10" y="10" width="{width}" height="40"/>'), "x.svg")
    told = fit(read, 1, measure(read)["lines"], COBBLE)
    assert told["thickest_stroke_mm"] == pytest.approx(width, abs=0.02)
    assert (told["verdict"], told["fits"]) == (None, fits)


def test_against_a_marker_a_font():
    # the font's x is .5 em and its stem .08 em: 13 mm of x-height are 26 mm of em = 73.7 pt, and there the stem
    # is 2.08 mm; a stem of 3.2 mm needs 40 mm of em = 113.4 pt, where the x-height is 20 mm
    read = read_bytes(made_font(), "x.ttf")
    told = fit(read, 1, {}, COBBLE)
    assert told["right_size_pt"] == pytest.approx(26 / 25.4 * 72)
    assert told["stem_at_right_size_mm"] == pytest.approx(2.08)
    assert told["true_stroke_pt"] == pytest.approx(40 / 25.4 * 72)
    assert told["x_height_at_true_stroke_mm"] == pytest.approx(20)
    assert told["verdict"] == "too large"


def test_a_picture_tells_its_resolution_and_ink():
    found = measured(pillow_png())
    assert found["page_mm"] == pytest.approx([100, 60])
    assert found["ink_mm"] == pytest.approx([5, 10, 95, 50])
