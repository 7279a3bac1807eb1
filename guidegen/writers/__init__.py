"""From a document to bytes: one file per format, each loaded only when it is asked for."""

from __future__ import annotations

from collections.abc import Iterator

from guidegen.errors import bad_input
from guidegen.scene import Document, Page

FORMATS = ("svg", "pdf", "png", "eps", "dxf")


def render(
    document: Document,
    file_format: str,
    *,
    ppi: float = 300.0,
    transparent: bool = False,
    size_px: tuple[int, int] | None = None,
) -> Iterator[tuple[str, bytes]]:
    """Yield ``(suffix, bytes)`` for each file of ``document``.

    A PDF is one file with the suffix ``""``; any other format is one file a page, with ``-1``, ``-2``, ...
    when there are several pages. ``ppi`` and ``size_px`` matter to PNG only; ``transparent`` leaves out the
    pages' backgrounds.

    Raises:
        GuidegenError: for a format that is not written here, or a picture too large to draw.
    """
    if file_format not in FORMATS:
        raise bad_input("`file_format`", "", file_format, f"one of {', '.join(FORMATS)}")
    if file_format == "pdf":
        from guidegen.writers.pdf import pdf_bytes

        yield "", pdf_bytes(document, transparent=transparent)
        return
    for index, page in enumerate(document.pages, start=1):
        suffix = f"-{index}" if len(document.pages) > 1 else ""
        if file_format == "png":
            from guidegen.writers.png import png_bytes

            yield suffix, png_bytes(page, ppi, transparent=transparent, size_px=size_px)
        else:
            yield suffix, _vector_page(document, page, file_format, transparent)


def _vector_page(document: Document, page: Page, file_format: str, transparent: bool) -> bytes:
    if file_format == "eps":
        from guidegen.writers.eps import eps_bytes

        return eps_bytes(page, document.title)
    if file_format == "dxf":
        from guidegen.writers.dxf import dxf_bytes

        return dxf_bytes(page)
    from guidegen.writers.svg import svg_bytes

    return svg_bytes(page, document.title, document.description, transparent=transparent)
