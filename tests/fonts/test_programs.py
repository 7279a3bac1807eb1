"""The fonts in real programs: fontbakery judges them, LibreOffice and Chromium set them at true size.

Each needs its program; where that is missing the test is skipped (never in CI, whose script installs them).
"""

import base64
import math
import os
import shutil
import subprocess
from itertools import pairwise

import pytest
from judged import FONTBAKERY, no_fault
from made import FEW, face_of, file_of, letters_of
from paper import FODT, ink_of, run_width, top_and_bottom
from test_true_size import TOLERANCE_MM, stem_of

from guidegen.fonts.faces import FAMILY
from guidegen.fonts.naming import menu_name

SOFFICE = shutil.which("soffice")
FC_MATCH = shutil.which("fc-match")
CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")

# One marker per hand; (look, format, ruled, starts). The benchmark judges every face of every marker.
MARKERS = ("cobble", "slate", "flint")
CHECKED = [("solid", "ttf", False, False), ("hollow", "otf", False, False), ("dotted", "ttf", True, True)]


@pytest.mark.skipif(not FONTBAKERY, reason="needs fontbakery 1.1.0 in an environment of its own (FONTBAKERY=its path)")
@pytest.mark.parametrize("name", MARKERS)
def test_fontbakery_s_universal_profile_finds_no_fault(tmp_path, name):
    for look, file_format, lines, starts in CHECKED:
        path = tmp_path / f"{name}-{look}{'-ruled' if lines else ''}.{file_format}"
        path.write_bytes(file_of(name, look, None, file_format, ruled=lines, starts=starts))
    no_fault(FONTBAKERY, sorted(tmp_path.glob(f"{name}-*")), tmp_path)


def heights_on_pages(pdf, letters):
    """Check x-height (page 1), ascender height (2) and stem (3) of single letters, wherever they stand on the page."""
    x = letters.lettering.x_height_mm
    _, stem_at, stem_mm = stem_of(letters)
    for number, wanted in ((0, x), (1, letters.hand.ascender * x)):
        ink, (_, down) = ink_of(pdf, number)
        top, bottom = top_and_bottom(ink)
        assert (bottom - top) / down == pytest.approx(wanted, abs=TOLERANCE_MM)
    ink, (across, down) = ink_of(pdf, 2)
    _, bottom = top_and_bottom(ink)
    stem = run_width(ink[round(bottom - stem_at * x * down)]) / across
    turn = letters.hand.slant_deg
    assert stem * math.sin(math.radians(turn)) == pytest.approx(stem_mm, abs=TOLERANCE_MM)


FACE = """<style:font-face style:name="F" svg:font-family="'{family}'"/>"""
STYLE = """<style:style style:name="P" style:family="paragraph"><style:paragraph-properties fo:break-before="page"/>
<style:text-properties style:font-name="F" fo:font-size="{points}pt" fo:language="en" fo:country="GB"/></style:style>"""
FONTCONFIG = """<?xml version="1.0"?><!DOCTYPE fontconfig SYSTEM "fonts.dtd">
<fontconfig><dir>{folder}</dir><cachedir>{folder}/cache</cachedir></fontconfig>
"""


@pytest.mark.skipif(not FC_MATCH, reason="needs fontconfig's fc-match")
@pytest.mark.parametrize("file_format", ["ttf", "otf"])
def test_the_system_gives_the_face_that_is_asked_for_by_family(tmp_path, file_format):
    (tmp_path / "fonts.conf").write_text(FONTCONFIG.format(folder=tmp_path))
    asked = {}
    for style in FAMILY:
        data = file_of("flint", style.look, FEW, file_format, ruled=style.ruled, starts=style.starts)
        (tmp_path / f"{style.file_word}.{file_format}").write_bytes(data)
        face = face_of("flint", style.look, FEW, ruled=style.ruled, starts=style.starts)
        asked[menu_name(face.names.family, face.names.style)] = style.file_word
    environment = {**os.environ, "FONTCONFIG_FILE": str(tmp_path / "fonts.conf"), "HOME": str(tmp_path)}
    for family, word in asked.items():
        command = [FC_MATCH, "-f", "%{file}", family]
        done = subprocess.run(command, check=True, capture_output=True, text=True, timeout=100, env=environment)
        assert done.stdout.endswith(f"/{word}.{file_format}"), family


@pytest.mark.skipif(not SOFFICE, reason="needs LibreOffice Writer (soffice)")
@pytest.mark.parametrize("name", MARKERS)
def test_libreoffice_sets_the_font_at_true_size(tmp_path, name):
    letters, face = letters_of(name), face_of(name)
    fonts = tmp_path / "fonts"
    fonts.mkdir()
    (fonts / "quay.ttf").write_bytes(file_of(name))
    (tmp_path / "fonts.conf").write_text(FONTCONFIG.format(folder=fonts))
    texts = ["n", "h", stem_of(letters)[0]]
    paragraphs = "".join(f'<text:p text:style-name="P">{text}</text:p>' for text in texts)
    page = FODT.format(
        faces=FACE.format(family=face.names.full),
        styles=STYLE.format(points=face.size.point_size),
        paragraphs=paragraphs,
        width=210,
        height=297,
        margin=20,
    )
    (tmp_path / "page.fodt").write_text(page)
    profile = f"-env:UserInstallation=file://{tmp_path}/profile"
    command = [SOFFICE, profile, "--headless", "--convert-to", "pdf", "--outdir", tmp_path, tmp_path / "page.fodt"]
    environment = {**os.environ, "FONTCONFIG_FILE": str(tmp_path / "fonts.conf"), "HOME": str(tmp_path)}
    subprocess.run(command, check=True, capture_output=True, timeout=300, env=environment)
    pdf = (tmp_path / "page.pdf").read_bytes()
    heights_on_pages(pdf, letters)


@pytest.mark.skipif(not CHROMIUM, reason="needs Chromium")
@pytest.mark.parametrize("name", MARKERS)
def test_chromium_sets_the_web_font_at_true_size(tmp_path, name):
    letters, face = letters_of(name), face_of(name)
    data = base64.b64encode(file_of(name, "solid", None, "woff2")).decode()
    texts = ["n", "h", stem_of(letters)[0]]
    html = (
        "<!DOCTYPE html><meta charset=utf-8><style>@page{size:210mm 297mm;margin:20mm}"
        f"@font-face{{font-family:F;src:url(data:font/woff2;base64,{data})}}"
        f"p{{font:{face.size.point_size}pt F;margin:0;break-after:page}}</style>"
        + "".join(f"<p>{text}</p>" for text in texts)
    )
    (tmp_path / "page.html").write_text(html)
    print_page(tmp_path / "page.html", tmp_path / "page.pdf", tmp_path)
    heights_on_pages((tmp_path / "page.pdf").read_bytes(), letters)


def print_page(page, pdf, home):
    command = [
        CHROMIUM, "--headless", "--no-sandbox", "--disable-gpu", f"--user-data-dir={home}/chromium",
        "--no-pdf-header-footer", f"--print-to-pdf={pdf}", page.as_uri(),
    ]  # fmt: skip
    subprocess.run(command, check=True, capture_output=True, timeout=300, env={**os.environ, "HOME": str(home)})


@pytest.mark.skipif(not CHROMIUM, reason="needs Chromium")
def test_chromium_shows_the_specimen_page(cli, tmp_path):
    assert cli("font", "slate", "--specimen", "-o", tmp_path / "slate.woff2").code == 0
    print_page(tmp_path / "slate-specimen.html", tmp_path / "page.pdf", tmp_path)
    ink, (across, down) = ink_of((tmp_path / "page.pdf").read_bytes())
    rows = ink.max(axis=1) > 0.5
    assert rows.any()
    # the four guide lines of the page are the widest ink on it, and stand at the letters' heights
    wide = [row for row in range(len(rows)) if (ink[row] > 0.3).sum() > 150 * across]
    groups = [wide[0]] + [b for a, b in pairwise(wide) if b - a > 3]
    assert len(groups) == 4
    heights = [(groups[2] - row) / down for row in groups]
    letters = letters_of("slate")
    x, hand = letters.lettering.x_height_mm, letters.hand
    assert heights == pytest.approx([hand.ascender * x, x, 0, -hand.descender * x], abs=0.15)
