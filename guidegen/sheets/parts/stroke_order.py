"""Where a stroke begins and which way the pen goes: a numbered ring on its start and an arrow that leaves the ring.

There is one mark a stroke. Its ring lies on the start of the stroke (white inside, so it may cover that start and
nothing else), its arrow begins at the ring and runs beside the stroke's first stretch, following the ink's edge.
Ring and arrow are looked for together, over all strokes of a letter, so that nothing they touch or come nearer to
belongs to another stroke. Where a letter has no such places (strokes that begin on others, tight joins) it is shown
once a stroke instead: what is already written as an outline, the new stroke solid with its mark.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from guidegen.geometry.cubic import Bools, Complexes, Floats
from guidegen.geometry.path import Path, polyline
from guidegen.geometry.shape.discs import along, crowd_of
from guidegen.geometry.stroke.radius_spans import width_at
from guidegen.geometry.stroke.stroke import AnyStroke, NibStroke
from guidegen.scene import BLACK, WHITE, Shape, Style
from guidegen.sheets.parts.frame import Box
from guidegen.sheets.parts.labels import CAP_HEIGHT, SMALLEST_LABEL_MM, STRONG, label

_CIRCLE = 0.5519150
"""Handle of a quarter circle as one cubic with the least error (2e-4 of the radius)."""


ANYWHERE = Box(-math.inf, -math.inf, math.inf, math.inf)
_LEAST_RING_MM = CAP_HEIGHT * SMALLEST_LABEL_MM / 1.1
"""A smaller ring would hold a number under 6 points."""
_CHOICES = 16
"""How many places a stroke's mark keeps for the search over all strokes."""
_TRIES = 4000
_DOUBTFUL = 100.0
"""What a place costs whose arrow may be read wrongly: taken only for a stroke shown alone that has no other."""


@dataclass(frozen=True, slots=True)
class Marks:
    """The sizes of the marks, in mm."""

    ring_mm: float
    line_mm: float
    head_mm: float
    gap_mm: float
    arrow_mm: float


@dataclass(frozen=True, slots=True)
class Mark:
    """One stroke's mark: its number, the centre of its ring, the arrow's shaft (empty for a dot).

    An arrow that has to run ``over`` a later part of its own stroke is drawn on a white band.
    """

    number: int
    centre: complex
    shaft: tuple[complex, ...]
    over: bool = False

    def shapes(self, marks: Marks) -> tuple[Shape, ...]:
        """Return the mark as drawn: ring, number, arrow."""
        drawn = ring(self.centre, marks.ring_mm, marks.line_mm, self.number)
        return (*arrow(self.shaft, marks, over=self.over), *drawn) if self.shaft else drawn


@dataclass(frozen=True, slots=True)
class StrokePicture:
    """A letter with marks: ``before`` is what was written earlier, ``strokes`` what this picture shows in ink."""

    before: tuple[AnyStroke, ...]
    strokes: tuple[AnyStroke, ...]
    marks: tuple[Mark, ...]


def marks_for(x_height_mm: float) -> Marks:
    """Return marks that suit letters of ``x_height_mm``: never too small to read, never louder than the letter."""
    ring = min(2.1, max(_LEAST_RING_MM, 0.13 * x_height_mm))
    return Marks(
        ring_mm=ring,
        line_mm=min(0.3, max(0.18, 0.02 * x_height_mm)),
        head_mm=0.4 * ring + 0.2,
        gap_mm=min(0.9, max(0.3, 0.045 * x_height_mm)),
        arrow_mm=min(14.0, max(3.2, 0.5 * x_height_mm)),
    )


def circle(centre: complex, radius: float) -> Path:
    """Return a full circle, anticlockwise, as four cubics."""
    k = _CIRCLE * radius
    spots = pairwise([centre + radius * 1j**n for n in range(5)])
    return Path(tuple((a, a + k * 1j ** (n + 1), b + k * 1j**n, b) for n, (a, b) in enumerate(spots)), closed=True)


def ring(centre: complex, radius: float, line_mm: float, number: int | None = None) -> tuple[Shape, ...]:
    """Return a ring, open or with ``number`` on white in it. ``radius`` is to the ring's outer edge."""
    fill = None if number is None else WHITE
    edge = Shape((circle(centre, radius - line_mm / 2),), Style(stroke_mm=line_mm, fill=fill))
    if number is None:
        return (edge,)
    text = str(number)
    size = (1.1 if len(text) == 1 else 0.9) * radius / CAP_HEIGHT
    digits = label(text, centre - 0.5j * CAP_HEIGHT * size, size, anchor="middle", weight=STRONG)
    return edge, digits


def arrow(shaft: Sequence[complex], marks: Marks, *, over: bool = False) -> tuple[Shape, ...]:
    """Return an arrow along ``shaft`` with an open head at its end; ``over`` ink it lies on a white band."""
    tip = shaft[-1]
    back = cmath.rect(marks.head_mm, cmath.phase(shaft[-2] - tip))
    head = polyline((tip + back * cmath.rect(1, 0.5), tip, tip + back * cmath.rect(1, -0.5)))
    paths = (polyline(shaft), head)
    drawn = Shape(paths, Style(stroke_mm=marks.line_mm, stroke=BLACK, round_ends=True))
    band = Shape(paths, Style(stroke_mm=3.0 * marks.line_mm, stroke=WHITE, round_ends=True))
    return (band, drawn) if over else (drawn,)


def stroke_order(strokes: Sequence[AnyStroke], marks: Marks, *, room: Box = ANYWHERE) -> tuple[StrokePicture, ...]:
    """Return one picture with every stroke marked, or a picture a stroke where one cannot hold all marks.

    Args:
        strokes: the letter, in mm, in writing order; they are numbered from 1.
        marks: sizes from :func:`marks_for`.
        room: marks stay inside it.
    """
    whole = tuple(strokes)
    together = _together(whole, marks, room)
    if together is not None:
        return (StrokePicture((), whole, together),)
    pictures = []
    for number, stroke in enumerate(whole, start=1):
        field = _Field.of((stroke,), whole[: number - 1], marks)
        tries = ((room, False), (room, True), (ANYWHERE, False), (ANYWHERE, True))
        found = [place for where, over in tries for place in _places(field, 0, stroke, marks, where, over=over)[:1]]
        best = next((place for place in found if place.cost < _DOUBTFUL), None)
        place = best or next(iter(found), None) or _bare(stroke, marks)
        pictures.append(StrokePicture(whole[: number - 1], (stroke,), (place.mark(number),)))
    return tuple(pictures)


@dataclass(frozen=True, slots=True)
class _Place:
    """A place for one mark and what it costs to have it there."""

    cost: float
    centre: complex
    shaft: tuple[complex, ...]
    over: bool = False

    def mark(self, number: int) -> Mark:
        return Mark(number, self.centre, self.shaft, self.over)


@dataclass(frozen=True, slots=True, eq=False)
class _Field:
    """The ink of a picture as discs, each with its stroke and its arc length; and outlines better not crossed."""

    centres: Complexes
    radii: Floats
    owners: np.ndarray
    lengths: Floats
    starts: tuple[complex, ...]
    faint: Complexes
    faint_radii: Floats

    @staticmethod
    def of(strokes: Sequence[AnyStroke], before: Sequence[AnyStroke], marks: Marks) -> _Field:
        """Return the field of ``strokes`` on top of those written ``before``."""
        parts = [_discs(stroke, 0.12 * marks.ring_mm) for stroke in strokes]
        faint = [_discs(stroke, 0.25 * marks.ring_mm) for stroke in before]
        empty = np.zeros(0)
        return _Field(
            np.concatenate([centres for centres, _, _ in parts]),
            np.concatenate([radii for _, radii, _ in parts]),
            np.concatenate([np.full(len(radii), number) for number, (_, radii, _) in enumerate(parts)]),
            np.concatenate([lengths for _, _, lengths in parts]),
            tuple(stroke.path.start for stroke in strokes),
            np.concatenate([np.zeros(0, np.complex128), *(centres for centres, _, _ in faint)]),
            np.concatenate([empty, *(radii for _, radii, _ in faint)]),
        )

    def gaps(self, points: Sequence[complex]) -> Floats:
        """Return the white between each of ``points`` and each disc."""
        return np.abs(np.asarray(points)[:, None] - self.centres[None, :]) - self.radii[None, :]

    def crossed(self, points: Sequence[complex], reach: float) -> float:
        """Return the share of ``points`` that come within ``reach`` of what was written before."""
        if not len(self.faint):
            return 0.0
        gaps = np.abs(np.asarray(points)[:, None] - self.faint[None, :]) - self.faint_radii[None, :]
        return float(np.mean(gaps.min(axis=1) < reach))


def _discs(stroke: AnyStroke, step: float) -> tuple[Complexes, Floats, Floats]:
    """Return a stroke's ink as discs: centres, radii, arc lengths. A nib's edge is filled with them."""
    s, points, _ = along(stroke.path, step)
    if not isinstance(stroke, NibStroke):
        return points, width_at(stroke.widths, s) / 2, s
    s, _, _ = along(stroke.path, max(2 * step, 0.1 * stroke.nib.width))
    crowd = crowd_of((stroke,), max(2 * step, 0.1 * stroke.nib.width))
    return crowd.centres, crowd.radii, np.repeat(s, len(crowd.centres) // len(s))


def _together(strokes: tuple[AnyStroke, ...], marks: Marks, room: Box) -> tuple[Mark, ...] | None:
    """Return a mark for every stroke such that none comes near to another's, or None."""
    field = _Field.of(strokes, (), marks)
    choices = []
    for number, stroke in enumerate(strokes):
        places = [place for place in _places(field, number, stroke, marks, room) if place.cost < _DOUBTFUL]
        if not places:
            return None
        choices.append(places)
    budget = [_TRIES]

    def chosen(taken: tuple[_Place, ...]) -> tuple[_Place, ...] | None:
        if len(taken) == len(choices):
            return taken
        for place in choices[len(taken)]:
            budget[0] -= 1
            if budget[0] < 0:
                return None
            if all(_apart(place, other, marks) for other in taken):
                found = chosen((*taken, place))
                if found is not None:
                    return found
        return None

    found = chosen(())
    return None if found is None else tuple(place.mark(number) for number, place in enumerate(found, start=1))


def _apart(one: _Place, other: _Place, marks: Marks) -> bool:
    """Tell whether two marks leave white between them, and no ring looks like the start of the other's arrow."""
    gap, reach = marks.gap_mm, _reach(marks)
    if abs(one.centre - other.centre) < 2 * marks.ring_mm + gap:
        return False
    for ring_of, shaft in ((one, other.shaft), (other, one.shaft)):
        if shaft and np.abs(np.asarray(shaft) - ring_of.centre).min() < marks.ring_mm + reach + gap:
            return False
    if not one.shaft or not other.shaft:
        return True
    between = np.abs(np.asarray(one.shaft)[:, None] - np.asarray(other.shaft)[None, :])
    return float(between.min()) >= 2 * reach + gap


def _reach(marks: Marks) -> float:
    """Return how far an arrow reaches to either side of its shaft, its head counted."""
    return marks.line_mm / 2 + marks.head_mm / 2


def _bare(stroke: AnyStroke, marks: Marks) -> _Place:
    """Return the mark of last resort: the ring on the start, no arrow."""
    heading, half = _start(stroke)
    return _Place(math.inf, stroke.path.start - heading * (marks.ring_mm + half), ())


def _start(stroke: AnyStroke) -> tuple[complex, float]:
    """Return which way a stroke leaves its start, looked at a little way in, and half its width there."""
    s, points, tangents = along(stroke.path, 0.4)
    near = next((i for i, length in enumerate(s) if length >= 1.0), len(s) - 1)
    step = complex(points[near] - points[0])
    heading = step / abs(step) if abs(step) > 1e-9 else -1j
    return heading, float(_halves(stroke, s[:1], tangents[:1])[0])


def _halves(stroke: AnyStroke, s: Floats, tangents: Complexes) -> Floats:
    """Return how far the ink reaches to either side of the centreline at arc lengths ``s``."""
    if not isinstance(stroke, NibStroke):
        return np.asarray(width_at(stroke.widths, s) / 2)
    turn = np.radians(stroke.nib.angle_deg) - np.angle(tangents)
    return np.asarray((np.abs(stroke.nib.width * np.sin(turn)) + np.abs(stroke.nib.thickness * np.cos(turn))) / 2)


def _places(
    field: _Field, number: int, stroke: AnyStroke, marks: Marks, room: Box, *, over: bool = False
) -> list[_Place]:
    """Return places for a stroke's mark that keep clear of all other ink, the best first.

    With ``over`` its arrow may run over later parts of the stroke itself.
    """
    s, points, tangents = along(stroke.path, 0.1 * marks.ring_mm)
    heading, half = _start(stroke)
    start = complex(points[0])
    mine = field.owners == number
    found: list[_Place] = []
    if float(s[-1]) < max(2.2 * marks.head_mm, 0.9 * marks.ring_mm):  # a dot: no way to show, the ring beside it
        return _beside_dot(field, start, half, marks, room)
    window = max(1, round(0.8 * marks.ring_mm * len(s) / float(s[-1])))
    halves = _eased(_halves(stroke, s, tangents), window)
    straight = tangents
    tangents = _calm(tangents, window)
    # A stroke that comes back over its own start (an ascending loop's does) leaves no choice but to cover both.
    again = mine & (field.lengths > half + 2.0 * marks.ring_mm)
    crossed = bool(again.any()) and float(field.gaps([start])[0][again].min()) < 0
    early = mine & (field.lengths < half + 2.0 * marks.ring_mm)
    # Ink written over the start once more is the start too.
    near = np.abs(field.centres[:, None] - field.centres[early][None, :]).min(axis=1)
    covers = (mine if crossed else early) | (near < 0.15 * field.radii + 0.05 * marks.ring_mm)
    rings: dict[complex, bool] = {}
    for shaft, side, offset, share, cost in _shafts(
        field, number, (s, points, tangents, halves), marks, room, over=over
    ):
        for centre, ring_cost in _ring_places(start, heading, half, side, offset, marks):
            if centre not in rings:
                rings[centre] = _ring_fits(field, centre, covers, start, marks, room)
            led = _led(shaft, centre, marks, share) if rings[centre] else ()
            if led:
                doubt = 0.0 if _clear(field, number, (s, points, straight), led, marks) else _DOUBTFUL
                found.append(_Place(cost + ring_cost + doubt, centre, led, over))
        if len(found) > 2 * _CHOICES:
            break
    if not found and float(s[-1]) < 3.0 * marks.ring_mm:  # hardly more than a dot
        return _beside_dot(field, start, half, marks, room)
    found.sort(key=_cost)
    return _varied(found, marks)


def _beside_dot(field: _Field, start: complex, half: float, marks: Marks, room: Box) -> list[_Place]:
    """Return places for a ring beside a dot, which needs no arrow, the nearest first."""
    found: list[_Place] = []
    nothing = np.zeros(len(field.radii), dtype=bool)
    for distance in (1.0, 1.5, 2.2):
        for turn in range(0, 360, 30):
            centre = start + cmath.rect(half + marks.ring_mm + distance * marks.gap_mm, math.radians(turn + 180))
            if _ring_fits(field, centre, nothing, start, marks, room):
                found.append(_Place(distance + (turn % 90 != 0) * 0.1 + turn / 3600, centre, ()))
    return sorted(found, key=_cost)[:_CHOICES]


def _clear(
    field: _Field, number: int, track: tuple[Floats, Complexes, Complexes], led: Sequence[complex], marks: Marks
) -> bool:
    """Tell whether an arrow that left its ring goes the pen's way at every point, nearest to its own stretch."""
    s, points, tangents = track
    ends = np.asarray(led)
    steps = np.diff(ends)
    middles = (ends[:-1] + ends[1:]) / 2
    stretch = float(np.abs(steps).sum()) + 2.5 * marks.ring_mm
    seen = np.abs(middles - points[0]) >= 1.6 * marks.ring_mm
    if not seen.any():
        return True
    early = np.flatnonzero(s <= stretch)
    for middle, step in zip(middles[seen], steps[seen], strict=True):
        near = s[early[np.abs(points[early] - middle).argmin()]]
        about = np.abs(s - near) <= 0.4 * marks.ring_mm  # round a corner it goes in an arc
        if (np.conj(tangents[about]) * step).real.max() <= 0:
            return False
    foreign = field.owners != number
    if not foreign.any():
        return True
    own = (field.owners == number) & (field.lengths <= stretch)
    gaps = field.gaps([complex(z) for z in middles[seen]])
    return bool(np.all(gaps[:, own].min(axis=1) <= gaps[:, foreign].min(axis=1) + 0.01))


def _cost(place: _Place) -> float:
    return place.cost


def _varied(found: Sequence[_Place], marks: Marks) -> list[_Place]:
    """Return the best of ``found``, leaving out those that hardly differ from a better one."""
    kept: list[_Place] = []
    for place in found:
        if len(kept) == _CHOICES:
            break
        alike = any(
            abs(place.centre - other.centre) < 0.3 * marks.ring_mm
            and len(place.shaft) == len(other.shaft)
            and (not place.shaft or abs(place.shaft[-1] - other.shaft[-1]) < marks.head_mm)
            for other in kept
        )
        if not alike:
            kept.append(place)
    return kept


def _eased(values: Floats, reach: int) -> Floats:
    """Return the greatest of ``values`` near each place, smoothed, so that an arrow beside a nib's corner is calm."""
    padded = np.pad(values, reach, mode="edge")
    highest = np.max(np.lib.stride_tricks.sliding_window_view(padded, 2 * reach + 1), axis=1)
    padded = np.pad(highest, reach, mode="edge")
    return np.asarray(np.convolve(padded, np.full(2 * reach + 1, 1 / (2 * reach + 1)), mode="valid"))


def _calm(tangents: Complexes, reach: int) -> Complexes:
    """Return directions averaged over their neighbours, so that an arrow goes round a corner in an arc."""
    padded = np.pad(tangents, reach, mode="edge")
    mean = np.convolve(padded, np.ones(2 * reach + 1), mode="valid")
    return np.asarray(mean / np.maximum(np.abs(mean), 1e-9))


def _ring_fits(
    field: _Field, centre: complex, covers: Bools, start: complex, marks: Marks, room: Box
) -> bool:
    """Tell whether a ring touches only the ink it ``covers``, and is nearest to its own stroke's ``start``."""
    if not _inside([centre], room, marks.ring_mm):
        return False
    if not bool(np.all(covers | (field.gaps([centre])[0] >= marks.ring_mm + 0.6 * marks.gap_mm))):
        return False
    own = abs(centre - start)
    others = [abs(centre - other) for other in field.starts if abs(other - start) > 0.2 * marks.ring_mm]
    return all(own < 0.8 * other for other in others)


def _ring_places(
    start: complex, heading: complex, half: float, side: int, offset: float, marks: Marks
) -> Iterator[tuple[complex, float]]:
    """Yield centres for a ring on a start, on the arrow's side where the ink is wider than the ring."""
    normal = side * 1j * heading
    aside = max(0.0, offset - 0.55 * marks.ring_mm)
    for back, shift, cost in (
        (0.0, 0.0, 0.0),
        (0.5, 0.0, 0.3),
        (0.9, 0.0, 0.5),
        (0.5, 0.5, 0.7),
        (0.0, 0.6, 0.7),
        (0.0, 1.1, 1.1),
        (0.9, 0.8, 1.2),
        (0.5, 1.3, 1.5),
    ):
        yield start - heading * back * (marks.ring_mm + 0.5 * half) + normal * (aside + shift * marks.ring_mm), cost


def _led(
    shaft: Sequence[complex], centre: complex, marks: Marks, share: float
) -> tuple[complex, ...]:
    """Return the part of a shaft that begins on the ring's edge; empty when it does not, or too little is left."""
    away = np.abs(np.asarray(shaft) - centre)
    outside = np.flatnonzero(away >= marks.ring_mm)
    if not len(outside):
        return ()
    first = int(outside[0])
    if away[first] > marks.ring_mm + 0.35 * marks.ring_mm or not np.all(away[first:] >= marks.ring_mm - 1e-9):
        return ()
    led = list(shaft[first:])
    edge = centre + (led[0] - centre) / away[first] * marks.ring_mm
    if abs(edge - led[0]) > 1e-6:
        led.insert(0, edge)
    length = sum(abs(b - a) for a, b in pairwise(led))
    least = max(2.2 * marks.head_mm, 0.45 * share * marks.arrow_mm)
    return tuple(led) if length >= least and abs(led[-1] - led[0]) > 1.6 * marks.head_mm else ()


_Track = tuple[Floats, Complexes, Complexes, Floats]
"""A centreline's samples: arc lengths, points, tangents, and how far the ink reaches aside."""


def _shafts(
    field: _Field, number: int, track: _Track, marks: Marks, room: Box, *, over: bool = False
) -> Iterator[tuple[list[complex], int, float, float, float]]:
    """Yield shafts beside a stroke's first stretch: points, side, offset at the start, share of the length, cost."""
    s, points, tangents, halves = track
    reach = _reach(marks)
    total = float(s[-1])
    for share in (1.0, 0.75, 0.5, 0.35, 0.22, 0.12):
        stop = min(total, marks.ring_mm + marks.arrow_mm * share)
        count = int(np.searchsorted(s, stop - 1e-9)) + 1
        picked = np.unique(np.linspace(0, min(count, len(s)) - 1, 28).astype(int))
        own, foreign = _belonging(field, number, (float(s[picked[0]]), float(s[picked[-1]])), marks)
        if over:
            foreign &= field.owners != number
        for wide in (1.0, 0.6, 1.5, 2.2):
            aside = halves[picked] + reach + wide * marks.gap_mm
            for side in (1, -1):
                shaft = points[picked] + side * 1j * tangents[picked] * aside
                cost = 1.2 * (1 - share) + 0.4 * abs(wide - 1) + 0.05 * (side > 0)
                turn = _turning(shaft)
                if turn > 3.3 or not _inside(shaft, room, reach):
                    continue
                away = np.abs(shaft - points[0])
                if away.max() < 1.6 * marks.ring_mm or not _beside(field, own, foreign, shaft, away, marks):
                    continue
                cost += 0.25 * turn + 1.5 * field.crossed(shaft, reach + 0.3 * marks.gap_mm)
                yield [complex(z) for z in shaft], side, float(aside[0]), share, cost


def _belonging(
    field: _Field, number: int, stretch: tuple[float, float], marks: Marks
) -> tuple[Bools, Bools]:
    """Return which discs are a stretch of a stroke, and which are neither it nor written over it again."""
    slack = 0.5 * marks.ring_mm
    own = (field.owners == number) & (field.lengths >= stretch[0] - slack) & (field.lengths <= stretch[1] + slack)
    near = np.abs(field.centres[:, None] - field.centres[own][None, :]).min(axis=1)
    return own, ~own & (near > 0.35 * field.radii)


def _beside(
    field: _Field, own: Bools, foreign: Bools, shaft: Complexes, away: Floats, marks: Marks
) -> bool:
    """Tell whether a shaft touches no ink and, where its ring does not tell, lies nearest to its own stretch.

    ``away`` is how far each of its points lies from the stroke's start: the ring covers the first of them.
    """
    gaps = field.gaps(list(shaft))
    reach = _reach(marks)
    seen = away > 1.6 * marks.ring_mm
    if float(gaps[seen][:, own | foreign].min()) < reach + 0.4 * marks.gap_mm:
        return False
    if not foreign.any():
        return True
    nearest = gaps[:, foreign].min(axis=1)
    touching = nearest[away > marks.ring_mm] <= marks.line_mm
    return bool(not touching.any() and np.all(gaps[seen][:, own].min(axis=1) <= nearest[seen]))


def _inside(points: Sequence[complex] | Complexes, room: Box, reach: float) -> bool:
    at = np.asarray(points)
    across = (at.real >= room.left + reach) & (at.real <= room.right - reach)
    return bool(np.all(across & (at.imag >= room.bottom + reach) & (at.imag <= room.top - reach)))


def _turning(shaft: Complexes) -> float:
    """Return the angle a shaft turns through in radians; infinite where it folds, as beside a tight bend's inside."""
    steps = np.diff(shaft)
    steps = steps[np.abs(steps) > 1e-9]
    if len(steps) < 2:
        return math.inf
    turns = np.abs(np.angle(steps[1:] / steps[:-1]))
    return float(turns.sum()) if turns.max() < 0.6 else math.inf
