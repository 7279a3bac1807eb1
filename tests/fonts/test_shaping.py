"""Words through HarfBuzz: joins stay joined, dots stay even, features do what they say."""

import io
import itertools

import numpy as np
import pytest
import shapely
from fontTools.ttLib import TTFont
from made import DEMO_MARKERS, LOWERCASE, WORDS, face_of, file_of, letters_of
from shaped import placed, shape

from guidegen.fonts.faces import fineness
from guidegen.fonts.glyphs import DOT
from guidegen.fonts.setting import set_word
from guidegen.hands.library import DEFAULT_HANDS, load_hand, load_marker
from guidegen.lettering.text import set_line

JOINED = "cobble"
JOINED_MARKERS = ("grit", "pebble", "cobble", "boulder", "thorn")
PAIRS = list(itertools.product(LOWERCASE, repeat=2))
ACCENTS = "\u0301\u0308\u0131\u0237\u00e9\u00ef\u00e0\u015f\u0219"


@pytest.fixture(scope="module")
def solid():
    return file_of(JOINED, "solid", LOWERCASE)


def test_the_words_are_sixty_and_use_every_letter():
    assert len(WORDS) == 60
    assert set("".join(WORDS)) == set(LOWERCASE)


@pytest.mark.parametrize("marker", JOINED_MARKERS)
def test_every_pair_touches_within_a_unit(marker):
    data = file_of(marker, "solid", LOWERCASE)
    for left, right in PAIRS:
        first, second = placed(data, shape(data, left + right))
        assert first.distance(second) <= 1, left + right


@pytest.mark.parametrize("marker", JOINED_MARKERS)
def test_no_solid_word_has_a_gap(marker):
    data = file_of(marker, "solid", LOWERCASE)
    for word in WORDS:
        pieces = shapely.get_parts(shapely.union_all([part.buffer(0.5) for part in placed(data, shape(data, word))]))
        assert len(pieces) == 1 + word.count("i") + word.count("j"), word


def test_a_word_is_as_wide_as_the_same_word_written(solid):
    letters = letters_of(JOINED, LOWERCASE)
    for word in WORDS:
        glyphs = shape(solid, word)
        width = letters.size.units(set_line(letters.lettering, word).width_mm)
        assert abs(glyphs[-1].x + glyphs[-1].advance - width) <= len(word), word


@pytest.mark.parametrize("marker", [JOINED, "slate", "flint"])
def test_our_own_setting_is_harfbuzz_s(marker):
    letters, face = letters_of(marker, LOWERCASE), face_of(marker, "solid", LOWERCASE)
    data = file_of(marker, "solid", LOWERCASE)
    for word in [*WORDS, "wove over", "tide  boat", " fox ", "jolly fjord"]:
        assert set_word(letters, face, word).glyphs == tuple((g.name, g.x) for g in shape(data, word)), word


def dots_in(data, glyphs):
    """Return the dots of set glyphs, glyph by glyph, in the order of writing."""
    font = TTFont(io.BytesIO(data))
    table = font["glyf"]
    rows = []
    for glyph in glyphs:
        shown = table[glyph.name]
        parts = shown.components if shown.isComposite() else []
        rows.append([complex(glyph.x + p.x, glyph.y + p.y) for p in parts if p.glyphName == DOT])
    return rows


def test_the_pairs_are_all_676():
    assert len(PAIRS) == 676
    assert {load_hand(DEFAULT_HANDS[load_marker(name).tip]).name for name in JOINED_MARKERS} == {"joined"}
    assert {name for name in DEMO_MARKERS if load_marker(name).tip in {"brush", "pointed"}} == set(JOINED_MARKERS)


@pytest.mark.parametrize("marker", JOINED_MARKERS)
def test_dots_are_even_across_every_join(marker):
    data = file_of(marker, "dotted", LOWERCASE)
    letters = letters_of(marker, LOWERCASE)
    spacing = letters.size.units(fineness(letters.lettering).spacing_mm)
    ends = {item.name: letters.point(item.strokes[item.exit_at].path.end) for item in letters.items}
    for text in [*WORDS, *map("".join, PAIRS)]:
        glyphs = shape(data, text)
        rows = [np.array(row) for row in dots_in(data, glyphs)]
        for glyph, left, right in zip(glyphs, rows, rows[1:], strict=False):
            join = glyph.x + ends[glyph.name]
            last, first = (row[np.abs(row - join).argmin()] for row in (left, right))
            assert 0.6 * spacing - 1 <= abs(first - last) <= 1.4 * spacing + 1, (text, glyph.name)
            near = np.concatenate([left, right])
            near = near[np.abs(near - join) < spacing]
            closest = min(abs(a - b) for i, a in enumerate(near) for b in near[:i])
            assert closest >= 0.6 * spacing - 1, (text, glyph.name)


def test_the_first_letter_starts_the_last_one_ends_and_high_exits_are_answered(solid):
    assert [g.name for g in shape(solid, "tat")] == ["t.start", "a", "t.end"]
    assert shape(solid, "ba")[1].name == "a.high_end"
    assert shape(solid, "a")[0].name == "a.start_end"


def test_without_shaping_words_are_still_joined(solid):
    names = [g.name for g in shape(solid, "tam", {"calt": False})]
    assert names == ["t", "a", "m"]
    first, second, third = placed(solid, shape(solid, "tam", {"calt": False}))
    assert first.distance(second) <= 1
    assert second.distance(third) <= 1


@pytest.mark.parametrize("letter", "borvw")
def test_letters_that_lead_out_high_are_joined_without_shaping_too(solid, letter):
    for after in "aenstvbz":
        glyphs = shape(solid, letter + after, {"calt": False})
        assert [g.name for g in glyphs] == [letter, after]
        first, second = placed(solid, glyphs)
        assert first.distance(second) <= 1
        meeting = first.buffer(1).intersection(second.buffer(1))
        assert meeting.bounds[3] < 0.5 * TTFont(io.BytesIO(solid))["OS/2"].sxHeight or after in "bs"  # in the low join


def test_the_stylistic_set_unjoins(solid):
    assert [g.name for g in shape(solid, "tat", {"ss01": True})] == ["t.start_end", "a.start_end", "t.start_end"]
    assert "featureNames" in face_of(JOINED, "solid", LOWERCASE).features


@pytest.fixture(scope="module")
def accented():
    return file_of("slate", "solid", LOWERCASE + ACCENTS + "AHTVo.")


def test_a_mark_over_i_takes_its_dot_away_and_sits_above_it(accented):
    glyphs = shape(accented, "i\u0301")  # no precomposed letter in this font: dotless i and the mark
    assert [g.name for g in glyphs] == ["dotlessi", "acutecomb"]
    letter, mark = placed(accented, glyphs)
    assert mark.bounds[1] > letter.bounds[3]
    assert letter.bounds[0] - 40 < (mark.bounds[0] + mark.bounds[2]) / 2 < letter.bounds[2] + 300


def test_a_mark_on_a_mark_stacks(accented):
    letter, lower, upper = placed(accented, shape(accented, "o\u0308\u0301"))
    assert lower.bounds[1] > letter.bounds[3]
    assert upper.bounds[1] > lower.bounds[1]


def test_a_mark_lands_where_the_precomposed_letter_has_it(accented):
    whole = placed(accented, shape(accented, "\u00e9"))[0]
    apart = shapely.union_all(placed(accented, shape(accented, "e\u0301", {"ccmp": False, "locl": False})))
    assert shape(accented, "e\u0301")[0].name == "eacute"
    assert whole.symmetric_difference(apart).area < 0.02 * whole.area


def test_romanian_takes_commas(accented):
    assert shape(accented, "\u015f", language="ro")[0].name == "uni0219"
    assert shape(accented, "\u015f", language="tr")[0].name == "scedilla"


def test_unjoined_hands_are_kerned_and_ruled_faces_are_not(accented):
    assert "feature kern" in face_of("slate", "solid", LOWERCASE + ACCENTS + "AHTVo.").features
    assert shape(accented, "To")[1].x < shape(accented, "To", {"kern": False})[1].x
    assert "feature kern" not in face_of("slate", "solid", LOWERCASE, ruled=True).features
