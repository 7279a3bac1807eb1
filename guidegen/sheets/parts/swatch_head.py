"""What stands above the block of a swatch page: its title, and what to do before, while and after drawing."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from guidegen.scene import Item, Layer, Purpose
from guidegen.sheets.parts.frame import Box
from guidegen.sheets.parts.labels import ASCENT, STRONG, label, label_width_mm, wrapped
from guidegen.sheets.parts.phrases import Phrases
from guidegen.sheets.parts.swatch_block import SwatchBlock, Use

_WIDE_MM = 130.0
_TITLE_FROM_MM = 150.0
_TITLE_MM, _SMALL_TITLE_MM = 6.4, 4.4
_TEXT_MM, _LINE_MM = 3.0, 4.4
_SMALL_MM, _SMALL_LINE_MM = 2.5, 3.3
_HEADING_GAP_MM = 4.0
_NEAR_CM, _FAR_CM, _NEAR_MM = (15, 25), (20, 35), 172.0
"""From where a telephone's camera takes in a block: one up to that width, and a wider one."""
_GROUP_GAP = 0.35
"""White between two groups, in lines."""
_BESIDE_MM = 100.0
"""Headings stand beside their group on blocks from this width on, above it on narrower ones."""


@dataclass(frozen=True, slots=True)
class HeadWords:
    """What a head tells: ``rings``, what to leave clean; ``full``, all steps but ``card``; ``small`` print."""

    use: Use
    copies: int
    paper: str
    bar: bool
    rings: bool = False
    full: bool = False
    card: bool = False
    small: bool = False

    def title(self, say: Phrases) -> str:
        """Return the heading of the page."""
        if self.copies > 1:
            return say("swatch.title_copies", copies=self.copies)
        special = {"letters": "title_letters", "broad": "title_broad"}
        return say(f"swatch.{special.get(self.use, 'title')}")

    def groups(self, say: Phrases, width_mm: float) -> list[tuple[str, list[str]]]:
        """Return each group's heading and its sentences; ``width_mm`` is the block's."""
        letters = self.use == "letters"
        print_on = say("swatch.step_print", paper=self.paper)
        if self.bar:
            print_on += " " + say("swatch.step_bar")
        do = {"broad": ("step_across", "step_along"), "round": ("step_one",), "letters": ("step_letters",)}
        steps = [f"swatch.{key}" for key in do.get(self.use, ("step_press", "step_push"))]
        drawn = [say(key) for key in steps]
        if self.copies > 1:
            drawn.insert(0, say("swatch.step_copies"))
        if self.rings:
            inside = [say("swatch.step_inside")] if self.full and not letters else []
            drawn.append(" ".join([*inside, say("swatch.step_rings")]))
        else:
            drawn = [" ".join(drawn)]
        far = _FAR_CM if width_mm > _NEAR_MM else _NEAR_CM
        photo = say("swatch.step_photo", from_cm=far[0], to_cm=far[1])
        picture = [say("swatch.step_photo_copies") if self.copies > 1 else photo]
        if self.card:
            picture.append(say("swatch.step_card"))
        picture.append(say("swatch.step_scan"))
        if self.full:
            picture.append(say("swatch.step_check" if letters else "swatch.step_measure"))
        return [
            *([(say("swatch.before"), [print_on])] if self.full else []),
            (say("swatch.write" if letters else "swatch.draw"), drawn),
            (say("swatch.picture"), picture),
        ]


def swatch_head(box: Box, block: SwatchBlock, told: HeadWords, say: Phrases) -> tuple[Layer, float]:
    """Return title and steps, and the height at which what follows may begin."""
    left = box.left + (box.width - block.width_mm) / 2
    small = told.small or box.width < _WIDE_MM or told.copies > 1
    size = _TITLE_MM if box.width > _TITLE_FROM_MM and told.copies == 1 else _SMALL_TITLE_MM
    text, pitch = (_SMALL_MM, _SMALL_LINE_MM) if small or block.width_mm < _WIDE_MM else (_TEXT_MM, _LINE_MM)
    y = box.top - ASCENT * size
    words: list[Item] = [label(told.title(say), complex(left, y), size, weight=STRONG)]
    y -= 0.5 * size + pitch
    groups = told.groups(say, block.width_mm)
    aside = heading_width_mm([heading for heading, _ in groups], block, text)
    for heading, sentences in groups:
        words.append(label(heading, complex(left, y), text, weight=STRONG))
        y -= 0.0 if aside else pitch
        for sentence in sentences:
            for line in wrapped(sentence, block.width_mm - aside, text):
                words.append(label(line, complex(left + aside, y), text))
                y -= pitch
        y -= _GROUP_GAP * pitch
    return Layer(Purpose.LABELS, tuple(words)), y + pitch - (2.5 if small or block.low else 5.0)


def heading_width_mm(headings: Sequence[str], block: SwatchBlock, text_mm: float) -> float:
    """Return the width that headings take beside their groups; 0 where they stand above them."""
    if block.width_mm < _BESIDE_MM:
        return 0.0
    return max(label_width_mm(heading, text_mm, STRONG) for heading in headings) + _HEADING_GAP_MM
