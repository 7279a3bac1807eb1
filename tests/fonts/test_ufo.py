"""The sources for a font editor: valid UFO 3 that reads back equal, whatever the face."""

import pytest
from made import FEW, face_of
from ufo_back import read_ufo_glyphs

from guidegen.fonts.ufo import ufo_files


@pytest.mark.parametrize(("name", "look"), [("cobble", "solid"), ("flint", "dotted"), ("slate", "hollow")])
def test_a_ufo_reads_back_equal(tmp_path, name, look):
    face = face_of(name, look, FEW)
    for path, data in ufo_files(face).items():
        target = tmp_path / "face.ufo" / path
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_bytes(data)
    assert tuple(read_ufo_glyphs(tmp_path / "face.ufo")) == face.glyphs
    assert (tmp_path / "face.ufo" / "features.fea").read_text() == face.features


def test_another_library_reads_it(tmp_path):
    ufo = pytest.importorskip("ufoLib2")
    face = face_of("cobble", "solid", FEW)
    for path, data in ufo_files(face).items():
        target = tmp_path / "face.ufo" / path
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_bytes(data)
    font = ufo.Font.open(tmp_path / "face.ufo")
    assert set(font.keys()) == {glyph.name for glyph in face.glyphs}
    assert font.info.familyName == "Quay cobble"
    assert font.info.unitsPerEm == face.size.units_per_em
    assert f"{face.size.point_size} pt" in font.info.openTypeNameDescription
    assert [anchor.name for anchor in font["acutecomb"].anchors] == list(next(
        glyph for glyph in face.glyphs if glyph.name == "acutecomb").anchors)  # fmt: skip


def test_the_same_face_gives_the_same_files():
    face = face_of("flint", "dotted", FEW)
    assert ufo_files(face) == ufo_files(face)
