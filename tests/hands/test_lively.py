"""The lively hand: what letters that bounce and alternate are asked beside `test_joined_hands.py`."""

import cmath
import math
import string
from pathlib import Path

import numpy as np
import pytest
import shapely
from hand_measures import heights, setting
from joined_measures import dense, shape_of

import guidegen
from guidegen.geometry.stroke.radius_spans import width_at
from guidegen.hands.alternates import alternated, shapes
from guidegen.hands.joins import letter_form, possible_forms
from guidegen.hands.library import load_hand
from guidegen.lettering.letters import ink, letter, letter_data, skeleton_map
from guidegen.lettering.text import ink_line, set_line

SMALL = string.ascii_lowercase
HAND = ("lively", "cobble")
PRESSED = ["grit", "pebble", "cobble", "boulder", "thorn"]

def test_no_code_knows_a_hand_by_this_name():
    """A hand is data: only the demo's list of pictures says it, as it says the others' names."""
    files = Path(guidegen.__file__).parent.rglob("*.py")
    assert [path.name for path in files if "lively" in path.read_text()] in ([], ["scenario.py"])


@pytest.mark.parametrize("char", SMALL)
def test_every_shape_of_a_letter_meets_its_joins(char):
    """Each end lies on its join, runs as it does and is a hairline there: so any two letters meet smoothly."""
    one = setting(*HAND)
    placed, marker = skeleton_map(one), one.marker
    for shape, data in enumerate(shapes(letter_data(one.hand, char))):
        for before, after in possible_forms(one.hand, data):
            item = letter(one, char, before, after, shape)
            if before in one.hand.joins:
                first = item.strokes[0]
                _meets(first, first.path.segments[0][:2], 0.0, one.hand.joins[before], 0j, placed, marker)
            if after in one.hand.joins:
                last = item.strokes[letter_form(one.hand, data, before, after).exit_at]
                length = float(sum(abs(np.diff(dense(last.path)))))
                ends, join = last.path.segments[-1][-2:], one.hand.joins[after]
                _meets(last, ends, length, join, item.advance_mm, placed, marker)


def _meets(stroke, ends, s, join, x_mm, placed, marker):
    at = ends[0] if s == 0 else ends[1]
    assert abs(at - placed.place(complex(0, join.height)) - x_mm) <= 0.002 * placed.x_height_mm
    heading = math.radians(join.heading_deg)
    wanted = placed.turn(complex(math.cos(heading), math.sin(heading)), join.height)
    assert math.degrees(abs(cmath.phase((ends[1] - ends[0]) / wanted))) <= 2
    assert float(width_at(stroke.widths, np.array([s]))[0]) == pytest.approx(marker.hairline_mm, rel=1e-6)


def test_every_small_letter_has_an_alternate_so_that_double_letters_differ():
    one = setting(*HAND)
    for char in SMALL:
        first, second = (placed.letter for placed in set_line(one, 2 * char).letters)
        assert (first.shape, second.shape) == (0, 1)
        low, other = (
            shapely.affinity.translate(shape_of(ink([letter(one, char, "start", "end", shape)]))) for shape in (0, 1)
        )
        assert low.symmetric_difference(other).area > 0.05 * low.area, char
    assert alternated(one.hand, list("anna")) == [0, 0, 1, 1]


def test_letters_bounce_within_what_the_hand_states():
    """Feet and heads of letters without extenders; those with them move as one."""
    hand = load_hand("lively")
    one = setting(*HAND)
    lows, highs = [], []
    for char in "aceimnorsuvwxz":
        for shape, data in enumerate(shapes(letter_data(hand, char))):
            box = shape_of(ink([letter(one, char, "start", "end", shape)][:1])).bounds
            body = [node.at.imag for nodes in data.strokes for node in nodes]
            lows.append(box[1] / one.x_height_mm)
            highs.append(max(body))
    assert -hand.bounce.fall - 0.1 <= min(lows) < -0.08
    assert 1.04 < max(highs) <= 1 + hand.bounce.rise + 0.05
    assert np.std(lows) > 0.03


def test_the_sample_letter_stands_on_its_lines():
    for marker_name in PRESSED:
        low, high = heights("lively", marker_name, "e")
        assert (low, high) == pytest.approx((0, 1), abs=0.005)


@pytest.mark.parametrize("marker_name", ["cobble", "thorn"])
def test_colour_is_even_from_a_to_z(marker_name):
    """Ink within the x-height band over the advance, each letter between two n, measured on its own height."""
    one = setting("lively", marker_name)
    lean = 1 / math.tan(math.radians(one.hand.slant_deg))
    shares = []
    for char in SMALL:
        line = set_line(one, f"n{char}n")
        left, right = (placed.x_mm for placed in line.letters[1:])
        low = letter_data(one.hand, char).bounce * one.x_height_mm
        high = low + one.x_height_mm
        corners = ((left, low), (right, low), (right, high), (left, high))
        band = shapely.Polygon([(x + lean * y, y) for x, y in corners])
        shares.append(shape_of(ink_line(line, 0.02)).intersection(band).area / band.area)
    assert np.std(shares) / np.mean(shares) < 0.12
