"""PDF for a print shop: trim and bleed boxes, crop marks, black, CMYK and spot colours only, layers, output intent.

Every page is a form in millimetres, placed once or, for small cards, several times on a sheet. Nothing here is
transparent and no font is used. The same document gives the same bytes.
"""

from __future__ import annotations

import io
import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any, Literal

from guidegen.errors import GuidegenError, bad_input
from guidegen.scene import Document, Ink, Page, Purpose
from guidegen.shop.printshop_content import (
    REGISTRATION,
    REGISTRATION_KEY,
    Plates,
    layer_key,
    marks_content,
    page_content,
)
from guidegen.shop.printshop_metadata import Intent, add_metadata, claimed
from guidegen.units import MM_PER_POINT
from guidegen.writers.numbers import number

Standard = Literal["x-4", "x-1a"]
BLEED_MM = 3.0
MARK_LENGTH_MM = 5.0
SLUG_MM = 1.0
"""White between the ends of the crop marks and the edge of the sheet."""
GUIDE_SPOT = Ink((0.0, 0.6, 0.85), (0.85, 0.15, 0.0, 0.0), "Guides")


@dataclass(frozen=True, slots=True)
class PrintOptions:
    """What is asked of a print-shop file. Lengths in mm.

    ``inks`` replaces the colours of whole layers, such as guides in a spot colour. ``up`` places
    that many cards on a ``sheet_mm``, ``gutter_mm`` apart (None: edge to edge, or twice the bleed where they print to
    their edge). ``x-1a`` leaves the layers out. ``ground`` is printed under everything, out into the bleed.
    ``guides_over`` makes guide lines overprint (True) or knock out (False).
    """

    bleed_mm: float = BLEED_MM
    marks: bool = True
    inks: Mapping[Purpose, Ink] = field(default_factory=dict)
    intent: Intent = field(default_factory=Intent)
    standard: Standard = "x-4"
    up: int | None = None
    sheet_mm: tuple[float, float] = (210.0, 297.0)
    gutter_mm: float | None = None
    ground: Ink | None = None
    guides_over: bool | None = None


def guides_in_spot(ink: Ink = GUIDE_SPOT) -> dict[Purpose, Ink]:
    """Return the ``inks`` that print guide and slant lines from a plate of their own."""
    return dict.fromkeys((purpose for purpose in Purpose if purpose.is_guide), ink)


def print_pdf_bytes(document: Document, options: PrintOptions | None = None) -> bytes:
    """Return ``document`` as a PDF for a print shop.

    Raises:
        GuidegenError: when the cards don't fit the sheet, or pikepdf (the extra ``print``) is not installed.
    """
    try:
        import pikepdf
    except ImportError:
        raise GuidegenError("print-shop PDF needs pikepdf: pip install pikepdf") from None
    options = options or PrintOptions()
    if options.ground is not None:
        grounded = (replace(page, background=options.ground) for page in document.pages)
        document = replace(document, pages=tuple(grounded))
    layered = options.standard == "x-4"
    pdf = pikepdf.new()
    plates = Plates({ink.spot: ink.cmyk for ink in options.inks.values() if ink.spot is not None})
    groups = _groups(pdf, document) if layered else {}
    contents = [
        page_content(
            page, plates, options.bleed_mm, options.inks, layered=layered, guides_over=options.guides_over
        )
        for page in document.pages
    ]
    resources = pdf.make_indirect(_resources(plates, groups))
    forms = [
        _form(pdf, content, page, options.bleed_mm, resources)
        for content, page in zip(contents, document.pages, strict=True)
    ]
    sheets = _sheets(document, options)
    for sheet in sheets:
        _add_page(pdf, sheet, forms, groups, resources)
    if groups:
        every = pikepdf.Array(list(groups.values()))
        pdf.Root.OCProperties = pikepdf.Dictionary(
            OCGs=every, D=pikepdf.Dictionary(Name="Layers", Order=every, BaseState=pikepdf.Name.ON)
        )
    version = claimed(options.intent, options.standard)
    drawn = "\n".join([*contents, *map(repr, sheets), repr(plates)]).encode()
    add_metadata(pdf, document.title or "Untitled", document.description, options.intent, version, drawn)
    target = io.BytesIO()
    pdf.save(
        target,
        deterministic_id=True,
        force_version="1.6" if layered else "1.4",
        object_stream_mode=pikepdf.ObjectStreamMode.disable,
        compress_streams=True,
    )
    return target.getvalue()


@dataclass(frozen=True, slots=True)
class _Sheet:
    """One page of the file: its size, trim box, and which form stands where (all in mm)."""

    size: complex
    trim_low: complex
    trim_high: complex
    bleed: float
    places: tuple[tuple[int, complex], ...]
    marks: str


def _sheets(document: Document, options: PrintOptions) -> list[_Sheet]:
    if options.up is not None:
        return _imposed(document.pages, options)
    sheets = []
    for number_, page in enumerate(document.pages):
        edge = options.bleed_mm + (MARK_LENGTH_MM + SLUG_MM if options.marks else 0.0)
        low, high = complex(edge, edge), complex(edge + page.width_mm, edge + page.height_mm)
        size = complex(page.width_mm + 2 * edge, page.height_mm + 2 * edge)
        sheets.append(_Sheet(size, low, high, options.bleed_mm, ((number_, low),), _marks([low, high], options)))
    return sheets


def _marks(corners: list[complex], options: PrintOptions) -> str:
    if not options.marks:
        return ""
    bleed = complex(options.bleed_mm, options.bleed_mm)
    xs, ys = [z.real for z in corners], [z.imag for z in corners]
    low, high = complex(min(xs), min(ys)) - bleed, complex(max(xs), max(ys)) + bleed
    return marks_content(xs, ys, low, high, MARK_LENGTH_MM)


def _imposed(pages: tuple[Page, ...], options: PrintOptions) -> list[_Sheet]:
    """Return sheets with ``up`` cards each: one page repeated, several pages one after the other."""
    width, height = pages[0].width_mm, pages[0].height_mm
    if any((page.width_mm, page.height_mm) != (width, height) for page in pages):
        raise GuidegenError("`up`: the pages have different sizes; cards on one sheet are all of one size")
    wanted = options.up or 1
    # cards that print to their edge are cut apart twice, the others share their cuts
    gap = 2 * options.bleed_mm if any(page.background is not None for page in pages) else 0.0
    gap = gap if options.gutter_mm is None else options.gutter_mm
    columns, rows = _grid(wanted, width, height, gap, options)
    sheet = complex(*options.sheet_mm)
    block = complex(columns * width + (columns - 1) * gap, rows * height + (rows - 1) * gap)
    low = (sheet - block) / 2
    cells = [
        low + complex(column * (width + gap), (rows - 1 - row) * (height + gap))
        for row in range(rows)
        for column in range(columns)
    ][:wanted]
    corners = [corner for cell in cells for corner in (cell, cell + complex(width, height))]
    marks = _marks(corners, options)
    numbers = list(range(len(pages))) if len(pages) > 1 else [0] * wanted
    return [
        _Sheet(
            sheet, low, low + block, options.bleed_mm, tuple(zip(numbers[k : k + wanted], cells, strict=False)), marks
        )
        for k in range(0, len(numbers), wanted)
    ]


def _grid(wanted: int, width: float, height: float, gap: float, options: PrintOptions) -> tuple[int, int]:
    """Return columns and rows that hold ``wanted`` cards, the fewest empty cells first."""
    edge = options.bleed_mm + (MARK_LENGTH_MM if options.marks else 0.0)
    most = [
        int((side - 2 * edge + gap + 1e-6) // (card + gap))
        for side, card in zip(options.sheet_mm, (width, height), strict=True)
    ]
    fitting = [(n, math.ceil(wanted / n)) for n in range(1, most[0] + 1) if math.ceil(wanted / n) <= most[1]]
    if not fitting:
        fix = f"at most {most[0] * most[1]} fit" if min(most) > 0 else "not even one fits"
        sheet = "{:g} x {:g} mm".format(*options.sheet_mm)
        raise bad_input("`up`", "", wanted, f"cards of {width:g} x {height:g} mm that fit {sheet}", fix)
    return min(fitting, key=lambda grid: (grid[0] * grid[1] - wanted, abs(grid[0] - grid[1])))


def _groups(pdf: Any, document: Document) -> dict[str, Any]:
    import pikepdf

    used = (layer.id for page in document.pages for layer in page.layers if layer.items)
    names = dict.fromkeys((*used, Purpose.CROP.value))
    return {name: pdf.make_indirect(pikepdf.Dictionary(Type=pikepdf.Name.OCG, Name=name)) for name in names}


def _resources(plates: Plates, groups: Mapping[str, Any]) -> Any:
    import pikepdf

    states = pikepdf.Dictionary(
        GSover=pikepdf.Dictionary(Type=pikepdf.Name.ExtGState, OP=True, op=True, OPM=1),
        GSknock=pikepdf.Dictionary(Type=pikepdf.Name.ExtGState, OP=False, op=False, OPM=0),
    )
    found = pikepdf.Dictionary(ExtGState=states)
    spaces = {f"/CS{k}": _separation(name, cmyk) for k, (name, cmyk) in enumerate(plates.spots.items(), start=1)}
    spaces[REGISTRATION_KEY] = _separation(REGISTRATION, (1.0, 1.0, 1.0, 1.0))
    found.ColorSpace = pikepdf.Dictionary(spaces)
    if groups:
        found.Properties = pikepdf.Dictionary({f"/{layer_key(name)}": group for name, group in groups.items()})
    return found


def _separation(name: str, cmyk: tuple[float, float, float, float]) -> Any:
    """Return a Separation space (ISO 32000-1, 8.6.6.4) that falls back on a tint of ``cmyk``."""
    import pikepdf

    tint = pikepdf.Dictionary(FunctionType=2, Domain=[0, 1], C0=[0, 0, 0, 0], C1=[round(part, 4) for part in cmyk], N=1)
    return pikepdf.Array([pikepdf.Name.Separation, pikepdf.Name(f"/{name}"), pikepdf.Name.DeviceCMYK, tint])


def _form(pdf: Any, content: str, page: Page, bleed: float, resources: Any) -> Any:
    import pikepdf

    box = [_rounded(side) for side in (-bleed, -bleed, page.width_mm + bleed, page.height_mm + bleed)]
    return pdf.make_indirect(
        pdf.make_stream(
            content.encode("ascii"),
            Type=pikepdf.Name.XObject,
            Subtype=pikepdf.Name.Form,
            FormType=1,
            BBox=box,
            Resources=resources,
        )
    )


def _add_page(pdf: Any, sheet: _Sheet, forms: list[Any], groups: Mapping[str, Any], resources: Any) -> None:
    import pikepdf

    scale = number(1 / MM_PER_POINT, 9)
    code = [f"{scale} 0 0 {scale} 0 0 cm"]
    for k, at in sheet.places:
        code.append(f"q 1 0 0 1 {number(at.real, 6)} {number(at.imag, 6)} cm /F{k + 1} Do Q")
    if sheet.marks:
        code.append(f"/OC /{layer_key(Purpose.CROP)} BDC\n{sheet.marks}\nEMC" if groups else sheet.marks)
    own = pikepdf.Dictionary({str(key): value for key, value in resources.items()})
    own.XObject = pikepdf.Dictionary({f"/F{k + 1}": forms[k] for k, _ in sheet.places})
    bleed = complex(sheet.bleed, sheet.bleed)
    page = pikepdf.Dictionary(
        Type=pikepdf.Name.Page,
        MediaBox=_box(0j, sheet.size),
        TrimBox=_box(sheet.trim_low, sheet.trim_high),
        BleedBox=_box(sheet.trim_low - bleed, sheet.trim_high + bleed),
        Contents=pdf.make_stream("\n".join(code).encode("ascii")),
        Resources=own,
    )
    pdf.pages.append(pikepdf.Page(page))


def _box(low: complex, high: complex) -> list[Any]:
    return [_rounded(side / MM_PER_POINT) for side in (low.real, low.imag, high.real, high.imag)]


def _rounded(value: float) -> Any:
    from decimal import Decimal

    return Decimal(number(value, 6))
