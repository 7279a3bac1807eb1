"""A marker, its hand and a size: what every sheet needs to write words with."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import groupby

from guidegen.geometry.measure import bounds
from guidegen.geometry.path import Outline, affine, polyline
from guidegen.geometry.shape.discs import reach_across
from guidegen.geometry.stroke.stroke import AnyStroke, Stroke, Widths
from guidegen.hands.accents import lacking
from guidegen.hands.hand import Hand
from guidegen.lettering.letters import Letter, pen_strokes
from guidegen.lettering.sizing import RightSize, right_size
from guidegen.lettering.spacing import word_space_mm
from guidegen.lettering.text import Placed, TextLine, check_characters, ink_line, row_pitch_mm, set_line
from guidegen.profiles.markers import Marker
from guidegen.sheets.parts.frame import Setup, frame
from guidegen.sheets.parts.line_breaking import Word, cut_word
from guidegen.sheets.parts.rows import RowHeights
from guidegen.units import shift_per_height

_LEAST_SPACE_MM = 1e-3
"""Loops may reach across a space; a word's space stays above 0, which marks a word that was cut."""
DRILL = "\x00"
"""Marks a text as the name of a basic stroke; no text that is written can hold it."""


PAIRS = 250


@dataclass(frozen=True, slots=True)
class Lettering:
    """How words are written. Two letterings are equal when marker, hand (the same object) and size are.

    With ``boxes`` a character the hand lacks is drawn as an open box, to be filled by whoever knows the letter.
    """

    marker: Marker
    hand: Hand
    x_height_mm: float
    boxes: bool = False

    @property
    def heights(self) -> RowHeights:
        x = self.x_height_mm
        return RowHeights(x, self.hand.ascender * x, self.hand.descender * x)

    @property
    def pitch_mm(self) -> float:
        """Return the distance from baseline to baseline."""
        return row_pitch_mm(self.hand, self.x_height_mm)

    @property
    def size(self) -> RightSize:
        return right_size(self.marker, self.hand)

    def check(self, text: str) -> None:
        """Raise GuidegenError, naming the characters, when ``text`` cannot be written."""
        if not self.boxes or not self.hand.letters:
            check_characters(self.hand, text)

    def at(self, x_height_mm: float) -> Lettering:
        """Return the same marker and hand at another x-height."""
        return replace(self, x_height_mm=x_height_mm)

    def line(self, text: str) -> TextLine:
        """Return ``text`` set on one line (remembered). ``DRILL`` before a basic stroke's name stands for it."""
        return _line(self, text)

    def ink(self, text: str) -> Outline:
        """Return the ink of ``text`` as one outline, baseline at y = 0 (remembered)."""
        return _ink(self, text)

    def width(self, text: str) -> float:
        """Return the width of ``text`` on a line: its advances or, where it reaches further, its ink."""
        return _reach(self, text)[1] - _reach(self, text)[0]

    def left(self, text: str) -> float:
        """Return how far left of its origin ``text`` reaches: 0 or a negative number."""
        return _reach(self, text)[0]

    def over(self, text: str) -> float:
        """Return how far above the ascender line ``text`` may reach, in mm: accents on capitals do."""
        return _over(self, text)

    @property
    def word_space_mm(self) -> float:
        return word_space_mm(self.hand, self.marker, self.x_height_mm)

    def words(self, text: str, measure: float) -> tuple[list[Word], list[str]]:
        """Return the words of ``text`` with their widths, and those that had to be cut to fit ``measure``.

        The space after a word is measured with the word that follows it, for a hand may even the white between
        words; in texts of more than ``PAIRS`` words it is the hand's mean.
        """
        words: list[Word] = []
        cut: list[str] = []
        whole = text.split(" ")
        for text_word, following in zip(whole, [*whole[1:], ""], strict=True):
            pieces = [text_word] if self.width(text_word) <= measure else cut_word(text_word, measure, self.width)
            if len(pieces) > 1:
                cut.append(text_word)
            words += [Word(piece, self.width(piece), 0.0) for piece in pieces[:-1]]
            paired = following and len(whole) <= PAIRS and len(pieces) == 1
            space = self._space_between(text_word, following) if paired else self.word_space_mm
            words.append(Word(pieces[-1], self.width(pieces[-1]), space))
        return words, cut

    def _space_between(self, first: str, second: str) -> float:
        space = self.width(f"{first} {second}") - self.width(first) - self.width(second)
        return max(space, _LEAST_SPACE_MM)


@lru_cache(maxsize=64)
def _line(lettering: Lettering, text: str) -> TextLine:
    if text.startswith(DRILL):
        return _drill(lettering, text)
    if lettering.boxes and (missing := lacking(lettering.hand, text.replace(" ", ""))):
        return _with_boxes(lettering, text, frozenset(missing))
    return set_line(lettering.hand, lettering.marker, lettering.x_height_mm, text)


def _with_boxes(lettering: Lettering, text: str, missing: frozenset[str]) -> TextLine:
    """Return a line whose ``missing`` characters are open boxes of the x-height; what joins ends at them."""
    x = 0.0
    placed: list[Placed] = []
    strokes: list[AnyStroke] = []
    for boxed, run in groupby(text, key=lambda char: char in missing):
        chars = "".join(run)
        if boxed:
            parts = [_box(lettering, char) for char in chars]
        else:
            parts = [set_line(lettering.hand, lettering.marker, lettering.x_height_mm, chars)]
        for part in parts:
            low, _ = reach_across(part.strokes, 0.05 * lettering.x_height_mm) or (0.0, 0.0)
            x -= min(0.0, low) if x else 0.0  # a word's first stroke reaches back, under the box before it
            placed += [replace(one, x_mm=one.x_mm + x) for one in part.letters]
            strokes += [replace(stroke, path=affine(stroke.path, 1, 1j, x)) for stroke in part.strokes]
            x += part.width_mm
    return TextLine(text, tuple(placed), tuple(strokes), x)


def _box(lettering: Lettering, char: str) -> TextLine:
    side, marker = lettering.x_height_mm, lettering.marker
    inset = marker.hairline_mm / 2
    shift = shift_per_height(lettering.hand.slant_deg)
    corners = [complex(x + shift * y, y) * side for x, y in ((0.0, 0.0), (0.62, 0.0), (0.62, 1.0), (0.0, 1.0))]
    moved = [corner + 0.15 * side for corner in corners]
    path = affine(polyline((*moved, moved[0])), 1, 1j * (side - 2 * inset) / side, 1j * inset)
    stroke = Stroke(path, Widths(((0.0, marker.hairline_mm),)))
    advance = 0.92 * side
    return TextLine(char, (Placed(Letter(char, (stroke,), advance), 0.0),), (stroke,), advance)


def _drill(lettering: Lettering, text: str) -> TextLine:
    """Return one basic stroke as a line of its own, its ink beginning at x = 0."""
    nodes = lettering.hand.strokes[text.removeprefix(DRILL)]
    strokes = pen_strokes((nodes,), lettering.hand, lettering.marker, lettering.x_height_mm)
    low, high = reach_across(strokes, 0.02 * lettering.x_height_mm) or (0.0, 0.0)
    moved = tuple(replace(stroke, path=affine(stroke.path, 1, 1j, -low)) for stroke in strokes)
    return TextLine(text, (), moved, high - low)


@lru_cache(maxsize=48)
def _ink(lettering: Lettering, text: str) -> Outline:
    return ink_line(_line(lettering, text))


@lru_cache(maxsize=2048)
def _reach(lettering: Lettering, text: str) -> tuple[float, float]:
    line = _line(lettering, text)
    reach = reach_across(line.strokes, 0.05 * lettering.x_height_mm)
    if reach is None:
        return 0.0, line.width_mm
    return min(0.0, reach[0]), max(line.width_mm, reach[1])


@lru_cache(maxsize=2048)
def _over(lettering: Lettering, text: str) -> float:
    if text.isascii():
        return 0.0
    tops = [bounds((stroke.path,))[1].imag + _half_mm(stroke) for stroke in _line(lettering, text).strokes]
    return max(0.0, max(tops, default=0.0) - lettering.heights.ascender_mm)


def _half_mm(stroke: AnyStroke) -> float:
    """Return half of the most that a stroke is wide."""
    if isinstance(stroke, Stroke):
        return max(width for _, width in stroke.widths.knots) / 2
    return stroke.nib.width / 2


def holding(width_mm: float, height_mm: float) -> Callable[[Setup], bool]:
    """Return the test whether a page has that much room between its margins and its footer."""

    def holds(setup: Setup) -> bool:
        box = frame(setup).box
        return box.width >= width_mm - 1e-9 and box.height >= height_mm - 1e-9

    return holds


def joined_words(words: Sequence[Word]) -> str:
    """Return words as the text of a line; pieces of a cut word stand together."""
    text = ""
    for number, word in enumerate(words):
        text += word.text
        if number < len(words) - 1 and word.space > 0:
            text += " "
    return text
