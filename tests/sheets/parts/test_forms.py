"""The forms of a text: an even rim, dots at their distance, letters that add up to their words."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
import shapely
from lettered import lettering

from guidegen.geometry.measure import bounds, flatten_outline
from guidegen.geometry.path import translate
from guidegen.sheets.parts.forms import (
    dot_mm,
    first_letters,
    letter_by_letter,
    rim_mm,
    start_ring_mm,
    start_rings,
    written,
)
from guidegen.sheets.parts.words import line_of

MARKERS = ("pebble", "boulder", "thorn", "slate", "flint")


def filled(outline):
    """Return what an outline fills, by the even-odd rule (islands in holes are ink again)."""
    rings = [shapely.Polygon([(z.real, z.imag) for z in loop]).buffer(0) for loop in flatten_outline(outline, 0.003)]
    return shapely.symmetric_difference_all(rings).buffer(0)


def region(symbol):
    return filled(symbol.items[0].paths)


@pytest.mark.parametrize("marker", MARKERS)
def test_a_hollow_letter_is_the_ink_less_its_erosion(marker):
    one = lettering(marker)
    ink, hollow = region(written(one, "tide", "solid")), region(written(one, "tide", "hollow"))
    weight = rim_mm(one)
    assert ink.buffer(0.02).covers(hollow)
    white = ink.difference(hollow)
    assert white.area > 0.2 * ink.area or one.marker.downstroke_mm < 4 * weight
    # the rim is as wide as it should be everywhere: its edges are the ink's edge and the edge eroded by the weight
    assert white.buffer(-0.05).distance(ink.boundary) > weight - 0.03
    deep = ink.buffer(-weight - 0.06)
    thick_enough = deep.buffer(-0.2 * weight).buffer(0.2 * weight)
    assert thick_enough.difference(white).area < 0.01 * ink.area


@pytest.mark.parametrize("marker", MARKERS)
def test_dots_lie_on_the_centrelines_at_their_distance(marker):
    from guidegen.geometry.shape.discs import along

    one = lettering(marker)
    diameter, gap = dot_mm(one)
    dots = [(sum(bounds((path,))) / 2) for path in written(one, "l", "dotted").items[0].paths]
    for path in written(one, "l", "dotted").items[0].paths:
        low, high = bounds((path,))
        assert high.real - low.real == pytest.approx(diameter, abs=1e-3)
    centres = np.concatenate([along(stroke.path, 0.05)[1] for stroke in line_of(one, "l").strokes])
    for dot in dots:
        assert np.abs(centres - dot).min() < 0.03
    nearest = [min(abs(a - b) for b in dots if b != a) for a in dots]
    assert min(nearest) > 0.6 * gap
    steps = [abs(b - a) for a, b in itertools.pairwise(dots)]
    assert np.median(steps) == pytest.approx(gap, rel=0.25)


@pytest.mark.parametrize("marker", MARKERS)
@pytest.mark.parametrize("form", ["solid", "hollow"])
def test_words_from_shared_letters_look_like_the_word(marker, form):
    """Letter by letter is how a class of names is set: the same black, but for the joins' last micrometres."""
    one = lettering(marker)
    word = region(written(one, "tide", form))
    letters = shapely.union_all(
        [filled(translate(placed.symbol.items[0].paths, placed.at)) for placed in letter_by_letter(one, "tide", form)]
    )
    difference = word.symmetric_difference(letters)
    assert difference.area < 0.05 * word.area


def test_equal_letters_are_one_symbol():
    one = lettering("pebble")
    first, second = (letter_by_letter(one, text, "solid") for text in ("tidal", "tidal"))
    assert all(a.symbol is b.symbol for a, b in zip(first, second, strict=True))
    names = {placed.symbol.name for placed in (*first, *letter_by_letter(one, "tide", "solid"))}
    assert len(names) < 9


@pytest.mark.parametrize("marker", ["pebble", "slate", "flint"])
def test_each_form_of_a_letter_is_drawn_first_just_once(marker):
    """What the first pass draws is all that the names then place, and nothing twice."""
    one = lettering(marker)
    names = ("anna maria", "marit", "bo", "obo", "nannan", "wave over", "vow")
    drawn = []
    for text, places in first_letters(one, names):
        letters = letter_by_letter(one, text, "solid")
        drawn += [letters[place].symbol.name for place in places]
    assert len(drawn) == len(set(drawn))
    for name in names:
        placed = letter_by_letter(one, name, "solid", drawn=frozenset(drawn))
        assert all(not letter.symbol.items for letter in placed)


def rings_of(symbol):
    """Return centre and outer radius of each ring."""
    found = []
    for shape in symbol.items:
        low, high = bounds(shape.paths)
        found.append(((low + high) / 2, (high - low).real / 2 + shape.style.stroke_mm / 2))
    return found


@pytest.mark.parametrize("marker", ["grit", "pebble", "cobble", "boulder", "thorn"])
@pytest.mark.parametrize("char", "agqd")
def test_a_letter_of_two_strokes_has_two_open_rings(marker, char):
    one = lettering(marker)
    starts = [stroke.path.start for stroke in line_of(one, char).strokes]
    rings = rings_of(written(one, char, "starts"))
    assert len(rings) == len(starts) == 2
    for (centre, radius), start in zip(rings, starts, strict=True):
        assert abs(centre - start) < 0.01
        assert 0.3 < radius <= start_ring_mm(one) + 1e-3
    assert abs(rings[0][0] - rings[1][0]) > max(radius for _, radius in rings)  # neither hides the other's middle


@pytest.mark.parametrize("marker", MARKERS)
def test_every_start_has_a_ring_within_its_size(marker):
    one = lettering(marker)
    for char in "abdgkmopqruwxyABCEGMRSW0458":
        starts = [stroke.path.start for stroke in line_of(one, char).strokes]
        rings = rings_of(written(one, char, "starts"))
        assert all(min(abs(start - centre) for centre, _ in rings) <= start_ring_mm(one) + 0.01 for start in starts)
        assert all(abs(a - b) > start_ring_mm(one) - 0.01 for (a, _), (b, _) in itertools.combinations(rings, 2))


def test_starts_that_coincide_share_a_ring_and_near_ones_have_smaller_rings():
    assert start_rings([0j, 0.9 + 0j, 5j], 1.0, 0.2) == ((0j, 1.0), (5j, 1.0))
    (_, first), (_, second) = start_rings([0j, 1.7 + 0j], 1.0, 0.2)
    assert first == second == pytest.approx(0.8)
    assert [radius for _, radius in start_rings([0j, 2.2 + 0j], 1.0, 0.2)] == [1.0, 1.0]
