"""A page read back from its SVG and from its PDF at 1200 dpi, with nothing of ours but the two writers.

The SVG says which texts stand where, which lines guide, and where the edges of everything are. The PDF, drawn by
pdfium, has to show the same page as the SVG drawn by cairo, to a pixel of 0.02 mm, and its guide lines are measured
in the picture.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from itertools import pairwise

import cairosvg.surface
import numpy as np
import pypdfium2
import pypdfium2.raw as pdfium
import pytest
import shapely
import svg_pages
from cairosvg.parser import Tree

PPI = 1200
PX_PER_MM = PPI / 25.4
STRIP_PX = 1500
WHITE, DARK = 200, 90
"""Grey levels surely of paper and surely of ink; between them lie the edges."""


# What the SVG says -----------------------------------------------------------------------------------------------


@dataclass
class RowRead:
    """A row as it stands on a page: its lines' heights, how far it reaches, and what is written in it."""

    page: int
    number: int
    lines: dict
    left: float
    right: float
    marks: list

    @property
    def titles(self):
        return [mark.title for mark in self.marks]


def rows_of(sheets, layers):
    """Return all rows in order, each with the titled marks of ``layers`` that stand in it, from left to right."""
    found = []
    for page, sheet in enumerate(sheets):
        here = {}
        for guide in sheet.guides:
            if guide.role and guide.role != "slant":
                assert abs(guide.start.imag - guide.end.imag) < 1e-9
                row = here.setdefault(guide.row, RowRead(page, guide.row, {}, guide.start.real, guide.end.real, []))
                assert guide.role not in row.lines, "a line drawn twice"
                row.lines[guide.role] = guide.start.imag
        for mark in sorted(sheet.texts(*layers), key=lambda mark: mark.low.real):
            homes = [row for row in here.values() if _stands_in(mark, row)]
            assert len(homes) == 1, (mark, len(homes))
            homes[0].marks.append(mark)
        found += sorted(here.values(), key=lambda row: row.number)
        numbers = [row.number for row in found if row.page == page]
        # from 1 on each page, or going on from the page before
        assert numbers in ([n + 1 for n in range(len(here))], list(range(len(found) - len(here) + 1, len(found) + 1)))
    return found


def _stands_in(mark, row):
    low, high = row.lines.get("descender", row.lines["baseline"]), row.lines.get("ascender", row.lines["x-height"])
    middle = mark.middle
    return low < middle.imag < high and row.left < middle.real < row.right


def assert_rows_true(rows, heights):
    """Every row has its four lines at the numbers of one of ``heights``: (x-height, ascender, descender) in mm."""
    for row in rows:
        base = row.lines["baseline"]
        found = [row.lines[role] - base for role in ("x-height", "ascender") if role in row.lines]
        found += [base - row.lines["descender"]] if "descender" in row.lines else []
        # a line that would lie on another is left out
        wanted = [
            [x, *([up] if up > x + 1e-5 else []), *([down] if down > 1e-5 else [])] for x, up, down in heights
        ]
        assert any(found == pytest.approx(one, abs=0.0011) for one in wanted), (row.number, found, wanted)


def assert_slants_true(sheets, slants):
    """Slant lines lean as they should and stand at the least 5 mm apart along their row."""
    for sheet in sheets:
        feet = {}
        for guide in sheet.guides:
            if guide.role == "slant":
                run = guide.end - guide.start
                angle = np.degrees(np.arctan2(run.imag, run.real)) % 180
                # ends are rounded to 0.001 mm
                slant = min(slants, key=lambda one: abs(one - angle))
                assert abs(angle - slant) < 0.02 + np.degrees(0.0015 / abs(run)), (angle, slants)
                base = {g.row: g.start.imag for g in sheet.guides if g.role == "baseline"}[guide.row]
                shift = (base - guide.start.imag) / np.tan(np.radians(slant))
                feet.setdefault((guide.row, slant), []).append(guide.start.real + shift)
        for here in feet.values():
            assert min(np.diff(sorted(here)), default=9.0) > 5.0 - 0.01


def shapes_of(mark):
    """Return a filled mark as a polygon, rings by the non-zero rule (our letters wind so that odd-even agrees)."""
    area = shapely.Polygon()
    for ring in mark.rings:
        if len(ring) > 2:
            part = shapely.make_valid(shapely.Polygon([(z.real, z.imag) for z in ring]))
            area = area.symmetric_difference(part)
    return area


def drawn_of(mark):
    """Return what a mark covers: filled, or its lines with their width."""
    if mark.filled:
        return shapes_of(mark)
    lines = [shapely.LineString([(z.real, z.imag) for z in ring]) for ring in mark.rings if len(ring) > 1]
    return shapely.union_all([line.buffer(mark.stroke / 2) for line in lines])


def least_gap_of_marks(sheet):
    """Return how near the stroke numbers and arrows come to ink and to one another, in mm (0 where they touch).

    A ring and the digits in it are one mark.
    """
    inks = [shapes_of(mark) for layer in ("ink", "letter", "order") for mark in sheet.texts(layer) if mark.filled]
    marks = [drawn_of(mark) for mark in sheet.marks.get("arrows", [])]
    if not marks:
        return None
    units = []
    for mark in marks:
        home = next((n for n, unit in enumerate(units) if unit.convex_hull.contains(mark)), None)
        if home is None:
            units.append(mark)
        else:
            units[home] = units[home].union(mark)
    tree = shapely.STRtree([*inks, *units])
    gaps = []
    for number, unit in enumerate(units):
        others = [n for n in tree.query(unit.buffer(1.0)) if n != len(inks) + number]
        gaps += [unit.distance(tree.geometries[n]) for n in others]
    return min(gaps, default=1.0)


def assert_proof_apart(sheet):
    """Nothing of the page reaches into its proof marks."""
    proof = sheet.marks.get("proof", [])
    others = [mark for layer, marks in sheet.marks.items() if layer not in ("proof", "crop") for mark in marks]
    for one in proof:
        for other in others:
            assert not svg_pages.overlap(one, other), (one, other)
    rows = [guide for guide in sheet.guides if guide.role]
    for one in proof:
        for guide in rows:
            assert not svg_pages.crosses(guide, one)


def assert_texts_apart(rows, least_mm=0.15):
    """Words of one row do not touch each other."""
    for row in rows:
        shapes = [shapes_of(mark) for mark in row.marks]
        for one, other in pairwise(shapes):
            assert one.distance(other) >= least_mm, row.titles


# What the PDF shows ----------------------------------------------------------------------------------------------


def printed_strips(data, index, width_mm, height_mm):
    """Yield (first row, grey levels) of a page of a PDF, drawn by pdfium at 1200 dpi."""
    document = pypdfium2.PdfDocument(data)
    try:
        page = document[index]
        size = round(width_mm * PX_PER_MM), round(height_mm * PX_PER_MM)
        assert abs(page.get_width() / 72 * 25.4 - width_mm) < 0.001
        assert abs(page.get_height() / 72 * 25.4 - height_mm) < 0.001
        for top in range(0, size[1], STRIP_PX):
            rows = min(STRIP_PX, size[1] - top)
            bitmap = pypdfium2.PdfBitmap.new_native(size[0], rows, pdfium.FPDFBitmap_Gray)
            bitmap.fill_rect((255, 255, 255, 255), 0, 0, size[0], rows)
            pdfium.FPDF_RenderPageBitmap(bitmap, page, 0, -top, *size, 0, 0)
            yield top, np.frombuffer(bitmap.buffer, np.uint8).reshape(rows, bitmap.stride)[:, : size[0]]
        page.close()
    finally:
        document.close()


def drawn_strip(data, top, rows, size, height_mm):
    """Return a strip of an SVG's page, drawn by cairo at the same pixels."""
    text = data.decode()
    start = text.index("<svg")
    end = text.index(">", start)
    scale = size[1] / height_mm
    tag = re.sub(r'viewBox="0 0 (\S+) \S+"', rf'viewBox="0 {top / scale:.9f} \1 {rows / scale:.9f}"', text[start:end])
    tag = re.sub(r' height="[^"]*"', f' height="{rows / scale:.9f}mm"', tag)
    surface = cairosvg.surface.PNGSurface(
        Tree(bytestring=(text[:start] + tag + text[end:]).encode()), None, 96,
        output_width=size[0], output_height=rows, background_color="white",
    )  # fmt: skip
    picture = surface.cairo
    grey = np.frombuffer(picture.get_data(), np.uint8).reshape(rows, picture.get_stride())[:, : 4 * size[0] : 4].copy()
    surface.finish()
    return grey


def stray_pixels(one, other):
    """Return how many pixels are surely ink in ``one`` with no ink in ``other`` within a pixel round them."""
    ys, xs = np.nonzero((one < DARK) & (other > WHITE))
    found = 0
    for y, x in zip(ys, xs, strict=True):
        found += bool(other[max(0, y - 1) : y + 2, max(0, x - 1) : x + 2].min() > WHITE)
    return found


def assert_printed(svg, pdf, index, margin_mm, *, whole=True):
    """The printed page shows what the SVG shows, true to 0.02 mm; return the largest error of a guide line in mm.

    Nothing is outside the margins; every horizontal guide line, measured in the picture, is at its number.
    ``whole`` False measures lines and margins only.
    """
    sheet = svg_pages.read(svg)
    size = round(sheet.width * PX_PER_MM), round(sheet.height * PX_PER_MM)
    scale = size[1] / sheet.height
    white = int(margin_mm * scale) - 4
    guides = [guide for guide in sheet.guides if guide.role and guide.role != "slant"]
    worst, seen, dark_strips = 0.0, 0, 0
    keep = np.zeros((0, size[0]), np.uint8)
    for top, grey in printed_strips(pdf, index, sheet.width, sheet.height):
        if white > 0:
            assert grey[:, :white].min() == 255
            assert grey[:, -white:].min() == 255
            for edge in (range(top, min(top + len(grey), white)), range(max(top, size[1] - white), top + len(grey))):
                assert all(grey[y - top].min() == 255 for y in edge)
        if whole and (drawn := drawn_strip(svg, top, len(grey), size, sheet.height)) is not None:
            assert stray_pixels(grey, drawn) == 0, (index, top)
            assert stray_pixels(drawn, grey) == 0, (index, top)
        # A line near the strip's edge is measured with the rows kept from the strip before.
        tall = np.concatenate((keep, grey))
        first = top - len(keep)
        for guide in guides:
            centre = (sheet.height - guide.start.imag) * scale
            if top - 20 <= centre < top + len(grey) - 20 or (centre >= size[1] - 20 and top + len(grey) == size[1]):
                error = line_error_px(tall, centre - first, guide, scale)
                if error is not None:
                    worst = max(worst, error / scale)
                    seen += 1
        keep = grey[-40:].copy()
        dark_strips += bool(grey.min() < DARK)
    assert dark_strips
    assert seen >= 0.7 * len(guides), (seen, len(guides))
    assert worst < 0.01
    return worst


def line_error_px(grey, centre, guide, scale):
    """Return how far a line's darkness lies from ``centre``, from the columns where nothing else is near."""
    middle = round(centre)
    if middle < 14 or middle + 14 > len(grey):
        return None
    left, right = int(guide.start.real * scale) + 3, int(guide.end.real * scale) - 3
    band = 255 - grey[middle - 13 : middle + 14, left:right].astype(float)
    alone = (band[:3].max(axis=0) < 5) & (band[-3:].max(axis=0) < 5) & (band.max(axis=0) > 60)
    if alone.sum() < 40:
        return None
    profile = np.median(band[:, alone], axis=1)  # a contour that runs along the line for a while does not count
    place = (np.arange(-13, 14) + middle + 0.5) @ profile / profile.sum()
    return abs(place - centre)


def svg_files(document):
    from guidegen.writers import render

    return [data for _, data in render(document, "svg")]


def pdf_file(document):
    from guidegen.writers import render

    ((_, data),) = render(document, "pdf")
    return data


