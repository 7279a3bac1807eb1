"""A hand: proportions, slant, how pressure follows direction, and its letters as centrelines."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from types import MappingProxyType
from typing import Any, Literal

from guidegen.errors import bad_input
from guidegen.markers import Tip
from guidegen.skeletons import Nodes, parse_nodes, stretch

Rule = Literal["counter", "nib widths", "line height"]
RULES: tuple[Rule, ...] = ("counter", "nib widths", "line height")


@dataclass(frozen=True, slots=True)
class SizeRule:
    """How the right size is found.

    ``counter``: ``value`` is k in w = d k. ``nib widths``: the x-height in nib widths. ``line height``:
    the x-height in line widths. ``smallest``/``largest`` bound the band in the same unit.
    """

    rule: Rule
    value: float
    smallest: float
    largest: float


@dataclass(frozen=True, slots=True)
class Pressure:
    """Where pressure begins and ends on a stroke that travels down.

    Angles are between the direction of travel and straight down the slant axis (unslanted): pressure starts
    to grow once the pen is within ``on_deg`` of it and is off once it leaves ``off_deg``. ``press`` and
    ``release`` are the lengths of the two eases in x-heights; a dip shorter than ``shortest`` is not pressed.
    ``cut_deg`` (from the baseline) is the edge of a stem that starts or ends under pressure, by tip.
    """

    on_deg: float = 75.0
    off_deg: float = 70.0
    press: float = 0.35
    release: float = 0.4
    shortest: float = 0.25
    cut_deg: Mapping[str, float] = field(default_factory=lambda: MappingProxyType({"brush": -20.0, "pointed": 0.0}))


@dataclass(frozen=True, slots=True)
class Join:
    """Where letters of a joined hand meet: height in x-heights, heading (upright) in degrees."""

    height: float
    heading_deg: float


@dataclass(frozen=True, slots=True)
class Spacing:
    """How an unjoined hand is spaced, in x-heights (see :mod:`guidegen.spacing`).

    ``white`` is the mean white between two letters (``capitals`` times that between capitals and between figures),
    ``depth`` how far into an open side white is counted, ``gap`` the least distance between the ink of two letters
    at any height.
    """

    white: float = 0.45
    capitals: float = 1.3
    depth: float = 0.3
    gap: float = 0.12


@dataclass(frozen=True, slots=True)
class LetterData:
    """One letter as written in the hand's files. Entries lead into the first stroke, exits leave the last.

    ``marks`` are strokes made after the letter (and after its word, in a joined hand): dots, crossbars, accents.
    ``anchors`` say where an accent goes (``above``, ``below``, ...); ``sides``, when given, are the white left
    and right of the ink, in x-heights, in place of computed ones.
    """

    strokes: tuple[Nodes, ...]
    entries: Mapping[str, Nodes]
    exits: Mapping[str, Nodes]
    advance: float
    marks: tuple[Nodes, ...] = ()
    anchors: Mapping[str, complex] = field(default_factory=lambda: MappingProxyType({}))
    sides: tuple[float, float] | None = None


@dataclass(frozen=True, slots=True, eq=False)
class Hand:
    """A hand. Heights are from the baseline in x-heights; ``letters`` may be empty (guides only)."""

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
    marks: Mapping[str, LetterData] = field(default_factory=lambda: MappingProxyType({}))
    spacing: Spacing = Spacing()

    def slanted(self, slant_deg: float) -> Hand:
        """Return this hand at another slant (degrees from the baseline)."""
        return replace(self, slant_deg=slant_deg)


def hand_from_tables(tables: Mapping[str, Any], where: str, base: Hand | None = None) -> Hand:
    """Return the hand described by TOML tables (``hand``, ``size``, ``pressure``, ``joins``, ``strokes``, ``letters``).

    Args:
        tables: the parsed TOML of all files of the hand, merged.
        where: file or folder named in errors.
        base: the hand whose letters this one borrows (its key ``letters_from``).

    Raises:
        GuidegenError: for missing, unknown or wrong values.
    """
    head = _table(tables, "hand", where)
    size = _table(tables, "size", where)
    press = dict(tables.get("pressure", {}))
    strokes: dict[str, Nodes] = dict(base.strokes) if base else {}
    for name, text in tables.get("strokes", {}).items():
        strokes[name] = parse_nodes(text, strokes, where, f"strokes.{name}")
    letters: dict[str, LetterData] = dict(base.letters) if base else {}
    for char, table in tables.get("letters", {}).items():
        letters[char] = _letter(table, strokes, where, f"letters.{char}", letters)
    marks: dict[str, LetterData] = dict(base.marks) if base else {}
    for name, table in tables.get("marks", {}).items():
        marks[name] = _letter(table, strokes, where, f"marks.{name}", marks)
    spacing = {key: float(value) for key, value in tables.get("spacing", {}).items()}
    cuts = {"brush": -20.0, "pointed": 0.0, **press.pop("cut_deg", {})}
    joins = {name: Join(float(join["height"]), float(join["heading"])) for name, join in tables.get("joins", {}).items()}
    return Hand(
        name=head["name"],
        label=head["label"],
        tips=tuple(head["tips"]),
        slant_deg=float(head["slant_deg"]),
        ascender=float(head.get("ascender", 2)),
        descender=float(head.get("descender", 1)),
        capital=float(head.get("capital", head.get("ascender", 2))),
        row_gap=float(head.get("row_gap", 0.5)),
        size=SizeRule(size["rule"], float(size["value"]), float(size["smallest"]), float(size["largest"])),
        pressure=Pressure(**press, cut_deg=MappingProxyType(cuts)),
        joins=MappingProxyType(joins or (dict(base.joins) if base else {})),
        strokes=MappingProxyType(strokes),
        letters=MappingProxyType(letters),
        marks=MappingProxyType(marks),
        spacing=Spacing(**spacing) if spacing else (base.spacing if base else Spacing()),
    )


def _table(tables: Mapping[str, Any], name: str, where: str) -> Mapping[str, Any]:
    table = tables.get(name)
    if not isinstance(table, Mapping):
        raise bad_input(where, name, table, f"a table [{name}]")
    return table


def _letter(
    table: Mapping[str, Any], strokes: Mapping[str, Nodes], where: str, field: str, known: Mapping[str, LetterData]
) -> LetterData:
    """Read one letter. ``from`` takes over another letter first, ``scale``d, then moved by ``at``."""

    def nodes(text: str, key: str) -> Nodes:
        return parse_nodes(text, strokes, where, f"{field}.{key}")

    base = _based_on(table, where, field, known)
    entries = {k: nodes(v, f"entries.{k}") for k, v in table.get("entries", {}).items()}
    exits = {k: nodes(v, f"exits.{k}") for k, v in table.get("exits", {}).items()}
    anchors = {k: complex(*map(float, at)) for k, at in table.get("anchors", {}).items()}
    return LetterData(
        strokes=base.strokes + tuple(nodes(text, "strokes") for text in table.get("strokes", ())),
        entries=MappingProxyType({**base.entries, **entries}),
        exits=MappingProxyType({**base.exits, **exits}),
        advance=float(table.get("advance", base.advance)),
        marks=base.marks + tuple(nodes(text, "marks") for text in table.get("marks", ())),
        anchors=MappingProxyType({**base.anchors, **anchors}),
        sides=(float(table["sides"][0]), float(table["sides"][1])) if "sides" in table else base.sides,
    )


def _based_on(table: Mapping[str, Any], where: str, field: str, known: Mapping[str, LetterData]) -> LetterData:
    name = table.get("from")
    if name is None:
        if not table.get("strokes"):
            raise bad_input(where, f"{field}.strokes", table.get("strokes", "nothing"), "a list of strokes")
        return LetterData((), MappingProxyType({}), MappingProxyType({}), 0.0)
    if name not in known:
        raise bad_input(where, f"{field}.from", name, "a letter written before this one", "move it below that letter")
    base = known[name]
    factor, at = float(table.get("scale", 1)), complex(*map(float, table.get("at", (0, 0))))
    if factor == 1 and at == 0:
        return base
    moved = [tuple(stretch(nodes, factor, factor, at) for nodes in part) for part in (base.strokes, base.marks)]
    return LetterData(moved[0], MappingProxyType({}), MappingProxyType({}), base.advance * factor, moved[1])
