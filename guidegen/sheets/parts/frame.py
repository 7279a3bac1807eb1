"""What all sheets share: paper, margins, the footer with its proof marks, and the box that is left."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from typing import Literal, get_args

from guidegen.checks import an, check_fields, every, line, number, one_of, optional
from guidegen.errors import GuidegenError
from guidegen.profiles.papers import Paper
from guidegen.profiles.printers import Printer, corrected, printed_paper
from guidegen.scene import Document, Item, Layer, Page, Purpose
from guidegen.sheets.parts.labels import label
from guidegen.sheets.parts.look import PLAIN_LOOK, Look, looking
from guidegen.sheets.parts.phrases import ENGLISH, Phrases, phrases
from guidegen.sheets.parts.proof import (
    CARD_MM,
    LINE_MM,
    TEXT_MM,
    bar_height_mm,
    card_and_square,
    corrected_words,
    print_words,
    proof_bar,
)

Proof = Literal["bar", "full", "none"]
DEFAULT_MARGIN_MM = 12.0
FOOTER_GAP_MM = 6.0
_SMALLEST_BOX_MM = 8.0
_CHECKS = {
    "paper": an(Paper, "a Paper"),
    "margin_mm": number(0.0, 1e6, "a margin in mm, 0 or more"),
    "proof": one_of(get_args(Proof)),
    "credit": line(1000, "a line of text", blank=True),
    "printer": optional(an(Printer, "a Printer")),
    "papers": every(Paper, "papers"),
    "language": line(1000, "a language's name or file"),
    "look": an(Look, "a Look"),
}


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle of the page, in mm."""

    left: float
    bottom: float
    right: float
    top: float

    @property
    def width(self) -> float:
        return self.right - self.left

    @property
    def height(self) -> float:
        return self.top - self.bottom


@dataclass(frozen=True, slots=True)
class Setup:
    """The page a sheet is laid out on: ``papers`` are those that an error may suggest instead.

    ``look`` is how its guide lines look and what is left out. ``language`` is that of the words on the page: a name
    in ``templates/words``, or the path of such a file.

    Raises:
        GuidegenError: no paper, a margin below 0, other proof marks, a credit that is no line of text.
    """

    paper: Paper
    margin_mm: float = DEFAULT_MARGIN_MM
    proof: Proof = "bar"
    credit: str = ""
    printer: Printer | None = None
    papers: tuple[Paper, ...] = ()
    look: Look = PLAIN_LOOK
    language: str = ENGLISH

    def __post_init__(self) -> None:
        check_fields(self, _CHECKS)

    @property
    def say(self) -> Phrases:
        """Return the words of the page, in its language."""
        return phrases(self.language)

    @property
    def paper_label(self) -> str:
        """Return what the paper is called on the page."""
        return self.say.label(self.paper.label)

    @property
    def true_paper(self) -> Paper:
        """Return the paper in true millimetres, as the printer makes it."""
        return printed_paper(self.paper, self.printer)

    def suggestion(
        self,
        fits: Callable[[Setup], bool],
        what: str = "that would do",
        noun: str = "paper",
        *,
        either_way: bool = False,
    ) -> str:
        """Return words that name the smallest known paper on which ``fits`` is true.

        It lies as this one lies or, with ``either_way``, as it must. Papers of the same series are preferred, then
        those people have at home.
        """
        turned = self.paper.width_mm > self.paper.height_mm
        lying = [paper.landscape() if turned else paper for paper in self.papers]
        if either_way:
            upright = [paper for paper in self.papers if paper.height_mm > paper.width_mm]
            lying += upright if turned else [paper.landscape() for paper in upright]
        series = (self.paper.family, "us" if self.paper.inches else "iso-a")

        def rank(paper: Paper) -> tuple[int, float, bool, str]:
            place = series.index(paper.family) if paper.family in series else len(series)
            return place, paper.width_mm * paper.height_mm, (paper.width_mm > paper.height_mm) != turned, paper.name

        ordered = sorted(lying, key=rank)
        found = next((paper for paper in ordered if _fits(fits, replace(self, paper=paper))), None)
        if found is None:
            return f"no known {noun} {what}"
        lies = found.width_mm > found.height_mm
        way = " `landscape`" if lies and found not in self.papers else " upright" if turned and not lies else ""
        return f"the smallest {noun} {what} is {found.name}{way}"


def _fits(fits: Callable[[Setup], bool], setup: Setup) -> bool:
    try:
        return fits(setup)
    except GuidegenError:
        return False


@dataclass(frozen=True, slots=True)
class Frame:
    """A page's size in true mm, its proof marks and the box between margins and footer."""

    width_mm: float
    height_mm: float
    box: Box
    proof: tuple[Item, ...]


def frame(setup: Setup, said: str = "", inset: tuple[float, float] = (0.0, 0.0)) -> Frame:
    """Return the page with its footer set, ``said`` one more sentence of it.

    ``inset`` widens the margins at the left and the right, for a binding edge.

    Raises:
        GuidegenError: when the margins or the footer leave no room.
    """
    paper = setup.true_paper
    margin = setup.margin_mm
    whole = Box(margin + inset[0], margin, paper.width_mm - margin - inset[1], paper.height_mm - margin)
    if not (margin >= 0 and min(whole.width, whole.height) >= _SMALLEST_BOX_MM):
        raise GuidegenError(f"`margin_mm`: {margin:g} mm leave no room on {setup.paper.label}; use a smaller one")
    items, top = _footer(setup, whole, said)
    box = replace(whole, bottom=top)
    if box.height < _SMALLEST_BOX_MM:
        raise GuidegenError(f"`proof` {setup.proof}: no room is left on {setup.paper.label}; use `proof` none")
    return Frame(paper.width_mm, paper.height_mm, box, items)


def holding(width_mm: float, height_mm: float) -> Callable[[Setup], bool]:
    """Return the test whether a page has that much room between its margins and its footer."""

    def holds(setup: Setup) -> bool:
        box = frame(setup).box
        return box.width >= width_mm - 1e-9 and box.height >= height_mm - 1e-9

    return holds


def footer_words(setup: Setup, said: str = "") -> tuple[str, ...]:
    """Return the sentences of the footer."""
    how, ruler = print_words(setup.say)
    second = corrected_words(setup.printer, setup.say) if setup.printer else "" if said or setup.credit else ruler
    return tuple(words for words in (how, second, said, setup.credit) if words)




def _footer(setup: Setup, box: Box, said: str) -> tuple[tuple[Item, ...], float]:
    """Return the proof marks at the foot of ``box`` and the height at which the sheet's own room begins."""
    corner = complex(box.left, box.bottom)
    if setup.proof == "none":
        words_below = " ".join(words for words in (said, setup.credit) if words)
        if not words_below:
            return (), box.bottom
        credit = label(words_below, complex(box.right, box.bottom + 0.6), TEXT_MM, anchor="end")
        return (credit,), box.bottom + LINE_MM + FOOTER_GAP_MM / 2
    words = footer_words(setup, said)
    items = proof_bar(corner, box.width, words)
    height = bar_height_mm(box.width, words)
    if setup.proof == "full":
        card = card_and_square(corner + 1j * (height + FOOTER_GAP_MM * 0.7), box.width, setup.say)
        if not card:
            raise GuidegenError(f"`proof` full: a bank card does not fit {setup.paper.label}; use `proof` bar")
        return (*items, *card), corner.imag + height + FOOTER_GAP_MM * 1.7 + CARD_MM[1]
    return items, corner.imag + height + FOOTER_GAP_MM * min(1.0, box.height / 120)


def document(
    setup: Setup, pages: Iterable[tuple[Frame, tuple[Layer, ...]]], title: str, description: str, notes: Iterable[str]
) -> Document:
    """Return the finished document: empty layers left out, printer correction made."""
    made = tuple(
        Page(
            page.width_mm,
            page.height_mm,
            tuple(layer for layer in (*layers, Layer(Purpose.PROOF, page.proof)) if layer.items),
            title,
            description,
        )
        for page, layers in pages
    )
    return finished(Document(made, title, description, tuple(note for note in notes if note)), setup)


def finished(document: Document, setup: Setup) -> Document:
    """Return pages with guide lines as ``setup`` wants them, corrected for its printer."""
    return corrected(looking(document, setup.look), setup.printer, setup.paper)
