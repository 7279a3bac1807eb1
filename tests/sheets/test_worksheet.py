"""Worksheets read back from their SVG: rows, texts, guides, words, and that a photocopy keeps them."""

from __future__ import annotations

import io
from dataclasses import replace

import numpy as np
import pytest
import svg_pages
from lettered import lettering
from page_checks import MARKERS, setup
from PIL import Image

from guidegen.errors import GuidegenError
from guidegen.geometry.measure import area, bounds
from guidegen.geometry.shape.discs import along
from guidegen.geometry.stroke.radius_spans import width_at
from guidegen.scene import Document
from guidegen.sheets.parts.basic_strokes import drill_strokes
from guidegen.sheets.parts.forms import written
from guidegen.sheets.parts.phrases import phrases
from guidegen.sheets.parts.rows import heights_of
from guidegen.sheets.parts.schemes import DEFAULT_ROWS
from guidegen.sheets.parts.words import DRILL, from_line_to_line, ink_of, led_out, line_of
from guidegen.sheets.practice import Practice
from guidegen.sheets.worksheet import Dress, worksheet
from guidegen.writers import render

PAPERS = ("a4", "letter", "a5", "a3", "legal")
WITH_TEXT = ("solid", "hollow", "dotted", "copy")
WITH_TEXT_COUNT = len(WITH_TEXT)


def sheets_of(document: Document):
    return [svg_pages.read(data) for _, data in render(document, "svg")]


def text_by_row(sheets):
    """Return for each row, over all pages, the titles of what stands in it from left to right."""
    found = []
    for sheet in sheets:
        for _, lines in sorted(svg_pages.rows(sheet).items()):
            low, high = lines.get("descender", lines["baseline"]), lines["ascender"]
            inside = [mark for mark in sheet.texts("ink", "trace") if low < mark.middle.imag < high]
            found.append([mark.title for mark in sorted(inside, key=lambda mark: mark.low.real)])
    return found


def assert_guides(sheet, one, practice_slant):
    x, hand = one.x_height_mm, one.hand
    for lines in svg_pages.rows(sheet).values():
        base = lines["baseline"]
        assert lines["x-height"] == pytest.approx(base + x, abs=0.0011)
        assert lines["ascender"] == pytest.approx(base + hand.ascender * x, abs=0.0011)
        assert lines["descender"] == pytest.approx(base - hand.descender * x, abs=0.0011)
    for guide in sheet.guides:
        if guide.role == "slant":
            run = guide.end - guide.start
            angle = np.degrees(np.arctan2(run.imag, run.real)) % 180
            assert angle == pytest.approx(practice_slant, abs=0.2)


@pytest.mark.parametrize("left_handed", [False, True])
@pytest.mark.parametrize("landscape", [False, True])
@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("marker", MARKERS)
def test_every_page_reads_back(marker, paper, landscape, left_handed):
    one = lettering(marker)
    practice = Practice(one, ("tide",), left_handed=left_handed)
    try:
        document = worksheet([practice], setup(paper, landscape=landscape))
    except GuidegenError:
        with pytest.raises(GuidegenError, match="the smallest paper that would do is"):
            worksheet([practice], setup(paper, landscape=landscape))
        assert marker == "boulder"
        return
    sheets = sheets_of(document)
    assert len(sheets) == len(document.pages)
    for sheet in sheets:
        svg_pages.assert_tidy(sheet, 12.0)
        assert_guides(sheet, one, one.hand.slant_deg)
    found = text_by_row(sheets)
    if document.notes:  # the word was cut, for no row holds it
        assert (marker, paper) == ("boulder", "a5")
        assert "".join(title for row in found for title in row) == "".join(
            part * WITH_TEXT_COUNT for part in dict.fromkeys(title for row in found for title in row)
        )
        return
    kinds = list(DEFAULT_ROWS)
    if len(found) == len(kinds) + 1:  # too wide to copy beside: a row of its own below
        kinds.insert(kinds.index("copy") + 1, "below")
    assert len(found) == len(kinds)
    assert found == [["tide"] if kind in WITH_TEXT else [] for kind in kinds]
    middle = sheets[0].width / 2
    copies = [mark for sheet in sheets for mark in sheet.texts("ink")]
    if max(mark.high.real - mark.low.real for mark in copies) < 0.4 * sheets[0].width:
        assert all((mark.middle.real > middle) == left_handed for mark in copies)


@pytest.mark.parametrize("left_handed", [False, True])
def test_only_dots_stand_without_slant_lines(left_handed):
    practice = Practice(lettering("cobble"), ("a",), repeats=None, fill_page=True, left_handed=left_handed)
    (sheet,) = sheets_of(worksheet([practice], setup("a4")))
    slants = [guide for guide in sheet.guides if guide.role == "slant"]

    def crossed(mark) -> bool:
        return any(
            mark.low.real < (guide.start.real + guide.end.real) / 2 < mark.high.real
            and min(guide.start.imag, guide.end.imag) < mark.middle.imag < max(guide.start.imag, guide.end.imag)
            for guide in slants
        )

    first = next(lines for _, lines in sorted(svg_pages.rows(sheet).items()))
    row = [mark for mark in sheet.texts("ink", "trace") if first["descender"] < mark.middle.imag < first["ascender"]]
    row.sort(key=lambda mark: -mark.middle.real if left_handed else mark.middle.real)
    assert [crossed(row[0]), crossed(row[-1])] == [True, False]  # the model, and the last to follow by its dots


@pytest.mark.parametrize("marker", MARKERS)
def test_rings_on_the_ascender_line_keep_clear_of_the_words(marker):
    document = worksheet([Practice(lettering(marker), ("Bld",), rows=("starts",))], setup("a3"))
    (sheet,) = sheets_of(document)
    svg_pages.assert_tidy(sheet, 12.0)
    assert len(sheet.marks["trace"]) >= 3


def test_a_ring_stands_on_every_start_and_nowhere_else():
    one = lettering("flint")
    document = worksheet([Practice(one, ("tide",), rows=("starts",))], setup("a4"))
    sheet = sheets_of(document)[0]
    rings = [mark.middle for mark in sheet.marks["trace"]]
    base = svg_pages.rows(sheet)[1]["baseline"]
    left = min(z.real for z in rings) - min(stroke.path.start.real for stroke in line_of(one, "tide").strokes)
    starts = [stroke.path.start + complex(left, base) for stroke in line_of(one, "tide").strokes]
    for ring in rings:
        assert min(abs(ring - start) for start in starts) < 0.05
    diameter = sheet.marks["trace"][0].high.real - sheet.marks["trace"][0].low.real
    for start in starts:  # a start beside another one shares its ring rather than being drawn over it
        assert min(abs(ring - start) for ring in rings) < 1.2 * diameter


@pytest.mark.parametrize("marker", ["pebble", "flint", "slate"])
def test_long_text_wraps_at_words_and_keeps_every_one_in_order(marker):
    text = "the boats come in with the evening tide and lie along the harbour wall until the wind turns"
    document = worksheet([Practice(lettering(marker), (text,), rows=("solid", "hollow", "blank"))], setup("a4"))
    found = text_by_row(sheets_of(document))
    assert found[2::3] == [[]] * (len(found) // 3)
    for form in (0, 1):
        assert " ".join(title for row in found[form::3] for title in row) == text
    assert document.notes == ()


def test_a_word_that_no_row_holds_is_cut_without_a_hyphen_and_told():
    word = "lighthousekeepersdaughter"
    document = worksheet([Practice(lettering("cobble"), (word,), rows=("solid",))], setup("a5"))
    found = text_by_row(sheets_of(document))
    assert len(found) > 1
    assert "".join(title for row in found for title in row) == word
    assert word in document.notes[0]


def test_a_letter_wider_than_the_paper_is_an_error_that_names_a_paper():
    with pytest.raises(GuidegenError, match=r"'m'.*the smallest paper that would do is a\d"):
        worksheet([Practice(lettering("boulder"), ("m",))], setup("a7"))


@pytest.mark.parametrize("left_handed", [False, True])
@pytest.mark.parametrize("marker", MARKERS)
def test_letters_fill_the_row_in_columns(marker, left_handed):
    one = lettering(marker)
    practice = Practice(one, ("a", "d"), ("solid", "dotted"), None, True, left_handed)
    document = worksheet([practice], setup("a4"))
    sheets = sheets_of(document)
    for sheet in sheets:
        svg_pages.assert_tidy(sheet, 12.0)
    found = text_by_row(sheets)
    assert [set(row) for row in found] == [{"a"}, {"a"}, {"d"}, {"d"}]
    assert len(found[0]) == len(found[1]) >= 2


def test_a_number_of_repeats_is_kept_or_refused():
    one = lettering("pebble")
    rows = text_by_row(sheets_of(worksheet([Practice(one, ("ebb",), ("solid",), 3)], setup("a4"))))
    assert rows == [["ebb"] * 3]
    with pytest.raises(GuidegenError, match="`repeats`: found 40, expected at most"):
        worksheet([Practice(one, ("ebb",), ("solid",), 40)], setup("a4"))


@pytest.mark.parametrize("hand", ["joined", "italic", "print"])
def test_drills_are_the_basic_strokes_of_the_hand(hand):
    one = lettering({"joined": "pebble", "italic": "slate", "print": "flint"}[hand], hand)
    names = drill_strokes(one.hand)
    assert len(names) >= 4
    practice = Practice(one, tuple(DRILL + name for name in names), ("solid", "hollow"), None, True)
    sheets = sheets_of(worksheet([practice], setup("a4")))
    for sheet in sheets:
        svg_pages.assert_tidy(sheet, 12.0)
    assert [row[0] for row in text_by_row(sheets)] == [name for name in names for _ in range(2)]


def test_the_head_mirrors_for_left_handers_and_the_binding_edge_too():
    for left_handed in (False, True):
        practice = Practice(lettering("pebble"), ("tide",), left_handed=left_handed)
        sheet = sheets_of(worksheet([practice], setup("a4"), Dress(title="Tuesday", binding_mm=10.0)))[0]
        names = {mark.title: mark.middle.real for mark in sheet.texts("labels")}
        assert (names["Name"] > names["Tuesday"]) != left_handed
        left = min(guide.start.real for guide in sheet.guides if guide.role == "baseline")
        right = max(guide.end.real for guide in sheet.guides if guide.role == "baseline")
        assert left == pytest.approx(12.0 if left_handed else 22.0)
        assert right == pytest.approx(188.0 if left_handed else 198.0)


@pytest.mark.parametrize("left_handed", [False, True])
def test_the_footer_keeps_to_the_binding_edge_too(left_handed):
    practice = Practice(lettering("pebble"), ("tide",), left_handed=left_handed)
    sheet = sheets_of(worksheet([practice], setup("a4"), Dress(binding_mm=14.0)))[0]
    ends = [z for mark in sheet.marks["proof"] for z in (mark.low.real, mark.high.real)]
    ends += [end.real for guide in sheet.guides for end in (guide.start, guide.end)]  # the bar's ticks are lines too
    assert min(ends) >= (12.0 if left_handed else 26.0) - 0.15
    assert max(ends) <= (184.0 if left_handed else 198.0) + 0.15


@pytest.mark.parametrize("left_handed", [False, True])
@pytest.mark.parametrize("marker", MARKERS)
def test_the_letters_of_a_text_are_numbered_one_by_one_and_large_enough_to_read(marker, left_handed):
    one = lettering(marker)
    text = "high tide at seven"
    document = worksheet([Practice(one, (text,), arrows=True, left_handed=left_handed)], setup("a3"))
    sheets = sheets_of(document)
    shown = [mark for sheet in sheets for mark in sheet.texts("order")]
    read = [mark.title.split(",")[0] for sheet in sheets for mark in sorted_rows(sheet.texts("order"))]
    assert list(dict.fromkeys(read)) == list(dict.fromkeys(text.replace(" ", "")))
    steps = [mark.title for mark in shown if "stroke" in mark.title]
    assert len(set(steps)) == len(steps)  # a letter shown stroke by stroke has a picture a stroke
    digits = [mark for sheet in sheets for mark in sheet.texts("arrows")]
    strokes = sum(len(line_of(one, char).strokes) for char in set(text.replace(" ", "")))
    assert len(digits) == strokes
    assert {mark.title for mark in digits} <= {"1", "2", "3", "4"}  # each letter begins at 1
    assert all(mark.high.imag - mark.low.imag > 1.4 for mark in digits)  # type of 6 points or more
    rows = {mark.title for sheet in sheets for mark in sheet.texts("labels") if "How each" in mark.title}
    factor = {"How each letter goes": 1.0}.get(*rows) or float(next(iter(rows)).split(", ")[1].split()[0])
    assert factor * one.x_height_mm >= 11.0
    (low, high) = bounds(ink_of(one, "h"))
    tallest = max(mark.high.imag - mark.low.imag for mark in shown if mark.title[0] == "h")
    assert tallest == pytest.approx(factor * (high - low).imag, rel=0.02)
    for sheet in sheets:  # enlarged lines are no guides
        heights = {round(row["x-height"] - row["baseline"], 2) for row in svg_pages.rows(sheet).values()}
        assert heights <= {round(one.x_height_mm, 2)}


def sorted_rows(marks):
    """Marks as they are read: from the top row to the bottom one, each from left to right, by their own x-heights."""
    left = list(marks)
    found = []
    while left:
        top = max(left, key=lambda mark: mark.high.imag)
        row = [mark for mark in left if mark.high.imag > top.low.imag]
        found += sorted(row, key=lambda mark: mark.low.real)
        left = [mark for mark in left if mark not in row]
    return found


@pytest.mark.parametrize("rows", [("solid", "dotted", "starts", "copy"), ("starts",)])
@pytest.mark.parametrize("by_letter", [False, True])
@pytest.mark.parametrize("marker", ["pebble", "slate", "flint"])
def test_accents_on_capitals_keep_clear_of_the_words_above(marker, by_letter, rows):
    practice = Practice(lettering(marker), ("\u00c5se", "\u00c9va", "anna"), rows, arrows=True, by_letter=by_letter)
    sheets = sheets_of(worksheet([practice], setup("a3")))
    for sheet in sheets:
        svg_pages.assert_tidy(sheet, 12.0)
    if not by_letter:
        kept = [row for row in text_by_row(sheets) if row]
        assert kept == [[text] for text in practice.texts for kind in rows if kind in WITH_TEXT]


def test_white_before_a_new_page_becomes_a_row_to_write_in():
    """A model and the row below it come on the next page together; what is left of this one is not wasted."""
    one = lettering("cobble", factor=4.1)
    document = worksheet([Practice(one, ("high tide",), fill_page=True)], setup("a4"))
    sheets = sheets_of(document)
    assert len(sheets) == 2
    pitch = heights_of(one).row_mm + one.hand.row_gap * one.x_height_mm
    for sheet in sheets:
        assert min(row["descender"] for row in svg_pages.rows(sheet).values()) - 12 < pitch + 12


def test_several_markers_begin_pages_of_their_own():
    practices = [Practice(lettering(marker), ("wave",)) for marker in ("pebble", "flint")]
    document = worksheet(practices, setup("a4"))
    markers = [{layer.marker for layer in page.layers if layer.marker} for page in document.pages]
    assert markers[0] == {"pebble"}
    assert markers[-1] == {"flint"}


@pytest.mark.parametrize("form", ["hollow", "dotted", "starts"])
@pytest.mark.parametrize("marker", MARKERS)
def test_a_photocopy_keeps_every_form(marker, form):
    """Thresholded to one bit at 300 ppi, a form keeps its black within a fifth."""
    one = lettering(marker)
    paper = "a3" if marker == "boulder" else "a4"
    document = worksheet([Practice(one, ("tide",), rows=(form,))], setup(paper, proof="none"), Dress(name_line=False))
    only = [layer for layer in document.pages[0].layers if layer.id == "trace"]
    page = type(document.pages[0])(document.pages[0].width_mm, document.pages[0].height_mm, tuple(only))
    _, data = next(iter(render(Document((page,), ""), "png", ppi=300)))
    black = np.asarray(Image.open(io.BytesIO(data)).convert("L")) < 128
    shapes = written(one, "tide", form).items
    if form == "starts":
        truth = sum(np.pi * 2 * ((mark.high - mark.low).real / 2 - 0.1) * shape.style.stroke_mm
                    for shape, mark in zip(shapes, svg_pages.read(next(iter(render(Document((page,), ""), "svg")))[1])
                                           .marks["trace"], strict=True))  # fmt: skip
    else:
        truth = area(shapes[0].paths)
    assert black.sum() * (25.4 / 300) ** 2 == pytest.approx(truth, rel=0.2)


def test_guides_survive_a_photocopy():
    document = worksheet([Practice(lettering("pebble"), ("tide",))], setup("a4"))
    _, data = next(iter(render(document, "png", ppi=300)))
    black = np.asarray(Image.open(io.BytesIO(data)).convert("L")) < 160
    sheet = sheets_of(document)[0]
    for lines in svg_pages.rows(sheet).values():
        for role, y in lines.items():
            row = round((sheet.height - y) / 25.4 * 300)
            share = black[row - 2 : row + 3, 160:-160].any(axis=0).mean()
            # The x-height line is dashed where the hairline allows no heavier baseline.
            assert share > {"baseline": 0.9, "x-height": 0.6}.get(role, 0.4), role


def test_tint_prints_only_the_rows_to_trace_in_grey():
    practice = Practice(lettering("pebble"), ("tide",), tint=0.3)
    page = worksheet([practice], setup("a4")).pages[0]
    inks = {layer.id: {item.symbol.items[0].style.fill for item in layer.items if item.symbol.items[0].style.fill}
            for layer in page.layers if layer.id in ("ink", "trace")}  # fmt: skip
    assert [ink.rgb for ink in inks["ink"]] == [(0.0, 0.0, 0.0)]
    assert [ink.rgb for ink in inks["trace"]] == [(0.7, 0.7, 0.7)]


def test_a_printed_row_is_true_at_1200_dpi():
    """Rendered by pdfium, an independent reader: lines within 0.01 mm, ink within a pixel and its rounding."""
    import pypdfium2
    import pypdfium2.raw as pdfium

    one = lettering("flint")
    document = worksheet([Practice(one, ("tide",), rows=("solid",))], setup("a6", proof="none"), Dress(name_line=False))
    sheet = sheets_of(document)[0]
    _, data = next(iter(render(document, "pdf")))
    ppm = 1200 / 25.4
    size = round(105 * ppm), round(148 * ppm)
    source = pypdfium2.PdfDocument(data)
    bitmap = pypdfium2.PdfBitmap.new_native(*size, pdfium.FPDFBitmap_Gray)
    bitmap.fill_rect((255, 255, 255, 255), 0, 0, *size)
    pdfium.FPDF_RenderPageBitmap(bitmap, source[0], 0, 0, *size, 0, 0)
    dark = 1 - np.frombuffer(bitmap.buffer, np.uint8).reshape(size[1], bitmap.stride)[:, : size[0]] / 255
    scale = size[1] / 148
    lines = svg_pages.rows(sheet)[1]
    margin = int(12.5 * scale), int(92.5 * scale)
    right_part = dark[:, int(70 * scale) : margin[1]]  # beside the word
    for role in ("baseline", "x-height"):
        centre = (148 - lines[role]) * scale
        band = slice(int(centre) - 20, int(centre) + 20)
        profile = right_part[band].mean(axis=1)
        profile = np.where(profile > 0.5 * profile.max(), profile, 0)
        measured = (np.arange(band.start, band.stop) + 0.5) @ profile / profile.sum()
        assert abs(measured - centre) / scale < 0.01
    low, high = bounds(ink_of(one, "tide"))
    word = sheet.texts("ink")[0]
    assert word.high.real - word.low.real == pytest.approx(high.real - low.real, abs=0.01)
    top, bottom = ((148 - lines[role]) * scale for role in ("x-height", "baseline"))
    between = dark[int(top) + 12 : int(bottom) - 12, : int(70 * scale)] > 0.5
    columns = np.flatnonzero(between.mean(axis=0) > 0.4)
    stem = word.points  # the stems are where the SVG has them
    assert columns.min() / scale > min(z.real for z in stem) - 0.05
    assert columns.max() / scale < max(z.real for z in stem) + 0.05


def test_what_is_left_of_a_page_becomes_bare_rows_where_asked_for():
    one = lettering("grit")
    bare = worksheet([Practice(one, ("tide",))], setup("a4"))
    full = worksheet([Practice(one, ("tide",), fill_page=True)], setup("a4"))
    few, many = (text_by_row(sheets_of(document)) for document in (bare, full))
    assert many[: len(few)] == few
    assert set(map(tuple, many[len(few) :])) == {()}
    assert len(full.pages) == len(bare.pages) == 1
    lowest = min(line.end.imag for line in sheets_of(full)[0].guides if line.role == "descender")
    assert lowest - 12 < 2 * (heights_of(one).row_mm + 12)  # less than a row and the footer remain


def kinds_of(sheet):
    """The words above the rows, in reading order."""
    words = [mark for mark in sheet.texts("labels") if mark.title in KIND_WORDS]
    return [mark.title for mark in sorted(words, key=lambda mark: (-round(mark.low.imag), mark.low.real))]


KIND_WORDS = {"Look", "Write over the outline", "Follow the dots", "Begin at the rings", "Copy", "Copy it here",
              "From memory", "From memory: cover the rows above", "From memory: cover all the rest",
              "Write"}  # fmt: skip


@pytest.mark.parametrize("left_handed", [False, True])
def test_two_large_letters_share_a_page_with_all_their_forms(left_handed):
    one = lettering("cobble")
    practice = Practice(one, ("o", "c"), repeats=None, left_handed=left_handed, fill_page=True)
    document = worksheet([practice], setup("a4"))
    (sheet,) = sheets_of(document)
    svg_pages.assert_tidy(sheet, 12.0)
    assert document.notes == ()
    shown = [kind for kind in kinds_of(sheet) if kind != "Write"]
    forms = ["Look", "Write over the outline", "Follow the dots", "Begin at the rings", "Copy"]
    assert sorted(kind for kind in shown if not kind.startswith("From")) == sorted(2 * forms)
    found = text_by_row([sheet])
    assert [set(row) for row in found[:4]] == [{"o"}, {"o"}, {"c"}, {"c"}]


def test_a_text_too_large_for_its_page_comes_in_parts_and_says_what_is_left_out():
    """Marker of 9.3 and 2.1 mm, x-height 48 mm: at most ten pages of A4, and no part beyond the margins."""
    one = lettering("boulder")
    one = replace(one, marker=replace(one.marker, downstroke_mm=9.3, hairline_mm=2.1), x_height_mm=48)
    document = worksheet([Practice(one, ("high tide",), repeats=None, fill_page=True)], setup("a4"))
    sheets = sheets_of(document)
    assert 2 < len(sheets) <= 10
    for sheet in sheets:
        svg_pages.assert_tidy(sheet, 12.0)
    parts = list(dict.fromkeys(row[0] for row in text_by_row(sheets) if row))
    assert parts == ["hi", "gh", "ti", "de"]
    told = " ".join(document.notes)
    assert "'high' is wider than a row of A4 and is practised in parts; a4 `landscape` holds it whole" in told
    said = " ".join(mark.title for mark in sheets[0].texts("labels"))
    assert "No room on this sheet for: Write over the outline" in said
    assert "--" not in said  # a pupil's page has no options on it
    assert "ask for `rows` solid,hollow,dotted,starts,copy,memory" in told
    assert [kinds_of(sheet)[0] for sheet in sheets][-1].startswith("From memory")
    wide = worksheet([Practice(one, ("high tide",), repeats=None, fill_page=True)], setup("a4", landscape=True))
    assert {row[0] for row in text_by_row(sheets_of(wide)) if row} == {"high", "tide"}


def test_what_stands_on_some_pages_only_is_not_said_to_be_missing():
    one = lettering("boulder")
    one = replace(one, marker=replace(one.marker, downstroke_mm=9.3, hairline_mm=2.1), x_height_mm=43)
    rows = ("solid", "hollow", "dotted", "starts", "blank")
    drills = tuple(DRILL + name for name in ("in", "stem", "underturn", "oval"))
    practice = Practice(one, drills, rows, None, arrows=True, fill_page=True)
    sheets = sheets_of(worksheet([practice], setup("a4")))
    said = [mark.title for sheet in sheets for mark in sheet.texts("labels")]
    (told,) = [words for words in said if words.startswith("Not every page has room for: ")]
    missing = told.removeprefix("Not every page has room for: ").partition(". ")[0].split(", ")
    assert any(words.endswith(form) for form in missing for words in said if words != told)


def test_rows_that_were_asked_for_are_never_left_out():
    one = lettering("boulder")
    rows = ("solid", "hollow", "dotted", "starts")
    document = worksheet([Practice(one, ("on",), rows)], setup("a4"))
    assert [kind for sheet in sheets_of(document) for kind in kinds_of(sheet)] == [
        "Look", "Write over the outline", "Follow the dots", "Begin at the rings"
    ]  # fmt: skip


def test_a_text_repeats_along_its_row():
    one = lettering("grit")
    found = text_by_row(sheets_of(worksheet([Practice(one, ("tide",), repeats=None)], setup("a4"))))
    assert len(found[0]) == len(found[1]) == len(found[2]) >= 4
    assert found[4] == ["tide"]  # one to copy, and room beside it


@pytest.mark.parametrize("marker", ["pebble", "cobble", "boulder"])
def test_a_set_of_drills_stands_on_one_page_and_says_what_it_is_called(marker):
    one = lettering(marker)
    names = drill_strokes(one.hand)
    assert names[0] == "in"  # letters begin with the entrance stroke
    assert "ascending-loop" in names
    assert "flick" not in names
    practice = Practice(
        one, tuple(DRILL + name for name in names), ("solid", "hollow", "dotted", "starts", "blank"), None, True,
        fill_page=True,
    )  # fmt: skip
    sheets = sheets_of(worksheet([practice], setup("a3")))
    for name in names:
        titles = [[mark.title for mark in sheet.texts("ink", "trace")] for sheet in sheets]
        on = [number for number, found in enumerate(titles) if name in found]
        assert len(set(on)) == 1, name
        words = [mark.title for mark in sheets[on[0]].texts("labels")]
        assert any(word.lower().startswith(phrases().drill(name) + ":") for word in words), words


def test_parts_of_a_row_stand_apart_in_their_lines():
    one = lettering("cobble")
    practice = Practice(one, ("o", "c"), repeats=None, fill_page=True)
    (sheet,) = sheets_of(worksheet([practice], setup("a4")))
    ends = {}
    for guide in sheet.guides:
        if guide.role == "baseline":
            ends.setdefault(guide.row, []).extend((guide.start.real, guide.end.real))
    parted = [sorted(found) for found in ends.values() if len(found) > 2]
    assert parted
    for found in parted:
        gutters = [b - a for a, b in zip(found[1:-1:2], found[2::2], strict=True)]
        assert gutters == pytest.approx([6.0] * len(gutters))


@pytest.mark.parametrize("left_handed", [False, True])
def test_letters_that_share_a_page_share_one_row_of_pictures_and_room_to_try_them(left_handed):
    one = lettering("cobble")
    practice = Practice(one, ("a", "n"), arrows=True, repeats=None, left_handed=left_handed, fill_page=True)
    sheets = sheets_of(worksheet([practice], setup("a3")))
    words = [mark.title for sheet in sheets for mark in sheet.texts("labels")]
    assert len(sheets) == 1
    assert words.count("How each letter goes") == 1
    assert words.count("Try it here") == 1
    shown = {mark.title.split(",")[0] for mark in sheets[0].texts("order")}
    assert shown == {"a", "n"}


def test_the_white_between_rows_is_what_was_asked_for():
    one = lettering("cobble")
    for gap in (12.0, 20.0):
        (sheet, *_) = sheets_of(worksheet([Practice(one, ("tide",), row_gap_mm=gap)], setup("a3")))
        rows = sorted(svg_pages.rows(sheet).values(), key=lambda row: -row["baseline"])
        assert rows[0]["descender"] - rows[1]["ascender"] == pytest.approx(gap, abs=0.01)


def test_the_entrance_stroke_rises_thin_from_line_to_line():
    one = lettering("pebble")
    x = one.x_height_mm
    (stroke,) = line_of(one, DRILL + "in").strokes
    assert stroke.path.start.imag == pytest.approx(0, abs=0.1 * x)
    assert stroke.path.end.imag == pytest.approx(x, abs=0.1 * x)
    assert max(width for _, width in stroke.widths.knots) == pytest.approx(one.marker.hairline_mm, rel=0.1)


def test_loops_begin_and_end_on_lines():
    one = lettering("pebble")
    x = one.x_height_mm
    (down,) = line_of(one, DRILL + "descending-loop").strokes
    (up,) = line_of(one, DRILL + "ascending-loop").strokes
    assert down.path.start.imag == pytest.approx(x, abs=0.1 * x)
    assert up.path.start.imag == pytest.approx(0, abs=0.1 * x)
    assert up.path.end.imag == pytest.approx(0, abs=0.1 * x)


@pytest.mark.parametrize("hand", ["joined", "lively"])
@pytest.mark.parametrize("name", ["underturn", "compound"])
@pytest.mark.parametrize("marker", ["pebble", "thorn"])
def test_a_turn_at_the_baseline_is_led_out_thin_to_about_the_x_height(marker, name, hand):
    """Common practice, no source: press down, release before the line, turn, a thin stroke up."""
    one = lettering(marker, hand)
    x, thin = one.x_height_mm, one.marker.hairline_mm
    (stroke,) = line_of(one, DRILL + name).strokes
    assert 0.8 * x < stroke.path.end.imag < 1.05 * x
    low, _ = bounds(ink_of(one, DRILL + name))
    assert low.imag == pytest.approx(0, abs=0.01)  # nothing hangs below the line, nor stands above it
    s, points, _ = along(stroke.path, 0.05)
    widths = width_at(stroke.widths, s)
    way_in = 0 if name == "underturn" else len(s) // 2
    lowest = way_in + int(points.imag[way_in:].argmin())
    assert widths[:lowest].max() > 0.95 * one.marker.downstroke_mm
    assert widths[lowest:].max() < 1.25 * thin
    assert widths[-1] == pytest.approx(thin, rel=0.01)


@pytest.mark.parametrize("hand", ["italic", "print"])
def test_strokes_of_hands_that_do_not_join_end_as_the_hand_has_them(hand):
    one = lettering({"italic": "slate", "print": "flint"}[hand], hand)
    for name in drill_strokes(one.hand):
        nodes = from_line_to_line(one.hand.strokes[name])
        assert led_out(nodes, one.hand.strokes) == nodes


def test_from_memory_says_what_is_to_be_covered_and_nothing_where_nothing_is():
    """Beside a model that stays in view, below rows of its text, and at the top of a page."""
    def memory(practice, paper="a4"):
        pages = [kinds_of(sheet) for sheet in sheets_of(worksheet([practice], setup(paper)))]
        return [(kinds[0] == kind, kind) for kinds in pages for kind in kinds if kind.startswith("From")]

    beside = "From memory: cover all the rest"
    assert memory(Practice(lettering("cobble"), ("o",), repeats=None, fill_page=True)) == [(False, beside)]
    below = "From memory: cover the rows above"
    assert memory(Practice(lettering("pebble"), ("tide",))) == [(False, below)]
    assert memory(Practice(lettering("pebble"), ("tide",), ("memory",))) == [(True, "From memory")]
    assert memory(Practice(lettering("boulder"), ("on",), ("solid", "memory")), "a5") == [(True, "From memory")]
    starts = Practice(lettering("pebble"), ("tide", "sea"), ("solid", "memory"))
    assert memory(starts) == [(False, below)] * 2
