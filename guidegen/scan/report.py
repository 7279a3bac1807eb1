"""The page of a measurement: what a marker draws, every edge that was used, what was left out and why.

Nothing of the picture is on it but what was measured, and its words say so.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from guidegen.geometry.path import polyline
from guidegen.profiles.markers import Marker
from guidegen.scan.measure import MeasuredMarker, ReadBlock, ReadPicture, is_near_limit
from guidegen.scan.statistics import Width
from guidegen.scan.stroke_widths import MeasuredStroke
from guidegen.scene import WHITE, Document, Item, Layer, Line, Page, Purpose, Shape, Style, grey
from guidegen.sheets.parts.figures import mm_text, number_text
from guidegen.sheets.parts.labels import ASCENT, STRONG, label, label_width_mm, wrapped
from guidegen.sheets.parts.phrases import Phrases
from guidegen.sheets.parts.swatch_block import RING_MM, SwatchBlock, Use

_MARGIN_MM = 12.0
_NAME_MM = 6.0
_TEXT_MM, _TEXT_LINE_MM = 3.4, 5.0
_ROW_MM = 3.0
_SMALL_MM, _SMALL_LINE_MM = 2.3, 3.0
_UNDER_HEAD_MM = 3.0
_UPRIGHT_DEG = 95.0
_INK = Style(fill=grey(0.25))
_EDGE = Style(stroke_mm=0.12)
_CELL = Style(stroke_mm=0.08, dash_mm=(0.6, 0.9))
_CROSS = Style(stroke_mm=0.35)
_STROKES: dict[Use, tuple[str, str]] = {"broad": ("widest", "thinnest"), "round": ("one", "one")}
_USUAL_STROKES = ("pressed", "light")
"""What the strokes of the upper and the lower row are called, as on the page they were drawn on."""


def measure_report(
    pictures: Sequence[ReadPicture],
    markers: Sequence[MeasuredMarker],
    named: Sequence[Marker],
    x_heights_mm: Sequence[float | None],
    say: Phrases,
) -> Document:
    """Return one page for each block of each picture, at true size.

    ``x_heights_mm``: the right size of each marker's letters, None where it has none.
    """
    pages = []
    for number, picture in enumerate(pictures):
        for block in picture.blocks:
            place = next(n for n, marker in enumerate(markers) if marker.copy == block.copy)
            which = say("measured.picture", number=number + 1, count=len(pictures)) if len(pictures) > 1 else ""
            pages.append(_page(number, picture, block, markers[place], named[place], x_heights_mm[place], which, say))
    title = say("measured.title", markers=", ".join(marker.label for marker in named))
    return Document(tuple(pages), title, say("measured.description"), ())


def measured_words(
    pictures: Sequence[ReadPicture], markers: Sequence[MeasuredMarker], say: Phrases
) -> tuple[str, ...]:
    """Return what the pages say of widths and pictures, and how many strokes were left out and why; each once."""
    told = []
    for marker in markers:
        told += _width_lines(marker, say)
        faults = [stroke.fault for _, stroke in marker.strokes if stroke.fault]
        for fault in dict.fromkeys(faults):
            numbers = {"count": faults.count(fault), "strokes": len(marker.strokes)}
            told.append(say("measured.left_out", fault=_fault_words(fault, say), **numbers))
    told += [line for picture in pictures for line in _picture_lines(picture, say)]
    return tuple(dict.fromkeys(told))


def width_words(name: str, width: Width) -> tuple[str, str]:
    """Return what to say of a width: itself within its interval, and how well its strokes were measured."""
    low, high = width.interval_mm
    strokes = "stroke" if width.samples == 1 else "strokes"
    first = f"{name} {width.mm:.3f} mm ({low:.3f} to {high:.3f}), {width.samples} {strokes}"
    within = f"measured within {1000 * width.measured_within_mm:.0f} µm"
    return first, f"strokes differ by {1000 * width.sd_mm:.0f} µm; {within}"


def _page(
    number: int, picture: ReadPicture, block: ReadBlock, marker: MeasuredMarker, named: Marker,
    x_height_mm: float | None, which: str, say: Phrases,
) -> Page:  # fmt: skip
    shape = block.block.block
    lines = _width_lines(marker, say)
    if x_height_mm is not None:
        lines.append(say("measured.next", size=mm_text(x_height_mm, say)))
    parts = [part for line in lines for part in wrapped(line, shape.width_mm, _TEXT_MM)]
    details = [say("measured.drawn"), *_interval_lines(marker, say), *_picture_lines(picture, say)]
    notes = [part for line in details for part in wrapped(line, shape.width_mm, _SMALL_MM)]
    head = ASCENT * _NAME_MM + _TEXT_LINE_MM * (len(parts) + 0.3) + _UNDER_HEAD_MM
    foot_mm = _SMALL_LINE_MM * len(notes)
    wide, high = shape.width_mm + 2 * _MARGIN_MM, _depth_mm(shape) + 2 * _MARGIN_MM + head + foot_mm
    corner = complex(_MARGIN_MM, high - _MARGIN_MM - head)

    def at(z: complex) -> complex:
        return corner + z.conjugate()

    y = high - _MARGIN_MM - ASCENT * _NAME_MM
    title = say("measured.marker", marker=named.label)
    words: list[Item] = [label(title, complex(_MARGIN_MM, y), _NAME_MM, weight=STRONG)]
    if which:
        words.append(label(which, complex(wide - _MARGIN_MM, y), _TEXT_MM, anchor="end"))
    words += _lines(parts, y - 1.3 * _TEXT_LINE_MM, _TEXT_MM, _TEXT_LINE_MM)
    words += _lines(notes, _MARGIN_MM + foot_mm - _SMALL_LINE_MM * 0.8, _SMALL_MM, _SMALL_LINE_MM)
    marks: list[Item] = []
    strokes = {stroke.cell: stroke for n, stroke in marker.strokes if n == number}
    for row in range(shape.rows):
        own = [strokes.get(row * shape.columns + n) for n in range(shape.columns)]
        foot = at(complex(0.8, shape.strips_mm[row] + RING_MM - 0.6))
        words += _row_label(_row_line(block.use, row, own, say), foot, shape.width_mm - 0.8)
    ink: list[Item] = []
    edges: list[Item] = []
    for place, cell in enumerate(shape.cells):
        low = at(complex(cell.x_mm, cell.y_mm + cell.height_mm))
        sides = [low, low + cell.width_mm, low + complex(cell.width_mm, cell.height_mm), low + 1j * cell.height_mm]
        marks.append(Shape((polyline(sides, closed=True),), _CELL))
        stroke = strokes.get(place)
        foot = at(complex(cell.centre.real, cell.y_mm + cell.height_mm - 1.3))
        aside = (cell.width_mm / 2 - 1.2) * (1 if stroke is None or stroke.heading_deg < _UPRIGHT_DEG else -1)
        if stroke is None:
            continue
        if stroke.left:
            left, right = [at(z) for z in stroke.left], [at(z) for z in stroke.right]
            if not stroke.fault:
                ink.append(Shape((polyline([*left, *reversed(right)], closed=True),), _INK))
            edges += [Line(a, b, _EDGE) for side in (left, right) for a, b in pairwise(side)]
        if stroke.fault:
            words += _on_white(_fault_words(stroke.fault, say), foot, cell.width_mm)
            middle = at(cell.centre)
            edges += [Line(middle - by, middle + by, _CROSS) for by in (1.5 + 1.5j, 1.5 - 1.5j)]
        else:
            number_words = _width_text(stroke.width_mm, say)  # in the corner that the stroke leaves free
            words.append(label(number_words, foot + aside, _SMALL_MM, anchor="end" if aside > 0 else "start"))
    layers = (
        Layer(Purpose.CELLS, tuple(marks)),
        Layer(Purpose.STROKES, tuple(ink)),
        Layer(Purpose.DIMENSIONS, tuple(edges)),
        Layer(Purpose.LABELS, tuple(words)),
    )
    return Page(wide, high, tuple(layer for layer in layers if layer.items), say("measured.title", markers=named.label))


def _lines(parts: Sequence[str], y: float, size_mm: float, pitch_mm: float) -> list[Item]:
    """Return lines of text at the left margin, the first with its baseline at ``y``."""
    return [label(part, complex(_MARGIN_MM, y - n * pitch_mm), size_mm) for n, part in enumerate(parts)]


def _on_white(text: str, foot: complex, width: float) -> list[Item]:
    """Return words on white, the last of their lines at ``foot``: they may lie on a stroke that was left out."""
    lines = wrapped(text, width - 1.0, _SMALL_MM)
    reach = max(label_width_mm(line, _SMALL_MM) for line in lines) / 2 + 0.5
    high = _SMALL_LINE_MM * len(lines)
    low = foot - 0.7j
    white = polyline([low - reach, low + reach, low + complex(reach, high), low + complex(-reach, high)], closed=True)
    made: list[Item] = [Shape((white,), Style(fill=WHITE))]
    for number, line in enumerate(reversed(lines)):
        made.append(label(line, foot + 1j * _SMALL_LINE_MM * number, _SMALL_MM, anchor="middle"))
    return made


def _width_text(mm: float, say: Phrases) -> str:
    """Return a width to a hundredth, which is what a marker is steady to; thin ones to a thousandth."""
    return number_text(f"{mm:.2f}" if mm >= 0.1 else f"{mm:.3f}", say) + " mm"


def _depth_mm(block: SwatchBlock) -> float:
    """Return the height of a block's rows of boxes, with white below."""
    return max(cell.y_mm + cell.height_mm for cell in block.cells) + 4.0


def _row_label(text: str, foot: complex, width_mm: float) -> list[Item]:
    """Return what a row holds, in small lines, the last at ``foot``, where one line has no room."""
    if label_width_mm(text, _ROW_MM) <= width_mm:
        return [label(text, foot, _ROW_MM)]
    lines = reversed(wrapped(text, width_mm, _SMALL_MM))
    return [label(line, foot + 1j * _SMALL_LINE_MM * n, _SMALL_MM) for n, line in enumerate(lines)]


def _row_line(use: Use, row: int, strokes: Sequence[MeasuredStroke | None], say: Phrases) -> str:
    """Return what a row holds, and which of its strokes are the thinnest and the thickest, counted from the left."""
    name = say(f"measured.row_{_STROKES.get(use, _USUAL_STROKES)[row]}")
    good = [(stroke.width_mm, n) for n, stroke in enumerate(strokes, 1) if stroke is not None and not stroke.fault]
    if len(good) < 2:
        return name
    (thin, thin_at), (thick, thick_at) = min(good), max(good)
    widths = {"thin": _width_text(thin, say), "thick": _width_text(thick, say)}
    return say("measured.row", row=name, thin_at=thin_at, thick_at=thick_at, **widths)


def _width_lines(marker: MeasuredMarker, say: Phrases) -> list[str]:
    """Return what the marker draws, in one sentence, and whether its thin strokes are hardly shown."""
    thick, thin = marker.downstroke.mm, marker.hairline.mm if marker.hairline is not None else None
    if thin is None:
        lines = [say("measured.widths_one", thick=_width_text(thick, say))]
    else:
        times = number_text(f"{thick / thin:.2g}" if thick < 10 * thin else f"{thick / thin:.0f}", say)
        widths = {"thick": _width_text(thick, say), "thin": _width_text(thin, say)}
        key = "widths_broad" if marker.use == "broad" else "widths"
        lines = [say(f"measured.{key}", times=times, **widths)]
    if is_near_limit(marker.hairline or marker.downstroke):
        lines.append(say("measured.near_limit"))
    return lines


def _interval_lines(marker: MeasuredMarker, say: Phrases) -> list[str]:
    """Return how sure each width is, for those who want to know."""
    names = _STROKES.get(marker.use, _USUAL_STROKES)
    widths = [width for width in (marker.downstroke, marker.hairline) if width is not None]
    return [_interval_line(name, width, say) for name, width in zip(names, widths, strict=False)]


def _picture_lines(picture: ReadPicture, say: Phrases) -> list[str]:
    lines = [_scale_words(picture, say)]
    if picture.assumed:
        lines.append(say("measured.by_usual_curve"))
    return lines


def _fault_words(fault: str, say: Phrases) -> str:
    return say("measured." + fault.replace(" ", "_"))


def _interval_line(name: str, width: Width, say: Phrases) -> str:
    low, high = width.interval_mm
    values = (("mm", width.mm), ("low", low), ("high", high), ("sd", width.sd_mm), ("reach", width.measured_within_mm))
    numbers = {key: say.number(f"{mm:.3f}") for key, mm in values}
    return say("measured.interval", stroke=say(f"measured.{name}"), count=width.samples, **numbers)


def _scale_words(picture: ReadPicture, say: Phrases) -> str:
    across, down = (say.number(f"{100 * side:.1f}") for side in picture.scale.printer)
    known = {"resolution": "by_resolution", "ruler": "by_ruler", "card": "by_card"}
    key = known.get(picture.scale.source)
    return say(f"measured.{key}", across=across, down=down) if key else say("measured.by_nothing")
