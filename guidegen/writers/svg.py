"""A page as SVG: one user unit is one millimetre, y down, no transforms, no text, no references.

One group per layer id, a direct child of the root; layers that carry a marker become subgroups with
``data-marker``. This is the only place where coordinates of an SVG are rounded, to 0.001 mm.
"""

from __future__ import annotations

import io
from typing import Any

from guidegen.geometry.path import Path
from guidegen.scene import Ink, Layer, Line, Page, Purpose, Shape, Style, Visitor
from guidegen.writers.numbers import number
from guidegen.writers.svg_library import svg_library


def svg_bytes(page: Page, title: str = "", description: str = "", *, transparent: bool = False) -> bytes:
    """Return ``page`` as a complete SVG file (UTF-8).

    ``title`` and ``description`` stand in for what the page itself does not say; ``transparent`` leaves out
    the page's background.
    """
    width, height = number(page.width_mm), number(page.height_mm)
    size, box = (f"{width}mm", f"{height}mm"), f"0 0 {width} {height}"
    drawing = svg_library().Drawing(size=size, viewBox=box, debug=False)
    drawing["role"] = "img"
    drawing.set_desc(title=page.title or title or None, desc=page.description or description or None)
    if page.background is not None and not transparent:
        ground = drawing.add(drawing.g(id=Purpose.BACKGROUND.value))
        ground.add(drawing.rect(insert=(0, 0), size=(width, height), fill=hex_colour(page.background)))
    groups: dict[str, Any] = {}
    elements = _Elements(drawing, page.height_mm)
    for layer in page.layers:
        group = groups.get(layer.id)
        if group is None:
            group = groups[layer.id] = drawing.add(drawing.g(id=layer.id))
            if not layer.shown:
                group["display"] = "none"
        elements.layer(group, layer)
    text = io.StringIO()
    drawing.write(text)
    return (text.getvalue() + "\n").encode("utf-8")


def hex_colour(ink: Ink) -> str:
    """Return the screen colour of ``ink`` as ``#rrggbb``."""
    return "#" + "".join(f"{round(255 * min(max(part, 0.0), 1.0)):02x}" for part in ink.rgb)


def path_data(paths: tuple[Path, ...], height_mm: float, shift: complex = 0j) -> str:
    """Return the ``d`` attribute of ``paths`` moved by ``shift``, y turned down; "" when nothing is left.

    Segments that vanish in the rounding are left out, and a closing straight line is left to ``Z``.
    """
    return "".join(_one_path(path, height_mm, shift) for path in paths)


def _one_path(path: Path, height_mm: float, shift: complex) -> str:
    def at(z: complex) -> str:
        return f"{number(z.real + shift.real)} {number(height_mm - z.imag - shift.imag)}"

    chains: list[tuple[str, ...]] = []
    here, place = at(path.start), path.start
    for segment in path.segments:  # a segment starts where the one before ended, which is written already
        first = here if segment[0] == place else at(segment[0])
        chains.append((first, *[at(z) for z in segment[1:]]))
        here, place = chains[-1][-1], segment[-1]
    chains = [chain for chain in chains if len(set(chain)) > 1]
    if not chains:
        return ""
    start = chains[0][0]
    if path.closed and len(chains) > 1 and len(chains[-1]) == 2 and chains[-1][1] == start:
        chains.pop()
    commands = (("L" if len(chain) == 2 else "C") + " ".join(chain[1:]) for chain in chains)
    return f"M{start}" + "".join(commands) + ("Z" if path.closed else "")


class _Elements(Visitor):
    """Adds items to a group as elements."""

    def __init__(self, drawing: Any, height_mm: float) -> None:
        self._drawing = drawing
        self._height_mm = height_mm
        self._target: Any = None

    def layer(self, group: Any, layer: Layer) -> None:
        """Add ``layer`` to its group, in a subgroup where it carries a marker."""
        self._target = group
        if layer.marker is not None:
            self._target = group.add(self._drawing.g())
            self._target.attribs["data-marker"] = layer.marker
        self.visit(layer.items)

    def line(self, line: Line, by: complex = 0j) -> None:
        ends = (line.start + by, line.end + by)
        (x1, y1), (x2, y2) = ((number(z.real), number(self._height_mm - z.imag)) for z in ends)
        element = self._target.add(self._drawing.line(start=(x1, y1), end=(x2, y2)))
        if line.role is not None:
            element.attribs["data-line"] = line.role
        if line.row is not None:
            element.attribs["data-row"] = str(line.row)
        element.attribs.update(_stroke_attributes(line.style))

    def shape(self, shape: Shape, by: complex = 0j) -> None:
        data = path_data(shape.paths, self._height_mm, by)
        if not data:
            return
        element = self._target.add(self._drawing.path(d=data))
        fill = shape.style.fill
        element.attribs["fill"] = "none" if fill is None else hex_colour(fill)
        element.attribs.update(_stroke_attributes(shape.style))
        if shape.name:
            element.set_desc(title=shape.name)


def _stroke_attributes(style: Style) -> dict[str, str]:
    if style.stroke_mm is None:
        return {}
    attributes = {"stroke": hex_colour(style.stroke), "stroke-width": number(style.stroke_mm)}
    if style.dash_mm:
        attributes["stroke-dasharray"] = " ".join(number(part) for part in style.dash_mm)
    if style.round_ends:
        attributes["stroke-linecap"] = attributes["stroke-linejoin"] = "round"
    return attributes
