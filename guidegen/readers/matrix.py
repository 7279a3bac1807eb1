"""Affine maps of the plane as (a, b, c): x + iy goes to a*x + b*y + c."""

from __future__ import annotations

import cmath
import math
import re

from guidegen.geometry.path import Path, Segment, affine
from guidegen.limits import NUMBER

Matrix = tuple[complex, complex, complex]
IDENTITY: Matrix = (1 + 0j, 1j, 0j)
_STEP = re.compile(r"[\s,]*+(matrix|translate|scale|rotate|skewX|skewY)\s*+\(([^()]{0,400}+)\)[\s,]*+", re.ASCII)
_NUMBER = re.compile(r"[-+]?+" + NUMBER)
_NUMBERS = re.compile(rf"[\s,]*+(?>[-+]?+{NUMBER}[\s,]*+)*+", re.ASCII)
_COUNTS = {"matrix": (6,), "translate": (1, 2), "scale": (1, 2), "rotate": (1, 3), "skewX": (1,), "skewY": (1,)}
_MOST_STEPS = 100


def then(inner: Matrix, outer: Matrix) -> Matrix:
    """Return the map that does ``inner`` first and ``outer`` after it."""
    a, b, c = inner
    return _turn(outer, a), _turn(outer, b), at(outer, c)


def at(matrix: Matrix, z: complex) -> complex:
    """Return where ``matrix`` takes the point ``z``."""
    return _turn(matrix, z) + matrix[2]


def _turn(matrix: Matrix, z: complex) -> complex:
    return matrix[0] * z.real + matrix[1] * z.imag


def moved(path: Path, matrix: Matrix) -> Path:
    """Return ``path`` as ``matrix`` takes it."""
    return affine(path, *matrix)


def size_factor(matrix: Matrix) -> float:
    """Return by how much lengths grow on average (the root of the area's growth): what line widths take."""
    a, b, _ = matrix
    return math.sqrt(abs((a.conjugate() * b).imag))


def from_six(values: tuple[float, ...]) -> Matrix:
    """Return the map of six numbers a b c d e f as SVG and PDF write it."""
    a, b, c, d, e, f = values
    return complex(a, b), complex(c, d), complex(e, f)


def is_transform(text: str) -> bool:
    """Tell whether an SVG ``transform`` attribute is whole: known names, the right count of finite numbers, no more."""
    place, steps = 0, 0
    if text.strip() in ("", "none"):
        return True
    while place < len(text) and steps < _MOST_STEPS:
        step = _STEP.match(text, place)
        if step is None or not _NUMBERS.fullmatch(step[2]):
            return False
        values = [float(number) for number in _NUMBER.findall(step[2])]
        turned = _one_step(step[1], values)
        if len(values) not in _COUNTS[step[1]] or not all(map(cmath.isfinite, turned)):
            return False
        place, steps = step.end(), steps + 1
    return place == len(text)


def parse_transform(text: str) -> Matrix:
    """Return the map that an SVG ``transform`` attribute describes; unknown parts end it, as in browsers."""
    result, place = IDENTITY, 0
    for _ in range(_MOST_STEPS):
        step = _STEP.match(text, place)
        if step is None:
            break
        place = step.end()
        values = [float(number) for number in _NUMBER.findall(step[2])]
        result = then(_one_step(step[1], values), result)
    return result


def _one_step(name: str, v: list[float]) -> Matrix:  # noqa: PLR0911  # one for each kind
    if name == "matrix" and len(v) == 6:
        return from_six(tuple(v))
    if name == "translate" and v:
        return 1 + 0j, 1j, complex(v[0], v[1] if len(v) > 1 else 0.0)
    if name == "scale" and v:
        return complex(v[0], 0), complex(0, v[1] if len(v) > 1 else v[0]), 0j
    if name == "rotate" and v:
        turn = complex(math.cos(math.radians(v[0])), math.sin(math.radians(v[0])))
        centre = complex(v[1], v[2]) if len(v) > 2 else 0j
        return turn, 1j * turn, centre - turn * centre
    if name == "skewX" and v:
        return 1 + 0j, complex(math.tan(math.radians(v[0])), 1), 0j
    if name == "skewY" and v:
        return complex(1, math.tan(math.radians(v[0]))), 1j, 0j
    return IDENTITY


def ellipse(centre: complex, rx: float, ry: float, start: float, sweep: float, turn: float = 0.0) -> list[Segment]:
    """Return an elliptical arc as cubics of at most 22.5 degrees; then they err by under 1e-7 of the radius."""
    count = max(1, math.ceil(abs(sweep) / (math.pi / 8) - 1e-9))
    step = sweep / count
    handle = 4 / 3 * math.tan(step / 4)
    axis = complex(math.cos(turn), math.sin(turn))

    def spot(angle: float, along: float = 0.0) -> complex:
        x = math.cos(angle) - along * math.sin(angle)
        y = math.sin(angle) + along * math.cos(angle)
        return centre + axis * complex(rx * x, ry * y)

    return [
        (spot(a), spot(a, handle), spot(a + step, -handle), spot(a + step))
        for a in (start + k * step for k in range(count))
    ]


def endpoint_arc(
    start: complex, end: complex, radii: complex, turn: float, *, large: bool, sweep: bool
) -> list[Segment]:
    """Return SVG's arc command as cubics (SVG 1.1, appendix F.6.5: from end points to the centre)."""
    rx, ry = abs(radii.real), abs(radii.imag)
    if start == end:
        return []
    if not rx or not ry:
        return [(start, end)]
    axis = complex(math.cos(turn), math.sin(turn))
    half = (start - end) / 2 * axis.conjugate()
    x, y = half.real / rx, half.imag / ry
    reach = math.hypot(x, y)
    if reach > 1:
        rx, ry, x, y, reach = rx * reach, ry * reach, x / reach, y / reach, 1.0
    off = math.sqrt(max(0.0, 1 / reach**2 - 1)) * (-1 if large == sweep else 1)
    unit = complex(off * y, -off * x)  # the centre on the unit circle's plane
    centre = (start + end) / 2 + axis * complex(unit.real * rx, unit.imag * ry)
    first, last = complex(x, y) - unit, complex(-x, -y) - unit
    a, b = math.atan2(first.imag, first.real), math.atan2(last.imag, last.real)
    angle = (b - a) % (2 * math.pi) if sweep else -((a - b) % (2 * math.pi))
    pieces = ellipse(centre, rx, ry, a, angle, turn)
    pieces[0] = (start, *pieces[0][1:])
    pieces[-1] = (*pieces[-1][:-1], end)
    return pieces
