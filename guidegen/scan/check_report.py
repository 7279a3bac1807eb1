"""The picture of a check: each letter as it was written, with its white and its downstroke, beside the good letter."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from guidegen.geometry.path import translate
from guidegen.lettering.sizing import RightSize, counter_at, sample_outline
from guidegen.scan.check import CheckedPicture, ShownLetter, weighed
from guidegen.scan.raster import Raster, drawn_shape, drawn_smaller
from guidegen.sheets.parts.labels import label_width_mm, wrapped
from guidegen.sheets.parts.phrases import ENGLISH, Phrases, phrases

_WIDTH, _MARGIN, _GAP = 1400, 50, 24
_TITLE, _TEXT, _SMALL = 40.0, 26.0, 21.0
_HEIGHT = 260
_ROW = 34
_COLUMNS = (0, 480, 700, 880, 1120)
"""Where the columns of a class's table begin: picture, white over stroke, x-height, verdict, what to write."""
_ALIKE = 0.1
_STRONG_SHARE = 0.94
"""Strong words are wider: lines of them are broken at this share of the room."""
_ROUGHLY = 0.03
"""A height that may be off by more than this share is told with by how much."""
_MOST_SHOWN = 29
_ROOM = 1.4
"""How high the room of a letter is, in x-heights."""


def check_picture_of(
    checked: Sequence[CheckedPicture], size: RightSize, file_format: str, language: str = ENGLISH
) -> bytes:
    """Return the report as ``png`` or ``jpg``, its words in a language: what was measured, letter by letter.

    Of several pictures each has its line at the head, as the table of a class, and less of each is shown.
    """
    page = _Page(size, phrases(language), several=len(checked) > 1)
    table = _table_height(checked) if page.several else 0
    heights = [_block_height(one, page) for one in checked]
    canvas = Raster(_WIDTH, 2 * _MARGIN + 110 + table + sum(heights))
    title = page.say("check.title", marker=page.say.label(size.marker.label))
    canvas.words(title, _MARGIN, _MARGIN + 34, _TITLE, strong=True)
    target = page.say("check.target", size=page.mm(size.x_height_mm))
    canvas.words(target, _MARGIN, _MARGIN + 78, _TEXT)
    y = float(_MARGIN + 110)
    if page.several:
        _draw_table(canvas, checked, page, y)
        y += table
    for one, height in zip(checked, heights, strict=True):
        _draw_block(canvas, one, page, y)
        y += height
    return canvas.encoded(file_format)


@dataclass(frozen=True, slots=True)
class _Page:
    """What every part of the report needs: the right size, the words, whether it tells of several pictures."""

    size: RightSize
    say: Phrases
    several: bool

    def mm(self, length: float) -> str:
        """Return a length as the language writes it."""
        return self.say.number(f"{length:.1f} mm")

    def share(self, ratio: float) -> str:
        """Return a ratio as the language writes it."""
        return self.say.number(f"{ratio:.2f}")


def _table_height(checked: Sequence[CheckedPicture]) -> int:
    return _ROW * (len(checked) + 1) + 40


def _draw_table(canvas: Raster, checked: Sequence[CheckedPicture], page: _Page, top: float) -> None:
    y = top + 24
    for key, column in zip(("picture", "ratio", "x_height", "verdict", "write"), _COLUMNS, strict=True):
        canvas.words(page.say(f"check.{key}"), _MARGIN + column, y, _SMALL, strong=True)
    for one in checked:
        y += _ROW
        cells = [fitted(one.name, _COLUMNS[1] - 20, _SMALL)]
        if one.error:
            cells += ["", "", page.say("check.unread"), ""]
        else:
            ratio = "" if one.ratio is None else page.share(one.ratio)
            height = "" if one.x_height_mm is None else page.mm(one.x_height_mm)
            cells += [ratio, height, _verdict_words(one, page), _write_words(one, page)]
        for text, column in zip(cells, _COLUMNS, strict=True):
            canvas.words(text, _MARGIN + column, y, _SMALL)
    for number in range(len(checked)):
        level = top + 33 + number * _ROW
        canvas.line(complex(_MARGIN, level), complex(_WIDTH - _MARGIN, level), 1.0, "#999999")


def _verdict_words(checked: CheckedPicture, page: _Page) -> str:
    return page.say(f"check.{(checked.verdict or 'open').replace(' ', '_')}")


def _write_words(checked: CheckedPicture, page: _Page) -> str:
    if checked.verdict is None:
        return page.say("check.close_up")
    if checked.verdict == "right":
        return page.say("check.keep")
    if checked.verdict != "too large" and _taller(checked, _goal_mm(checked, page.size)):
        return page.say("check.wider")
    return page.mm(page.size.x_height_mm)


def fitted(text: str, room: float, size_px: float) -> str:
    """Return a text that is shortened where it is too long for its room."""
    if label_width_mm(text, 1.0) * size_px <= room:
        return text
    while text and label_width_mm(text + "…", 1.0) * size_px > room:
        text = text[:-1]
    return text + "…"


def advice(checked: CheckedPicture, size: RightSize, say: Phrases) -> tuple[str, ...]:
    """Return what to do and why, a sentence each, in the words of the page."""
    goal = _goal_mm(checked, size)
    height = say.number(f"{goal:.1f} mm")
    own = {"size": height, "own": say.number(height_words(checked))}
    if checked.verdict == "closed":
        return (say("check.do_open_up" if _taller(checked, goal) else "check.do_closed", **own),)
    if checked.ratio is None:
        return (say("check.do_open"),)
    low, high = checked.ratio_95 or (checked.ratio, checked.ratio)
    told = {key: say.number(f"{value:.2f}") for key, value in (("ratio", checked.ratio), ("low", low), ("high", high))}
    white = say("check.white", **told)
    if checked.verdict == "right":
        near = abs(checked.ratio - 1) < _ALIKE
        return say("check.do_right" if near else "check.do_right_but", size=height), white
    if checked.verdict == "too small":
        key = "check.do_wider" if _taller(checked, goal) else "check.do_larger"
    else:
        key = "check.do_narrower" if _lower(checked, goal) else "check.do_smaller"
    return say(key, **own), white


def _goal_mm(checked: CheckedPicture, size: RightSize) -> float:
    """Return the height to write: the marker's, or with strokes pressed otherwise the one that suits those."""
    if checked.downstroke_mm is None or not weighed(checked, size):
        return size.x_height_mm
    return size.x_height_mm * checked.downstroke_mm / size.marker.downstroke_mm


def _taller(checked: CheckedPicture, goal_mm: float) -> bool:
    """Tell whether letters are surely no lower than the right size: its height alone does not make their white wide."""
    return (checked.x_height_mm or 0.0) - checked.x_height_within_mm > goal_mm


def _lower(checked: CheckedPicture, goal_mm: float) -> bool:
    """Tell whether letters are surely no higher than the right size."""
    return (checked.x_height_mm or math.inf) + checked.x_height_within_mm < goal_mm


def height_words(checked: CheckedPicture) -> str:
    """Return the height that was written, with how far it may be off where that is worth knowing."""
    height = checked.x_height_mm or 0.0
    if checked.x_height_within_mm > _ROUGHLY * height:
        return f"{height:.1f} ± {checked.x_height_within_mm:.1f} mm"
    return f"{height:.1f} mm"


def _columns(shown: Sequence[ShownLetter]) -> int:
    wide = max((one.pixels.shape[1] for one in shown), default=_HEIGHT)
    return max(2, (_WIDTH - 2 * _MARGIN + _GAP) // (wide + _GAP))


def _lines(checked: CheckedPicture, page: _Page) -> list[tuple[str, bool]]:
    """Return the lines beside a picture's name, and which are set strong: what to do."""
    if checked.error:
        told = [checked.error.removeprefix(f"{checked.name}: ")]
    else:
        told = list(advice(checked, page.size, page.say))
        if checked.x_height_mm is not None:
            seen = page.say("check.height", size=page.say.number(height_words(checked)))
            if checked.slant_deg is not None:
                hers, hand = f"{checked.slant_deg:.0f}°", f"{page.size.hand.slant_deg:.0f}°"
                seen += " " + page.say("check.slant", slant=hers, hand=hand)
            told.append(seen)
        own, profile = checked.downstroke_mm, page.size.marker.downstroke_mm
        if own is not None and weighed(checked, page.size):
            key = "check.heavier" if own > profile else "check.lighter"
            wanted = page.mm(page.size.x_height_mm * own / profile)
            share = f"{100 * abs(own / profile - 1):.0f} %"
            told.append(page.say(key, own=page.mm(own), share=share, size=wanted))
        for fault, count in checked.faults:
            if count and checked.ratio is not None:
                told.append(page.say("check.left_out", count=count, fault=page.say(f"check.fault_{_key(fault)}")))
        gaps = sum(one.letter.gap_closed for one in checked.shown if not one.letter.fault)
        if gaps:
            told.append(page.say("check.gaps", count=gaps))
        if checked.scale is not None and checked.scale.source in ("profile", "bar", "x-height", "none"):
            told.append(page.say(f"check.scale_{checked.scale.source.replace('-', '_')}"))
    room = float(_WIDTH - 2 * _MARGIN)
    return [(line, number == 0 and not checked.error) for number, text in enumerate(told) if text
             for line in wrapped(text, _STRONG_SHARE * room if number == 0 else room, _TEXT)]  # fmt: skip


def _key(fault: str) -> str:
    return fault.replace(" ", "_")


def _letters_of(checked: CheckedPicture, page: _Page) -> tuple[ShownLetter, ...]:
    """Return the letters to show: of a class no more than fit one row beside the good one."""
    if not page.several:
        return checked.shown[:_MOST_SHOWN]
    good = [one for one in checked.shown if not one.letter.fault]
    return tuple((good or list(checked.shown))[: _columns(checked.shown) - 1])


def _block_height(checked: CheckedPicture, page: _Page) -> int:
    shown = _letters_of(checked, page)
    count = len(shown) + 1 if shown else 0
    rows = -(-count // _columns(shown)) if count else 0
    tall = max((one.pixels.shape[0] for one in shown), default=0)
    return int(50 + 36 * len(_lines(checked, page)) + rows * (tall + _GAP + 34) + 40)


def _draw_block(canvas: Raster, checked: CheckedPicture, page: _Page, top: float) -> None:
    y = top + 30
    canvas.words(fitted(checked.name, _WIDTH - 2 * _MARGIN, _TEXT), _MARGIN, y, _TEXT, strong=True)
    for line, strong in _lines(checked, page):
        y += 36
        canvas.words(line, _MARGIN, y, _TEXT, strong=strong)
    shown = _letters_of(checked, page)
    if not shown:
        return
    y += 24
    columns = _columns(shown)
    wide = max(one.pixels.shape[1] for one in shown)
    tall = max(one.pixels.shape[0] for one in shown)
    most = tall / (_ROOM * page.size.x_height_mm)
    shown = tuple(_reduced(one, min(1.0, most / one.px_per_true_mm)) for one in shown)
    for number in range(len(shown) + 1):
        left = _MARGIN + number % columns * (wide + _GAP)
        upper = y + number // columns * (tall + _GAP + 34)
        if number == 0:
            _draw_good(canvas, page, shown[0].px_per_true_mm, (left, upper), (wide, tall))
        else:
            _draw_letter(canvas, shown[number - 1], page, left, upper)


def _reduced(shown: ShownLetter, share: float) -> ShownLetter:
    """Return a letter drawn smaller on paper as large as before, so that the good letter has room at its scale."""
    if share == 1:
        return shown
    pixels, corner = drawn_smaller(shown.pixels, share)
    px_per_mm, px_per_true_mm = shown.px_per_mm * share, shown.px_per_true_mm * share
    place = shown.corner_mm - corner / px_per_mm
    return replace(shown, pixels=pixels, corner_mm=place, px_per_mm=px_per_mm, px_per_true_mm=px_per_true_mm)


def _draw_good(
    canvas: Raster, page: _Page, px_per_mm: float, corner: tuple[float, float], room: tuple[int, int]
) -> None:
    """Draw the hand's letter at the right size, measured too, at the scale of the written ones."""
    size = page.size
    x = size.x_height_mm
    outline = sample_outline(size.lettering)
    points = [point for path in outline for segment in path.segments for point in segment]
    middle = complex((min(p.real for p in points) + max(p.real for p in points)) / 2, x / 2)
    at = complex(room[0] / px_per_mm / 2, room[1] / px_per_mm / 2)
    pixels = drawn_shape(translate(outline, -middle), at, (room[0] / px_per_mm, room[1] / px_per_mm), px_per_mm)
    canvas.picture(pixels, *corner)
    canvas.frame(corner[0], corner[1], *room)
    counter = counter_at(size.lettering)
    if counter is not None:
        origin = complex(*corner)

        def place(z: complex) -> complex:
            return origin + px_per_mm * (at + (z - middle).conjugate())

        _chord(canvas, place(counter.chord.left), place(counter.chord.right), inside=True)
        _chord(canvas, place(counter.downstroke.left), place(counter.downstroke.right), inside=False)
    canvas.words(page.say("check.good", size=page.mm(x)), corner[0], corner[1] + room[1] + 26, _SMALL)


def _draw_letter(canvas: Raster, shown: ShownLetter, page: _Page, left: float, top: float) -> None:
    canvas.picture(shown.pixels, left, top)
    canvas.frame(left, top, shown.pixels.shape[1], shown.pixels.shape[0])
    letter = shown.letter
    origin = complex(left, top)

    def place(z: complex) -> complex:
        return origin + (z - shown.corner_mm) * shown.px_per_mm

    if letter.downstroke_mm:
        _chord(canvas, *(place(z) for z in letter.downstroke), inside=False)
    if letter.counter_mm:
        _chord(canvas, *(place(z) for z in letter.counter), inside=True)
    fault = letter.fault and page.say(f"check.fault_{_key(letter.fault)}")
    words = fault or page.say("check.one", ratio=page.share(letter.ratio))
    canvas.words(words, left, top + shown.pixels.shape[0] + 26, _SMALL)


def _chord(canvas: Raster, start: complex, end: complex, *, inside: bool) -> None:
    """Draw a measure with a cross-stroke at both ends: black in the white, white in the stroke."""
    colour, rim = ("black", "white") if inside else ("white", "black")
    along = (end - start) / max(1e-6, abs(end - start)) * 1j
    for width, paint in ((5.0, rim), (2.5, colour)):
        if width > 4 and inside:
            continue
        canvas.line(start, end, width, paint)
        for tip in (start, end):
            canvas.line(tip - 6 * along, tip + 6 * along, width, paint)
