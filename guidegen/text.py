"""Words and lines: letters side by side, joined where the hand joins them."""

from __future__ import annotations

from dataclasses import dataclass

from guidegen.geometry.expand import expand
from guidegen.geometry.path import Outline
from guidegen.geometry.stroke import AnyStroke
from guidegen.hands import Hand
from guidegen.letters import INK_TOLERANCE_MM, Letter, letter
from guidegen.markers import Marker


@dataclass(frozen=True, slots=True)
class Placed:
    """A letter and where its origin stands along the line."""

    letter: Letter
    x_mm: float


@dataclass(frozen=True, slots=True)
class TextLine:
    """One line of text in mm, baseline at y = 0, starting at x = 0.

    ``strokes`` are the pen strokes in writing order, joined letters drawn without a lift;
    ``width_mm`` is the sum of the advances.
    """

    text: str
    letters: tuple[Placed, ...]
    strokes: tuple[AnyStroke, ...]
    width_mm: float


def set_line(hand: Hand, marker: Marker, x_height_mm: float, text: str) -> TextLine:
    """Return ``text`` set on one line.

    Raises:
        GuidegenError: when the hand lacks a character; the message names all that are missing.
    """
    x, placed, strokes = 0.0, [], []
    for char in text:
        item = letter(hand, marker, x_height_mm, char)
        placed.append(Placed(item, x))
        strokes += list(item.strokes)
        x += item.advance_mm
    return TextLine(text, tuple(placed), tuple(strokes), x)


def ink_line(line: TextLine, tolerance_mm: float = INK_TOLERANCE_MM) -> Outline:
    """Return the ink of a line of text as one outline."""
    return expand(line.strokes, tolerance_mm)
