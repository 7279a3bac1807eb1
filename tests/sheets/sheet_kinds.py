"""Every kind of sheet, made for any marker, paper and writing hand, with what has to stand on it.

Sizes are given and not solved for, so that hundreds of pages are quick.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import pytest
import read_back
import svg_pages
from lettered import lettering
from page_checks import MARKERS, a_size, setup

from guidegen.errors import GuidegenError
from guidegen.scene import Document
from guidegen.sheets.cards import card_sheets
from guidegen.sheets.compare import compare
from guidegen.sheets.guides import guide_sheet
from guidegen.sheets.handout import handout
from guidegen.sheets.name_set import plan_set
from guidegen.sheets.parts import rows
from guidegen.sheets.plan import Piece, envelope_box, layout_sheet, plan
from guidegen.sheets.planner import planner
from guidegen.sheets.practice import Practice
from guidegen.sheets.sample import sample_sheet
from guidegen.sheets.trial import rising_x_heights_mm, trial_sheet
from guidegen.sheets.worksheet import Dress, worksheet
from guidegen.sheets.write import written_text

PAPERS = ("a4", "letter", "a5", "a3", "legal")
TEXT = "the boats come in with the tide"
NAMES = ("Anna", "Marit", "Leif", "Solveig", "Per")
LETTERS = ("a", "d")


@dataclass(frozen=True)
class Made:
    """A sheet and what has to stand on it.

    ``texts`` are the written rows in order: x-height, and the titles from left to right; a text that
    may take several rows is given as one. ``heights`` are what a row may measure: x-height, ascender, descender.
    """

    document: Document
    texts: list
    heights: list
    slants: list
    layers: tuple = ("ink", "trace", "letter")
    margin: float = 12.0
    joined: bool = False
    cut: bool = False


@dataclass(frozen=True)
class Kind:
    make: Callable
    left_handed: bool = False
    by_marker: bool = True


def heights_of(one):
    row = rows.heights_of(one)
    return row.x_height_mm, row.ascender_mm, row.descender_mm


def made(document, one, titles, **more):
    return Made(document, [(one.x_height_mm, row) for row in titles], [heights_of(one)], [one.hand.slant_deg], **more)


def sheet(marker, here, _left):
    size, one = a_size(marker), lettering(marker)
    return made(guide_sheet(size, here), one, [["e"]])


def letter(marker, here, _left):
    size, one = a_size(marker, factor=4.0), lettering(marker, factor=4.0)
    document = sample_sheet(size, here)
    layers = ("letter", "letter-smallest", "letter-largest")
    left_out = [note.split(" (")[0].replace(" ", "-") for note in document.notes]
    named = dict(zip(layers, (size.x_height_mm, size.smallest_x_height_mm, size.largest_x_height_mm), strict=True))
    ones = [one.at(x) for name, x in named.items() if name not in left_out]
    texts = [(at.x_height_mm, ["e"]) for at in ones]
    return Made(document, texts, [heights_of(at) for at in ones], [one.hand.slant_deg], layers)


def trial(_marker, here, _left):
    document = trial_sheet(here, to_mm=20.0, slants_deg=(65.0, 90.0))
    return Made(document, [], [(x, 2 * x, x) for x in rising_x_heights_mm(3.0, 20.0)], [65.0, 90.0])


def handed_out(marker, here, _left):
    one = lettering(marker)
    return made(handout([one], here), one, [["e", "d", "tide"]])


def whole_class(_marker, here, _left):
    ones = [lettering(name) for name in MARKERS if name != "boulder"]
    ordered = sorted(ones, key=lambda one: one.x_height_mm)
    texts = [(one.x_height_mm, ["e", "d", "tide"]) for one in ordered]
    slants = sorted({one.hand.slant_deg for one in ones})
    return Made(handout(ones, here), texts, [heights_of(one) for one in ones], slants)


def compared(marker, here, _left):
    one = lettering(marker)
    at = one.at(0.7 * one.x_height_mm)
    texts = [(at.x_height_mm, ["tide"]), (one.x_height_mm, ["tide"])]
    return Made(compare([one], here, x_height_mm=at.x_height_mm), texts, with_and_without_descender(at, one), [])


def compared_all(_marker, here, _left):
    ones = sorted((lettering(name) for name in MARKERS), key=lambda one: (one.marker.downstroke_mm, one.marker.name))
    same = [one.at(8.0) for one in ones]
    texts = [(one.x_height_mm, ["tide"]) for one in (*same, *ones)]
    return Made(compare(ones, here, x_height_mm=8.0), texts, with_and_without_descender(*same, *ones), [])


def with_and_without_descender(*letterings):
    """The lines of rows that leave the descender line out where a page holds more so and nothing reaches down."""
    whole = [heights_of(one) for one in letterings]
    return [*whole, *((x, up, 0.0) for x, up, _ in whole)]


def practised(marker, here, left):
    one = lettering(marker)
    practice = Practice(one, ("tide",), arrows=True, left_handed=left)
    document = worksheet([practice], here, Dress(title="High tide", note="Slowly, please.", binding_mm=8.0))
    return made(document, one, [["tide"]] * 4, cut=bool(document.notes))


def letters(marker, here, left):
    one = lettering(marker)
    practice = Practice(one, LETTERS, ("solid", "dotted", "copy", "memory"), None, arrows=True, left_handed=left)
    document = worksheet([practice], here)
    return made(document, one, [[char] for char in LETTERS for _ in range(3)])


def named(marker, here, left):
    one = lettering(marker)
    practice = Practice(one, ("tide",), by_letter=True, left_handed=left)
    document = worksheet([practice], here, Dress(title="tide"))
    return made(document, one, [["tide"]] * 4, joined=True, cut=bool(document.notes))


def wrote(marker, here, _left):
    one = lettering(marker)
    return made(written_text(one, [TEXT], here, guides=True, align="center"), one, [[TEXT]])


def planned(marker, here, _left):
    one = lettering(marker)
    piece = Piece(one, (TEXT,), "center")
    found = plan(piece, here)
    _refuse(found)
    return made(layout_sheet(found, piece, here), one, [[TEXT]])


def _refuse(found):
    """A plan that does not fit is no error: its own words are turned into one."""
    if not found.fits:
        paper = found.smallest_paper
        lying = " --landscape" if paper.width_mm > paper.height_mm else " --upright"
        raise GuidegenError(f"the smallest paper that would do is {paper.name}{lying}")


def enveloped(marker, here, _left):
    one = lettering(marker)
    piece = Piece(one, ("north quay",))
    found = plan(piece, here, (), envelope_box)
    _refuse(found)
    return made(layout_sheet(found, piece, here, envelope=True), one, [["north quay"]])


def carded(marker, here, _left):
    from guidegen.sheets.cards import card_box

    one = lettering(marker)
    found = plan_set(one, NAMES, card_box(here, 4), 0.1)
    at = one.at(found.x_height_mm)
    return made(card_sheets(at, NAMES, here, 4), at, [[name] for name in NAMES])


def planning(marker, here, _left):
    one = lettering(marker)
    document = planner([one], here, LETTERS)
    rows = [["e"], *([char] for char in LETTERS for _ in range(3))]
    return made(document, one, rows)


KINDS = {
    "sheet": Kind(sheet),
    "letter": Kind(letter),
    "trial": Kind(trial, by_marker=False),
    "handout": Kind(handed_out),
    "class": Kind(whole_class, by_marker=False),
    "compare": Kind(compared),
    "compare-all": Kind(compared_all, by_marker=False),
    "worksheet": Kind(practised, left_handed=True),
    "letters": Kind(letters, left_handed=True),
    "names": Kind(named, left_handed=True),
    "write": Kind(wrote),
    "plan": Kind(planned),
    "envelope": Kind(enveloped),
    "cards": Kind(carded),
    "planner": Kind(planning),
}


def on_paper(paper, landscape, kind):
    proof = {"planner": "none", "class": "full", "trial": "full"}.get(kind, "bar")
    return setup(paper, landscape=landscape, proof=proof, credit="" if kind == "planner" else "Harbour class")


def make(kind, marker, paper, landscape, left_handed=False):
    """Return the sheet, or None where it does not fit the paper and the error names one on which it does."""
    here = on_paper(paper, landscape, kind)
    try:
        return KINDS[kind].make(marker, here, left_handed)
    except GuidegenError as error:
        words = str(error)
    assert "\n" not in words
    if "the smallest paper that would do is" not in words:
        assert kind in ("cards", "envelope"), words
        return None
    name = words.split("the smallest paper that would do is ")[1].split(",", maxsplit=1)[0].split(" ", maxsplit=1)[0]
    lying = "landscape" in words or (landscape and "upright" not in words)
    assert KINDS[kind].make(marker, on_paper(name, lying, kind), left_handed).document.pages
    return None


def check_svg(kind, sheet):
    """Check a sheet in its SVG; return the least gap between the marks of the stroke order and anything else, in mm."""
    sheets = [svg_pages.read(data) for data in read_back.svg_files(sheet.document)]
    gaps = [1.0]
    for page in sheets:
        svg_pages.assert_tidy(page, sheet.margin)
        read_back.assert_proof_apart(page)
        gaps.append(read_back.least_gap_of_marks(page) or 1.0)
    assert min(gaps) > 0.1
    rows = read_back.rows_of(sheets, sheet.layers)
    read_back.assert_rows_true(rows, sheet.heights)
    read_back.assert_slants_true(sheets, sheet.slants)
    if not sheet.joined:
        read_back.assert_texts_apart(rows)
    assert_texts(kind, sheet, rows)
    return min(gaps)


def assert_texts(kind, sheet, rows):
    """All text is there once a row, in order, at its size."""
    written = [row for row in rows if row.marks]
    sizes = [row.lines["x-height"] - row.lines["baseline"] for row in written]
    titles = [("".join(row.titles),) if sheet.joined else tuple(row.titles) for row in written]
    if kind in ("write", "plan", "envelope"):
        ((_, (text,)),) = sheet.texts
        assert all(len(row) == 1 for row in titles)
        assert " ".join(row[0] for row in titles) == text
    elif kind == "letters":
        assert [(set(row)) for row in titles] == [set(row) for _, row in sheet.texts]
    elif kind in ("worksheet", "names") and sheet.cut:  # no row holds the word: it was cut, the pieces go on in order
        pieces = list(dict.fromkeys(row for (row,) in titles))
        assert "".join(pieces) == "tide"
        assert [row for (row,) in titles] == [piece for piece in pieces for _ in range(4)]
    elif kind in ("handout", "class"):
        flat = [title for row in titles for title in row]
        wanted = [title for _, row in sheet.texts for title in row]
        short = (["e"], ["e", "d"], ["e", "d", "sea"], ["e", "d", "on"])  # a marker too large for more on this paper
        assert flat == wanted or (kind == "handout" and flat in short)
    elif kind == "planner":
        shown = [row[0].split(", stroke")[0] for row in titles]  # a letter may be shown stroke by stroke
        assert shown == _as_many(sheet, titles)
    else:
        assert titles == [tuple(row) for _, row in sheet.texts]
    if len(sizes) == len(sheet.texts):
        assert sizes == [pytest.approx(x, abs=0.0021) for x, _ in sheet.texts]


def _as_many(sheet, titles):
    """A planner's letter page has as many forms of its letter as rows before the last, at most three."""
    wanted = [row[0] for _, row in sheet.texts]
    if len(titles) == len(wanted):
        return wanted
    each = (len(titles) - 1) // len(LETTERS)
    assert each >= 1
    return ["e", *(char for char in LETTERS for _ in range(each))]
