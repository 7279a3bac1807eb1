"""A sample of the table of bad inputs; `pytest -m benchmark tests/benchmarks/bench_hostile.py` runs all of it."""

from __future__ import annotations

import pytest
from rows import FAMILIES, ROWS, Row, svg
from tried import Answer, tried

SAMPLE = tuple(row for family in FAMILIES for row in list(family())[3::29])
"""Every 29th row of each family."""


def test_the_table_is_long_and_its_names_differ():
    assert len(ROWS) >= 2000
    assert len({row.name for row in ROWS}) == len(ROWS)


@pytest.mark.parametrize("row", SAMPLE, ids=lambda row: row.name.encode("ascii", "replace").decode())
def test_a_bad_input_is_told_in_one_line(tmp_path, row):
    assert tried(row, tmp_path / "work").wrong() == ""


def test_a_good_input_would_fail_the_table(tmp_path):
    good = Row("good", ("ink", "d.svg", "--marker", "flint", "-o", "x.svg"), {"d.svg": svg('<path d="M5 5L9 9"/>')})
    answer = tried(good, tmp_path / "work")
    assert answer.wrong().startswith("left with 0")
    assert answer.changed == ("x.svg",)


def test_a_large_file_is_seen(tmp_path):
    answer = tried(Row("good", ("swatch", "-o", "x.pdf")), tmp_path / "work")
    assert (tmp_path / "work" / "x.pdf").stat().st_size > 100_000
    assert answer.changed == ("x.pdf",)


def test_what_would_act_on_a_terminal_is_not_taken_out_first(tmp_path):
    told = tried(Row("good", ("write", "flint", "tide", "-o", "a\x1b[2Jb.svg")), tmp_path / "work").out
    assert (b"\x1b" in told) is True


@pytest.mark.parametrize(
    ("answer", "words"),
    [
        (Answer(2, b"", b"guidegen: a\nguidegen: b\n", 1, 1, ()), "no single line"),
        (Answer(2, b"", b"guidegen: a defect in guidegen\n", 1, 1, ()), "no line for a person"),
        (Answer(2, b"", b"guidegen: \x1b[2J\n", 1, 1, ()), "act on a terminal"),
        (Answer(2, b"", b"guidegen: a\n", 11, 1, ()), "took"),
        (Answer(2, b"", b"guidegen: a\n", 1, 1600, ()), "took"),
        (Answer(2, b"", b"guidegen: a\n", 1, 1, ("x",)), "changed x"),
        (Answer(2, b"x", b"guidegen: a\n", 1, 1, ()), "on stdout"),
    ],
)
def test_what_is_wrong_with_an_answer_is_seen(answer, words):
    assert words in answer.wrong()
