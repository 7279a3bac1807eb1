"""A sample of the table of pages (``bench_pages.py`` has the whole): every kind of page, marker and paper is met."""

from __future__ import annotations

import pytest
from page_table import COMMANDS, FREE, PAPERS, WIDTHS, row, too_small

from guidegen.scene import Layer, Line, Page, Purpose, Shape, Style
from guidegen.sheets.parts.labels import label

SAMPLE = [
    (command, list(WIDTHS)[(5 * number + 3 * turn) % len(WIDTHS)], PAPERS[(number + turn) % len(PAPERS)])
    for number, command in enumerate(COMMANDS)
    for turn in range(1 if command in ("trial", "planner") else 2)
]


def test_the_sample_meets_every_command_marker_and_paper():
    assert {command for command, _, _ in SAMPLE} == set(COMMANDS)
    assert {marker for _, marker, _ in SAMPLE} == set(WIDTHS)
    assert {paper for _, _, paper in SAMPLE} == set(PAPERS)


@pytest.mark.parametrize(("command", "marker", "paper"), SAMPLE)
def test_a_page_is_tidy_readable_and_used(command, marker, paper):
    found = row(command, marker, paper)
    if found.refused:
        assert "the smallest paper that would do is" in found.refused or command in ("cards", "plan")
        return
    assert found.faults == ()
    assert not too_small(found)
    if command not in FREE:
        pages = found.used[1:] if command == "planner" else found.used[:-1] or found.used
        assert min(pages) > 0.4


FEW = {"wisp": 1, "reed": 1, "dune": 1, "cobble": 2, "gale": 3, "boulder": 4, "mast": 10}


@pytest.mark.parametrize(("marker", "most"), FEW.items())
def test_two_words_take_few_pages(marker, most):
    found = row("worksheet of words", marker, "a4")
    assert 0 < found.pages <= most
    assert found.faults == ()


def test_the_measures_can_fail():
    from page_table import Row, faults_of, size_of, used_share

    words = label("tide", 50 + 50j, 2.0)
    assert size_of(words) == pytest.approx(2.0, rel=0.01)
    assert too_small(Row("", "", "", smallest_mm=size_of(words)))
    bare = Page(210, 297, (Layer(Purpose.LABELS, (words,)),))
    assert used_share(bare, 12.0) < 0.02
    assert faults_of(bare, 12.0) == []
    beyond = label("tide", 3 + 50j, 3.0)
    through = Line(40 + 50.5j, 80 + 50.5j, Style(stroke_mm=0.1), "baseline", 1)
    blot = Shape(words.paths, Style(fill=words.style.fill), "e")
    made = ((Purpose.LABELS, (words, beyond, words)), (Purpose.LINES, (through,)), (Purpose.INK, (blot,)))
    layers = tuple(Layer(purpose, items) for purpose, items in made)
    found = " ".join(faults_of(Page(210, 297, layers), 12.0))
    for fault in ("outside the margins", "'tide' on 'tide'", "'tide' on a line", "'tide' on ink"):
        assert fault in found
