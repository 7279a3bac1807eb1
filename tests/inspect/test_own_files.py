"""Every kind of file that is made here against its own preflight, and nothing that `inspect` says of it is not so."""

from __future__ import annotations

import pytest

import guidegen as gg

PAGES = {
    "write": lambda: gg.write("boulder", "Regatta", proof="bar"),
    "write with guides": lambda: gg.write("slate", "boat", guides=True, proof="bar"),
    "letter": lambda: gg.letter("cobble"),
    "plan": lambda: gg.plan("cobble", "tide").layout(),
}
CUT = {
    "plain": {},
    "bridges": {"bridges_mm": 1.0},
    "along the slant": {"bridges_mm": 1.0, "bridges_along": "slant"},
    "kerf": {"kerf_mm": 0.15, "mirror": True},
    "framed": {"weed_box_mm": 3.0, "register": True},
}
FORMATS = {"svg": {}, "dxf": {}, "dxf r12": {"splines": False}, "pdf": {}, "eps": {}}
KINDS = [
    *((page, "plain", file_format) for page in PAGES for file_format in FORMATS),
    *(("write", how, file_format) for how in CUT if how != "plain" for file_format in ("svg", "dxf r12", "pdf")),
]


@pytest.mark.parametrize(("page", "how", "file_format"), KINDS)
def test_a_cut_file_keeps_every_rule(page, how, file_format, tmp_path):
    ending = file_format.split()[0]
    path = tmp_path / f"it.{ending}"
    PAGES[page]().for_cut(**CUT[how], **FORMATS[file_format]).save(path)
    found = gg.inspect_file(path, purpose="cut")
    told = {f["rule"]: f["found"] for f in found["preflight"] if f["status"] != "pass" and f["rule"] != "min-feature"}
    assert told == {}


PRINT = {
    "plain": {},
    "x-1a": {"pdfx": "x-1a"},
    "spots": {"spot": "Harbour", "guides_spot": True},
    "ground": {"ground": "0,5,20,0", "guides": "knockout"},
    "overprint": {"guides": "overprint"},
    "up": {"up": 2, "sheet": "450x640mm", "gutter_mm": 8.0},
}
PRESSED = {
    "write": PAGES["write"],
    "sheet": lambda: gg.sheet("cobble"),
    "worksheet": lambda: gg.worksheet("pebble", "tide", binding_mm=10),
    "handout": lambda: gg.handout(["grit", "pebble"]),
    "compare": lambda: gg.compare(["pebble", "cobble"]),
    "trial": gg.trial,
    "planner": lambda: gg.planner(["pebble"]),
}
PRINTS = [*((page, "plain") for page in PRESSED), *(("write", how) for how in PRINT if how != "plain")]


@pytest.mark.parametrize(("page", "how"), PRINTS)
def test_a_print_file_keeps_every_rule(page, how, tmp_path):
    path = tmp_path / "it.pdf"
    PRESSED[page]().for_print(**PRINT[how]).save(path)
    found = gg.inspect_file(path, purpose="print")
    assert {f["rule"]: f["found"] for f in found["preflight"] if f["status"] == "fail"} == {}


@pytest.mark.parametrize("ending", ["svg", "pdf", "png", "dxf", "eps"])
def test_a_file_that_was_corrected_for_a_printer_says_so(ending, tmp_path):
    path = tmp_path / f"it.{ending}"
    gg.sheet("flint", landscape=True, printer="101.4x99.1").save(path)
    notes = " ".join(gg.inspect_file(path)["notes"])
    assert "corrected for a printer: 100 mm on paper are 100.908 mm across and 98.6193 mm down" in notes
    scale = gg.inspect_file(path)["scaled"]
    assert scale is None or scale["true"] is None
    plain = tmp_path / f"plain.{ending}"
    gg.sheet("flint", landscape=True).save(plain)
    assert "corrected" not in " ".join(gg.inspect_file(plain)["notes"])


def test_a_page_of_the_right_size_is_not_called_true(tmp_path):
    """A page of A4 may hold a drawing shrunk to 96 per cent; only a bar can tell."""
    path = tmp_path / "it.svg"
    gg.sheet("flint", proof="none").save(path)
    found = gg.inspect_file(path)["scaled"]
    assert (found["true"], found["ratio"], found["cause"]) == (None, None, "paper size matches; scale not proven")
    barred = tmp_path / "bar.svg"
    gg.sheet("flint").save(barred)
    assert gg.inspect_file(barred)["scaled"]["true"] is True


@pytest.mark.parametrize("gap", [8.0, 5.0])
def test_evenly_ruled_paper_is_no_writing_rows(gap, tmp_path):
    heights = [20 + gap * k for k in range(24)]
    lines = "".join(f'<line x1="10" x2="200" y1="{y}" y2="{y}" stroke="#00f"/>' for y in heights)
    path = tmp_path / "ruled.svg"
    path.write_text(
        f'<svg xmlns="http://www.w3.org/2000/svg" width="210mm" height="297mm" viewBox="0 0 210 297">{lines}</svg>'
    )
    found = gg.inspect_file(path)["lines"]
    assert found["count"] == 24
    assert found.get("rows") is None


def test_a_path_that_goes_nowhere_is_found(tmp_path):
    path = tmp_path / "dot.svg"
    path.write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="210mm" height="297mm" viewBox="0 0 210 297"><g id="cut">'
        '<path d="M10 10z" stroke="#c21a6b" stroke-width=".01" fill="none"/></g></svg>'
    )
    failed = {f["rule"] for f in gg.inspect_file(path, purpose="cut")["preflight"] if f["status"] == "fail"}
    assert "no-zero-length" in failed


@pytest.mark.parametrize("made", [
    lambda: gg.worksheet("flint", "tide", printer="101.4x99.1"),
    lambda: gg.worksheet("flint", names=["Ada", "Tom"], printer="101.4x99.1"),
    lambda: gg.cards("flint", ["Ada", "Tom"], printer="101.4x99.1").layout(),
    lambda: gg.handout(["flint"], printer="101.4x99.1"),
])  # fmt: skip
def test_pages_for_pupils_say_that_they_were_corrected(made, tmp_path):
    path = tmp_path / "it.pdf"
    made().save(path)
    assert "corrected for a printer" in " ".join(gg.inspect_file(path)["notes"])
