"""The right size: the x-height at which a marker's letters look right.

Brush and pointed tips follow the counter rule: the white inside ``e``, across the slant axis, is as wide as the
letter's full downstroke, wherever that lies. Broad tips follow their hand's ladder of nib widths, round tips the line
width of technical lettering (ISO 3098-0:1997, type B: line = h/10, x-height = 7 line widths).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal, NamedTuple

from guidegen.checks import an, check_fields, wrong
from guidegen.errors import GuidegenError
from guidegen.geometry.measure import moments
from guidegen.geometry.path import Outline, Path
from guidegen.geometry.shape.counter_guess import bowl_estimate
from guidegen.geometry.shape.counters import Chord, Counter, counter_shape, holes, longest_chord
from guidegen.geometry.shape.downstroke import WITHIN_DEG, full_downstroke
from guidegen.geometry.stroke.stroke import Stroke
from guidegen.hands.hand import Hand, Rule
from guidegen.lettering.lettering import Lettering
from guidegen.lettering.letters import INK_TOLERANCE_MM, SAMPLE_LETTER, ink, letter
from guidegen.lettering.size_curve import size_curve
from guidegen.profiles.markers import Marker

At = Literal["smallest", "right", "largest"]
"""A place in a marker's band."""
BROADEST_ON_CURVE_MM = 10.0
_SEARCH_TOLERANCE_MM = 0.0005
_STEPS_ACROSS_DOWNSTROKE = 1280  # at twice the step the fit shows in where the chord lies
_LARGEST_X_HEIGHT_IN_DOWNSTROKES = 60.0
_NARROWEST_BRACKET = 3e-4  # of the downstroke: where the chord jumps to another place, no x-height solves exactly
_SECANT_TRIES = 5  # after so many the bracket is halved instead
_GUESSES, _CORRECTIONS = 6, 4  # at most, before the search does it
_ALONG_DEG = 3.0
_GUESS_TOLERANCE = 0.01  # of the downstroke: a last step from there lands within a thousandth


class SampleCounter(NamedTuple):
    """What was measured of the sample letter's counter, in mm.

    Its chord across the slant axis, that of the letter's full downstroke (lower than the counter, as a rule, for a
    pen swells into it through the shoulder), and its shape.
    """

    chord: Chord
    downstroke: Chord
    form: Counter

    @property
    def width_mm(self) -> float:
        return self.chord.width

    @property
    def ratio(self) -> float:
        """Counter width over the full downstroke: 1 at the right size."""
        return self.width_mm / self.downstroke_mm

    @property
    def downstroke_mm(self) -> float:
        return self.downstroke.width


@dataclass(frozen=True, slots=True)
class RightSize:
    """The right size of a marker in a hand, its band and what was measured. Lengths in mm.

    Band and counter are worked out when they are first asked for, which most pages never do, the band unless
    ``known_band_mm`` says it.

    Raises:
        GuidegenError: a band that does not begin above 0 or ends before it begins.
    """

    lettering: Lettering
    known_band_mm: tuple[float, float] | None = None

    def __post_init__(self) -> None:
        check_fields(self, {"lettering": an(Lettering, "a Lettering")})
        if self.known_band_mm is not None and not 0 < self.known_band_mm[0] <= self.known_band_mm[1]:
            raise wrong(self, "known_band_mm", self.known_band_mm, "the smallest and the largest x-height in mm")

    @property
    def marker(self) -> Marker:
        return self.lettering.marker

    @property
    def hand(self) -> Hand:
        return self.lettering.hand

    @property
    def rule(self) -> Rule:
        return self.hand.size.rule

    @property
    def x_height_mm(self) -> float:
        return self.lettering.x_height_mm

    @property
    def counter(self) -> SampleCounter | None:
        """Return the counter that the rule measured; None for another rule, or where it is closed."""
        return counter_at(self.lettering) if self.rule == "counter" else None

    @property
    def smallest_x_height_mm(self) -> float:
        return self._band_mm[0]

    @property
    def largest_x_height_mm(self) -> float:
        return self._band_mm[1]

    @property
    def _band_mm(self) -> tuple[float, float]:
        return self.known_band_mm or _band_mm(self.marker, self.hand)

    @property
    def ascender_height_mm(self) -> float:
        return self.hand.ascender * self.x_height_mm

    @property
    def descender_mm(self) -> float:
        return self.hand.descender * self.x_height_mm

    @property
    def mean_advance_mm(self) -> float | None:
        """Mean width of a letter in running words; None for a hand without letters."""
        from guidegen.lettering.text import mean_advance_mm

        return mean_advance_mm(self.lettering)

    def verdict(self, x_height_mm: float) -> str:
        """Return ``too small``, ``right`` or ``too large`` for an x-height."""
        if x_height_mm == self.x_height_mm:
            return "right"
        if x_height_mm < self.smallest_x_height_mm:
            return "too small"
        return "too large" if x_height_mm > self.largest_x_height_mm else "right"


@lru_cache(maxsize=256)
def sample_outline(lettering: Lettering) -> Outline:
    """Return the ink of the sample letter."""
    tolerance_mm = min(INK_TOLERANCE_MM, lettering.marker.downstroke_mm / _STEPS_ACROSS_DOWNSTROKE)
    return ink([letter(lettering, SAMPLE_LETTER)], tolerance_mm)


@lru_cache(maxsize=256)
def counter_at(lettering: Lettering) -> SampleCounter | None:
    """Return the measured counter of the sample letter, its highest hole; None when it is closed.

    Raises:
        GuidegenError: the letter has no downstroke to compare the counter with.
    """
    bowl = _bowl(sample_outline(lettering))
    if bowl is None:
        return None
    return SampleCounter(longest_chord(bowl, lettering.hand.slant_deg), _downstroke(lettering), counter_shape(bowl))


def _downstroke(lettering: Lettering) -> Chord:
    """Return the full downstroke of the sample letter.

    A broad or round tip is as wide in a turn as beside it and shows its downstroke where it runs along the slant.
    """
    hand = lettering.hand
    within_deg = WITHIN_DEG if lettering.marker.tip in ("brush", "pointed") else _ALONG_DEG
    strokes = letter(lettering, SAMPLE_LETTER).strokes
    found = full_downstroke(strokes, hand.slant_deg, within_deg)
    if found is None:
        raise GuidegenError(
            f"hand {hand.name}: no stroke of {SAMPLE_LETTER} runs down within {within_deg:g} degrees of the slant "
            f"({hand.slant_deg:g}), so there is no downstroke to compare its counter with; choose another `hand`"
        )
    return found


def _bowl(outline: Outline) -> Path | None:
    """Return the highest hole of an outline, by its centroid."""

    def height(hole: Path) -> float:
        area, _, moment, *_ = moments(hole)
        return moment / area

    return max(holes(outline), key=height, default=None)


@lru_cache(maxsize=256)
def right_size(marker: Marker, hand: Hand) -> RightSize:
    """Return the right size of ``marker`` in ``hand``: by the hand's rule, or the one its profile keeps from a trial.

    Raises:
        GuidegenError: when no size satisfies the rule (the message says why).
    """
    x = marker.x_height_mm or _ruled_mm(marker, hand, (hand.size.value,))[0]  # found by trial: the writer's own eye
    return RightSize(Lettering(marker, hand, x))


@lru_cache(maxsize=256)
def _band_mm(marker: Marker, hand: Hand) -> tuple[float, float]:
    """Return the smallest and the largest x-height; a size found by trial carries the rule's band with it."""
    rule = hand.size
    x, low, high = _ruled_mm(marker, hand, (rule.value, rule.smallest, rule.largest))
    share = (marker.x_height_mm or x) / x
    return low * share, high * share


def _ruled_mm(marker: Marker, hand: Hand, values: Sequence[float]) -> tuple[float, ...]:
    """Return the x-heights at which the hand's rule has each of ``values``."""
    if hand.size.rule == "counter":
        return _on_the_curve(marker, hand, values) or x_heights_for(hand, marker, values)
    return tuple(marker.downstroke_mm * value for value in values)


def _on_the_curve(marker: Marker, hand: Hand, values: Sequence[float]) -> tuple[float, ...]:
    """Return the x-heights that the hand's curve gives; nothing where it has none, or for a very broad marker.

    The curve is true within some ten-thousandths of the downstroke, less than 0.01 mm up to the bound.
    """
    if marker.downstroke_mm > BROADEST_ON_CURVE_MM:
        return ()
    curve = size_curve(hand, marker.tip)
    if curve is None:
        return ()
    share = marker.hairline_mm / marker.downstroke_mm
    heights = [curve.height(share, value) for value in values]
    return () if None in heights else tuple(marker.downstroke_mm * height for height in heights if height)


class _Opening(NamedTuple):
    """The counter and the full downstroke at one x-height, in mm; a closed counter has no width."""

    x_height_mm: float
    counter_mm: float
    downstroke_mm: float

    def excess_mm(self, ratio: float) -> float:
        """Return by how much the counter is wider than ``ratio`` downstrokes."""
        return self.counter_mm - ratio * self.downstroke_mm


@lru_cache(maxsize=256)
def _opening(lettering: Lettering) -> _Opening:
    bowl = _bowl(sample_outline(lettering))
    width_mm = longest_chord(bowl, lettering.hand.slant_deg).width if bowl else 0.0
    return _Opening(lettering.x_height_mm, width_mm, _downstroke(lettering).width)


def x_heights_for(hand: Hand, marker: Marker, ratios: Sequence[float]) -> tuple[float, ...]:
    """Return the x-heights (mm) at which the counter is each of ``ratios`` times the full downstroke.

    The strokes' discs give a first guess and how fast the counter opens there, so one or two letters are inked; where
    that does not lead to the goal, a search does.
    """
    known: list[_Opening] = []
    sample = Lettering(marker, hand, marker.downstroke_mm)
    return tuple(_corrected(sample, ratio, known) or _searched(sample, ratio, known) for ratio in ratios)


def _corrected(sample: Lettering, ratio: float, known: list[_Opening]) -> float | None:
    """Return the x-height to which a first guess leads, each letter that is inked correcting it; None if to none."""
    guess = _guess(sample, ratio)
    if guess is None:
        return None
    x, slope = guess
    for _ in range(_CORRECTIONS):
        known.append(_opening(sample.at(x)))
        excess = known[-1].excess_mm(ratio)
        if abs(excess) < _close_enough_mm(sample.marker):
            return x
        x -= excess / slope
        if not 0.5 * guess[0] < x < 2 * guess[0]:
            return None
    return None


def _guess(sample: Lettering, ratio: float) -> tuple[float, float] | None:
    """Return an x-height near the goal and how much faster than the downstroke the counter grows with it.

    None where the discs show no counter (a broad nib has no discs), or no end to the search.
    """
    downstroke_mm = sample.marker.downstroke_mm
    far = _LARGEST_X_HEIGHT_IN_DOWNSTROKES * downstroke_mm
    x, before = 4.0 * downstroke_mm, None
    slope = 0.5  # of most letters; the second step measures it
    for _ in range(_GUESSES):
        strokes = [stroke for stroke in letter(sample.at(x), SAMPLE_LETTER).strokes if isinstance(stroke, Stroke)]
        white = bowl_estimate(strokes, sample.hand.slant_deg) if strokes else None
        if white is None:
            return None
        excess = white.width - ratio * _downstroke(sample.at(x)).width
        if before is not None and x != before[0]:
            slope = (excess - before[1]) / (x - before[0])
        if not slope > 0:
            return None
        before = (x, excess)
        x -= excess / slope
        if not 0 < x < far:
            return None
        if abs(excess) < _GUESS_TOLERANCE * downstroke_mm:
            return x, slope
    return None


def _close_enough_mm(marker: Marker) -> float:
    return _SEARCH_TOLERANCE_MM * min(1.0, marker.downstroke_mm / 4)


def _searched(sample: Lettering, ratio: float, known: list[_Opening]) -> float:
    """Return the x-height of the goal by a secant kept inside the bracket that the samples make.

    Counter and downstroke are nearly linear in the x-height, so the line through the two samples nearest to the goal
    takes a few steps; the samples of one ratio serve the next.
    """
    marker = sample.marker
    close_enough_mm = _close_enough_mm(marker)
    tries = 0
    while True:
        best = min(known, key=lambda opening: abs(opening.excess_mm(ratio)), default=None)
        if best is not None and abs(best.excess_mm(ratio)) < close_enough_mm:
            return best.x_height_mm
        low = max((entry for entry in known if entry.excess_mm(ratio) < 0), key=_height, default=None)
        high = min((entry for entry in known if entry.excess_mm(ratio) >= 0), key=_height, default=None)
        if high is None:
            x = 4.0 * marker.downstroke_mm if low is None else 1.5 * low.x_height_mm
            _check_search(marker, x)
        elif low is None:
            x = high.x_height_mm / 1.5
        elif high.x_height_mm - low.x_height_mm < _NARROWEST_BRACKET * marker.downstroke_mm:
            return min((low, high), key=lambda entry: abs(entry.excess_mm(ratio))).x_height_mm
        else:
            x = _between(low, high, known, ratio, halve=tries > _SECANT_TRIES)
            tries += 1
        known.append(_opening(sample.at(x)))


def _height(opening: _Opening) -> float:
    return opening.x_height_mm


def _between(low: _Opening, high: _Opening, known: Sequence[_Opening], ratio: float, *, halve: bool) -> float:
    """Return the next x-height to try: on the line through the two open samples nearest to the goal, else inside."""
    near = sorted((entry for entry in known if entry.counter_mm > 0), key=lambda entry: abs(entry.excess_mm(ratio)))[:2]
    for pair in () if halve else (near, (low, high)):
        if len(pair) == 2 and pair[0].excess_mm(ratio) != pair[1].excess_mm(ratio):
            x = _meeting(pair[0], pair[1], ratio)
            if low.x_height_mm < x < high.x_height_mm:
                return x
    return (low.x_height_mm + high.x_height_mm) / 2


def _meeting(first: _Opening, second: _Opening, ratio: float) -> float:
    """Return where the line through two samples meets the goal."""
    f, g = first.excess_mm(ratio), second.excess_mm(ratio)
    return first.x_height_mm - f * (second.x_height_mm - first.x_height_mm) / (g - f)


def _check_search(marker: Marker, next_mm: float) -> None:
    if next_mm > _LARGEST_X_HEIGHT_IN_DOWNSTROKES * marker.downstroke_mm:
        raise GuidegenError(
            f"marker {marker.name}: the counter of {SAMPLE_LETTER} stays closed, or narrower than its downstroke "
            f"({marker.downstroke_mm:g} mm), up to an x-height of {next_mm / 1.5:.0f} mm; with a hairline of "
            f"{marker.hairline_mm:g} mm this hand cannot open: choose another `hand`"
        )
