"""Accents, quotes and tall letters side by side: kerned by their own ink, so that none touch."""

import functools
import itertools
import math
import unicodedata

import numpy as np
import pytest
import shapely
from made import file_of, letters_of
from shaped import placed, regions, shape

from guidegen.fonts.charset import is_mark
from guidegen.hands.accents import has_side_mark

LEAST = 0.015
"""Of an x-height. The hands ask for gaps of .07 to .15, less what is not seen as kerning (.03), before the slant."""
TALL = "fTVYWPFKRLl\u010f\u0165\u013e\u013d\"'\u2019\u201d(/"
ACCENTED = "\u00ef\u00ee\u00ec\u012b\u0129\u00eb\u00e4\u0101\u00f6\u0151\u017e\u00ce\u00d4\u00c2\u00d1\u0150"
PAIRS = [a + b for a, b in itertools.chain(itertools.product(TALL, ACCENTED), itertools.product(ACCENTED, TALL))]
"""``T\u00ef``, ``V\u00ee``, ``\u00ef"`` and their like; those a joined hand joins are left to its joins."""


def clearances(name, pairs):
    """Yield each pair of glyphs that do not join and their distance in x-heights."""
    data, letters = file_of(name), letters_of(name)
    x_height, region = letters.units(letters.lettering.x_height_mm), regions(data)
    leading_on = {item.name for item in letters.items if item.after in letters.hand.joins}
    simple = functools.cache(lambda name: region(name).simplify(1))
    for pair in pairs:
        glyphs = shape(data, pair)
        if len(glyphs) == 2 and glyphs[0].name not in leading_on:
            step = glyphs[1].x
            moved = shapely.transform(simple(glyphs[1].name), lambda points, step=step: np.add(points, (step, 0)))
            yield pair, simple(glyphs[0].name).distance(moved) / x_height


@pytest.mark.parametrize("name", ["cobble", "slate", "flint"])
def test_no_accent_touches_its_neighbour(name):
    found = dict(clearances(name, PAIRS))
    assert len(found) > 200
    assert min(found.values()) > LEAST, min(found, key=found.get)


def test_an_accent_costs_its_pair_room_only_where_it_needs_it():
    data = file_of("slate")
    places = {pair: shape(data, pair)[1].x for pair in ("Ta", "T\u00e4", "na", "n\u00e4", "Vi", "V\u00ee")}
    assert places["T\u00e4"] > places["Ta"]
    assert places["V\u00ee"] > places["Vi"]
    assert places["na"] == places["n\u00e4"]


@pytest.mark.parametrize("name", ["cobble", "slate", "flint"])
def test_marks_sit_over_every_letter_that_has_no_such_letter_of_its_own(name):
    """As HarfBuzz attaches them: clear of the letter and of its other marks, and over its ink."""
    data, letters = file_of(name), letters_of(name)
    x_height = letters.units(letters.lettering.x_height_mm)
    lean = 1 / math.tan(math.radians(letters.hand.slant_deg))
    taking = [item for item in letters.items if item.encoded and "above" in item.anchors_mm and not is_mark(item.char)]
    plain = [item.char for item in taking if not has_side_mark(item.char)]
    assert len(plain) > 200
    seen = 0
    for char, mark in itertools.product(plain, "\u0301\u0308"):
        glyphs = shape(data, char + mark)
        if len(unicodedata.normalize("NFC", char + mark)) == 1 or len(glyphs) != 2:
            continue
        base, sign = placed(data, glyphs)
        assert sign.distance(base) > LEAST * x_height, (char, mark)
        (left, _, right, _), (low, _, high, _) = (upright(part, lean).bounds for part in (base, sign))
        assert left - 0.1 * x_height < (low + high) / 2 < right + 0.1 * x_height, (char, mark)
        seen += 1
    assert seen > 300


def upright(region, lean):
    return shapely.affinity.affine_transform(region, [1, -lean, 0, 1, 0, 0])


def test_a_hooked_i_loses_its_dot_under_a_mark():
    names = [glyph.name for glyph in shape(file_of("slate"), "\u012f\u0301")]
    assert names == ["dotlessi", "uni0328", "acutecomb"]
