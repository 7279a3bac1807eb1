"""Pages of guides and letters: for one marker, for a class, for a tablet, for a marker nobody has measured."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from guidegen.api.nouns import (
    HandLike,
    MarkerLike,
    Slant,
    chosen_lettering,
    chosen_size,
    several,
    slants_of,
)
from guidegen.api.nouns import marker as named_marker
from guidegen.api.nouns import markers as known_markers
from guidegen.api.page_setup import OnPaper, PaperLike, PrinterLike, look_of
from guidegen.api.pages import Pages, bound
from guidegen.errors import Plain, bad_input
from guidegen.hands.library import load_paper
from guidegen.lettering.lettering import Lettering
from guidegen.lettering.sizing import At
from guidegen.limits import MAX_MADE_PAGES
from guidegen.profiles.papers import CUSTOM_FAMILY, Paper
from guidegen.sheets.parts.frame import DEFAULT_MARGIN_MM, Proof, Setup
from guidegen.sheets.parts.phrases import ENGLISH
from guidegen.units import MM_PER_INCH

if TYPE_CHECKING:
    from guidegen.sheets.families import Order

_LETTER_PAPERS = ("a6", "a5")
SCREEN_PPI = 264.0
SCREEN_PX = (1620, 2160)


def sheet(
    marker: MarkerLike | Sequence[MarkerLike],
    *,
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
    model: bool = True,
    strokes: bool = True,
    row_count: int | None = None,
    row_gap_mm: float | None = None,
    left_handed: bool = False,
) -> Pages:
    """Make a guideline sheet: rows of four lines at the marker's right size, to print at 100 %.

    Args:
        marker: a marker, the name or path of its profile, or a lettering; of several each has a page.
        hand: the hand (style of lettering); None for the usual one of the tip.
        x_height_mm: the size in place of the right one.
        slant_deg: from the baseline, in place of the hand's; of several each is drawn.
        at: ``smallest``, ``right`` or ``largest`` of the marker's band; beginners do best with the largest.
        paper: a name such as ``a4`` or ``letter``, a size such as ``210x297mm``, or a paper.
        landscape: turn the paper on its side.
        margin_mm: white on every side.
        proof: marks that show a print is true to scale: ``bar`` (usual), ``full`` or ``none``.
        credit: a line of your own at the foot.
        printer: what two 100 mm bars measured on a print, across the printer and down, such as ``98.6x99.1``, or
            the name that was kept under: the page is laid out so that the print comes true. Paper enters with its
            short edge first, and pages that lie are turned; ``98.6x99.1 long`` is for paper that enters otherwise.
        language: of the words on the page: ``en``, ``de``, or the path of a file as in ``templates/words``.
        guide_style: how guide lines look: ``fine`` (black, never heavier than a third of the hairline), ``grey``,
            ``copy`` (black, and strong enough for a copy of a copy) or a colour as ``#rrggbb``. Print-shop files have
            them in black.
        slant_lines: draw slant lines.
        header: what marker and size this is, at the top; without it they stand in the footer.
        model: the sample letter on the first row.
        strokes: the sample strokes in the header.
        row_count: so many rows, spread over the page; None for as many as fit.
        row_gap_mm: white between rows; None for the hand's own, or to spread ``row_count`` rows.
        left_handed: the model stands at the right, and lines lean to the left as far as the hand leans to the right,
            unless a slant is given.

    Raises:
        GuidegenError: no such marker, hand, paper or printer; no row fits (the smallest paper that would do is named).
    """
    from guidegen.sheets.guides import guide_sheet
    from guidegen.sheets.parts.row_choice import Rows

    look = look_of(guide_style, slant_lines=slant_lines, header=header, model=model, strokes=strokes)
    setup = OnPaper(paper, landscape, margin_mm, proof, credit, printer, look, language).setup()
    rows = Rows(row_count, row_gap_mm, left_handed)

    def one(tool: MarkerLike) -> Pages:
        size, x_height, place = chosen_size(tool, hand, x_height_mm, slant_deg, at)
        made = guide_sheet(size, setup, x_height_mm=x_height, at=place, slants_deg=slants_of(slant_deg), rows=rows)
        return Pages(f"sheet-{size.marker.name}", made, corrected=setup.printer is not None)

    tools = several(marker)
    return bound(f"sheet-{_names_of(tools)}", [one(tool) for tool in tools])


def letter(
    marker: MarkerLike | Sequence[MarkerLike],
    char: str = "e",
    *,
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
    header: bool = True,
    strokes: bool = True,
) -> Pages:
    """Draw the sample letter at the right size on its guides, with what decides it measured beside it.

    Beside it stand the smallest and the largest size of the marker's band, so that one picture teaches the rule.

    Args:
        marker: a marker, the name or path of its profile, or a lettering; of several each has a page.
        char: the letter.
        paper: as there; None for the smallest of a6, a5 and a4 that shows the letter and the ends of its band.
        hand, x_height_mm, slant_deg, at, landscape, margin_mm, proof, credit, printer, language,
            guide_style, header, strokes: see :func:`sheet`.

    Raises:
        GuidegenError: as :func:`sheet`; the hand lacks the letter, or it does not fit.
    """
    from guidegen.sheets.parts.asked_text import describe, is_mark
    from guidegen.sheets.sample import sample_sheet, small_paper

    if len(char) != 1:
        raise bad_input("`char`", "", char, "one letter", "`guidegen write` writes words")
    if is_mark(char):
        raise bad_input("`char`", "", describe(char), "a letter, not an accent alone")
    look = look_of(guide_style, header=header, strokes=strokes)

    def on(paper: PaperLike, lying: bool) -> Setup:
        return OnPaper(paper, lying, margin_mm, proof, credit, printer, look, language).setup()

    suffix = "" if char == "e" else f"-u{ord(char):04x}"

    def one(tool: MarkerLike) -> Pages:
        size, x_height, place = chosen_size(tool, hand, x_height_mm, slant_deg, at)
        if paper is None:
            small = [on(name, True) for name in _LETTER_PAPERS] + ([] if landscape else [on("a4", False)])
            setup = small_paper(size, small, char=char, x_height_mm=x_height, at=place) or on("a4", landscape)
        else:
            setup = on(paper, landscape)
        made = sample_sheet(size, setup, char=char, x_height_mm=x_height, at=place)
        lean = size.hand.slant_deg
        name = f"letter-{size.marker.name}{suffix}"
        return Pages(name, made, corrected=setup.printer is not None, slant_deg=lean)

    tools = several(marker)
    return bound(f"letter-{_names_of(tools)}{suffix}", [one(tool) for tool in tools])


def trial(
    from_mm: float = 3.0,
    to_mm: float | None = None,
    *,
    slant_deg: Slant | None = None,
    paper: PaperLike = "a4",
    landscape: bool = False,
    margin_mm: float = DEFAULT_MARGIN_MM,
    proof: Proof | None = None,
    credit: str = "",
    printer: PrinterLike | None = None,
    language: str = ENGLISH,
    guide_style: str = "fine",
) -> Pages:
    """Make a page to find a new marker's size by hand: numbered rows of rising x-height and a comb of bars.

    Args:
        from_mm: the smallest x-height.
        to_mm: the largest; usual is 30 mm, or the largest that the paper holds.
        slant_deg: draw slant lines, from the baseline.
        paper, landscape, margin_mm, credit, printer, language, guide_style: see
            :func:`sheet`.
        proof: as there; usual is ``full``.

    Raises:
        GuidegenError: sizes that are none, or a paper too small for the largest row.
    """
    from guidegen.sheets.trial import trial_sheet

    look = look_of(guide_style)
    setup = OnPaper(paper, landscape, margin_mm, proof, credit, printer, look, language).setup("full")
    made = trial_sheet(setup, from_mm=from_mm, to_mm=to_mm, slants_deg=slants_of(slant_deg))
    return Pages("trial", made, corrected=setup.printer is not None)


def handout(
    markers: MarkerLike | Sequence[MarkerLike] | None = None,
    *,
    title: str | None = None,
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
) -> Pages:
    """Make a class handout: every marker's strokes, model letters, figures and guides at true size.

    Args:
        markers: the markers, as :func:`sheet` takes one; None for all that are known.
        title: at the top of the first page; None for the usual one.
        hand, x_height_mm, slant_deg, at, paper, landscape, margin_mm, credit, printer, language, guide_style,
            slant_lines: see :func:`sheet`.
        proof: as there; usual is ``full``, on the first page.

    Raises:
        GuidegenError: as :func:`sheet`.
    """
    from guidegen.sheets.handout import handout as handout_pages

    tools = known_markers() if markers is None else markers
    chosen, warnings = _letterings(tools, hand, x_height_mm, slant_deg, at)
    look = look_of(guide_style, slant_lines=slant_lines)
    setup = OnPaper(paper, landscape, margin_mm, proof, credit, printer, look, language).setup("full")
    made = handout_pages(chosen, setup, title)
    return Pages("handout", made, warnings, corrected=setup.printer is not None)


def compare(
    markers: MarkerLike | Sequence[MarkerLike],
    text: str = "tide",
    *,
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
) -> Pages:
    """Write one word in every marker at one size, and again each at its right size.

    Args:
        markers: the markers, as :func:`sheet` takes one.
        text: the word.
        x_height_mm: the one size; None for that of the marker in the middle.
        hand, slant_deg, at, paper, landscape, margin_mm, proof, credit, printer, language, guide_style: see
            :func:`sheet`.

    Raises:
        GuidegenError: as :func:`sheet`; a word that cannot be written or is too wide.
    """
    from guidegen.lettering.text import check_characters
    from guidegen.sheets.compare import compare as comparison
    from guidegen.sheets.parts.asked_text import one_text

    word = one_text(text, "`text`")
    chosen, warnings = _letterings(markers, hand, None, slant_deg, at)
    for one in chosen:
        check_characters(one.hand, word)
    look = look_of(guide_style)
    setup = OnPaper(paper, landscape, margin_mm, proof, credit, printer, look, language).setup()
    made = comparison(chosen, setup, word, x_height_mm)
    return Pages("compare", made, warnings, corrected=setup.printer is not None)


def planner(
    markers: MarkerLike | Sequence[MarkerLike],
    *,
    size_px: tuple[int, int] = SCREEN_PX,
    ppi: float = SCREEN_PPI,
    theme: str = "light",
    letters: str | None = None,
    title: str | None = None,
    hand: HandLike | None = None,
    x_height_mm: float | None = None,
    slant_deg: Slant | None = None,
    at: At = "right",
    margin_mm: float = 10.0,
    credit: str = "",
    language: str = ENGLISH,
    guide_style: str = "fine",
    slant_lines: bool = True,
) -> Pages:
    """Make pages for a digital planner: an index and linked guide pages, at exactly the pixels of a screen.

    Args:
        markers: the markers, as :func:`sheet` takes one.
        size_px: width and height of a page in pixels.
        ppi: pixels per inch of the screen.
        theme: the ground: ``light``, ``cream``, ``mint``, ``sky``, ``rose``, ``dark``, ``night``, ``pine``, ``plum``,
            or a colour such as ``#f6edd9``.
        letters: a page for each of these letters too, such as ``a-e``.
        title: on the index page; None for the usual one.
        hand, x_height_mm, slant_deg, at, margin_mm, credit, language, guide_style,
            slant_lines: see :func:`sheet`.

    Raises:
        GuidegenError: as :func:`sheet`; a letter the hand lacks, or a page too small for a row or the index.
    """
    from guidegen.lettering.text import check_characters
    from guidegen.sheets.parts.asked_text import letters_of
    from guidegen.sheets.planner import planner as planner_pages

    chosen, warnings = _letterings(markers, hand, x_height_mm, slant_deg, at)
    wanted = () if letters is None else letters_of(letters, "`letters`")
    pages = 1 + len(chosen) * (1 + len(wanted))
    if pages > MAX_MADE_PAGES:
        fix = "make one for some of the letters or markers"
        raise bad_input("planner", "", Plain(f"{pages} pages"), f"at most {MAX_MADE_PAGES}", fix)
    if wanted:
        for one in chosen:
            check_characters(one.hand, "".join(wanted))
    larger = tuple(_screen((round(size_px[0] * step / 8), round(size_px[1] * step / 8)), ppi) for step in range(9, 65))
    look = look_of(guide_style, slant_lines=slant_lines)
    setup = Setup(_screen(size_px, ppi), margin_mm, "none", credit, papers=larger, look=look, language=language)
    made = planner_pages(chosen, setup, wanted, theme=theme, title=title)
    return Pages(f"planner-{'-'.join(one.marker.name for one in chosen)}", made, warnings, ppi=ppi)


def specimen(
    marker: MarkerLike, *, others: Sequence[MarkerLike] = (), paper: PaperLike = "a4", language: str = ENGLISH
) -> Pages:
    """Show a hand in full, in one marker's ink: strokes, letters, figures, a paragraph.

    Args:
        marker: the marker that writes it, or a lettering.
        others: markers of which each writes one word at the end.
        paper, language: see :func:`sheet`.

    Raises:
        GuidegenError: a hand of guides only, or a paper too small.
    """
    from guidegen.sheets.specimen import specimen_sheet

    size, _, _ = chosen_size(marker, None, None, None, "right")
    shown = [chosen_size(one, size.hand, None, None, "right")[0] for one in others]
    made = specimen_sheet(size, replace(OnPaper(paper, language=language).setup(), papers=()), others=shown)
    return Pages(f"specimen-{size.hand.name}", made)


def alphabet(
    marker: MarkerLike | Sequence[MarkerLike],
    *,
    order: Order = "abc",
    guides: bool = True,
    text: str | None = None,
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
) -> Pages:
    """Make a model of a hand in a marker's own ink: basic strokes, letters, figures, signs.

    Args:
        marker: a marker, the name or path of its profile, or a lettering; of several each has pages of its own.
        order: the letters from a to z (``abc``) or by ``family``: i u t ..., n m ..., a d g q, ...
        guides: draw the guide lines of every row.
        text: running text at the end, None for none.
        hand, x_height_mm, slant_deg, at, paper, landscape, margin_mm, proof, credit, printer, language,
            guide_style: see :func:`sheet`.

    Raises:
        GuidegenError: as :func:`sheet`; a hand of guides only, or text that it cannot write.
    """
    from guidegen.sheets.families import check_order
    from guidegen.sheets.parts.asked_text import one_text
    from guidegen.sheets.parts.words import check_text
    from guidegen.sheets.specimen import specimen_sheet

    check_order(order)
    paragraph = "" if text is None else one_text(text, "`text`")
    chosen, warnings = _letterings(marker, hand, x_height_mm, slant_deg, at)
    setup = OnPaper(paper, landscape, margin_mm, proof, credit, printer, look_of(guide_style), language).setup()
    parts = []
    for lettering, warning in zip(chosen, warnings, strict=True):
        check_text(lettering, paragraph)
        size, _, _ = chosen_size(lettering, None, None, None, "right")
        at_size = lettering.x_height_mm
        made = specimen_sheet(size, setup, x_height_mm=at_size, paragraph=paragraph, order=order, guides=guides)
        name = f"alphabet-{lettering.marker.name}"
        parts.append(Pages(name, made, [warning], corrected=setup.printer is not None))
    return bound(f"alphabet-{_names_of(chosen)}", parts)


def _names_of(markers: Sequence[MarkerLike]) -> str:
    return "-".join(named_marker(one).name for one in markers)


def _letterings(
    markers: MarkerLike | Sequence[MarkerLike],
    hand: HandLike | None,
    x_height_mm: float | None,
    slant_deg: Slant | None,
    at: At,
) -> tuple[list[Lettering], list[str]]:
    """Return the letterings of all markers, and the warnings about their sizes."""
    made = [chosen_lettering(one, hand, x_height_mm, slant_deg, at) for one in several(markers)]
    return [lettering for lettering, _ in made], [warning for _, warning in made]


def _screen(size_px: tuple[int, int], ppi: float) -> Paper:
    """Return a screen as a paper, called by its pixels."""
    width, height = (side / ppi * MM_PER_INCH for side in size_px)
    load_paper(f"{width:.6f}x{height:.6f}mm", "`size_px`")  # refuses what is no page
    name = f"`size_px` {size_px[0]}x{size_px[1]}"
    return Paper(name, f"{size_px[0]} × {size_px[1]} pixels", width, height, CUSTOM_FAMILY, inches=False)
