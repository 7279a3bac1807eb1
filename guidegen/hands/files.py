"""Reading a hand: from the merged TOML tables of its folder to a checked :class:`~guidegen.hands.hand.Hand`.

A mistake in a letterer's file is one line that names the folder, the field, what was found and what is expected.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import fields, replace
from types import MappingProxyType
from typing import Any, cast

from guidegen.errors import Plain, bad_input, did_you_mean
from guidegen.hands.bounce import bounced
from guidegen.hands.hand import RULES, Bounce, Hand, Join, LetterData, Pressure, SizeRule, Spacing
from guidegen.hands.joins import END, START
from guidegen.hands.skeletons import Nodes, parse_nodes, stretch
from guidegen.profiles.markers import TIPS, Tip, check_name

JOIN_DISTANCE = 0.002
"""Exits and entries end where their join says, within this many x-heights ..."""
JOIN_DEG = 2.0
"""... and this many degrees, so that any two letters meet smoothly."""
_TABLES = ("hand", "size", "pressure", "joins", "spacing", "bounce", "alternates", "strokes", "letters", "marks")
_HEAD = ("name", "label", "tips", "slant_deg", "width", "ascender", "descender", "capital", "row_gap", "letters_from",
         "pen_angle_deg")  # fmt: skip
_MARK = ("strokes", "entries", "exits", "marks", "anchors", "sides", "advance", "from", "scale", "at")
_LETTER = (*_MARK, "bounce", "alternates")
_ALTERNATE = ("strokes", "entries", "exits", "marks", "anchors", "advance", "bounce")
_MOST_ALTERNATES = 4
_FURTHEST_BACK = 6
_STROKE_NAME = re.compile(r"[a-z][a-z0-9-]*")


def hand_from_tables(tables: Mapping[str, Any], where: str, base: Hand | None = None) -> Hand:
    """Return the hand described by TOML tables (``hand``, ``size``, ``pressure``, ``joins``, ``strokes``, ``letters``).

    Args:
        tables: the parsed TOML of all files of the hand, merged.
        where: file or folder named in errors.
        base: the hand whose letters this one borrows (its key ``letters_from``).

    Raises:
        GuidegenError: for missing, unknown or wrong values.
    """
    _known(tables, _TABLES, where, "")
    head = _table(tables, "hand", where, _HEAD)
    strokes: dict[str, Nodes] = dict(base.strokes) if base else {}
    for name, text in _optional_table(tables, "strokes", where).items():
        if not _STROKE_NAME.fullmatch(name):
            raise bad_input(where, f"strokes.{name}", name, "a name of lower-case letters, digits and hyphens")
        strokes[name] = _nodes(text, strokes, where, f"strokes.{name}")
    joins = _joins(_optional_table(tables, "joins", where), where) or (dict(base.joins) if base else {})
    bounce = _bounce(_optional_table(tables, "bounce", where), where, base)
    reader = _LetterReader(strokes, joins, bounce, where)
    letters: dict[str, LetterData] = dict(base.letters) if base else {}
    for char, table in _optional_table(tables, "letters", where).items():
        letters[char] = reader.letter(char, table, letters)
    marks: dict[str, LetterData] = dict(base.marks) if base else {}
    for name, table in _optional_table(tables, "marks", where).items():
        marks[name] = reader.read(table, f"marks.{name}", marks, _MARK)
    ascender = _number(head, "ascender", where, "hand", 1.0, 10.0, 2.0)
    hand = Hand(
        name=check_name(head.get("name"), where, "hand.name"),
        label=_label(head, where),
        tips=_tips(head, where),
        slant_deg=_number(head, "slant_deg", where, "hand", 30.0, 150.0),
        ascender=ascender,
        descender=_number(head, "descender", where, "hand", 0.0, 10.0, 1.0),
        capital=_number(head, "capital", where, "hand", 0.5, 10.0, ascender),
        row_gap=_number(head, "row_gap", where, "hand", 0.0, 10.0, 0.5),
        size=_size(_table(tables, "size", where, [entry.name for entry in fields(SizeRule)]), where),
        pressure=_pressure(_optional_table(tables, "pressure", where), where),
        joins=MappingProxyType(joins),
        strokes=MappingProxyType(strokes),
        letters=MappingProxyType(letters),
        marks=MappingProxyType(marks),
        spacing=_spacing(_optional_table(tables, "spacing", where), where, base),
        pen_angle_deg=_number(head, "pen_angle_deg", where, "hand", 0.0, 90.0) if "pen_angle_deg" in head else None,
        bounce=bounce,
        reach=_reach(_optional_table(tables, "alternates", where), where, base),
    )
    return hand.widened(_number(head, "width", where, "hand", 0.2, 5.0, 1.0))


class _LetterReader:
    """Reads letters and marks of one hand: knows its basic strokes and its joins."""

    def __init__(self, strokes: Mapping[str, Nodes], joins: Mapping[str, Join], bounce: Bounce, where: str) -> None:
        self.strokes, self.joins, self.bounce, self.where = strokes, joins, bounce, where

    def letter(self, char: str, table: Any, known: Mapping[str, LetterData]) -> LetterData:
        if len(char) != 1 or not char.isprintable() or char.isspace():
            raise bad_input(self.where, f"letters.{char}", char, 'one character, such as [letters.a] or [letters."é"]')
        field = f"letters.{char}"
        data = self.read(table, field, known)
        self._check_joins(data, field)
        if "alternates" not in table:
            return data
        given = table["alternates"]
        if not isinstance(given, list) or not 1 <= len(given) <= _MOST_ALTERNATES:
            expected = f"1 to {_MOST_ALTERNATES} tables [[{field}.alternates]]"
            raise bad_input(self.where, f"{field}.alternates", given, expected)
        return replace(data, alternates=tuple(self._alternate(entry, field, data) for entry in given))

    def _alternate(self, table: Any, letter: str, data: LetterData) -> LetterData:
        """Read another shape of a letter: what its table gives takes the place of the letter's own."""
        field = f"{letter}.alternates"
        if not isinstance(table, Mapping) or not table:
            raise bad_input(self.where, field, table, f"a table [[{field}]] that changes something")
        _known(table, _ALTERNATE, self.where, field)
        for key, own in (("entries", data.entries), ("exits", data.exits)):
            added = [name for name in _optional_table(table, key, self.where, field) if name not in own]
            if added:
                raise bad_input(self.where, f"{field}.{key}", added[0], "joins that the letter itself has")
        plain = bounced(data, -data.bounce, self.joins)
        if "strokes" in table:
            plain = replace(plain, strokes=())
        if "marks" in table:
            plain = replace(plain, marks=())
        done = self._extended(replace(plain, alternates=()), {"bounce": data.bounce, **table}, field)
        if not done.strokes:
            raise bad_input(self.where, f"{field}.strokes", table["strokes"], "a list of strokes")
        self._check_joins(done, field)
        return done

    def _check_joins(self, data: LetterData, field: str) -> None:
        for name, join in self.joins.items():
            both = (("entries", data.entries), ("exits", data.exits))
            short = [key for key, ways in both if name in ways and len(ways[name]) < 2]
            if short and data.bounce:
                raise bad_input(self.where, f"{field}.{short[0]}.{name}", Plain("one node"), "two or more",
                                "a letter that bounces needs a way between it and its join")  # fmt: skip
            if name in data.entries:
                node = data.entries[name][0]
                self._meets(node.at.imag, node.leave_deg, join, f"{field}.entries.{name}")
            if name in data.exits:
                node = data.exits[name][-1]
                self._meets(node.at.imag, node.arrive_deg, join, f"{field}.exits.{name}")

    def _meets(self, height: float, heading: float | None, join: Join, field: str) -> None:
        turned = None if heading is None else abs((heading - join.heading_deg + 180) % 360 - 180)
        if abs(height - join.height) > JOIN_DISTANCE or turned is None or turned > JOIN_DEG:
            found = f"height {height:g}, heading {'none' if heading is None else f'{heading:g}'}"
            expected = f"height {join.height:g}, heading {join.heading_deg:g}"
            raise bad_input(self.where, field, Plain(found), expected, "that is where this join is made")

    def read(
        self, table: Any, field: str, known: Mapping[str, LetterData], keys: Sequence[str] = _LETTER
    ) -> LetterData:
        """Read one letter or mark. ``from`` takes over another first, ``scale``d, then moved by ``at``."""
        if not isinstance(table, Mapping):
            raise bad_input(self.where, field, table, f"a table [{field}]")
        _known(table, keys, self.where, field)
        base = self._based_on(table, field, known)
        done = self._extended(bounced(base, -base.bounce, self.joins), {"bounce": base.bounce, **table}, field)
        own = {key: value for key, value in table.items() if key in _ALTERNATE}
        others = [bounced(other, -other.bounce, self.joins) for other in base.alternates]
        bounces = [table.get("bounce", other.bounce) for other in base.alternates]
        also = [self._extended(other, {**own, "bounce": b}, field) for other, b in zip(others, bounces, strict=True)]
        return replace(done, alternates=tuple(also))

    def _extended(self, base: LetterData, table: Mapping[str, Any], field: str) -> LetterData:
        """Return ``base``, which stands on its line, with what ``table`` adds, moved by its ``bounce``."""
        sides = self._pair(table, "sides", field)
        advance = _number(table, "advance", self.where, field, -50.0, 50.0, base.advance)
        bounce = _number(table, "bounce", self.where, field, -self.bounce.fall, self.bounce.rise, 0.0)
        done = LetterData(
            strokes=base.strokes + self._list(table, "strokes", field),
            entries=MappingProxyType({**base.entries, **self._ways(table, "entries", field, START)}),
            exits=MappingProxyType({**base.exits, **self._ways(table, "exits", field, END)}),
            advance=advance,
            marks=base.marks + self._list(table, "marks", field),
            anchors=MappingProxyType({**base.anchors, **self._anchors(table, field)}),
            sides=base.sides if sides is None else (sides.real, sides.imag),
        )
        return bounced(done, bounce, self.joins)

    def _based_on(self, table: Mapping[str, Any], field: str, known: Mapping[str, LetterData]) -> LetterData:
        name = table.get("from")
        if name is None:
            if not table.get("strokes"):
                found = table.get("strokes", Plain("nothing"))
                raise bad_input(self.where, f"{field}.strokes", found, "a list of strokes")
            return LetterData((), MappingProxyType({}), MappingProxyType({}), 0.0)
        if not isinstance(name, str) or name not in known:
            expected = "a letter written before this one"
            raise bad_input(self.where, f"{field}.from", name, expected, "move it below that letter")
        base, factor = known[name], _number(table, "scale", self.where, field, -10.0, 10.0, 1.0)
        at = self._pair(table, "at", field) or 0j
        if factor == 0:
            raise bad_input(self.where, f"{field}.scale", 0, "a factor other than 0")
        if factor == 1 and at == 0:
            return base
        moved = [tuple(stretch(nodes, factor, factor, at) for nodes in part) for part in (base.strokes, base.marks)]
        return LetterData(moved[0], MappingProxyType({}), MappingProxyType({}), base.advance * factor, moved[1])

    def _list(self, table: Mapping[str, Any], key: str, field: str) -> tuple[Nodes, ...]:
        texts = table.get(key, [])
        if not isinstance(texts, list):
            raise bad_input(self.where, f"{field}.{key}", texts, 'a list of strokes, such as ["0,1 0,0"]')
        strokes = tuple(_nodes(text, self.strokes, self.where, f"{field}.{key}") for text in texts)
        for nodes, text in zip(strokes, texts, strict=True):
            if len({node.at for node in nodes}) < 2:
                raise bad_input(self.where, f"{field}.{key}", text, "a stroke of two nodes or more that moves")
        return strokes

    def _ways(self, table: Mapping[str, Any], key: str, field: str, outer: str) -> dict[str, Nodes]:
        ways = _optional_table(table, key, self.where, field)
        _known(ways, [*self.joins, outer], self.where, f"{field}.{key}")
        return {name: _nodes(text, self.strokes, self.where, f"{field}.{key}.{name}") for name, text in ways.items()}

    def _anchors(self, table: Mapping[str, Any], field: str) -> dict[str, complex]:
        anchors = _optional_table(table, "anchors", self.where, field)
        return {name: self._pair(anchors, name, f"{field}.anchors") or 0j for name in anchors}

    def _pair(self, table: Mapping[str, Any], key: str, field: str) -> complex | None:
        if key not in table:
            return None
        pair = table[key]
        if not isinstance(pair, list) or len(pair) != 2:
            raise bad_input(self.where, f"{field}.{key}", pair, "two numbers, such as [0.3, 1]")
        numbers = dict(zip("xy", pair, strict=True))
        place = f"{field}.{key}"
        return complex(*(_number(numbers, axis, self.where, place, -50.0, 50.0) for axis in "xy"))


def _nodes(text: Any, strokes: Mapping[str, Nodes], where: str, field: str) -> Nodes:
    if not isinstance(text, str):
        raise bad_input(where, field, text, 'a stroke in quotes, such as "0,1,270 0,0"')
    return parse_nodes(text, strokes, where, field)


def _known(table: Mapping[str, Any], known: Sequence[str], where: str, field: str) -> None:
    for key in table:
        if key not in known:
            place = f"{field}.{key}" if field else key
            fix = did_you_mean(key, known)
            raise bad_input(where, place, Plain("an unknown entry"), "one of " + ", ".join(known), fix)


def _table(tables: Mapping[str, Any], name: str, where: str, known: Sequence[str]) -> Mapping[str, Any]:
    table = tables.get(name, Plain("nothing"))
    if not isinstance(table, Mapping):
        raise bad_input(where, name, table, f"a table [{name}]")
    _known(table, known, where, name)
    return table


def _optional_table(tables: Mapping[str, Any], name: str, where: str, field: str = "") -> Mapping[str, Any]:
    table = tables.get(name, {})
    if not isinstance(table, Mapping):
        raise bad_input(where, f"{field}.{name}" if field else name, table, f"a table [{name}]")
    return table


def _number(
    table: Mapping[str, Any], key: str, where: str, field: str, low: float, high: float, default: float | None = None
) -> float:
    """Return a number of ``table`` from ``low`` to ``high``; without a default it must be there."""
    if key not in table and default is not None:
        return default
    value = table.get(key, Plain("nothing"))
    usable = isinstance(value, int | float) and not isinstance(value, bool) and math.isfinite(value)
    if not usable or not low <= value <= high:
        raise bad_input(where, f"{field}.{key}", value, f"a number from {low:g} to {high:g}")
    return float(value)


def _label(head: Mapping[str, Any], where: str) -> str:
    label = head.get("label", Plain("nothing"))
    if isinstance(label, Plain) or not isinstance(label, str) or not label.isprintable() or not 1 <= len(label) <= 80:
        raise bad_input(where, "hand.label", label, "a line of text, 1 to 80 characters, in quotes")
    return label


def _tips(head: Mapping[str, Any], where: str) -> tuple[Tip, ...]:
    found = head.get("tips", Plain("nothing"))
    if not isinstance(found, list) or not found or any(tip not in TIPS for tip in found):
        raise bad_input(where, "hand.tips", found, "a list of some of " + ", ".join(TIPS))
    return tuple(cast("list[Tip]", found))


def _size(table: Mapping[str, Any], where: str) -> SizeRule:
    rule = next((known for known in RULES if known == table.get("rule")), None)
    if rule is None:
        raise bad_input(where, "size.rule", table.get("rule", Plain("nothing")), "one of " + ", ".join(RULES))
    value = _number(table, "value", where, "size", 0.05, 100.0)
    smallest = _number(table, "smallest", where, "size", 0.01, value)
    return SizeRule(rule, value, smallest, _number(table, "largest", where, "size", value, 1000.0))


def _pressure(table: Mapping[str, Any], where: str) -> Pressure:
    usual = Pressure()
    _known(table, [entry.name for entry in fields(Pressure)], where, "pressure")
    angles = {
        key: _number(table, key, where, "pressure", 1.0, 120.0, getattr(usual, key)) for key in ("on_deg", "off_deg")
    }
    eases = {
        key: _number(table, key, where, "pressure", 0.01, 10.0, getattr(usual, key))
        for key in ("press", "release", "shortest")
    }
    cuts = _optional_table(table, "cut_deg", where, "pressure")
    _known(cuts, list(usual.cut_deg), where, "pressure.cut_deg")
    cut = {tip: _number(cuts, tip, where, "pressure.cut_deg", -60.0, 60.0, deg) for tip, deg in usual.cut_deg.items()}
    return Pressure(**angles, **eases, cut_deg=MappingProxyType(cut))


def _joins(table: Mapping[str, Any], where: str) -> dict[str, Join]:
    joins = {}
    for name, join in table.items():
        field = f"joins.{name}"
        if name in (START, END):
            raise bad_input(where, field, name, f"another name: {START} and {END} are the forms without a join")
        if not isinstance(join, Mapping):
            raise bad_input(where, field, join, "{ height = 0.3, heading = 60 }")
        _known(join, ("height", "heading"), where, field)
        heading = _number(join, "heading", where, field, -360.0, 360.0)
        joins[name] = Join(_number(join, "height", where, field, -10.0, 10.0), heading)
    return joins


def _bounce(table: Mapping[str, Any], where: str, base: Hand | None) -> Bounce:
    usual = base.bounce if base else Bounce()
    _known(table, ("rise", "fall"), where, "bounce")
    return Bounce(*(_number(table, key, where, "bounce", 0.0, 0.5, getattr(usual, key)) for key in ("rise", "fall")))


def _reach(table: Mapping[str, Any], where: str, base: Hand | None) -> int:
    _known(table, ("reach",), where, "alternates")
    reach = _number(table, "reach", where, "alternates", 1, _FURTHEST_BACK, base.reach if base else 1)
    if reach != int(reach):
        raise bad_input(where, "alternates.reach", reach, f"a whole number from 1 to {_FURTHEST_BACK}")
    return int(reach)


def _spacing(table: Mapping[str, Any], where: str, base: Hand | None) -> Spacing:
    usual = base.spacing if base else Spacing()
    keys = [entry.name for entry in fields(Spacing)]
    _known(table, keys, where, "spacing")
    return Spacing(**{key: _number(table, key, where, "spacing", 0.0, 10.0, getattr(usual, key)) for key in keys})
