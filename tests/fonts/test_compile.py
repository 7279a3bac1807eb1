"""A small face made by hand through the compiler: what every reader must accept, and what dots cost."""

import io
import subprocess
import sys
from dataclasses import replace

import freetype
import ots
import pytest
import uharfbuzz
from fontTools.ttLib import TTFont

from guidegen.errors import GuidegenError
from guidegen.fonts.compile import FORMATS, compile_face
from guidegen.fonts.faces import FAMILY
from guidegen.fonts.glyphs import DOT, Component, FontFace, Glyph, Metrics, Names
from guidegen.fonts.ink import bar, circle
from guidegen.fonts.naming import menu_name
from guidegen.fonts.truesize import TrueSize
from guidegen.geometry.path import translate

NAMES = Names("Quay", "Dotted", "Version 1.437; profile abcd", "True size 130 pt: x-height 20 mm.", "Free to use.")
FEATURES = "languagesystem DFLT dflt;\nfeature kern {\n  pos o a -40;\n} kern;\n"


def face(*, shared=True, dots=60):
    places = [complex(100 + 37 * i % 900, 20 * i) for i in range(dots)]
    dot = (circle(30),)
    letters = []
    for k, char in enumerate("abcdefghij"):
        moved = [z + 3 * k for z in places]
        if shared:
            letters.append(Glyph(char, (ord(char),), 1000, components=tuple(Component(DOT, z) for z in moved)))
        else:
            outline = tuple(path for z in moved for path in translate(dot, z))
            letters.append(Glyph(char, (ord(char),), 1000, outline))
    o = (circle(500), circle(380, clockwise=True))
    glyphs = (
        Glyph(".notdef", (), 900, (bar(100, 800 + 1400j),)),
        Glyph("space", (32,), 600),
        Glyph("o", (111,), 1200, translate(o, 600 + 500j)),
        *letters,
        Glyph(DOT, (), 0, dot),
    )
    metrics = Metrics(1000, 1500, 2000, 900, 2400, 1200)
    return FontFace(NAMES, TrueSize(130, 4096), metrics, glyphs, FEATURES, (3, 6, 0, 2, 0, 0, 2, 2, 0, 0))


@pytest.mark.parametrize("file_format", FORMATS)
def test_sanitizer_and_readers_accept_each_format(tmp_path, file_format):
    data = compile_face(face(), file_format)
    path = tmp_path / f"quay.{file_format}"
    path.write_bytes(data)
    done = ots.sanitize(path, capture_output=True, check=False)
    assert done.returncode == 0, done.stderr
    plain = io.BytesIO()
    font = TTFont(io.BytesIO(data))
    font.flavor = None
    font.save(plain)
    loaded = freetype.Face(io.BytesIO(plain.getvalue()))
    loaded.set_char_size(72 * 64, 0, 72, 72)
    loaded.load_char("a")
    assert loaded.glyph.bitmap.rows > 10
    harfbuzz = uharfbuzz.Font(uharfbuzz.Face(plain.getvalue()))
    buffer = uharfbuzz.Buffer()
    buffer.add_str("oa")
    buffer.guess_segment_properties()
    uharfbuzz.shape(harfbuzz, buffer)
    assert [position.x_advance for position in buffer.glyph_positions] == [1160, 1000]


@pytest.mark.parametrize("file_format", FORMATS)
def test_ttx_round_trip_gives_the_same_tables(file_format):
    font = TTFont(io.BytesIO(compile_face(face(), file_format)), recalcTimestamp=False)
    text = io.StringIO()
    font.saveXML(text)
    again = TTFont(recalcTimestamp=False)
    again.importXML(io.StringIO(text.getvalue()))
    second = io.StringIO()
    again.saveXML(second)
    assert second.getvalue() == text.getvalue()


def test_the_same_face_gives_the_same_bytes_whatever_the_hash_seed_and_time_zone():
    code = (
        "import sys, hashlib; sys.path.insert(0, sys.argv[1]); import test_compile as t\n"
        "print([hashlib.sha256(t.compile_face(t.face(), f)).hexdigest() for f in t.FORMATS])"
    )
    folder = __file__.rsplit("/", 1)[0]
    runs = {
        subprocess.run(
            [sys.executable, "-c", code, folder],
            env={"PYTHONHASHSEED": seed, "TZ": zone, "PATH": "/usr/bin:/bin"},
            capture_output=True,
            text=True,
            check=True,
        ).stdout
        for seed, zone in (("1", "UTC"), ("77", "Asia/Tokyo"))
    }
    assert len(runs) == 1


def test_dates_are_fixed_or_the_source_date(monkeypatch):
    # OpenType dates count seconds from 1904-01-01; 2082844800 s before 1970 (TN1150, Apple's classic epoch)
    fixed = TTFont(io.BytesIO(compile_face(face(), "ttf")))["head"]
    assert fixed.created == fixed.modified == 946684800 + 2082844800
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "1700000000")
    assert TTFont(io.BytesIO(compile_face(face(), "ttf")))["head"].created == 1700000000 + 2082844800


def test_dots_are_flat_composites_of_one_glyph_in_truetype():
    font = TTFont(io.BytesIO(compile_face(face(), "ttf")))
    table = font["glyf"]
    assert font["maxp"].maxComponentDepth == 1
    assert {part.glyphName for part in table["a"].components} == {DOT}
    assert not table[DOT].isComposite()


def test_dots_are_calls_of_one_subroutine_in_cff():
    top = TTFont(io.BytesIO(compile_face(face(), "otf")))["CFF "].cff.topDictIndex[0]
    assert len(top.GlobalSubrs) == 1
    string = top.CharStrings["a"]
    string.decompile()
    assert string.program.count("callgsubr") == 60
    assert DOT not in top.CharStrings  # a part is a subroutine, not a glyph that nothing reaches


@pytest.mark.parametrize("file_format", ["ttf", "otf"])
def test_a_dotted_file_is_at_most_half_of_plain_contours_and_draws_the_same(file_format):
    shared, plain = compile_face(face(), file_format), compile_face(face(shared=False), file_format)
    assert len(shared) <= 0.5 * len(plain)
    outlines = []
    for data in (shared, plain):
        loaded = freetype.Face(io.BytesIO(data))
        loaded.load_char("c", freetype.FT_LOAD_NO_SCALE)
        outlines.append((loaded.glyph.outline.points, loaded.glyph.outline.tags))
    assert outlines[0] == outlines[1]


def test_names_carry_family_style_version_licence_and_true_size_and_nobody_s_program():
    font = TTFont(io.BytesIO(compile_face(face(), "ttf")))
    names = {record.nameID: str(record) for record in font["name"].names}
    assert names[1] == "Quay Dotted"
    assert names[2] == "Regular"
    assert not {16, 17} & names.keys()  # a family of its own
    assert names[5].startswith("Version 1.437")
    assert "130 pt" in names[10]
    assert names[13] == "Free to use."
    assert 0 not in names
    assert not any("guidegen" in text.lower() or "fonttools" in text.lower() for text in names.values())
    assert font["head"].fontRevision == pytest.approx(1.437, abs=1e-4)
    assert font["OS/2"].fsType == 0  # installable embedding
    assert font["OS/2"].achVendID == "NONE"


@pytest.mark.parametrize("family", ["Quay", "Harbour Evening Lettering Class", "Gr\u00f6\u00dfe \u017dlut\u00e1"])
@pytest.mark.parametrize("style", [entry.style_name for entry in FAMILY])
def test_menu_names_fit_older_programs_and_stay_apart(family, style):
    names = {menu_name(family, entry.style_name) for entry in FAMILY}
    assert len(names) == len(FAMILY)
    assert len(menu_name(family, style)) <= 31  # LF_FACESIZE is 32 with its final null
    named = replace(face(dots=2), names=replace(NAMES, family=family, style=style))
    for file_format in ("ttf", "otf"):
        table = TTFont(io.BytesIO(compile_face(named, file_format)))["name"]
        assert table.getBestFamilyName() == named.names.full
        assert table.getBestSubFamilyName() == "Regular"


def test_code_pages_and_ranges_are_those_of_the_letters():
    os2 = TTFont(io.BytesIO(compile_face(face(), "ttf")))["OS/2"]
    assert os2.ulUnicodeRange1 == 1  # Basic Latin alone
    assert os2.ulCodePageRange1 & 0b10 == 0  # not Latin 2


def test_vertical_metrics_agree_and_hold_everything():
    font = TTFont(io.BytesIO(compile_face(face(), "ttf")))
    os2, hhea, head = font["OS/2"], font["hhea"], font["head"]
    assert (os2.sTypoAscender, os2.sTypoDescender, os2.sTypoLineGap) == (hhea.ascent, hhea.descent, hhea.lineGap)
    assert hhea.lineGap == 0
    assert os2.fsSelection >> 7 & 1  # USE_TYPO_METRICS
    assert os2.usWinAscent >= head.yMax
    assert os2.usWinDescent >= -head.yMin


def test_a_glyph_beyond_sixteen_bits_is_refused_in_one_line():
    huge = Glyph("a", (97,), 40000)
    base = face()
    broken = FontFace(NAMES, base.size, base.metrics, (*base.glyphs[:2], huge), "", base.panose)
    with pytest.raises(GuidegenError, match=r"glyph a: it reaches \d+ mm"):
        compile_face(broken, "ttf")
