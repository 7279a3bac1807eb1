"""The e of every hand, with every demo marker that suits it, keeps its tolerance.

By distances, windings and simple rings; a nib's, and one of each other tip, also by areas against the dense union.
"""

import dense
import ink_check
import pytest

from guidegen.geometry.measure import signed_area
from guidegen.geometry.stroke.expand import expand
from guidegen.hands.library import hand_names, list_markers, load_hand
from guidegen.lettering.letters import INK_TOLERANCE_MM, letter
from guidegen.lettering.sizing import right_size

MARKERS = [found.marker for found in list_markers(())[0] if found.built_in]
PAIRS = [
    (name, marker)
    for name in hand_names()
    for marker in MARKERS
    if "e" in load_hand(name).letters and marker.tip in load_hand(name).tips
]


def test_every_demo_marker_is_drawn():
    assert {marker.name for _, marker in PAIRS} == {marker.name for marker in MARKERS}
    assert len(MARKERS) == 7


@pytest.mark.parametrize(("name", "marker"), PAIRS, ids=[f"{name}-{marker.name}" for name, marker in PAIRS])
def test_the_sample_letter_keeps_its_tolerance(name, marker):
    hand = load_hand(name)
    strokes = letter(right_size(marker, hand).lettering, "e").strokes
    outline = expand(strokes, INK_TOLERANCE_MM)
    assert INK_TOLERANCE_MM == 0.005
    if marker.tip != "broad":
        assert ink_check.complaint(outline, strokes, INK_TOLERANCE_MM) is None
    if marker.tip == "broad" or (name, marker.name) in {("joined", "pebble"), ("joined", "thorn"), ("print", "flint")}:
        assert max(dense.excess(outline, strokes, INK_TOLERANCE_MM)) < 1e-6
    # one clean union: one outer boundary, the counter a hole, mostly curves, few nodes
    assert sum(signed_area(path) > 0 for path in outline) == 1
    assert any(signed_area(path) < 0 for path in outline)
    assert sum(len(path.segments) for path in outline) <= 70
