"""Every kind of page for twelve markers from 0.55 to 9.3 mm on three papers, and what is measured of each page's scene.

The whole table is ``bench_pages.py``; the suite runs a sample of it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache

import shapely
from page_checks import SLACK_MM, crosses, overlap

import guidegen as gg
from guidegen.errors import GuidegenError
from guidegen.geometry.measure import bounds
from guidegen.scene import Line, Page, Placed, Shape, hull_bounds
from guidegen.sheets.parts.labels import SMALLEST_LABEL_MM, label

MARGIN_MM = 12.0
PAPERS = ("a4", "letter", "a5")
WIDTHS = {
    "wisp": ("brush", 0.55, 0.10, None),
    "grit": ("brush", 0.90, 0.25, None),
    "reed": ("brush", 1.37, 0.42, None),
    "pebble": ("brush", 1.60, 0.35, None),
    "dune": ("brush", 2.20, 0.25, None),
    "cobble": ("brush", 3.20, 0.60, None),
    "gale": ("brush", 4.45, 1.90, None),
    "boulder": ("brush", 6.80, 1.20, None),
    "mast": ("brush", 9.30, 2.10, None),
    "thorn": ("pointed", 1.10, 0.12, None),
    "keel": ("broad", 2.50, 0.25, 35.0),
    "flint": ("round", 0.80, 0.80, None),
}
NAMES = ("Anna", "Marit", "Leif", "Solveig")
GAP_MM = 4.0
"""White up to twice this wide between things that stand on a page counts as used: rows are apart, words are set off."""


@cache
def lettering(name: str) -> gg.Lettering:
    tip, downstroke, hairline, angle = WIDTHS[name]
    tool = gg.marker(name, tip=tip, downstroke_mm=downstroke, hairline_mm=hairline, nib_angle_deg=angle)
    return gg.lettering_of(tool)


COMMANDS: dict[str, Callable[[gg.Lettering, str], object]] = {
    "sheet": lambda one, paper: gg.sheet(one, paper=paper),
    "letter": lambda one, paper: gg.letter(one, paper=paper),
    "letter, any paper": lambda one, _: gg.letter(one),
    "handout": lambda one, paper: gg.handout([one], paper=paper),
    "compare": lambda one, paper: gg.compare([one, lettering("pebble"), lettering("flint")], paper=paper),
    "worksheet of words": lambda one, paper: gg.worksheet(one, "high tide", paper=paper),
    "worksheet of letters": lambda one, paper: gg.worksheet(one, letters="a-d", paper=paper),
    "worksheet of strokes": lambda one, paper: gg.worksheet(one, drills="all", paper=paper),
    "worksheet of names": lambda one, paper: gg.worksheet(one, names=NAMES[:2], paper=paper),
    "write": lambda one, paper: gg.write(one, "the boats come in", paper=paper, guides=True),
    "plan": lambda one, paper: gg.plan(one, "the boats come in", paper=paper).layout(),
    "cards": lambda one, paper: gg.cards(one, NAMES, up=4, paper=paper).layout(),
    "planner": lambda one, _: gg.planner(one, letters="a-b"),
    "trial": lambda _, paper: gg.trial(paper=paper),
}
FREE = ("letter", "letter, any paper", "compare", "write", "plan", "cards")
"""Pages as full as the letters, words, names or markers that were asked for make them, on the paper asked for."""


@dataclass(frozen=True)
class Row:
    """One command for one marker on one paper: its pages, how much of each is used, its faults, or a refusal."""

    command: str
    marker: str
    paper: str
    pages: int = 0
    used: tuple[float, ...] = ()
    smallest_mm: float = 99.0
    faults: tuple[str, ...] = ()
    refused: str = ""


def row(command: str, marker: str, paper: str) -> Row:
    """Make the pages and measure them."""
    try:
        pages = COMMANDS[command](lettering(marker), paper).document.pages
    except GuidegenError as error:
        return Row(command, marker, paper, refused=str(error))
    margin = 10.0 if command == "planner" else MARGIN_MM
    found = [(number, fault) for number, page in enumerate(pages, start=1) for fault in faults_of(page, margin)]
    faults = tuple(f"page {number}: {fault}" for number, fault in found)
    sizes = [size_of(item) for page in pages for item in words_of(page)]
    used = tuple(used_share(page, margin) for page in pages)
    return Row(command, marker, paper, len(pages), used, min(sizes, default=99.0), faults)


def words_of(page: Page) -> list[Shape]:
    """Labels of all layers that hold words: shapes whose outline the labels' face would draw for their name."""
    found = []
    for layer in page.layers:
        if layer.id in ("labels", "proof", "dimensions", "arrows"):
            found += [part for item in layer.items for part in parts_of(item)]
    shapes = [item for item in found if isinstance(item, Shape) and item.style.fill and item.paths]
    return [item for item in shapes if item.name not in (None, "card")]


def parts_of(item: object) -> list:
    if isinstance(item, Placed):
        shift = item.at
        from guidegen.scene import moved

        return [moved(part, shift) for part in item.symbol.items]
    return [item]


def size_of(shape: Shape) -> float:
    """The size of a label's type, from how wide the same words are set at 1 mm; the weight is the one that agrees."""
    low, high = bounds(shape.paths)
    ratios = []
    for weight in (300, 400, 600):
        first, last = bounds(label(shape.name, 0j, 1.0, weight=weight).paths)
        across, up = (high - low).real / (last - first).real, (high - low).imag / (last - first).imag
        ratios.append((abs(across / up - 1), up))
    return min(ratios)[1]


def faults_of(page: Page, margin: float) -> list[str]:
    """What stands outside the margins, words on words, on ink or on lines, and ink on other ink."""
    found = []
    ends = [end_of(part) for layer in page.layers for item in layer.items for part in parts_of(item)]
    low = complex(min(a.real for a, _ in ends), min(a.imag for a, _ in ends)) + SLACK_MM * (1 + 1j)
    high = complex(max(b.real for _, b in ends), max(b.imag for _, b in ends)) - SLACK_MM * (1 + 1j)
    far = complex(page.width_mm - margin, page.height_mm - margin)
    if min(low.real, low.imag) < margin or high.real > far.real or high.imag > far.imag:
        found.append(f"outside the margins: {low:.2f} to {high:.2f} on {page.width_mm:.0f} x {page.height_mm:.0f}")
    words = [(item.name, bounds(item.paths)) for item in words_of(page)]
    for number, (name, box) in enumerate(words):
        found += [f"{name!r} on {other!r}" for other, there in words[number + 1 :] if overlap(box, there)]
    ink = [(layer.id, hull_bounds((item,))) for layer in page.layers for item in layer.items
           if layer.purpose.has_letters and layer.items]  # fmt: skip
    lines = [line for layer in page.layers if layer.id != "slant" for item in layer.items for line in parts_of(item)
             if isinstance(line, Line)]  # fmt: skip
    for name, box in words:
        if len(name) > 1 or not name.isdigit():  # the number in a ring stands on its letter's stroke
            found += [f"{name!r} on {layer}" for layer, there in ink if overlap(box, there)]
            found += [f"{name!r} on a line" for line in lines if crosses(line, box)]  # its ring is white inside
    return found


def end_of(item: Line | Shape) -> tuple[complex, complex]:
    """Lower left and upper right of a line or shape as drawn."""
    edge = (item.style.stroke_mm or 0.0) / 2 * (1 + 1j)
    if isinstance(item, Line):
        edge = 0.0
        points = (item.start, item.end)
        low = complex(min(z.real for z in points), min(z.imag for z in points))
        high = complex(max(z.real for z in points), max(z.imag for z in points))
    else:
        low, high = bounds(item.paths)
    return low - edge, high + edge


def used_share(page: Page, margin: float) -> float:
    """The share of the room between margins and footer that rows, ink and words take, with the white between them."""
    foot = [item for layer in page.layers if layer.id == "proof" for item in layer.items]
    bottom = hull_bounds(tuple(foot))[1].imag if foot else margin
    room = shapely.box(margin, bottom, page.width_mm - margin, page.height_mm - margin)
    boxes = []
    rows: dict[object, list[Line]] = {}
    for layer in page.layers:
        if layer.id in ("proof", "crop"):
            continue
        for item in (part for whole in layer.items for part in parts_of(whole)):
            if isinstance(item, Line) and item.row is not None:
                rows.setdefault((item.row, round(item.start.real), round(item.end.real)), []).append(item)
            low, high = hull_bounds((item,))
            boxes.append((low, high))
    for lines in rows.values():
        ends = [z for line in lines for z in (line.start, line.end)]
        boxes.append((complex(min(z.real for z in ends), min(z.imag for z in ends)),
                      complex(max(z.real for z in ends), max(z.imag for z in ends))))  # fmt: skip
    grown = [shapely.box(a.real - GAP_MM, a.imag - GAP_MM, b.real + GAP_MM, b.imag + GAP_MM) for a, b in boxes]
    return float(shapely.union_all(grown).intersection(room).area / room.area)


def too_small(one: Row) -> bool:
    return one.smallest_mm < SMALLEST_LABEL_MM - 1e-3
