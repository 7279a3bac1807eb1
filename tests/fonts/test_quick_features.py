"""Our quick reading of our own feature code compiles to the very tables that feaLib's parser gives."""

import io

import pytest
from fontTools.feaLib.builder import addOpenTypeFeatures, addOpenTypeFeaturesFromString
from fontTools.feaLib.error import FeatureLibError
from fontTools.ttLib import TTFont
from made import LOWERCASE, face_of, file_of

from guidegen.fonts.quick_features import feature_statements

CHARS = LOWERCASE + "AHTV\u0301\u0308\u0131\u0327\u00e9\u00ef\u015f\u0219"


def tables(font):
    """Return the layout tables as text; the order of lookups may differ, that of their rules may not."""
    text = io.StringIO()
    font.saveXML(text, tables=["GSUB", "GPOS", "GDEF"])
    return text.getvalue()


@pytest.mark.parametrize("name", ["cobble", "slate"])
def test_both_ways_give_the_same_tables(name):
    face = face_of(name, "solid", CHARS)
    fonts = []
    for _ in range(2):
        font = TTFont(io.BytesIO(file_of(name, "solid", CHARS)))
        for tag in ("GSUB", "GPOS", "GDEF"):
            if tag in font:
                del font[tag]
        fonts.append(font)
    addOpenTypeFeaturesFromString(fonts[0], face.features)
    addOpenTypeFeatures(fonts[1], feature_statements(face.features, frozenset(fonts[1].getGlyphOrder())))
    assert tables(fonts[0]) == tables(fonts[1])
    assert len(tables(fonts[0])) > 10_000


def test_what_is_wrong_in_the_rest_is_still_found():
    with pytest.raises(FeatureLibError):
        feature_statements("feature kern {\n  sub a by [;\n} kern;\n", frozenset("abcd"))
