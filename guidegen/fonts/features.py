"""The OpenType features of a face as feature code, to be read by people and compiled by feaLib.

Shapers run ``ccmp``, ``locl``, ``calt``, ``kern``, ``mark`` and ``mkmk`` by themselves; ``init``, ``medi`` and
``fina`` do not run for Latin, so joined hands choose their forms in ``calt``: first how each letter is left, by
what follows it, then how it is entered, by how the one before is left.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence

from guidegen.fonts.charset import is_mark
from guidegen.fonts.forms import Written
from guidegen.hands.accents import base_char
from guidegen.hands.hand import Hand
from guidegen.hands.joins import END, START, join_between
from guidegen.lettering.free_ends import SPACE
from guidegen.lettering.letters import letter_data

UNJOINED = "ss01"
ToUnits = Callable[[float], int]


def feature_code(
    hand: Hand,
    items: Sequence[Written],
    units: ToUnits,
    kerning: Mapping[tuple[str, str], float],
    spaces: Sequence[str],
) -> str:
    """Return the feature code of a face.

    Args:
        hand: whose joins are meant.
        items: the glyphs as written.
        units: from mm to whole font units.
        kerning: mm by pair of characters; :data:`guidegen.lettering.free_ends.SPACE` stands for all ``spaces``.
        spaces: names of blank glyphs.
    """
    parts = ["languagesystem DFLT dflt;\nlanguagesystem latn dflt;", _languages(items)]
    parts += [_ccmp(items), _locl(items)]
    if hand.joins:
        parts += [_calt(hand, items), _unjoined(items)]
    parts += [_kern(items, kerning, units, spaces), _marks(items, units), _gdef(items, spaces)]
    return "\n\n".join(part for part in parts if part) + "\n"


def _languages(items: Sequence[Written]) -> str:
    return "languagesystem latn ROM;\nlanguagesystem latn MOL;" if _romanian(items) else ""


def _romanian(items: Sequence[Written]) -> list[tuple[str, str]]:
    pairs = [("\u015e", "\u0218"), ("\u015f", "\u0219"), ("\u0162", "\u021a"), ("\u0163", "\u021b")]
    plain = _plain(items)
    return [(plain[a], plain[b]) for a, b in pairs if a in plain and b in plain]


def _plain(items: Sequence[Written]) -> dict[str, str]:
    """Return the default glyph of every character."""
    return {item.char: item.name for item in items if item.encoded}


def _ccmp(items: Sequence[Written]) -> str:
    """Dotless i and j under a mark above; a mark joins its base's precomposed letter in the shaper itself."""
    plain = _plain(items)
    pairs = [(plain[a], plain[b]) for a, b in (("i", "\u0131"), ("j", "\u0237")) if a in plain and b in plain]
    above = [item.name for item in items if "_above" in item.anchors_mm]
    if not pairs or not above:
        return ""
    rules = [f"  sub {a}' [{' '.join(above)}] by {b};" for a, b in pairs]
    lookups: list[str] = []
    hooked, dotless, ogonek = (plain.get(char, "") for char in ("\u012f", "\u0131", "\u0328"))
    if hooked and dotless and ogonek:  # Lithuanian: the hook stays, the dot goes
        lookups = ["lookup dotless {", f"  sub {hooked} by {dotless} {ogonek};", "} dotless;", ""]
        rules.append(f"  sub {hooked}' lookup dotless [{' '.join(above)}];")
    return "\n".join([*lookups, "feature ccmp {", *rules, "} ccmp;"])


def _locl(items: Sequence[Written]) -> str:
    pairs = _romanian(items)
    if not pairs:
        return ""
    lookup = ["lookup romanian {", *(f"  sub {a} by {b};" for a, b in pairs), "} romanian;"]
    use = ["  script latn;"] + [f"  language {tag};\n  lookup romanian;" for tag in ("ROM", "MOL")]
    return "\n".join([*lookup, "", "feature locl {", *use, "} locl;"])


FormSets = tuple[frozenset[str], frozenset[str]]
"""How a letter can be entered and left: the joins it has on either side."""


def _calt(hand: Hand, items: Sequence[Written]) -> str:
    """Two lookups: ``leave`` chooses each letter's exit by what follows, ``enter`` its entry by what came before."""
    letters = [item for item in items if not is_mark(item.char)]
    by_form = {(item.char, item.shape, item.before, item.after): item.name for item in letters}
    usual = {item.char: item for item in letters if item.encoded}
    groups: dict[FormSets, list[str]] = defaultdict(list)
    for char in usual:
        data = letter_data(hand, char)
        shape = frozenset(data.entries) & frozenset(hand.joins), frozenset(data.exits) & frozenset(hand.joins)
        groups[shape].append(char)
    # before their forms are chosen letters are in their default one, whichever shape they have
    plain = [item for item in letters if (item.before, item.after) == (usual[item.char].before, usual[item.char].after)]
    shaped: dict[str, list[Written]] = defaultdict(list)
    for item in plain:
        shaped[item.char].append(item)
    vary = _vary(hand, plain)
    lines = [*_leave(hand, groups, shaped, by_form), "", *_enter(hand, usual, by_form, letters)]
    names = ["vary"] * bool(vary) + ["leave", "enter"]
    return "\n".join([*vary, *lines, "", "feature calt {", *(f"  lookup {name};" for name in names), "} calt;"])


def _vary(hand: Hand, plain: Sequence[Written]) -> list[str]:
    """Return the lookup that turns to a letter's next shape; the nearest one before it decides, then the one further.

    What HarfBuzz has done to the letters before is seen: the shapes follow each other.
    """
    families: dict[str, dict[int, list[Written]]] = defaultdict(lambda: defaultdict(list))
    for item in plain:
        families[base_char(item.char)][item.shape].append(item)
    families = {base: family for base, family in families.items() if len(family) > 1}
    if not families:
        return []
    lines = [f"@any = {_set(item.name for item in plain)};", "lookup vary {", "  lookupflag IgnoreMarks;"]
    for between in range(hand.reach):
        for family in families.values():
            own = {item.char: item.name for item in family[0]}
            for shape, found in sorted(family.items()):
                seen = " ".join([_set(item.name for item in found), *["@any"] * between])
                after = {item.char: item.name for item in family[(shape + 1) % len(family)]}
                if after is own or shape == max(family):
                    lines.append(f"  ignore sub {seen} {_set(own.values())}';")
                else:
                    now = [char for char in own if char in after]
                    lines.append(f"  sub {seen} {_set(own[c] for c in now)}' by {_set(after[c] for c in now)};")
    return [*lines, "} vary;", ""]


def _leave(
    hand: Hand,
    groups: Mapping[FormSets, list[str]],
    shaped: Mapping[str, Sequence[Written]],
    by_form: Mapping[tuple[str, int, str, str], str],
) -> list[str]:
    exits: dict[frozenset[str], list[str]] = defaultdict(list)
    for (_, leaving), chars in groups.items():
        if leaving:
            exits[leaving] += chars
    lines = ["lookup leave {", "  lookupflag IgnoreMarks;"]
    for chars in exits.values():
        left = letter_data(hand, chars[0])
        joined: dict[str, list[str]] = defaultdict(list)
        for (entering, _), rights in groups.items():
            if entering:
                name = join_between(hand, left, letter_data(hand, rights[0]))
                if name:
                    joined[name] += rights
        mine = [item for char in chars for item in shaped[char]]
        for name, rights in joined.items():
            changed = [item for item in mine if item.after != name]
            if changed:
                to = [by_form[item.char, item.shape, item.before, name] for item in changed]
                after = _set(item.name for char in rights for item in shaped[char])
                lines.append(f"  sub {_set(i.name for i in changed)}' {after} by {_set(to)};")
        ends = [item for item in mine if item.after != END]
        to = [by_form[item.char, item.shape, item.before, END] for item in ends]
        followed = [item.name for rights in joined.values() for char in rights for item in shaped[char]]
        lines.append(f"  ignore sub {_set(i.name for i in ends)}' {_set(followed)};")
        lines.append(f"  sub {_set(i.name for i in ends)}' by {_set(to)};")
    return [*lines, "} leave;"]


def _enter(
    hand: Hand,
    usual: Mapping[str, Written],
    by_form: Mapping[tuple[str, int, str, str], str],
    letters: Sequence[Written],
) -> list[str]:
    leaving = {name: [item.name for item in letters if item.after == name] for name in hand.joins}
    # after the first lookup a letter is still entered as by default, and left as it is in one of its forms
    now = [i for i in letters if i.before == usual[i.char].before and (i.char, i.shape, START, i.after) in by_form]
    lines = ["lookup enter {", "  lookupflag IgnoreMarks;"]
    for name in hand.joins:
        changed = [i for i in now if i.before != name and (i.char, i.shape, name, i.after) in by_form]
        if changed and leaving[name]:
            to = [by_form[i.char, i.shape, name, i.after] for i in changed]
            lines.append(f"  sub {_set(leaving[name])} {_set(i.name for i in changed)}' by {_set(to)};")
    entered = [i for i in now if i.before != START]
    if entered:
        joining = [name for names in leaving.values() for name in names]
        to = [by_form[i.char, i.shape, START, i.after] for i in entered]
        lines.append(f"  ignore sub {_set(joining)} {_set(i.name for i in entered)}';")
        lines.append(f"  sub {_set(i.name for i in entered)}' by {_set(to)};")
    return [*lines, "} enter;"]


def _set(names: Iterable[str]) -> str:
    return f"[{' '.join(names)}]"


def _unjoined(items: Sequence[Written]) -> str:
    alone = {(item.char, item.shape): item.name for item in items if (item.before, item.after) == (START, END)}
    letters = [item for item in items if (item.char, item.shape) in alone and not is_mark(item.char)]
    pairs = [(i.name, alone[i.char, i.shape]) for i in letters if i.name != alone[i.char, i.shape]]
    if not pairs:
        return ""
    rules = [f"  sub {a} by {b};" for a, b in pairs]
    names = ['  featureNames {\n    name "Unjoined letters";\n  };']
    return "\n".join([f"feature {UNJOINED} {{", *names, *rules, f"}} {UNJOINED};"])


def _kern(
    items: Sequence[Written], kerning: Mapping[tuple[str, str], float], units: ToUnits, spaces: Sequence[str]
) -> str:
    """Kerning by classes of letters that keep the same distance from every other, after pairs that need their own."""
    lefts: dict[str, list[str]] = {SPACE: list(spaces)}
    rights: dict[str, list[str]] = {SPACE: list(spaces)}
    for item in items:
        if not is_mark(item.char):
            for names, free in ((lefts, item.after == END), (rights, item.before == START)):
                if free:
                    names.setdefault(item.char, []).append(item.name)
    values = {pair: units(mm) for pair, mm in kerning.items()}
    plain = {pair: value for pair, value in values.items() if value and all(base_char(char) == char for char in pair)}
    left_of, right_of = _alike(plain, 0), _alike(plain, 1)
    pairs = {(left_of[a], right_of[b]): value for (a, b), value in plain.items()}
    own = _exceptions(plain, values, lefts, rights)
    if not pairs:
        return ""
    lines = [*_classes("first", left_of, lefts), *_classes("second", right_of, rights)]
    rules = [f"  pos {a} {b} {value};" for (a, b), value in own.items()]
    rules += [f"  pos @kern.first.{a} @kern.second.{b} {value};" for (a, b), value in sorted(pairs.items())]
    return "\n".join([*lines, "", "feature kern {", "  lookupflag IgnoreMarks;", *rules, "} kern;"])


def _exceptions(
    plain: Mapping[tuple[str, str], int],
    values: Mapping[tuple[str, str], int],
    lefts: Mapping[str, Sequence[str]],
    rights: Mapping[str, Sequence[str]],
) -> dict[tuple[str, str], int]:
    """Return the kerning of pairs of glyphs whose accents need more room than their base letters leave."""
    own: dict[tuple[str, str], int] = {}
    family: dict[str, list[str]] = defaultdict(list)
    for char in dict.fromkeys([*lefts, *rights]):
        family[base_char(char)].append(char)
    pairs = dict.fromkeys(values)
    for a, b in plain:  # an accented pair may need none where its base letters do
        pairs |= dict.fromkeys((c, d) for c in family[a] for d in family[b] if c in lefts and d in rights)
    for a, b in pairs:
        value = values.get((a, b), 0)
        if value != plain.get((base_char(a), base_char(b)), 0):
            own |= {(left, right): value for left in lefts[a] for right in rights[b]}
    return own


def _alike(values: Mapping[tuple[str, str], int], side: int) -> dict[str, int]:
    """Return a class number for each character on one side of the pairs: the same where all its kerning is."""
    rows: dict[str, list[tuple[str, int]]] = defaultdict(list)
    for pair, value in values.items():
        if value:
            rows[pair[side]].append((pair[1 - side], value))
    numbers: dict[tuple[tuple[str, int], ...], int] = {}
    return {char: numbers.setdefault(tuple(sorted(rows[char])), len(numbers) + 1) for char in sorted(rows)}


def _classes(side: str, classes: Mapping[str, int], names: Mapping[str, Sequence[str]]) -> list[str]:
    """Return the classes of one side: an accented letter stands in its base letter's."""
    members: dict[int, list[str]] = defaultdict(list)
    for char, glyphs in names.items():
        if base_char(char) in classes:
            members[classes[base_char(char)]] += glyphs
    return [f"@kern.{side}.{number} = {_set(members[number])};" for number in sorted(members)]


def _marks(items: Sequence[Written], units: ToUnits) -> str:
    classes: dict[str, list[str]] = defaultdict(list)
    places: list[str] = []
    for item in items:
        for anchor, at in item.anchors_mm.items():
            if anchor.startswith("_"):
                places.append(anchor[1:])
                classes[anchor[1:]].append(f"markClass [{item.name}] {_anchor(at, units)} @{anchor[1:]};")
    if not places:
        return ""
    lines = [line for place in dict.fromkeys(places) for line in classes[place]]
    on_letters = _attachments([i for i in items if not is_mark(i.char)], "base", set(places), units)
    on_marks = _attachments([i for i in items if is_mark(i.char)], "mark", set(places), units)
    for tag, rules in (("mark", on_letters), ("mkmk", on_marks)):
        if rules:
            lines += ["", f"feature {tag} {{", *rules, f"}} {tag};"]
    return "\n".join(lines)


def _attachments(items: Sequence[Written], kind: str, places: set[str], units: ToUnits) -> list[str]:
    rules = []
    for item in items:
        spots = [(place, at) for place, at in item.anchors_mm.items() if place in places]
        if spots:
            anchors = " ".join(f"{_anchor(at, units)} mark @{place}" for place, at in spots)
            rules.append(f"  pos {kind} {item.name} {anchors};")
    return rules


def _anchor(at: complex, units: ToUnits) -> str:
    return f"<anchor {units(at.real)} {units(at.imag)}>"


def _gdef(items: Sequence[Written], spaces: Sequence[str]) -> str:
    bases = [*spaces, *(item.name for item in items if not is_mark(item.char))]
    marks = [item.name for item in items if is_mark(item.char)]
    return f"table GDEF {{\n  GlyphClassDef {_set(bases)}, , {_set(marks) if marks else ''}, ;\n}} GDEF;"
