"""True scale in other people's programs: Debian's, started as commands.

Every distance between lines and uprights of a ruled page must be right within 0.005 % or 0.01 mm, whichever is more.
Each program's worst error is printed by ``pytest -k other_programs -s``; DEVELOPERS.md has the table.
"""

from __future__ import annotations

import io
import json
import os
import pathlib
import shutil
import subprocess

import ezdxf
import numpy as np
import pytest
from PIL import Image
from ruled_pages import SIZES, centres, line_heights, ruled_document

from guidegen.writers import render
from guidegen.writers.dxf import dxf_bytes

Image.MAX_IMAGE_PIXELS = None
WITHIN_MM, WITHIN_SHARE = 0.01, 5e-5
PDF_PPI = 1200
SVG_PPI = 508.0  # 20 px/mm
# A browser stretches a page to whole pixels, so the zoom is one at which the page has whole pixels anyway.
CHROMIUM_ZOOM = {"a4": 6.35, "letter": 8.0}


def run(folder: pathlib.Path, *command: str) -> None:
    program = shutil.which(command[0])
    if program is None:
        pytest.skip(f"{command[0]} is not installed here")
    environment = os.environ | {"HOME": str(folder), "XDG_RUNTIME_DIR": str(folder), "LC_ALL": "C.UTF-8"}
    subprocess.run([program, *command[1:]], cwd=folder, env=environment, check=True, capture_output=True, timeout=300)


def distances(darkness: np.ndarray, per_mm: float) -> list[float]:
    spots = centres(darkness)
    return [(spot - spots[0]) / per_mm for spot in spots]


def lines_in(path: pathlib.Path, per_mm: float, page: tuple[float, float]) -> tuple[list[float], list[float]]:
    """Distances between lines down a column at a third of the width, and between uprights along a row near the foot."""
    picture = Image.open(path)
    width, height = picture.size
    column = picture.crop((width // 3, 0, width // 3 + 8, height))
    middle = round((page[1] - 4.75) * per_mm)
    row = picture.crop((0, middle - 3, width, middle + 3))
    down = distances(darkness_of(column).mean(axis=1), per_mm)
    return [down[-1] - d for d in down][::-1], distances(darkness_of(row).mean(axis=0), per_mm)


def darkness_of(picture: Image.Image) -> np.ndarray:
    if picture.mode == "RGBA":
        picture = Image.alpha_composite(Image.new("RGBA", picture.size, "white"), picture)
    return 1.0 - np.asarray(picture.convert("L"), dtype=float) / 255.0


def expected(page: tuple[float, float]) -> tuple[list[float], list[float]]:
    heights, places = line_heights(page[1]), line_heights(page[0])
    return [y - heights[0] for y in heights], [x - places[0] for x in places]


def check(name: str, found: tuple[list[float], list[float]], page: tuple[float, float]) -> None:
    wanted = expected(page)
    assert [len(part) for part in found] == [len(part) for part in wanted]
    worst = max(
        (abs(got - true), true)
        for part, ideal in zip(found, wanted, strict=True)
        for got, true in zip(part, ideal, strict=True)
    )
    print(f"{name:10} {page[0]:g} x {page[1]:g} mm: worst {worst[0]:.4f} mm")
    for part, ideal in zip(found, wanted, strict=True):
        for got, true in zip(part, ideal, strict=True):
            assert abs(got - true) <= max(WITHIN_MM, WITHIN_SHARE * true), (name, got, true)


PDF_PROGRAMS = {
    "poppler": ("pdftoppm", "-r", str(PDF_PPI), "-gray", "-singlefile", "page.pdf", "page"),
    "ghostscript": (
        "gs", "-q", "-dNOPAUSE", "-dBATCH", "-dSAFER", "-sDEVICE=pnggray", "-dGraphicsAlphaBits=4",
        f"-r{PDF_PPI}", "-sOutputFile=page.png", "page.pdf",
    ),
    "mupdf": ("mutool", "draw", "-q", "-r", str(PDF_PPI), "-c", "gray", "-o", "page.pgm", "page.pdf"),
}  # fmt: skip
EPS_PROGRAM = ("gs", "-dEPSCrop", *PDF_PROGRAMS["ghostscript"][1:-1], "page.eps")


@pytest.mark.parametrize("program", PDF_PROGRAMS)
@pytest.mark.parametrize("page", [SIZES["a4"], SIZES["letter"]], ids=["a4", "letter"])
def test_pdf_in_other_programs(program, page, tmp_path):
    (tmp_path / "page.pdf").write_bytes(dict(render(ruled_document(*page), "pdf"))[""])
    run(tmp_path, *PDF_PROGRAMS[program])
    picture = next(p for p in (tmp_path / "page.png", tmp_path / "page.pgm") if p.exists())
    check(program, lines_in(picture, PDF_PPI / 25.4, page), page)


@pytest.mark.parametrize("page", [SIZES["a4"], SIZES["letter"]], ids=["a4", "letter"])
def test_eps_in_ghostscript(page, tmp_path):
    (tmp_path / "page.eps").write_bytes(dict(render(ruled_document(*page), "eps"))[""])
    run(tmp_path, *EPS_PROGRAM)
    check("eps in gs", lines_in(tmp_path / "page.png", PDF_PPI / 25.4, page), page)


@pytest.mark.parametrize("page", [SIZES["a4"], SIZES["letter"]], ids=["a4", "letter"])
def test_svg_in_a_vector_editor(page, tmp_path):
    (tmp_path / "page.svg").write_bytes(dict(render(ruled_document(*page), "svg"))[""])
    run(tmp_path, "inkscape", "page.svg", f"--export-dpi={SVG_PPI}", "--export-background=white", "-o", "page.png")
    check("inkscape", lines_in(tmp_path / "page.png", SVG_PPI / 25.4, page), page)


@pytest.mark.parametrize("name", CHROMIUM_ZOOM)
def test_svg_in_a_browser(name, tmp_path):
    page, zoom = SIZES[name], CHROMIUM_ZOOM[name]
    (tmp_path / "page.svg").write_bytes(dict(render(ruled_document(*page), "svg"))[""])
    window = ",".join(str(int(side / 25.4 * 96) + 1) for side in page)
    run(
        tmp_path, "chromium", "--headless", "--no-sandbox", "--disable-gpu", "--hide-scrollbars",
        f"--force-device-scale-factor={zoom}", f"--window-size={window}", f"--user-data-dir={tmp_path / 'profile'}",
        f"--screenshot={tmp_path / 'page.png'}", (tmp_path / "page.svg").as_uri(),
    )  # fmt: skip
    check("chromium", lines_in(tmp_path / "page.png", zoom * 96 / 25.4, page), page)


@pytest.mark.parametrize("splines", [True, False], ids=["splines", "r12"])
@pytest.mark.parametrize("page", [SIZES["a4"], SIZES["letter"]], ids=["a4", "letter"])
def test_dxf_in_another_reader(page, splines, tmp_path):
    (tmp_path / "page.dxf").write_bytes(dxf_bytes(ruled_document(*page).pages[0], splines=splines))
    run(
        tmp_path,
        "ogr2ogr",
        "-f",
        "GeoJSON",
        "-lco",
        "RFC7946=NO",
        "-lco",
        "COORDINATE_PRECISION=9",
        "page.json",
        "page.dxf",
    )
    told = json.loads((tmp_path / "page.json").read_text())["features"]
    ends = [[complex(*p[:2]) for p in feature["geometry"]["coordinates"]] for feature in told]
    check("gdal", sorted_lines(ends), page)


@pytest.mark.parametrize("splines", [True, False], ids=["splines", "r12"])
def test_dxf_in_ezdxf(splines):
    page = SIZES["a4"]
    text = dxf_bytes(ruled_document(*page).pages[0], splines=splines).decode()
    lines = ezdxf.read(io.StringIO(text)).modelspace().query("LINE")
    ends = [[complex(z.x, z.y) for z in (line.dxf.start, line.dxf.end)] for line in lines]
    check("ezdxf", sorted_lines(ends), page)


def sorted_lines(ends: list[list[complex]]) -> tuple[list[float], list[float]]:
    heights = sorted(a.imag for a, b in ends if abs(a.imag - b.imag) < 1e-9)
    places = sorted(a.real for a, b in ends if abs(a.real - b.real) < 1e-9)
    return [y - heights[0] for y in heights], [x - places[0] for x in places]


def test_a_page_that_is_off_by_a_ten_thousandth_is_noticed(tmp_path):
    page = SIZES["a4"]
    wrong = tuple([got * 1.0001 for got in part] for part in expected(page))
    with pytest.raises(AssertionError):
        check("wrong", wrong, page)
