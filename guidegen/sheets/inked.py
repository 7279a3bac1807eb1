"""A drawing inked with a marker, on the drawing's own page and coordinates."""

from __future__ import annotations

import warnings

from guidegen.geometry.union.unite import StraightEdges
from guidegen.lettering.drawing import LineDrawing, ink_drawing
from guidegen.lettering.lettering import Lettering
from guidegen.lettering.letters import INK_TOLERANCE_MM
from guidegen.scene import BLACK, Document, Ink, Layer, Page, Purpose, Shape, Style

_CENTRELINE_MM = 0.18


def inked_drawing(
    drawing: LineDrawing,
    lettering: Lettering,
    *,
    title: str,
    tolerance_mm: float = INK_TOLERANCE_MM,
    centrelines: bool = False,
    ink: Ink = BLACK,
) -> Document:
    """Return ``drawing`` as ink outlines; the document's notes say if their curves had to become lines.

    Args:
        drawing, lettering, tolerance_mm: see :func:`guidegen.lettering.drawing.ink_drawing`.
        title: of the page.
        centrelines: keep the centrelines, as thin lines in a layer of their own, beside the outlines.
        ink: colour of the ink.

    Raises:
        GuidegenError: when widths that the drawing states do not fit its lines.
    """
    with warnings.catch_warnings(record=True) as told:
        warnings.simplefilter("always", StraightEdges)
        outline = ink_drawing(drawing, lettering, tolerance_mm)
    notes = tuple(f"the ink is as true as asked, but {w.message}" for w in told if w.category is StraightEdges)
    layers = [Layer(Purpose.INK, (Shape(outline, Style(fill=ink), "Ink"),))]
    if centrelines:
        paths = tuple(line.path for line in drawing.lines)
        thin = Style(stroke_mm=_CENTRELINE_MM, stroke=ink)
        layers.append(Layer(Purpose.TRACE, (Shape(paths, thin, "Centrelines"),)))
    page = Page(drawing.width_mm, drawing.height_mm, tuple(layers), title, f"Inked with {lettering.marker.label}.")
    return Document((page,), title, page.description, notes=notes)
