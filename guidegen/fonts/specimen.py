"""The help page of a font: a word at true size on its guides with a ruler, what to set it at, and all it holds."""

from __future__ import annotations

from dataclasses import dataclass

from guidegen.fonts.alphabet import Alphabet
from guidegen.fonts.faces import guide_heights_mm
from guidegen.fonts.glyphs import FontFace
from guidegen.fonts.naming import described
from guidegen.fonts.setting import SetWord, filled, set_word, word_outline, word_span
from guidegen.fonts.truesize import LARGEST_POINT_SIZE, TrueSize
from guidegen.geometry.path import translate
from guidegen.scene import BLACK, Document, Item, Layer, Line, Page, Purpose, Shape, Style
from guidegen.sheets.parts.labels import STRONG, label, wrapped
from guidegen.sheets.parts.phrases import ENGLISH, Phrases, phrases
from guidegen.sheets.parts.proof import bar_height_mm, print_words, proof_bar

WORDS = ("harbour tide", "harbour", "tides", "tide", "sea", "e")
"""The word shown at true size is the first that fits the page."""
ROWS = ("abcdefghijklm", "nopqrstuvwxyz", "ABCDEFGHIJKLM", "NOPQRSTUVWXYZ", "0123456789", "&?!.,:;()'\"–")
SENTENCES = (
    "The tide fills the harbour.",
    "Boats ride at anchor.",
    "Gulls wheel over the quay.",
    "The wind backs to the west.",
    "Fog lifts by noon.",
    "The ferry leaves at six.",
    "Lamps wink along the mole.",
    "A small craft comes home.",
    "Ropes creak, jetties sigh.",
    "Next week: high water at nine.",
)
"""Set at true size below the chart, as many as there is room for."""
OVERHANG_MM = 0.5
"""Guide lines reach a trifle beyond the last glyph: kept free."""
_MARGIN_MM = 14.0
_TEXT_MM = 3.4
_LEADING_MM = 5.2
_LEAST_X_HEIGHT_MM = 0.8
_GUIDE = Style(stroke_mm=0.12)
_BASE = Style(stroke_mm=0.25)
_TICK = Style(stroke_mm=0.15)


@dataclass(frozen=True, slots=True)
class _Box:
    left: float
    right: float
    top: float
    bottom: float


def specimen_page(
    letters: Alphabet, face: FontFace, width_mm: float, height_mm: float, language: str = ENGLISH
) -> Document:
    """Return the one-page specimen of ``face`` on paper of this size."""
    say = phrases(language)
    box = _Box(_MARGIN_MM, width_mm - _MARGIN_MM, height_mm - _MARGIN_MM, _MARGIN_MM)
    proof = proof_bar(complex(box.left, box.bottom), box.right - box.left, print_words(say))
    floor = box.bottom + bar_height_mm(box.right - box.left, print_words(say)) + 6
    head, y = _head(face, box, described(letters, say))
    shown, y = _true_row(letters, face, box, y)
    notes, y = _notes(face, box, y, say)
    chart, y = _chart(letters, face, box, y, floor)
    chart += _sentences(letters, face, box, y, floor)
    layers = (
        Layer(Purpose.LABELS, tuple(head + notes)),
        Layer(Purpose.LINES, tuple(item for item in shown if isinstance(item, Line))),
        Layer(Purpose.INK, tuple([item for item in shown if not isinstance(item, Line)] + chart)),
        Layer(Purpose.PROOF, proof),
    )
    title = say("font.title", font=face.names.full, points=face.size.point_size)
    description = described(letters, say)
    return Document((Page(width_mm, height_mm, layers, title, description),), title, description)


def _head(face: FontFace, box: _Box, description: str) -> tuple[list[Item], float]:
    """Return the name on the left and the true size, the page's one large figure, on the right."""
    y = box.top - 6
    size = f"{face.size.point_size} pt"
    items: list[Item] = [label(face.names.full, complex(box.left, y), 7.5, weight=STRONG)]
    items.append(label(size, complex(box.right, y), 7.5, anchor="end", weight=STRONG))
    y -= 3
    for line in wrapped(description, box.right - box.left, _TEXT_MM):
        y -= _LEADING_MM
        items.append(label(line, complex(box.left, y + 1), _TEXT_MM))
    return items, y - 4


def _true_row(letters: Alphabet, face: FontFace, box: _Box, top: float) -> tuple[list[Item], float]:
    """Return a word at true size on its four lines, a ruler in mm standing on the baseline beside it."""
    unit = face.size.unit_mm
    ruler = 13.0
    room = box.right - box.left - ruler
    texts = [word for word in WORDS if all(ord(c) in face.codepoints for c in word)]
    text = next((word for word in texts if _reach(face, set_word(letters, face, word)) * unit <= room), texts[-1])
    word = filled(letters, face, text, (room - OVERHANG_MM) / unit)
    above, below = face.metrics.above * unit, face.metrics.below * unit
    base = top - above
    start = complex(box.left + ruler, base)
    ink = translate(word_outline(face, word, unit), start)
    items: list[Item] = [Shape(ink, Style(fill=BLACK), "a word at true size")]
    heights: tuple[float, ...] = guide_heights_mm(letters.lettering)
    items += _ruler(complex(box.left + 8, base), heights[0], heights[-1])
    roles: tuple[str, ...] = ("descender", "baseline", "x-height", "ascender")
    if face.ruled:
        roles, heights = (), ()
    for role, height in zip(roles, heights, strict=True):
        style = _BASE if role == "baseline" else _GUIDE
        y = base + height
        items.append(Line(complex(box.left, y), complex(box.right, y), style, role, 1))
    return items, base - below - 3


def _reach(face: FontFace, word: SetWord) -> float:
    """Return how far right of its start a word's ink reaches, in font units."""
    return word_span(face, word)[1]


def _ruler(zero: complex, low: float, high: float) -> list[Item]:
    """Return a standing scale in mm with its zero on the baseline, numbered every 10 (or 5) mm."""
    items: list[Item] = [Line(zero + 1j * low, zero + 1j * high, _TICK)]
    step = 10 if high - low > 25 else 5
    for mm in range(int(low), int(high) + 1):
        long = mm % step == 0
        items.append(Line(zero + 1j * mm, zero + complex(-2.4 if long else -1.1 - 0.5 * (mm % 5 == 0), mm), _TICK))
        if long and mm >= 0:
            items.append(label(str(mm), zero + complex(-3.0, mm + 0.4), 2.2, anchor="end"))
    return items


def other_sizes(size: TrueSize, x_height_mm: float, say: Phrases) -> str:
    """Return a sentence on the sizes for other heights of the small letters: they go in proportion."""
    sizes = [round(size.point_size * share) for share in (0.5, 0.75, 1.5)]
    fit = [pt for pt in sizes if 1 <= pt <= LARGEST_POINT_SIZE]
    heights = [say.number(f"{pt / size.point_size * x_height_mm:.1f}") for pt in fit]
    words = [say("font.size", points=pt, size=height) for pt, height in zip(fit, heights, strict=True)]
    return say("font.sizes", sizes=", ".join(words))


def _notes(face: FontFace, box: _Box, top: float, say: Phrases) -> tuple[list[Item], float]:
    x_height_mm = face.metrics.x_height * face.size.unit_mm
    steps = [
        say("font.install", points=face.size.point_size),
        other_sizes(face.size, x_height_mm, say),
    ]
    if "feature calt" in face.features:
        steps.append(say("font.joining"))
    items: list[Item] = []
    y = top
    for step in steps:
        for line in wrapped(step, box.right - box.left, _TEXT_MM):
            y -= _LEADING_MM
            items.append(label(line, complex(box.left, y), _TEXT_MM))
    return items, y - 6


def _chart(letters: Alphabet, face: FontFace, box: _Box, top: float, floor: float) -> tuple[list[Item], float]:
    """Return the alphabet, reduced to what is left of the page, and where it ends.

    Each letter stands apart, as it does alone; in a ruled face spaces keep them apart, for they carry its lines.
    """
    rows = [[c for c in row if ord(c) in face.codepoints] for row in ROWS]
    rows = [[" ".join(row)] if face.ruled else row for row in rows if row]
    pitch = (face.metrics.above + face.metrics.below) * (1.0 if face.ruled else 0.92)
    words = [[set_word(letters, face, text) for text in row] for row in rows]
    gap = 0 if face.ruled else (0.7 if letters.hand.joins else 0.35) * face.metrics.x_height
    lead = 0.5 * face.metrics.x_height if letters.hand.joins else 0  # a joined letter's way in is left of its origin
    widest = lead + max(sum(word.width + gap for word in row[:-1]) + _reach(face, row[-1]) for row in words)
    unit = min((box.right - box.left) / widest, (top - floor) / (pitch * len(rows)), face.size.unit_mm)
    if unit * face.metrics.x_height < _LEAST_X_HEIGHT_MM:
        return [], top
    items: list[Item] = []
    for number, row in enumerate(words):
        x, y = box.left + lead * unit, top - unit * (face.metrics.above + pitch * number)
        for word in row:
            items.append(Shape(translate(word_outline(face, word, unit), complex(x, y)), Style(fill=BLACK)))
            x += (word.width + gap) * unit
    return items, top - unit * pitch * len(words)


def _sentences(letters: Alphabet, face: FontFace, box: _Box, top: float, floor: float) -> list[Item]:
    """Return lines of running text at true size, down to ``floor``."""
    unit = face.size.unit_mm
    pitch = (face.metrics.above + face.metrics.below) * unit
    items: list[Item] = []
    y = top - 4 - face.metrics.above * unit
    for text in SENTENCES:
        if y - face.metrics.below * unit < floor:
            break
        if any(ord(char) not in face.codepoints for char in text):
            continue
        word = filled(letters, face, text, (box.right - box.left - OVERHANG_MM) / unit)
        if _reach(face, word) * unit > box.right - box.left:
            continue
        items.append(Shape(translate(word_outline(face, word, unit), complex(box.left, y)), Style(fill=BLACK), text))
        y -= pitch
    return items
