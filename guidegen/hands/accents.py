"""Accented letters from a base letter and marks, by their canonical decomposition in Unicode.

A hand's files hold the marks as skeletons of their own (``[marks.acute]``). A mark above is drawn from the line
its base reaches (y = 0 of the mark: x-height, capital or ascender line), a mark below from the baseline, both
with x = 0 on the base's middle. A letter may say otherwise: ``anchors = { above = [.3, 1], ogonek = [.6, 0] }``.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable
from dataclasses import replace
from functools import lru_cache
from types import MappingProxyType

from guidegen.hands.hand import Hand, LetterData
from guidegen.hands.skeletons import Nodes, shift

COMBINING = {
    "\u0300": "grave",
    "\u0301": "acute",
    "\u0302": "circumflex",
    "\u0303": "tilde",
    "\u0304": "macron",
    "\u0306": "breve",
    "\u0307": "dot",
    "\u0308": "dieresis",
    "\u030a": "ring",
    "\u030b": "double-acute",
    "\u030c": "caron",
    "\u0312": "comma-turned",
    "\u0326": "comma-below",
    "\u0327": "cedilla",
    "\u0328": "ogonek",
}
"""Combining characters and the names of their marks."""

SPACING = {"\u02c6": "\u0302", "\u02c7": "\u030c", "`": "\u0300"}
"""Marks that stand alone and that Unicode does not decompose (others, like U+00B4, it does)."""

BELOW = frozenset({"comma-below", "cedilla", "ogonek"})
DOTLESS = {"i": "\u0131", "j": "\u0237"}
"""Letters with a dot of their own, and the same without it."""
_DOTTED = {dotless: dotted for dotted, dotless in DOTLESS.items()}
# Latvian and Romanian practice, as the Unicode code charts note: these cedillas are drawn as commas below (the g's
# turned, above), and the caron of tall letters as an apostrophe at their side.
_NEAR_LINE = 0.12
_COMMA_FOR_CEDILLA = frozenset("GKLNRklnr")
_SIDE_CARON = frozenset("dltL")


@lru_cache(maxsize=8192)
def find_letter(hand: Hand, char: str) -> LetterData | None:
    """Return the skeleton of ``char``: written in the hand's files, or composed; None when the hand lacks it."""
    if char in hand.letters:
        return hand.letters[char]
    if char in _DOTTED:
        dotted = hand.letters.get(_DOTTED[char])
        return _without_marks(dotted) if dotted else None
    if char in COMBINING:
        return _alone(hand, char, combining=True)
    base, mark = _parts(char)
    return _alone(hand, mark, combining=False) if base == " " else _composed(hand, base, mark)


def _parts(char: str) -> tuple[str, str]:
    if char in SPACING:
        return " ", SPACING[char]
    parts = unicodedata.decomposition(char).removeprefix("<compat> ").split()
    if len(parts) != 2 or "<" in parts[0]:
        return " ", ""
    return chr(int(parts[0], 16)), chr(int(parts[1], 16))


@lru_cache(maxsize=8192)
def base_char(char: str) -> str:
    """Return the letter under a character's accent, the character itself where it has none."""
    base, mark = _parts(char)
    return base if mark and base != " " else char


def under_marks(char: str, combining: str) -> tuple[str, str]:
    """Return the letter that is drawn under marks, and the marks: under one above ``i`` and ``j`` lose their dot."""
    if all(COMBINING[sign] in BELOW for sign in combining):
        return char, combining
    base, mark = _parts(char)
    if base in DOTLESS and COMBINING.get(mark) in BELOW:
        return DOTLESS[base], mark + combining
    return DOTLESS.get(char, char), combining


def mark_step(hand: Hand, name: str) -> float:
    """Return how much higher (x-heights) a mark stands on another one, which is called ``name``: by its height."""
    return max(node.at.imag for nodes in hand.marks[name].strokes for node in nodes)


def lacking(hand: Hand, text: Iterable[str]) -> list[str]:
    """Return the characters of ``text`` that ``hand`` cannot write, each once, in order."""
    return [char for char in dict.fromkeys(text) if find_letter(hand, char) is None]


def mark_name(base: str, combining: str) -> str | None:
    """Return the name of the mark that ``combining`` is drawn as on ``base``."""
    name = COMBINING.get(combining)
    if name == "cedilla" and base == "g":
        return "comma-turned"
    if name == "cedilla" and base in _COMMA_FOR_CEDILLA:
        return "comma-below"
    return "caron-side" if name == "caron" and base in _SIDE_CARON else name


def has_side_mark(char: str) -> bool:
    """Tell whether ``char`` carries its mark at its right side, where the next letter has to make room for it."""
    base, mark = _parts(char)
    return mark_name(base, mark) == "caron-side"


def _composed(hand: Hand, base: str, combining: str) -> LetterData | None:
    name = mark_name(base, combining)
    mark = hand.marks.get(name) if name else None
    above = name not in BELOW and name != "caron-side"
    data = find_letter(hand, DOTLESS.get(base, base) if above else base)
    if data is None or mark is None or name is None:
        return None
    shapes = [_marked(hand, base, one, name, above=above) for one in (data, *data.alternates)]
    return replace(shapes[0], alternates=tuple(shapes[1:]))


def _marked(hand: Hand, base: str, data: LetterData, name: str, *, above: bool) -> LetterData:
    at = anchor(hand, base, data, name)
    placed = tuple(shift(nodes, at) for nodes in hand.marks[name].strokes)
    anchors = {**data.anchors, "above": at + 1j * mark_step(hand, name)} if above else data.anchors
    return replace(data, marks=(*data.marks, *placed), anchors=MappingProxyType(dict(anchors)))


def _without_marks(data: LetterData) -> LetterData:
    return replace(data, marks=(), alternates=tuple(_without_marks(other) for other in data.alternates))


def anchor(hand: Hand, base: str, data: LetterData, mark: str) -> complex:
    """Return where ``mark`` goes on the letter ``base`` with skeleton ``data``, in skeleton units."""
    if mark in data.anchors:
        return data.anchors[mark]
    if mark == "caron-side":
        return complex(_extent(data.strokes)[1], _top(hand, base, data))
    place = "below" if mark in BELOW else "above"
    if place in data.anchors:
        return data.anchors[place]
    return complex(_middle(data.strokes), data.bounce if place == "below" else _top(hand, base, data))


def _top(hand: Hand, char: str, data: LetterData) -> float:
    """Return the line a letter reaches; where that is none of the hand's (t), its own height."""
    if char.isupper():
        return hand.capital + data.bounce
    highest = max(node.at.imag for nodes in data.strokes for node in nodes) - data.bounce
    line = next((line for line in (1.0, hand.ascender) if abs(highest - line) < _NEAR_LINE), max(highest, 1.0))
    return line + data.bounce


def _middle(strokes: tuple[Nodes, ...]) -> float:
    """Middle of a letter's width, between what stands in the middle of its height: feet and serifs don't count."""
    tops = max(node.at.imag for nodes in strokes for node in nodes)
    waist = [node.at.real for nodes in strokes for node in nodes if 0.2 * tops <= node.at.imag <= 0.85 * tops]
    low, high = (min(waist), max(waist)) if len(waist) > 1 else _extent(strokes)
    return (low + high) / 2


def _extent(strokes: tuple[Nodes, ...]) -> tuple[float, float]:
    xs = [node.at.real for nodes in strokes for node in nodes]
    return min(xs), max(xs)


def _alone(hand: Hand, mark: str, combining: bool) -> LetterData | None:
    """Return a mark by itself at the height it has on a small letter; a combining one has no width."""
    name = COMBINING.get(mark)
    if name is None or name not in hand.marks:
        return None
    at = 0j if name in BELOW else 1j
    strokes = tuple(shift(nodes, at) for nodes in hand.marks[name].strokes)
    low, high = _extent(strokes)
    return LetterData(strokes, MappingProxyType({}), MappingProxyType({}), 0.0 if combining else high - low)
