"""A word that no row holds, in parts to write one after the other: as few as can be, cut where it is spoken in parts.

No dictionary: a part begins with a consonant before a vowel wherever that can be had (ti-de, har-bour), and letters
that are one sound in many languages stay together. Common practice, no source.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Callable

_VOWELS = frozenset("aeiouy")
_TOGETHER = frozenset(("ch", "ck", "gh", "ng", "ph", "qu", "sch", "sh", "th", "wh"))
_UNEVEN = 0.05
"""What a letter more or less in a part counts, squared, against the place of the cut."""


def word_parts(word: str, fits: Callable[[str], bool]) -> list[str]:
    """Return ``word`` in as few parts as ``fits`` allows, each as it is.

    A part of one letter is kept even where it does not fit: nothing smaller is left to cut.
    """
    best: list[tuple[int, float, int]] = [(0, 0.0, 0)]
    for stop in range(1, len(word) + 1):
        found = [
            (best[start][0] + 1, best[start][1] + _cost(word, start) + _UNEVEN * (stop - start) ** 2, start)
            for start in range(stop)
            if stop - start == 1 or fits(word[start:stop])
        ]
        best.append(min(found))
    parts: list[str] = []
    stop = len(word)
    while stop:
        start = best[stop][2]
        parts.insert(0, word[start:stop])
        stop = start
    return parts


def _cost(word: str, at: int) -> float:
    """Return how bad it is to cut a word before letter number ``at``: 0 between two spoken parts."""
    if at == 0:
        return 0.0
    if unicodedata.combining(word[at]):
        return 100.0
    if any(word[at - before : at - before + len(pair)].lower() in _TOGETHER for pair in _TOGETHER
           for before in range(1, len(pair)) if at >= before):  # fmt: skip
        return 3.0
    here, before = _is_vowel(word[at]), _is_vowel(word[at - 1])
    follows = at + 1 < len(word) and _is_vowel(word[at + 1])
    if not here and follows:
        return 0.0
    return 2.0 if here and not before else 1.0


def _is_vowel(char: str) -> bool:
    return unicodedata.normalize("NFD", char)[0].lower() in _VOWELS
