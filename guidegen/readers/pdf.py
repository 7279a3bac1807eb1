"""PDF files through pikepdf: boxes, layers, colours, fonts, pictures, and every path in millimetres.

References are to ISO 32000-1 (PDF 1.7). One default user unit is 1/72 inch; y runs up as it does here.
"""

from __future__ import annotations

import io
import warnings
from typing import Any

from guidegen.errors import GuidegenError, bad_input
from guidegen.limits import LARGEST_MM, MAX_PAGES
from guidegen.readers.budget import Budget, damaged
from guidegen.readers.contents import Box, Contents, PageContents
from guidegen.readers.matrix import Matrix
from guidegen.readers.pdf_walk import PageWalk, inherited
from guidegen.units import MM_PER_POINT

_HARM = (AttributeError, KeyError, TypeError, ValueError, RuntimeError, IndexError)
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
    except (pikepdf.PdfError, RuntimeError, ValueError, OSError) as error:
        raise damaged(name, "PDF", _short(error)) from None
    with pdf, warnings.catch_warnings():
        warnings.simplefilter("error")  # a content stream that breaks off is only warned of
        try:
            return _contents(pdf, name)
        except GuidegenError:
            raise
        except (pikepdf.PdfError, UserWarning, *_HARM) as error:
            raise damaged(name, "PDF", _short(error)) from None


def _short(error: BaseException) -> str:
    return str(error).rpartition(": ")[2][:80] or type(error).__name__


def _contents(pdf: Any, name: str) -> Contents:
    budget = Budget(name)
    count = len(pdf.pages)
    if not 0 < count <= MAX_PAGES:
        raise bad_input(name, "", f"{count} pages", f"1 to {MAX_PAGES} pages")
    pages: list[PageContents] = []
    transparency = False
    for page in pdf.pages:
        unit = float(page.obj.get("/UserUnit", 1)) * MM_PER_POINT
        boxes = _boxes(page, unit)
        media, crop = boxes["MediaBox"], boxes["CropBox"]
        to_mm: Matrix = (complex(unit, 0), complex(0, unit), complex(-media[0], -media[1]))
        turned = int(page.obj.get("/Rotate", 0)) % 360
        walk = PageWalk(budget, page, to_mm)
        walk.run()
        transparency = transparency or walk.transparency
        width, height = crop[2] - crop[0], crop[3] - crop[1]
        if not (0 < width <= LARGEST_MM and 0 < height <= LARGEST_MM):
            raise damaged(name, "PDF", f"page {len(pages) + 1} is {width:g} x {height:g} mm")
        size = (height, width) if turned in (90, 270) else (width, height)
        shifted = {key: _shift(box, media) for key, box in boxes.items()}
        pages.append(PageContents(size, tuple(walk.drawn), tuple(walk.pictures), tuple(walk.words), shifted))
    return Contents("pdf", tuple(pages), {**_facts(pdf), "transparency": transparency})


def _boxes(page: Any, unit: float) -> dict[str, Box]:
    """Return the boxes in mm; those that are not stated default to others (14.11.2) and are left out but for Crop."""
    boxes: dict[str, Box] = {}
    for key in BOXES:
        found = inherited(page.obj, f"/{key}")
        if found is not None:
            a, b, c, d = (float(side) * unit for side in found)
            boxes[key] = (min(a, c), min(b, d), max(a, c), max(b, d))
    boxes.setdefault("CropBox", boxes["MediaBox"])
    media, crop = boxes["MediaBox"], boxes["CropBox"]
    kept = (max(media[0], crop[0]), max(media[1], crop[1]), min(media[2], crop[2]), min(media[3], crop[3]))
    boxes["CropBox"] = kept if kept[2] > kept[0] and kept[3] > kept[1] else media
    return boxes


def _shift(box: Box, media: Box) -> Box:
    return box[0] - media[0], box[1] - media[1], box[2] - media[0], box[3] - media[1]


def _facts(pdf: Any) -> dict[str, Any]:
    root = pdf.Root
    info = {str(key)[1:]: str(value)[:300] for key, value in sorted(dict(pdf.trailer.get("/Info", {})).items())}
    preferences = root.get("/ViewerPreferences", {})
    names = root.get("/Names", {})
    properties = root.get("/OCProperties", {})
    xmp = root.get("/Metadata")
    return {
        "version": pdf.pdf_version,
        "encrypted": bool(pdf.is_encrypted),
        "info": info,
        "trapped": info.get("Trapped", "").lstrip("/") or None,
        "file_id": "/ID" in pdf.trailer,
        "print_scaling": str(preferences.get("/PrintScaling", "")).lstrip("/") or None,
        "scripts": "/JavaScript" in names or "/AA" in root or _is_script(root.get("/OpenAction")),
        "output_intents": [_intent(entry) for entry in root.get("/OutputIntents", [])],
        "optional_layers": [str(group.get("/Name", "")) for group in properties.get("/OCGs", [])],
        "layers_off": [str(group.get("/Name", "")) for group in properties.get("/D", {}).get("/OFF", [])],
        "xmp": _xmp(xmp),
        "user_unit": float(pdf.pages[0].obj.get("/UserUnit", 1)),
        "forms": "/AcroForm" in root,
        "problems": [str(text)[:120] for text in pdf.get_warnings()][:5],
    }


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
