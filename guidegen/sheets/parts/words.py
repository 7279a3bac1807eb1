"""Words as sheets write them: set on lines, inked, measured, each remembered."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from functools import lru_cache
from itertools import groupby

from guidegen.geometry.measure import bounds
from guidegen.geometry.path import Outline, affine, polyline
from guidegen.geometry.shape.discs import reach_across
from guidegen.geometry.stroke.stroke import AnyStroke, Stroke, Widths
from guidegen.hands.accents import lacking
from guidegen.hands.skeletons import Node, Nodes, chain, shift
from guidegen.lettering.lettering import Lettering
from guidegen.lettering.letters import Letter, pen_strokes
from guidegen.lettering.spacing import word_space_mm
from guidegen.lettering.text import PlacedLetter, TextLine, check_characters, ink_line, set_line
from guidegen.sheets.parts.line_breaking import Word
from guidegen.sheets.parts.word_parts import word_parts
from guidegen.units import shift_per_height

_LED_UP, _UPSTROKE_DEG = 0.42, 55.0
"""Where an upstroke into an ascending loop begins, x-heights before it, and its heading."""
_ON_LINE = 1e-6
_LEAST_SPACE_MM = 1e-3
"""Loops may reach across a space; a word's space stays above 0, which marks a word that was cut."""
DRILL = "\x00"
"""Marks a text as the name of a basic stroke; no text that is written can hold it."""


PAIRS = 250


def check_text(lettering: Lettering, text: str) -> None:
    """Raise GuidegenError, naming the characters, when ``text`` cannot be written."""
    if not lettering.boxes or not lettering.hand.letters:
        check_characters(lettering.hand, text)


def width_of(lettering: Lettering, text: str) -> float:
    """Return the width of ``text`` on a line in mm: its advances or, where it reaches further, its ink."""
    return _reach(lettering, text)[1] - _reach(lettering, text)[0]


def left_of(lettering: Lettering, text: str) -> float:
    """Return how far left of its origin ``text`` reaches, in mm: 0 or a negative number."""
    return _reach(lettering, text)[0]


def words_of(lettering: Lettering, text: str, measure: float) -> tuple[list[Word], list[str]]:
    """Return the words of ``text`` with their widths, and those that had to be cut to fit ``measure`` (mm).

    The space after a word is measured with the word that follows it, for a hand may even the white between
    words; in texts of more than ``PAIRS`` words it is the hand's mean.
    """

    def width(piece: str) -> float:
        return width_of(lettering, piece)

    def fits(piece: str) -> bool:
        return width(piece) <= measure

    words: list[Word] = []
    cut: list[str] = []
    whole = text.split(" ")
    for text_word, following in zip(whole, [*whole[1:], ""], strict=True):
        pieces = [text_word] if width(text_word) <= measure else word_parts(text_word, fits)
        if len(pieces) > 1:
            cut.append(text_word)
        words += [Word(piece, width(piece), 0.0) for piece in pieces[:-1]]
        paired = following and len(whole) <= PAIRS and len(pieces) == 1
        space = _space_between(lettering, text_word, following) if paired else word_space_mm(lettering)
        words.append(Word(pieces[-1], width(pieces[-1]), space))
    return words, cut


def _space_between(lettering: Lettering, first: str, second: str) -> float:
    both = width_of(lettering, f"{first} {second}")
    return max(both - width_of(lettering, first) - width_of(lettering, second), _LEAST_SPACE_MM)


@lru_cache(maxsize=64)
def line_of(lettering: Lettering, text: str) -> TextLine:
    """Return ``text`` set on one line. ``DRILL`` before a basic stroke's name stands for it."""
    if text.startswith(DRILL):
        return _drill(lettering, text)
    if lettering.boxes and (missing := lacking(lettering.hand, text.replace(" ", ""))):
        return _with_boxes(lettering, text, frozenset(missing))
    return set_line(lettering, text)


def _with_boxes(lettering: Lettering, text: str, missing: frozenset[str]) -> TextLine:
    """Return a line whose ``missing`` characters are open boxes of the x-height; what joins ends at them."""
    x = 0.0
    placed: list[PlacedLetter] = []
    strokes: list[AnyStroke] = []
    for boxed, run in groupby(text, key=lambda char: char in missing):
        chars = "".join(run)
        parts = [_box(lettering, char) for char in chars] if boxed else [set_line(lettering, chars)]
        for part in parts:
            low, _ = reach_across(part.strokes, 0.05 * lettering.x_height_mm) or (0.0, 0.0)
            x -= min(0.0, low) if x else 0.0  # a word's first stroke reaches back, under the box before it
            placed += [one._replace(x_mm=one.x_mm + x) for one in part.letters]
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
    return TextLine(char, (PlacedLetter(Letter(char, (stroke,), advance), 0.0),), (stroke,), advance)


def _drill(lettering: Lettering, text: str) -> TextLine:
    """Return one basic stroke as a line of its own, its ink beginning at x = 0."""
    hand = lettering.hand
    nodes = led_out(from_line_to_line(hand.strokes[text.removeprefix(DRILL)]), hand.strokes)
    strokes = pen_strokes(lettering, (nodes,))
    low, high = reach_across(strokes, 0.02 * lettering.x_height_mm) or (0.0, 0.0)
    moved = tuple(replace(stroke, path=affine(stroke.path, 1, 1j, -low)) for stroke in strokes)
    return TextLine(text, (), moved, high - low)


def from_line_to_line(nodes: Nodes) -> Nodes:
    """Return a basic stroke as it is practised alone: a part of a stem goes on to the line it comes from or leads to.

    A descending loop begins on the x-height line, an ascending one is led up from the baseline and comes down to it.
    An entrance, which only rises, is led from the baseline to the x-height line.
    """
    first, last = nodes[0], nodes[-1]
    if all(_is_up(heading) for node in nodes for heading in _headings(node, nodes)) and last.at.imag < 1:
        return _led_between_lines(nodes)
    led: Node | None = None
    if _is_down(first.leave_deg) and first.at.imag < 0:
        led = Node(complex(first.at.real, 1.0), leave_deg=first.leave_deg, pressure=1.0)
    elif first.at.imag > 1 and _is_up(first.leave_deg) and _is_down(last.arrive_deg):
        led = Node(complex(first.at.real - _LED_UP, 0.0), leave_deg=_UPSTROKE_DEG, pressure=0.0)
    if led is not None:
        nodes = (led, first._replace(arrive_deg=first.leave_deg), *nodes[1:])
    if _is_down(last.arrive_deg) and last.at.imag > 0:
        end = Node(complex(last.at.real, 0.0), arrive_deg=last.arrive_deg)
        nodes = (*nodes[:-1], last._replace(leave_deg=last.arrive_deg), end)
    return nodes


def _headings(node: Node, nodes: Nodes) -> Iterator[float | None]:
    """Yield the directions in which a stroke comes to a node and leaves it."""
    if node is not nodes[0]:
        yield node.arrive_deg
    if node is not nodes[-1]:
        yield node.leave_deg


def _led_between_lines(nodes: Nodes) -> Nodes:
    """Return a rising stroke with its ends led straight on, down to the baseline and up to the x-height line."""
    first, last = nodes[0], nodes[-1]
    low, high = first.leave_deg or 90.0, last.arrive_deg or 90.0
    found = list(nodes)
    if first.at.imag > _ON_LINE:
        found[0] = first._replace(arrive_deg=low)
        at = complex(first.at.real - first.at.imag * shift_per_height(low), 0.0)
        found.insert(0, Node(at, leave_deg=low, pressure=first.pressure))
    if last.at.imag < 1 - _ON_LINE:
        found[-1] = last._replace(leave_deg=high)
        at = complex(last.at.real + (1 - last.at.imag) * shift_per_height(high), 1.0)
        found.append(Node(at, arrive_deg=high, pressure=last.pressure))
    return tuple(found)


def led_out(nodes: Nodes, strokes: Mapping[str, Nodes]) -> Nodes:
    """Return a basic stroke that ends at an underturn's lowest point with the thin upstroke that follows in writing.

    That upstroke is the hand's own way ``out`` of a letter and ``in`` to the next, up to where it meets a stem. Cut
    off in the turn the pen would not have been lifted to its hairline, and a blob would stand on the baseline. Hands
    that do not join have no such ways, and their strokes end as they are.
    """
    first, last = nodes[0], nodes[-1]
    way_out, way_in = strokes.get("out"), strokes.get("in")
    pressed = first.at.imag > 0 and any(_is_down(node.leave_deg) for node in nodes)
    turned = last.arrive_deg is not None and last.arrive_deg % 360 == 0 and abs(last.at.imag) < _ON_LINE
    if not (pressed and turned and way_out and way_in and abs(way_out[0].at) < _ON_LINE):
        return nodes
    out = shift(way_out, last.at - way_out[0].at)
    return chain(nodes, out, shift(way_in, out[-1].at - way_in[0].at))


def _is_up(heading_deg: float | None) -> bool:
    return heading_deg is not None and 0 < heading_deg % 360 < 180


def _is_down(heading_deg: float | None) -> bool:
    return heading_deg is not None and heading_deg % 360 == 270


@lru_cache(maxsize=48)
def ink_of(lettering: Lettering, text: str) -> Outline:
    """Return the ink of ``text`` as one outline, baseline at y = 0."""
    return ink_line(line_of(lettering, text))


@lru_cache(maxsize=2048)
def _reach(lettering: Lettering, text: str) -> tuple[float, float]:
    line = line_of(lettering, text)
    reach = reach_across(line.strokes, 0.05 * lettering.x_height_mm)
    if reach is None:
        return 0.0, line.width_mm
    return min(0.0, reach[0]), max(line.width_mm, reach[1])


@lru_cache(maxsize=2048)
def over_of(lettering: Lettering, text: str) -> float:
    """Return how far above the ascender line ``text`` may reach, in mm: accents on capitals do."""
    if text.isascii():
        return 0.0
    tops = [bounds((stroke.path,))[1].imag + _half_mm(stroke) for stroke in line_of(lettering, text).strokes]
    return max(0.0, max(tops, default=0.0) - lettering.hand.ascender * lettering.x_height_mm)


def _half_mm(stroke: AnyStroke) -> float:
    """Return half of the most that a stroke is wide."""
    if isinstance(stroke, Stroke):
        return max(width for _, width in stroke.widths.knots) / 2
    return stroke.nib.width / 2


def joined_words(words: Sequence[Word]) -> str:
    """Return words as the text of a line; pieces of a cut word stand together."""
    text = ""
    for number, word in enumerate(words):
        text += word.text
        if number < len(words) - 1 and word.space > 0:
            text += " "
    return text
