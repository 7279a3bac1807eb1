"""The hands as a whole: every letter with every marker of the demo, and what inking a character set costs.

The cost is measured against fontTools' FontBuilder compiling the very outlines that were inked, in one run, by
processor time so that load matters less.
"""

import statistics
import string
import time
from dataclasses import replace

import numpy as np
import pytest
import shapely
from bench_fonts import plain_compile
from hand_measures import INKED, counters_by_build, flat, ink_faults, setting
from made import labels_for
from test_italic import LOOPED
from test_joined_hands import ENCLOSED, enclosed

from guidegen.fonts.alphabet import alphabet
from guidegen.fonts.build import font_face
from guidegen.fonts.faces import FaceStyle
from guidegen.fonts.forms import written
from guidegen.geometry.stroke.expand import expand_all
from guidegen.hands.joins import possible_forms
from guidegen.lettering.letters import INK_TOLERANCE_MM, ink, letter, letter_data

pytestmark = pytest.mark.benchmark
ROUNDS = 3
AT_MOST = 6.0
PRESSED = ("grit", "pebble", "cobble", "boulder", "thorn")
PAIRS = [(hand, name) for hand in ENCLOSED for name in PRESSED]
PAIRS += [("italic", "slate"), ("print", "flint")]


@pytest.mark.parametrize(("hand_name", "marker_name"), PAIRS)
def test_all_of_latin_core_with_every_marker_at_its_right_size(hand_name, marker_name):
    """Valid outlines, no accidental hole, no lost or closed counter."""
    looped = LOOPED if hand_name == "italic" else ""
    faults = {}
    for char in INKED:
        counters = enclosed(ENCLOSED[hand_name], char) if hand_name in ENCLOSED else counters_by_build(char, looped)
        if found := ink_faults(hand_name, marker_name, char, counters):
            faults[char] = found
    x = setting(hand_name, marker_name).x_height_mm
    told = f"{len(INKED)} characters, {len(faults)} with a fault {faults or ''}"
    print(f"\n{hand_name} with {marker_name} at {x:.2f} mm: {told}")
    assert not faults


@pytest.mark.parametrize(("hand_name", "marker_name"), [pair for pair in PAIRS if pair[0] in ENCLOSED])
def test_every_form_of_every_small_letter_is_sound(hand_name, marker_name):
    """As a letter stands in the middle of a word: no ring crosses itself, none is a speck."""
    one = setting(hand_name, marker_name)
    hand = one.hand
    forms = [(char, *form) for char in string.ascii_lowercase for form in possible_forms(hand, letter_data(hand, char))]
    for char, before, after in forms:
        paths = ink([letter(one, char, before, after)])
        assert all(_is_simple(path) for path in paths), (char, before, after)
    print(f"\n{hand_name} with {marker_name}: {len(forms)} forms of 26 letters, all simple")


def _is_simple(path):
    z = np.concatenate([flat(segment) for segment in path.segments])
    ring = shapely.LinearRing(np.c_[z.real, z.imag])
    return ring.is_simple and shapely.Polygon(ring).area > 1e-4


def seconds(work):
    started = time.process_time()
    work()
    return time.process_time() - started


@pytest.mark.parametrize(
    ("hand_name", "marker_name"), [("print", "flint"), ("italic", "slate"), ("joined", "cobble"), ("lively", "cobble")]
)
def test_inking_latin_core_against_compiling_its_outlines(hand_name, marker_name):
    """Glyphs that are exactly a base and its marks are components: nothing of them is inked, nothing compiled.

    Forms of a letter that are drawn with the same strokes are inked once, as for a font.
    """
    one = setting(hand_name, marker_name)
    glyphs = written(one, INKED)
    strokes = list(dict.fromkeys(glyph.strokes for glyph in glyphs if not glyph.parts))
    face = font_face(alphabet(one, INKED), FaceStyle("solid"), labels_for(marker_name))
    bare = replace(face, features="")
    expand_all(strokes, INK_TOLERANCE_MM)
    plain_compile(face)
    against_bare, against_face = [], []
    for _ in range(ROUNDS):
        inking = seconds(lambda: expand_all(strokes, INK_TOLERANCE_MM))
        against_bare.append(inking / seconds(lambda: plain_compile(bare)))
        against_face.append(inking / seconds(lambda: plain_compile(face)))
    ratio, with_features = statistics.median(against_bare), statistics.median(against_face)
    print(f"\n{hand_name}: {len(strokes)} of {len(glyphs)} glyphs inked in {ratio:.2f} x FontBuilder's time for their ")
    print(f"outlines (at most {AT_MOST:g}), {with_features:.2f} x where it compiles the face's features too")
    assert ratio <= AT_MOST
