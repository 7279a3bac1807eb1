"""The right size: the x-height at which a marker's letters look right.

Brush and pointed tips follow the counter rule: the white inside ``e``, across the slant axis, is as wide as
the downstroke beside it. Broad tips follow their hand's ladder of nib widths, round tips the line width
of technical lettering (ISO 3098-0:1997, type B: line = h/10, x-height = 7 line widths).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache

from guidegen.errors import GuidegenError
from guidegen.geometry.counters import Chord, Counter, counter_shape, holes, longest_chord, stroke_beside
from guidegen.geometry.path import Outline
from guidegen.hands import Hand
from guidegen.letters import INK_TOLERANCE_MM, ink, letter
from guidegen.markers import Marker
from guidegen.text import mean_advance_mm

SAMPLE_LETTER = "e"
_SEARCH_TOLERANCE_MM = 0.002
_STEPS_ACROSS_DOWNSTROKE = 640  # fine tips are measured as finely, for their size, as a 3.2 mm brush
_LARGEST_X_HEIGHT_IN_DOWNSTROKES = 60.0


@dataclass(frozen=True, slots=True)
class SampleCounter:
    """What was measured of the sample letter's counter: its chord across the slant axis, the downstroke beside
    it on the same line, and its shape. Lengths in mm."""

    chord: Chord
    stroke_beside_mm: float
    form: Counter

    @property
    def width_mm(self) -> float:
        return self.chord.width

    @property
    def ratio(self) -> float:
        """Counter width over the downstroke beside it: 1 at the right size."""
        return self.width_mm / self.stroke_beside_mm


@dataclass(frozen=True, slots=True)
class RightSize:
    """The right size of a marker in a hand, its band and what was measured. Lengths in mm."""

    marker: Marker
    hand: Hand
    rule: str
    x_height_mm: float
    smallest_x_height_mm: float
    largest_x_height_mm: float
    counter: SampleCounter | None

    @property
    def ascender_height_mm(self) -> float:
        return self.hand.ascender * self.x_height_mm

    @property
    def descender_mm(self) -> float:
        return self.hand.descender * self.x_height_mm

    @property
    def mean_advance_mm(self) -> float | None:
        """Mean width of a letter in running words; None for a hand without letters."""
        return mean_advance_mm(self.hand, self.marker, self.x_height_mm)

    def verdict(self, x_height_mm: float) -> str:
        """Return ``too small``, ``right`` or ``too large`` for an x-height."""
        if x_height_mm < self.smallest_x_height_mm:
            return "too small"
        return "too large" if x_height_mm > self.largest_x_height_mm else "right"


@lru_cache(maxsize=256)
def sample_outline(hand: Hand, marker: Marker, x_height_mm: float) -> Outline:
    """Return the ink of the sample letter at ``x_height_mm``."""
    tolerance_mm = min(INK_TOLERANCE_MM, marker.downstroke_mm / _STEPS_ACROSS_DOWNSTROKE)
    return ink([letter(hand, marker, x_height_mm, SAMPLE_LETTER)], tolerance_mm)


def counter_at(hand: Hand, marker: Marker, x_height_mm: float) -> SampleCounter | None:
    """Return the measured counter of the sample letter at ``x_height_mm``; None when it is closed."""
    return measure_sample(sample_outline(hand, marker, x_height_mm), hand.slant_deg)


def measure_sample(outline: Outline, slant_deg: float) -> SampleCounter | None:
    """Return the measured counter of a letter with one bowl, the highest hole of its ink; None when closed."""
    found = holes(outline)
    if not found:
        return None
    bowl = max(found, key=lambda hole: counter_shape(hole).centroid.imag)
    chord = longest_chord(bowl, slant_deg)
    return SampleCounter(chord, stroke_beside(outline, chord), counter_shape(bowl))


@lru_cache(maxsize=256)
def right_size(marker: Marker, hand: Hand) -> RightSize:
    """Return the right size of ``marker`` in ``hand``: by the hand's rule, or the one its profile keeps from a trial.

    Raises:
        GuidegenError: when no size satisfies the rule (the message says why).
    """
    rule = hand.size
    if rule.rule == "counter":
        x, low, high = (x_height_for(hand, marker, k) for k in (rule.value, rule.smallest, rule.largest))
    else:
        x, low, high = (marker.downstroke_mm * k for k in (rule.value, rule.smallest, rule.largest))
    if marker.x_height_mm is not None:  # found by trial and kept in the profile: the writer's own eye decides
        x, low, high = (marker.x_height_mm * part / x for part in (x, low, high))
    counter = counter_at(hand, marker, x) if rule.rule == "counter" else None
    return RightSize(marker, hand, rule.rule, x, low, high, counter)


def x_height_for(hand: Hand, marker: Marker, ratio: float) -> float:
    """Return the x-height (mm) at which the counter is ``ratio`` times the downstroke beside it.

    A bracketed secant (Illinois variant of regula falsi; Dowell & Jarratt 1971): counter width is nearly
    linear in the x-height, so it takes a few steps.
    """

    def excess(x_height_mm: float) -> float:
        found = counter_at(hand, marker, x_height_mm)
        if found is None:
            return -ratio * marker.downstroke_mm
        return found.width_mm - ratio * found.stroke_beside_mm

    low, high = _bracket(excess, marker)
    f_low, f_high = excess(low), excess(high)
    close_enough_mm = _SEARCH_TOLERANCE_MM * min(1.0, marker.downstroke_mm / 4)
    side = 0
    while high - low > 1e-7:
        x = high - f_high * (high - low) / (f_high - f_low)
        f = excess(x)
        if abs(f) < close_enough_mm:
            return x
        if f > 0:
            high, f_high = x, f
            f_low = f_low / 2 if side > 0 else f_low  # the same end twice: halve the other's weight
            side = 1
        else:
            low, f_low = x, f
            f_high = f_high / 2 if side < 0 else f_high
            side = -1
    return (low + high) / 2


def _bracket(excess: Callable[[float], float], marker: Marker) -> tuple[float, float]:
    step = marker.downstroke_mm
    low, high = 1.5 * step, 4.0 * step
    while excess(high) <= 0:
        low, high = high, high * 1.5
        if high > _LARGEST_X_HEIGHT_IN_DOWNSTROKES * step:
            raise GuidegenError(
                f"marker {marker.name}: the counter of {SAMPLE_LETTER} stays closed, or narrower than the downstroke "
                f"({marker.downstroke_mm:g} mm) beside it, up to an x-height of {low:.0f} mm; with a hairline of "
                f"{marker.hairline_mm:g} mm this hand cannot open: choose another with --hand"
            )
    return low, high
