"""Scene items as PDF drawing operators (ISO 32000-1, 8.4 and 8.5), in millimetres, rounded to 0.001 mm."""

from __future__ import annotations

from collections.abc import Callable

from guidegen.geometry.path import Path
from guidegen.scene import Ink, Line, Shape, Style, Visitor
from guidegen.writers.numbers import number


class Operators(Visitor):
    """Collects operators and repeats no graphics state that is already set.

    A form starts from the state of the page that shows it, so every collector sets all it needs itself.
    """

    def __init__(self, colour_of: Callable[[Ink, str], str] | None = None) -> None:
        self._code: list[str] = []
        self._state: dict[str, str] = {}
        self._colour = colour_of or colour

    def take(self) -> str:
        """Return what was collected since the last call; the graphics state is remembered."""
        code = "\n".join(self._code)
        self._code = []
        return code

    def rectangle(self, width_mm: float, height_mm: float, ink: Ink) -> None:
        """Fill the page with ``ink``."""
        self._set("fill", self._colour(ink, "fill"))
        self._code.append(f"0 0 {number(width_mm, 6)} {number(height_mm, 6)} re f")

    def line(self, line: Line, by: complex = 0j) -> None:
        """Draw one line."""
        self._stroke(line.style)
        self._code.append(f"{_at(line.start + by)} m {_at(line.end + by)} l S")

    def shape(self, shape: Shape, by: complex = 0j) -> None:
        """Draw one shape."""
        style = shape.style
        if style.stroke_mm is not None:
            self._stroke(style)
        if style.fill is not None:
            self._set("fill", self._colour(style.fill, "fill"))
        paint = {(False, True): "f", (True, False): "S", (True, True): "B"}.get(
            (style.stroke_mm is not None, style.fill is not None)
        )
        if paint and shape.paths:
            self._code.append(f"{' '.join(_path(path, by) for path in shape.paths)} {paint}")

    def _stroke(self, style: Style) -> None:
        dash = " ".join(number(part) for part in style.dash_mm)
        self._set("width", f"{number(style.stroke_mm or 0.0, 4)} w")
        self._set("dash", f"[{dash}] 0 d")
        self._set("ends", "1 J 1 j" if style.round_ends else "0 J 0 j")
        self._set("stroke", self._colour(style.stroke, "stroke"))

    def _set(self, key: str, operator: str) -> None:
        if self._state.get(key) != operator:
            self._state[key] = operator
            self._code.append(operator)


def colour(ink: Ink, use: str) -> str:
    """Return the operator that sets the ``fill`` or ``stroke`` colour: DeviceGray for greys, else DeviceRGB."""
    red, green, blue = (number(part, 4) for part in ink.rgb)
    if red == green == blue:
        return f"{red} {'g' if use == 'fill' else 'G'}"
    return f"{red} {green} {blue} {'rg' if use == 'fill' else 'RG'}"


def _at(z: complex) -> str:
    return f"{number(z.real)} {number(z.imag)}"


def _path(path: Path, by: complex) -> str:
    """Return the operators of a path moved by ``by``.

    Segments that vanish in the rounding are left out, unless that is all of it.
    """
    if not path.segments:
        return ""
    chains = [tuple([_at(z + by) for z in segment]) for segment in path.segments]
    chains = [chain for chain in chains if len(set(chain)) > 1] or chains[:1]
    drawn = (" ".join(chain[1:]) + (" l" if len(chain) == 2 else " c") for chain in chains)
    return " ".join((f"{chains[0][0]} m", *drawn, *("h" for _ in range(path.closed))))
