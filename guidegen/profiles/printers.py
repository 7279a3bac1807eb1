"""Printers that are off: a page laid out for the paper as the printer makes it, so that the print comes true.

A printer that draws 98.6 mm where 100 mm were meant turns a 210 mm wide file into 207.06 mm of print. So the
sheet is laid out on that smaller paper, in true millimetres, and each axis is then stretched by 100/measured
to fill the file's page. On paper the stretch and the printer's error cancel.

Across and down are the printer's own axes: across its rollers, and the way the paper runs. Paper runs with its short
edge first unless it is said to run with the long one, however the page lies on it: a page that lies is turned for the
printer, so that its width is what runs down.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from typing import Literal, get_args

from guidegen.checks import check_fields, number, one_of
from guidegen.errors import BadInputError, bad_input
from guidegen.profiles.papers import Paper
from guidegen.scene import AffineMap, Document

Feed = Literal["short", "long"]
"""The edge of the paper that enters the printer first."""
BAR_MM = 100.0
_USABLE = number(50.0, 200.0, "what a bar of 100 mm measured, from 50 to 200 mm")
_PLAUSIBLE_MM = (95.0, 105.0)
_SAID = re.compile(r"Corrected for a printer: 100 mm on paper are ([0-9.]{1,12}+) mm across and ([0-9.]{1,12}+) mm")
_MEASURED = re.compile(r"\s*+([0-9]++(?>\.[0-9]++)?+)\s*+[x×]\s*+([0-9]++(?>\.[0-9]++)?+)\s*+", re.ASCII)


@dataclass(frozen=True, slots=True)
class Printer:
    """What two bars of 100 mm measured on paper, across and down, in mm; ``feed`` is the edge that enters first.

    Raises:
        GuidegenError: a measure that is not between 50 and 200 mm, an edge that is neither.
    """

    across_mm: float
    down_mm: float
    feed: Feed = "short"

    def __post_init__(self) -> None:
        check_fields(self, {"across_mm": _USABLE, "down_mm": _USABLE, "feed": one_of(get_args(Feed))})

    def shares(self, paper: Paper) -> tuple[float, float]:
        """Return what the printer makes of a millimetre of a page's width and of its height, ``paper`` as it lies.

        The edge that enters first lies across the printer; a square paper enters as it stands.
        """
        width_first = paper.width_mm == paper.height_mm or (paper.width_mm < paper.height_mm) == (self.feed == "short")
        across, down = self.across_mm / BAR_MM, self.down_mm / BAR_MM
        return (across, down) if width_first else (down, across)

    @property
    def advice(self) -> str:
        """Return what to tell about measures that no printer's gears explain, "" otherwise."""
        low, high = _PLAUSIBLE_MM
        if all(low <= side <= high for side in (self.across_mm, self.down_mm)):
            return ""
        return (
            f"100 mm that measure {self.across_mm:g} x {self.down_mm:g} mm point to the print dialog: "
            "look there for fit to page first, choose 100 %, and measure again"
        )


def parse_measured(text: str, where: str = "`measured`") -> Printer:
    """Return the printer described by ``ACROSSxDOWN``, such as ``98.6x99.1``.

    Raises:
        GuidegenError: when that is not two lengths between 50 and 200 mm.
    """
    match = _MEASURED.fullmatch(text) if len(text) < 64 else None
    error = bad_input(where, "", text, "what two 100 mm bars measured in mm, across x down, such as 98.6x99.1")
    if match is None:
        raise error
    try:
        return Printer(float(match[1]), float(match[2]))
    except BadInputError:
        raise error from None


def printed_paper(paper: Paper, printer: Printer | None) -> Paper:
    """Return the paper that the printer makes of a file of ``paper``'s size."""
    if printer is None:
        return paper
    across, down = printer.shares(paper)
    return replace(paper, width_mm=paper.width_mm * across, height_mm=paper.height_mm * down)


def corrected(document: Document, printer: Printer | None, paper: Paper) -> Document:
    """Return ``document``, laid out on :func:`printed_paper`, stretched back to ``paper``, the file's page.

    Its description says so, for a ruler held to the file finds no true millimetres.
    """
    if printer is None:
        return document
    width, height = _stretch(printer, paper)
    # line widths and dashes take the mean of both axes: they are marks, not measures
    stretch = AffineMap(width, 1j * height, widths=(width * height) ** 0.5)
    pages = (stretch.page(page) for page in document.pages)
    notes = (*document.notes, printer.advice) if printer.advice else document.notes
    return replace(
        document,
        pages=tuple(replace(page, description=described(page.description, printer, paper)) for page in pages),
        description=described(document.description, printer, paper),
        notes=notes,
    )


def described(words: str, printer: Printer | None, paper: Paper) -> str:
    """Return a description that also says that its pages were corrected for a printer, if they were."""
    return words if printer is None else f"{words} {said_of_correction(*_stretch(printer, paper))}".strip()


def _stretch(printer: Printer, paper: Paper) -> tuple[float, float]:
    across, down = printer.shares(paper)
    return 1 / across, 1 / down


def correction_in(description: str) -> tuple[float, float] | None:
    """Return what 100 mm on paper are in a file, across and down, when its description says it was corrected."""
    match = _SAID.search(description)
    return None if match is None else (float(match[1]), float(match[2]))


def said_of_correction(width: float, height: float) -> str:
    """Return what a file's description says of a page stretched by ``width`` and ``height`` for a printer."""
    sides = f"{BAR_MM * width:.4f} mm across and {BAR_MM * height:.4f} mm down"
    return f"Corrected for a printer: 100 mm on paper are {sides} here."
