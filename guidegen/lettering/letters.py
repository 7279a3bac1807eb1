"""From a hand's skeleton to one letter in millimetres, ready to be inked with a marker."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from itertools import pairwise
from typing import NamedTuple

import numpy as np

from guidegen.errors import GuidegenError
from guidegen.geometry.path import Outline, Path, Segment
from guidegen.geometry.stroke.expand import expand
from guidegen.geometry.stroke.stroke import AnyStroke, Nib, NibStroke, Stroke, Widths
from guidegen.hands import accents
from guidegen.hands.alternates import shapes
from guidegen.hands.hand import Hand, LetterData
from guidegen.hands.joins import END, START, letter_form
from guidegen.hands.skeletons import Node, Nodes, handles
from guidegen.hands.stroke_widths import width_knots
from guidegen.lettering.brush_ends import bent, landing, pressed_ends, release
from guidegen.lettering.lettering import Lettering
from guidegen.profiles.markers import Marker
from guidegen.units import shift_per_height

SAMPLE_LETTER = "e"
"""Its bowl decides the right size, and every sheet shows it."""
INK_TOLERANCE_MM = 0.005
_SAMPLES = np.linspace(0.0, 1.0, 25)


@dataclass(frozen=True, slots=True)
class Letter:
    """A letter for one marker at one size: pen strokes in mm, slanted, baseline-left at the origin.

    ``shape`` is 0 for the letter's own shape, else the number of its alternate.
    """

    char: str
    strokes: tuple[AnyStroke, ...]
    advance_mm: float
    before: str = START
    after: str = END
    shape: int = field(default=0, repr=False)


class SkeletonMap(NamedTuple):
    """The map from skeleton units to mm, so that the ink (not the centreline) touches the lines.

    ``inset_mm`` is half the height of the mark the pen leaves at a turn: half a hairline for a brush, half the
    nib's own height for a broad edge. Lines of the hand map to lines of the page less that inset; heights
    between them are interpolated, and a node's handles take the scale at the node, so tangents stay smooth.
    """

    x_height_mm: float
    inset_mm: float
    slant_shift: float
    levels: tuple[float, ...]
    heights_mm: tuple[float, ...]

    @property
    def scale_mm(self) -> float:
        return self.x_height_mm - 2 * self.inset_mm

    def height_mm(self, y: float) -> float:
        return _interpolated(y, self.levels, self.heights_mm)

    def slope(self, y: float) -> float:
        step = 1e-4
        return (self.height_mm(y + step) - self.height_mm(y - step)) / (2 * step)

    def place(self, at: complex, drop_mm: float = 0.0) -> complex:
        y = self.height_mm(at.imag) - drop_mm
        return complex(at.real * self.scale_mm + y * self.slant_shift, y)

    def turn(self, handle: complex, y: float) -> complex:
        dy = handle.imag * self.slope(y)
        return complex(handle.real * self.scale_mm + dy * self.slant_shift, dy)

    def upright(self, vectors: np.ndarray) -> np.ndarray:
        """Return direction vectors with the slant taken out."""
        return np.asarray(vectors - vectors.imag * self.slant_shift)


def _interpolated(y: float, xs: Sequence[float], ys: Sequence[float]) -> float:
    i = next((k for k in range(1, len(xs) - 1) if y < xs[k]), len(xs) - 1)
    t = (y - xs[i - 1]) / (xs[i] - xs[i - 1])
    return ys[i - 1] + t * (ys[i] - ys[i - 1])


@lru_cache(maxsize=256)
def skeleton_map(lettering: Lettering) -> SkeletonMap:
    """Return the map of a lettering: its hand's lines at its x-height, its marker's inset."""
    hand, x_height_mm = lettering.hand, lettering.x_height_mm
    inset = pen_height_mm(lettering.marker) / 2
    tops = sorted({1.0, hand.capital, hand.ascender})
    below = hand.descender or 1.0  # a hand without a descender line may still dip below the baseline
    levels = (-below, 0.0, *tops)
    heights = (-below * x_height_mm + inset, inset, *(t * x_height_mm - inset for t in tops))
    return SkeletonMap(x_height_mm, inset, shift_per_height(hand.slant_deg), levels, heights)


def _turned(placed: SkeletonMap, marker: Marker, turn_deg: float) -> SkeletonMap:
    """Return the map of a stroke whose pen is turned: as wide, with its ink still within the lines."""
    more = pen_height_mm(marker, turn_deg) / 2 - placed.inset_mm
    low, high = placed.heights_mm[:2], placed.heights_mm[2:]
    return placed._replace(heights_mm=(*(height + more for height in low), *(height - more for height in high)))


def pen_height_mm(marker: Marker, turn_deg: float = 0.0) -> float:
    """Return the height of the mark a pen leaves where a turn touches a line; a broad one may be held steeper."""
    if marker.tip != "broad":
        return marker.hairline_mm
    angle = math.radians((marker.nib_angle_deg or 0.0) + turn_deg)
    return marker.downstroke_mm * abs(math.sin(angle)) + marker.hairline_mm * abs(math.cos(angle))


@lru_cache(maxsize=4096)
def letter(lettering: Lettering, char: str, before: str = START, after: str = END, shape: int = 0) -> Letter:
    """Return ``char`` as pen strokes. ``before``/``after`` name the join on each side (see :func:`form_names`).

    ``shape`` is the number of one of its alternates, or 0.

    The origin is where the entry meets the letter before, ``advance_mm`` where the exit meets the next.

    Raises:
        GuidegenError: when the hand has no such letter.
    """
    data = letter_data(lettering.hand, char, shape)
    form = letter_form(lettering.hand, data, before, after)
    strokes = pen_strokes(lettering, form.strokes)
    return Letter(char, strokes, form.advance * skeleton_map(lettering).scale_mm, before, after, shape)


def letter_data(hand: Hand, char: str, shape: int = 0) -> LetterData:
    """Return the data of ``char`` in ``hand``, or of one of its alternates.

    Raises:
        GuidegenError: when the hand has no such letter.
    """
    data = accents.find_letter(hand, char)
    if data is not None:
        return shapes(data)[shape]
    have = "".join(sorted(hand.letters)) or "none yet"
    raise GuidegenError(f"hand {hand.name}: no letter {char!r}, it has {have}; choose another `hand`")


def pen_strokes(lettering: Lettering, strokes: Sequence[Nodes]) -> tuple[AnyStroke, ...]:
    """Return skeleton strokes as the marker draws them, in mm."""
    return tuple(pen_stroke(lettering, nodes) for nodes in strokes)


@lru_cache(maxsize=4096)
def pen_stroke(lettering: Lettering, nodes: Nodes) -> AnyStroke:
    """Return one skeleton stroke as the marker draws it, in mm."""
    hand, marker, placed = lettering.hand, lettering.marker, skeleton_map(lettering)
    if marker.tip == "broad":
        turn = nodes[0].pen_turn_deg
        placed = _turned(placed, marker, turn) if turn else placed
        nib = Nib(marker.downstroke_mm, marker.hairline_mm, (marker.nib_angle_deg or 0.0) + turn)
        return NibStroke(_path(nodes, placed), nib)
    if marker.tip == "round":
        return Stroke(_path(nodes, placed), Widths(((0.0, marker.downstroke_mm),)))
    presses = _presses(nodes[0], nodes[1], leaving=True), _presses(nodes[-1], nodes[-2], leaving=False)
    cut = hand.pressure.cut_deg.get(marker.tip)
    if marker.tip == "brush" and cut is None:
        return _brushed(lettering, nodes, placed, *presses)
    start, end = (cut if pressed else None for pressed in presses)
    path = _path(nodes, placed, _drop(start, hand, marker, placed), _drop(end, hand, marker, placed))
    return Stroke(path, Widths(_knots(lettering, path, placed, _stated(nodes)), eased=True), start, end)


def _brushed(lettering: Lettering, nodes: Nodes, placed: SkeletonMap, starts: bool, ends: bool) -> Stroke:
    """Return a stroke as a brush draws it that lands at its start, is lifted at its end, or both."""
    marker = lettering.marker
    start = landing(marker.downstroke_mm, marker.hairline_mm) if starts else None
    end = release(marker.downstroke_mm, marker.hairline_mm) if ends else None
    rise = math.cos(math.radians(lettering.hand.slant_deg))
    down = start.inset(rise) - placed.inset_mm if start else 0.0
    up = end.inset(-rise) - placed.inset_mm if end else 0.0
    path, landed, lifted = bent(_path(nodes, placed, down, up), start, end)
    stated = [None] * (landed > 0) + _stated(nodes) + [None] * (lifted > 0)
    knots = _knots(lettering, path, placed, stated)
    total = float(directions(path, placed)[0][-1])
    return Stroke(path, Widths(pressed_ends(knots, total, start, end, (landed, lifted)), eased=True))


def _stated(nodes: Nodes) -> list[float | None]:
    return [node.pressure for node in nodes]


def _knots(
    lettering: Lettering, path: Path, placed: SkeletonMap, stated: Sequence[float | None]
) -> tuple[tuple[float, float], ...]:
    """Return the widths along a path; ``stated`` are the pressures stated at the ends of its segments."""
    marker, (s, down) = lettering.marker, directions(path, placed)
    fixed = [(float(s[_at(i)]), pressure) for i, pressure in enumerate(stated)]
    thin, thick = marker.hairline_mm, marker.downstroke_mm
    return width_knots(s, down, lettering.hand.pressure, placed.scale_mm, thin, thick, fixed)


def _at(i: int) -> int:
    """Return the index, in the samples of :func:`directions`, at which node ``i`` of a stroke stands."""
    return max(0, i * len(_SAMPLES) - 1)


def _presses(node: Node, other: Node, leaving: bool) -> bool:
    heading = node.leave_deg if leaving else node.arrive_deg
    if heading is None:
        step = (other.at - node.at) if leaving else (node.at - other.at)
        heading = math.degrees(math.atan2(step.imag, step.real))
    return node.pressure is None and math.sin(math.radians(heading)) < -0.7


def _drop(cut_deg: float | None, hand: Hand, marker: Marker, placed: SkeletonMap) -> float:
    """How much further in a cut end's centre lies than a turn's, for the cut's outer corner to touch the line."""
    if cut_deg is None:
        return 0.0
    across = math.sin(math.radians(hand.slant_deg - cut_deg))
    return marker.downstroke_mm / 2 / across * abs(math.sin(math.radians(cut_deg))) - placed.inset_mm


def _path(nodes: Nodes, placed: SkeletonMap, start_drop: float = 0.0, end_drop: float = 0.0) -> Path:
    points = [placed.place(node.at) for node in nodes]
    points[0] = placed.place(nodes[0].at, math.copysign(1, nodes[0].at.imag - 0.5) * start_drop)
    points[-1] = placed.place(nodes[-1].at, math.copysign(1, nodes[-1].at.imag - 0.5) * end_drop)
    segments: list[Segment] = []
    for i, (here, there) in enumerate(pairwise(nodes)):
        p, q = points[i], points[i + 1]
        bend = handles(here, there)
        if bend is None:
            segments.append((p, q))
        else:
            out, back = placed.turn(bend[0], here.at.imag), placed.turn(bend[1], there.at.imag)
            segments.append((p, p + out, q + back, q))
    return Path(tuple(segments))


def directions(path: Path, placed: SkeletonMap) -> tuple[np.ndarray, np.ndarray]:
    """Return arc length and angle from straight down (upright) at samples along ``path``."""
    lengths, angles, total = [], [], 0.0
    for segment in path.segments:
        velocity = _velocity(segment)
        speed = np.abs(velocity)
        steps = np.concatenate(([0.0], np.cumsum((speed[1:] + speed[:-1]) / 2 * np.diff(_SAMPLES))))
        lengths.append(total + steps)
        total += float(steps[-1])
        upright = placed.upright(velocity)
        angles.append(np.degrees(np.abs(np.angle(upright * 1j))))
    return np.concatenate(lengths), np.concatenate(angles)


def _velocity(segment: Segment) -> np.ndarray:
    if len(segment) == 2:
        return np.full(len(_SAMPLES), segment[1] - segment[0])
    a, b, c = (3 * (q - p) for p, q in pairwise(segment))
    t = _SAMPLES
    return np.asarray(a * (1 - t) ** 2 + 2 * b * t * (1 - t) + c * t**2)


def ink(letters: Sequence[Letter], tolerance_mm: float = INK_TOLERANCE_MM) -> Outline:
    """Return the ink of ``letters`` as one outline."""
    return expand([stroke for item in letters for stroke in item.strokes], tolerance_mm)
