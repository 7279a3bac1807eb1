"""Every face of a family at true size, through reportlab and through Pango with cairo, rendered at 1200 dpi.

Solid and hollow faces have the letters' heights and stem; ruled ones their four lines; dots alone are as high as the
font's own outline says, in the same units.
"""

import io
import math
import os
import shutil
import subprocess

import numpy as np
import pytest
from fontTools.pens.boundsPen import BoundsPen
from fontTools.ttLib import TTFont
from made import face_of, file_of, letters_of
from paper import ink_of, top_and_bottom
from shaped import shape
from test_programs import FONTCONFIG
from test_true_size import TOLERANCE_MM, set_pdf, stem_of

from guidegen.fonts.faces import FAMILY
from guidegen.fonts.naming import menu_name

PANGO = shutil.which("pango-view")
CHARS = "nhldBI"
FACES = [pytest.param(name, style, id=f"{name}-{style.file_word}")
         for name in ("cobble", "slate", "flint") for style in FAMILY]  # fmt: skip


def through_reportlab(face, data, texts, tmp_path):
    """Return each text's ink and pixels per mm, set by reportlab."""
    x_mm = face.metrics.x_height * face.size.unit_mm
    pdf = set_pdf(data, f"Q{face.names.postscript}", face.size.point_size, texts, (12 * x_mm, 10 * x_mm))
    return [ink_of(pdf, number) for number in range(len(texts))]


def through_pango(face, data, texts, tmp_path):
    """Return each text's ink and pixels per mm, set by Pango and drawn by cairo into PDF, where a unit is a point."""
    fonts = tmp_path / "fonts"
    fonts.mkdir()
    (fonts / "quay.ttf").write_bytes(data)
    (tmp_path / "fonts.conf").write_text(FONTCONFIG.format(folder=fonts))
    environment = {**os.environ, "FONTCONFIG_FILE": str(tmp_path / "fonts.conf"), "HOME": str(tmp_path)}
    font = f"{menu_name(face.names.family, face.names.style)} {face.size.point_size}"
    found = []
    for number, text in enumerate(texts):
        pdf = tmp_path / f"{number}.pdf"
        command = [PANGO, "-q", "--dpi=72", "--margin=60", f"--font={font}", f"--text={text}", f"--output={pdf}"]
        subprocess.run(command, check=True, capture_output=True, timeout=60, env=environment)
        found.append(ink_of(pdf.read_bytes()))
    return found


@pytest.mark.parametrize(("name", "style"), FACES)
@pytest.mark.parametrize(
    "program",
    [
        through_reportlab,
        pytest.param(through_pango, marks=pytest.mark.skipif(not PANGO, reason="needs pango-view (pango1.0-tools)")),
    ],
)
def test_a_face_is_at_true_size(name, style, program, tmp_path):
    face = face_of(name, style.look, CHARS, ruled=style.ruled, starts=style.starts)
    data, letters = file_of(name, style.look, CHARS, ruled=style.ruled, starts=style.starts), letters_of(name, CHARS)
    check = check_lines if style.ruled else check_dots if style.look == "dotted" else check_letters
    check(letters, data, face.size.unit_mm, lambda *texts: program(face, data, texts, tmp_path))


def check_letters(letters, data, unit_mm, put):
    x, (stem_char, stem_at, stem_mm) = letters.lettering.x_height_mm, stem_of(letters)
    small, tall, stem = put("n", "h", stem_char)
    assert height(small) == pytest.approx(x, abs=TOLERANCE_MM)
    assert height(tall) == pytest.approx(letters.hand.ascender * x, abs=TOLERANCE_MM)
    ink, (across, down) = stem
    row = ink[round(top_and_bottom(ink)[1] - stem_at * x * down)]
    turn = math.sin(math.radians(letters.hand.slant_deg))
    assert outer_width(row) / across * turn == pytest.approx(stem_mm, abs=TOLERANCE_MM)


def check_dots(letters, data, unit_mm, put):
    glyphs = TTFont(io.BytesIO(data)).getGlyphSet()  # B and I join nothing: one glyph, whether a program shapes or not
    for char, shown in zip("BI", put("B", "I"), strict=True):
        sink = BoundsPen(glyphs)
        glyphs[shape(data, char)[0].name].draw(sink)
        assert height(shown) == pytest.approx((sink.bounds[3] - sink.bounds[1]) * unit_mm, abs=TOLERANCE_MM)


def check_lines(letters, data, unit_mm, put):
    """The middles of the four lines, on the column in the middle of a space, stand at the hand's heights."""
    ((ink, (_, down)),) = put("\u00a0\u00a0")
    column = ink[:, round(np.flatnonzero(ink.max(axis=0) > 0.5).mean())]
    dark = np.flatnonzero(np.diff(np.concatenate([[0], (column > 0.02).astype(int), [0]])))
    runs = [(a, b) for a, b in zip(dark[::2], dark[1::2], strict=True) if column[a:b].max() > 0.5]
    middles = [float((column[a:b] * (np.arange(a, b) + 0.5)).sum() / column[a:b].sum()) for a, b in runs]
    assert len(middles) == 4
    hand, x = letters.hand, letters.lettering.x_height_mm
    heights = [(middles[2] - middle) / down for middle in middles]
    assert heights == pytest.approx([hand.ascender * x, x, 0, -hand.descender * x], abs=TOLERANCE_MM)


def height(shown):
    ink, (_, down) = shown
    top, bottom = top_and_bottom(ink)
    return (bottom - top) / down


def outer_width(row):
    """Return the distance of the outermost edges of ink on one row, in pixels, from its grey levels."""
    dark = np.flatnonzero(row > 0.02)
    return dark[-1] - dark[0] - 1 + row[dark[0]] + row[dark[-1]]
