"""Planner pages: links lead there and back, the dark theme shows no black, pixels are exact."""

from __future__ import annotations

import ctypes
import io

import numpy as np
import pypdfium2
import pypdfium2.raw as pdfium
import pytest
import svg_pages
from lettered import lettering
from page_checks import MARKERS, PAPERS, setup
from PIL import Image

from guidegen.errors import GuidegenError
from guidegen.hands.library import load_paper
from guidegen.scene import Purpose
from guidegen.sheets.grounds import THEMES, ground
from guidegen.sheets.parts.frame import Setup
from guidegen.sheets.planner import planner
from guidegen.writers import render


def screen(width, height, ppi=264.0):
    size = "x".join(f"{side / ppi * 25.4:.6f}" for side in (width, height)) + "mm"
    return Setup(load_paper(size), 10.0, "none", papers=PAPERS)


def links_of(pdf):
    """Return for each page the pages its links lead to, read by pdfium."""
    document = pypdfium2.PdfDocument(pdf)
    found = []
    for page in document:
        position, link, here = ctypes.c_int(0), pdfium.FPDF_LINK(), []
        while pdfium.FPDFLink_Enumerate(page, position, link):
            here.append(pdfium.FPDFDest_GetDestPageIndex(document, pdfium.FPDFLink_GetDest(document, link)))
        found.append(here)
    return found


def test_links_lead_there_and_back():
    letters = ("a", "b", "c")
    document = planner([lettering("pebble"), lettering("flint")], screen(1620, 2160), letters)
    assert len(document.pages) == 1 + 2 * (1 + len(letters))
    _, data = next(iter(render(document, "pdf")))
    links = links_of(data)
    assert sorted(links[0]) == list(range(1, len(document.pages)))
    last = len(document.pages) - 1
    beside = [{0, number - 1, number + 1} - {last + 1} for number in range(1, last + 1)]
    assert [set(here) for here in links[1:]] == beside  # the index, and the pages before and after
    for page in document.pages:
        for link in page.links:
            size = link.high - link.low
            assert size.real >= 10
            assert size.imag >= 10  # a fingertip


def test_links_of_the_index_stand_on_the_words_they_lead_to():
    letters = tuple("abcdefghijklmnopqrstuvwxyz")
    document = planner([lettering("flint")], screen(1620, 2160), letters)
    page = document.pages[0]
    sheet = svg_pages.read(next(iter(render(document, "svg")))[1])
    titles = {mark.title: mark.middle for mark in sheet.texts("labels")}
    for number, char in enumerate(letters):
        (link,) = [link for link in page.links if link.page == 2 + number]
        assert link.low.real < titles[char].real < link.high.real
        assert link.low.imag < titles[char].imag < link.high.imag


@pytest.mark.parametrize("marker", MARKERS)
@pytest.mark.parametrize("theme", ["light", "dark"])
def test_pages_are_tidy_and_have_the_screens_pixels(marker, theme):
    document = planner([lettering(marker)], screen(1640, 2360), ("d",), theme=theme)
    pictures = list(render(document, "png", ppi=264.0))
    for _, data in pictures:
        image = Image.open(io.BytesIO(data))
        assert image.size == (1640, 2360)
        grey = np.asarray(image.convert("L"))
        assert np.median(grey) in ((255,) if theme == "light" else (25, 26))
        darkest, lightest = grey.min(), grey.max()
        assert int(lightest) - int(darkest) > 180  # ink can be told from its ground
        assert theme == "light" or darkest >= 24  # nothing blacker than the ground
    for _, data in render(document, "svg"):
        sheet = svg_pages.read(data)
        svg_pages.assert_tidy(sheet, 10.0)


def test_transparent_pictures_have_no_ground():
    document = planner([lettering("pebble")], screen(800, 1000), theme="dark")
    _, data = next(iter(render(document, "png", ppi=264.0, transparent=True)))
    alpha = np.asarray(Image.open(io.BytesIO(data)).convert("RGBA"))[:, :, 3]
    assert np.median(alpha) == 0
    assert alpha.max() == 255


def test_an_index_that_does_not_fit_is_refused():
    with pytest.raises(GuidegenError, match="the index of so many pages does not fit"):
        planner([lettering(marker) for marker in MARKERS], setup("a6"), tuple("abcdefghijklmnopqrstuvwxyz"))


def contrast(one, other):
    """WCAG 2.2, contrast ratio, from memory: (L1 + 0.05) / (L2 + 0.05) of relative luminances."""
    levels = sorted((luminance(one.rgb), luminance(other.rgb)))
    return (levels[1] + 0.05) / (levels[0] + 0.05)


def luminance(rgb):
    linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in rgb]
    return sum(weight * part for weight, part in zip((0.2126, 0.7152, 0.0722), linear, strict=True))


@pytest.mark.parametrize("theme", [*THEMES, "#808080", "#224433", "#ffe000"])
def test_ink_stands_out_from_every_ground_and_guides_are_dimmer(theme):
    """7 to 1 is what WCAG 2.2 asks of small text at its strictest (from memory); no ink has more on middle grey."""
    found = ground(theme)
    assert contrast(found.ink, found.paper) >= (4.5 if theme == "#808080" else 7.0)
    if theme != "light":
        assert 1.4 < contrast(found.guide, found.paper) < contrast(found.ink, found.paper)


def test_a_ground_that_is_none_names_those_there_are():
    with pytest.raises(GuidegenError, match=r"`theme`: found 'beige', expected one of light, cream"):
        ground("beige")


@pytest.mark.parametrize("size", [(1080, 2340, 400.0), (1620, 2160, 264.0)])
def test_words_keep_clear_of_each_other_on_phones_too(size):
    document = planner([lettering("cobble"), lettering("grit")], screen(*size), ("a", "d"), theme="cream")
    for _, data in render(document, "svg"):
        svg_pages.assert_tidy(svg_pages.read(data), 10.0)
    buttons = [item for page in document.pages for layer in page.layers if layer.purpose is Purpose.BLANKS
               for item in layer.items]  # fmt: skip
    assert len(buttons) >= sum(len(page.links) for page in document.pages)


def test_a_letter_wider_than_the_screen_is_refused():
    with pytest.raises(GuidegenError, match=r"a in boulder is [0-9]+ mm wide; the smallest page"):
        planner([lettering("boulder")], screen(900, 2340, 400.0), ("a",))
