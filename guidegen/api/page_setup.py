"""The paper and what surrounds the work on it, from names and from values."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace

from guidegen.hands.library import list_papers, load_paper
from guidegen.hands.own import kept_printer
from guidegen.profiles.papers import Paper
from guidegen.profiles.printers import Feed, Printer, parse_measured
from guidegen.sheets.parts.frame import DEFAULT_MARGIN_MM, Proof, Setup
from guidegen.sheets.parts.look import PLAIN_LOOK, Look, guide_style
from guidegen.sheets.parts.phrases import ENGLISH

PaperLike = str | Paper
PrinterLike = str | Printer
_MEASURED = re.compile(r"\s*+[0-9.]++\s*+[x×]\s*+[0-9.]++\s*+", re.ASCII)
_FEEDS: dict[str, Feed] = {" short": "short", " long": "long"}


@dataclass(frozen=True, slots=True)
class OnPaper:
    """The paper and what surrounds the work on it, as every page function takes them. None is the page's own usual."""

    paper: PaperLike = "a4"
    landscape: bool = False
    margin_mm: float = DEFAULT_MARGIN_MM
    proof: Proof | None = None
    credit: str = ""
    printer: PrinterLike | None = None
    look: Look = PLAIN_LOOK
    language: str = ENGLISH

    def setup(self, proof: Proof = "bar") -> Setup:
        """Return the page to lay out on; ``proof`` is the usual of its kind.

        Raises:
            GuidegenError: no such paper or printer.
        """
        paper = load_paper(self.paper) if isinstance(self.paper, str) else self.paper
        lying = paper.landscape() if self.landscape else paper
        known = tuple(list_papers().values())
        printer = printer_of(self.printer)
        return Setup(lying, self.margin_mm, self.proof or proof, self.credit, printer, known, self.look, self.language)


def look_of(
    style: str, *, slant_lines: bool = True, header: bool = True, model: bool = True, strokes: bool = True
) -> Look:
    """Return how guides look and what is left out, from the parameters of a page function.

    Raises:
        GuidegenError: a style that is none.
    """
    return Look(guide_style(style), slant_lines, header, model, strokes)


def printer_of(printer: PrinterLike | None) -> Printer | None:
    """Return a printer's correction from ``98.6x99.1``, or from the name it was kept under.

    Either may be followed by the edge of the paper that enters the printer first: ``staffroom long``.

    Raises:
        GuidegenError: neither.
    """
    if not isinstance(printer, str):
        return printer
    end = next((end for end in _FEEDS if printer.endswith(end)), "")
    named = printer.removesuffix(end)
    found = parse_measured(named, "`printer`") if _MEASURED.fullmatch(named) else kept_printer(named)
    return replace(found, feed=_FEEDS[end]) if end else found
