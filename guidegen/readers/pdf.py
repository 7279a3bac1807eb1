"""PDF files through pikepdf: boxes, layers, colours, fonts, pictures, and every path in millimetres.

References are to ISO 32000-1 (PDF 1.7). One default user unit is 1/72 inch; y runs up as it does here.
"""

from __future__ import annotations

import io
import warnings
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

from guidegen.errors import BadInputError, GuidegenError, Plain, bad_input
from guidegen.limits import LARGEST_MM, MAX_PAGES
from guidegen.readers.budget import Budget, damaged
from guidegen.readers.contents import Contents, Edges, PageContents
from guidegen.readers.matrix import IDENTITY, Matrix, at, then
from guidegen.readers.pdf_structure import what_is_wrong
from guidegen.readers.pdf_walk import PageWalk, inherited
from guidegen.units import MM_PER_POINT

_HARM = (AttributeError, KeyError, TypeError, ValueError, RuntimeError, IndexError, UserWarning)
"""What pikepdf's objects raise where a file is not what it should be; what it says is about code, not about a file."""
BOXES = ("MediaBox", "CropBox", "BleedBox", "TrimBox", "ArtBox")


def read_pdf(data: bytes, name: str) -> Contents:
    """Return what stands in a PDF file.

    Raises:
        GuidegenError: for a damaged file, one that needs a password, or one too large to measure; also when
            pikepdf (the extra ``print``) is not installed.
    """
    try:
        import pikepdf
    except ImportError:
        raise GuidegenError("reading PDF needs pikepdf: pip install pikepdf") from None
    try:
        pdf = pikepdf.open(io.BytesIO(data), attempt_recovery=False, suppress_warnings=True)
    except pikepdf.PasswordError:
        raise bad_input(name, "", "a file locked with a password", "an open PDF", "save it without one") from None
    except (pikepdf.PdfError, RuntimeError, ValueError, OSError):
        raise damaged(name, "PDF", what_is_wrong(data)) from None
    with pdf, warnings.catch_warnings():
        warnings.simplefilter("error")  # a content stream that breaks off is only warned of
        return _Reader(pdf, name).contents()


class _Reader:
    """Reads a PDF that could be opened, and knows where it is, so that an error names the place."""

    def __init__(self, pdf: Any, name: str) -> None:
        self._pdf, self._name = pdf, name
        self._budget = Budget(name)
        self._transparency = self._transfer = self._postscript = False
        self._clipped = 0
        self._off: set[str] = set()

    @contextmanager
    def _at(self, place: Callable[[], tuple[str, str]], expected: str = "what ISO 32000 has there") -> Iterator[None]:
        """Name the place, and what was found there, in an error about anything inside."""
        import pikepdf

        try:
            yield
        except BadInputError as error:
            raise error.at(self._name, ", ".join(part for part in (place()[0], error.field) if part)) from None
        except (pikepdf.PdfError, *_HARM):
            where, found = place()
            raise bad_input(self._name, where, Plain(found), expected, "make or copy the file again") from None

    def contents(self) -> Contents:
        with self._at(lambda: ("page tree", "pages that cannot be counted")):
            count = len(self._pdf.pages)
        if not 0 < count <= MAX_PAGES:
            raise bad_input(self._name, "", Plain(f"{count} pages"), f"1 to {MAX_PAGES} pages")
        self._off = set(self._fact(*_FACTS["layers_off"]))
        pages = tuple(self._page(number) for number in range(1, count + 1))
        facts = {key: self._fact(*how) for key, how in _FACTS.items()}
        seen = {
            "transparency": self._transparency,
            "transfer_functions": self._transfer,
            "postscript": self._postscript,
            "clipped": self._clipped,
        }
        return Contents("pdf", pages, {**facts, **seen})

    def _fact(self, place: str, read: Callable[[Any], Any]) -> Any:
        with self._at(lambda: (place, "an entry of another kind")):
            return read(self._pdf)

    def _page(self, number: int) -> PageContents:
        where = f"page {number}"
        with self._at(lambda: (where, "a page that cannot be read")):
            page = self._pdf.pages[number - 1]
        unit = self._number(page, "/UserUnit", 1, where) * MM_PER_POINT
        turned = int(self._number(page, "/Rotate", 0, where)) % 360
        boxes = self._boxes(page, unit, where)
        media, crop = boxes["MediaBox"], boxes["CropBox"]
        width, height = crop[2] - crop[0], crop[3] - crop[1]
        if not (0 < width <= LARGEST_MM and 0 < height <= LARGEST_MM):
            raise bad_input(self._name, where, Plain(f"{width:g} x {height:g} mm"), "a page of ordinary size")
        to_mm = then((complex(unit, 0), complex(0, unit), complex(-media[0], -media[1])), _turned(turned, media))
        with self._at(lambda: (where, "/Group or /Resources of another kind")):
            walk = PageWalk(self._budget, page, to_mm)
        with self._at(lambda: (f"{where}{walk.place}", walk.shown)):
            walk.run()
        self._transparency = self._transparency or walk.transparency
        self._transfer = self._transfer or walk.transfer
        self._postscript = self._postscript or walk.postscript
        self._clipped += walk.clipped
        size = (height, width) if turned in (90, 270) else (width, height)
        turn = _turned(turned, media)
        shifted = {key: _shift(box, media, turn) for key, box in boxes.items()}
        drawn = tuple(d for d in walk.drawn if d.layer not in self._off)
        hidden = tuple(d for d in walk.drawn if d.layer in self._off)
        with self._at(lambda: (where, "/Annots of another kind")):
            notes = tuple(_shift(box, media, turn) for box in _annotations(page.obj, unit))
        return PageContents(size, drawn, tuple(walk.pictures), tuple(walk.words), shifted, hidden, notes)

    def _number(self, page: Any, key: str, usual: float, where: str) -> float:
        with self._at(lambda: (where, f"{key} {_shown(page.obj, key)}"), "a number"):
            return float(page.obj.get(key, usual))

    def _boxes(self, page: Any, unit: float, where: str) -> dict[str, Edges]:
        """Return the boxes in mm; those not stated default to others (14.11.2) and are left out but for Crop."""
        found = {key: self._box(page, key, unit, where) for key in BOXES}
        boxes = {key: box for key, box in found.items() if box is not None}
        if "MediaBox" not in boxes:
            raise bad_input(self._name, where, Plain("no /MediaBox"), "the size of the page")
        media, crop = boxes["MediaBox"], boxes.get("CropBox", boxes["MediaBox"])
        kept = (max(media[0], crop[0]), max(media[1], crop[1]), min(media[2], crop[2]), min(media[3], crop[3]))
        boxes["CropBox"] = kept if kept[2] > kept[0] and kept[3] > kept[1] else media
        return boxes

    def _box(self, page: Any, key: str, unit: float, where: str) -> Edges | None:
        with self._at(lambda: (where, f"/{key} {_shown(page.obj, f'/{key}')}"), "four numbers"):
            found = inherited(page.obj, f"/{key}")
            if found is None:
                return None
            a, b, c, d = (float(side) * unit for side in found)
            return min(a, c), min(b, d), max(a, c), max(b, d)


def _shown(node: Any, key: str) -> str:
    import pikepdf

    try:
        value = inherited(node, key)
        return f"[{' '.join(map(str, value))}]" if isinstance(value, pikepdf.Array) else str(value)
    except (pikepdf.PdfError, *_HARM):
        return "that cannot be read"


def _shift(box: Edges, media: Edges, turn: Matrix) -> Edges:
    low, high = complex(box[0] - media[0], box[1] - media[1]), complex(box[2] - media[0], box[3] - media[1])
    a, b = at(turn, low), at(turn, high)
    return min(a.real, b.real), min(a.imag, b.imag), max(a.real, b.real), max(a.imag, b.imag)


def _turned(degrees: int, media: Edges) -> Matrix:
    """Return the map from a page as it is drawn to the page as it is shown: turned clockwise (table 30)."""
    width, height = media[2] - media[0], media[3] - media[1]
    turns: dict[int, Matrix] = {
        90: (-1j, 1 + 0j, complex(0, width)),
        180: (-1 + 0j, -1j, complex(width, height)),
        270: (1j, -1 + 0j, complex(height, 0)),
    }
    return turns.get(degrees, IDENTITY)


def _annotations(page: Any, unit: float) -> Iterator[Edges]:
    """Yield the boxes of annotations that are printed, without those that belong to a press (14.11.3, 14.11.6)."""
    for note in page.get("/Annots", []):
        if str(note.get("/Subtype", "")) in ("/TrapNet", "/PrinterMark") or int(note.get("/F", 0)) & 2:
            continue
        a, b, c, d = (float(side) * unit for side in note.get("/Rect", [0, 0, 0, 0]))
        yield min(a, c), min(b, d), max(a, c), max(b, d)


def _areas(pdf: Any) -> dict[str, str]:
    """Return what the viewer preferences say of boxes."""
    wanted = pdf.Root.get("/ViewerPreferences", {})
    keys = ("ViewArea", "ViewClip", "PrintArea", "PrintClip")
    return {key: str(wanted[f"/{key}"]).lstrip("/") for key in keys if f"/{key}" in wanted}


def _info(pdf: Any) -> dict[str, str]:
    return {str(key)[1:]: str(value)[:300] for key, value in sorted(dict(pdf.trailer.get("/Info", {})).items())}


def _has_scripts(pdf: Any) -> bool:
    root = pdf.Root
    return "/JavaScript" in root.get("/Names", {}) or "/AA" in root or _is_script(root.get("/OpenAction"))


def _groups(pdf: Any, *keys: str) -> list[str]:
    entry = pdf.Root.get("/OCProperties", {})
    for key in keys:
        entry = entry.get(key, {})
    return [str(group.get("/Name", "")) for group in entry]


def _is_script(action: Any) -> bool:
    import pikepdf

    return isinstance(action, pikepdf.Dictionary) and action.get("/S") == "/JavaScript"


def _intent(entry: Any) -> dict[str, Any]:
    profile = entry.get("/DestOutputProfile")
    return {
        "subtype": str(entry.get("/S", "")).lstrip("/"),
        "identifier": str(entry.get("/OutputConditionIdentifier", "")),
        "registry": str(entry.get("/RegistryName", "")),
        "profile": profile is not None,
    }


def _xmp(stream: Any) -> str | None:
    if stream is None:
        return None
    raw = stream.read_bytes() if int(stream.get("/Length", 0)) < 1_000_000 else b""
    return bytes(raw).decode("utf-8", "replace")[:200_000]


_FACTS: dict[str, tuple[str, Callable[[Any], Any]]] = {
    "version": ("header", lambda pdf: pdf.pdf_version),
    "encrypted": ("trailer", lambda pdf: bool(pdf.is_encrypted)),
    "info": ("trailer /Info", _info),
    "trapped": ("trailer /Info", lambda pdf: _info(pdf).get("Trapped", "").lstrip("/") or None),
    "file_id": ("trailer", lambda pdf: "/ID" in pdf.trailer),
    "print_scaling": (
        "catalog /ViewerPreferences",
        lambda pdf: str(pdf.Root.get("/ViewerPreferences", {}).get("/PrintScaling", "")).lstrip("/") or None,
    ),
    "areas": ("catalog /ViewerPreferences", _areas),
    "description": ("trailer /Info", lambda pdf: _info(pdf).get("Subject", "")),
    "scripts": ("catalog /Names, /AA, /OpenAction", _has_scripts),
    "output_intents": (
        "catalog /OutputIntents",
        lambda pdf: [_intent(entry) for entry in pdf.Root.get("/OutputIntents", [])],
    ),
    "optional_layers": ("catalog /OCProperties", lambda pdf: _groups(pdf, "/OCGs")),
    "layers_off": ("catalog /OCProperties", lambda pdf: _groups(pdf, "/D", "/OFF")),
    "xmp": ("catalog /Metadata", lambda pdf: _xmp(pdf.Root.get("/Metadata"))),
    "user_unit": ("page 1", lambda pdf: float(pdf.pages[0].obj.get("/UserUnit", 1))),
    "forms": ("catalog", lambda pdf: "/AcroForm" in pdf.Root),
    "problems": ("file", lambda pdf: [str(text)[:120] for text in pdf.get_warnings()][:5]),
}
"""What is told of a whole file, each with the place it stands at and how it is read there."""
