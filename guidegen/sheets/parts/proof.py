"""Proof marks: anybody can lay a ruler or a bank card on a print and see whether it is true.

The bar is a scale with millimetres above and inches below. The card is the outline of ISO/IEC 7810 ID-1
(from memory): 85.60 x 53.98 mm, corners of 3.18 mm.
"""

from __future__ import annotations

from guidegen.geometry.path import Path, Segment, polyline
from guidegen.profiles.printers import Printer
from guidegen.scene import Item, Line, Shape, Style
from guidegen.sheets.parts.figures import number_text
from guidegen.sheets.parts.labels import Anchor, label, label_width_mm, wrapped
from guidegen.sheets.parts.phrases import Phrases, phrases
from guidegen.units import MM_PER_INCH

BAR_LENGTHS_MM = (100.0, 50.0, 20.0)
SQUARE_MM = 50.0
CARD_MM = (85.60, 53.98)
CARD_RADIUS_MM = 3.18
SCALE_HEIGHT_MM = 5.2
TEXT_MM = 2.3
LINE_MM = 2.9

LENGTH = "\ufffc"
"""Stands in words for the length of the bar they are about, which is known when the bar is drawn."""
_INCHES = {100.0: 4.0, 50.0: 2.0, 20.0: 0.75}
_RULE = Style(stroke_mm=0.18)
_NUMBER_GAP_MM = 1.2
_WORDS_GAP_MM = 5.0
_CIRCLE = 0.5522847  # handle of a quarter circle as one cubic


def bar_length_mm(width_mm: float) -> float | None:
    """Return the longest bar that fits ``width_mm`` with its numbers, or None when not even the shortest does."""
    return next((length for length in BAR_LENGTHS_MM if _reach(length) <= width_mm), None)


def print_words(say: Phrases) -> tuple[str, str]:
    """Return the two sentences that stand beside the bar: how to print, and what a true print looks like.

    The second has :data:`LENGTH` for the bar's length, which the bar fills in.
    """
    return say("proof.print"), say("proof.ruler", length=LENGTH)


def corrected_words(printer: Printer, say: Phrases) -> str:
    """Return the sentence that a page corrected for a printer carries."""
    across, down = (number_text(f"{side:g}", say) for side in (printer.across_mm, printer.down_mm))
    return say("proof.corrected", across=across, down=down)


def bar_height_mm(width_mm: float, words: tuple[str, ...] | None = None) -> float:
    """Return how high :func:`proof_bar` is at that width: higher where the words stand above the bar."""
    if bar_length_mm(width_mm) is None:
        return 0.0
    lines, beside = _placed_words(width_mm, print_words(phrases()) if words is None else words)
    return SCALE_HEIGHT_MM if beside else SCALE_HEIGHT_MM + len(lines) * LINE_MM + 0.6


def proof_bar(at: complex, width_mm: float, words: tuple[str, ...] | None = None) -> tuple[Item, ...]:
    """Return the scale with its lower left corner at ``at``, and ``words`` (one sentence each) with it.

    Without ``words`` they are :func:`print_words` in English.

    The words stand to the right of the bar, in two lines at most; where they don't fit, above it. Nothing
    is drawn where not even 20 mm fit.
    """
    length = bar_length_mm(width_mm)
    if length is None:
        return ()
    axis = at + complex(0, SCALE_HEIGHT_MM / 2)
    lines, beside = _placed_words(width_mm, print_words(phrases()) if words is None else words)
    if beside:
        first = axis + complex(width_mm, (len(lines) - 1) * LINE_MM / 2 - TEXT_MM * 0.22)
    else:
        first = at + complex(0, SCALE_HEIGHT_MM + (len(lines) - 1) * LINE_MM + 1.0)
    anchor: Anchor = "end" if beside else "start"
    text = [label(line, first - 1j * LINE_MM * number, TEXT_MM, anchor=anchor) for number, line in enumerate(lines)]
    return (*_scale(axis, length), *text)


def _reach(length: float) -> float:
    widest = max(label_width_mm(text, TEXT_MM) for text in (f"{length:g} mm", f"{_INCHES[length]:g} in"))
    return max(length, _INCHES[length] * MM_PER_INCH) + _NUMBER_GAP_MM + widest


def _placed_words(width_mm: float, words: tuple[str, ...]) -> tuple[tuple[str, ...], bool]:
    """Return the lines of the words and whether they stand beside the bar."""
    length = bar_length_mm(width_mm)
    words = tuple(sentence.replace(LENGTH, f"{length or BAR_LENGTHS_MM[0]:g}") for sentence in words)
    free = width_mm - _reach(length or 0.0) - _WORDS_GAP_MM if length else 0.0
    halves = [(" ".join(words[:n]), " ".join(words[n:])) for n in range(1, len(words))]
    for lines in (*halves, (" ".join(words),)):
        if max(label_width_mm(line, TEXT_MM) for line in lines) <= free:
            return lines, True
    return tuple(line for sentence in words for line in wrapped(sentence, width_mm, TEXT_MM)), False


def _scale(axis: complex, length: float) -> list[Item]:
    """Return the bar with its ticks and numbers."""
    inches = _INCHES[length]
    inch_step, step = (0.5, 10) if length > 20 else (0.25, 5)
    end = max(length, inches * MM_PER_INCH)
    halves = round(inches / inch_step)
    items: list[Item] = [Line(axis, axis + end, _RULE)]
    items += [_tick(axis + n, 1.7 if n in (0, length) else 0.9) for n in range(0, int(length) + 1, step)]
    items += [_tick(axis + n * inch_step * MM_PER_INCH, -1.7 if n in (0, halves) else -0.9) for n in range(halves + 1)]
    text_at = axis + end + _NUMBER_GAP_MM
    items.append(label(f"{length:g} mm", text_at + 0.45j, TEXT_MM))
    items.append(label(f"{inches:g} in", text_at - complex(0, 0.45 + TEXT_MM * 0.62), TEXT_MM))
    return items


def _tick(at: complex, height: float) -> Line:
    return Line(at, at + complex(0, height), _RULE)


def card_and_square(at: complex, width_mm: float, say: Phrases | None = None) -> tuple[Item, ...]:
    """Return the outline of a bank card at ``at`` (lower left) and, where it fits beside it, a 50 mm square."""
    say = say or phrases()
    thin = Style(stroke_mm=0.18)
    width, height = CARD_MM
    items: list[Item] = []
    if width_mm < width:
        return ()
    items.append(Shape((rounded_rectangle(at, width, height, CARD_RADIUS_MM),), thin, "card"))
    middle = at + complex(width / 2, height / 2)
    items.append(label(say("proof.card"), middle, TEXT_MM, anchor="middle"))
    if width_mm >= width + _WORDS_GAP_MM + SQUARE_MM:
        corner = at + width_mm - SQUARE_MM
        sides = [corner, corner + SQUARE_MM, corner + SQUARE_MM * (1 + 1j), corner + SQUARE_MM * 1j]
        items.append(Shape((polyline(sides, closed=True),), thin, "50 mm square"))
        items.append(label(say("proof.square"), corner + (0.5 + 0.5j) * SQUARE_MM, TEXT_MM, anchor="middle"))
    return tuple(items)


def rounded_rectangle(at: complex, width: float, height: float, radius: float) -> Path:
    """Return a closed rectangle with its lower left corner at ``at`` and round corners, anticlockwise."""
    middle = at + complex(width / 2, height / 2)
    segments: list[Segment] = []
    sides = (width, height, width, height)
    for turn, (along, across) in enumerate(zip(sides, (height, width, height, width), strict=True)):
        heading = 1j**turn
        start = middle + heading * complex(-along / 2 + radius, -across / 2)
        end = middle + heading * complex(along / 2 - radius, -across / 2)
        corner = middle + heading * complex(along / 2, -across / 2)
        inward = 1 - _CIRCLE
        after = corner + heading * 1j * radius
        segments.append((start, end))
        segments.append((end, corner - heading * radius * inward, corner + heading * 1j * radius * inward, after))
    return Path(tuple(segments), closed=True)
