"""The demo scenario: an evening lettering class in a harbour town.

Adding an exhibit is one entry here: the call of the library that makes it, and the command that does the same.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from guidegen.api.jobs import Job
from guidegen.hands.library import templates_folder

_MARKER_VALUES = ("marker", "markers", "others")
MARKERS = ("grit", "pebble", "cobble", "boulder", "thorn", "slate", "flint")


@dataclass(frozen=True, slots=True)
class Exhibit:
    """One thing the demo makes.

    ``job`` makes it; ``command`` is what a person would type for the same, without ``-o``, or "" where there is no
    command; ``files`` are the endings to write; ``ppi`` is the resolution of the picture on the index page, 0 for
    none; ``gallery`` also keeps the picture of its first page for README. ``shown`` is the page on the index.
    ``drawing`` is a file that the job reads: its name and its text. ``also`` names files that it writes besides.
    """

    section: str
    name: str
    caption: str
    command: str
    job: Job
    files: tuple[str, ...] = ("pdf",)
    ppi: int = 90
    gallery: bool = False
    shown: int = 1
    drawing: tuple[str, str] | None = None
    also: tuple[str, ...] = ()


def exhibits() -> list[Exhibit]:
    """Return the whole scenario in order."""
    told = [*_class(), *_guides(), *_letters(), *_practice(), *_hands(), *_pieces(), *_screens(), *_fonts()]
    return [replace(exhibit, job=_with_shipped_markers(exhibit.job)) for exhibit in told]


def _with_shipped_markers(job: Job) -> Job:
    """Return a job whose markers are the files that ship, whatever profiles a person has under the same names."""
    values = {key: _shipped(value) if key in _MARKER_VALUES else value for key, value in job.values.items()}
    return replace(job, values=values)


def _shipped(value: str | list[str]) -> str | list[str]:
    if isinstance(value, list):
        return [str(templates_folder() / "markers" / f"{name}.toml") for name in value]
    return str(templates_folder() / "markers" / f"{value}.toml")


def _class() -> list[Exhibit]:
    section = "For the whole class"
    return [
        Exhibit(section, "handout", "Every marker of the class on one reference", "handout --all",
                Job("handout", {"markers": list(MARKERS)}), gallery=True),
        Exhibit(section, "compare", "Why size matters: one word at one size, and each at its right size",
                "compare grit pebble cobble boulder --landscape",
                Job("compare", {"markers": ["grit", "pebble", "cobble", "boulder"], "landscape": True}), gallery=True),
        Exhibit(section, "trial", "A marker nobody has measured: rising rows to find its size by hand", "trial",
                Job("trial"), gallery=True),
    ]  # fmt: skip


def _guides() -> list[Exhibit]:
    section = "Guide sheets"
    usual = [
        Exhibit(section, f"sheet-{name}", f"{name}, at its right size", f"sheet {name}",
                Job("sheet", {"marker": name}), gallery=name == "cobble")
        for name in MARKERS
    ]
    return [
        *usual,
        Exhibit(section, "sheet-cobble-beginners", "cobble, at the largest size of its band, for beginners",
                "sheet cobble --at largest --paper letter",
                Job("sheet", {"marker": "cobble", "at": "largest", "paper": "letter"})),
        Exhibit(section, "sheet-thorn-copperplate", "thorn, proportions 3:2:3 at 55°, lying",
                "sheet thorn --hand copperplate --landscape",
                Job("sheet", {"marker": "thorn", "hand": "copperplate", "landscape": True})),
        Exhibit(section, "sheet-slate-foundational", "slate, four nib widths, with their ladder on each row",
                "sheet slate --hand foundational",
                Job("sheet", {"marker": "slate", "hand": "foundational"}), gallery=True),
    ]  # fmt: skip


def _letters() -> list[Exhibit]:
    section = "The letter at its right size, and at both ends of the band"
    papers = {"boulder": "a4", "cobble": "a5", "slate": "a5"}
    return [
        Exhibit(section, f"letter-{name}", name, f"letter {name} --paper {papers.get(name, 'a6')} --landscape",
                Job("letter", {"marker": name, "paper": papers.get(name, "a6"), "landscape": True}),
                files=("svg", "pdf"), gallery=name in {"cobble", "slate"})
        for name in MARKERS
    ]  # fmt: skip


def _practice() -> list[Exhibit]:
    section = "To practise"
    return [
        Exhibit(section, "worksheet-tide", "From the model to one's own hand", 'worksheet cobble "high tide"',
                Job("worksheet", {"markers": "cobble", "text": "high tide"}), gallery=True),
        Exhibit(section, "worksheet-letters", "Letters with the order of their strokes",
                "worksheet flint --letters a-e", Job("worksheet", {"markers": "flint", "letters": "a-e"})),
        Exhibit(section, "worksheet-drills", "The strokes that letters are made of", "worksheet pebble --drills",
                Job("worksheet", {"markers": "pebble", "drills": "all"}), gallery=True),
        Exhibit(section, "worksheet-left", "For the left hand: models on the right",
                'worksheet slate "calm sea" --left-handed',
                Job("worksheet", {"markers": "slate", "text": "calm sea", "left_handed": True})),
    ]  # fmt: skip


def _hands() -> list[Exhibit]:
    section = "The hands"
    alphabet = "abcdefghijklm nopqrstuvwxyz ABCDEFGHIJKLM NOPQRSTUVWXYZ 0123456789"
    lines = ["The harbour lamps are lit", "and the boats lie still"]
    rows = " ".join([alphabet, *(f'"{line}"' for line in lines)])
    brushes = ["thorn", "grit", "pebble", "cobble", "boulder"]
    shown = (
        ("joined", {"marker": "pebble", "paper": "a3", "others": brushes}, 48),
        ("italic", {"marker": "slate", "paper": "a3"}, 48),
        ("print", {"marker": "flint"}, 72),
    )
    return [
        *(
            Exhibit(section, f"specimen-{hand}", f"{hand}: its strokes, letters, figures, a paragraph", "",
                    Job("specimen", values), ppi=ppi, gallery=True)
            for hand, values, ppi in shown
        ),
        *(
            Exhibit(section, f"hand-{marker}", f"{hand}, written with {marker}", f"write {marker} {rows}",
                    Job("write", {"marker": marker, "text": [*alphabet.split(), *lines]}),
                    files=("svg",), ppi=ppi, gallery=True)
            for marker, hand, ppi in (("cobble", "joined", 55), ("slate", "italic", 55), ("flint", "print", 120))
        ),
        Exhibit(section, "hand-lively", "lively, a second joined hand, written with cobble",
                f"write cobble {rows} --hand lively",
                Job("write", {"marker": "cobble", "text": [*alphabet.split(), *lines], "hand": "lively"}),
                files=("svg",), ppi=55, gallery=True),
    ]  # fmt: skip


def _pieces() -> list[Exhibit]:
    section = "Finished pieces"
    return [
        Exhibit(section, "piece-boats", "A piece for the wall, as outlines to cut or to frame",
                'write boulder "The boats come in" "with the evening tide" --align center',
                Job("write", {"marker": "boulder", "text": ["The boats come in", "with the evening tide"],
                              "align": "center"}),
                files=("svg", "pdf"), ppi=40, gallery=True),
        Exhibit(section, "plan-regatta", "Its plan on paper, to letter over on a light box",
                'plan cobble "Regatta on Saturday, at the old harbour" --align center --landscape',
                Job("plan", {"marker": "cobble", "text": "Regatta on Saturday, at the old harbour",
                             "align": "center", "landscape": True})),
        Exhibit(section, "anchor-cobble", "A drawing of single lines, inked with cobble, upright",
                "ink anchor.svg --marker cobble --slant 90",
                Job("ink", {"drawing": "anchor.svg", "marker": "cobble", "slant_deg": 90}), files=("svg", "pdf"),
                gallery=True, drawing=("anchor.svg", ANCHOR)),
    ]  # fmt: skip


def _screens() -> list[Exhibit]:
    section = "For a tablet"
    return [
        Exhibit(section, "planner-light", "An index and guide pages, linked there and back",
                "planner pebble cobble",
                Job("planner", {"markers": ["pebble", "cobble"]}), ppi=264, shown=3),
        Exhibit(section, "planner-dark", "A page for each letter, on a dark ground",
                'planner pebble --letters a-e --theme dark --title "First letters"',
                Job("planner", {"markers": "pebble", "letters": "a-e", "theme": "dark", "title": "First letters"}),
                ppi=264, shown=3),
    ]  # fmt: skip


def _fonts() -> list[Exhibit]:
    section = "Fonts of the markers' own strokes, to type at real size"
    return [
        Exhibit(section, "cobble-solid", "cobble as ink, with pages that show its true size", "font cobble --specimen",
                Job("font", {"marker": "cobble"}), files=("ttf",), ppi=0,
                also=("cobble-solid-specimen.pdf", "cobble-solid-specimen.html")),
        Exhibit(section, "cobble-dotted", "cobble to trace", "font cobble --face dotted",
                Job("font", {"marker": "cobble", "face": "dotted"}), files=("ttf",), ppi=0),
        Exhibit(section, "flint-hollow", "flint to fill in", "font flint --face hollow",
                Job("font", {"marker": "flint", "face": "hollow"}), files=("otf",), ppi=0),
    ]  # fmt: skip


ANCHOR = """<svg xmlns="http://www.w3.org/2000/svg" width="90mm" height="100mm" viewBox="0 0 90 100">
  <title>An anchor</title>
  <g fill="none" stroke="#000">
  <path d="M45 7C35 7 35 23 45 23"/>
  <path d="M45 7C55 7 55 23 45 23"/>
  <path d="M45 22V90"/>
  <polyline points="28,34 45,34 62,34" data-widths="1 2.4 1"/>
  <path d="M13 56C15 76 29 85 45 90"/>
  <path d="M77 56C75 76 61 85 45 90"/>
  <path d="M13 56C11 61 8 65 4 67"/>
  <path d="M13 56C16 61 19 64 24 65"/>
  <path d="M77 56C79 61 82 65 86 67"/>
  <path d="M77 56C74 61 71 64 66 65"/>
  </g>
</svg>
"""
"""Single lines, drawn in the direction a pen would go: down, for that is where it presses."""
