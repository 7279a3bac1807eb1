"""Pages as PDF, drawn in millimetres under one scale of 72/25.4, y up as in the scene.

Symbols become form XObjects, stored once however often they are placed. Viewers are asked not to scale
when printing (ViewerPreferences PrintScaling None, ISO 32000-1, 12.2). No font is referenced: labels are
outlines. The same pages give the same bytes: no clock, no random identifier.
"""

from __future__ import annotations

import io
import zlib
from collections.abc import Iterable
from typing import Any, BinaryIO

from guidegen.scene import Document, Item, Link, Page, Placed, Symbol, hull_bounds
from guidegen.units import MM_PER_POINT
from guidegen.writers.numbers import number
from guidegen.writers.pdf_operators import Operators

_POINTS_PER_MM = number(1.0 / MM_PER_POINT, 9)


def pdf_bytes(document: Document, *, transparent: bool = False) -> bytes:
    """Return ``document`` as one PDF file; ``transparent`` leaves out the pages' backgrounds."""
    stream = io.BytesIO()
    write_pdf(document.pages, stream, document.title, document.description, transparent=transparent)
    return stream.getvalue()


def write_pdf(
    pages: Iterable[Page], stream: BinaryIO, title: str, description: str = "", *, transparent: bool = False
) -> int:
    """Write ``pages`` to ``stream`` as one PDF and return how many there were.

    Pages are taken one at a time and kept compressed, so a generator of thousands needs little memory.
    """
    canvas = _canvas_class()(stream, pageCompression=1, invariant=1, pdfVersion=(1, 6))
    canvas.setTitle(title)
    canvas.setSubject(description)
    canvas.setAuthor("")
    canvas.setCreator("")
    canvas.setProducer("")
    canvas.setViewerPreference("PrintScaling", "None")
    forms = _Forms(canvas)
    count = 0
    for page in pages:
        _draw_page(canvas, forms, page, count, transparent)
        count += 1
        if page.bookmark and count > 1:
            canvas.showOutline()
    canvas.save()
    return count


def _canvas_class() -> Any:
    """Return reportlab's canvas without a font on every page and with each finished page compressed at once."""
    from reportlab.pdfbase.pdfdoc import PDFDictionary, PDFName, PDFStream
    from reportlab.pdfgen.canvas import Canvas

    class MillimetreCanvas(Canvas):  # type: ignore[misc]
        def _make_preamble(self) -> None:
            self._preamble = "q"

        def showPage(self) -> None:  # noqa: N802  (reportlab's own name)
            self.addLiteral("Q")
            super().showPage()
            page = self._doc.Pages.pages[-1]
            page.Contents = self.packed(page.stream)
            page.stream = page.Trans = None

        @staticmethod
        def packed(text: str) -> Any:
            content = zlib.compress(text.encode("ascii"), 9)
            return PDFStream(PDFDictionary({"Filter": PDFName("FlateDecode")}), content)

    return MillimetreCanvas


class _Forms:
    """The symbols stored so far; symbols of one name are told apart by their artwork."""

    def __init__(self, canvas: Any) -> None:
        self._canvas = canvas
        self._stored: dict[str, list[tuple[Symbol, str]]] = {}
        self._count = 0

    def name_of(self, symbol: Symbol) -> str:
        """Return the form's name of a symbol that :meth:`store` has seen."""
        same_name = self._stored.get(symbol.name, [])
        return next((name for known, name in same_name if known is symbol or known == symbol), "")

    def store(self, symbol: Symbol) -> None:
        """Write ``symbol`` as a form unless it is there already."""
        if self.name_of(symbol):
            return
        self._count += 1
        name = f"s{self._count}"
        self._stored.setdefault(symbol.name, []).append((symbol, name))
        low, high = hull_bounds(symbol.items)
        ink = Operators()
        for item in symbol.items:
            ink.draw(item)
        self._canvas.beginForm(name, low.real, low.imag, high.real, high.imag)
        self._canvas.endForm(Contents=self._canvas.packed(ink.take()))


def _draw_page(canvas: Any, forms: _Forms, page: Page, index: int, transparent: bool) -> None:
    items = [item for layer in page.layers for item in layer.items]
    for item in items:
        if isinstance(item, Placed) and item.symbol.items:
            forms.store(item.symbol)
    canvas.setPageSize((page.width_mm / MM_PER_POINT, page.height_mm / MM_PER_POINT))
    canvas.bookmarkPage(_page_key(index))
    if page.bookmark:
        canvas.addOutlineEntry(page.bookmark, _page_key(index), level=0)
    canvas.addLiteral(f"{_POINTS_PER_MM} 0 0 {_POINTS_PER_MM} 0 0 cm")
    ink = Operators()
    if page.background is not None and not transparent:
        ink.rectangle(page.width_mm, page.height_mm, page.background)
    _draw_items(canvas, forms, items, ink)
    for link in page.links:
        _add_link(canvas, link)
    canvas.showPage()


def _draw_items(canvas: Any, forms: _Forms, items: list[Item], ink: Operators) -> None:
    for item in items:
        if not isinstance(item, Placed):
            ink.draw(item)
        elif item.symbol.items:
            canvas.addLiteral(f"{ink.take()}\nq 1 0 0 1 {number(item.at.real)} {number(item.at.imag)} cm")
            canvas.doForm(forms.name_of(item.symbol))
            canvas.addLiteral("Q")
    canvas.addLiteral(ink.take())


def _page_key(index: int) -> str:
    return f"page-{index + 1}"


def _add_link(canvas: Any, link: Link) -> None:
    corners = (link.low.real, link.low.imag, link.high.real, link.high.imag)
    canvas.linkRect("", _page_key(link.page), tuple(z / MM_PER_POINT for z in corners), relative=0, thickness=0)
