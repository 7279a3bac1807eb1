"""Every face of every demo marker: the sanitizer, FreeType and HarfBuzz accept it, and what it says is true."""

import io
import math

import freetype
import numpy as np
import ots
import pytest
import shapely
from fontTools.pens.boundsPen import BoundsPen
from fontTools.ttLib import TTFont
from made import DEMO_MARKERS, FEW, face_of, file_of, letters_of
from shaped import placed, regions, shape

from guidegen.fonts.charset import characters, latin_core
from guidegen.fonts.compile import FORMATS
from guidegen.fonts.faces import FAMILY, LOOKS, FaceStyle, fineness, guide_heights_mm
from guidegen.fonts.glyphs import DOT, RING, RULE
from guidegen.hands.library import load_hand

STYLES = [pytest.param(style, id=style.file_word) for style in FAMILY]


def made(name, style, file_format="ttf"):
    return file_of(name, style.look, FEW, file_format, ruled=style.ruled, starts=style.starts)


@pytest.mark.parametrize("name", DEMO_MARKERS)
@pytest.mark.parametrize("style", STYLES)
def test_readers_accept_every_face_in_every_format(tmp_path, name, style):
    for file_format in FORMATS:
        data = made(name, style, file_format)
        path = tmp_path / f"face.{file_format}"
        path.write_bytes(data)
        done = ots.sanitize(path, capture_output=True, check=False)
        assert done.returncode == 0, done.stderr
        assert b"WARNING" not in done.stderr
        if file_format == "woff2":
            continue  # the FreeType at hand reads no Brotli; the same tables were read as ttf
        assert all(glyph.name != ".notdef" for glyph in shape(data, "hat bone."))
        loaded = freetype.Face(io.BytesIO(data))
        loaded.set_char_size(72 * 64, 0, 100, 100)
        for char in "ehi":
            loaded.load_char(char, freetype.FT_LOAD_RENDER)
            assert loaded.glyph.bitmap.rows > 5


@pytest.mark.parametrize("name", ["cobble", "slate", "flint"])
@pytest.mark.parametrize("style", STYLES)
def test_ttx_and_back_gives_the_same_tables(name, style):
    font = TTFont(io.BytesIO(made(name, style, "otf" if style.look == "hollow" else "ttf")), recalcTimestamp=False)
    first, second = io.StringIO(), io.StringIO()
    font.saveXML(first)
    again = TTFont(recalcTimestamp=False)
    again.importXML(io.StringIO(first.getvalue()))
    again.saveXML(second)
    assert second.getvalue() == first.getvalue()


@pytest.mark.parametrize("name", DEMO_MARKERS)
def test_a_family_shares_its_vertical_metrics_and_clips_nothing(name):
    measures = set()
    for style in FAMILY:
        font = TTFont(io.BytesIO(made(name, style)))
        os2, hhea = font["OS/2"], font["hhea"]
        assert (os2.sTypoAscender, os2.sTypoDescender, os2.sTypoLineGap) == (hhea.ascent, hhea.descent, 0)
        assert hhea.lineGap == 0
        glyphs = font.getGlyphSet()
        for glyph in font.getGlyphOrder():
            sink = BoundsPen(glyphs)
            glyphs[glyph].draw(sink)
            if sink.bounds:
                assert sink.bounds[3] <= min(os2.usWinAscent, hhea.ascent), (glyph, style)
                assert -sink.bounds[1] <= min(os2.usWinDescent, -hhea.descent), (glyph, style)
        measures.add((hhea.ascent, hhea.descent, os2.usWinAscent, os2.usWinDescent, font["head"].unitsPerEm))
    assert len(measures) == 1


@pytest.mark.parametrize("name", DEMO_MARKERS)
def test_stated_heights_are_the_letters_own(name):
    letters, face = letters_of(name, FEW), face_of(name, "solid", FEW)
    font = TTFont(io.BytesIO(file_of(name, "solid", FEW)))
    unit = face.size.unit_mm
    assert abs(font["OS/2"].sxHeight * unit - letters.lettering.x_height_mm) <= unit / 2
    glyphs = font.getGlyphSet()
    sink = BoundsPen(glyphs)
    glyphs[font.getBestCmap()[ord("x")]].draw(sink)
    assert sink.bounds[3] == pytest.approx(font["OS/2"].sxHeight, abs=1)
    assert sink.bounds[1] == pytest.approx(0, abs=1)
    assert f"{face.size.point_size} pt" in face.names.description


@pytest.mark.parametrize(("name", "tool"), [("cobble", 6), ("thorn", 3), ("slate", 2), ("flint", 5)])
def test_panose_names_the_tool_of_a_written_face(name, tool):
    # PANOSE 1.0, Latin Hand Written: 2 flat nib, 3 pressure point, 5 ball (round cap), 6 brush; from memory
    digits = face_of(name, "solid", FEW).panose
    assert digits[:2] == (3, tool)
    assert digits[3] == 2  # proportional spacing


@pytest.mark.parametrize("name", ["cobble", "slate", "flint"])
def test_the_caret_leans_as_the_letters_do_and_no_flag_claims_an_upright_twin(name):
    font = TTFont(io.BytesIO(file_of(name, "solid", FEW)))
    hhea, slant = font["hhea"], letters_of(name, FEW).hand.slant_deg
    lean = math.degrees(math.atan2(hhea.caretSlopeRun, hhea.caretSlopeRise))
    assert lean == pytest.approx(90 - slant, abs=0.02)
    assert font["post"].italicAngle == 0
    assert not font["OS/2"].fsSelection & 1
    assert not font["head"].macStyle
    assert face_of(name, "solid", FEW).panose[7] == (2 if slant == 90 else 6)


@pytest.mark.parametrize("name", ["cobble", "slate", "flint"])
@pytest.mark.parametrize("look", LOOKS)
def test_guide_lines_run_on_at_their_heights_through_letters_and_spaces(name, look):
    letters = letters_of(name, FEW)
    data = file_of(name, look, FEW, ruled=True)
    fine = fineness(letters.lettering)
    glyphs = shape(data, "i ton x\u00a0b")
    boxes = [(glyph.x, glyph.x + glyph.advance) for glyph in glyphs]
    ink = placed(data, glyphs)
    for number, height in enumerate(guide_heights_mm(letters.lettering)):
        weight = max(2, letters.units(fine.baseline_mm if number == 1 else fine.guide_mm))
        low = letters.units(height) - weight // 2
        for (left, right), region in zip(boxes, ink, strict=True):
            half = shapely.box(left, low, (left + right) / 2, low + weight)
            assert half.difference(region).area <= 0.001 * half.area
        line = shapely.box(boxes[0][0], low, boxes[-1][0], low + weight)  # no gap from glyph to glyph
        assert line.difference(shapely.union_all(ink)).area <= 0.0001 * line.area
    blank, other = placed(data, shape(data, "  "))  # lines overlap a little: no seam on a screen, nor a dark spot
    overlap = blank.intersection(other)
    em = face_of(name, look, FEW, ruled=True).size.units_per_em
    advance = shape(data, " ")[0].advance
    assert 0.004 * em < overlap.area / blank.area * advance < 0.01 * em


@pytest.mark.parametrize("name", ["cobble", "slate", "flint"])
@pytest.mark.parametrize("look", LOOKS)
@pytest.mark.parametrize("file_format", ["ttf", "otf"])
def test_no_hinting_of_freetype_drops_a_guide_line(name, look, file_format):
    """Light hinting is what Linux desktops use; against the same glyph without any, at sizes from icons to print."""
    letters, data = letters_of(name, FEW), file_of(name, look, FEW, file_format, ruled=True)
    font = freetype.Face(io.BytesIO(data))
    for pixels in (24, 48, 96, 130):
        font.set_pixel_sizes(0, pixels)
        plain = line_levels(font, letters, pixels, freetype.FT_LOAD_NO_HINTING)
        assert min(plain) > 0
        for flags in (freetype.FT_LOAD_DEFAULT, freetype.FT_LOAD_TARGET_LIGHT):
            found = line_levels(font, letters, pixels, flags)
            assert all(a >= 0.6 * b for a, b in zip(found, plain, strict=True)), (pixels, found, plain)
        assert min(line_levels(font, letters, pixels, freetype.FT_LOAD_TARGET_MONO)) >= 1


def line_levels(font, letters, pixels, flags):
    """Ink of each guide line of a space, in pixels, down its middle."""
    font.load_char(" ", flags | freetype.FT_LOAD_RENDER)
    bitmap = font.glyph.bitmap
    rows = np.array(bitmap.buffer, dtype=np.uint8).reshape(bitmap.rows, bitmap.pitch)
    if flags == freetype.FT_LOAD_TARGET_MONO:
        rows = np.unpackbits(rows, axis=1) * 255
    middle, levels = rows[:, bitmap.width // 2] / 255, []
    for height in guide_heights_mm(letters.lettering):
        row = font.glyph.bitmap_top - letters.size.units(height) / letters.size.units_per_em * pixels
        levels.append(middle[max(0, math.floor(row) - 1) : math.ceil(row) + 1].sum())
    return levels


def test_ruled_faces_have_no_kerning_and_spaces_with_ink():
    font = TTFont(io.BytesIO(file_of("slate", "solid", FEW, ruled=True)))
    tags = {record.FeatureTag for record in font["GPOS"].table.FeatureList.FeatureRecord} if "GPOS" in font else set()
    assert "kern" not in tags


@pytest.mark.parametrize("name", ["cobble", "slate", "flint"])
def test_dots_that_stand_on_guide_lines_are_the_only_overlaps_and_flagged(name):
    """OpenType, glyf: OVERLAP_COMPOUND (0x0400) tells that a composite's parts overlap; simple glyphs never do."""
    font = TTFont(io.BytesIO(file_of(name, "dotted", FEW, ruled=True, starts=True)))
    table, region = font["glyf"], regions(file_of(name, "dotted", FEW, ruled=True, starts=True))
    flagged = 0
    for glyph in font.getGlyphOrder():
        parts = table[glyph].components if table[glyph].isComposite() else []
        shapes = [shapely.affinity.translate(region(part.glyphName), part.x, part.y) for part in parts]
        rules = [shape for shape, part in zip(shapes, parts, strict=True) if part.glyphName.startswith(RULE)]
        dots = [shape for shape, part in zip(shapes, parts, strict=True) if not part.glyphName.startswith(RULE)]
        meet = any(rule.intersection(dot).area > 1 for rule in rules for dot in dots)
        if parts:
            assert bool(parts[0].flags & 0x0400) == meet, glyph
        assert all(a.intersection(b).area <= 1 for i, a in enumerate(dots) for b in dots[:i]), glyph
        flagged += meet
    assert flagged > 5 or name != "cobble"  # round and broad pens keep half their width off the lines


def test_starts_are_rings_where_the_pen_is_put_down():
    face = face_of("flint", "dotted", FEW, starts=True)
    letter = next(glyph for glyph in face.glyphs if glyph.name == "e")
    assert letter.components[0].name == RING
    assert sum(part.name == RING for part in letter.components) == 1
    assert all(part.name in {RING, DOT} for part in letter.components)


@pytest.mark.parametrize("hand", ["joined", "italic", "print"])
def test_latin_core_is_covered(hand):
    glyphsets = pytest.importorskip("glyphsets")
    core = {chr(code) for code in glyphsets.unicodes_per_glyphset("GF_Latin_Core")}
    assert len(core) == 319
    have = set(characters(load_hand(hand))) | {" ", "\u00a0"}
    assert core - have == set()
    assert core <= set(latin_core()) | {" ", "\u00a0"}


def test_hollow_is_a_line_of_even_weight():
    letters = letters_of("boulder", FEW)
    weight = letters.size.units(fineness(letters.lettering).contour_mm)
    files = [file_of("boulder", look, FEW) for look in ("solid", "hollow")]
    solid, hollow = (placed(data, shape(data, "H"))[0] for data in files)
    # the two are rounded and turned into quadratics each on its own: slivers of up to two units are left
    assert hollow.difference(solid.buffer(1)).buffer(-1).area <= 1
    missing = solid.difference(solid.buffer(-weight)).difference(hollow)
    assert missing.buffer(-1).area <= 1
    filled = hollow.intersection(solid.buffer(-weight))
    assert filled.buffer(-1).area <= 0.001 * hollow.area


def test_styles_have_names_of_their_own():
    names = [style.style_name for style in FAMILY]
    assert len(set(names)) == len({style.file_word for style in FAMILY}) == len(FAMILY)
    assert FaceStyle("solid").style_name == "Regular"


@pytest.mark.parametrize("name", DEMO_MARKERS)
@pytest.mark.parametrize("starts", [False, True])
def test_no_dot_or_ring_is_set_twice(name, starts):
    for glyph in face_of(name, "dotted", starts=starts).glyphs:
        places = [(part.name, part.at) for part in glyph.components]
        assert len(set(places)) == len(places), glyph.name
