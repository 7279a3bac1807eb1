"""How the letters of a joined hand meet: forms of a letter, and words as unbroken pen strokes.

A hand's ``joins`` name the places where letters may meet (height and heading). A letter that can be left
there has an exit of that name, one that can be entered there an entry. The form before the first letter of
a run is ``start``, after the last one ``end``.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise
from typing import NamedTuple

from guidegen.hands.hand import Hand, LetterData
from guidegen.hands.skeletons import Node, Nodes, chain, shift

START = "start"
END = "end"
SAME_PLACE = 1e-6
"""A way in or out nearer than this (x-heights) to a stroke's end is drawn with it in one."""
_DIP = 0.08
"""How far (x-heights) a way out that is led down goes below its join before it turns up."""


class LetterForm(NamedTuple):
    """A letter's skeleton with the joins it has here, moved so that it is entered at x = 0.

    ``exit_at`` is the index of the stroke that leads into the next letter (the first stroke is the one that
    is led into); strokes after it, such as a dot or a crossbar, are put in when the word is done.
    """

    strokes: tuple[Nodes, ...]
    advance: float
    exit_at: int


def letter_form(hand: Hand, data: LetterData, before: str, after: str) -> LetterForm:
    """Return the form of a letter between the joins ``before`` and ``after``.

    An entry that ends on the first stroke's start is drawn with it in one; another is a stroke of its own.
    An exit belongs to the stroke on whose end it starts, or is a stroke of its own.
    """
    strokes = list(data.strokes)
    entry, leave = data.entries.get(before, ()), data.exits.get(after, ())
    left = entry[0].at.real if entry and before in hand.joins else 0.0
    right = leave[-1].at.real if leave and after in hand.joins else data.advance
    at = _tail(strokes, leave)
    if leave:
        if at is None:
            strokes.append(leave)
            at = len(strokes) - 1
        else:
            strokes[at] = chain(strokes[at], leave)
    at = at or 0
    if entry:
        if abs(entry[-1].at - strokes[0][0].at) < SAME_PLACE:
            strokes[0] = chain(entry, strokes[0])
        else:
            strokes.insert(0, entry)
            at += 1
    return LetterForm(tuple(shift(nodes, complex(-left, 0)) for nodes in (*strokes, *data.marks)), right - left, at)


def _tail(strokes: Sequence[Nodes], leave: Nodes) -> int | None:
    if not leave:
        return None
    return next((i for i, nodes in enumerate(strokes) if abs(nodes[-1].at - leave[0].at) < SAME_PLACE), None)


def join_between(hand: Hand, left: LetterData, right: LetterData) -> str | None:
    """Return the name of the join at which ``left`` leads into ``right``, or None when the pen is lifted."""
    return next((name for name in hand.joins if name in left.exits and name in right.entries), None)


def form_names(hand: Hand, letters: Sequence[LetterData | None]) -> list[tuple[str, str]]:
    """Return (before, after) for each letter of a line; None stands for a space."""
    names: list[tuple[str, str]] = []
    between = [
        join_between(hand, a, b) if a is not None and b is not None else None
        for a, b in pairwise(letters)
    ]
    for i in range(len(letters)):
        before = between[i - 1] if i else None
        after = between[i] if i < len(between) else None
        names.append((before or START, after or END))
    return names


def possible_forms(hand: Hand, data: LetterData) -> list[tuple[str, str]]:
    """Return every (before, after) a letter can have in this hand."""
    entries = [START, *(name for name in hand.joins if name in data.entries)]
    exits = [END, *(name for name in hand.joins if name in data.exits)]
    return [(before, after) for before in entries for after in exits]


def with_first_exit(hand: Hand, data: LetterData) -> LetterData:
    """Return a joined letter that can be left at the hand's first join, at which others are entered by default.

    One that leads out only elsewhere (as ``o``, at its top) has its way out led on there, in a hairline: for where
    nothing chooses among forms. The letter itself, when it needs none.
    """
    ways = [name for name in hand.joins if name in data.exits]
    first = next(iter(hand.joins), "")
    if not ways or first in ways:
        return data
    leave, join = data.exits[ways[0]], hand.joins[first]
    at, drop = leave[-1].at, leave[-1].at.imag - join.height
    led: list[Node] = []
    if drop > 2 * _DIP:
        led.append(Node(complex(at.real + 3 * _DIP, join.height - _DIP), 0.0, 0.0, pressure=0.0))
    led.append(Node(complex(at.real + 5 * _DIP, join.height), join.heading_deg, join.heading_deg, pressure=0.0))
    return replace(data, exits={**data.exits, first: (*leave, *led)})


def unbroken(forms: Sequence[tuple[LetterForm, float, bool]]) -> list[Nodes]:
    """Return the pen strokes of letters side by side, joined ones drawn without a lift.

    Args:
        forms: per letter its form, its x in skeleton units, and whether it is joined to the next one.
    """
    done: list[Nodes] = []
    later: list[Nodes] = []
    pending: Nodes = ()
    for form, x, joined in forms:
        strokes = [shift(nodes, complex(x, 0)) for nodes in form.strokes]
        strokes[0] = chain(pending, strokes[0])
        last = form.exit_at if joined else len(strokes)
        done += strokes[:last]
        pending = strokes[last] if joined else ()
        later += strokes[last + 1 :]
        if not joined:
            done += later
            later = []
    return done + ([pending] if pending else []) + later
