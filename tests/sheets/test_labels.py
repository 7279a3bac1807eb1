"""Labels against the face itself, read by FreeType and HarfBuzz."""

from __future__ import annotations

from importlib.resources import files
from pathlib import Path

import freetype
import glyphsets
import pytest
import uharfbuzz

from guidegen.geometry.measure import bounds, signed_area
from guidegen.scene import grey
from guidegen.sheets.labels import CAP_HEIGHT, X_HEIGHT, label, label_width_mm, lacking, wrapped

FACE = str(files("fontpkg_source_sans_3").joinpath("files", "SourceSans3[wght].ttf"))
WORDS = ["Cobble, medium brush", "16.2 mm", "Příliš žluťoučký kůň", "Þórður Ægisdóttir", "Łódź – ß ø ŋ 60°"]


@pytest.mark.parametrize("text", WORDS)
@pytest.mark.parametrize("weight", [300, 400, 600])
def test_a_labels_width_is_what_harfbuzz_says_without_kerning(text, weight):
    font = uharfbuzz.Font(uharfbuzz.Face(Path(FACE).read_bytes()))
    font.set_variations({"wght": weight})
    buffer = uharfbuzz.Buffer()
    buffer.add_str(text)
    buffer.guess_segment_properties()
    off = dict.fromkeys(("kern", "liga", "calt", "ccmp", "locl", "clig", "mark", "mkmk"), False)
    uharfbuzz.shape(font, buffer, off)
    width = sum(position.x_advance for position in buffer.glyph_positions) / font.face.upem
    assert label_width_mm(text, 10, weight) == pytest.approx(10 * width, abs=0.01 * len(text) + 1e-9)


def test_no_text_takes_no_room():
    assert label_width_mm("", 10) == 0
    assert label("", 0j, 10).paths == ()


@pytest.mark.parametrize("char", "eHßŁ8&")
def test_a_glyphs_outline_is_the_one_freetype_reads(char):
    face = freetype.Face(FACE)
    face.set_var_design_coords([400])
    face.load_char(char, freetype.FT_LOAD_NO_SCALE)
    box = face.glyph.outline.get_bbox()
    low, high = bounds(label(char, 0j, 1000).paths)
    assert (low.real, low.imag, high.real, high.imag) == pytest.approx((box.xMin, box.yMin, box.xMax, box.yMax), abs=2)


def test_capitals_and_lowercase_have_the_stated_heights():
    for char, share in (("H", CAP_HEIGHT), ("x", X_HEIGHT)):
        _, high = bounds(label(char, 0j, 10).paths)
        assert high.imag == pytest.approx(10 * share, abs=0.005)


def test_every_character_of_latin_core_has_a_glyph():
    core = glyphsets.unicodes_per_glyphset("GF_Latin_Core")
    assert len(core) == 319
    assert lacking("".join(chr(code) for code in core)) == ""
    assert lacking("a漢b漢字") == "漢字"


def test_the_anchor_is_where_it_is_said_to_be():
    width = label_width_mm("tide", 4)
    start, middle, end = (bounds(label("tide", 20 + 5j, 4, anchor=a).paths)[0].real for a in ("start", "middle", "end"))
    assert start - middle == pytest.approx(width / 2)
    assert start - end == pytest.approx(width)


def test_letters_are_filled_whichever_way_the_face_runs():
    shape = label("o", 0j, 10, ink=grey(0.5))
    areas = sorted(signed_area(path) for path in shape.paths)
    assert areas[0] < 0 < areas[1]
    assert shape.style.fill == grey(0.5)
    assert shape.style.stroke_mm is None
    assert shape.name == "o"


def test_words_break_at_spaces_and_lose_nothing():
    text = "the tide turns at noon unfathomablylongword and again"
    lines = wrapped(text, 30, 4)
    assert " ".join(lines) == text
    assert all(label_width_mm(line, 4) <= 30 or " " not in line for line in lines)
    assert len(lines) > 2
    assert wrapped("", 30, 4) == ()
