"""At the stated point size the letters on paper are the marker's right size: reportlab sets, pdfium measures.

ISO 32000-1: a user unit is 1/72 in, so a font of n points has an em of n/72 in.
"""

import io
import math

import pytest
from made import DEMO_MARKERS, LOWERCASE, face_of, file_of, letters_of
from paper import ink_of, run_width, top_and_bottom
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas

from guidegen.errors import GuidegenError
from guidegen.fonts.truesize import LARGEST_UNIT_MM, true_size

TOLERANCE_MM = 0.02


def set_pdf(data, name, points, texts, page_mm):
    """Return a PDF with each text on a page of its own, its baseline through the middle of the page."""
    buffer = io.BytesIO()
    width, height = (mm / 25.4 * 72 for mm in page_mm)
    pdfmetrics.registerFont(TTFont(name, io.BytesIO(data)))
    canvas = Canvas(buffer, pagesize=(width, height), pageCompression=0)
    for text in texts:
        canvas.setFont(name, points)
        canvas.drawString(width / 4, height / 2, text)
        canvas.showPage()
    canvas.save()
    return buffer.getvalue()


def stem_of(letters):
    """Return (letter, height in x-heights, true stem width in mm) where a stem stands alone."""
    marker, hand = letters.lettering.marker, letters.hand
    if marker.tip == "broad":
        # the nib's rectangle seen along the stem
        turn = math.radians(hand.slant_deg - marker.nib_angle_deg)
        width = marker.downstroke_mm * abs(math.sin(turn)) + marker.hairline_mm * abs(math.cos(turn))
        return "l", 0.8, width
    return ("d", 1.45, marker.downstroke_mm) if hand.joins else ("l", 0.8, marker.downstroke_mm)


@pytest.mark.parametrize("name", DEMO_MARKERS)
def test_a_pdf_set_at_the_stated_size_has_the_right_x_height_ascender_height_and_stem(name):
    letters, face = letters_of(name, LOWERCASE), face_of(name, "solid", LOWERCASE)
    x = letters.lettering.x_height_mm
    stem_char, stem_at, stem_mm = stem_of(letters)
    page = (10 * x, 8 * x)
    data = file_of(name, "solid", LOWERCASE)
    pdf = set_pdf(data, f"Quay-{name}", face.size.point_size, ["n", "h", stem_char], page)
    heights = []
    for number in range(2):
        ink, (_, down) = ink_of(pdf, number)
        heights.append((ink.shape[0] / 2 - top_and_bottom(ink)[0]) / down)
    assert heights[0] == pytest.approx(x, abs=TOLERANCE_MM)
    assert heights[1] == pytest.approx(letters.hand.ascender * x, abs=TOLERANCE_MM)
    ink, (across, down) = ink_of(pdf, 2)
    row = ink[round(ink.shape[0] / 2 - stem_at * x * down)]
    stem = run_width(row) / across * math.sin(math.radians(letters.hand.slant_deg))
    assert stem == pytest.approx(stem_mm, abs=TOLERANCE_MM)


@pytest.mark.parametrize("x_height_mm", [0.1, 0.35, 1.0, 3.7, 5.6, 12.5, 26.5, 80.0, 141.0])
def test_units_meet_any_x_height_to_half_a_unit_and_are_fine(x_height_mm):
    size = true_size(x_height_mm, 2 * x_height_mm, x_height_mm)
    assert isinstance(size.point_size, int)
    assert 1 <= size.point_size <= 999
    assert size.unit_mm <= LARGEST_UNIT_MM
    assert 16 <= size.units_per_em <= 16384  # OpenType, head.unitsPerEm
    in_units = round(x_height_mm / (size.point_size * 25.4 / 72 / size.units_per_em))
    assert abs(in_units * size.unit_mm - x_height_mm) <= size.unit_mm / 2
    assert in_units * 4.5 <= 32767  # 16-bit coordinates hold the widest glyphs


@pytest.mark.parametrize("x_height_mm", [0.02, 200.0, 5000.0])
def test_a_size_no_whole_point_size_can_give_is_told_in_one_line(x_height_mm):
    with pytest.raises(GuidegenError, match="no whole point size up to 999") as told:
        true_size(x_height_mm, 2 * x_height_mm, x_height_mm)
    assert "\n" not in str(told.value)
