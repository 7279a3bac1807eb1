"""The swatch page: strokes or letters drawn on it are measured from a scan or a photograph."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict
from typing import TYPE_CHECKING, Any

from guidegen.api.nouns import HandLike, MarkerLike, Slant, chosen_size, lettering_of, slants_of
from guidegen.api.nouns import hand as hand_of
from guidegen.api.nouns import marker as marker_of
from guidegen.api.page_setup import OnPaper, PaperLike, PrinterLike, look_of
from guidegen.api.pages import Pages
from guidegen.errors import GuidegenError, Plain, bad_input
from guidegen.geometry.path import Outline
from guidegen.hands.library import DEFAULT_HANDS
from guidegen.profiles.markers import DEFAULT_NIB_ANGLE_DEG, Tip
from guidegen.scene import Document
from guidegen.sheets.parts.frame import DEFAULT_MARGIN_MM, Proof
from guidegen.sheets.parts.phrases import ENGLISH
from guidegen.sheets.parts.swatch_block import WIDE_STROKES_MM

if TYPE_CHECKING:
    from guidegen.sheets.swatch import PlacedCell


class Swatch(Pages):
    """A swatch page; ``cells`` tells where its boxes lie."""

    def __init__(self, document: Document, cells: Sequence[PlacedCell], *, corrected: bool) -> None:
        super().__init__("swatch", document, corrected=corrected)
        self._cells = tuple(cells)

    @property
    def cells(self) -> tuple[PlacedCell, ...]:
        """The boxes: millimetres from the page's upper left corner, y down; ``marker`` from 0, ``page`` from 1."""
        return self._cells

    def as_dict(self) -> dict[str, Any]:
        """Return what :class:`Pages` tells, and ``cells``."""
        return {**super().as_dict(), "cells": [asdict(cell) for cell in self._cells]}


def swatch(
    marker: MarkerLike | None = None,
    *,
    tip: Tip | None = None,
    letters: bool = False,
    copies: int = 1,
    wide: bool | None = None,
    hand: HandLike | None = None,
    x_height_mm: float | None = None,
    slant_deg: Slant | None = None,
    nib_angle_deg: float | None = None,
    paper: PaperLike = "a4",
    landscape: bool = False,
    margin_mm: float = DEFAULT_MARGIN_MM,
    proof: Proof | None = None,
    credit: str = "",
    printer: PrinterLike | None = None,
    language: str = ENGLISH,
    guide_style: str = "fine",
) -> Swatch:
    """Make a page to draw a marker's strokes on, or to write ``e`` on, whose scan or photograph is then measured.

    Args:
        marker: whose tip and, for letters, right size it is for; None for a marker that is not known yet.
        tip: the tip of a marker that is not known yet; None for brush.
        letters: boxes to write one ``e`` in each, between lines at the right size, for ``check``.
        copies: 1 to 4 markers on one page.
        wide: few and wide boxes, for strokes of 7 mm and more; None for what the marker's widths ask for.
        hand: whose slant the strokes have; None for the usual one of the tip.
        x_height_mm: letters: the size in place of the marker's right one.
        slant_deg: from the baseline, in place of the hand's; not of a broad tip's strokes, which its nib angle turns.
        nib_angle_deg: a broad tip's strokes: how its edge is held; None for the marker's, else 40.
        paper, landscape, margin_mm, proof, credit, printer, language, guide_style: see :func:`sheet`.

    Raises:
        GuidegenError: a paper too small (the smallest that would do is named), letters without a size, or what such a
            page has no use for.
    """
    from guidegen.sheets.swatch import swatch_sheet

    known = None if marker is None else marker_of(marker)
    if known is not None and tip not in (None, known.tip):
        raise bad_input("`tip`", "", tip, f"the tip of {known.name}, which is {known.tip}", "leave it out")
    kind: Tip = known.tip if known else tip or "brush"
    style = hand_of(hand if hand is not None else DEFAULT_HANDS[kind], slant_deg=slant_deg)
    setup = OnPaper(paper, landscape, margin_mm, proof, credit, printer, look_of(guide_style), language).setup()
    corrected = setup.printer is not None
    if x_height_mm is not None and not letters:
        raise bad_input("`x_height_mm`", "", x_height_mm, "a page of letters", "add `letters`, or leave it out")
    if nib_angle_deg is not None and (kind != "broad" or letters):
        raise bad_input("`nib_angle_deg`", "", nib_angle_deg, "a page of a broad tip's strokes", "leave it out")
    if slant_deg is not None and kind == "broad" and not letters:
        fix = "leave it out, or say `nib_angle_deg`"
        raise bad_input("`slant_deg`", "", slant_deg, "strokes that a slant turns; a broad tip's nib angle does", fix)
    slant = (slants_of(slant_deg) or (style.slant_deg,))[0]
    name = setup.say.label(known.label) if known and copies == 1 else ""
    if letters and wide:
        raise bad_input("`wide`", "", True, "no boxes for strokes: letters have their own", "leave it out")
    if letters:
        if marker is None and x_height_mm is None:
            raise bad_input("`x_height_mm`", "", Plain("nothing"), "the size to write", "name a marker or an x-height")
        height = x_height_mm or chosen_size(marker or "", hand, None, slant_deg, "right")[0].x_height_mm
        shown = _written_e(marker, hand, height, slant_deg)
        made, cells = swatch_sheet(
            setup, "letters", copies=copies, slants_deg=(slant, slant), x_height_mm=height, marker_label=name,
            letter_ink=shown,
        )  # fmt: skip
        return Swatch(made, cells, corrected=corrected)
    slants = (slant, slant)
    if kind == "broad":
        own = known.nib_angle_deg if known else None
        angle = next(a for a in (nib_angle_deg, own, DEFAULT_NIB_ANGLE_DEG) if a is not None)
        slants = (angle + 90.0, angle)
    if wide is None:
        wide = copies == 1 and known is not None and known.downstroke_mm >= WIDE_STROKES_MM
    made, cells = swatch_sheet(setup, kind, copies=copies, slants_deg=slants, wide=wide, marker_label=name)
    return Swatch(made, cells, corrected=corrected)


def _written_e(
    marker: MarkerLike | None, hand: HandLike | None, x_height_mm: float, slant_deg: Slant | None
) -> Outline:
    """Return the outline of the ``e`` that the page asks for; none for a marker that is unknown or cannot write it."""
    from guidegen.lettering.letters import SAMPLE_LETTER, ink, letter

    if marker is None:
        return ()
    try:
        lettering = lettering_of(marker, hand=hand, x_height_mm=x_height_mm, slant_deg=slant_deg)
        return ink([letter(lettering, SAMPLE_LETTER)])
    except GuidegenError:
        return ()
