"""Files made by other programs' libraries alone, with known measures. A5 landscape (210 x 148 mm) unless said."""

from __future__ import annotations

import functools
import io

PAGE = (210.0, 148.0)
HEIGHTS = (20.0, 33.5, 47.25, 61.0, 101.125)
CIRCLE = (150.0, 110.0, 12.5)  # centre and radius, mm


@functools.cache
def reportlab_pdf() -> bytes:
    from reportlab.lib.units import mm
    from reportlab.pdfgen.canvas import Canvas

    target = io.BytesIO()
    c = Canvas(target, pagesize=(PAGE[0] * mm, PAGE[1] * mm))
    c.setLineWidth(0.3 * mm)
    for y in HEIGHTS:
        c.line(10 * mm, y * mm, 200 * mm, y * mm)
    c.setStrokeColorCMYK(1, 0, 0, 0)
    for x in range(20, 120, 7):
        c.line(x * mm, 20 * mm, (x + 41 / 1.4281480067) * mm, 61 * mm)  # tan 55 degrees
    c.saveState()
    c.translate(CIRCLE[0] * mm, CIRCLE[1] * mm)
    c.scale(2, 2)
    c.setFillColorRGB(1, 0, 0)
    c.circle(0, 0, CIRCLE[2] / 2 * mm, stroke=0, fill=1)
    c.restoreState()
    c.setFont("Helvetica", 12)
    c.drawString(20 * mm, 5 * mm, "evening tide")
    c.showPage()
    c.setPageSize((100 * mm, 50 * mm))
    c.rect(10 * mm, 10 * mm, 30 * mm, 20 * mm, stroke=1, fill=0)
    c.save()
    return target.getvalue()


@functools.cache
def matplotlib_file(kind: str) -> bytes:
    import matplotlib as mpl
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure
    from matplotlib.patches import Circle

    figure = Figure(figsize=(PAGE[0] / 25.4, PAGE[1] / 25.4))
    FigureCanvasAgg(figure)
    axes = figure.add_axes((0, 0, 1, 1))
    axes.set_xlim(0, PAGE[0])
    axes.set_ylim(0, PAGE[1])
    axes.axis("off")
    for y in HEIGHTS:
        axes.plot([10, 200], [y, y], color="black", linewidth=0.3 / 25.4 * 72, solid_capstyle="butt")
    axes.add_patch(Circle(CIRCLE[:2], CIRCLE[2], facecolor="#d00000", edgecolor="none"))
    axes.text(20, 5, "evening tide")
    target = io.BytesIO()
    with mpl.rc_context({"svg.fonttype": "none", "svg.hashsalt": "tide"}):
        figure.savefig(target, format=kind, dpi=200, **({"metadata": {"Date": None}} if kind == "svg" else {}))
    return target.getvalue()


@functools.cache
def ezdxf_dxf(units: int = 4, version: str = "R2010") -> bytes:
    import ezdxf

    per_mm = {4: 1.0, 1: 1 / 25.4, 5: 0.1}[units]
    document = ezdxf.new(version)
    document.header["$INSUNITS"] = units
    document.layers.add("guides", color=5)
    space = document.modelspace()
    for y in HEIGHTS:
        space.add_line((10 * per_mm, y * per_mm), (200 * per_mm, y * per_mm), dxfattribs={"layer": "guides"})
    space.add_circle(
        (CIRCLE[0] * per_mm, CIRCLE[1] * per_mm), CIRCLE[2] * per_mm, dxfattribs={"layer": "cut", "color": 1}
    )
    block = document.blocks.new("tab")
    block.add_line((0, 0), (3 * per_mm, 0))
    space.add_blockref("tab", (20 * per_mm, 80 * per_mm), dxfattribs={"xscale": 2.0})
    side = 10 * per_mm
    if version == "R12":
        space.add_polyline2d([(0, 0), (side, 0), (side, side, 1.0), (0, side)], format="xyb", close=True)
    else:
        space.add_lwpolyline([(0, 0), (side, 0), (side, side, 1.0), (0, side)], format="xyb", close=True)
    space.add_text("tide", dxfattribs={"height": 5 * per_mm})
    target = io.StringIO()
    document.write(target)
    return target.getvalue().encode()


@functools.cache
def made_font() -> bytes:
    """A font of 1000 units: x is 500 high, H 700, l a stem of 80 units, o a ring 70 wide."""
    from fontTools.fontBuilder import FontBuilder
    from fontTools.pens.ttGlyphPen import TTGlyphPen

    def box(*sides: tuple[int, int, int, int]):
        pen = TTGlyphPen(None)
        for left, low, right, top in sides:
            corners = [(left, low), (left, top), (right, top), (right, low)]
            corners = corners if (right - left) > 0 else corners[::-1]
            pen.moveTo(corners[0])
            for corner in corners[1:]:
                pen.lineTo(corner)
            pen.closePath()
        return pen.glyph()

    def ring():
        pen = TTGlyphPen(None)
        for left, low, right, top, back in ((50, 0, 450, 500, False), (120, 70, 380, 430, True)):
            corners = [(left, low), (left, top), (right, top), (right, low)]
            corners = corners[::-1] if back else corners
            pen.moveTo(corners[0])
            for corner in corners[1:]:
                pen.lineTo(corner)
            pen.closePath()
        return pen.glyph()

    glyphs = {
        ".notdef": box((0, 0, 400, 700)),
        "x": box((50, 0, 450, 500)),
        "H": box((50, 0, 550, 700)),
        "l": box((60, 0, 140, 710)),
        "o": ring(),
        "p": box((60, -210, 140, 500)),
        "d": box((60, 0, 140, 705)),
    }
    builder = FontBuilder(1000, isTTF=True)
    builder.setupGlyphOrder(list(glyphs))
    builder.setupCharacterMap({ord(name): name for name in glyphs if len(name) == 1})
    builder.setupGlyf(glyphs)
    builder.setupHorizontalMetrics(dict.fromkeys(glyphs, (500, 50)))
    builder.setupHorizontalHeader(ascent=800, descent=-200)
    builder.setupNameTable({"familyName": "Tideway", "styleName": "Regular"})
    builder.setupOS2(sxHeight=500)
    builder.setupPost()
    builder.font["head"].created = builder.font["head"].modified = 3_000_000_000
    target = io.BytesIO()
    builder.save(target)
    return target.getvalue()


def pillow_png(ppi: float | None = 254.0) -> bytes:
    """100 x 60 mm at 10 px/mm with a black block from 20 to 45 mm across and 10 to 30 mm up, and one line."""
    from PIL import Image, ImageDraw

    image = Image.new("RGB", (1000, 600), "white")
    draw = ImageDraw.Draw(image)
    draw.rectangle((200, 300, 449, 499), fill="black")
    draw.rectangle((50, 100, 949, 102), fill="black")  # 90 mm long, its middle 49.85 mm up
    target = io.BytesIO()
    image.save(target, "PNG", **({} if ppi is None else {"dpi": (ppi, ppi)}))
    return target.getvalue()


SVG_HEAD = '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"'


def svg(
    body: str, width: str = "210mm", height: str = "148mm", view: str | None = "0 0 210 148", more: str = ""
) -> bytes:
    frame = f' viewBox="{view}"' if view else ""
    return f'{SVG_HEAD} width="{width}" height="{height}"{frame} {more}>{body}</svg>'.encode()
