"""Even line breaking against an exhaustive search, on random short texts."""

import itertools
import random

import pytest

from guidegen.sheets.parts.line_breaking import (
    Word,
    break_evenly,
    fewest_lines,
    line_width,
)


def _all_breakings(count, lines):
    for cuts in itertools.combinations(range(1, count), lines - 1):
        edges = (0, *cuts, count)
        yield tuple(itertools.pairwise(edges))


def _cost(words, measure, ranges):
    widths = [line_width(words, *line) for line in ranges]
    return sum((measure - w) ** 2 for w in widths) if max(widths) <= measure + 1e-9 else None


def _exhaustive(words, measure, lines=None):
    for count in [lines] if lines else range(1, len(words) + 1):
        costs = [c for r in _all_breakings(len(words), count) if (c := _cost(words, measure, r)) is not None]
        if costs:
            return count, min(costs)
    return None


def _words(rng, count):
    return [Word("w" * rng.randint(1, 9), rng.uniform(3, 40), rng.uniform(2, 6)) for _ in range(count)]


@pytest.mark.parametrize("seed", range(60))
def test_no_breaking_is_more_even(seed):
    rng = random.Random(seed)
    words = _words(rng, rng.randint(1, 11))
    measure = rng.uniform(20, 120)
    lines = rng.choice([None, None, rng.randint(1, len(words))])
    found, truth = break_evenly(words, measure, lines), _exhaustive(words, measure, lines)
    if truth is None:
        assert found is None
        return
    assert len(found) == truth[0]
    assert found[0][0] == 0
    assert found[-1][1] == len(words)
    assert all(a[1] == b[0] for a, b in itertools.pairwise(found))
    assert _cost(words, measure, found) == pytest.approx(truth[1], abs=1e-6)


def test_the_exhaustive_search_tells_a_greedy_breaking_apart():
    words = [Word("x", 10, 0) for _ in range(5)]
    greedy = ((0, 4), (4, 5))
    even = break_evenly(words, 40)
    assert len(even) == 2
    assert _cost(words, 40, greedy) > _cost(words, 40, even) == pytest.approx(_exhaustive(words, 40)[1])


def test_a_word_wider_than_the_line_has_no_breaking():
    assert break_evenly([Word("tide", 50, 3), Word("in", 5, 3)], 40) is None
    assert fewest_lines([Word("tide", 50, 3)], 40) is None


def test_two_thousand_words_break_at_once():
    rng = random.Random(7)
    words = _words(rng, 2000)
    found = break_evenly(words, 500)
    assert found[-1][1] == 2000
