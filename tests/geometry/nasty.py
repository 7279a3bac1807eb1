"""Nasty strokes by class: our own instances of the classes that stroking studies and rasteriser test suites draw."""

from __future__ import annotations

import cmath
import math

import numpy as np

from guidegen.geometry.path import Path, polyline
from guidegen.geometry.stroke.stroke import Nib, Widths


def one(*points):
    return Path((tuple(complex(p) for p in points),))


def chain(*segments, closed=False):
    return Path(tuple(tuple(complex(p) for p in s) for s in segments), closed)


def circle(radius, closed=True, turns=1):
    k = 0.5519150 * radius
    arcs = []
    for quarter in range(4 * turns):
        a, b = (radius * 1j**q for q in (quarter, quarter + 1))
        a, b = complex(round(a.real, 12), round(a.imag, 12)), complex(round(b.real, 12), round(b.imag, 12))
        arcs.append((a, a + 1j * a / radius * k, b - 1j * b / radius * k, b))
    return Path(tuple(arcs), closed)


def spiral(turns, start, grow):
    points = []
    n = int(turns * 8)
    for j in range(n + 1):
        angle = j * math.pi / 4
        points.append((start + grow * angle) * cmath.exp(1j * angle))
    return smooth(points)


def smooth(points):
    """A chain of cubics through points with tangents along their neighbours' chords."""
    z = np.array(points)
    d = np.gradient(z)
    cubics = zip(z, z + d / 3, z[1:] - d[1:] / 3, z[1:], strict=False)
    return Path(tuple(tuple(complex(p) for p in c) for c in cubics))


def shapes():
    """Return {class: [(name, path), ...]}."""
    rng = np.random.default_rng(20)
    r = lambda n: [complex(*p) for p in rng.uniform(0, 6, (n, 2)).round(3)]  # noqa: E731
    return {
        "exact cusps": [
            ("upright", one(0, 4 + 4j, 4j, 4)),
            ("flat", one(0, 5 + 1j, -1 + 1j, 4)),
            ("slanted", one(0, 4 + 5j, 1 + 4j, 5 + 1j)),
            ("small", one(0, 0.4 + 0.4j, 0.4j, 0.4)),
            ("at the start", one(0, 0, 3 + 3j, 4)),
            ("at the end", one(0, 1 + 3j, 4, 4)),
            ("at both ends", one(0, 0, 4 + 2j, 4 + 2j)),
            ("two in a chain", chain((0, 4 + 4j, 4j, 4), (4, 8 + 4j, 4 + 4j, 8))),
        ],
        "near cusps": [
            (f"off by {e}", one(0, 4 + 4j, e + 4j, 4))
            for e in (0.3, 0.1, 0.02, 0.002, -0.002, -0.02, -0.1, -0.3, 1e-5, -1e-6)
        ],
        "moving cusps": [(f"step {k}", one(0, 3 + 0.5 * k + 4j, 1 - 0.5 * k + 4j, 4 + 0.3j * k)) for k in range(8)],
        "loops with a hole": [
            ("wide", one(0, 9 + 7j, -5 + 7j, 4)),
            ("tall", one(0, 6 + 12j, -2 + 12j, 4)),
            ("leaning", one(0, 10 + 4j, -4 + 9j, 5 + 1j)),
            ("large", one(0, 16 + 10j, -10 + 10j, 6)),
            ("two", chain((0, 9 + 7j, -5 + 7j, 4), (4, 13 - 7j, -1 - 7j, 8))),
            ("drawn twice", chain((0, 9 + 7j, -5 + 7j, 4), (4, -5 + 7j, 9 + 7j, 0))),
        ],
        "loops without a hole": [
            ("small", one(0, 4.6 + 4j, -0.6 + 4j, 4)),
            ("smaller", one(0, 4.2 + 4j, -0.2 + 4j, 4)),
            ("flat", one(0, 7 + 1j, -3 + 1j, 4)),
            ("leaning", one(0, 5 + 3j, 0.2 + 4j, 4 + 1j)),
            ("pinched", one(0, 5.5 + 5j, -1.5 + 5j, 4)),
        ],
        "serpentines": [
            ("gentle", one(0, 3j, 4 - 3j, 4)),
            ("steep", one(0, 8j, 4 - 8j, 4)),
            ("flat", one(0, 6 + 1j, -2 - 1j, 4)),
            ("chain", chain((0, 8j, 4 - 8j, 4), (4, 4 + 8j, 8 - 8j, 8))),
            ("long", smooth([complex(x, 2 * math.sin(2 * x)) for x in np.arange(0, 8, 0.5)])),
            ("narrow", smooth([complex(0.5 * x, 2 * (-1) ** x) for x in range(9)])),
        ],
        "radius larger than the curve": [
            ("arch", one(0, 2j, 1 + 2j, 1)),
            ("hairpin", one(0, 3j, 0.3 + 3j, 0.3)),
            ("hook", chain((0, 4j), (4j, 5j, 0.5 + 5j, 0.5 + 4j))),
            ("tiny circle", circle(0.3)),
            ("tiny open circle", circle(0.3, closed=False)),
            ("circle of the radius", circle(0.5)),
            ("tiny s", one(0, 0.8j, 0.4 - 0.8j, 0.4)),
            ("spiral", spiral(2, 0.2, 0.12)),
            ("one point two thousandths long", one(0, 0.001, 0.001 + 0.001j, 0.0012j)),
        ],
        "collinear and doubling back": [
            ("straight cubic", one(0, 1 + 1j, 2 + 2j, 3 + 3j)),
            ("uneven straight cubic", one(0, 3.9, 3.95, 4)),
            ("overshoots the end", one(0, 6, 6, 4)),
            ("overshoots both", one(0, 6, -2, 4)),
            ("starts backwards", one(0, -1, 3, 4)),
            ("out and back cubic", one(0, 5 + 2j, 5 + 2j, 0)),
            ("there and back", polyline([0, 4, 0])),
            ("there and half back", polyline([0, 4, 2])),
            ("three times", polyline([0, 4, 0, 4])),
            ("curve there and back", chain((0, 1 + 3j, 3 + 3j, 4), (4, 3 + 3j, 1 + 3j, 0))),
            ("nearly straight", one(0, 1 + 1e-7j, 3 - 1e-7j, 4)),
            ("nearly doubling back", one(0, 6 + 1e-5j, -2 + 2e-5j, 4)),
        ],
        "repeated control points": [
            ("first two", one(0, 0, 2 + 3j, 4)),
            ("last two", one(0, 2 + 3j, 4, 4)),
            ("middle two", one(0, 2 + 3j, 2 + 3j, 4)),
            ("first three", one(0, 0, 0, 4 + 1j)),
            ("last three", one(0, 4 + 1j, 4 + 1j, 4 + 1j)),
            ("ends", one(0, 3 + 2j, 3j, 0)),
            ("in a chain", chain((0, 0, 2 + 2j, 2 + 2j), (2 + 2j, 2 + 2j, 4, 4))),
        ],
        "zero length": [
            ("line", polyline([1 + 1j, 1 + 1j])),
            ("cubic", one(2, 2, 2, 2)),
            ("inside a chain", chain((0, 2), (2, 2), (2, 2, 2, 2), (2, 2 + 2j))),
            ("first in a chain", chain((0, 0), (0, 1 + 2j, 3 + 2j, 4))),
            ("last in a chain", chain((0, 1 + 2j, 3 + 2j, 4), (4, 4, 4, 4))),
        ],
        "wedges and zigzags": [
            ("wedge", polyline([0, 4, 0.5j])),
            ("needle", polyline([0, 4, 0.02j])),
            ("right angle", polyline([0, 4, 4 + 4j])),
            ("zigzag", polyline([0, 3 + 1j, 2j, 3 + 3j, 4j])),
            ("saw", polyline([complex(0.4 * k, 2 * (k % 2)) for k in range(10)])),
            ("fine saw", polyline([complex(0.1 * k, 0.3 * (k % 2)) for k in range(20)])),
            ("star", polyline([3 * cmath.exp(4j * math.pi * k / 5) for k in range(5)], closed=True)),
            ("triangle", polyline([0, 4, 2 + 3j], closed=True)),
            ("square", polyline([0, 3, 3 + 3j, 3j], closed=True)),
            ("open square", polyline([0, 3, 3 + 3j, 3j, 0])),
            ("bow tie", polyline([0, 4 + 3j, 4, 3j], closed=True)),
            ("line into curve", chain((0, 3), (3, 3 + 2j, 1 + 2j, 1 + 4j))),
            ("curve into curve with a corner", chain((0, 1 + 3j, 3 + 3j, 4), (4, 3.5 + 1j, 1 + 0.5j, 0.5))),
        ],
        "closed curves": [
            ("circle", circle(3)),
            ("circle twice", circle(2, turns=2)),
            ("circle not closed", circle(3, closed=False)),
            ("drop", chain((0, 5 + 4j, -5 + 4j, 0), closed=True)),
            ("figure of eight", chain((0, 4 + 4j, 4 - 4j, 0), (0, -4 + 4j, -4 - 4j, 0), closed=True)),
            ("ellipse", Path(tuple(tuple(complex(3 * z.real, z.imag) for z in s) for s in circle(1).segments), True)),
        ],
        "random": [(f"cubic {k}", one(*r(4))) for k in range(6)]
        + [(f"chain {k}", chain(p[0:4], p[3:7], p[6:8], p[7:11])) for k, p in enumerate(r(11) for _ in range(4))],
    }


def profiles(length):
    """Return the width profiles that every shape is inked with: {name: widths}."""
    l = length or 1.0
    return {
        "constant": Widths(((0, 1.0),)),
        "linear": Widths(((0, 0.2), (l, 2.0))),
        "eased": Widths(((0, 0.3), (0.5 * l, 2.0), (l, 0.3)), eased=True),
        "to zero": Widths(((0, 0.0), (0.5 * l, 1.5), (l, 0.0))),
        "pressure": Widths(((0, 0.25), (0.2 * l, 0.25), (0.35 * l, 1.2), (0.6 * l, 1.2), (0.75 * l, 0.25)), eased=True),
        "steep": Widths(((0, 0.2), (0.45 * l, 0.2), (0.5 * l, 3.0), (0.6 * l, 0.2))),
        "steep and eased": Widths(((0, 0.2), (0.4 * l, 0.2), (0.5 * l, 3.0), (0.6 * l, 0.2)), eased=True),
        "jump": Widths(((0, 0.4), (0.5 * l, 0.4), (0.5 * l, 1.4), (l, 0.8))),
    }


NIBS = {
    "broad": Nib(2.0, 0.3, 40.0),
    "edge": Nib(1.5, 0.0, 30.0),
    "square": Nib(1.0, 1.0, 0.0),
}
