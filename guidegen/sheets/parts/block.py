"""A block of lettered lines: broken evenly, aligned, each line perhaps with a marker of its own."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from guidegen.geometry.path import translate
from guidegen.lettering.lettering import Lettering
from guidegen.lettering.text import Align
from guidegen.scene import BLACK, Ink, Line, Shape, Style
from guidegen.sheets.parts.line_breaking import break_evenly
from guidegen.sheets.parts.rows import heights_of, row_lines, slant_lines
from guidegen.sheets.parts.words import ink_of, joined_words, left_of, line_of, over_of, width_of, words_of


@dataclass(frozen=True, slots=True)
class BlockLine:
    """One line. ``at`` is its origin on the baseline; its ink begins at x >= 0 of the block."""

    lettering: Lettering
    text: str
    width_mm: float
    at: complex


@dataclass(frozen=True, slots=True)
class Block:
    """Lines below y = 0 and right of x = 0: the first ascender line, or an accent that reaches over it, is at y = 0.

    The height runs from there to the last line's descender line.
    """

    lines: tuple[BlockLine, ...]
    width_mm: float
    height_mm: float

    def ink(self, corner: complex, ink: Ink = BLACK) -> tuple[Shape, ...]:
        """Return each line's ink as one shape named by its text, the block's upper left corner at ``corner``."""
        style = Style(fill=ink)
        return tuple(_inked(line, corner, style) for line in self.lines if line.text)

    def guides(self, corner: complex, left: float, right: float, slant: bool = True) -> tuple[Line, ...]:
        """Return the guide lines (and slant lines) of every line from ``left`` to ``right`` of the page."""
        found: list[Line] = []
        for number, line in enumerate(self.lines, start=1):
            heights = heights_of(line.lettering)
            baseline = complex(left, corner.imag + line.at.imag)
            found += row_lines(heights, baseline, right, number)
            if slant:
                found += slant_lines(heights, baseline, right, number, (line.lettering.hand.slant_deg,))
        return tuple(found)


def _inked(line: BlockLine, corner: complex, style: Style) -> Shape:
    at = corner + line.at
    letters = tuple((one.letter.char, at + one.x_mm) for one in line_of(line.lettering, line.text).letters)
    return Shape(translate(ink_of(line.lettering, line.text), at), style, line.text, letters)


def stack(lines: Sequence[tuple[Lettering, str]], align: Align = "left", width_mm: float | None = None) -> Block:
    """Return ``lines`` one below the other, as they are. ``width_mm`` is what they align in, if not the widest."""
    widths = [width_of(lettering, text) for lettering, text in lines]
    width = max(widths) if width_mm is None else width_mm
    share = {"left": 0.0, "center": 0.5, "right": 1.0}[align]
    placed: list[BlockLine] = []
    y = 0.0
    for number, ((lettering, text), line_width) in enumerate(zip(lines, widths, strict=True)):
        heights = heights_of(lettering)
        if number:
            above = lines[number - 1][0]
            gap = max(pair.hand.row_gap * pair.x_height_mm for pair in (above, lettering))
            y -= heights_of(above).descender_mm + gap
        else:
            y -= over_of(lettering, text)
        y -= heights.ascender_mm
        x = (width - line_width) * share - left_of(lettering, text)
        placed.append(BlockLine(lettering, text, line_width, complex(x, y)))
    last = heights_of(lines[-1][0])
    return Block(tuple(placed), width, -y + last.descender_mm)


def broken(
    lettering: Lettering,
    paragraphs: Sequence[str],
    measure: float,
    align: Align = "left",
    lines: int | None = None,
) -> Block | None:
    """Return ``paragraphs`` broken evenly to ``measure``, or None when a word alone is wider.

    Args:
        lettering: how it is written.
        paragraphs: each begins a line of its own; "" is an empty line.
        measure: the most a line may be wide, in mm.
        align: of lines in the block.
        lines: how many lines one paragraph takes; as few as possible when None (and always for several).
    """
    texts: list[str] = []
    for paragraph in paragraphs:
        found = line_texts(lettering, paragraph, measure, lines if len(paragraphs) == 1 else None)
        if found is None:
            return None
        texts += found
    block = stack([(lettering, text) for text in texts], align)
    return block if block.width_mm <= measure + 1e-6 else None


def line_texts(lettering: Lettering, text: str, measure: float, lines: int | None = None) -> list[str] | None:
    """Return ``text`` as evenly broken lines that keep to ``measure``, or None when that cannot be.

    Words are added up first; a joined line may reach a little further than the sum, and then the measure is
    tightened by the excess and the text broken again.
    """
    words, cut = words_of(lettering, text, measure)
    if cut:
        return None
    tightened = measure
    for _ in range(6):
        breaks = break_evenly(words, tightened, lines)
        if breaks is None:
            return None
        found = [joined_words(words[first:stop]) for first, stop in breaks]
        excess = max(width_of(lettering, line) for line in found) - measure
        if excess <= 1e-6:
            return found
        tightened -= excess + 1e-6
    return None
