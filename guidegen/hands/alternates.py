"""Alternates: further shapes of a letter, taken in turn so that one letter does not look the same twice in a word.

A letter that comes again within the hand's ``reach`` takes the shape after the one it had there, and after the last
one its first again; in other words and further apart it has its first. What counts is the letter under an accent.
"""

from __future__ import annotations

from collections.abc import Sequence

from guidegen.hands.accents import COMBINING, base_char, find_letter
from guidegen.hands.hand import Hand, LetterData


def shapes(data: LetterData) -> tuple[LetterData, ...]:
    """Return the shapes of a letter: its own, then its alternates."""
    return (data, *data.alternates)


def alternated(hand: Hand, chars: Sequence[str | None]) -> list[int]:
    """Return which of its shapes each character of a line takes, 0 for its own; None stands for a space."""
    found: list[int] = []
    word: list[tuple[str, int]] = []
    for char in chars:
        if char is None:
            word.clear()
        if char is None or char in COMBINING:
            found.append(0)
            continue
        base, count = base_char(char), _count(hand, char)
        recent = (shape for other, shape in reversed(word[-hand.reach :]) if other == base)
        before = next(recent, None) if count > 1 else None
        found.append(0 if before is None else (before + 1) % count)
        word.append((base, found[-1]))
    return found


def _count(hand: Hand, char: str) -> int:
    data = find_letter(hand, char)
    return len(shapes(data)) if data else 1
