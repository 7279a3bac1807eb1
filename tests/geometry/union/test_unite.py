"""What happens when no attempt at a union succeeds: the edges become lines, and the caller is told."""

from __future__ import annotations

import ink_check
import pytest

from guidegen.geometry.path import polyline
from guidegen.geometry.stroke.expand import expand
from guidegen.geometry.stroke.stroke import Stroke, Widths
from guidegen.geometry.union import curves_back
from guidegen.geometry.union.unite import StraightEdges
from guidegen.hands.library import load_hand, load_marker
from guidegen.lettering.drawing import DrawnLine, LineDrawing
from guidegen.lettering.lettering import Lettering
from guidegen.sheets.inked import inked_drawing

CROSS = [Stroke(polyline([0, 10]), Widths(((0.0, 2.0),))), Stroke(polyline([5 - 5j, 5 + 5j]), Widths(((0.0, 1.0),)))]


@pytest.fixture
def hopeless(monkeypatch):
    monkeypatch.setattr(curves_back, "curved", lambda _rings, _owner, board, *_, **__: [None] * len(board.drawings))


@pytest.mark.usefixtures("hopeless")
def test_the_polygon_is_as_true_as_asked_and_warned_of():
    with pytest.warns(StraightEdges, match="made of [0-9]+ straight lines"):
        outline = expand(CROSS, 0.01)
    assert all(len(segment) == 2 for path in outline for segment in path.segments)
    assert ink_check.complaint(outline, CROSS, 0.01) is None


@pytest.mark.usefixtures("hopeless")
def test_an_inked_drawing_says_so_in_one_note():
    drawing = LineDrawing(20, 20, (DrawnLine(polyline([2 + 2j, 12 + 9j])),))
    document = inked_drawing(drawing, Lettering(load_marker("flint"), load_hand("print"), 5.6), title="line")
    (note,) = document.notes
    assert "straight lines" in note
    assert "\n" not in note


def test_nothing_is_said_of_an_outline_of_curves():
    drawing = LineDrawing(20, 20, (DrawnLine(polyline([2 + 2j, 12 + 9j])),))
    lettering = Lettering(load_marker("flint"), load_hand("print"), 5.6)
    assert inked_drawing(drawing, lettering, title="line").notes == ()
    assert any(len(segment) == 4 for path in expand(CROSS, 0.01) for segment in path.segments)
