"""What a PDF for a print shop must keep, one named rule each.

The essentials of PDF/X-1a and PDF/X-4 (ISO 15930) that can be seen from outside, and what several printers ask
for: bleed 3 mm or 1/8 inch, lines of at least .25 pt, black alone and overprinting for lines and text, at most
280 % ink.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from guidegen.geometry.measure import bounds
from guidegen.geometry.path import Path
from guidegen.inspect.findings import Check
from guidegen.readers.contents import Contents, Drawn, Edges, PageContents, Paint
from guidegen.scene import Purpose
from guidegen.units import MM_PER_POINT

BLEED_MM = 3.0
SAFE_MM = 3.0
THINNEST_LINE_MM = 0.25 * MM_PER_POINT
MOST_INK = 2.8
SLACK_MM = 0.01
LEAST_PPI = 150.0
LONG_EDGE_MM = 5.0
"""An edge of an area, rather than of a letter."""
AT_TRIM_MM = 0.3
"""An area whose edge lies so near to the trim is meant to reach it."""
THIN_LINE_MM = 1.0
PDF = ("pdf",)


def _paints(page: PageContents) -> Iterator[Paint]:
    for d in page.drawn:
        yield from (paint for paint in (d.fill, d.stroke) if paint is not None)
    yield from (w.fill for w in page.words if w.fill is not None)


def _is_pdf(contents: Contents) -> Iterator[str]:
    if contents.format != "pdf":
        yield f"the format is {contents.format.upper()}"


def _trim(page: PageContents) -> Edges | None:
    return page.boxes.get("TrimBox") or page.boxes.get("ArtBox")


def _has_trim(contents: Contents) -> Iterator[str]:
    for number, page in enumerate(contents.pages, start=1):
        if _trim(page) is None:
            yield f"no TrimBox or ArtBox on page {number}"
        elif "TrimBox" in page.boxes and "ArtBox" in page.boxes:
            yield f"both TrimBox and ArtBox on page {number}"


def _nested(contents: Contents) -> Iterator[str]:
    for number, page in enumerate(contents.pages, start=1):
        chain = [("TrimBox", _trim(page)), *((name, page.boxes.get(name)) for name in ("BleedBox", "MediaBox"))]
        known = [(name, box) for name, box in chain if box is not None]
        for (name, inner), (around, outer) in pairwise(known):
            if not _within(inner, outer):
                yield f"{name} reaches out of {around} on page {number}"


def _within(inner: Edges, outer: Edges) -> bool:
    return (
        inner[0] >= outer[0] - SLACK_MM
        and inner[1] >= outer[1] - SLACK_MM
        and inner[2] <= outer[2] + SLACK_MM
        and inner[3] <= outer[3] + SLACK_MM
    )


def _bleed(contents: Contents) -> Iterator[str]:
    for number, page in enumerate(contents.pages, start=1):
        trim, bleed = _trim(page), page.boxes.get("BleedBox")
        if bleed is None:
            yield f"no BleedBox on page {number}"
        elif trim is not None:
            least = min(trim[0] - bleed[0], trim[1] - bleed[1], bleed[2] - trim[2], bleed[3] - trim[3])
            if least < BLEED_MM - SLACK_MM:
                yield f"bleed of {least:.2f} mm on page {number}"


def _marks(contents: Contents) -> Iterator[str]:
    for number, page in enumerate(contents.pages, start=1):
        bleed = page.boxes.get("BleedBox") or _trim(page)
        for d in page.drawn:
            if bleed is not None and d.paths and (d.layer == Purpose.CROP or _is_mark(d, bleed)) and _touches(d, bleed):
                yield f"a crop mark inside the bleed on page {number}"


def _is_mark(d: Drawn, box: Edges) -> bool:
    """True for a line that begins or ends outside the bleed, where only marks can be."""
    ends = [z for path in d.paths for z in (path.start, path.end)]
    outside = [not (box[0] - 0.5 < z.real < box[2] + 0.5 and box[1] - 0.5 < z.imag < box[3] + 0.5) for z in ends]
    return d.fill is None and len(ends) == 2 and any(outside)


def _touches(d: Drawn, box: Edges) -> bool:
    low, high = bounds(d.paths)
    inside_x = high.real > box[0] + SLACK_MM and low.real < box[2] - SLACK_MM
    return inside_x and high.imag > box[1] + SLACK_MM and low.imag < box[3] - SLACK_MM


def _no_rgb(contents: Contents) -> Iterator[str]:
    for number, page in enumerate(contents.pages, start=1):
        kinds = {paint.space for paint in _paints(page)} | {p.space for p in page.pictures}
        yield from (f"{kind} colour on page {number}" for kind in sorted(kinds & {"rgb", "lab", "unknown"}))


def _ink_limit(contents: Contents) -> Iterator[str]:
    for number, page in enumerate(contents.pages, start=1):
        most = max((sum(paint.values) for paint in _paints(page) if paint.space in ("cmyk", "spot")), default=0.0)
        if most > MOST_INK + 1e-6:
            yield f"{100 * most:.0f} % ink on page {number}"


def _black_alone(contents: Contents) -> Iterator[str]:
    """Thin lines and text in a black made of several inks show every misregister of the press."""
    for number, page in enumerate(contents.pages, start=1):
        thin = [d.stroke for d in page.drawn if d.stroke is not None and (d.stroke_mm or 0.0) < THIN_LINE_MM]
        for paint in (*thin, *(w.fill for w in page.words)):
            if paint is not None and paint.space == "cmyk" and paint.values[3] > 0.6 and sum(paint.values[:3]) > 0.05:
                yield f"{paint.name} for a thin line or text on page {number}"


def _overprint(contents: Contents) -> Iterator[str]:
    for number, page in enumerate(contents.pages, start=1):
        for d in page.drawn:
            is_line = d.fill is None and d.stroke is not None and d.layer != Purpose.CROP
            purpose = Purpose.of(d.layer)
            if purpose is not None and purpose.is_guide:
                continue  # those knock out where it was asked for
            if is_line and _is_black(d.stroke) and not d.overprint:
                yield f"a black line that knocks out on page {number}"


def _is_black(paint: Paint | None) -> bool:
    return paint is not None and (paint.space, paint.values) in (("cmyk", (0.0, 0.0, 0.0, 1.0)), ("gray", (0.0,)))


def _line_weight(contents: Contents) -> Iterator[str]:
    for number, page in enumerate(contents.pages, start=1):
        for d in page.drawn:
            if d.stroke_mm is not None and d.stroke_mm < THINNEST_LINE_MM - 1e-4:
                yield f"a line of {d.stroke_mm:.3f} mm on page {number}"


def _safe(contents: Contents) -> Iterator[str]:
    """What neither stays 3 mm inside the trim nor runs out into the bleed may be cut off."""
    for number, page in enumerate(contents.pages, start=1):
        trim = _trim(page)
        if trim is None:
            continue
        for d in page.drawn:
            if not d.paths or not _touches(d, trim):
                continue
            low, high = bounds(d.paths)
            sides = (low.real - trim[0], low.imag - trim[1], trim[2] - high.real, trim[3] - high.imag)
            if any(-BLEED_MM + 0.1 < side < SAFE_MM - SLACK_MM for side in sides):
                yield f"something {min(sides):.1f} mm from the trim on page {number}"


def _fonts(contents: Contents) -> Iterator[str]:
    yield from (f"font {w.font} is not in the file" for page in contents.pages for w in page.words if not w.embedded)


def _intent(contents: Contents) -> Iterator[str]:
    intents = [i for i in contents.facts["output_intents"] if i["subtype"] == "GTS_PDFX"]
    if len(intents) != 1:
        yield f"{len(intents)} output intents"
    for intent in intents:
        if not intent["identifier"]:
            yield "an output intent without identifier"
        if not intent["profile"] and not intent["registry"]:
            yield "an output intent with neither profile nor registry"


def _info(contents: Contents) -> Iterator[str]:
    info = contents.facts["info"]
    yield from (f"no {key} in Info" for key in ("Title", "CreationDate", "ModDate") if not info.get(key))


def _trapped(contents: Contents) -> Iterator[str]:
    if contents.facts["trapped"] not in ("True", "False"):
        yield f"Trapped {contents.facts['trapped'] or 'missing'}"


def _xmp(contents: Contents) -> Iterator[str]:
    text = contents.facts["xmp"]
    if text is None:
        yield "no XMP metadata"
    elif (title := contents.facts["info"].get("Title")) and not _says(text, title):
        yield "XMP and Info disagree on the title"


def _says(xmp: str, title: str) -> bool:
    from xml.sax.saxutils import escape

    return escape(title) in xmp


def _id(contents: Contents) -> Iterator[str]:
    if not contents.facts["file_id"]:
        yield "no file identifier"


def _open(contents: Contents) -> Iterator[str]:
    if contents.facts["encrypted"]:
        yield "encryption"


def _scripts(contents: Contents) -> Iterator[str]:
    if contents.facts["scripts"]:
        yield "scripts or actions"
    if contents.facts["forms"]:
        yield "form fields"


def _scaling(contents: Contents) -> Iterator[str]:
    if contents.facts["print_scaling"] != "None":
        yield f"PrintScaling {contents.facts['print_scaling'] or 'not set'}"
    if contents.facts["user_unit"] != 1:
        yield f"UserUnit {contents.facts['user_unit']:g}"


def _version(contents: Contents) -> Iterator[str]:
    if float(contents.facts["version"]) > 1.6:
        yield f"PDF {contents.facts['version']}"


def _transparency(contents: Contents) -> Iterator[str]:
    if contents.facts["transparency"]:
        yield "transparency"


def _layers_in_x1a(contents: Contents) -> Iterator[str]:
    if "PDF/X-1" in contents.facts["info"].get("GTS_PDFXVersion", "") and contents.facts["optional_layers"]:
        yield "layers in a file that says it is PDF/X-1a"


def _resolution(contents: Contents) -> Iterator[str]:
    for number, page in enumerate(contents.pages, start=1):
        for picture in page.pictures:
            if picture.ppi is not None and picture.ppi < LEAST_PPI - 0.5:
                yield f"a picture at {picture.ppi:.0f} ppi on page {number}"


def _white_over(contents: Contents) -> Iterator[str]:
    """White that overprints leaves what lies under it: it is not there on paper (ISO 32000-1, 8.6.7)."""
    for number, page in enumerate(contents.pages, start=1):
        for d in page.drawn:
            paints = [paint for paint in (d.fill, d.stroke) if paint is not None]
            if d.overprint and any(_is_white(paint) for paint in paints):
                yield f"white that overprints on page {number}"


def _is_white(paint: Paint) -> bool:
    if paint.space == "gray":
        return paint.values == (1.0,)
    return paint.space in ("cmyk", "spot") and bool(paint.values) and max(paint.values) == 0


def _transfer(contents: Contents) -> Iterator[str]:
    if contents.facts["transfer_functions"]:
        yield "a transfer function"


def _annotations(contents: Contents) -> Iterator[str]:
    for number, page in enumerate(contents.pages, start=1):
        bleed = page.boxes.get("BleedBox") or _trim(page)
        for box in page.annotations:
            if bleed is None:
                continue
            shared = min(box[2], bleed[2]) - max(box[0], bleed[0]), min(box[3], bleed[3]) - max(box[1], bleed[1])
            if min(shared) > 0:
                yield f"an annotation inside the bleed on page {number}"


def _postscript(contents: Contents) -> Iterator[str]:
    if contents.facts["postscript"]:
        yield "PostScript in the page"


def _tint_bleeds(contents: Contents) -> Iterator[str]:
    """An area that ends at the trim shows white there as soon as the knife is a hair off."""
    for number, page in enumerate(contents.pages, start=1):
        trim = _trim(page)
        for d in page.drawn:
            if trim is None or not d.paths or d.fill is None or _is_white(d.fill) or not _touches(d, trim):
                continue
            short = [abs(off) for path in d.paths for off in _along(path, trim) if -BLEED_MM + 0.1 < off < AT_TRIM_MM]
            if short:
                yield f"an area that ends {max(short):.2f} mm from the trim on page {number}"


def _along(path: Path, trim: Edges) -> Iterator[float]:
    """Yield how far straight edges of a path that run along the trim lie inside it; outside is below 0."""
    for segment in path.segments:
        a, b = segment[0], segment[-1]
        if len(segment) != 2 or abs(b - a) < LONG_EDGE_MM:
            continue
        if abs((b - a).real) < SLACK_MM:
            yield min(a.real - trim[0], trim[2] - a.real)
        elif abs((b - a).imag) < SLACK_MM:
            yield min(a.imag - trim[1], trim[3] - a.imag)


def _areas(contents: Contents) -> Iterator[str]:
    for key, box in contents.facts["areas"].items():
        if box not in ("MediaBox", "BleedBox"):
            yield f"{key} {box}"


PRINT_CHECKS = (
    Check("pdf", "a PDF", _is_pdf, ("pdf", "svg", "png", "dxf", "eps", "font")),
    Check("trim-box", "a TrimBox (or an ArtBox) on every page", _has_trim, PDF),
    Check("boxes-nested", "TrimBox within BleedBox within MediaBox", _nested, PDF),
    Check("bleed", f"a bleed of at least {BLEED_MM:g} mm on every side", _bleed, PDF),
    Check("marks-outside", "crop marks outside the bleed", _marks, PDF),
    Check("no-rgb", "grey, CMYK and spot colours only", _no_rgb, PDF),
    Check("ink-limit", "at most 280 % ink", _ink_limit, PDF),
    Check("black-alone", "thin lines and text in black ink alone", _black_alone, PDF),
    Check("overprint", "black lines overprint", _overprint, PDF),
    Check("line-weight", "lines of at least 0.25 pt", _line_weight, PDF),
    Check("safe-margin", f"everything {SAFE_MM:g} mm inside the trim or out into the bleed", _safe, PDF, "warn"),
    Check("tint-bleeds", "areas that reach the trim run out into the bleed", _tint_bleeds, PDF),
    Check("resolution", f"pictures of at least {LEAST_PPI:g} ppi", _resolution, PDF),
    Check("white-overprint", "no white that overprints", _white_over, PDF),
    Check("no-transfer", "no transfer functions", _transfer, PDF),
    Check("no-annotations", "no annotations inside the bleed", _annotations, PDF),
    Check("no-postscript", "no PostScript in the page", _postscript, PDF),
    Check("view-area", "no ViewArea or its like but MediaBox and BleedBox", _areas, PDF),
    Check("fonts-embedded", "no font, or fonts in the file", _fonts, PDF),
    Check("output-intent", "one output intent with identifier and profile or registry", _intent, PDF),
    Check("info", "title and dates in Info", _info, PDF),
    Check("trapped", "Trapped says True or False", _trapped, PDF),
    Check("xmp", "XMP metadata that agrees with Info", _xmp, PDF),
    Check("file-id", "a file identifier", _id, PDF),
    Check("no-encryption", "no encryption", _open, PDF),
    Check("no-scripts", "no scripts, actions or form fields", _scripts, PDF),
    Check("no-scaling", "viewers asked not to scale, user unit 1/72 inch", _scaling, PDF),
    Check("version", "PDF 1.6 or older", _version, PDF),
    Check("no-layers-in-x1a", "no layers in a file that says it is PDF/X-1a", _layers_in_x1a, PDF),
    Check("no-transparency", "no transparency (PDF/X-4 allows it, PDF/X-1a does not)", _transparency, PDF, "warn"),
)
