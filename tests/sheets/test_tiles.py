"""Tiles: they cover the page, overlap by 10 mm, and their crosses meet."""

from __future__ import annotations

import io
import itertools
from dataclasses import replace

import numpy as np
import pytest
from lettered import lettering
from page_checks import a_size, setup
from PIL import Image

from guidegen.errors import GuidegenError
from guidegen.hands.library import load_paper
from guidegen.scene import BLACK, WHITE, Document, Layer, Line, Page, Purpose, Shape, Style, hull_bounds
from guidegen.sheets.guides import guide_sheet
from guidegen.sheets.parts.proof import rounded_rectangle
from guidegen.sheets.practice import Practice
from guidegen.sheets.tiles import OVERLAP_MM, tile_document, tiling
from guidegen.sheets.worksheet import worksheet
from guidegen.sheets.write import written_text
from guidegen.writers import render

MARGIN = 10.0


@pytest.mark.parametrize(("paper", "page"), [("a4", (594, 841)), ("letter", (1000, 300)), ("a5", (420, 594))])
def test_tiles_cover_the_page_and_overlap_as_said(paper, page):
    sheet = load_paper(paper)
    layout = tiling(*page, sheet, MARGIN)
    window = layout.window_mm
    assert window == complex(sheet.width_mm - 20, sheet.height_mm - 20)
    lefts = sorted({tile.corner.real for tile in layout.tiles})
    bottoms = sorted({tile.corner.imag for tile in layout.tiles})
    assert len(lefts) * len(bottoms) == len(layout.tiles)
    assert lefts[0] == 0
    assert lefts[-1] + window.real >= page[0]
    assert bottoms[-1] + window.imag == pytest.approx(page[1])
    assert bottoms[0] <= 0
    for low, high in itertools.pairwise(lefts):
        assert low + window.real - high == pytest.approx(OVERLAP_MM)
    for low, high in itertools.pairwise(bottoms):
        assert low + window.imag - high == pytest.approx(OVERLAP_MM)
    if len(lefts) > 1:  # and no fewer would do
        assert (len(lefts) - 1) * (window.real - OVERLAP_MM) + OVERLAP_MM < page[0]


def crosses(page):
    lines = [item for layer in page.layers if layer.id == "crop" for item in layer.items if hasattr(item, "start")]
    ups = [line for line in lines if line.start.real == line.end.real and abs(line.end - line.start) == 6]
    acrosses = [line for line in lines if line.start.imag == line.end.imag and abs(line.end - line.start) == 6]
    assert len(ups) == len(acrosses)
    return [(line.start + line.end) / 2 for line in ups]


def test_register_crosses_of_neighbours_fall_on_each_other():
    document = written_text(lettering("boulder"), ["harbour fair", "and regatta"], None, guides=True)
    paper = load_paper("a4")
    tiles = tile_document(document, paper, MARGIN).pages
    assert len(tiles) > 1
    source = document.pages[0]
    for lying in (paper, paper.turned()):
        if (lying.width_mm, lying.height_mm) == (tiles[0].width_mm, tiles[0].height_mm):
            layout = tiling(source.width_mm, source.height_mm, lying, MARGIN)
    assert [tile.name for tile in layout.tiles] == [page.title.split()[-1] for page in tiles]
    spots = {}
    for page, tile in zip(tiles, layout.tiles, strict=True):
        for cross in crosses(page):
            on_source = cross - complex(MARGIN, MARGIN) + tile.corner
            spots.setdefault((round(on_source.real, 6), round(on_source.imag, 6)), []).append(tile.name)
    assert spots
    assert all(len(names) >= 2 for names in spots.values())


def test_the_margins_show_the_tiles_name_and_nothing_else():
    document = worksheet([Practice(lettering("cobble"), ("tide",))], setup("a2"))
    tiles = tile_document(document, load_paper("a4"), MARGIN)
    assert len(tiles.pages) > 1
    for _, data in render(tiles, "png", ppi=72):
        grey = np.asarray(Image.open(io.BytesIO(data)).convert("L"))
        white = round(MARGIN / 25.4 * 72) - 2
        assert grey[-white:, white : grey.shape[1] // 2].min() < 128  # the name
        for strip in (grey[:white], grey[:, :white], grey[:, -white:]):
            assert strip.min() == 255


def dots(*spots, size=(400.0, 500.0)):
    """A page with a disc of 4 mm at each spot."""
    shapes = tuple(Shape((rounded_rectangle(z - 2 - 2j, 4.0, 4.0, 1.999),), Style(fill=BLACK)) for z in spots)
    return Document((Page(*size, (Layer("ink", shapes),), "Dots"),), "Dots")


def names(document):
    return [page.title.split()[-1] for page in document.pages]


def test_bare_tiles_are_left_out_and_told():
    corners = (10 + 490j, 390 + 10j)  # far apart, nothing between
    tiles = tile_document(dots(*corners), load_paper("a4"), MARGIN)
    assert len(tiles.pages) == 2
    (note,) = tiles.notes
    assert "tiles are bare and left out" in note
    for page in tiles.pages:
        assert any(layer.id == "ink" for layer in page.layers)


def test_tiles_are_laid_round_the_ink_where_that_saves_some():
    document = written_text(lettering("boulder"), ["fair"], setup("a1", landscape=True, proof="none"))
    tiles = tile_document(document, load_paper("a4"), MARGIN)
    assert len(tiles.pages) == 1
    low, high = hull_bounds(tuple(item for layer in tiles.pages[0].layers if layer.id == "ink" for item in layer.items))
    page = tiles.pages[0]
    assert low.real >= MARGIN
    assert low.imag >= MARGIN
    assert high.real <= page.width_mm - MARGIN
    assert high.imag <= page.height_mm - MARGIN


def test_what_a_neighbour_shows_needs_no_tile():
    """A dot in the strip that two tiles share is on one of them; one that reaches out of it is on both."""
    step = 190.0 - OVERLAP_MM
    corners = (5 + 495j, 5 + 5j, 395 + 495j)
    shared = dots(*corners, complex(step + OVERLAP_MM / 2, 250))
    whole = tiling(400, 500, load_paper("a4"), MARGIN)
    assert len(whole.tiles) == 6
    assert names(tile_document(shared, load_paper("a4"), MARGIN)) == ["A1", "A3", "B1"]
    wide = dots(*corners, complex(step + OVERLAP_MM, 250))
    assert len(names(tile_document(wide, load_paper("a4"), MARGIN))) == 4


def test_white_is_no_ink():
    page = dots(5 + 495j, 395 + 5j).pages[0]
    white = Layer("labels", (Shape((rounded_rectangle(190 + 240j, 20.0, 20.0, 1.0),), Style(fill=WHITE)),))
    document = Document((replace(page, layers=(white, *page.layers)),), "White")
    assert len(tile_document(document, load_paper("a4"), MARGIN).pages) == 2


def test_a_page_the_paper_holds_stays_one_page():
    document = written_text(lettering("pebble"), ["tide"], setup("a5"))
    assert tile_document(document, load_paper("a4"), MARGIN).pages == document.pages


def test_paper_that_would_be_all_overlap_is_refused():
    with pytest.raises(GuidegenError, match=r"`printer_paper` .* no room for tiles"):
        tiling(500, 500, load_paper("45x45mm"), MARGIN)


LAST = (
    "Row B, column 2 (2 × 2 tiles).   "
    "Cut along the dashed lines at the left and the top and glue this over B1 and A2, cross on cross."
)


def test_a_tile_says_where_it_lies_what_to_cut_and_what_it_is_glued_over():
    document = guide_sheet(a_size("boulder"), setup("a3"))
    said = [words for page in tile_document(document, load_paper("a4"), MARGIN).pages for words in captions(page)]
    assert said == [
        "Row A, column 1 (2 × 2 tiles).   Lay this one first: its neighbours are glued over the dotted edges.",
        "Row A, column 2 (2 × 2 tiles).   Cut along the dashed line at the left and glue this over A1, cross on cross.",
        "Row B, column 1 (2 × 2 tiles).   Cut along the dashed line at the top and glue this over A1, cross on cross.",
        LAST,
    ]


def captions(page):
    return [item.name for layer in page.layers if layer.purpose is Purpose.CROP for item in layer.items
            if isinstance(item, Shape) and item.name]  # fmt: skip


def test_the_edges_to_cut_and_those_to_glue_over_are_told_apart():
    """Dashed at the left and the top, dotted at the right and the bottom: one of each where two tiles meet."""
    document = guide_sheet(a_size("boulder"), setup("a3"))
    for page in tile_document(document, load_paper("a4"), MARGIN).pages:
        edges = [item for layer in page.layers if layer.purpose is Purpose.CROP for item in layer.items
                 if isinstance(item, Line) and item.style.dash_mm]  # fmt: skip
        for edge in edges:
            low = edge.start.real == edge.end.real == MARGIN or edge.start.imag == edge.end.imag > page.height_mm / 2
            assert (edge.style.dash_mm[0] > 1) == low
