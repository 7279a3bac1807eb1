"""The head of a sheet: what marker this is, how large to write, and two strokes to press a pen beside."""

from __future__ import annotations

import cmath
import math
from collections.abc import Iterator
from dataclasses import dataclass, field, replace

from guidegen.geometry.path import Path, Segment, polyline
from guidegen.profiles.markers import Marker
from guidegen.scene import BLACK, Item, Layer, Line, Purpose, Shape, Style, moved
from guidegen.sheets.parts.enlarging import Enlarged
from guidegen.sheets.parts.figures import degrees_text, stem_mm, stroke_names, width_text
from guidegen.sheets.parts.frame import Box
from guidegen.sheets.parts.labels import STRONG, label, label_width_mm, rise_of
from guidegen.sheets.parts.phrases import Phrases, phrases

STROKE_MM = 15.0
FULL_HEIGHT_MM = 22.5
SLIM_HEIGHT_MM = 8.0
_FINE = Style(stroke_mm=0.12)
_INK = Style(fill=BLACK)
_COLUMN_GAP_MM = 9.0


@dataclass(frozen=True, slots=True)
class Head:
    """What a header says. ``facts`` are caption and value; ``below`` stands under the one large figure."""

    title: str
    figure: str
    figure_caption: str
    below: tuple[str, ...]
    facts: tuple[tuple[str, str], ...]
    marker: Marker
    slant_deg: float
    strokes: bool = True
    say: Phrases = field(default_factory=phrases)
    enlarged: Enlarged | None = None


def headers(box: Box, head: Head) -> Iterator[tuple[tuple[Layer, ...], float]]:
    """Yield the headers that may stand at the top of ``box``, the fullest first, each with the height it takes.

    In full, as two small lines, and none at all: on a small page the rows need the room. The height includes
    the gap below.
    """
    if box.width >= 112 and box.height >= 105:
        fewer = (replace(head, strokes=False), replace(head, enlarged=None)) if head.enlarged else ()
        layers = next((found for wanted in (head, *fewer) if (found := _full(box, wanted)) is not None), None)
        if layers is not None:
            yield layers, FULL_HEIGHT_MM + min(8.0, 0.03 * box.height + 1.5)
    if box.width >= 40 and box.height >= 40:
        yield _slim(box, head), SLIM_HEIGHT_MM + 4.0
    yield (), 0.0


def _full(box: Box, head: Head) -> tuple[Layer, ...] | None:
    """Return the header in three columns, or None when they would touch."""
    scale = min(1.0, max(0.66, box.width / 186))
    figure, figure_left = _figure(box, head, scale)
    nothing: tuple[list[Item], list[Item], float] = [], [], 0.0
    strokes, words, width = _strokes(head, box.top) if head.strokes else nothing
    picture: tuple[Item, ...] = ()
    if head.enlarged is not None:
        shown = head.enlarged
        picture = shown.at(complex(width, box.top - FULL_HEIGHT_MM + 4.6))
        times = head.say("letter.times", factor=shown.times)
        caption = label(times, complex(width + 2.0, box.top - FULL_HEIGHT_MM), 2.5, weight=STRONG)
        words = [*words, caption]
        width += shown.width_mm
    strokes_left = figure_left - _COLUMN_GAP_MM * scale - width
    title, title_right = _title(box, head, scale)
    if title_right + 4.0 > strokes_left:
        return None
    centred = (title_right + strokes_left + width + figure_left) / 2 - width / 2
    move = complex(min(max(centred, title_right + 4.0), strokes_left), 0)
    return (
        Layer(Purpose.STROKES, tuple(moved(item, move) for item in strokes)),
        Layer(Purpose.ENLARGED, tuple(moved(item, move) for item in picture)),
        Layer(Purpose.LABELS, (*title, *figure, *(moved(item, move) for item in words))),
    )


def _title(box: Box, head: Head, scale: float) -> tuple[list[Item], float]:
    size = 6.4 * max(scale, 0.75)
    at = complex(box.left, box.top - rise_of(head.title) * size)
    items: list[Item] = [label(head.title, at, size, weight=STRONG)]
    right = box.left + label_width_mm(head.title, size, STRONG)
    x = box.left
    for column in (head.facts[:2], head.facts[2:4]):
        for number, (caption, value) in enumerate(column):
            y = box.top - FULL_HEIGHT_MM + 3.5 + (len(column) - 1 - number) * 7.6
            items.append(label(caption, complex(x, y), 2.3))
            items.append(label(value, complex(x, y - 3.5), 3.0))
        widths = [max(label_width_mm(caption, 2.3), label_width_mm(value, 3.0)) for caption, value in column]
        right = max(right, x + max(widths, default=0.0))
        x += max(widths, default=0.0) + 7.0
    return items, right


def _figure(box: Box, head: Head, scale: float) -> tuple[list[Item], float]:
    size = 14.0 * scale
    at = complex(box.right, box.top - 0.66 * size)
    items: list[Item] = [label(head.figure, at, size, anchor="end", weight=300)]
    left = box.right - label_width_mm(head.figure, size, 300)
    lines = (head.figure_caption, *head.below)
    for number, text in enumerate(lines):
        y = box.top - FULL_HEIGHT_MM + (len(lines) - 1 - number) * 3.4
        weight = STRONG if number == 0 else 400
        items.append(label(text, complex(box.right, y), 2.5, anchor="end", weight=weight))
        left = min(left, box.right - label_width_mm(text, 2.5, weight))
    return items, left


def _strokes(head: Head, top: float) -> tuple[list[Item], list[Item], float]:
    """Return the strokes and their captions, laid out from x = 0, and the width they take.

    Beside each stroke there is room for the stroke that a student sets next to it.
    """
    marker, slant_deg, say = head.marker, head.slant_deg, head.say
    lean = cmath.exp(1j * math.radians(slant_deg)) * STROKE_MM
    thick, thin = stroke_names(marker, say)
    angle = degrees_text(marker.nib_angle_deg or 0.0, say)
    bars = [(thick, marker.downstroke_mm), (thin, marker.hairline_mm)]
    if marker.tip == "broad":
        bars.insert(1, (say("strokes.stem", angle=angle), stem_mm(marker)))
    x, strokes, words = 0.0, list[Item](), list[Item]()
    for name, width in bars:
        across = width / math.sin(math.radians(slant_deg))
        foot = complex(x, top - lean.imag)
        corners = [foot, foot + across, foot + across + lean, foot + lean]
        strokes.append(Shape((polyline(corners, closed=True),), _INK, name))
        words.append(label(name, complex(x, top - FULL_HEIGHT_MM + 3.3), 2.3))
        words.append(label(width_text(width, say), complex(x, top - FULL_HEIGHT_MM), 2.5, weight=STRONG))
        room = max(lean.real, 0.0) * 0.55 + across + 1.5 * width + 3.0
        x += max(room, label_width_mm(name, 2.3) + 4.0)
    if marker.tip == "broad":
        strokes += nib_mark(complex(x, top - STROKE_MM), marker)
        words.append(label(say("strokes.pen_angle"), complex(x, top - FULL_HEIGHT_MM + 3.3), 2.3))
        words.append(label(angle, complex(x, top - FULL_HEIGHT_MM), 2.5, weight=STRONG))
        x += max(12.0, 1.5 * marker.downstroke_mm)
    return strokes, words, x


def nib_mark(at: complex, marker: Marker) -> list[Item]:
    """Return the pen-angle mark: the nib's own edge, true to size, held at its angle to the baseline."""
    angle = marker.nib_angle_deg or 0.0
    turn = cmath.exp(1j * math.radians(angle))
    arm = max(11.0, 1.5 * marker.downstroke_mm)
    corners = [0, marker.downstroke_mm, complex(marker.downstroke_mm, marker.hairline_mm), 1j * marker.hairline_mm]
    edge = Shape((polyline([at + turn * corner for corner in corners], closed=True),), _INK, "nib")
    arc = Shape((Path((_arc(at, 0.7 * arm, angle),)),), _FINE)
    return [Line(at, at + arm, _FINE), Line(at, at + turn * arm, _FINE), arc, edge]


def _arc(centre: complex, radius: float, degrees: float) -> Segment:
    """Return an arc from the x axis up to ``degrees`` (at most 90) as one cubic; error under 0.03 % of the radius."""
    angle = math.radians(degrees)
    k = 4 / 3 * math.tan(angle / 4)
    end = cmath.exp(1j * angle)
    return tuple(centre + radius * z for z in (1 + 0j, 1 + 1j * k, end - 1j * k * end, end))


def _slim(box: Box, head: Head) -> tuple[Layer, ...]:
    """Return the header in two small lines."""
    first, second = box.top - rise_of(head.title) * 4.4, box.top - 7.2
    figure = label(head.figure, complex(box.right, first), 4.4, anchor="end", weight=STRONG)
    free = box.width - label_width_mm(head.figure, 4.4, STRONG) - 4
    size = next((s for s in (4.4, 3.8, 3.2, 2.8) if label_width_mm(head.title, s, STRONG) <= free), 0.0)
    items: list[Item] = [figure]
    if size:
        items.append(label(head.title, complex(box.left, first), size, weight=STRONG))
    caption = label(head.figure_caption, complex(box.right, second), 2.3, anchor="end")
    items.append(caption)
    free = box.width - label_width_mm(head.figure_caption, 2.3) - 4
    values = [value for _, value in head.facts]
    while values and label_width_mm(" · ".join(values), 2.3) > free:
        values.pop()
    if values:
        items.append(label(" · ".join(values), complex(box.left, second), 2.3))
    return (Layer(Purpose.LABELS, tuple(items)),)
