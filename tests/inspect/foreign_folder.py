"""A folder of files by programs of others, each of one drawing with known measures.

The drawing, in mm, y up: a page of 210 x 148, a rectangle of 60 x 40 with its corner at (20, 30), and a line of 100
from (10, 100) to (110, 100). What is known of a file is stated with it: ``page``, ``rectangle``, ``line`` (its length),
``height`` (of the line), each left out where the file cannot tell.
"""

from __future__ import annotations

import functools
import io
import math
import shutil
import subprocess
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

import pikepdf

MM = 72 / 25.4
PAGE, RECTANGLE, LINE, HEIGHT = (210.0, 148.0), (60.0, 40.0), 100.0, 100.0
ALL = {"page": PAGE, "rectangle": RECTANGLE, "line": LINE, "height": HEIGHT}


@dataclass(frozen=True)
class Foreign:
    """A file that is made when it is asked for; ``slack`` is what a measure may be off by, in shares and in mm."""

    make: Callable[[], bytes]
    ending: str
    known: dict = field(default_factory=lambda: ALL)
    slack: tuple[float, float] = (1e-3, 0.0)
    notes: tuple[str, ...] = ()
    program: str | None = None


# reportlab


def canvas(draw, page=PAGE, **options) -> bytes:
    from reportlab.pdfgen.canvas import Canvas

    target = io.BytesIO()
    c = Canvas(target, pagesize=(page[0] * MM, page[1] * MM), **options)
    c.setLineWidth(0.2 * MM)
    draw(c)
    c.save()
    return target.getvalue()


def drawing(c, unit: float = MM) -> None:
    c.rect(20 * unit, 30 * unit, 60 * unit, 40 * unit, stroke=1, fill=0)
    c.line(10 * unit, 100 * unit, 110 * unit, 100 * unit)


def scaled_canvas(c) -> None:
    c.scale(MM / 10, MM / 10)
    c.setLineWidth(2)
    drawing(c, 10)


def stacked_canvas(c) -> None:
    c.translate(5 * MM, 7 * MM)
    c.rotate(90)
    c.rotate(-90)
    c.translate(-5 * MM, -7 * MM)
    drawing(c)


def form_canvas(c) -> None:
    c.beginForm("tide")
    drawing(c)
    c.endForm()
    c.doForm("tide")


def clipped_canvas(c) -> None:
    c.saveState()
    p = c.beginPath()
    p.rect(10 * MM, 20 * MM, 100 * MM, 90 * MM)
    c.clipPath(p, stroke=0, fill=0)
    drawing(c)
    c.line(5 * MM, 105 * MM, 205 * MM, 105 * MM)  # 200 mm, of which 100 show
    c.rect(150 * MM, 40 * MM, 55 * MM, 90 * MM)  # none of which shows
    c.restoreState()


def clipped_by_a_path_canvas(c) -> None:
    """A square on its corner, 200 mm from corner to corner: of the long line, 55 mm below its middle, 90 mm show."""
    c.saveState()
    p = c.beginPath()
    middle, reach = (60 * MM, 60 * MM), 100 * MM
    p.moveTo(middle[0] - reach, middle[1])
    for dx, dy in ((0, -reach), (reach, 0), (0, reach)):
        p.lineTo(middle[0] + dx, middle[1] + dy)
    p.close()
    c.clipPath(p, stroke=0, fill=0)
    drawing(c)
    c.line(-200 * MM, 5 * MM, 400 * MM, 5 * MM)
    c.restoreState()


def curves_canvas(c) -> None:
    drawing(c)
    c.circle(150 * MM, 50 * MM, 12 * MM)


def coloured_canvas(c) -> None:
    c.setStrokeColorCMYK(0.1, 0.9, 0.2, 0)
    drawing(c)


def dashed_canvas(c) -> None:
    c.setDash(3, 2)
    drawing(c)


def edited(change) -> bytes:
    pdf = pikepdf.open(io.BytesIO(canvas(drawing)))
    change(pdf.pages[0].obj)
    target = io.BytesIO()
    pdf.save(target)
    return target.getvalue()


def rotated(degrees: int) -> Callable[[], bytes]:
    return lambda: edited(lambda page: page.__setitem__("/Rotate", degrees))


def moved_box(page) -> None:
    page.MediaBox = [-20 * MM, -10 * MM, 190 * MM, 138 * MM]


def big_unit() -> bytes:
    data = canvas(lambda c: drawing(c, MM / 2), page=(105.0, 74.0))
    pdf = pikepdf.open(io.BytesIO(data))
    pdf.pages[0].obj.UserUnit = 2
    target = io.BytesIO()
    pdf.save(target)
    return target.getvalue()


SIDEWAYS = {"page": (148.0, 210.0), "rectangle": (40.0, 60.0)}
FOLDER: dict[str, Foreign] = {
    "reportlab plain": Foreign(lambda: canvas(drawing), "pdf"),
    "reportlab packed": Foreign(lambda: canvas(drawing, pageCompression=1), "pdf"),
    "reportlab scaled": Foreign(lambda: canvas(scaled_canvas), "pdf"),
    "reportlab stacked": Foreign(lambda: canvas(stacked_canvas), "pdf"),
    "reportlab form": Foreign(lambda: canvas(form_canvas), "pdf"),
    "reportlab clipped": Foreign(lambda: canvas(clipped_canvas), "pdf", notes=("clipped",)),
    "reportlab clipped by a path": Foreign(lambda: canvas(clipped_by_a_path_canvas), "pdf", notes=("clipped",)),
    "reportlab curves": Foreign(lambda: canvas(curves_canvas), "pdf"),
    "reportlab coloured": Foreign(lambda: canvas(coloured_canvas), "pdf"),
    "reportlab dashed": Foreign(lambda: canvas(dashed_canvas), "pdf"),
    "reportlab turned 90": Foreign(rotated(90), "pdf", SIDEWAYS),
    "reportlab turned 180": Foreign(rotated(180), "pdf", {**ALL, "height": 48.0}),
    "reportlab turned 270": Foreign(rotated(270), "pdf", SIDEWAYS),
    "reportlab moved box": Foreign(lambda: edited(moved_box), "pdf", {**ALL, "height": 110.0}),
    "reportlab user unit": Foreign(big_unit, "pdf"),
}


# matplotlib: inches and points of its own


def figure(kind: str, dpi: float = 100) -> bytes:
    import matplotlib as mpl
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure
    from matplotlib.patches import Rectangle

    made = Figure(figsize=(PAGE[0] / 25.4, PAGE[1] / 25.4))
    FigureCanvasAgg(made)
    axes = made.add_axes((0, 0, 1, 1))
    axes.set_xlim(0, PAGE[0])
    axes.set_ylim(0, PAGE[1])
    axes.axis("off")
    axes.add_patch(Rectangle((20, 30), 60, 40, fill=False, linewidth=0.6))
    axes.plot([10, 110], [100, 100], color="black", linewidth=0.6, solid_capstyle="butt")
    target = io.BytesIO()
    with mpl.rc_context({"svg.hashsalt": "tide", "path.snap": False}):
        made.savefig(target, format=kind, dpi=dpi)
    return target.getvalue()


FOLDER |= {
    "matplotlib pdf": Foreign(lambda: figure("pdf"), "pdf"),
    "matplotlib svg": Foreign(lambda: figure("svg"), "svg"),
    "matplotlib eps": Foreign(lambda: figure("eps"), "eps", slack=(1e-3, 0.36), program="gs"),  # box in whole points
    "matplotlib svg at 72": Foreign(lambda: figure("svg", 72), "svg"),
    "matplotlib png": Foreign(lambda: figure("png", 300), "png", {"page": PAGE}, (0.0, 0.09)),
}


# ezdxf


def dxf(units: int | None = 4, version: str = "R2010", scale: float = 1.0, more=None, shape="lwpolyline") -> bytes:
    import ezdxf

    made = ezdxf.new(version)
    made.header["$MEASUREMENT"] = 1
    made.header["$INSUNITS"] = 0 if units is None else units
    space = made.modelspace()
    corners = [(x * scale, y * scale) for x, y in ((20, 30), (80, 30), (80, 70), (20, 70))]
    if shape == "lwpolyline":
        space.add_lwpolyline(corners, close=True)
    elif shape == "polyline":
        space.add_polyline2d(corners, close=True)
    elif shape == "block":
        block = made.blocks.new("TIDE")
        block.add_lwpolyline([(0, 0), (6 * scale, 0), (6 * scale, 4 * scale), (0, 4 * scale)], close=True)
        space.add_blockref("TIDE", (20 * scale, 30 * scale), dxfattribs={"xscale": 10, "yscale": 10})
    elif shape == "lines":
        for a, b in zip(corners, [*corners[1:], corners[0]], strict=True):
            space.add_line(a, b)
    space.add_line((10 * scale, 100 * scale), (110 * scale, 100 * scale))
    if more is not None:
        more(made, space)
    text = io.StringIO()
    made.write(text)
    return text.getvalue().encode()


def off_layer(made, space) -> None:
    made.layers.add("GHOST").off()
    space.add_line((0, 0), (500, 0), dxfattribs={"layer": "GHOST"})


def frozen_layer(made, space) -> None:
    made.layers.add("GHOST").freeze()
    space.add_lwpolyline([(0, 0), (500, 0), (500, 400)], close=True, dxfattribs={"layer": "GHOST"})


def unplotted_layer(made, space) -> None:
    made.layers.add("GHOST").dxf.plot = 0
    space.add_line((0, 0), (500, 0), dxfattribs={"layer": "GHOST"})


def circled(made, space) -> None:
    space.add_circle((150, 50), 12)


def splined(made, space) -> None:
    space.add_spline([(120, 20), (140, 60), (160, 20), (180, 60)])


BARE = {"rectangle": RECTANGLE, "line": LINE}
FOLDER |= {
    f"ezdxf {name}": Foreign(make, "dxf", known, notes=notes)
    for name, make, known, notes in [
        ("mm", dxf, BARE, ()),
        ("cm", lambda: dxf(5, scale=0.1), BARE, ()),
        ("m", lambda: dxf(6, scale=0.001), BARE, ()),
        ("inch", lambda: dxf(1, scale=1 / 25.4), BARE, ()),
        ("foot", lambda: dxf(2, scale=1 / 304.8), BARE, ()),
        ("no unit", lambda: dxf(None), BARE, ("no unit stated; read as mm",)),
        ("R2000", lambda: dxf(version="R2000"), BARE, ()),
        ("R2018", lambda: dxf(version="R2018"), BARE, ()),
        ("R12", lambda: dxf(version="R12", shape="polyline"), BARE, ()),
        ("polyline", lambda: dxf(shape="polyline"), BARE, ()),
        ("block", lambda: dxf(shape="block"), BARE, ()),
        ("lines", lambda: dxf(shape="lines"), {"line": LINE}, ()),
        ("layer off", lambda: dxf(more=off_layer), BARE, ("GHOST",)),
        ("layer frozen", lambda: dxf(more=frozen_layer), BARE, ("GHOST",)),
        ("layer not plotted", lambda: dxf(more=unplotted_layer), BARE, ("GHOST",)),
        ("circle", lambda: dxf(more=circled), BARE, ()),
        ("spline", lambda: dxf(more=splined), BARE, ()),
    ]
}


# SVG, as an XML library writes it


def svg(body: str, width: str = "210mm", height: str = "148mm", view: str | None = "0 0 210 148") -> bytes:
    box = f' viewBox="{view}"' if view else ""
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" width="{width}" '
        f'height="{height}"{box}>{body}</svg>'
    ).encode()


def body(scale: float = 1.0, height: float = 148.0) -> str:
    left, top, wide, high = (scale * side for side in (20, height - 70, 60, 40))
    y = scale * (height - 100)
    return (
        f'<rect x="{left}" y="{top}" width="{wide}" height="{high}" fill="none" stroke="#000" '
        f'stroke-width="{0.2 * scale}"/><line x1="{10 * scale}" y1="{y}" x2="{110 * scale}" y2="{y}" stroke="black" '
        f'stroke-width="{0.2 * scale}"/>'
    )


PX = 96 / 25.4
CLIP = '<defs><clipPath id="c"><rect x="10" y="40" width="100" height="80"/></clipPath></defs>'
FOLDER |= {
    f"svg {name}": Foreign(functools.partial(svg, *words), "svg", known, notes=notes)
    for name, words, known, notes in [
        ("mm", (body(),), ALL, ()),
        ("cm", (body(0.1), "21cm", "14.8cm", "0 0 21 14.8"), ALL, ()),
        ("inch", (body(1 / 25.4), "8.267717in", "5.826772in", "0 0 8.267717 5.826772"), ALL, ()),
        ("pt", (body(MM), "595.2756pt", "419.5276pt", "0 0 595.2756 419.5276"), ALL, ()),
        ("px", (body(PX), f"{210 * PX}", f"{148 * PX}", None), ALL, ()),
        ("px with box", (body(PX), f"{210 * PX}px", f"{148 * PX}px", f"0 0 {210 * PX} {148 * PX}"), ALL, ()),
        ("hundredths", (body(100), "210mm", "148mm", "0 0 21000 14800"), ALL, ()),
        ("group scaled", (f'<g transform="scale(.5)">{body(2)}</g>',), ALL, ()),
        ("matrix", (f'<g transform="matrix(.25 0 0 .25 0 0)"><g transform="scale(2 2)">{body(2)}</g></g>',), ALL, ()),
        ("use", (f'<defs><g id="d">{body()}</g></defs><use xlink:href="#d"/>',), ALL, ()),
        ("nested", (f'<svg x="0" y="0" width="210" height="148" viewBox="0 0 420 296">{body(2)}</svg>',), ALL, ()),
        ("style sheet", ((f"<style>.ghost{{display:none}}</style>{body()}"
                         '<rect class="ghost" width="200" height="140"/>'),), ALL, ()),
        ("hidden group", (f'{body()}<g id="ghost" display="none"><rect width="200" height="140"/></g>',), ALL,
         ("ghost",)),
        ("clipped", ((f'{CLIP}<g clip-path="url(#c)">{body()}<line x1="5" x2="205" y1="43" y2="43" stroke="#000"/>'
                     '<rect x="150" y="60" width="50" height="80"/></g>'),), ALL, ("clipped",)),
        ("path", ('<path d="M20 78h60v40h-60z" fill="none" stroke="#000"/><path d="M10 48H110" stroke="#000"/>',),
         ALL, ()),
    ]
}  # fmt: skip


# fontTools


def glyph_svg(flavour: str) -> bytes:
    from fontTools.pens.svgPathPen import SVGPathPen
    from fontTools.pens.transformPen import TransformPen

    pen = SVGPathPen(None)
    turn = TransformPen(pen, (0.1, 0, 0, -0.1, 0, 148)) if flavour == "turned" else pen
    k = 10 if flavour == "turned" else 1
    heights = (30, 70) if flavour == "turned" else (78, 118)
    turn.moveTo((20 * k, heights[0] * k))
    for x, y in ((80, heights[0]), (80, heights[1]), (20, heights[1])):
        turn.lineTo((x * k, y * k))
    turn.closePath()
    return svg(f'<path d="{pen.getCommands()}" fill="none" stroke="#000"/>')


def font(units: int, otf: bool, flavour: str | None = None) -> bytes:
    """A font whose x is half an em high, with an upright stem of a tenth in n."""
    from fontTools.fontBuilder import FontBuilder
    from fontTools.pens.t2CharStringPen import T2CharStringPen
    from fontTools.pens.ttGlyphPen import TTGlyphPen

    def box(pen, left, right, top):
        pen.moveTo((left, 0))
        for spot in ((left, top), (right, top), (right, 0)):
            pen.lineTo(spot)
        pen.closePath()

    made = FontBuilder(units, isTTF=not otf)
    names = [".notdef", "x", "n"]
    made.setupGlyphOrder(names)
    made.setupCharacterMap({ord("x"): "x", ord("n"): "n"})
    glyphs = {}
    for name in names:
        pen = T2CharStringPen(units, None) if otf else TTGlyphPen(None)
        if name != ".notdef":
            box(pen, units // 10, units // 5, units // 2)
        glyphs[name] = pen.getCharString() if otf else pen.glyph()
    if otf:
        made.setupCFF("Tide", {"FullName": "Tide"}, glyphs, {})
    else:
        made.setupGlyf(glyphs)
    made.setupHorizontalMetrics(dict.fromkeys(names, (units // 2, units // 10)))
    made.setupHorizontalHeader(ascent=units, descent=-units // 4)
    made.setupNameTable({"familyName": "Tide", "styleName": "Regular"})
    made.setupOS2(sxHeight=units // 2, sTypoAscender=units)
    made.setupPost()
    made.font.flavor = flavour
    target = io.BytesIO()
    made.save(target)
    return target.getvalue()


FOLDER |= {
    "fontTools svg": Foreign(lambda: glyph_svg("plain"), "svg", {"page": PAGE, "rectangle": RECTANGLE}),
    "fontTools svg turned": Foreign(lambda: glyph_svg("turned"), "svg", {"page": PAGE, "rectangle": RECTANGLE}),
    "fontTools ttf 1000": Foreign(lambda: font(1000, False), "ttf", {"x_height": 0.5}),
    "fontTools ttf 2048": Foreign(lambda: font(2048, False), "ttf", {"x_height": 0.5}),
    "fontTools otf 1000": Foreign(lambda: font(1000, True), "otf", {"x_height": 0.5}),
    "fontTools woff2": Foreign(lambda: font(1000, False, "woff2"), "woff2", {"x_height": 0.5}),
}


# Pillow


def ruled(ppi: float, skew_deg: float = 0.0, mode: str = "L", unit: bool = True) -> bytes:
    """Lines of 0.5 mm at heights of 100, 80, 70, 40 and 20 mm."""
    from PIL import Image, ImageDraw

    wide, high = (round(side / 25.4 * ppi) for side in PAGE)
    white = 255 if mode == "L" else (255,) * len(mode)
    black = 0 if mode == "L" else (0, 0, 0, 255)[: len(mode)]
    image = Image.new(mode, (wide, high), white)
    draw = ImageDraw.Draw(image)
    for y in (100, 80, 70, 40, 20):
        corners = (20, 148 - y - 0.25, 190, 148 - y + 0.25)
        draw.rectangle(tuple(round(side / 25.4 * ppi) for side in corners), black)
    if skew_deg:
        image = image.rotate(skew_deg, Image.Resampling.BICUBIC, fillcolor=white)
    target = io.BytesIO()
    image.save(target, "PNG", **({"dpi": (ppi, ppi)} if unit else {}))
    return target.getvalue()


HEIGHTS = {"page": PAGE, "heights": (20.0, 40.0, 70.0, 80.0, 100.0)}
FOLDER |= {
    f"Pillow {name}": Foreign(make, "png", known, (0.0, slack), notes)
    for name, make, known, slack, notes in [
        ("72", lambda: ruled(72), HEIGHTS, 0.36, ()),
        ("150", lambda: ruled(150), HEIGHTS, 0.17, ()),
        ("300", lambda: ruled(300), HEIGHTS, 0.09, ()),
        ("600", lambda: ruled(600), HEIGHTS, 0.05, ()),
        ("RGB", lambda: ruled(200, mode="RGB"), HEIGHTS, 0.13, ()),
        ("RGBA", lambda: ruled(200, mode="RGBA"), HEIGHTS, 0.13, ()),
        ("skewed", lambda: ruled(200, 1.5), HEIGHTS, 0.13, ("skewed by",)),
        ("skewed back", lambda: ruled(200, -0.7), HEIGHTS, 0.13, ("skewed by",)),
        ("no unit", lambda: ruled(200, unit=False), {}, 0.13, ()),
    ]
}


# Ghostscript, Inkscape, LibreOffice: programs, where they are


def through(command: list[str], source: bytes, ending: str, result: str) -> bytes:
    import tempfile

    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / f"in.{ending}").write_bytes(source)
        words = [word.format(folder=folder) for word in command]
        subprocess.run(words, check=True, capture_output=True, timeout=180, cwd=folder)
        return (folder / result).read_bytes()


def ghost(device: str) -> bytes:
    command = ["gs", "-q", "-dSAFER", "-dBATCH", "-dNOPAUSE", f"-sDEVICE={device}", "-sOutputFile={folder}/out"]
    command.append("in.pdf")
    return through(command, canvas(drawing), "pdf", "out")


def inkscape(kind: str) -> bytes:
    command = ["inkscape", "in.svg", "--export-area-page", f"--export-filename=out.{kind}"]
    return through(command, svg(body()), "svg", f"out.{kind}")


def office(kind: str) -> bytes:
    home = "-env:UserInstallation=file://{folder}/profile"
    command = ["soffice", "--headless", home, "--convert-to", kind, "in.fodt"]
    return through(command, flat_text().encode(), "fodt", f"in.{kind}")


def flat_text() -> str:
    """The drawing on a page of a text, as OpenDocument has it in one file."""
    names = " ".join(
        f'xmlns:{key}="urn:oasis:names:tc:opendocument:xmlns:{value}:1.0"'
        for key, value in {
            "office": "office", "draw": "drawing", "style": "style", "svg": "svg-compatible", "text": "text",
            "fo": "xsl-fo-compatible",
        }.items()
    )  # fmt: skip
    return f"""<?xml version="1.0" encoding="UTF-8"?>
<office:document {names} office:version="1.2" office:mimetype="application/vnd.oasis.opendocument.text">
<office:automatic-styles>
<style:page-layout style:name="p"><style:page-layout-properties fo:page-width="210mm" fo:page-height="148mm"
 fo:margin-top="5mm" fo:margin-bottom="5mm" fo:margin-left="5mm" fo:margin-right="5mm"
 style:print-orientation="landscape"/></style:page-layout>
<style:style style:name="g" style:family="graphic"><style:graphic-properties draw:stroke="solid" draw:fill="none"
 svg:stroke-width="0.2mm" svg:stroke-color="#000000" style:wrap="run-through" style:horizontal-pos="from-left"
 style:horizontal-rel="page" style:vertical-pos="from-top" style:vertical-rel="page"/></style:style>
</office:automatic-styles>
<office:master-styles><style:master-page style:name="Standard" style:page-layout-name="p"/></office:master-styles>
<office:body><office:text><text:p>
<draw:rect text:anchor-type="paragraph" draw:style-name="g" svg:x="20mm" svg:y="78mm" svg:width="60mm"
 svg:height="40mm"/>
<draw:line text:anchor-type="paragraph" draw:style-name="g" svg:x1="10mm" svg:y1="48mm" svg:x2="110mm" svg:y2="48mm"/>
</text:p></office:text></office:body></office:document>"""


PROGRAMS: dict[str, Foreign] = {
    "Ghostscript pdf": Foreign(lambda: ghost("pdfwrite"), "pdf", program="gs"),
    "Ghostscript eps": Foreign(lambda: ghost("eps2write"), "eps", {"rectangle": RECTANGLE, "line": LINE}, program="gs"),
    "Ghostscript png": Foreign(lambda: ghost("png16m"), "png", {}, program="gs"),
    "Inkscape pdf": Foreign(lambda: inkscape("pdf"), "pdf", program="inkscape"),
    "Inkscape svg": Foreign(lambda: inkscape("svg"), "svg", program="inkscape"),
    "Inkscape eps": Foreign(lambda: inkscape("eps"), "eps", BARE, program="inkscape"),  # boxed to its ink
    "Inkscape png": Foreign(lambda: inkscape("png"), "png", {"page": PAGE}, (0.0, 0.3), program="inkscape"),
    "LibreOffice pdf": Foreign(lambda: office("pdf"), "pdf", slack=(2e-3, 0.05), program="soffice"),
}


def there(foreign: Foreign) -> bool:
    return foreign.program is None or shutil.which(foreign.program) is not None


def misses(foreign: Foreign, measured: dict) -> list[str]:
    """What ``inspect`` said that is not so, each with what is known."""
    share, slack = foreign.slack
    found = []

    def compare(what, told, known):
        for a, b in zip(told, known, strict=True):
            if not math.isclose(a, b, rel_tol=share, abs_tol=slack):
                found.append(f"{what} {a:.4f}, not {b:.4f}")
                return

    known = foreign.known
    lines = measured.get("lines") or {}
    if "page" in known and measured.get("page_mm") is not None:
        compare("page", measured["page_mm"], known["page"])
    elif "page" in known:
        found.append("page unsaid")
    if "rectangle" in known:
        compare("rectangle", measured["shapes"].get("largest_mm", (0, 0)), known["rectangle"])
    if "line" in known:
        compare("line", [lines.get("longest_mm", 0.0)], [known["line"]])
    if "height" in known:
        told = list(lines.get("heights_mm", []))
        compare("height", [min(told, key=lambda h: abs(h - known["height"]), default=0.0)], [known["height"]])
    if "heights" in known:
        compare("heights", sorted(lines.get("heights_mm", [])), known["heights"]) if len(
            lines.get("heights_mm", [])
        ) == len(known["heights"]) else found.append(f"heights {lines.get('heights_mm')}")
    if "x_height" in known:
        compare("x-height", [measured["x_height"] / measured["units_per_em"]], [known["x_height"]])
    scale = measured.get("scaled")
    if scale is not None and scale["true"]:
        found.append("called true without a bar")
    if lines.get("x_height_mm") is not None:
        found.append("lines taken for rows to write on")
    told_notes = " | ".join(measured.get("notes", []))
    found += [f"did not say {note!r}" for note in foreign.notes if note not in told_notes]
    return found
