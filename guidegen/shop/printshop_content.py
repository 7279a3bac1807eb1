"""Pages as content for a press: CMYK and spot colours only, black overprinting, one group of marks a layer."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import TypeVar

from guidegen.scene import Ink, Line, Page, Purpose, Shape, Style
from guidegen.writers.numbers import number
from guidegen.writers.pdf_operators import Operators

_Item = TypeVar("_Item", Line, Shape)

OVER, KNOCK = "/GSover gs", "/GSknock gs"
MARK_MM = 0.1
"""Width of a crop mark: .28 pt, above the .25 pt that printers ask for."""


@dataclass(slots=True)
class Plates:
    """The spot plates met so far, each with the CMYK that stands in for its full strength.

    An ink of a plate is a tint of it: as strong as its CMYK is next to the plate's. The first ink met of a plate
    counts as its full strength, so plates known beforehand are given to begin with.
    """

    spots: dict[str, tuple[float, float, float, float]] = field(default_factory=dict)

    def operator(self, ink: Ink, use: str) -> str:
        """Return the operators that set a colour; never grey or RGB."""
        if ink.spot is not None:
            solid = max(self.spots.setdefault(ink.spot, ink.cmyk))
            tint = min(1.0, max(ink.cmyk) / solid) if solid > 0 else 1.0
            name = f"/CS{list(self.spots).index(ink.spot) + 1}"
            small = use == "fill"
            return f"{name} {'cs' if small else 'CS'} {number(tint, 4)} {'scn' if small else 'SCN'}"
        parts = " ".join(number(part, 4) for part in ink.cmyk)
        return f"{parts} {'k' if use == 'fill' else 'K'}"


class PressOperators(Operators):
    """Operators for a press: solid black overprints, everything else knocks out.

    Where ``ink`` is set, everything is drawn in it, tints kept.
    """

    def __init__(self, plates: Plates) -> None:
        super().__init__(plates.operator)
        self.ink: Ink | None = None

    def line(self, line: Line, by: complex = 0j) -> None:
        """Draw one line."""
        line = self._inked(line)
        self._overprint([line.style.stroke] if line.style.stroke_mm is not None else [])
        super().line(line, by)

    def shape(self, shape: Shape, by: complex = 0j) -> None:
        """Draw one shape."""
        shape = self._inked(shape)
        inks = [shape.style.stroke] if shape.style.stroke_mm is not None else []
        self._overprint([*inks, shape.style.fill] if shape.style.fill is not None else inks)
        super().shape(shape, by)

    def _overprint(self, inks: list[Ink]) -> None:
        self._set("overprint", OVER if inks and all(_is_black(ink) for ink in inks) else KNOCK)

    def _inked(self, item: _Item) -> _Item:
        wanted = self.ink
        if wanted is None:
            return item
        return replace(item, style=item.style.painted(lambda old: _tinted(old, wanted)))


def _is_black(ink: Ink) -> bool:
    return ink.spot is None and ink.cmyk == (0.0, 0.0, 0.0, 1.0)


def page_content(page: Page, plates: Plates, bleed_mm: float, inks: Mapping[Purpose, Ink], *, layered: bool) -> str:
    """Return the operators of one page in mm, its trim's lower left corner at the origin.

    ``inks`` replaces the colours of whole layers, tints kept. Layers become marked content ``/OC /<id>``.
    """
    press = PressOperators(plates)
    low, wide, high = -bleed_mm, page.width_mm + 2 * bleed_mm, page.height_mm + 2 * bleed_mm
    code = [f"{number(low)} {number(low)} {number(wide)} {number(high)} re W n"]
    if page.background is not None:
        ground = Operators(plates.operator)
        ground.rectangle(wide, high, page.background)
        code.append(f"q 1 0 0 1 {number(low)} {number(low)} cm\n{KNOCK}\n{ground.take()}\nQ")
    for layer in page.layers:
        press.ink = inks.get(layer.purpose)
        press.visit(layer.items)
        drawn = press.take()
        if drawn:
            code.append(f"/OC /{layer_key(layer.id)} BDC\n{drawn}\nEMC" if layered else drawn)
    return "\n".join(code)


def layer_key(name: str) -> str:
    """Return a layer's name as it stands in the resources."""
    return "L" + "".join(c if c.isascii() and c.isalnum() else f"_{ord(c):x}" for c in name)


def marks_content(edges_x: list[float], edges_y: list[float], low: complex, high: complex, length_mm: float) -> str:
    """Return crop marks in solid black at each trim edge, outside the box ``low`` to ``high`` (the bleed's)."""
    ink = PressOperators(Plates())
    style = Style(stroke_mm=MARK_MM)
    for x in sorted(set(edges_x)):
        ink.line(Line(complex(x, low.imag - length_mm), complex(x, low.imag), style))
        ink.line(Line(complex(x, high.imag), complex(x, high.imag + length_mm), style))
    for y in sorted(set(edges_y)):
        ink.line(Line(complex(low.real - length_mm, y), complex(low.real, y), style))
        ink.line(Line(complex(high.real, y), complex(high.real + length_mm, y), style))
    return ink.take()


def _tinted(old: Ink, ink: Ink) -> Ink:
    """Return ``ink`` as strong as ``old`` was; white stays white."""
    share = max(old.cmyk)
    if share == 0:
        return old
    return replace(ink, cmyk=tuple(part * share for part in ink.cmyk))  # type: ignore[arg-type]
