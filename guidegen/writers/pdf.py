"""Pages as PDF, drawn in millimetres under one scale of 72/25.4, y up as in the scene.

Symbols become form XObjects, stored once however often they are placed. Viewers are asked not to scale
when printing (ViewerPreferences PrintScaling None, ISO 32000-1, 12.2). No font is referenced: labels are
outlines. The same pages give the same bytes: no clock, no random identifier.
"""

from __future__ import annotations

import io
import zlib
from collections.abc import Callable, Iterable
from hashlib import sha256
from typing import Any, BinaryIO

from guidegen.scene import Document, Item, Layer, Link, Page, Placed, Symbol, hull_bounds
from guidegen.units import MM_PER_POINT
from guidegen.writers.numbers import number
from guidegen.writers.pdf_operators import Operators

Items = tuple[Item, ...]
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
    from reportlab.pdfbase.pdfdoc import PDFDictionary, PDFName, PDFObjectReference, PDFStream
    from reportlab.pdfgen.canvas import Canvas

    references: dict[str, tuple[str, Any]] = {}
    none_used: dict[str, Any] = {}

    class MillimetreCanvas(Canvas):  # type: ignore[misc]
        def _make_preamble(self) -> None:
            self._preamble = "q"

        def showPage(self) -> None:  # noqa: N802  (reportlab's own name)
            self.addLiteral("Q")
            super().showPage()
            page = self._doc.Pages.pages[-1]
            page.Contents = self.packed(page.stream)
            page.stream = page.Trans = None
            page._shadingUsed = none_used  # noqa: SLF001  (else one dictionary a page)

        def _setXObjects(self, thing: Any) -> None:  # noqa: N802  (reportlab's own name)
            """Name the forms a page uses by references that all pages share: thousands of pages stay small."""
            names = self._formsinuse
            for name in names:
                if name not in references:
                    internal = self._doc.getXObjectName(name)
                    references[name] = (internal, PDFObjectReference(internal))
            thing.XObjects = PDFDictionary(dict(references[name] for name in names)) if names else None

        def packed_code(self) -> Any:
            """Return what was drawn since the page or form began as a compressed stream."""
            return self.packed("\n".join(self._code))

        @staticmethod
        def packed(text: str) -> Any:
            content = zlib.compress(text.encode("ascii"))
            return PDFStream(PDFDictionary({"Filter": PDFName("FlateDecode")}), content)

    return MillimetreCanvas


class _Forms:
    """What is stored as form XObjects: every symbol, and every layer that comes a second time.

    Layers are told by their drawing commands. Of the layers themselves only those of the page before are kept,
    so that pages which share their layers cost no drawing and pages of their own leave nothing behind.
    """

    def __init__(self, canvas: Any) -> None:
        self._canvas = canvas
        self._symbols: dict[str, list[tuple[Symbol, str]]] = {}
        self._layers: dict[bytes, str] = {}
        self._last: list[tuple[Items, bytes]] = []
        self._count = 0

    def draw_page(self, layers: Iterable[Layer]) -> None:
        """Draw the layers of one page, those that were drawn before by their form's name."""
        drawn: list[tuple[Items, bytes]] = []
        for layer in layers:
            key = next((key for items, key in self._last if items is layer.items), b"")
            if not self._layers.get(key):
                key = self._draw_layer(layer.items)
            if self._layers[key]:
                self._canvas.doForm(self._layers[key])
            drawn.append((layer.items, key))
        self._last = drawn

    def _draw_layer(self, items: Items) -> bytes:
        """Draw a layer straight onto the page when it is new, store it as a form when it comes again."""
        parts = self._commands(items)
        key = sha256("\n".join(f"{text} {name}" for text, name in parts).encode("ascii")).digest()
        if key not in self._layers:
            self._layers[key] = ""
            self._emit(parts)
        elif not self._layers[key]:
            low, high = hull_bounds(items)
            self._layers[key] = self._begin(low, high)
            self._emit(parts)
            self._canvas.endForm(Contents=self._canvas.packed_code())
        return key

    def _commands(self, items: Items) -> list[tuple[str, str]]:
        """Return drawing commands, each part with the name of the form to show behind it."""
        ink = _Parts(self._symbol)
        ink.visit(items)
        return [*ink.parts, (ink.take(), "")]

    def _emit(self, parts: list[tuple[str, str]]) -> None:
        for text, name in parts:
            self._canvas.addLiteral(text)
            if name:
                self._canvas.doForm(name)
                self._canvas.addLiteral("Q")

    def _symbol(self, symbol: Symbol) -> str:
        """Return the form's name of a symbol, stored now unless it was; one name may stand for several artworks."""
        known = self._symbols.setdefault(symbol.name, [])
        for other, name in known:
            if other is symbol or other == symbol:
                return name
        low, high = hull_bounds(symbol.items)
        name = self._begin(low, high)
        self._emit(self._commands(symbol.items))
        self._canvas.endForm(Contents=self._canvas.packed_code())
        known.append((symbol, name))
        return name

    def _begin(self, low: complex, high: complex) -> str:
        self._count += 1
        name = f"s{self._count}"
        self._canvas.beginForm(name, low.real, low.imag, high.real, high.imag)
        return name


class _Parts(Operators):
    """Operators in parts, each with the name of the form to show behind it: a placed symbol is a form."""

    def __init__(self, form_of: Callable[[Symbol], str]) -> None:
        super().__init__()
        self.parts: list[tuple[str, str]] = []
        self._form_of = form_of

    def placed(self, placed: Placed, by: complex = 0j) -> None:
        """Show the form of a symbol; an empty symbol is none."""
        if placed.symbol.items:
            name = self._form_of(placed.symbol)
            at = placed.at + by
            self.parts.append((f"{self.take()}\nq 1 0 0 1 {number(at.real)} {number(at.imag)} cm", name))


def _draw_page(canvas: Any, forms: _Forms, page: Page, index: int, transparent: bool) -> None:
    canvas.setPageSize((page.width_mm / MM_PER_POINT, page.height_mm / MM_PER_POINT))
    canvas.bookmarkPage(_page_key(index))
    if page.bookmark:
        canvas.addOutlineEntry(page.bookmark, _page_key(index), level=0)
    canvas.addLiteral(f"{_POINTS_PER_MM} 0 0 {_POINTS_PER_MM} 0 0 cm")
    if page.background is not None and not transparent:
        ink = Operators()
        ink.rectangle(page.width_mm, page.height_mm, page.background)
        canvas.addLiteral(ink.take())
    forms.draw_page(layer for layer in page.layers if layer.items and layer.shown)
    for link in page.links:
        _add_link(canvas, link)
    canvas.showPage()


def _page_key(index: int) -> str:
    return f"page-{index + 1}"


def _add_link(canvas: Any, link: Link) -> None:
    corners = (link.low.real, link.low.imag, link.high.real, link.high.imag)
    canvas.linkRect("", _page_key(link.page), tuple(z / MM_PER_POINT for z in corners), relative=0, thickness=0)
