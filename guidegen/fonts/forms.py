"""A hand's characters as pen strokes, one entry per glyph: in a joined hand every form that its joins call for.

The default glyph of a joined letter is its middle form, so that words stay joined even where a program shapes
nothing; the others (``a.start``, ``a.end``, ``o.high``, ...) are put in by ``calt``.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from types import MappingProxyType

from guidegen.fonts.charset import is_mark
from guidegen.fonts.glyphs import Component, glyph_name
from guidegen.geometry.path import affine
from guidegen.geometry.stroke.stroke import AnyStroke, NibStroke, Stroke
from guidegen.hands import accents
from guidegen.hands.accents import base_char
from guidegen.hands.alternates import shapes
from guidegen.hands.hand import Hand, LetterData
from guidegen.hands.joins import END, START, letter_form, possible_forms, with_first_exit
from guidegen.lettering.free_ends import free_ends
from guidegen.lettering.lettering import Lettering
from guidegen.lettering.letters import letter, letter_data, pen_strokes, skeleton_map
from guidegen.lettering.spacing import spaced

FormName = tuple[str, str]
MARK_BACK = 0.4
"""How far (x-heights) a combining mark stands left of its origin."""


@dataclass(frozen=True, slots=True)
class Written:
    """One glyph as pen strokes in mm, its origin at 0.

    The first stroke runs on from the letter before when ``before`` is a join; stroke number ``exit_at``
    into the next when ``after`` is one. ``shape`` is the number of one of the letter's alternates, or 0.
    ``parts`` says, where it is so, that the glyph is exactly these others, moved (mm). ``anchors_mm`` are where
    marks attach, on a mark with ``_`` by which it attaches.
    """

    name: str
    char: str
    encoded: bool
    before: str
    after: str
    strokes: tuple[AnyStroke, ...]
    exit_at: int
    advance_mm: float
    parts: tuple[Component, ...] = ()
    anchors_mm: Mapping[str, complex] = field(default_factory=lambda: MappingProxyType({}))
    shape: int = 0


def written(lettering: Lettering, chars: Sequence[str]) -> list[Written]:
    """Return every glyph of ``chars`` in this hand: marks first, then letters with all their forms."""
    done: dict[str, Written] = {}
    for char in sorted(chars, key=lambda c: (not is_mark(c), _is_composed(c), c)):
        for item in _all_forms(lettering, char):
            done[item.name] = replace(item, parts=_parts(item, lettering.hand, done, lettering.x_height_mm * 1e-5))
    return list(done.values())


def default_form(hand: Hand, data: LetterData) -> FormName:
    """Return the middle form of a letter: its first join on either side, ``start``/``end`` where it has none.

    It is left where all letters can be entered, so that words join even where a program shapes nothing.
    """
    forms = possible_forms(hand, with_first_exit(hand, data))
    befores, afters = [b for b, _ in forms], [a for _, a in forms]
    return next((b for b in befores if b != START), START), next((a for a in afters if a != END), END)


def form_glyph_name(hand: Hand, char: str, form: FormName, shape: int = 0) -> str:
    """Return the glyph name of a form: plain for the default one, else with what differs (``a.start_end``).

    An alternate has its number first: ``a.alt1``, ``a.alt1_start``.
    """
    before, after = default_form(hand, letter_data(hand, char))
    differs = [name for name, usual in zip(form, (before, after), strict=True) if name != usual]
    return glyph_name(char, "_".join([f"alt{shape}"] * bool(shape) + differs))


def _all_forms(lettering: Lettering, char: str) -> list[Written]:
    data = letter_data(lettering.hand, char)
    if not lettering.hand.joins or is_mark(char):
        return [_spaced(lettering, char, data)]
    usual = default_form(lettering.hand, data)
    forms = list(dict.fromkeys([*possible_forms(lettering.hand, data), usual]))
    return [
        _joined(lettering, char, one, form, (shape, form) == (0, usual), shape)
        for shape, one in enumerate(shapes(data))
        for form in forms
    ]


def _joined(lettering: Lettering, char: str, data: LetterData, form: FormName, encoded: bool, shape: int) -> Written:
    drawn = letter_form(lettering.hand, with_first_exit(lettering.hand, data), *form)
    free = free_ends(lettering, char, shape)
    shift = free.start_mm if form[0] == START else 0.0
    advance = shift + drawn.advance * skeleton_map(lettering).scale_mm + (free.end_mm if form[1] == END else 0.0)
    entry = data.entries.get(form[0], ()) if form[0] in lettering.hand.joins else ()
    left = entry[0].at.real if entry else 0.0
    placed = skeleton_map(lettering)
    anchors = {name: placed.place(at - left) + shift for name, at in _anchors(lettering.hand, char, data).items()}
    name = form_glyph_name(lettering.hand, char, form, shape)
    strokes = pen_strokes(lettering, drawn.strokes)
    strokes = tuple(moved(stroke, shift) for stroke in strokes) if shift else strokes
    return Written(name, char, encoded, *form, strokes, drawn.exit_at, advance, (), MappingProxyType(anchors), shape)


def _spaced(lettering: Lettering, char: str, data: LetterData) -> Written:
    if is_mark(char):
        # left of its origin, so that it stands over the letter before even where nothing attaches it
        item, shift, advance = letter(lettering, char), -MARK_BACK * lettering.x_height_mm, 0.0
    else:
        whole = spaced(lettering, char)
        item, shift, advance = whole.letter, whole.shift_mm, whole.advance_mm
    placed = skeleton_map(lettering)
    anchors = {name: placed.place(at) + shift for name, at in _anchors(lettering.hand, char, data).items()}
    strokes = tuple(moved(stroke, shift) for stroke in item.strokes)
    return Written(glyph_name(char), char, True, START, END, strokes, 0, advance, (), MappingProxyType(anchors))


def moved(stroke: AnyStroke, by: complex) -> AnyStroke:
    """Return a stroke moved by a vector."""
    return replace(stroke, path=affine(stroke.path, 1, 1j, by))


def attachment(mark: str) -> str:
    """Return the name of the anchor at which a mark (by its name in the hand) attaches."""
    return mark if mark in {"cedilla", "ogonek"} else "below" if mark in accents.BELOW else "above"


def _anchors(hand: Hand, char: str, data: LetterData) -> dict[str, complex]:
    """Return where marks attach to a letter (skeleton units); of a mark also, with ``_``, what it attaches by."""
    if is_mark(char):
        name = attachment(accents.COMBINING.get(char, ""))
        if name == "above":
            return {"_above": 1j, "above": 1j + 1j * accents.mark_step(hand, accents.COMBINING[char])}
        return {f"_{name}": 0j}
    if unicodedata.category(char) not in {"Lu", "Ll"}:
        return {}
    used = {attachment(name): name for name in hand.marks if name in accents.COMBINING.values()}
    return {place: accents.anchor(hand, base_char(char), data, name) for place, name in sorted(used.items())}


def _is_composed(char: str) -> bool:
    return base_char(char) != char


def _parts(item: Written, hand: Hand, done: Mapping[str, Written], tolerance: float) -> tuple[Component, ...]:
    """Return ``item`` as a base and a mark that are already there, moved; nothing when it is not exactly that."""
    base = base_char(item.char)
    if base == item.char:
        return ()
    mark = done.get(_mark_glyph(item.char, base))
    for stem in (accents.DOTLESS.get(base, base), base):
        if mark is None or accents.find_letter(hand, stem) is None:
            continue
        form = (item.before, item.after)
        letter_glyph = done.get(form_glyph_name(hand, stem, form, item.shape) if hand.joins else glyph_name(stem))
        if letter_glyph is None:
            continue
        n = len(letter_glyph.strokes)
        first = offset(letter_glyph.strokes, item.strokes[:n], tolerance)
        second = offset(mark.strokes, item.strokes[n:], tolerance)
        if first is not None and second is not None:
            return (Component(letter_glyph.name, first), Component(mark.name, second))
    return ()


def _mark_glyph(char: str, base: str) -> str:
    """Return the glyph of the mark a letter is drawn with, which may not be the one of its decomposition (ķ)."""
    name = accents.mark_name(base, chr(int(unicodedata.decomposition(char).split()[1], 16)))
    return next((glyph_name(sign) for sign, known in accents.COMBINING.items() if known == name), "")


def offset(strokes: Sequence[AnyStroke], others: Sequence[AnyStroke], tolerance: float) -> complex | None:
    """Return the vector that moves ``strokes`` onto ``others``, every point within ``tolerance``; None if none does."""
    if not strokes or len(strokes) != len(others):
        return None
    by = others[0].path.start - strokes[0].path.start
    same = all(_same(moved(a, by), b, tolerance) for a, b in zip(strokes, others, strict=True))
    return by if same else None


def _same(a: AnyStroke, b: AnyStroke, tolerance: float) -> bool:
    if isinstance(a, Stroke) and isinstance(b, Stroke):
        knots = list(zip(a.widths.knots, b.widths.knots, strict=False))
        tool = len(a.widths.knots) == len(b.widths.knots)
        tool = tool and all(abs(x - y) <= tolerance for p, q in knots for x, y in zip(p, q, strict=True))
        tool = tool and (a.start_cut_deg, a.end_cut_deg) == (b.start_cut_deg, b.end_cut_deg)
    else:
        tool = isinstance(a, NibStroke) and isinstance(b, NibStroke) and a.nib == b.nib
    pairs = list(zip(a.path.segments, b.path.segments, strict=False))
    return (
        tool
        and len(a.path.segments) == len(b.path.segments)
        and all(len(p) == len(q) and all(abs(y - z) <= tolerance for y, z in zip(p, q, strict=True)) for p, q in pairs)
    )
