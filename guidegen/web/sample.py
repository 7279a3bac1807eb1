"""The sample letter as the page shows it while widths move: its picture and its numbers, in one step.

One letter is inked: the picture is the outline whose counter was measured.
"""

from __future__ import annotations

from collections.abc import Sequence

from guidegen.api.nouns import LINE_MARGIN_MM
from guidegen.errors import GuidegenError
from guidegen.hands.hand import Hand
from guidegen.hands.library import load_paper
from guidegen.lettering.lettering import Lettering
from guidegen.lettering.letters import SAMPLE_LETTER
from guidegen.lettering.sizing import RightSize, SampleCounter, counter_at, right_size, sample_outline
from guidegen.lettering.text import mean_advance_mm
from guidegen.scene import BLACK, WHITE, Item, Layer, Line, Page, Purpose, Shape, Style, hull_bounds, moved
from guidegen.sheets.parts.rows import heights_of, row_lines
from guidegen.web.address import Address
from guidegen.web.found import LARGEST_ROW_MM, Sample
from guidegen.writers.svg import svg_bytes

_LEAST_WIDTH_MM = 260.0
"""The guide lines run on across the page, which shows as much of them as there is room for."""
_PAD_MM = 1.0


def sample(address: Address) -> Sample:
    """Return the sample letter of the marker, hand and size that ``address`` names."""
    hand = address.style
    try:
        found = right_size(address.marker, hand)
        band = found.smallest_x_height_mm, found.largest_x_height_mm
    except GuidegenError as error:
        return Sample(hand_label=hand.label, slant_deg=hand.slant_deg, problem=str(error))
    x_height = address.x_height_mm or found.x_height_mm
    lettering = Lettering(address.marker, hand, x_height)
    counter = counter_at(lettering) if SAMPLE_LETTER in hand.letters else None
    page = _page(lettering, counter)
    heights = heights_of(lettering)
    return Sample(
        svg=_inline(svg_bytes(page)),
        width_mm=page.width_mm,
        height_mm=page.height_mm,
        x_height_mm=x_height,
        right_mm=found.x_height_mm,
        smallest_mm=band[0],
        largest_mm=band[1],
        ascender_mm=heights.ascender_mm,
        descender_mm=heights.descender_mm,
        verdict=_verdict(found, x_height, hand, counter),
        rule=found.rule,
        counter_mm=counter.width_mm if counter else None,
        downstroke_mm=counter.downstroke_mm if counter else None,
        letters=_letters_per_line(lettering, address),
        hand_label=hand.label,
        slant_deg=hand.slant_deg,
    )


def _verdict(found: RightSize, x_height_mm: float, hand: Hand, counter: SampleCounter | None) -> str:
    if found.rule == "counter" and counter is None and SAMPLE_LETTER in hand.letters:
        return "too small"
    return found.verdict(x_height_mm)


def _letters_per_line(lettering: Lettering, address: Address) -> int | None:
    advance = mean_advance_mm(lettering)
    if advance is None:
        return None
    paper = load_paper(address.paper)
    width = (paper.landscape() if address.landscape else paper).width_mm
    return max(0, int((width - 2 * LINE_MARGIN_MM) // advance))


def _page(lettering: Lettering, counter: SampleCounter | None) -> Page:
    """Return the letter on its four lines, what decides marked where it lies, on a page just large enough."""
    heights = heights_of(lettering)
    ink: tuple[Item, ...] = ()
    low, high = 0j, complex(lettering.x_height_mm, heights.ascender_mm)
    if SAMPLE_LETTER in lettering.hand.letters:
        ink = (Shape(sample_outline(lettering), Style(fill=BLACK)),)
        low, high = hull_bounds(ink)
    before = max(4.0, 0.6 * lettering.x_height_mm)
    row_mm = heights.ascender_mm + heights.descender_mm
    least = _LEAST_WIDTH_MM if row_mm <= LARGEST_ROW_MM else row_mm  # a larger one is shown whole, as wide as the page
    width = max(least, high.real - low.real + 2 * before)
    below = heights.descender_mm + _PAD_MM
    at = complex(before - low.real, below)
    marks = _marks(counter) if counter else ()
    page_height = below + max(heights.ascender_mm, high.imag) + _PAD_MM
    layers = (
        Layer(Purpose.LINES, row_lines(heights, complex(0.0, below), width, 1)),
        Layer(Purpose.LETTER, tuple(moved(item, at) for item in ink)),
        Layer(Purpose.DIMENSIONS, tuple(moved(item, at) for item in marks)),
    )
    return Page(width, page_height, tuple(layer for layer in layers if layer.items))


def _marks(counter: SampleCounter) -> Sequence[Item]:
    """Return the two widths where they lie: the counter black in the white, the downstroke white in the black."""
    thin = Style(stroke_mm=min(0.3, 0.14 * counter.width_mm))
    white, black = counter.chord, counter.downstroke
    tick = (white.right - white.left) / max(white.width, 1e-9) * 1j * min(0.9, 0.3 * white.width)
    ends = [Line(end - tick, end + tick, thin) for end in (white.left, white.right)]
    on_black = Style(stroke_mm=min(0.3, 0.14 * black.width), stroke=WHITE)
    return (Line(white.left, white.right, thin), *ends, Line(black.left, black.right, on_black))


def _inline(svg: bytes) -> str:
    """Return an SVG file as an element for a page of HTML: no declaration, no ids that come again."""
    text = svg.decode("utf-8")
    start = text.index("<svg")
    return text[start:].strip().replace(' id="', ' data-layer="').replace(' role="img"', "", 1)
