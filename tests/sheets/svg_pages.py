"""A page as it stands in its SVG, read with nothing of ours: layers, titles, lines, and the boxes of shapes in mm."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from xml.etree import ElementTree as ET

NUMBER = re.compile(r"-?[0-9]*\.?[0-9]+(?:e-?[0-9]+)?")
INKED = ("ink", "trace", "letter", "letter-smallest", "letter-largest", "strokes", "order", "arrows")
SVG = "{http://www.w3.org/2000/svg}"


@dataclass
class Mark:
    """A path: its title, the box of points on it (y up) with its stroke, and whether it is filled."""

    title: str
    low: complex
    high: complex
    filled: bool
    rings: list = field(repr=False, default_factory=list)
    stroke: float = 0.0

    @property
    def points(self):
        return [z for ring in self.rings for z in ring]

    @property
    def middle(self):
        return (self.low + self.high) / 2


@dataclass
class Guide:
    role: str | None
    row: int | None
    start: complex
    end: complex


@dataclass
class Sheet:
    width: float
    height: float
    marks: dict
    guides: list

    def texts(self, *layers):
        return [mark for layer in layers for mark in self.marks.get(layer, []) if mark.title]


def read(data: bytes) -> Sheet:
    root = ET.fromstring(data)  # our own bytes
    width, height = (float(root.get(side).removesuffix("mm")) for side in ("width", "height"))
    assert root.get("viewBox") == f"0 0 {root.get('width')[:-2]} {root.get('height')[:-2]}"
    marks, guides = {}, []
    for group in root.findall(f"{SVG}g"):
        found = marks.setdefault(group.get("id"), [])
        for element in group.iter():
            if element.tag == f"{SVG}path":
                found.append(_mark(element, height))
            elif element.tag == f"{SVG}line":
                x1, y1, x2, y2 = (float(element.get(name)) for name in ("x1", "y1", "x2", "y2"))
                row = element.get("data-row")
                ends = complex(x1, height - y1), complex(x2, height - y2)
                guides.append(Guide(element.get("data-line"), int(row) if row else None, *ends))
    return Sheet(width, height, marks, guides)


def _mark(element, height):
    rings = [[complex(z.real, height - z.imag) for z in ring] for ring in _on_the_path(element.get("d"))]
    points = [z for ring in rings for z in ring]
    half = float(element.get("stroke-width", 0)) / 2
    title = element.find(f"{SVG}title")
    low = complex(min(z.real for z in points) - half, min(z.imag for z in points) - half)
    high = complex(max(z.real for z in points) + half, max(z.imag for z in points) + half)
    return Mark("" if title is None else title.text, low, high, element.get("fill") != "none", rings, 2 * half)


def _on_the_path(data):
    """Return points on each ring of the path itself: our files hold nothing but absolute M, L, C and Z."""
    rings = []
    for command, numbers in re.findall("([MLCZ])([^MLCZ]*)", data):
        values = [float(n) for n in NUMBER.findall(numbers)]
        pairs = [complex(x, y) for x, y in zip(values[::2], values[1::2], strict=True)]
        if command == "M":
            rings.append(pairs)
            continue
        if command in "LZ":
            rings[-1] += pairs
            continue
        points = rings[-1]
        for a, b, c in zip(pairs[::3], pairs[1::3], pairs[2::3], strict=True):
            start = points[-1]
            for n in range(1, 9):
                t, u = n / 8, 1 - n / 8
                points.append(u**3 * start + 3 * u * u * t * a + 3 * u * t * t * b + t**3 * c)
    return rings


def overlap(one, other, slack=1e-3):
    return (
        min(one.high.real, other.high.real) - max(one.low.real, other.low.real) > slack
        and min(one.high.imag, other.high.imag) - max(one.low.imag, other.low.imag) > slack
    )


def assert_tidy(sheet: Sheet, margin: float) -> None:
    """Nothing outside the margins; no word on a word, on ink or on a guide line."""
    everything = [mark for found in sheet.marks.values() for mark in found]
    assert min(mark.low.real for mark in everything) >= margin - 0.15
    assert min(mark.low.imag for mark in everything) >= margin - 0.15
    assert max(mark.high.real for mark in everything) <= sheet.width - margin + 0.15
    assert max(mark.high.imag for mark in everything) <= sheet.height - margin + 0.15
    for guide in sheet.guides:
        for end in (guide.start, guide.end):
            assert margin - 0.15 <= end.real <= sheet.width - margin + 0.15
            assert margin - 0.15 <= end.imag <= sheet.height - margin + 0.15
    words = [mark for layer in ("labels", "proof") for mark in sheet.marks.get(layer, []) if mark.filled]
    inks = [mark for layer in INKED for mark in sheet.marks.get(layer, [])]
    for number, word in enumerate(words):
        for other in (*words[number + 1 :], *inks):
            assert not overlap(word, other), (word, other)
        for guide in sheet.guides:
            assert not crosses(guide, word), (guide, word)


def crosses(guide, box):
    low = min(guide.start.real, guide.end.real), min(guide.start.imag, guide.end.imag)
    high = max(guide.start.real, guide.end.real), max(guide.start.imag, guide.end.imag)
    if low[0] >= box.high.real or high[0] <= box.low.real or low[1] >= box.high.imag or high[1] <= box.low.imag:
        return False
    steps = 400
    return any(
        box.low.real < z.real < box.high.real and box.low.imag < z.imag < box.high.imag
        for z in (guide.start + (guide.end - guide.start) * n / steps for n in range(steps + 1))
    )


def rows(sheet: Sheet):
    """Return the heights of each row's lines by role."""
    found = {}
    for guide in sheet.guides:
        if guide.role and guide.role != "slant":
            assert guide.start.imag == guide.end.imag
            found.setdefault(guide.row, {})[guide.role] = guide.start.imag
    return found
