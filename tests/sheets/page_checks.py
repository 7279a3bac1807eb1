"""What must hold on every page, read from the scene."""

from __future__ import annotations

from guidegen.geometry.measure import bounds
from guidegen.hands.library import DEFAULT_HANDS, list_papers, load_hand, load_marker
from guidegen.lettering.lettering import Lettering
from guidegen.lettering.sizing import RightSize
from guidegen.scene import Document, Line, Page, Shape, hull_bounds
from guidegen.sheets.parts.frame import Setup

MARKERS = ("grit", "pebble", "cobble", "boulder", "thorn", "slate", "flint")
PAPERS = tuple(list_papers().values())
SLACK_MM = 0.16  # half of the heaviest guide and a little


def a_size(name: str, hand: str = "", factor: float = 4.5) -> RightSize:
    """A size to lay pages out with, without solving for it: x-height ``factor`` downstrokes, band 0.8 to 1.4 of it."""
    marker = load_marker(name)
    found = load_hand(hand or DEFAULT_HANDS[marker.tip])
    x = (found.size.value if found.size.rule != "counter" else factor) * marker.downstroke_mm
    return RightSize(Lettering(marker, found, x), (0.8 * x, 1.4 * x))


def setup(paper: str, *, landscape: bool = False, **more) -> Setup:
    found = list_papers()[paper]
    return Setup(found.landscape() if landscape else found, papers=PAPERS, **more)


def items(page: Page, layer: str) -> list:
    return [item for found in page.layers if found.id == layer for item in found.items]


def assert_tidy(document: Document, margin_mm: float) -> None:
    """Nothing outside the margins; no word on another word, on ink or on a line."""
    for page in document.pages:
        assert_inside_margins(page, margin_mm)
        words = {id(item): bounds(item.paths) for item in words_of(page)}
        boxes = list(words.values())
        for number, box in enumerate(boxes):
            assert not any(overlap(box, other) for other in boxes[number + 1 :])
        inks = [hull_bounds((item,)) for layer in page.layers for item in layer.items
                if isinstance(item, Shape) and id(item) not in words and item.style.fill is not None]  # fmt: skip
        lines = [item for layer in page.layers if layer.id != "slant" for item in layer.items if isinstance(item, Line)]
        for box in boxes:
            assert not any(overlap(box, ink) for ink in inks)
            assert not any(crosses(line, box) for line in lines)


def assert_inside_margins(page: Page, margin_mm: float) -> None:
    low, high = hull_bounds(tuple(item for layer in page.layers for item in layer.items))
    assert low.real >= margin_mm - SLACK_MM
    assert low.imag >= margin_mm - SLACK_MM
    assert high.real <= page.width_mm - margin_mm + SLACK_MM
    assert high.imag <= page.height_mm - margin_mm + SLACK_MM


def words_of(page: Page) -> list[Shape]:
    """Labels are the filled shapes of the layers for words."""
    layers = [layer for layer in page.layers if layer.id in ("labels", "proof")]
    return [item for layer in layers for item in layer.items if isinstance(item, Shape) and item.style.fill is not None]


def overlap(one: tuple[complex, complex], other: tuple[complex, complex]) -> bool:
    return all(
        max(low_a, low_b) < min(high_a, high_b) - 1e-6
        for low_a, high_a, low_b, high_b in (
            (one[0].real, one[1].real, other[0].real, other[1].real),
            (one[0].imag, one[1].imag, other[0].imag, other[1].imag),
        )
    )


def crosses(line: Line, box: tuple[complex, complex]) -> bool:
    """Tell whether a line passes through a box (sampled finely: boxes are larger than 0.2 mm)."""
    xs, ys = sorted((line.start.real, line.end.real)), sorted((line.start.imag, line.end.imag))
    if xs[1] <= box[0].real or xs[0] >= box[1].real or ys[1] <= box[0].imag or ys[0] >= box[1].imag:
        return False
    if line.start.real == line.end.real or line.start.imag == line.end.imag:
        return True
    steps = max(2, int(abs(line.end - line.start) / 0.2))
    return any(
        box[0].real < z.real < box[1].real and box[0].imag < z.imag < box[1].imag
        for z in (line.start + (line.end - line.start) * n / steps for n in range(steps + 1))
    )


def layer_ids(page: Page) -> list[str]:
    return [layer.id for layer in page.layers]
