"""Words beside each other, and signs that belong to them: measured on ink with shapely, the slant taken out.

Common practice, no source: an apostrophe stands as near to the letter before as to the one after; a quote belongs to
its word; points go under an arm, quotes over a foot. The width of a space is Edward Johnston's (Writing & Illuminating,
& Lettering, 1906, p. 79).
"""

from functools import cache

import numpy as np
import pytest
import shapely
from hand_measures import flat, setting

from guidegen.geometry.stroke.expand import expand
from guidegen.lettering.text import set_line
from guidegen.units import shift_per_height

JOINED = [("joined", "cobble"), ("joined", "thorn")]
UNJOINED = [("print", "flint"), ("italic", "slate")]
CLOSING = "\u2019\u201d'\""


@cache
def inked(key, text):
    """Each character's ink as shapely geometry in x-heights, upright."""
    lettering = setting(*key)
    x, line = lettering.x_height_mm, set_line(lettering, text)
    lean = shift_per_height(lettering.hand.slant_deg)
    found = []
    for entry in sorted(line.letters, key=lambda entry: entry.x_mm):
        rings = [np.concatenate([flat(s) for s in path.segments]) for path in expand(entry.letter.strokes, 0.01)]
        shapes = [shapely.Polygon(np.c_[z.real - z.imag * lean + entry.x_mm, z.imag] / x).buffer(0) for z in rings]
        found.append(shapely.union_all(shapes))
    return tuple(found)


def beside(left, right, low, high):
    """Distance, across, of two letters' ink between two heights."""
    band = shapely.box(-100, low, 100, high)
    return right.intersection(band).bounds[0] - left.intersection(band).bounds[2]


@pytest.mark.parametrize("key", JOINED)
@pytest.mark.parametrize("word", ["n\u2019t", "e\u2019s", "d\u2019l"])
def test_an_apostrophe_stands_as_near_before_as_after(key, word):
    first, sign, last = inked(key, word)
    before, after = beside(first, sign, 0.6, 3), beside(sign, last, 0.6, 3)
    assert abs(before - after) < 0.3
    assert -0.1 < before < 0.45
    assert min(first.distance(sign), sign.distance(last)) > 0.1


@pytest.mark.parametrize("key", JOINED)
@pytest.mark.parametrize("sign", CLOSING)
def test_a_closing_quote_stands_over_the_exit_stroke(key, sign):
    for letter in "aehns":
        first, quote = inked(key, letter + sign)
        assert quote.bounds[0] < first.bounds[2] + 0.06, letter
        assert first.distance(quote) > 0.1


def gap_of_words(key, text):
    """Least distance, across, of two words of one letter within the height of capitals."""
    left, right = inked(key, text)
    capital = setting(*key).hand.capital
    rows = [shapely.box(-100, y - 0.01, 100, y + 0.01) for y in np.linspace(0.05, capital - 0.05, 30)]
    ends = [left.intersection(row).bounds[2] for row in rows]
    starts = [right.intersection(row).bounds[0] for row in rows]
    return np.nanmin(starts) - np.nanmax(ends)


BEFORE_A_SPACE = {"figures": "257", "capitals": "APTV", "signs": ".!)&-"}


def usual_gap(key):
    return min(gap_of_words(key, f"{a} {b}") for a in "edn" for b in "ob")


@pytest.mark.parametrize("key", JOINED[:1])
@pytest.mark.parametrize("kind", BEFORE_A_SPACE)
def test_a_space_is_as_wide_after_figures_capitals_and_signs_as_between_words(key, kind):
    for end in BEFORE_A_SPACE[kind]:
        assert all(gap_of_words(key, f"{end} {start}") >= usual_gap(key) - 0.02 for start in "ob"), end


@pytest.mark.parametrize("key", JOINED[:1])
@pytest.mark.parametrize("start", "14TS(")
def test_a_space_is_as_wide_before_them(key, start):
    assert all(gap_of_words(key, f"{end} {start}") >= usual_gap(key) - 0.02 for end in "dn")


@pytest.mark.parametrize("key", UNJOINED)
@pytest.mark.parametrize("pair", ["T.", "P.", "V,", "r,", "L\u2019", "L'"])
def test_points_and_quotes_tuck_into_open_letters(key, pair):
    letter, sign = inked(key, pair)
    plain, after = inked(key, "H" + pair[1]) if pair[0].isupper() else inked(key, "n" + pair[1])
    gap = sign.bounds[0] - letter.bounds[2]
    assert gap < (0.02 if key[0] == "print" else 0.13)
    assert gap < after.bounds[0] - plain.bounds[2] - 0.08
    assert letter.distance(sign) > 0.1


@pytest.mark.parametrize("pair", ["TY", "TV", "WT"])
def test_arms_side_by_side_stand_nearer_than_stems(pair):
    arms, stems = inked(("print", "flint"), pair), inked(("print", "flint"), "HH")
    assert arms[0].distance(arms[1]) < 0.5 * stems[0].distance(stems[1])


@pytest.mark.parametrize("key", UNJOINED)
def test_quotes_belong_to_their_word(key):
    opening, first, *_, last, closing = inked(key, "\u201cnine\u201d")
    for gap in (opening.distance(first), last.distance(closing)):
        assert 0.05 < gap < setting(*key).hand.spacing.white
