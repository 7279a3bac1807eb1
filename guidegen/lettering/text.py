"""Words and lines: letters side by side, joined where the hand joins them, else spaced by their white."""

from __future__ import annotations

import math
import unicodedata
from collections.abc import Sequence
from dataclasses import replace
from functools import lru_cache
from typing import Literal, NamedTuple

from guidegen.errors import GuidegenError
from guidegen.geometry.path import Outline, Path, affine
from guidegen.geometry.stroke.expand import expand
from guidegen.geometry.stroke.stroke import AnyStroke
from guidegen.hands.accents import BELOW, COMBINING, anchor, base_char, lacking, mark_step, under_marks
from guidegen.hands.alternates import alternated
from guidegen.hands.hand import Hand, LetterData
from guidegen.hands.joins import END, START, form_names, letter_form, unbroken
from guidegen.lettering.free_ends import SPACE, free_ends, unjoined_mm
from guidegen.lettering.lettering import Lettering
from guidegen.lettering.letters import INK_TOLERANCE_MM, Letter, letter, letter_data, pen_strokes, skeleton_map
from guidegen.lettering.spacing import (
    LETTER_FREQUENCY,
    kern_mm,
    kern_table,
    spaced,
    word_space_mm,
)

Align = Literal["left", "center", "right"]
_SPACES = " \u00a0"
_MOST_NAMED = 12


class PlacedLetter(NamedTuple):
    """A letter and where its origin stands along the line."""

    letter: Letter
    x_mm: float


class TextLine(NamedTuple):
    """One line of text in mm, baseline at y = 0, starting at x = 0.

    ``strokes`` are the pen strokes in writing order, joined letters drawn without a lift; ``letters`` leaves out
    spaces; ``width_mm`` is the sum of the advances.
    """

    text: str
    letters: tuple[PlacedLetter, ...]
    strokes: tuple[AnyStroke, ...]
    width_mm: float


def set_line(lettering: Lettering, text: str) -> TextLine:
    """Return ``text`` set on one line.

    Raises:
        GuidegenError: when the hand lacks a character; the message names all that are missing.
    """
    line = unicodedata.normalize("NFC", text)
    check_characters(lettering.hand, line)
    place = _joined_line if lettering.hand.joins else _spaced_line
    return place(lettering, line)


def check_characters(hand: Hand, text: str) -> None:
    """Check that the hand can write ``text`` (spaces always can be).

    Raises:
        GuidegenError: naming every character that is missing.
    """
    missing = lacking(hand, (char for char in unicodedata.normalize("NFC", text) if char not in _SPACES))
    if not missing:
        return
    if not hand.letters:
        raise GuidegenError(f"hand {hand.name}: it has guides only, no letters yet; choose another `hand`")
    shown = " ".join(_shown(char) for char in missing[:_MOST_NAMED])
    more = f" and {len(missing) - _MOST_NAMED} more" if len(missing) > _MOST_NAMED else ""
    raise GuidegenError(f"hand {hand.name}: it cannot write {shown}{more}; leave them out or choose another `hand`")


def _shown(char: str) -> str:
    code = f"U+{ord(char):04X}"
    return f"{char} ({code})" if char.isprintable() and not unicodedata.combining(char) else code


def _clusters(text: str) -> list[tuple[str, str]]:
    """Return each character with the combining marks after it that no letter of its own holds."""
    found: list[tuple[str, str]] = []
    for char in text:
        if char in COMBINING and found and found[-1][0] not in _SPACES:
            found[-1] = (found[-1][0], found[-1][1] + char)
        else:
            found.append((char, ""))
    return [under_marks(char, combining) for char, combining in found]


def _spaced_line(lettering: Lettering, text: str) -> TextLine:
    x, before = 0.0, ""
    placed: list[PlacedLetter] = []
    for char, marks in _clusters(text):
        if char in _SPACES:
            x, before = x + word_space_mm(lettering), ""
            continue
        item = spaced(lettering, char)
        if before:
            x += kern_mm(lettering, before, char)
        placed.append(PlacedLetter(item.letter, x + item.shift_mm))
        placed += _marks_on(lettering, placed[-1], marks)
        x += item.advance_mm
        before = char
    return TextLine(text, tuple(placed), _strokes(placed), x)


def _strokes(placed: Sequence[PlacedLetter]) -> tuple[AnyStroke, ...]:
    return tuple(_moved(stroke, entry.x_mm) for entry in placed for stroke in entry.letter.strokes)


def _moved(stroke: AnyStroke, by_mm: complex) -> AnyStroke:
    path: Path = affine(stroke.path, 1, 1j, by_mm)
    return replace(stroke, path=path)


def _marks_on(lettering: Lettering, base: PlacedLetter, marks: str) -> list[PlacedLetter]:
    """Return combining marks on a letter that is placed, those above stacked."""
    own, char = skeleton_map(lettering), base.letter.char
    data = letter_data(lettering.hand, char, base.letter.shape)
    entry = data.entries.get(base.letter.before, ()) if base.letter.before in lettering.hand.joins else ()
    done: list[PlacedLetter] = []
    above = 0.0
    for sign in marks:
        name = COMBINING[sign]
        below = name in BELOW
        at = anchor(lettering.hand, base_char(char), data, name) + (0.0 if below else 1j * above)
        by = own.place(at - (entry[0].at.real if entry else 0.0)) - own.place(0j if below else 1j)
        mark = letter(lettering, sign)
        strokes = tuple(_moved(stroke, by) for stroke in mark.strokes)
        done.append(PlacedLetter(replace(mark, strokes=strokes), base.x_mm))
        above += 0.0 if below else mark_step(lettering.hand, name)
    return done


def _joined_line(lettering: Lettering, text: str) -> TextLine:
    clusters = _clusters(text)
    numbers = alternated(lettering.hand, [None if char in _SPACES else char for char, _ in clusters])
    turns = zip(clusters, numbers, strict=True)
    letters = [None if char in _SPACES else letter_data(lettering.hand, char, shape) for (char, _), shape in turns]
    names = form_names(lettering.hand, letters)
    scale = skeleton_map(lettering).scale_mm
    x, runs, last = 0.0, [], ""
    placed: list[PlacedLetter] = []
    accents: list[PlacedLetter] = []
    for (char, marks), shape, data, (before, after) in zip(clusters, numbers, letters, names, strict=True):
        sign = char if data else SPACE
        if last and before == START:
            x += unjoined_mm(lettering, last, sign)
        last = sign
        if data is None:
            x += word_space_mm(lettering)
            continue
        free = free_ends(lettering, char, shape)
        x += free.start_mm if before == START else 0.0
        placed.append(PlacedLetter(letter(lettering, char, before, after, shape), x))
        accents += _marks_on(lettering, placed[-1], marks)
        form = letter_form(lettering.hand, data, before, after)
        runs.append((form, x / scale, after != END))
        x += form.advance * scale + (free.end_mm if after == END else 0.0)
    strokes = pen_strokes(lettering, unbroken(runs)) + _strokes(accents)
    return TextLine(text, tuple(sorted(placed + accents, key=lambda entry: entry.x_mm)), strokes, x)


@lru_cache(maxsize=256)
def mean_advance_mm(lettering: Lettering) -> float | None:
    """Return the mean width of a letter in running words, weighted by :data:`LETTER_FREQUENCY`; no spaces counted.

    Kerning is weighted as if letters followed each other at random.

    A hand that has only some of a to z is weighed by those; None when it has none.
    """
    known = {char: weight for char, weight in LETTER_FREQUENCY.items() if char in lettering.hand.letters}
    if not known:
        return None
    total = sum(known.values())
    advance = sum(weight * _advance_mm(lettering, char) for char, weight in known.items()) / total
    if lettering.hand.joins:
        return advance
    kerns = kern_table(lettering, known, known)
    return advance + sum(known[a] * known[b] * kern for (a, b), kern in kerns.items()) / total**2


def _advance_mm(lettering: Lettering, char: str) -> float:
    if not lettering.hand.joins:
        return spaced(lettering, char).advance_mm
    data = letter_data(lettering.hand, char)
    form = letter_form(lettering.hand, data, *_middle_form(lettering.hand, data))
    return form.advance * skeleton_map(lettering).scale_mm  # what `letter` says, without its strokes


def _middle_form(hand: Hand, data: LetterData) -> tuple[str, str]:
    before = next((name for name in hand.joins if name in data.entries), START)
    return before, next((name for name in hand.joins if name in data.exits), END)


def letters_per_line(lettering: Lettering, line_mm: float) -> int | None:
    """Return how many letters of one unbroken word fit a line: floor(line / mean advance); None without letters."""
    advance = mean_advance_mm(lettering)
    return None if advance is None else math.floor(line_mm / advance)


def ink_line(line: TextLine, tolerance_mm: float = INK_TOLERANCE_MM) -> Outline:
    """Return the ink of a line of text as one outline."""
    return expand(line.strokes, tolerance_mm)
