"""One glyph in eighty here, all of them in benchmarks/bench_stroke.py."""

from __future__ import annotations

import dense
import hershey
import numpy as np
import pytest
import shapely

from guidegen.geometry.stroke.expand import expand


def test_there_are_3170_glyphs():
    assert len(hershey.glyphs()) == 3170


@pytest.mark.parametrize("marker", hershey.MARKERS)
def test_glyphs_are_valid_and_within_tolerance(marker):
    for name, lines in hershey.glyphs()[7::80]:
        strokes = hershey.strokes(lines, marker)
        outline = expand(strokes, 0.01)
        low, high = dense.excess(outline, strokes, 0.01)
        assert max(low, high) < 1e-6, name
        assert shapely.is_valid(dense.polygon_of(outline, 1e-4)), name


def test_isolated_straight_strokes_are_within_two_micrometres():
    found = 0
    for name, lines in hershey.glyphs():
        if not hershey.straight(lines):
            continue
        found += 1
        a, b = lines[0]
        (loop,) = expand(hershey.strokes(lines, "flint"), 0.005)
        sides = [s for s in loop.segments if len(s) == 2]
        turn = np.conj(b - a) / abs(b - a)
        offsets = sorted(((s[k] - a) * turn).imag for s in sides for k in (0, 1))
        assert offsets == pytest.approx([-0.4, -0.4, 0.4, 0.4], abs=0.001), name
    assert found >= 20
