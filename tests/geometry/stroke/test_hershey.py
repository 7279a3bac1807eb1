"""One glyph in eighty here, all of them in benchmarks/bench_stroke.py."""

from __future__ import annotations

import dense
import hershey
import ink_check
import numpy as np
import pytest
import shapely

from guidegen.geometry.stroke.expand import expand


def test_there_are_3170_glyphs():
    assert len(hershey.glyphs()) == 3170


def each(step, markers):
    """One item a glyph and marker: every ``step``th of the glyphs that have lines."""
    drawn = [(name, lines) for name, lines in hershey.glyphs() if lines]
    return [
        pytest.param(lines, marker, id=f"{name.replace(' ', '-')}-{marker}")
        for name, lines in drawn[7::step]
        for marker in markers
    ]


@pytest.mark.parametrize(("lines", "marker"), each(80, ("flint", "cobble")))
def test_a_glyph_of_discs_keeps_the_tolerance(lines, marker):
    """By distances, windings and simple rings."""
    strokes = hershey.strokes(lines, marker)
    assert ink_check.complaint(expand(strokes, 0.01), strokes, 0.01) is None


@pytest.mark.parametrize(("lines", "marker"), [*each(80, ("slate",)), *each(640, ("flint", "cobble"))])
def test_a_glyph_covers_the_dense_union(lines, marker):
    """By areas: of a nib's ink all, of discs, whose union takes seconds, some."""
    strokes = hershey.strokes(lines, marker)
    outline = expand(strokes, 0.01)
    assert max(dense.excess(outline, strokes, 0.01)) < 1e-6
    assert shapely.is_valid(dense.polygon_of(outline, 1e-4))


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
