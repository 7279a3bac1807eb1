"""Labels against the face itself, read by FreeType and HarfBuzz."""

from __future__ import annotations

import os
import subprocess
import sys
import unicodedata
from importlib.resources import files
from pathlib import Path

import freetype
import glyphsets
import numpy as np
import pytest
import shapely
import uharfbuzz

from guidegen.geometry.measure import bounds, flatten, signed_area
from guidegen.scene import grey
from guidegen.sheets.parts.labels import CAP_HEIGHT, X_HEIGHT, label, label_width_mm, lacking, rise_of, wrapped

FACE = str(files("fontpkg_source_sans_3").joinpath("files", "SourceSans3[wght].ttf"))
WORDS = ["Cobble, medium brush", "16.2 mm", "Příliš žluťoučký kůň", "Þórður Ægisdóttir", "Łódź – ß ø ŋ 60°"]


@pytest.mark.parametrize("weight", [300, 400, 600])
def test_no_letter_of_latin_core_rises_further_than_said(weight):
    for code in glyphsets.unicodes_per_glyphset("GF_Latin_Core"):
        text = chr(code)
        shape = label(text, 0j, 1.0, weight=weight)
        if shape.paths and text.isalnum():
            assert bounds(shape.paths)[1].imag <= rise_of(text) + 0.002, text


@pytest.mark.parametrize("text", WORDS)
@pytest.mark.parametrize("weight", [300, 400, 600])
def test_a_labels_width_is_freetypes_advances_and_harfbuzzs_kerns(text, weight):
    font = uharfbuzz.Font(uharfbuzz.Face(Path(FACE).read_bytes()))
    font.set_variations({"wght": weight})

    def width(kern):
        buffer = uharfbuzz.Buffer()
        buffer.add_str(text)
        buffer.guess_segment_properties()
        off = dict.fromkeys(("liga", "calt", "ccmp", "locl", "clig", "mark", "mkmk"), False)
        uharfbuzz.shape(font, buffer, {**off, "kern": kern})
        return sum(position.x_advance for position in buffer.glyph_positions) / font.face.upem

    face = freetype.Face(FACE)
    face.set_var_design_coords([weight])
    advances = 0
    for char in text:
        face.load_char(char, freetype.FT_LOAD_NO_SCALE)
        advances += face.glyph.advance.x / face.units_per_EM
    expected = 10 * (advances + width(True) - width(False))
    assert label_width_mm(text, 10, weight) == pytest.approx(expected, abs=0.01 * len(text) + 1e-9)


def test_pairs_are_kerned():
    assert label_width_mm("To", 10) < label_width_mm("T", 10) + label_width_mm("o", 10) - 0.2


def test_accents_of_their_own_stand_on_their_letter():
    """A letter and a combining accent (Unicode) take the letter's room and look like the letter with its accent."""

    def box(text):
        low, high = bounds(label(text, 0j, 10).paths)
        return low.real, low.imag, high.real, high.imag

    for whole in "éñŝ":
        apart = unicodedata.normalize("NFD", whole)
        assert len(apart) == 2
        assert label_width_mm(apart, 10) == pytest.approx(label_width_mm(whole, 10), abs=0.02)
        assert box(apart) == pytest.approx(box(whole), abs=0.2)


def test_the_systems_language_changes_nothing():
    code = "from guidegen.sheets.parts.labels import label; print(hash(str(label('Şiil ij', 0j, 3).paths)))"
    found = set()
    for language in ("C.UTF-8", "tr_TR.UTF-8", "nl_NL.UTF-8", "sr_RS.UTF-8"):
        environment = {**os.environ, "LC_ALL": language, "LANG": language, "PYTHONHASHSEED": "0"}
        done = subprocess.run([sys.executable, "-c", code], stdout=subprocess.PIPE, check=True, env=environment)
        found.add(done.stdout)
    assert len(found) == 1


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


def freetype_polygons(char, weight):
    """Return the contours of a glyph as FreeType decomposes them, its quadratic curves at 24 points each."""
    face = freetype.Face(FACE)
    face.set_var_design_coords([weight])
    face.load_char(char, freetype.FT_LOAD_NO_SCALE)
    contours = []

    def curve(control, end, _):
        start = contours[-1][-1]
        c, e = complex(control.x, control.y), complex(end.x, end.y)
        contours[-1] += [(1 - t) ** 2 * start + 2 * t * (1 - t) * c + t * t * e for t in np.arange(1, 25) / 24]

    face.glyph.outline.decompose(
        None,
        move_to=lambda to, _: contours.append([complex(to.x, to.y)]),
        line_to=lambda to, _: contours[-1].append(complex(to.x, to.y)),
        conic_to=curve,
        cubic_to=None,
    )
    return contours


@pytest.mark.parametrize("weight", [300, 400, 600])
@pytest.mark.parametrize("char", "aegßŁ8&S@§")
def test_a_glyphs_curves_are_freetypes(char, weight):
    """FreeType's points are whole units (0.7 off at most), our cubics stray half a unit from the face's own curves."""
    ours = [flatten(path, 1e-5) * 1000 for path in label(char, 0j, 1, weight=weight).paths]
    theirs = freetype_polygons(char, weight)
    assert len(ours) == len(theirs)
    for mine, other in zip(ours, theirs, strict=True):
        ring, reference = (shapely.LinearRing([(z.real, z.imag) for z in chain]) for chain in (mine, other))
        assert shapely.hausdorff_distance(ring, reference, densify=0.02) < 1.5


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
