"""Proof marks: a ruler and a bank card must agree with them."""

from __future__ import annotations

import pytest

from guidegen.geometry.measure import bounds
from guidegen.scene import Line, Shape, hull_bounds
from guidegen.sheets.parts.proof import (
    CARD_MM,
    bar_height_mm,
    bar_length_mm,
    card_and_square,
    proof_bar,
    rounded_rectangle,
)

WIDTHS = [28, 30, 45, 61, 81, 99, 110, 124, 150, 186, 273, 500]


@pytest.mark.parametrize(
    ("width", "length"), [(186, 100), (112, 100), (105, 50), (61, 50), (40, 20), (30, 20), (20, None)]
)
def test_the_bar_is_the_longest_that_fits(width, length):
    assert bar_length_mm(width) == length


@pytest.mark.parametrize(("width", "mm", "inches"), [(186, 100, 4), (61, 50, 2), (40, 20, 0.75)])
def test_the_bar_has_a_millimetre_and_an_inch_end(width, mm, inches):
    lines = [item for item in proof_bar(10 + 20j, width) if isinstance(item, Line)]
    tall = [line for line in lines if abs(line.end.imag - line.start.imag) > 1.5]
    above = sorted(line.start.real - 10 for line in tall if line.end.imag > line.start.imag)
    below = sorted(line.start.real - 10 for line in tall if line.end.imag < line.start.imag)
    assert above == pytest.approx([0, mm])
    assert below == pytest.approx([0, inches * 25.4])
    assert all(line.style.stroke_mm >= 0.088 for line in lines)


@pytest.mark.parametrize("width", WIDTHS)
def test_the_bar_keeps_to_its_width_and_says_how_to_print(width):
    items = proof_bar(10 + 20j, width)
    low, high = hull_bounds(items)
    assert low.real >= 10 - 0.1
    assert high.real <= 10 + width + 0.1
    assert low.imag >= 20 - 0.1
    assert high.imag <= 20 + bar_height_mm(width) + 0.1
    words = " ".join(item.name for item in items if isinstance(item, Shape))
    assert "100 %" in words
    assert "not fitted to the page" in words


def test_where_not_even_the_shortest_bar_fits_nothing_is_drawn():
    assert proof_bar(0j, 15) == ()
    assert bar_height_mm(15) == 0


def test_the_words_of_the_bar_do_not_touch_each_other():
    for width in WIDTHS:
        boxes = [bounds(item.paths) for item in proof_bar(0j, width) if isinstance(item, Shape)]
        for number, (low, high) in enumerate(boxes):
            for other_low, other_high in boxes[number + 1 :]:
                apart = high.real < other_low.real or other_high.real < low.real
                assert apart or high.imag < other_low.imag or other_high.imag < low.imag


# ISO/IEC 7810 ID-1 (from memory): 85.60 x 53.98 mm, corner radius 3.18 mm.
def test_the_card_is_a_bank_card():
    card = card_and_square(10 + 10j, 186)[0]
    low, high = bounds(card.paths)
    assert (high - low).real == pytest.approx(85.60, abs=1e-9)
    assert (high - low).imag == pytest.approx(53.98, abs=1e-9)
    assert low == pytest.approx(10 + 10j)
    straight = [segment for segment in card.paths[0].segments if len(segment) == 2]
    assert sorted({round(abs(b - a), 6) for a, b in straight}) == pytest.approx([53.98 - 6.36, 85.6 - 6.36])


def test_the_corners_of_the_card_are_round_to_a_thousandth():
    path = rounded_rectangle(0j, 20, 10, 3.18)
    for curve in (segment for segment in path.segments if len(segment) == 4):
        a, b, c, d = curve
        centre = complex(3.18 if a.real < 10 else 16.82, 3.18 if (a + d).imag < 10 else 6.82)
        for step in range(21):
            t = step / 20
            z = a * (1 - t) ** 3 + 3 * b * t * (1 - t) ** 2 + 3 * c * t * t * (1 - t) + d * t**3
            assert abs(z - centre) == pytest.approx(3.18, abs=0.001)


def test_the_square_stands_beside_the_card_and_only_where_it_fits():
    square = next(item for item in card_and_square(0j, 186) if item.name == "50 mm square" and item.style.fill is None)
    low, high = bounds(square.paths)
    assert high - low == pytest.approx(50 + 50j)
    assert low.real > CARD_MM[0] + 3
    assert len(card_and_square(0j, 110)) == 2
    assert card_and_square(0j, 80) == ()
