"""A document made ready for a blade or a laser: one layer for each operation, closed shapes, nothing twice.

The layers are ``cut`` (through the sheet), ``score`` (centrelines to draw, score or plot) and ``engrave`` (areas to
darken). Two more are not shown, so that no machine plots them: ``proof`` (the proof bar, words, and whatever else tells
something about the page) and ``thin`` (rings round what a blade would tear). Operations are told by the layer's name;
the colours only tell them apart.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Literal

from guidegen.errors import GuidegenError
from guidegen.geometry.blade import defects
from guidegen.geometry.blade.kerf import grown
from guidegen.geometry.blade.narrow import Thin, thin_places
from guidegen.geometry.blade.nesting import inner_first, oriented
from guidegen.geometry.blade.resample import resample
from guidegen.geometry.blade.stencil import Bridge, bridged, united
from guidegen.geometry.blade.tidy import tidied
from guidegen.geometry.measure import bounds
from guidegen.geometry.path import Outline, Path, Segment, polyline, reverse
from guidegen.scene import (
    WHITE,
    AffineMap,
    Document,
    Ink,
    Item,
    Layer,
    Line,
    Page,
    Purpose,
    Shape,
    Style,
    flattened,
    painted,
)
from guidegen.shop.cut_extras import length_note, register_marks, weed_box, wide_bridge_notes

COLOURS: Mapping[Purpose, Ink] = {
    Purpose.CUT: Ink((0.76, 0.10, 0.42)),
    Purpose.SCORE: Ink((0.00, 0.47, 0.42)),
    Purpose.ENGRAVE: Ink((0.24, 0.29, 0.66)),
    Purpose.PROOF: Ink((0.45, 0.45, 0.45)),
    Purpose.THIN: Ink((0.90, 0.42, 0.00)),
}
VINYL_MM = 2.0
"""Plotted vinyl: strokes and gaps of at least 2 mm (several workshops)."""
LINE_MM = 0.01
"""The width of a line that lasers cut rather than engrave (several workshops)."""
TOLERANCE_MM = 0.01
NOTHING_MM = 0.002
SHORTEST_MM = 0.05
"""Segments of a contour are no shorter: a machine stutters on crumbs (common practice, no source)."""
_RING_MARGIN = 1.0
_MOST_RINGS = 300


@dataclass(frozen=True, slots=True)
class CutOptions:
    """What is asked of a cut file. Lengths in mm; ``bridges_mm`` None cuts letters whole.

    ``slant_deg`` is the letters' axis from the baseline, and bridges run along it where ``bridges_along`` says
    ``slant``. ``kerf_mm`` is what the beam burns away: the letters grow by half of it or, with bridges, where the
    sheet round them is what is kept, shrink by half of it. ``weed_box_mm`` is the white between the work and a frame
    to weed it by. ``register`` adds squares to lay sheets on each other by. ``thin_marks`` False leaves out the rings
    round thin places; what is thin is told all the same.
    """

    bridges_mm: float | None = None
    min_feature_mm: float = VINYL_MM
    mirror: bool = False
    colours: Mapping[Purpose, Ink] = field(default_factory=lambda: COLOURS)
    tolerance_mm: float = TOLERANCE_MM
    thin_marks: bool = True
    bridges_along: Literal["vertical", "slant"] = "vertical"
    slant_deg: float = 90.0
    kerf_mm: float = 0.0
    weed_box_mm: float | None = None
    register: bool = False


@dataclass(slots=True)
class _Sorted:
    """The items of one page by operation."""

    shapes: list[Outline] = field(default_factory=list)
    lines: list[Path] = field(default_factory=list)
    areas: list[Outline] = field(default_factory=list)
    proof: list[Item] = field(default_factory=list)
    letters: list[tuple[str, complex]] = field(default_factory=list)
    single: list[tuple[str, complex, complex]] = field(default_factory=list)
    """Letters that are a shape of their own, each with the corners of the box round it."""


def prepare_for_cut(document: Document, options: CutOptions | None = None) -> Document:
    """Return ``document`` for a cutting machine; its notes say what was found too thin.

    Shapes of the layers ``ink`` and ``letter`` are cut: united, outer contours anticlockwise and holes clockwise,
    each contour a shape of its own, inner before outer. Lines become the layer ``score``, other filled letters
    ``engrave``. What tells something about the page is not shown. White covers nothing on a sheet and is left out.

    Raises:
        GuidegenError: when nothing is left to cut, or bridges cannot tie a counter.
    """
    options = options or CutOptions()
    pages = []
    thin: list[Thin] = []
    told = list(document.notes)
    for page in document.pages:
        prepared, found, notes = _page(page, options)
        pages.append(prepared)
        thin += found
        told += notes
    if not any(layer.purpose is Purpose.CUT for page in pages for layer in page.layers):
        raise GuidegenError(f"{document.title}: nothing to cut, no letters or ink on it")
    made = replace(document, pages=tuple(pages))
    return replace(made, notes=(*told, *_thin_notes(thin, options.min_feature_mm), length_note(made)))


def _page(page: Page, options: CutOptions) -> tuple[Page, list[Thin], list[str]]:
    found = _sort(page)
    shapes = united([oriented(outline, NOTHING_MM * 5) for outline in found.shapes], options.tolerance_mm)
    notes: list[str] = []
    if options.bridges_mm is not None:
        shapes, bridges = _tied(shapes, options.bridges_mm, options)
        notes = wide_bridge_notes(bridges, found.letters, _lean(options.slant_deg), found.single)
    whole = (path for path in (clean(path) for path in oriented(shapes, NOTHING_MM * 5)) if path is not None)
    contours = _once([tidied(path, SHORTEST_MM, options.tolerance_mm / 2) for path in whole])
    thin = thin_places(contours, options.min_feature_mm) if contours else []
    contours = _with_extras(page, contours, options)
    colours = {**COLOURS, **options.colours}
    told = colours[Purpose.PROOF]
    ringed = thin[:_MOST_RINGS] if options.thin_marks else []
    layers = [
        Layer(Purpose.ENGRAVE, tuple(Shape(area, Style(fill=colours[Purpose.ENGRAVE])) for area in found.areas)),
        Layer(Purpose.SCORE, _stroked(_few_nodes(_once(found.lines), options.tolerance_mm), colours[Purpose.SCORE])),
        Layer(Purpose.CUT, _stroked(inner_first(contours, NOTHING_MM * 5), colours[Purpose.CUT])),
        Layer(Purpose.PROOF, tuple(painted(item, lambda _: told) for item in found.proof), shown=False),
        Layer(Purpose.THIN, _stroked([_ring(place) for place in ringed], colours[Purpose.THIN]), shown=False),
    ]
    if options.mirror:
        mirror = AffineMap(-1, 1j, page.width_mm)
        layers = [layer if layer.purpose is Purpose.PROOF else mirror.layer(layer) for layer in layers]
    kept = tuple(layer for layer in layers if layer.items)
    return replace(page, layers=kept, background=None, links=()), thin, notes


def _with_extras(page: Page, contours: list[Path], options: CutOptions) -> list[Path]:
    """Return the contours as the beam should run, and the frame and marks that were asked for."""
    if not contours:
        return contours
    if options.kerf_mm:
        half = options.kerf_mm / 2 * (1 if options.bridges_mm is None else -1)
        grown_ones = grown(tuple(contours), half, options.tolerance_mm)
        contours = [tidied(path, SHORTEST_MM, options.tolerance_mm / 2) for path in grown_ones]
        if not contours:
            raise GuidegenError(f"`kerf_mm` {options.kerf_mm:g} mm: nothing is left of letters so thin")
    if options.weed_box_mm is not None:
        contours = [*contours, weed_box(contours, options.weed_box_mm)]
    if not options.register:
        return contours
    marks = register_marks(page, contours)
    # outermost contours all turn one way: the frame runs clockwise, and so do the marks beside it
    return [*contours, *(marks if options.weed_box_mm is None else map(reverse, marks))]


def _lean(slant_deg: float) -> complex:
    return cmath.rect(1.0, math.radians(slant_deg))


def _tied(shapes: Outline, width_mm: float, options: CutOptions) -> tuple[Outline, tuple[Bridge, ...]]:
    axis = _lean(options.slant_deg) if options.bridges_along == "slant" else 1j
    try:
        return bridged(shapes, width_mm, options.tolerance_mm, axis)
    except ValueError as error:
        raise GuidegenError(f"`bridges_mm` {width_mm:g} mm: {error}; try narrower bridges or larger letters") from None


def _sort(page: Page) -> _Sorted:
    found = _Sorted()
    inked = any(layer.purpose.may_be_cut for layer in page.layers if layer.items)
    for layer in page.layers:
        for item in (flat for whole in layer.items for flat in flattened(whole)):
            if layer.purpose.is_mark:
                found.proof += [item] if WHITE not in (item.style.fill, item.style.stroke) else []
            elif isinstance(item, Line):
                if item.style.stroke != WHITE:
                    found.lines.append(polyline((item.start, item.end)))
            else:
                _sort_shape(item, layer.purpose.may_be_cut if inked else layer.purpose is Purpose.TRACE, found)
    return found


def _sort_shape(shape: Shape, is_cut: bool, found: _Sorted) -> None:
    style = shape.style
    closed = tuple(path for path in shape.paths if path.closed)
    if is_cut and closed:
        found.shapes.append(closed)
        found.letters += shape.letters
        if shape.name is not None and len(shape.name) == 1:
            found.single.append((shape.name, *bounds(closed)))
    elif style.fill is not None:
        if style.fill != WHITE and closed:
            found.areas.append(closed)
        return
    elif style.stroke_mm is not None and style.stroke != WHITE:
        found.lines += shape.paths
        return
    found.lines += [path for path in shape.paths if not path.closed]


def clean(path: Path) -> Path | None:
    """Return ``path`` without segments of no length and with straight runs as one line; None when nothing is left."""
    segments: list[Segment] = []
    now = path.start
    for segment in path.segments:
        if all(abs(z - now) <= NOTHING_MM for z in segment):
            continue
        # the handle moves along: a curve keeps the direction it leaves in
        moved = (now, segment[1] + now - segment[0], *segment[2:]) if len(segment) == 4 else (now, segment[1])
        if segments and len(moved) == len(segments[-1]) == 2 and _goes_on(segments[-1], moved):
            segments[-1] = (segments[-1][0], moved[1])
        else:
            segments.append(moved)
        now = moved[-1]
    if not segments:
        return None
    if path.closed:
        segments[-1] = (*segments[-1][:-1], segments[0][0])
        if len(segments) > 2 and len(segments[0]) == len(segments[-1]) == 2 and _goes_on(segments[-1], segments[0]):
            segments[0] = (segments.pop()[0], segments[0][1])
        low, high = bounds((Path(tuple(segments), True),))
        if min((high - low).real, (high - low).imag) < NOTHING_MM:
            return None
    return Path(tuple(segments), path.closed)


def _goes_on(a: Segment, b: Segment) -> bool:
    """True when two lines make one within a tenth of a micrometre, without turning back."""
    whole = b[1] - a[0]
    if abs(whole) == 0 or ((b[1] - b[0]) * (a[1] - a[0]).conjugate()).real <= 0:
        return False
    return abs((whole.conjugate() * (a[1] - a[0])).imag) / abs(whole) < 1e-4


def _once(paths: list[Path]) -> list[Path]:
    """Return the paths without repeats, in whatever direction and from whatever start they run."""
    kept: dict[defects.PathKey, Path] = {}
    for path in paths:
        kept.setdefault(defects.path_key(path, NOTHING_MM), path)
    return list(kept.values())


def _few_nodes(paths: list[Path], tolerance_mm: float) -> list[Path]:
    """Return the paths with as few nodes as the tolerance allows; corners stay, a path that is short already too."""
    found = []
    for path in paths:
        fewer = resample(path, tolerance_mm)
        found.append(fewer if len(fewer.segments) < len(path.segments) else path)
    return found


def _stroked(paths: list[Path] | tuple[Path, ...], ink: Ink) -> tuple[Item, ...]:
    style = Style(stroke_mm=LINE_MM, stroke=ink)
    return tuple(Shape((path,), style) for path in paths)


def _ring(place: Thin) -> Path:
    """Return an open ring about a thin place: eight lines are enough to find it by."""
    radius = min(place.reach, 4.0) + _RING_MARGIN
    corners = [place.at + radius * complex(a, b) for a, b in _OCTAGON]
    return polyline(corners, closed=True)


_HALF = 0.7071067811865476
_OCTAGON = ((1, 0), (_HALF, _HALF), (0, 1), (-_HALF, _HALF), (-1, 0), (-_HALF, -_HALF), (0, -1), (_HALF, -_HALF))


def only(document: Document, operation: Purpose) -> Document:
    """Return ``document``, prepared for cutting, with one operation alone, for formats that have no layers.

    Raises:
        GuidegenError: when no page has any of it.
    """
    layers = [tuple(layer for layer in page.layers if layer.purpose is operation) for page in document.pages]
    kept = tuple(replace(page, layers=own) for page, own in zip(document.pages, layers, strict=True) if own)
    if not kept:
        raise GuidegenError(f"`operation` {operation}: there is nothing to {operation} in {document.title}")
    return replace(document, pages=kept)


def _thin_notes(thin: list[Thin], width_mm: float) -> list[str]:
    if not thin:
        return []
    gaps = sum(place.is_gap for place in thin)
    places = f"{_counted(len(thin) - gaps, 'stroke')} and {_counted(gaps, 'gap')} narrower than {width_mm:g} mm"
    least = min(place.width for place in thin)
    return [
        f"{places}, the narrowest about {least:.2g} mm: a blade may tear them; "  # noqa: ISC004  one note
        f"layer {Purpose.THIN}, which is not plotted, rings them; `min_feature_mm` sets the width"
    ]


def _counted(count: int, what: str) -> str:
    return f"{count} {what}{'' if count == 1 else 's'}"
