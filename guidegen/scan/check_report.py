"""The picture of a check: each letter as it was written, with its white and its downstroke, beside the good letter."""

from __future__ import annotations

from collections.abc import Sequence

from guidegen.geometry.path import translate
from guidegen.lettering.sizing import RightSize, counter_at, sample_outline
from guidegen.scan.check import CheckedPicture, ShownLetter
from guidegen.scan.raster import Raster, drawn_shape
from guidegen.sheets.parts.labels import wrapped

_WIDTH, _MARGIN, _GAP = 1400, 50, 24
_TITLE, _TEXT, _SMALL = 40.0, 26.0, 21.0
_HEIGHT = 260


def check_picture_of(checked: Sequence[CheckedPicture], size: RightSize, file_format: str) -> bytes:
    """Return the report as ``png`` or ``jpg``."""
    heights = [_block_height(one, size) for one in checked]
    canvas = Raster(_WIDTH, 2 * _MARGIN + 70 + sum(heights))
    canvas.words(f"e in {size.marker.label}", _MARGIN, _MARGIN + 34, _TITLE, strong=True)
    y = float(_MARGIN + 70)
    for one, height in zip(checked, heights, strict=True):
        _draw_block(canvas, one, size, y)
        y += height
    return canvas.encoded(file_format)


def advice(checked: CheckedPicture, size: RightSize) -> str:
    """Return what to do, in one sentence."""
    if checked.verdict == "closed":
        return f"No white is left inside: write larger, x-height {size.x_height_mm:.1f} mm."
    if checked.ratio is None:
        return "The bowl is open: bring the stroke round until it meets the downstroke, and picture it again."
    low, high = checked.ratio_95 or (checked.ratio, checked.ratio)
    white = f"The white is {checked.ratio:.2f} times as wide as the downstroke ({low:.2f} to {high:.2f})"
    if checked.verdict == "right":
        near = "" if abs(checked.ratio - 1) < 0.1 else f"; x-height {size.x_height_mm:.1f} mm makes them alike"
        return f"{white}: right{near}."
    way = "larger" if checked.verdict == "too small" else "smaller"
    return f"{white}: {checked.verdict}. Write {way}, x-height {size.x_height_mm:.1f} mm."


def _columns(size: RightSize, shown: Sequence[ShownLetter]) -> int:
    del size
    wide = max((one.pixels.shape[1] for one in shown), default=_HEIGHT)
    return max(2, (_WIDTH - 2 * _MARGIN + _GAP) // (wide + _GAP))


def _lines(checked: CheckedPicture, size: RightSize) -> list[str]:
    if checked.error:
        told = [checked.error]
    else:
        slant = (
            "" if checked.slant_deg is None else f"Slant {checked.slant_deg:.0f}°, the hand's {size.hand.slant_deg:g}°."
        )
        height = "" if checked.x_height_mm is None else f"x-height {checked.x_height_mm:.1f} mm."
        told = [advice(checked, size), f"{height} {slant}".strip(), *checked.notes]
    room = (_WIDTH - 2 * _MARGIN) / 1.0
    return [line for text in told if text for line in wrapped(text, room, _TEXT)]


def _block_height(checked: CheckedPicture, size: RightSize) -> int:
    count = len(checked.shown) + 1 if checked.shown else 0
    rows = -(-count // _columns(size, checked.shown)) if count else 0
    tall = max((one.pixels.shape[0] for one in checked.shown), default=0)
    return int(50 + 36 * len(_lines(checked, size)) + rows * (tall + _GAP + 34) + 20)


def _draw_block(canvas: Raster, checked: CheckedPicture, size: RightSize, top: float) -> None:
    y = top + 30
    canvas.words(checked.name, _MARGIN, y, _TEXT, strong=True)
    for line in _lines(checked, size):
        y += 36
        canvas.words(line, _MARGIN, y, _TEXT)
    if not checked.shown:
        return
    y += 24
    columns = _columns(size, checked.shown)
    wide = max(one.pixels.shape[1] for one in checked.shown)
    tall = max(one.pixels.shape[0] for one in checked.shown)
    for number in range(len(checked.shown) + 1):
        left = _MARGIN + number % columns * (wide + _GAP)
        upper = y + number // columns * (tall + _GAP + 34)
        if number == 0:
            _draw_good(canvas, size, checked.shown[0].px_per_true_mm, (left, upper), (wide, tall))
        else:
            _draw_letter(canvas, checked.shown[number - 1], left, upper)


def _draw_good(
    canvas: Raster, size: RightSize, px_per_mm: float, corner: tuple[float, float], room: tuple[int, int]
) -> None:
    """Draw the hand's letter at the right size, at the scale of the written ones, with the same two lines."""
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
    canvas.words(f"the good letter, {x:.1f} mm", corner[0], corner[1] + room[1] + 26, _SMALL)


def _draw_letter(canvas: Raster, shown: ShownLetter, left: float, top: float) -> None:
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
    words = letter.fault or f"white {letter.ratio:.2f} × the stroke"
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
