"""Outlines and words drawn into pixels, for a report that shows a picture. PNG and JPEG, without any metadata."""

from __future__ import annotations

import io
from typing import Any

import numpy as np

from guidegen.geometry.measure import flatten, signed_area
from guidegen.geometry.path import Outline, scale, translate
from guidegen.sheets.parts.labels import label

_FINE = 4
"""Shapes are drawn so many times as large and averaged."""


def drawn_shape(outline: Outline, at: complex, size_mm: tuple[float, float], px_per_mm: float) -> Any:
    """Return an outline (mm, y up, its origin at ``at``, which is y down) in black on white: rows, columns, 3."""
    from PIL import Image, ImageDraw

    fine = px_per_mm * _FINE
    columns, rows = (round(side * px_per_mm) for side in size_mm)
    image = Image.new("L", (columns * _FINE, rows * _FINE), 255)
    draw = ImageDraw.Draw(image)
    by_size = sorted(outline, key=lambda path: -abs(signed_area(path)))
    outer = signed_area(by_size[0]) > 0  # the outlines of words run the other way round
    for path in by_size:
        z = flatten(path, 0.1 / fine)
        points = [((at.real + p.real) * fine, (at.imag - p.imag) * fine) for p in z.tolist()]
        draw.polygon(points, fill=0 if (signed_area(path) > 0) == outer else 255)
    grey = np.asarray(image.reduce(_FINE))
    return np.repeat(grey[..., None], 3, axis=2)


def drawn_smaller(pixels: Any, share: float) -> tuple[Any, complex]:
    """Return a picture drawn smaller amid paper of its edges' colour, as large as before, and where its corner lies."""
    from PIL import Image

    tall, wide = pixels.shape[:2]
    columns, rows = max(1, round(wide * share)), max(1, round(tall * share))
    paper = np.empty_like(pixels)
    paper[:] = np.median(np.concatenate([pixels[0], pixels[-1]]), axis=0)
    left, top = (wide - columns) // 2, (tall - rows) // 2
    small = Image.fromarray(pixels).resize((columns, rows), Image.Resampling.LANCZOS)
    paper[top : top + rows, left : left + columns] = small
    return paper, complex(left, top)


class Raster:
    """A white picture to put pictures, lines and words on; places are pixels, x right and y down."""

    def __init__(self, width: int, height: int) -> None:
        from PIL import Image

        self.image = Image.new("RGB", (width, height), "white")

    def picture(self, pixels: Any, left: float, top: float) -> None:
        """Put pixels (rows, columns, 3) with their upper left corner there."""
        from PIL import Image

        self.image.paste(Image.fromarray(pixels), (round(left), round(top)))

    def line(self, start: complex, end: complex, width: float, colour: str = "black") -> None:
        """Draw a straight line, smoothly."""
        self._smooth((start, end), lambda draw, points, fine: draw.line(points, colour, max(1, round(width * fine))))

    def frame(self, left: float, top: float, width: float, height: float) -> None:
        """Draw a thin rectangle."""
        from PIL import ImageDraw

        ImageDraw.Draw(self.image).rectangle((left, top, left + width, top + height), outline=(150, 150, 150))

    def words(self, text: str, left: float, baseline: float, size_px: float, *, strong: bool = False) -> None:
        """Set a line of text in the face of the pages; ``size_px`` is the em."""
        from PIL import Image, ImageChops

        outline = label(text, 0j, 1.0, weight=600 if strong else 400).paths
        if not outline:
            return
        shape = translate(scale(tuple(outline), size_px), 0j)
        width = max(point.real for path in shape for segment in path.segments for point in segment) + 2
        drawn = drawn_shape(shape, complex(1, 1.2 * size_px), (width, 1.7 * size_px), 1.0)
        corner = round(left - 1), round(baseline - 1.2 * size_px)
        words = Image.fromarray(drawn)
        below = self.image.crop((*corner, corner[0] + words.width, corner[1] + words.height))
        self.image.paste(ImageChops.darker(below, words), corner)  # tails of the line above stay

    def _smooth(self, ends: tuple[complex, complex], paint: Any) -> None:
        from PIL import Image, ImageDraw

        low = complex(min(z.real for z in ends) - 6, min(z.imag for z in ends) - 6)
        high = complex(max(z.real for z in ends) + 6, max(z.imag for z in ends) + 6)
        box = (int(low.real), int(low.imag), int(high.real) + 1, int(high.imag) + 1)
        part = self.image.crop(box)
        large = part.resize((part.width * _FINE, part.height * _FINE), Image.Resampling.NEAREST)
        points = [((z.real - box[0]) * _FINE, (z.imag - box[1]) * _FINE) for z in ends]
        paint(ImageDraw.Draw(large), points, _FINE)
        self.image.paste(large.reduce(_FINE), box[:2])

    def encoded(self, file_format: str) -> bytes:
        """Return the picture as ``png`` or ``jpg``: pixels alone, no metadata."""
        file = io.BytesIO()
        if file_format == "png":
            self.image.save(file, "PNG", optimize=False)
        else:
            self.image.save(file, "JPEG", quality=92)
        return file.getvalue()
