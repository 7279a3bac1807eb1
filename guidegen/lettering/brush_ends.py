"""What a brush leaves where a stroke starts or ends under pressure.

It lands on its tip and is pressed, so a stem begins as a slanted teardrop: the tip lies on the side of the stem that
the pen is held from, and the belly swells to the other side within about a downstroke of length. It is lifted softly,
so a stem ends round, narrower than it was, never cut. Both bend the centreline and the width together, so that the
side with the tip stays straight. The proportions are common practice, no source.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from guidegen.geometry import cubic as cb
from guidegen.geometry.path import Path, Segment

Knots = tuple[tuple[float, float], ...]

_MOST = 0.8  # of a segment: what an end may take
_SAME = 1e-9
_ONE_WIDTH = 0.9999  # of the downstroke, and above: what changes is not seen


class _Touch(NamedTuple):
    """How a brush meets the paper or leaves it, in downstrokes: its width there, along how much of a stem that changes.

    ``lean`` is how much of the change lies on the side away from the tip (1: all of it; 0: as much as on the other).
    """

    width: float
    length: float
    lean: float


_LANDING = _Touch(0.44, 0.58, 1.0)
_RELEASE = _Touch(0.50, 0.70, 0.6)


class BrushEnd(NamedTuple):
    """One end of a stroke as a brush leaves it, in mm; ``full`` is the width it comes from or goes to."""

    width: float
    full: float
    length: float
    lean: float

    @property
    def aside(self) -> float:
        """How far the end lies towards the tip's side of the stem."""
        return self.lean * (self.full - self.width) / 2

    @property
    def begun(self) -> float:
        """How far the smoothstep from no width to the full one has come where the stroke begins: 0..1."""
        return 0.5 - math.sin(math.asin(1 - 2 * self.width / self.full) / 3)

    def inset(self, rise: float) -> float:
        """How much further in than the line it touches the stem ends; ``rise`` is what a step aside rises."""
        return self.width / 2 + self.aside * rise


def landing(downstroke_mm: float, hairline_mm: float) -> BrushEnd | None:
    """Return how a brush lands; None where its strokes have one width, so that nothing changes."""
    return _end(_LANDING, downstroke_mm, hairline_mm)


def release(downstroke_mm: float, hairline_mm: float) -> BrushEnd | None:
    """Return how a brush is lifted; None where its strokes have one width."""
    return _end(_RELEASE, downstroke_mm, hairline_mm)


def _end(touch: _Touch, downstroke_mm: float, hairline_mm: float) -> BrushEnd | None:
    width = max(hairline_mm, touch.width * downstroke_mm)
    if width > _ONE_WIDTH * downstroke_mm:
        return None
    return BrushEnd(width, downstroke_mm, touch.length * downstroke_mm, touch.lean)


def bent(path: Path, start: BrushEnd | None, end: BrushEnd | None) -> tuple[Path, float, float]:
    """Return ``path`` with its ends led aside, and along how much of it each end's width changes (0: no such end).

    The centreline is led away from the stem as the half width shrinks (both by one smoothstep), so that with a lean
    of 1 the tip's side of the stem stays straight.
    """
    segments = list(path.segments)
    lengths = [0.0, 0.0]
    if start is not None:
        segments[:1], lengths[0] = _led_aside(segments[0], start)
    if end is not None:
        led, lengths[1] = _led_aside(tuple(reversed(segments[-1])), end, backwards=True)
        segments[-1:] = [tuple(reversed(segment)) for segment in reversed(led)]
    return Path(tuple(segments), path.closed), lengths[0], lengths[1]


def _led_aside(segment: Segment, end: BrushEnd, *, backwards: bool = False) -> tuple[list[Segment], float]:
    curve = cb.as_cubics([segment])
    whole = _length(segment)
    share = min(_MOST, end.length / whole)
    t = float(cb.parameter_at(curve, np.array([share * whole]))[0])
    first, rest = cb.split(tuple(complex(z) for z in curve[0]), t)
    begins, ends = (step / abs(step) for step in _tangents(first))
    aside = end.aside * begins * (1j if backwards else -1j)  # the right of a pen that travels down
    u = end.begun
    back = aside * 2 * u * (1 - u) ** 2 / (1 - end.width / end.full)  # a third of the slope where it begins
    start = first[0] + aside
    led = (start, first[1] + aside - back, first[2], first[3])
    # Handles for even progress along the curve, as the width is even in its arc length
    pace = _length(led) / 3
    leaving = begins * math.sqrt(max(0.0, pace**2 - abs(back) ** 2)) - back
    led = (start, start + leaving, first[3] - ends * pace, first[3])
    return [led, rest], _length(led)


def _tangents(curve: Segment) -> tuple[complex, complex]:
    """Return where a cubic heads at its start and at its end; ends without a handle head for the next point."""
    a, b, c, d = curve
    return next(z - a for z in (b, c, d) if abs(z - a) > 0), next(d - z for z in (c, b, a) if abs(d - z) > 0)


def _length(segment: Segment) -> float:
    return float(cb.lengths(cb.as_cubics([segment]), np.zeros(1), np.ones(1))[0])


def pressed_ends(
    knots: Knots, total: float, start: BrushEnd | None, end: BrushEnd | None, lengths: tuple[float, float]
) -> Knots:
    """Return the knots of a stroke that is at full width at such ends, with the changes of its ends put in.

    An end shows the later part of a smoothstep from no width at all; the rest lies beyond it, where there is no stroke.
    """
    inner = list(knots)
    if start is not None:
        beyond = lengths[0] * start.begun / (1 - start.begun)
        inner = [(-beyond, 0.0), (lengths[0], start.full), *(knot for knot in inner if knot[0] > lengths[0] + _SAME)]
    if end is not None:
        foot, beyond = total - lengths[1], lengths[1] * end.begun / (1 - end.begun)
        inner = [*(knot for knot in inner if knot[0] < foot - _SAME), (foot, end.full), (total + beyond, 0.0)]
    return tuple(inner)
