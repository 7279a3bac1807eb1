"""Where to break lines so that they come out even, and how to cut a word that no line can hold.

Greedy breaking fills every line but the last; a lettered piece then ends in a stub. Here the number of
lines is as small as it can be (or as asked), and among all such breakings the one is taken whose sum of
squared white is least, the last line included. With the number of lines fixed the sum of all white is fixed
too, so this is the breaking whose lines differ least. Found by dynamic programming over break points, as in
D. E. Knuth and M. F. Plass, "Breaking paragraphs into lines" (1981), with that one penalty.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

_SLACK = 1e-9


@dataclass(frozen=True, slots=True)
class Word:
    """A word and its width; ``space`` is the white that follows it on the same line (0 inside a cut word)."""

    text: str
    width: float
    space: float


Breaks = tuple[tuple[int, int], ...]
"""Lines as index ranges (first, one past the last) of the words."""


def line_width(words: Sequence[Word], first: int, stop: int) -> float:
    """Return the width of the words ``first`` to ``stop - 1`` on one line."""
    return sum(word.width for word in words[first:stop]) + sum(word.space for word in words[first : stop - 1])


def fewest_lines(words: Sequence[Word], measure: float) -> int | None:
    """Return the least number of lines of at most ``measure``, or None when a word alone is wider."""
    lines, filled = 0, 0.0
    previous: Word | None = None
    for word in words:
        if word.width > measure + _SLACK:
            return None
        wider = filled + previous.space + word.width if previous else measure + 1
        if previous is None or wider > measure + _SLACK:
            lines, filled = lines + 1, word.width
        else:
            filled = wider
        previous = word
    return lines


def break_evenly(words: Sequence[Word], measure: float, lines: int | None = None) -> Breaks | None:
    """Return the most even breaking into lines no wider than ``measure``.

    Args:
        words: at least one.
        measure: the width a line may have, in the words' unit.
        lines: how many lines; as few as possible when None.

    Returns:
        One range per line, in order, or None when no such breaking exists.
    """
    least = fewest_lines(words, measure)
    wanted = least if lines is None else lines
    if least is None or wanted is None or not least <= wanted <= len(words):
        return None
    # best[k]: least sum of squares of the first k words in the lines so far, and where its last line begins.
    best: list[tuple[float, int] | None] = [None] * (len(words) + 1)
    best[0] = (0.0, 0)
    history: list[list[tuple[float, int] | None]] = []
    for _ in range(wanted):
        best = _one_more_line(words, measure, best)
        history.append(best)
    return _trace(history, len(words))


def _one_more_line(
    words: Sequence[Word], measure: float, best: Sequence[tuple[float, int] | None]
) -> list[tuple[float, int] | None]:
    after: list[tuple[float, int] | None] = [None] * len(best)
    for first, state in enumerate(best[:-1]):
        if state is None:
            continue
        width = 0.0
        for stop in range(first + 1, len(best)):
            width += words[stop - 1].width + (words[stop - 2].space if stop > first + 1 else 0.0)
            if width > measure + _SLACK:
                break
            cost = state[0] + (measure - width) ** 2
            known = after[stop]
            if known is None or cost < known[0] - _SLACK:
                after[stop] = (cost, first)
    return after


def _trace(history: Sequence[Sequence[tuple[float, int] | None]], count: int) -> Breaks | None:
    ranges: list[tuple[int, int]] = []
    stop = count
    for best in reversed(history):
        state = best[stop]
        if state is None:
            return None
        ranges.append((state[1], stop))
        stop = state[1]
    return tuple(reversed(ranges))
