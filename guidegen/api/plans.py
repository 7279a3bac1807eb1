"""Plans: does a piece or a set of names fit the paper, and what would make it fit?"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import cached_property
from pathlib import Path
from typing import Any

from guidegen.api.nouns import (
    HandLike,
    MarkerLike,
    Slant,
    chosen_lettering,
    known_letterings,
    markers,
)
from guidegen.api.page_setup import OnPaper, PaperLike, PrinterLike, look_of
from guidegen.api.pages import FilePath, Pages
from guidegen.api.words import check_names, lines_of, names_of
from guidegen.errors import GuidegenError, bad_input
from guidegen.lettering.lettering import Lettering
from guidegen.lettering.sizing import At
from guidegen.lettering.text import Align, check_characters
from guidegen.profiles.markers import Marker
from guidegen.profiles.papers import Paper
from guidegen.scene import Document
from guidegen.sheets.name_set import SetPlan
from guidegen.sheets.parts.asked_text import one_text
from guidegen.sheets.parts.forms import Form
from guidegen.sheets.parts.frame import DEFAULT_MARGIN_MM, Proof, Setup
from guidegen.sheets.parts.phrases import ENGLISH
from guidegen.sheets.plan import Piece, Plan, envelope_box, whole_box
from guidegen.units import inches

_NAMED = 12


class _Layout(Pages):
    """A layout to letter over; for a blade it is made of solid letters, for a contour has two edges to cut."""

    def __init__(
        self,
        name: str,
        make: Callable[[Form], Document],
        warnings: Sequence[str],
        *,
        corrected: bool,
        slant_deg: float,
    ) -> None:
        super().__init__(name, make("ghost"), warnings, corrected=corrected, slant_deg=slant_deg)
        self._make = make

    def _for_blade(self) -> Document:
        return self._make("solid")


class PlannedPiece:
    """What planning a piece found, in mm; :meth:`layout` is its layout on the paper."""

    def __init__(
        self,
        piece: Piece,
        setup: Setup,
        found: Plan,
        warnings: Sequence[str],
        *,
        envelope: bool,
        known: Sequence[Marker] = (),
    ) -> None:
        self._piece, self._setup, self._found, self._envelope = piece, setup, found, envelope
        self._known = known
        self._warnings = tuple(warnings)

    @property
    def fits(self) -> bool:
        """Whether the piece fits the paper."""
        return self._found.fits

    @property
    def smallest_paper(self) -> Paper | None:
        """The smallest paper of the same series that holds it, lying as this one lies or turned."""
        return self._found.smallest_paper

    @property
    def largest_marker(self) -> str | None:
        """The thickest known marker in which it fits at that marker's right size."""
        return self._found.largest_marker

    @property
    def lines(self) -> tuple[str, ...]:
        """The text as it is broken."""
        return tuple(line.text for line in self._found.block.lines)

    @property
    def notes(self) -> tuple[str, ...]:
        """What is worth telling, such as a size outside the marker's band."""
        return tuple(dict.fromkeys(warning for warning in self._warnings if warning))

    def as_dict(self) -> dict[str, Any]:
        """Return what ``guidegen plan --json`` tells."""
        found, paper = self._found, self._found.smallest_paper
        return {
            "fits": found.fits,
            "lines": len(found.block.lines),
            "width_mm": found.block.width_mm,
            "height_mm": found.block.height_mm,
            "x_height_mm": self._piece.lettering.x_height_mm,
            "smallest_paper": paper.name if paper else None,
            "smallest_paper_landscape": paper.width_mm > paper.height_mm if paper else None,
            "largest_marker": found.largest_marker,
            "fitting_x_height_mm": found.fitting_x_height_mm,
            "fitting_in_band": found.in_band,
            "white_mm": {"across": found.white_mm.real, "down": found.white_mm.imag},
            "text": list(self.lines),
        }

    def __str__(self) -> str:
        """Return the plan as lines to read."""
        from guidegen.sheets.parts.figures import mm_text

        found, paper = self._found, self._setup.paper
        block, lettering = found.block, self._piece.lettering
        lying = " landscape" if paper.width_mm > paper.height_mm else ""

        def size(width_mm: float, height_mm: float) -> str:
            metric = f"{width_mm:.0f} x {height_mm:.0f} mm"
            return f"{metric} ({inches(width_mm):.2f} x {inches(height_mm):.2f} in)" if paper.inches else metric

        verdict = "fits" if found.fits else "does not fit"
        lines = f"{len(block.lines)} line{'s' if len(block.lines) != 1 else ''}"
        told = [f"{verdict} {paper.label}{lying}: {lines} at x-height {mm_text(lettering.x_height_mm)}"]
        told += [f"  {line}" for line in self.lines]
        told.append(f"block            {size(block.width_mm, block.height_mm)}")
        if found.fits:
            told.append(f"white left       {size(found.white_mm.real, found.white_mm.imag)}")
        told.append(_smallest_paper_words(found.smallest_paper))
        if not self._piece.own:
            told.append(_largest_marker_words(found.largest_marker, lettering.marker, self._known))
        if found.fitting_x_height_mm is not None:
            band = "in the band" if found.in_band else "outside the band"
            size_text = mm_text(found.fitting_x_height_mm)
            told.append(f"largest x-height {size_text}, {band} of {lettering.marker.name}")
        return "\n".join(told)

    def layout(self) -> Pages:
        """Return the piece on the paper as guides and thin contours, to letter over or on a light box.

        Raises:
            GuidegenError: it does not fit.
        """
        from guidegen.sheets.plan import layout_sheet

        def made(form: Form) -> Document:
            return layout_sheet(self._found, self._piece, self._setup, envelope=self._envelope, form=form)

        name, slant = f"plan-{self._piece.lettering.marker.name}", self._piece.lettering.hand.slant_deg
        corrected = self._setup.printer is not None
        return _Layout(name, made, self.notes, corrected=corrected, slant_deg=slant)

    def save(self, path: FilePath | None = None, *, file_format: str | None = None, force: bool = False) -> list[Path]:
        """Write the layout; see :meth:`layout` and :meth:`guidegen.Pages.save`."""
        return self.layout().save(path, file_format=file_format, force=force)

    def _repr_svg_(self) -> str | None:
        return self.layout().svg() if self.fits else None

    __repr__ = __str__


def plan(
    marker: MarkerLike | None = None,
    text: str | Sequence[str] = (),
    *,
    own_lines: Sequence[tuple[MarkerLike, str]] = (),
    lines: int | None = None,
    align: Align = "left",
    envelope: bool = False,
    known: Sequence[Marker] | None = None,
    hand: HandLike | None = None,
    x_height_mm: float | None = None,
    slant_deg: Slant | None = None,
    at: At = "right",
    paper: PaperLike = "a4",
    landscape: bool = False,
    margin_mm: float = DEFAULT_MARGIN_MM,
    proof: Proof | None = None,
    credit: str = "",
    printer: PrinterLike | None = None,
    language: str = ENGLISH,
    guide_style: str = "fine",
    slant_lines: bool = True,
) -> PlannedPiece:
    """Plan a piece: does the text fit the paper, and what would make it fit?

    Args:
        marker: a marker, the name or path of its profile, or a lettering.
        text: what is lettered; each text of several, and each line break in one, begins a new line.
        own_lines: in place of both: lines with a marker each, as (marker, text).
        lines: break one text into this many lines.
        align: ``left``, ``center`` or ``right``.
        envelope: keep the stamp's corner free.
        known: the markers that may be named as the biggest that fits; None for all that are known.
        hand, x_height_mm, slant_deg, at, paper, landscape, margin_mm, proof, credit, printer, language,
            guide_style, slant_lines: see :func:`guidegen.sheet`.

    Raises:
        GuidegenError: as :func:`guidegen.sheet`; a character the hand lacks; more lines than words.
    """
    from guidegen.sheets import plan as planning

    how = (hand, x_height_mm, slant_deg, at)
    piece, warnings = _own_piece(own_lines, align, how) if own_lines else _piece(marker, text, lines, align, how)
    if own_lines and (marker is not None or text or lines is not None):
        raise GuidegenError("`own_lines`: each line has its own marker and text; leave out MARKER, TEXT and `lines`")
    look = look_of(guide_style, slant_lines=slant_lines)
    setup = OnPaper(paper, landscape, margin_mm, proof, credit, printer, look, language).setup()
    candidates = markers() if known is None else known
    others = () if piece.own else known_letterings(piece.lettering, candidates)
    found = planning.plan(piece, setup, others, envelope_box if envelope else whole_box)
    return PlannedPiece(piece, setup, found, warnings, envelope=envelope, known=candidates)


_How = tuple[HandLike | None, float | None, Slant | None, At]


def _own_piece(own_lines: Sequence[tuple[MarkerLike, str]], align: Align, how: _How) -> tuple[Piece, list[str]]:
    own, warnings = [], []
    for tool, words in own_lines:
        lettering, warning = chosen_lettering(tool, *how)
        warnings.append(warning)
        own.append((lettering, one_text(words, "`own_lines`")))
        check_characters(lettering.hand, own[-1][1])
    return Piece(own[0][0], tuple(words for _, words in own), align, None, tuple(own)), warnings


def _piece(
    marker: MarkerLike | None, text: str | Sequence[str], lines: int | None, align: Align, how: _How
) -> tuple[Piece, list[str]]:
    if marker is None:
        raise bad_input("plan", "", "nothing", "MARKER TEXT, or `own_lines` MARKER:TEXT, or `names` FILE")
    lettering, warning = chosen_lettering(marker, *how)
    paragraphs = lines_of(text)
    check_characters(lettering.hand, "".join(paragraphs))
    if lines is not None and len(paragraphs) > 1:
        raise GuidegenError("`lines`: the text has line breaks of its own; give it as one line to have it broken")
    count = len(paragraphs[0].split(" "))
    if lines is not None and lines > count:
        raise bad_input("`lines`", "", lines, f"at most {count}, one word a line")
    return Piece(lettering, paragraphs, align, lines), [warning]


class Cards:
    """What planning a set of names found, in mm; :meth:`layout` is the names on cards."""

    def __init__(
        self,
        lettering: Lettering,
        names: Sequence[str],
        up: int | None,
        setup: Setup,
        known: Sequence[Marker],
        warnings: Sequence[str],
    ) -> None:
        from guidegen.sheets.cards import card_box
        from guidegen.sheets.name_set import plan_set

        self._lettering, self._names, self._up, self._setup = lettering, tuple(names), up, setup
        self._known, self._warnings = known, tuple(warnings)
        self._box = card_box(setup, up)
        self._found: SetPlan = plan_set(lettering, self._names, self._box)

    @property
    def fits(self) -> bool:
        """Whether every name fits its card at the set's one x-height."""
        return self._found.fits

    @property
    def x_height_mm(self) -> float:
        """The one x-height for all, decided by the longest name."""
        return self._found.x_height_mm

    @cached_property
    def smallest_paper(self) -> Paper | None:
        """The smallest paper that would hold the set."""
        from guidegen.sheets.name_set import set_paper

        return set_paper(self._found, self._setup, self._up)

    @cached_property
    def largest_marker(self) -> str | None:
        """The thickest known marker in which every name fits at that marker's right size."""
        from guidegen.sheets.name_set import set_marker

        return set_marker(self._names, self._box, known_letterings(self._lettering, self._known))

    @property
    def notes(self) -> tuple[str, ...]:
        """What is worth telling: a size outside the marker's band, names whose cards stay empty."""
        empty = [entry.name for entry in self._found.names if not entry.fits]
        if empty:
            shown = ", ".join(empty[:_NAMED]) + (f" and {len(empty) - _NAMED} more" if len(empty) > _NAMED else "")
            cards = "its card is" if len(empty) == 1 else "their cards are"
            told = (*self._warnings, f"no room for {shown} at this size: {cards} empty")
        else:
            told = self._warnings
        return tuple(dict.fromkeys(warning for warning in told if warning))

    def as_dict(self) -> dict[str, Any]:
        """Return what ``guidegen plan --names FILE --json`` tells; the widest name tells the width."""
        found, paper = self._found, self.smallest_paper
        return {
            "fits": found.fits,
            "lines": 1,
            "width_mm": found.width_mm,
            "height_mm": found.height_mm,
            "x_height_mm": found.x_height_mm,
            "smallest_paper": paper.name if paper else None,
            "smallest_paper_landscape": paper.width_mm > paper.height_mm if paper else None,
            "largest_marker": self.largest_marker,
            "in_band": found.in_band,
            "longest": found.longest,
            "names": len(found.names),
            "breaks": [entry.name for entry in found.names if not entry.fits],
        }

    def __str__(self) -> str:
        """Return the set's plan as lines to read."""
        from guidegen.sheets.parts.figures import mm_text

        found = self._found
        band = "in the band" if found.in_band else "outside the band"
        names = f"{len(found.names)} name{'s' if len(found.names) != 1 else ''}"
        told = [f"{names} at x-height {mm_text(found.x_height_mm)}, {band}", f"longest          {found.longest}"]
        broken = [entry for entry in found.names if not entry.fits]
        told += [f"does not fit     {entry.name} ({entry.width_mm:.0f} mm)" for entry in broken]
        told.append(_smallest_paper_words(self.smallest_paper))
        told.append(_largest_marker_words(self.largest_marker, self._lettering.marker, self._known))
        return "\n".join(told)

    def layout(self) -> Pages:
        """Return the names as guides and thin contours, a card each; a name that does not fit leaves its card empty."""
        from guidegen.sheets.cards import card_sheets

        lettering = self._lettering.at(self._found.x_height_mm)

        def made(form: Form) -> Document:
            return card_sheets(lettering, self._names, self._setup, self._up, form)

        name, slant = f"cards-{lettering.marker.name}", lettering.hand.slant_deg
        corrected = self._setup.printer is not None
        return _Layout(name, made, self.notes, corrected=corrected, slant_deg=slant)

    def save(self, path: FilePath | None = None, *, file_format: str | None = None, force: bool = False) -> list[Path]:
        """Write the cards; see :meth:`layout` and :meth:`guidegen.Pages.save`."""
        return self.layout().save(path, file_format=file_format, force=force)

    def _repr_svg_(self) -> str:
        return self.layout().svg()

    __repr__ = __str__


def cards(
    marker: MarkerLike,
    names: FilePath | Sequence[str],
    *,
    up: int | None = None,
    known: Sequence[Marker] | None = None,
    hand: HandLike | None = None,
    x_height_mm: float | None = None,
    slant_deg: Slant | None = None,
    at: At = "right",
    paper: PaperLike = "a4",
    landscape: bool = False,
    margin_mm: float = DEFAULT_MARGIN_MM,
    proof: Proof | None = None,
    credit: str = "",
    printer: PrinterLike | None = None,
    language: str = ENGLISH,
    guide_style: str = "fine",
) -> Cards:
    """Plan a set of names at one x-height, a card each.

    Args:
        marker: a marker, the name or path of its profile, or a lettering.
        names: the names, or a file with one a line.
        up: so many cards on a sheet, with cut marks; None for a paper each.
        known: the markers that may be named as the biggest that fits; None for all that are known.
        hand, x_height_mm, slant_deg, at, paper, landscape, margin_mm, credit, printer, language, guide_style:
            see :func:`guidegen.sheet`.
        proof: as there; usual is ``bar`` for several cards on a sheet and ``none`` for one.

    Raises:
        GuidegenError: as :func:`guidegen.sheet`; a name the hand cannot write; cards too small to write on.
    """
    lettering, warning = chosen_lettering(marker, hand, x_height_mm, slant_deg, at)
    given, source = names_of(names)
    check_names(lettering, given, source)
    look = look_of(guide_style)
    usual: Proof = "none" if up is None else "bar"
    setup = OnPaper(paper, landscape, margin_mm, proof, credit, printer, look, language).setup(usual)
    return Cards(lettering, given, up, setup, markers() if known is None else known, [warning])


def _largest_marker_words(name: str | None, own: Marker, known: Sequence[Marker]) -> str:
    """Return the line that names the biggest marker that fits, and whether it is bigger than the one asked for."""
    if name is None:
        return "largest marker   none of the known ones fits"
    found = next((tool for tool in known if tool.name == name), own)
    if name == own.name:
        return f"largest marker   {name}, the one asked for"
    way = "larger" if found.downstroke_mm > own.downstroke_mm else "smaller"
    return f"largest marker   {name}, {way} than {own.name}"


def _smallest_paper_words(paper: Paper | None) -> str:
    """Return the line that names the smallest paper that would do."""
    if paper is None:
        return "smallest paper   none of this family holds it"
    turned = " landscape" if paper.width_mm > paper.height_mm else ""
    return f"smallest paper   {paper.name}{turned}"
