"""Which of a hand's strokes are shown as basic strokes: those a teacher has a name for, not every variant of a join."""

from __future__ import annotations

from guidegen.hands.hand import Hand
from guidegen.sheets.parts.words import from_line_to_line

ENTRANCE = "in"
"""The rising stroke that leads into a letter."""
_JOINING = ("in-", "out-")
_MARKS = ("dot", "comma", "bar", "flick", "serif", "hook", "tick", "mark")
_LEAST_TALL = 0.85


def basic_strokes(hand: Hand) -> tuple[str, ...]:
    """Return the names of the strokes that letters are built of, the entrance first.

    Left out are marks and what only fits one letter to the next: entrances and exits that begin or end a word.
    """
    names = [name for name in hand.strokes if not name.startswith(_JOINING) and name.split("-")[0] not in _MARKS]
    return tuple(sorted(names, key=lambda name: name != ENTRANCE))


def drill_strokes(hand: Hand) -> tuple[str, ...]:
    """Return the names of the basic strokes that are worth a row: those that reach from line to line, no capitals'."""

    def tall(name: str) -> bool:
        heights = [node.at.imag for node in from_line_to_line(hand.strokes[name])]
        return max(heights) - min(heights) > _LEAST_TALL

    return tuple(name for name in basic_strokes(hand) if tall(name) and name.split("-")[0] not in ("cap", "out"))
