"""A hand: proportions, slant, how pressure follows direction, and its letters as centrelines."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, fields, replace
from types import MappingProxyType
from typing import Literal, TypeVar

from guidegen.checks import an, check_fields, line, name, number, one_of, optional, some_of, whole
from guidegen.errors import BadInputError
from guidegen.hands.skeletons import Nodes, stretch, turned_deg
from guidegen.profiles.markers import TIPS, Tip
from guidegen.read_only import read_only

_Item = TypeVar("_Item")
Rule = Literal["counter", "nib widths", "line height"]
RULES: tuple[Rule, ...] = ("counter", "nib widths", "line height")


@dataclass(frozen=True, slots=True)
class SizeRule:
    """How the right size is found.

    ``counter``: ``value`` is k in w = d k. ``nib widths``: the x-height in nib widths. ``line height``:
    the x-height in line widths. ``smallest``/``largest`` bound the band in the same unit.

    Raises:
        GuidegenError: another rule, or a value outside its band.
    """

    rule: Rule
    value: float
    smallest: float
    largest: float

    def __post_init__(self) -> None:
        check_fields(self, {"rule": one_of(RULES), "value": number(0.05, 100.0)})
        check_fields(self, {"smallest": number(0.01, self.value), "largest": number(self.value, 1000.0)})


def _by_tip(value: Mapping[str, float]) -> Mapping[str, float]:
    an(Mapping, "an angle for each tip")(value)
    kept = {}
    for tip, angle in value.items():
        try:
            kept[one_of(TIPS)(tip)] = number(-60.0, 60.0)(angle)
        except BadInputError as error:
            raise error.at("", str(tip)) from None
    return value if isinstance(value, MappingProxyType) and kept == value else read_only(kept)


_PRESSURE = {
    "on_deg": number(1.0, 120.0),
    "off_deg": number(1.0, 120.0),
    "press": number(0.01, 10.0),
    "release": number(0.01, 10.0),
    "shortest": number(0.01, 10.0),
    "cut_deg": _by_tip,
}


@dataclass(frozen=True, slots=True)
class Pressure:
    """Where pressure begins and ends on a stroke that travels down.

    Angles are between the direction of travel and straight down the slant axis (unslanted): pressure starts
    to grow once the pen is within ``on_deg`` of it and is off once it leaves ``off_deg``. ``press`` and
    ``release`` are the lengths of the two eases in x-heights; a dip shorter than ``shortest`` is not pressed.
    ``cut_deg`` (from the baseline) is the edge of a stem that starts or ends under pressure, by tip: a pointed pen's
    are cut square. A brush lands and is lifted softly (:mod:`guidegen.lettering.brush_ends`) unless an edge is given.

    Raises:
        GuidegenError: a value out of its range.
    """

    on_deg: float = 75.0
    off_deg: float = 70.0
    press: float = 0.35
    release: float = 0.4
    shortest: float = 0.25
    cut_deg: Mapping[str, float] = field(default_factory=lambda: read_only({"pointed": 0.0}))

    def __post_init__(self) -> None:
        check_fields(self, _PRESSURE)


@dataclass(frozen=True, slots=True)
class Join:
    """Where letters of a joined hand meet: height in x-heights, heading (upright) in degrees."""

    height: float
    heading_deg: float

    def __post_init__(self) -> None:
        check_fields(self, {"height": number(-10.0, 10.0), "heading_deg": number(-360.0, 360.0)})


@dataclass(frozen=True, slots=True)
class Spacing:
    """How an unjoined hand is spaced, in x-heights (see :mod:`guidegen.lettering.spacing`).

    ``white`` is the mean white between two letters (``capitals`` times that between capitals and between figures),
    ``depth`` how far into an open side white is counted, ``gap`` the least distance between the ink of two letters
    at any height.
    """

    white: float = 0.45
    capitals: float = 1.3
    depth: float = 0.3
    gap: float = 0.12

    def __post_init__(self) -> None:
        check_fields(self, dict.fromkeys(("white", "capitals", "depth", "gap"), number(0.0, 10.0)))


@dataclass(frozen=True, slots=True)
class LetterData:
    """One letter as written in the hand's files. Entries lead into the first stroke, exits leave the last.

    ``marks`` are strokes made after the letter (and after its word, in a joined hand): dots, crossbars, accents.
    ``anchors`` say where an accent goes (``above``, ``below``, ...); ``sides``, when given, are the white left
    and right of the ink, in x-heights, in place of computed ones. ``bounce`` is how far (x-heights) the letter stands
    above its line, or below it: all that is here has been moved by it. ``alternates`` are further shapes of the
    letter, with the same joins (see :mod:`guidegen.hands.alternates`).
    """

    strokes: tuple[Nodes, ...]
    entries: Mapping[str, Nodes]
    exits: Mapping[str, Nodes]
    advance: float
    marks: tuple[Nodes, ...] = ()
    anchors: Mapping[str, complex] = field(default_factory=lambda: read_only({}))
    sides: tuple[float, float] | None = None
    bounce: float = 0.0
    alternates: tuple[LetterData, ...] = ()


@dataclass(frozen=True, slots=True)
class Bounce:
    """How far letters of a hand may stand above their line and below it, in x-heights."""

    rise: float = 0.0
    fall: float = 0.0

    def __post_init__(self) -> None:
        check_fields(self, dict.fromkeys(("rise", "fall"), number(0.0, 0.5)))


FURTHEST_BACK = 6
"""How many letters back a letter may look for itself."""
_HAND = {
    "name": name,
    "label": line(80),
    "tips": some_of(TIPS),
    "slant_deg": number(20.0, 160.0),
    "ascender": number(1.0, 10.0),
    "descender": number(0.0, 10.0),
    "capital": number(0.5, 10.0),
    "row_gap": number(0.0, 10.0),
    "size": an(SizeRule, "a SizeRule"),
    "pressure": an(Pressure, "a Pressure"),
    "spacing": an(Spacing, "a Spacing"),
    "pen_angle_deg": optional(number(0.0, 90.0)),
    "bounce": an(Bounce, "a Bounce"),
    "reach": whole(1, FURTHEST_BACK, f"a whole number from 1 to {FURTHEST_BACK}"),
    **dict.fromkeys(("joins", "strokes", "letters", "marks"), an(Mapping, "a mapping")),
}


@dataclass(frozen=True, slots=True, eq=False)
class Hand:
    """A hand. Heights are from the baseline in x-heights; ``letters`` may be empty (guides only).

    ``pen_angle_deg`` is how a hand of guides only wants a broad edge held; None leaves it to the marker. ``reach`` is
    how many letters back a letter looks for itself, to take another of its shapes. Hands with equal parts are equal,
    wherever they were read, and hash alike.

    Raises:
        GuidegenError: a name, label or tip that is none, a slant, height or gap out of its range.
    """

    name: str
    label: str
    tips: tuple[Tip, ...]
    slant_deg: float
    ascender: float
    descender: float
    capital: float
    row_gap: float
    size: SizeRule
    pressure: Pressure
    joins: Mapping[str, Join]
    strokes: Mapping[str, Nodes]
    letters: Mapping[str, LetterData]
    marks: Mapping[str, LetterData] = field(default_factory=lambda: read_only({}))
    spacing: Spacing = Spacing()
    pen_angle_deg: float | None = None
    bounce: Bounce = Bounce()
    reach: int = 1

    def __post_init__(self) -> None:
        check_fields(self, _HAND)

    def __eq__(self, other: object) -> bool:
        if self is other or not isinstance(other, Hand):
            return self is other
        return all(_equal(getattr(self, entry.name), getattr(other, entry.name)) for entry in fields(self))

    def __hash__(self) -> int:
        # Of what tells hands apart at once; letters, thousands of numbers, only when these agree.
        return hash((self.name, self.slant_deg, self.ascender, self.size, self.spacing, len(self.letters)))

    def slanted(self, slant_deg: float) -> Hand:
        """Return this hand at another slant (degrees from the baseline)."""
        return replace(self, slant_deg=slant_deg)

    def widened(self, factor: float) -> Hand:
        """Return this hand with letters, strokes and marks ``factor`` times as wide; heights and joins stay true."""
        if factor == 1:
            return self
        return replace(
            self,
            joins=_each(self.joins, lambda join: Join(join.height, turned_deg(join.heading_deg, factor, 1))),
            strokes=_each(self.strokes, lambda nodes: stretch(nodes, factor, 1)),
            letters=_each(self.letters, lambda data: _widened(data, factor)),
            marks=_each(self.marks, lambda data: _widened(data, factor)),
        )


def _equal(one: object, other: object) -> bool:
    return one is other or one == other


def _widened(data: LetterData, factor: float) -> LetterData:
    def wide(nodes: Nodes) -> Nodes:
        return stretch(nodes, factor, 1)

    return replace(
        data,
        strokes=tuple(wide(nodes) for nodes in data.strokes),
        entries=_each(data.entries, wide),
        exits=_each(data.exits, wide),
        advance=factor * data.advance,
        marks=tuple(wide(nodes) for nodes in data.marks),
        anchors=_each(data.anchors, lambda at: complex(factor * at.real, at.imag)),
        alternates=tuple(_widened(other, factor) for other in data.alternates),
    )


def _each(items: Mapping[str, _Item], change: Callable[[_Item], _Item]) -> Mapping[str, _Item]:
    return read_only({name: change(item) for name, item in items.items()})
