"""The demo scenario: an evening lettering class in a harbour town, told in commands anybody can type.

Adding an exhibit is one line here. A command that this installation does not have is left out.
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
    resolution of the picture on the index page, 0 for none. ``gallery`` also keeps the picture for README.
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
    return [exhibit for exhibit in (*_guides(), *_letters(), *_first_evening()) if exhibit.arguments[0] in COMMANDS]


def _first_evening() -> list[Exhibit]:
    section = "A marker nobody has measured"
    return [
        Exhibit(section, "trial", "Rising rows to find a new marker's size by hand", "trial", gallery=True),
    ]


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
                files=("svg", "pdf"), gallery=name in {"cobble", "thorn", "slate"})
        for name in MARKERS
    ]  # fmt: skip
