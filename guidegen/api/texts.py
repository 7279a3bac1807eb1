"""A text in a marker's hand: as ink, or as rows to practise it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

from guidegen.api.nouns import (
    HandLike,
    MarkerLike,
    Missing,
    Slant,
    chosen_lettering,
    several,
    slants_of,
)
from guidegen.api.page_setup import OnPaper, PaperLike, PrinterLike, look_of
from guidegen.api.pages import FilePath, NamePages, Pages
from guidegen.api.words import check_names, lines_of, names_of
from guidegen.errors import GuidegenError, bad_input, did_you_mean
from guidegen.lettering.lettering import Lettering
from guidegen.lettering.sizing import At
from guidegen.lettering.text import Align
from guidegen.sheets.families import Order, check_order, in_order
from guidegen.sheets.parts.asked_text import letters_of
from guidegen.sheets.parts.frame import DEFAULT_MARGIN_MM, Proof
from guidegen.sheets.parts.phrases import ENGLISH
from guidegen.sheets.parts.row_choice import Rows
from guidegen.sheets.parts.schemes import RowKind
from guidegen.sheets.parts.words import check_text
from guidegen.sheets.practice import Practice


def write(
    marker: MarkerLike,
    text: str | Sequence[str],
    *,
    align: Align = "left",
    guides: bool = False,
    missing: Missing = "error",
    hand: HandLike | None = None,
    x_height_mm: float | None = None,
    slant_deg: Slant | None = None,
    at: At = "right",
    paper: PaperLike | None = None,
    landscape: bool = False,
    margin_mm: float = DEFAULT_MARGIN_MM,
    proof: Proof | None = None,
    credit: str = "",
    printer: PrinterLike | None = None,
    language: str = ENGLISH,
    guide_style: str = "fine",
    slant_lines: bool = True,
) -> Pages:
    """Write a text as ink outlines at the marker's right size.

    Args:
        marker: a marker, the name or path of its profile, or a lettering.
        text: what to write; each text of several, and each line break in one, begins a new line.
        align: ``left``, ``center`` or ``right``.
        guides: draw the guide lines too.
        missing: a character the hand lacks is an ``error``, or an open ``box``.
        hand, x_height_mm, slant_deg, at, landscape, margin_mm, credit, printer, language, guide_style,
            slant_lines: see :func:`guidegen.sheet`.
        paper: as there, on which long lines are broken evenly; None for a page as large as the ink and its margin.
        proof: as there; usual is ``none``.

    Raises:
        GuidegenError: as :func:`guidegen.sheet`; a character the hand lacks, or a text that does not fit.
    """
    from guidegen.sheets.write import written_text

    chosen, warning = chosen_lettering(marker, hand, x_height_mm, slant_deg, at, missing)
    lines = lines_of(text)
    check_text(chosen, "".join(lines))
    own_page = paper is None and not landscape
    look = look_of(guide_style, slant_lines=slant_lines)
    on = OnPaper("a4" if paper is None else paper, landscape, margin_mm, proof, credit, printer, look, language)
    setup = on.setup("none")
    made = written_text(
        chosen,
        lines,
        None if own_page else setup,
        margin_mm=margin_mm,
        align=align,
        guides=guides,
        proof=setup.proof != "none",
        printer=setup.printer,
        language=language,
    )
    name, slant = f"write-{chosen.marker.name}", chosen.hand.slant_deg
    return Pages(name, made, [warning], corrected=setup.printer is not None, slant_deg=slant)


def worksheet(
    markers: MarkerLike | Sequence[MarkerLike],
    text: str | Sequence[str] | None = None,
    *,
    letters: str | None = None,
    order: Order = "abc",
    drills: str | None = None,
    names: FilePath | Sequence[str] | None = None,
    rows: str | None = None,
    row_gap_mm: float | None = None,
    repeats: int | Literal["fill"] | None = None,
    arrows: bool | None = None,
    left_handed: bool = False,
    tint: float | None = None,
    title: str = "",
    note: str = "",
    name_line: bool = True,
    binding_mm: float = 0.0,
    missing: Missing = "error",
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
    header: bool = True,
) -> Pages:
    """Make practice rows that fade from a model to the learner's own hand: of a text, letters, strokes or names.

    Args:
        markers: one or several, as :func:`guidegen.sheet` takes one; each has pages of its own.
        text: the lines to practise. Give this, or one of the three that follow.
        letters: letters to practise, such as ``a-z``, ``aeo`` or ``A-F,a-f``.
        order: of the letters: as given (``abc``), or by ``family``, those that begin alike together.
        drills: basic strokes: ``all``, or names with commas between.
        names: a sheet for each: names, or a file with one a line.
        rows: the forms of the rows in order, with commas between: solid, hollow, dotted, starts, blank, copy, memory.
        row_gap_mm: white between rows; None for the hand's own. The words above a row have their room at any rate.
        repeats: how often the text stands in a row; None or ``fill`` for as often as fits.
        arrows: stroke numbers and arrows; None for letters and strokes only.
        left_handed: models on the right, name line and binding edge mirrored.
        tint: per cent of black in the rows to trace; None for full black, which a photocopy keeps.
        title: at the top, instead of the text.
        note: a small line under the title.
        name_line: a line for name and date.
        binding_mm: more white at the binding edge.
        missing: a character the hand lacks is an ``error``, or an open ``box``.
        hand, x_height_mm, slant_deg, at, paper, landscape, margin_mm, proof, credit, printer, language,
            guide_style, slant_lines: see :func:`guidegen.sheet`.
        header: title, marker and the line for name and date.

    Raises:
        GuidegenError: as :func:`guidegen.sheet`; none or several of the four; letters or strokes the hand lacks.
    """
    from guidegen.sheets.worksheet import Dress
    from guidegen.sheets.worksheet import worksheet as practice_sheets

    if sum(entry is not None for entry in (text, letters, drills, names)) != 1:
        raise bad_input(
            "worksheet", "", "none or several of them", "one of `text`, `letters`, `drills`, `names`"
        )
    check_order(order)
    people, source = ((), "") if names is None else names_of(names)
    gap = Rows(None, row_gap_mm).gap_mm
    practices, warnings = [], []
    for one in several(markers):
        lettering, warning = chosen_lettering(one, hand, x_height_mm, slant_deg, at, missing)
        warnings.append(warning)
        check_names(lettering, people, source)
        single = letters is not None or drills is not None
        often = "fill" if repeats is None else repeats
        practices.append(
            Practice(
                lettering,
                () if people else _practised(lettering, text, letters, drills, order),
                rows_of(rows, drills=drills is not None),
                None if often == "fill" else int(often),
                single if arrows is None else arrows,
                left_handed,
                None if tint is None else tint / 100,
                names is not None,
                rows is None,
                slants_deg=slants_of(slant_deg),
                row_gap_mm=gap,
            )
        )
    name = f"worksheet-{'-'.join(practice.lettering.marker.name for practice in practices)}"
    dress = Dress(title, note, name_line, binding_mm)
    look = look_of(guide_style, slant_lines=slant_lines, header=header)
    setup = OnPaper(paper, landscape, margin_mm, proof, credit, printer, look, language).setup()
    corrected = setup.printer is not None
    if people:
        from guidegen.sheets.name_sheets import NameSheets

        sheets = NameSheets(tuple(practices), setup, dress)
        return NamePages(name, sheets, people, warnings, corrected=corrected)
    return Pages(name, practice_sheets(practices, setup, dress), warnings, corrected=corrected)


def _practised(
    lettering: Lettering, text: str | Sequence[str] | None, letters: str | None, drills: str | None, order: Order
) -> tuple[str, ...]:
    """Return the texts, letters or basic strokes that have rows of their own."""
    from guidegen.sheets.parts.basic_strokes import drill_strokes
    from guidegen.sheets.parts.words import DRILL

    if drills is None:
        named = None if letters is None else letters_of(letters, "`letters`")
        practised = lines_of(text or ()) if named is None else in_order(lettering.hand, named, order)
        check_text(lettering, "".join(practised))
        return tuple(line for line in practised if line)
    known = drill_strokes(lettering.hand)
    if not known:
        style = lettering.hand.name
        raise GuidegenError(f"hand {style}: it has guides only, no strokes to practise; try another `hand`")
    names = known if drills == "all" else tuple(name.strip() for name in drills.split(","))
    for name in names:
        if name not in lettering.hand.strokes:
            fix = did_you_mean(name, known) or "known: " + ", ".join(known)
            raise bad_input("`drills`", "", name, f"a basic stroke of {lettering.hand.name}", fix)
    return tuple(DRILL + name for name in names)


def rows_of(text: str | None, *, drills: bool = False) -> tuple[RowKind, ...]:
    """Return the kinds of rows that ``text`` names; strokes are by default not written from memory.

    Raises:
        GuidegenError: for a kind that is none.
    """
    from guidegen.sheets.parts.schemes import DEFAULT_ROWS, DRILL_ROWS, ROW_KINDS

    if text is None:
        return DRILL_ROWS if drills else DEFAULT_ROWS
    known = {kind: kind for kind in ROW_KINDS}
    found = []
    for name in text.split(","):
        kind = known.get(name.strip().lower())  # type: ignore[call-overload]
        if kind is None:
            raise bad_input("`rows`", "", name, "some of " + ", ".join(ROW_KINDS), did_you_mean(name, ROW_KINDS))
        found.append(kind)
    if len(found) > 40:
        raise bad_input("`rows`", "", f"{len(found)} rows", "at most 40")
    return tuple(found)
