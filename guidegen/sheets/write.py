"""Text as ink: what is cut, printed or framed. The page is the ink and its margin, or a paper."""

from __future__ import annotations

from collections.abc import Sequence

from guidegen.errors import GuidegenError
from guidegen.geometry.measure import bounds
from guidegen.lettering.lettering import Lettering
from guidegen.lettering.text import Align
from guidegen.profiles.papers import Paper
from guidegen.profiles.printers import Printer
from guidegen.scene import BLACK, Document, Ink, Layer, Line, Purpose
from guidegen.sheets.parts import frame as frames
from guidegen.sheets.parts.block import Block, broken, stack
from guidegen.sheets.parts.figures import mm_text
from guidegen.sheets.parts.frame import Box, Frame, Setup
from guidegen.sheets.parts.phrases import ENGLISH, Phrases, phrases
from guidegen.sheets.parts.proof import bar_height_mm, print_words, proof_bar


def written_text(
    lettering: Lettering,
    lines: Sequence[str],
    setup: Setup | None,
    *,
    margin_mm: float = frames.DEFAULT_MARGIN_MM,
    align: Align = "left",
    guides: bool = False,
    proof: bool = False,
    printer: Printer | None = None,
    ink: Ink = BLACK,
    language: str = ENGLISH,
) -> Document:
    """Return ``lines`` as ink outlines on one page.

    Args:
        lettering: marker, hand and size.
        lines: what to write; on a paper, lines too long for it are broken evenly.
        setup: the paper; None for a page of the ink's size plus ``margin_mm``.
        margin_mm: white round the ink where there is no paper.
        align: of the lines.
        guides: draw the guide lines too.
        proof: add a proof bar below, where there is no paper.
        printer: what to correct for, where there is no paper (a paper's setup has its own).
        ink: the colour of the ink.
        language: of the words on the page, where there is no paper.

    Raises:
        GuidegenError: when the text does not fit the paper; the message names the smallest that would do.
    """
    title = " / ".join(line for line in lines if line)
    say = phrases(language) if setup is None else setup.say
    marker, hand = say.label(lettering.marker.label), say.label(lettering.hand.label)
    description = say("piece.written", marker=marker, hand=hand, size=mm_text(lettering.x_height_mm, say))
    if setup is None:
        stacked = stack([(lettering, line) for line in lines], align)
        page, layers = _own_page(stacked, margin_mm, guides, proof, ink, say)
        setup = Setup(_no_paper(page), margin_mm, "none", printer=printer, language=language)
    else:
        page = frames.frame(setup)
        block = broken(lettering, lines, page.box.width, align)
        if block is None or block.height_mm > page.box.height + 1e-6:
            raise too_large(lettering, lines, setup)
        layers = _layers(block, centred(block, page.box, align), page.box, guides, ink)
    return frames.document(setup, [(page, layers)], title, description, ())


def centred(block: Block, box: Box, align: Align) -> complex:
    """Return the upper left corner of ``block`` in ``box``: aligned across, in the middle of the height."""
    share = {"left": 0.0, "center": 0.5, "right": 1.0}[align]
    return complex(box.left + (box.width - block.width_mm) * share, box.top - (box.height - block.height_mm) / 2)


def too_large(lettering: Lettering, lines: Sequence[str], setup: Setup) -> GuidegenError:
    """Return the error for text that no breaking fits to the paper; it names the smallest that would do."""

    def fits(other: Setup) -> bool:
        box = frames.frame(other).box
        block = broken(lettering, lines, box.width)
        return block is not None and block.height_mm <= box.height

    size = mm_text(lettering.x_height_mm)
    return GuidegenError(
        f"{setup.paper.label}: the text does not fit at x-height {size}; {setup.suggestion(fits)}, "
        f"or see `guidegen plan`"
    )


def _layers(block: Block, corner: complex, box: Box, guides: bool, ink: Ink) -> tuple[Layer, ...]:
    lines = block.guides(corner, box.left, box.right) if guides else ()
    return (*guide_layers(lines), Layer(Purpose.INK, block.ink(corner, ink)))


def guide_layers(lines: Sequence[Line]) -> tuple[Layer, ...]:
    """Return guide lines sorted into the layers ``slant`` and ``lines``."""
    slanted = tuple(line for line in lines if line.role == "slant")
    return Layer(Purpose.SLANT, slanted), Layer(Purpose.LINES, tuple(line for line in lines if line.role != "slant"))


def _own_page(
    block: Block, margin_mm: float, guides: bool, proof: bool, ink: Ink, say: Phrases
) -> tuple[Frame, tuple[Layer, ...]]:
    """Return a page that fits the ink exactly, with the margin round it."""
    low, high = bounds(tuple(path for shape in block.ink(0j) for path in shape.paths))
    if guides:
        low, high = complex(low.real, min(low.imag, -block.height_mm)), complex(high.real, max(high.imag, 0.0))
    width = high.real - low.real + 2 * margin_mm
    words = print_words(say)
    foot = bar_height_mm(width - 2 * margin_mm, words) + frames.FOOTER_GAP_MM if proof else 0.0
    corner = complex(margin_mm, margin_mm + foot) - low
    height = high.imag - low.imag + 2 * margin_mm + foot
    box = Box(margin_mm, margin_mm + foot, width - margin_mm, height - margin_mm)
    marks = proof_bar(complex(margin_mm, margin_mm), box.width, words) if proof else ()
    return Frame(width, height, box, marks), _layers(block, corner, box, guides, ink)


def _no_paper(page: Frame) -> Paper:
    return Paper("own", "the text's own size", page.width_mm, page.height_mm, "custom")
