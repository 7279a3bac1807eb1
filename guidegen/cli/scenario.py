"""The demo scenario: an evening lettering class in a harbour town, told in commands anybody can type.

Adding an exhibit is one entry here. A command that this installation does not have is left out.
"""

from __future__ import annotations

import shlex
from dataclasses import dataclass

from guidegen.cli.commands import COMMANDS

MARKERS = ("grit", "pebble", "cobble", "boulder", "thorn", "slate", "flint")


@dataclass(frozen=True, slots=True)
class Exhibit:
    """One thing the demo makes.

    ``command`` is what a person would type, without ``-o``; ``files`` are the endings to write; ``ppi`` is the
    resolution of the picture on the index page, 0 for none; ``gallery`` also keeps
    the picture of its first page for README.
    """

    section: str
    name: str
    caption: str
    command: str
    files: tuple[str, ...] = ("pdf",)
    ppi: int = 90
    gallery: bool = False

    @property
    def arguments(self) -> list[str]:
        return shlex.split(self.command)


def exhibits() -> list[Exhibit]:
    """Return the whole scenario in order."""
    told = (*_class(), *_guides(), *_letters(), *_practice(), *_hands(), *_pieces(), *_fonts())
    return [exhibit for exhibit in told if exhibit.arguments[0] in COMMANDS]


def _class() -> list[Exhibit]:
    section = "For the whole class"
    return [
        Exhibit(section, "handout", "Every marker of the class on one reference", "handout --all", gallery=True),
        Exhibit(section, "compare", "Why size matters: one word at one size, and each at its right size",
                "compare grit pebble cobble boulder --landscape", gallery=True),
        Exhibit(section, "trial", "A marker nobody has measured: rising rows to find its size by hand", "trial",
                gallery=True),
    ]  # fmt: skip


def _guides() -> list[Exhibit]:
    section = "Guide sheets"
    usual = [
        Exhibit(section, f"sheet-{name}", f"{name}, at its right size", f"sheet {name}", gallery=name == "cobble")
        for name in MARKERS
    ]
    return [
        *usual,
        Exhibit(section, "sheet-cobble-beginners", "cobble, at the largest size of its band, for beginners",
                "sheet cobble --at largest --paper letter"),
        Exhibit(section, "sheet-thorn-copperplate", "thorn, proportions 3:2:3 at 55°, lying",
                "sheet thorn --hand copperplate --landscape"),
        Exhibit(section, "sheet-slate-foundational", "slate, four nib widths at 30°",
                "sheet slate --hand foundational", gallery=True),
    ]  # fmt: skip


def _letters() -> list[Exhibit]:
    section = "The letter at its right size, and at both ends of the band"
    papers = {"boulder": "a4", "cobble": "a5", "slate": "a5"}
    return [
        Exhibit(section, f"letter-{name}", name, f"letter {name} --paper {papers.get(name, 'a6')} --landscape",
                files=("svg", "pdf"), gallery=name in {"cobble", "slate"})
        for name in MARKERS
    ]  # fmt: skip


def _practice() -> list[Exhibit]:
    section = "To practise"
    return [
        Exhibit(section, "worksheet-tide", "From the model to one's own hand", 'worksheet cobble "high tide"',
                gallery=True),
        Exhibit(section, "worksheet-letters", "Letters with the order of their strokes",
                "worksheet flint --letters a-e"),
        Exhibit(section, "worksheet-drills", "The strokes that letters are made of", "worksheet pebble --drills"),
        Exhibit(section, "worksheet-left", "For the left hand: models on the right",
                'worksheet slate "calm sea" --left-handed'),
    ]  # fmt: skip


def _hands() -> list[Exhibit]:
    section = "The hands"
    alphabet = "abcdefghijklm nopqrstuvwxyz ABCDEFGHIJKLM NOPQRSTUVWXYZ 0123456789"
    rows = f'{alphabet} "The harbour lamps are lit" "and the boats lie still"'
    return [
        Exhibit(section, f"hand-{marker}", f"{hand}, written with {marker}", f"write {marker} {rows}",
                files=("svg",), ppi=ppi, gallery=True)
        for marker, hand, ppi in (("cobble", "joined", 55), ("slate", "italic", 55), ("flint", "print", 120))
    ]  # fmt: skip


def _pieces() -> list[Exhibit]:
    section = "Finished pieces"
    return [
        Exhibit(section, "piece-boats", "A piece for the wall, as outlines to cut or to frame",
                'write boulder "The boats come in" "with the evening tide" --align center',
                files=("svg", "pdf"), ppi=40, gallery=True),
        Exhibit(section, "plan-regatta", "Its plan on paper, to letter over on a light box",
                'plan cobble "Regatta on Saturday, at the old harbour" --align center --landscape'),
    ]  # fmt: skip


def _fonts() -> list[Exhibit]:
    section = "Fonts of the markers' own strokes, to type at real size"
    return [
        Exhibit(section, "cobble-solid", "cobble as ink", "font cobble", files=("ttf",), ppi=0),
        Exhibit(section, "cobble-dotted", "cobble to trace", "font cobble --face dotted", files=("ttf",), ppi=0),
        Exhibit(section, "flint-hollow", "flint to fill in", "font flint --face hollow", files=("otf",), ppi=0),
    ]
