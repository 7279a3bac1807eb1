"""A page as PNG at an exact number of pixels, with its resolution written into the file (pHYs)."""

from __future__ import annotations

import io
from dataclasses import replace
from typing import Any

from guidegen.errors import Plain, bad_input
from guidegen.limits import MAX_MADE_PIXELS, MAX_MADE_SIDE
from guidegen.scene import Document, Page
from guidegen.units import MM_PER_INCH


def pixel_size(page: Page, ppi: float) -> tuple[int, int]:
    """Return the pixels of ``page`` across and down: millimetres / 25.4 x ppi, rounded.

    Raises:
        GuidegenError: when that is no pixel at all, or more than an image can hold.
    """
    if not 0 < ppi < 100_000:
        raise bad_input("`ppi`", "", ppi, "pixels per inch such as 300")
    width, height = (round(side / MM_PER_INCH * ppi) for side in (page.width_mm, page.height_mm))
    if min(width, height) < 1 or max(width, height) > MAX_MADE_SIDE or width * height > MAX_MADE_PIXELS:
        found = Plain(f"{width} x {height} pixels")
        expected = f"at most {MAX_MADE_PIXELS // 1_000_000} million pixels, {MAX_MADE_SIDE} a side"
        raise bad_input("`ppi`", "", found, expected, "use a lower `ppi` or a smaller page")
    return width, height


def png_bytes(
    page: Page, ppi: float = 300.0, *, transparent: bool = False, size_px: tuple[int, int] | None = None
) -> bytes:
    """Return ``page`` as PNG. ``size_px`` overrides the pixels that follow from the page and ``ppi``.

    Drawn by cairo; where its system library is missing, by pdfium from our own PDF.
    """
    from PIL.PngImagePlugin import PngInfo

    page = page.as_shown()
    size = size_px or pixel_size(page, ppi)
    try:
        image = _by_cairo(page, size, transparent)
    except OSError:  # cairocffi raises it when no libcairo can be loaded
        image = _by_pdfium(page, size, transparent)
    target = io.BytesIO()
    about = PngInfo()
    if page.description:
        about.add_itxt("Description", page.description)
    image.save(target, "PNG", dpi=(ppi, ppi), pnginfo=about)
    return target.getvalue()


def in_greys(png: bytes, greys: int = 8) -> bytes:
    """Return a PNG in a few greys, for small pictures on a screen: a third of the bytes."""
    from PIL import Image

    with Image.open(io.BytesIO(png)) as picture:
        small = picture.convert("L").quantize(greys)
    target = io.BytesIO()
    small.save(target, "PNG", optimize=True)
    return target.getvalue()


def _by_cairo(page: Page, size: tuple[int, int], transparent: bool) -> Any:
    from cairosvg.parser import Tree
    from cairosvg.surface import PNGSurface
    from PIL import Image

    from guidegen.writers.svg import svg_bytes

    tree = Tree(bytestring=svg_bytes(page, transparent=transparent))
    surface = PNGSurface(
        tree, None, 96, output_width=size[0], output_height=size[1], background_color=None if transparent else "white"
    )
    pixels, stride = surface.cairo.get_data(), surface.cairo.get_stride()
    image = Image.frombuffer("RGBA", size, pixels, "raw", "BGRa", stride, 1)
    del pixels, surface  # a large picture is held once
    return image if transparent else _opaque(image)


def _by_pdfium(page: Page, size: tuple[int, int], transparent: bool) -> Any:
    import pypdfium2
    import pypdfium2.raw as pdfium
    from PIL import Image

    from guidegen.writers.pdf import pdf_bytes

    alone = Document((replace(page, links=()),), page.title)
    source = pypdfium2.PdfDocument(pdf_bytes(alone, transparent=transparent))
    bitmap = pypdfium2.PdfBitmap.new_native(*size, pdfium.FPDFBitmap_BGRA)
    bitmap.fill_rect((255, 255, 255, 0 if transparent else 255), 0, 0, *size)
    pdfium.FPDF_RenderPageBitmap(bitmap, source[0], 0, 0, *size, 0, pdfium.FPDF_ANNOT)
    image = Image.frombuffer("RGBA", size, bytes(bitmap.buffer), "raw", "BGRA", bitmap.stride, 1)
    return image if transparent else _opaque(image)


def _opaque(image: Any) -> Any:
    """Return an opaque picture without its alpha channel, in greys when there is nothing but greys."""
    from PIL import Image, ImageChops

    red, green, blue, _ = image.split()
    same = not any(ImageChops.difference(red, other).getbbox() for other in (green, blue))
    return red if same else Image.merge("RGB", (red, green, blue))
