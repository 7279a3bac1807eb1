"""The help page of a font on paper: nothing of it is wider than the page leaves room for, in teachers' words."""

import pytest
from made import face_of, letters_of

from guidegen.fonts.specimen import ROWS, specimen_page
from guidegen.geometry.measure import bounds
from guidegen.scene import Shape
from guidegen.sheets.parts.phrases import phrases

CHARS = "".join(ROWS) + "harbour tides"
MARGIN_MM = 14.0


@pytest.mark.parametrize(("name", "ruled"), [("cobble", True), ("slate", False)])
@pytest.mark.parametrize("width_mm", [210.0, 148.0])
def test_no_letter_of_a_help_page_reaches_beyond_its_margins(name, ruled, width_mm):
    letters, face = letters_of(name, CHARS), face_of(name, "solid", CHARS, ruled=ruled)
    page = specimen_page(letters, face, width_mm, 297.0).pages[0]
    shapes = [item for layer in page.layers for item in layer.items if isinstance(item, Shape)]
    assert max(bounds(shape.paths)[1].real for shape in shapes) <= width_mm - MARGIN_MM + 0.01
    assert min(bounds(shape.paths)[0].real for shape in shapes) >= MARGIN_MM - 0.7


def test_the_tip_on_joining_names_no_tags():
    assert "calt" not in phrases()("font.joining")
    assert "ss01" not in phrases()("font.joining")
