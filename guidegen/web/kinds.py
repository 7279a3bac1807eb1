"""What can be taken: one entry for each kind of result, with the function that makes it and its few choices.

A further kind is a further entry here, and its words (``kinds.NAME``, ``choices.NAME``).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from importlib.util import find_spec
from typing import Any, Literal

from guidegen.api.jobs import MAKERS
from guidegen.errors import Plain, bad_input
from guidegen.units import parse_length_mm

LONGEST_TEXT = 2_000


@dataclass(frozen=True, slots=True)
class Choice:
    """One thing to choose, by its name in the library and in the address.

    ``text`` is a line or, with ``lines``, several; ``one`` is one of ``options``, the first unless said otherwise;
    ``flag`` is yes or no; ``mm`` a length; ``whole`` a number from 1; ``markers`` are further markers; ``pixels`` one
    of ``options``, each a width and a height. ``folded`` choices are shown when they are asked for.
    """

    name: str
    form: Literal["text", "one", "flag", "mm", "whole", "markers", "pixels"]
    options: tuple[str, ...] = ()
    usual: str = ""
    folded: bool = False
    longest: int = 120
    lines: bool = False
    low: float = 0.0
    high: float = 500.0
    when: str = ""
    """``practise=letters``: asked only where that is chosen."""

    def value(self, text: str) -> Any:
        """Return what the library takes for what a person gave; None is the library's own usual.

        Raises:
            GuidegenError: none of the options, no length, or too much text.
        """
        where = f"`{self.name}`"
        if self.form == "flag":
            return text not in {"", "0"} or None
        if not text or text in {"usual", "undecided"}:
            return None
        if self.form in {"one", "pixels"}:
            if text not in self.options:
                raise bad_input(where, "", text, "one of " + ", ".join(self.options))
            return text if self.form == "one" else tuple(map(int, text.split("x")))
        if self.form == "mm":
            length = parse_length_mm(text.replace(",", "."), where)
            if not self.low <= length <= self.high:
                raise bad_input(where, "", text, f"a length from {self.low:g} to {self.high:g} mm")
            return length
        if self.form == "whole":
            if not (text.isdecimal() and len(text) < 6 and 1 <= int(text) <= self.high):
                raise bad_input(where, "", text, f"a whole number from 1 to {self.high:g}")
            return int(text)
        if len(text) > self.longest:
            raise bad_input(where, "", Plain(f"{len(text)} characters"), f"at most {self.longest}")
        return text


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of result.

    ``make`` is the function of the API; ``takes`` the name of its marker, "" for none; ``fixed`` what it is always
    given; ``finish`` for whom its pages are made, and so what is done to them. A font has no paper.
    """

    name: str
    make: str
    formats: tuple[str, ...]
    choices: tuple[Choice, ...] = ()
    takes: Literal["marker", "markers", ""] = "marker"
    fixed: tuple[tuple[str, Any], ...] = ()
    finish: Literal["", "cut", "print", "screen"] = ""
    paper: Literal["page", "own", ""] = "page"
    hand: bool = True
    speaks: bool = True
    pictured: tuple[str, tuple[tuple[str, Any], ...]] | None = None
    """What its small picture is made by instead, where it would take long: a function of the API and its values."""
    folded: bool = False
    """Shown when it is asked for."""

    def values(self, given: Mapping[str, str]) -> dict[str, Any]:
        """Return what is chosen, by the names of the library.

        Raises:
            GuidegenError: as :meth:`Choice.value`.
        """
        found = dict(self.fixed)
        for choice in self.choices:
            if choice.form == "markers" or not self.asks(choice, given):
                continue
            value = choice.value(given.get(choice.name, "") or choice.usual)
            if value is not None:
                found[choice.name] = value
        return found

    def asks(self, choice: Choice, given: Mapping[str, str]) -> bool:
        """Return whether ``choice`` is asked where ``given`` is chosen."""
        name, _, value = choice.when.partition("=")
        return not name or (given.get(name) or self.choice(name).usual) == value

    def choice(self, name: str) -> Choice:
        """Return a choice by its name."""
        return next(choice for choice in self.choices if choice.name == name)


_PAGES = ("pdf", "svg", "png")
_PROOF = Choice("proof", "one", ("usual", "bar", "full", "none"), folded=True)
_MARGIN = Choice("margin_mm", "mm", folded=True)
_CREDIT = Choice("credit", "text", folded=True)
_AROUND = (_MARGIN, _PROOF, _CREDIT)
_ALSO = Choice("also", "markers")
_TEXT = Choice("text", "text", usual="high tide", longest=LONGEST_TEXT, lines=True)
_ALIGN = Choice("align", "one", ("left", "center", "right"), folded=True)
_SCREENS = ("1620x2160", "2160x1620", "1640x2360", "2048x2732", "1404x1872", "1200x1920")
_GROUNDS = ("light", "cream", "mint", "sky", "rose", "dark", "night", "pine", "plum")

_ALL = (
    Kind("sheet", "sheet", _PAGES,
         (Choice("left_handed", "flag"), Choice("row_count", "whole", high=200),
          Choice("row_gap_mm", "mm", folded=True),
          Choice("guide_style", "one", ("fine", "grey", "copy"), folded=True), *_AROUND)),
    Kind("letter", "letter", (*_PAGES, "dxf"), (Choice("char", "text", usual="e", longest=8), *_AROUND)),
    Kind(
        "worksheet",
        "worksheet",
        _PAGES,
        (
            Choice("practise", "one", ("text", "letters", "drills"), usual="text"),
            Choice("text", "text", usual="high tide", longest=LONGEST_TEXT, lines=True, when="practise=text"),
            Choice("letters", "text", usual="a-e", when="practise=letters"),
            Choice("arrows", "flag"),
            Choice("left_handed", "flag"),
            Choice("title", "text", folded=True),
            *_AROUND,
        ),
        takes="markers",
    ),
    Kind("alphabet", "alphabet", _PAGES, (Choice("order", "one", ("abc", "family")), *_AROUND),
         pictured=("write", (("text", "abcdefg\nhijklmn\nopqrstu\nvwxyz"),))),
    Kind("handout", "handout", _PAGES, (_ALSO, Choice("title", "text"), *_AROUND), takes="markers"),
    Kind("compare", "compare", _PAGES, (_ALSO, Choice("text", "text", usual="tide"), *_AROUND), takes="markers"),
    Kind("write", "write", ("svg", "pdf", "png", "eps", "dxf"),
         (_TEXT, _ALIGN, Choice("guides", "flag", folded=True), *_AROUND), paper="own"),
    Kind("cut", "write", ("svg", "dxf", "eps", "pdf"),
         (_TEXT, Choice("bridges_mm", "mm", low=0.05, high=50.0), Choice("mirror", "flag"),
          Choice("min_feature_mm", "mm", low=0.01, high=100.0, folded=True),
          Choice("kerf_mm", "mm", high=5.0, folded=True), Choice("weed_box_mm", "mm", high=100.0, folded=True),
          Choice("register", "flag", folded=True), _ALIGN, _MARGIN),
         fixed=(("proof", "bar"),), finish="cut", paper="own"),
    Kind("font", "font", ("ttf", "otf", "woff2"),
         (Choice("face", "one", ("solid", "hollow", "dotted")), Choice("ruled", "flag")), paper="", speaks=False,
         pictured=("write", (("text", "Aa Bb Cc\nDd Ee Ff\nGg Hh Ii\n1234567"),))),
    Kind("plan", "plan", _PAGES,
         (_TEXT, _ALIGN, Choice("lines", "whole", high=50, folded=True), Choice("envelope", "flag"), *_AROUND),
         folded=True),
    Kind("print", "write", ("pdf",),
         (_TEXT, Choice("spot", "text", longest=60),
          Choice("output_intent", "one", ("undecided", "FOGRA39", "FOGRA51", "FOGRA52")),
          Choice("bleed_mm", "mm", high=20.0, folded=True), _ALIGN,
          Choice("guides", "flag", folded=True), _MARGIN),
         finish="print", paper="own", folded=True),
    Kind("planner", "planner", ("pdf", "png"),
         (Choice("size_px", "pixels", _SCREENS), Choice("theme", "one", _GROUNDS), _ALSO,
          Choice("letters", "text"), Choice("title", "text", folded=True), _CREDIT),
         takes="markers", finish="screen", paper="own", folded=True),
    Kind("trial", "trial", _PAGES, (Choice("from_mm", "mm", low=0.5), Choice("to_mm", "mm", low=0.5), *_AROUND),
         takes="", hand=False, folded=True),
    Kind("swatch", "swatch", _PAGES, _AROUND, hand=False, folded=True),
    Kind("written", "swatch", _PAGES, _AROUND, fixed=(("letters", True),), folded=True),
)  # fmt: skip
KINDS = {kind.name: kind for kind in _ALL if kind.make in MAKERS and (kind.finish != "print" or find_spec("pikepdf"))}
"""By their names in the address, in the order they are shown in; those for a print shop where they can be made."""
OF_THE_SHOP = ("bridges_mm", "mirror", "min_feature_mm", "kerf_mm", "weed_box_mm", "register", "spot", "bleed_mm",
               "output_intent")  # fmt: skip
"""Choices that ``finish`` takes rather than ``make``."""
