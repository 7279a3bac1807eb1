"""Pages as content for a press: CMYK and spot colours only, black overprinting, one group of marks a layer."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import TypeVar

from guidegen.scene import WHITE, Ink, Item, Line, Page, Purpose, Shape, Style
from guidegen.writers.numbers import number
from guidegen.writers.pdf_operators import Operators

_Item = TypeVar("_Item", Line, Shape)

REGISTRATION = "All"
"""The plate that stands for all of them (ISO 32000-1, 8.6.6.4)."""
REGISTRATION_KEY = "/CSall"
OVER, KNOCK = "/GSover gs", "/GSknock gs"
AT_TRIM_MM = 0.05
"""A guide line that ends so near to the trim runs up to it."""
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

    Where ``ink`` is set, everything is drawn in it, tints kept; where ``over`` is, everything overprints or knocks out.
    """

    def __init__(self, plates: Plates) -> None:
        super().__init__(plates.operator)
        self.ink: Ink | None = None
        self.over: bool | None = None

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
        usual = bool(inks) and all(_is_black(ink) for ink in inks)
        over = usual if self.over is None or WHITE in inks else self.over  # white that overprints would vanish
        self._set("overprint", OVER if over else KNOCK)

    def _inked(self, item: _Item) -> _Item:
        wanted = self.ink
        if wanted is None:
            return item
        return replace(item, style=item.style.painted(lambda old: _tinted(old, wanted)))


def _is_black(ink: Ink) -> bool:
    return ink.spot is None and ink.cmyk == (0.0, 0.0, 0.0, 1.0)


def page_content(
    page: Page,
    plates: Plates,
    bleed_mm: float,
    inks: Mapping[Purpose, Ink],
    *,
    layered: bool,
    guides_over: bool | None = None,
) -> str:
    """Return the operators of one page in mm, its trim's lower left corner at the origin.

    ``inks`` replaces the colours of whole layers, tints kept. Layers become marked content ``/OC /<id>``. Guide lines
    that reach the trim run on through the bleed; ``guides_over`` says whether they overprint, None leaves it to their
    ink.
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
        press.over = guides_over if layer.purpose.is_guide else None
        guides = layer.purpose.is_guide and bleed_mm > 0
        press.visit(_bled(item, page, bleed_mm) for item in layer.items) if guides else press.visit(layer.items)
        drawn = press.take()
        if drawn:
            code.append(f"/OC /{layer_key(layer.id)} BDC\n{drawn}\nEMC" if layered else drawn)
    return "\n".join(code)


def _bled(item: Item, page: Page, bleed_mm: float) -> Item:
    """Return a line with the ends that reach the trim moved out to the bleed's edge, along its own way."""
    if not isinstance(item, Line) or item.start == item.end:
        return item
    way = (item.end - item.start) / abs(item.end - item.start)
    return replace(item, start=_out(item.start, -way, page, bleed_mm), end=_out(item.end, way, page, bleed_mm))


def _out(spot: complex, way: complex, page: Page, bleed_mm: float) -> complex:
    sides = (
        (spot.real, -way.real), (page.width_mm - spot.real, way.real),
        (spot.imag, -way.imag), (page.height_mm - spot.imag, way.imag),
    )  # fmt: skip
    steep = 1e-3  # a line along an edge does not run out over it
    reach = [bleed_mm / speed for room, speed in sides if abs(room) < AT_TRIM_MM and speed > steep]
    return spot + way * min(reach) if reach else spot


def layer_key(name: str) -> str:
    """Return a layer's name as it stands in the resources."""
    return "L" + "".join(c if c.isascii() and c.isalnum() else f"_{ord(c):x}" for c in name)


def marks_content(edges_x: list[float], edges_y: list[float], low: complex, high: complex, length_mm: float) -> str:
    """Return crop marks on every plate at each trim edge, outside the box ``low`` to ``high`` (the bleed's)."""
    ink = Operators(lambda _, use: f"{REGISTRATION_KEY} {'cs 1 scn' if use == 'fill' else 'CS 1 SCN'}")
    style = Style(stroke_mm=MARK_MM)
    for x in sorted(set(edges_x)):
        ink.line(Line(complex(x, low.imag - length_mm), complex(x, low.imag), style))
        ink.line(Line(complex(x, high.imag), complex(x, high.imag + length_mm), style))
    for y in sorted(set(edges_y)):
        ink.line(Line(complex(low.real - length_mm, y), complex(low.real, y), style))
        ink.line(Line(complex(high.real, y), complex(high.real + length_mm, y), style))
    return f"{KNOCK}\n{ink.take()}"


def _tinted(old: Ink, ink: Ink) -> Ink:
    """Return ``ink`` as strong as ``old`` was; white stays white."""
    share = max(old.cmyk)
    if share == 0:
        return old
    return replace(ink, cmyk=tuple(part * share for part in ink.cmyk))  # type: ignore[arg-type]
