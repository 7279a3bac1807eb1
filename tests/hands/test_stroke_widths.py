"""Down is thick, up is thin, and the change is in the turns."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from guidegen.geometry.stroke.radius_spans import width_at
from guidegen.geometry.stroke.stroke import Widths
from guidegen.hands.hand import Pressure
from guidegen.hands.library import load_hand
from guidegen.hands.skeletons import parse_nodes
from guidegen.hands.stroke_widths import width_knots
from guidegen.lettering.lettering import Lettering
from guidegen.lettering.letters import pen_strokes, skeleton_map
from guidegen.profiles.markers import Marker

MARKER = Marker("some", "Some", "pointed", 3.0, 0.5)
THIN, THICK = 0.5, 3.0


def drawn(text):
    """The widths of a stroke of the joined hand at x-height 20 along its length, as (s, width, heading)."""
    hand = load_hand("joined")
    stroke = pen_strokes(Lettering(MARKER, hand, 20.0), [parse_nodes(text, hand.strokes, "f", "x")])[0]
    t = np.linspace(0, 1, 400)
    pieces = []
    for segment in stroke.path.segments:
        a, b, c, d = segment if len(segment) == 4 else np.linspace(segment[0], segment[1], 4)
        pieces.append(a * (1 - t) ** 3 + 3 * b * t * (1 - t) ** 2 + 3 * c * t * t * (1 - t) + d * t**3)
    z = np.concatenate(pieces)
    step = np.diff(z)
    s = np.concatenate(([0.0], np.cumsum(np.abs(step))))[:-1]
    moves = np.abs(step) > 0
    upright = step - step.imag / math.tan(math.radians(hand.slant_deg))
    return s[moves], width_at(stroke.widths, s[moves]), np.degrees(np.angle(upright[moves])) % 360


def test_an_upstroke_and_a_crossbar_stay_thin():
    for text in ("0,0,60 .5,1,70", "-.3,1.2,4 0,1.22,0 .3,1.2,4", "0,0,0 1,0,0"):
        assert np.all(drawn(text)[1] == THIN)


def test_a_stem_is_thick_from_end_to_end():
    assert np.all(drawn("0,1 0,0")[1] == THICK)


def test_an_underturn_is_thin_before_it_touches_the_baseline():
    _s, widths, heading = drawn("underturn out@.23,0")
    assert widths[0] == THICK
    level = np.flatnonzero((heading > 345) | (heading < 90))
    assert widths[level].max() < THIN + 0.1 * (THICK - THIN)
    assert np.all(np.diff(widths) <= 1e-9)


def test_an_overturn_is_thin_until_after_its_top():
    _s, widths, heading = drawn("overturn")
    assert np.all(widths[: np.argmax(heading > 180)][heading[: np.argmax(heading > 180)] > 1] == THIN)
    assert widths[-1] == THICK


@given(st.lists(st.floats(0, 1), min_size=2, max_size=6))
def test_stated_pressures_are_kept_at_their_nodes(levels):
    text = " ".join(f"{0.4 * i:.2f},{i % 2},{10 if i % 2 else -10}^{level:.3f}" for i, level in enumerate(levels))
    _s, widths, _ = drawn(text)
    low, high = min(round(v, 3) for v in levels), max(round(v, 3) for v in levels)
    assert widths.min() >= THIN + low * (THICK - THIN) - 1e-6
    assert widths.max() <= THIN + high * (THICK - THIN) + 1e-6
    assert widths[0] == pytest.approx(THIN + round(levels[0], 3) * (THICK - THIN), abs=1e-3)


def test_pressure_carries_on_from_a_stated_one():
    """After a node at full pressure a stem goes on thick; it does not fall back to the hairline first."""
    _, widths, _ = drawn(".3,1,180^0 0,.8,270^1 0,0,270")
    assert widths[-1] == THICK
    full = np.argmax(widths > 0.999 * THICK)
    assert np.all(widths[full:] > 0.99 * THICK)


def test_a_short_dip_is_not_pressed():
    assert np.all(drawn("0,1,0 .1,.95,300 .2,.95,0")[1] == THIN)
    assert drawn("0,1,0 .3,.4,270 .6,0,0")[1].max() > 0.9 * THICK


def test_every_pressed_stretch_has_some_full_pressure_even_when_short():
    _, widths, _ = drawn("compound")
    assert np.mean(widths > 0.999 * THICK) > 0.03


@given(st.floats(0.2, 4), st.floats(5, 120), st.floats(5, 120), st.floats(0.02, 3), st.floats(0.02, 3))
def test_knots_always_increase_and_stay_between_hairline_and_downstroke(length, on, off, press, release):
    s = np.linspace(0, length, 200)
    down = 90 + 80 * np.cos(np.linspace(0, 9, 200))
    knots = width_knots(s, down, Pressure(on, off, press, release), 1.0, THIN, THICK)
    marks = [at for at, _ in knots]
    assert marks == sorted(set(marks))
    widths = width_at(Widths(knots, eased=True), s)
    assert widths.min() >= THIN - 1e-12
    assert widths.max() <= THICK + 1e-12


def test_pen_frame_lets_the_ink_touch_the_lines():
    placed = skeleton_map(Lettering(MARKER, load_hand("joined"), 20.0))
    assert placed.height_mm(0) == THIN / 2
    assert placed.height_mm(1) == 20 - THIN / 2
    assert placed.height_mm(2) == 40 - THIN / 2
