"""Reading a hand: from the merged TOML tables of its folder to a checked :class:`~guidegen.hands.hand.Hand`.

A mistake in a letterer's file is one line that names the folder, the field, what was found and what is expected.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import fields, replace
from types import MappingProxyType
from typing import Any

from guidegen.checks import number
from guidegen.errors import BadInputError, Plain, bad_input
from guidegen.hands.bounce import bounced
from guidegen.hands.hand import FURTHEST_BACK, Bounce, Hand, Join, LetterData, Pressure, SizeRule, Spacing
from guidegen.hands.joins import END, SAME_PLACE, START
from guidegen.hands.skeletons import Nodes, parse_nodes, stretch
from guidegen.limits import MAX_LETTER_NODES, MAX_STROKES
from guidegen.profiles.tables import check_keys, placed

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
_NOTHING = Plain("nothing")
_STROKE_NAME = re.compile(r"[a-z][a-z0-9-]*+")


def hand_from_tables(tables: Mapping[str, Any], where: str, base: Hand | None = None) -> Hand:
    """Return the hand described by TOML tables (``hand``, ``size``, ``pressure``, ``joins``, ``strokes``, ``letters``).

    Args:
        tables: the parsed TOML of all files of the hand, merged.
        where: file or folder named in errors.
        base: the hand whose letters this one borrows (its key ``letters_from``).

    Raises:
        GuidegenError: for missing, unknown or wrong values.
    """
    check_keys(tables, _TABLES, where, "")
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
    ascender = head.get("ascender", 2.0)
    hand = placed(Hand, where, "hand")(
        name=head.get("name", _NOTHING),
        label=head.get("label", _NOTHING),
        tips=head.get("tips", _NOTHING),
        slant_deg=head.get("slant_deg", _NOTHING),
        ascender=ascender,
        descender=head.get("descender", 1.0),
        capital=head.get("capital", ascender),
        row_gap=head.get("row_gap", 0.5),
        size=_size(_table(tables, "size", where, [entry.name for entry in fields(SizeRule)]), where),
        pressure=_pressure(_optional_table(tables, "pressure", where), where),
        joins=MappingProxyType(joins),
        strokes=MappingProxyType(strokes),
        letters=MappingProxyType(letters),
        marks=MappingProxyType(marks),
        spacing=_spacing(_optional_table(tables, "spacing", where), where, base),
        pen_angle_deg=head.get("pen_angle_deg"),
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
        check_keys(table, _ALTERNATE, self.where, field)
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
        ends = {"entries": [nodes[0].at for nodes in data.strokes[:1]], "exits": [n[-1].at for n in data.strokes]}
        for key, ways in (("entries", data.entries), ("exits", data.exits)):
            for name, way in ways.items():
                if len(way) < 2 and not any(abs(way[0].at - end) < SAME_PLACE for end in ends[key]):
                    raise bad_input(self.where, f"{field}.{key}.{name}", Plain("one node, where no stroke of it ends"),
                                    "two or more nodes, or where a stroke ends", "move it there")  # fmt: skip

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
        check_keys(table, keys, self.where, field)
        base = self._based_on(table, field, known)
        done = self._extended(bounced(base, -base.bounce, self.joins), {"bounce": base.bounce, **table}, field)
        if not base.alternates:
            return done
        own = {key: value for key, value in table.items() if key in _ALTERNATE}
        others = [bounced(other, -other.bounce, self.joins) for other in base.alternates]
        bounces = [table.get("bounce", other.bounce) for other in base.alternates]
        also = [self._extended(other, {**own, "bounce": b}, field) for other, b in zip(others, bounces, strict=True)]
        return replace(done, alternates=tuple(also))

    def _extended(self, base: LetterData, table: Mapping[str, Any], field: str) -> LetterData:
        """Return ``base``, which stands on its line, with what ``table`` adds, moved by its ``bounce``."""
        sides = self._pair(table, "sides", field)
        strokes = base.strokes + self._list(table, "strokes", field)
        marks = base.marks + self._list(table, "marks", field)
        nodes = sum(len(nodes) for nodes in (*strokes, *marks))
        if nodes > MAX_LETTER_NODES:
            fix = "a smooth curve needs few"
            raise bad_input(self.where, field, Plain(f"{nodes} nodes"), f"at most {MAX_LETTER_NODES}", fix)
        advance = _number(table, "advance", self.where, field, -50.0, 50.0, base.advance)
        bounce = _number(table, "bounce", self.where, field, -self.bounce.fall, self.bounce.rise, 0.0)
        done = LetterData(
            strokes=strokes,
            entries=MappingProxyType({**base.entries, **self._ways(table, "entries", field, START)}),
            exits=MappingProxyType({**base.exits, **self._ways(table, "exits", field, END)}),
            advance=advance,
            marks=marks,
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
        if len(texts) > MAX_STROKES:
            found, fix = Plain(f"{len(texts)} strokes"), "join strokes that follow one another"
            raise bad_input(self.where, f"{field}.{key}", found, f"at most {MAX_STROKES}", fix)
        strokes = tuple(_nodes(text, self.strokes, self.where, f"{field}.{key}") for text in texts)
        for nodes, text in zip(strokes, texts, strict=True):
            if len({node.at for node in nodes}) < 2:
                raise bad_input(self.where, f"{field}.{key}", text, "a stroke of two nodes or more that moves")
        return strokes

    def _ways(self, table: Mapping[str, Any], key: str, field: str, outer: str) -> dict[str, Nodes]:
        ways = _optional_table(table, key, self.where, field)
        check_keys(ways, [*self.joins, outer], self.where, f"{field}.{key}")
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


def _table(tables: Mapping[str, Any], name: str, where: str, known: Sequence[str]) -> Mapping[str, Any]:
    table = tables.get(name, Plain("nothing"))
    if not isinstance(table, Mapping):
        raise bad_input(where, name, table, f"a table [{name}]")
    check_keys(table, known, where, name)
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
    try:
        value: float = number(low, high)(table.get(key, _NOTHING))
    except BadInputError as error:
        raise error.at(where, f"{field}.{key}") from None
    return value


def _size(table: Mapping[str, Any], where: str) -> SizeRule:
    return placed(SizeRule, where, "size")(*(table.get(entry.name, _NOTHING) for entry in fields(SizeRule)))


def _pressure(table: Mapping[str, Any], where: str) -> Pressure:
    usual = Pressure()
    check_keys(table, [entry.name for entry in fields(Pressure)], where, "pressure")
    cuts = _optional_table(table, "cut_deg", where, "pressure")
    check_keys(cuts, list(usual.cut_deg), where, "pressure.cut_deg")
    return placed(Pressure, where, "pressure")(**{**table, "cut_deg": {**usual.cut_deg, **cuts}})


def _joins(table: Mapping[str, Any], where: str) -> dict[str, Join]:
    joins = {}
    for name, join in table.items():
        field = f"joins.{name}"
        if name in (START, END):
            raise bad_input(where, field, name, f"another name: {START} and {END} are the forms without a join")
        if not isinstance(join, Mapping):
            raise bad_input(where, field, join, "{ height = 0.3, heading = 60 }")
        check_keys(join, ("height", "heading"), where, field)
        try:
            joins[name] = Join(join.get("height", _NOTHING), join.get("heading", _NOTHING))
        except BadInputError as error:
            raise error.at(where, f"{field}.{error.field.removesuffix('_deg')}") from None
    return joins


def _bounce(table: Mapping[str, Any], where: str, base: Hand | None) -> Bounce:
    usual = base.bounce if base else Bounce()
    check_keys(table, ("rise", "fall"), where, "bounce")
    bounce: Bounce = placed(replace, where, "bounce")(usual, **table)
    return bounce


def _reach(table: Mapping[str, Any], where: str, base: Hand | None) -> int:
    check_keys(table, ("reach",), where, "alternates")
    reach = _number(table, "reach", where, "alternates", 1, FURTHEST_BACK, base.reach if base else 1)
    if reach != int(reach):
        raise bad_input(where, "alternates.reach", reach, f"a whole number from 1 to {FURTHEST_BACK}")
    return int(reach)


def _spacing(table: Mapping[str, Any], where: str, base: Hand | None) -> Spacing:
    usual = base.spacing if base else Spacing()
    check_keys(table, [entry.name for entry in fields(Spacing)], where, "spacing")
    spacing: Spacing = placed(replace, where, "spacing")(usual, **table)
    return spacing
