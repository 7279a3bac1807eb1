"""All markers of a handout at a glance: their figures in a table."""

from __future__ import annotations

from collections.abc import Sequence

from guidegen.lettering.lettering import Lettering
from guidegen.lettering.text import letters_per_line
from guidegen.scene import Item, Line, Style
from guidegen.sheets.parts.figures import mm_text, times_text
from guidegen.sheets.parts.frame import Box
from guidegen.sheets.parts.labels import STRONG, label, label_width_mm
from guidegen.sheets.parts.phrases import Phrases

_HEADING_MM = 3.4
_TEXT_MM = 2.5
_LINE_MM = 4.4
_COLUMNS = ("marker", "tip", "thick", "thin", "x_height", "ascender", "letters_a_line")
_RULE = Style(stroke_mm=0.12)


def figures_table(letterings: Sequence[Lettering], box: Box, say: Phrases) -> tuple[list[Item], float]:
    """Return the table with its upper edge at y = 0 and its height; nothing where it is too wide or there are none.

    Columns are spread over the width of ``box``; the first and second are set from the left, figures from the right.
    """
    heads = tuple(say(f"handout.{column}") for column in _COLUMNS)
    rows = [heads, *(_row(lettering, box.width, say) for lettering in letterings)]
    widths = [max(label_width_mm(row[column], _TEXT_MM, STRONG) for row in rows) for column in range(len(_COLUMNS))]
    gap = (box.width - sum(widths)) / (len(widths) - 1)
    if len(rows) == 1 or gap < 3.0:
        return [], 0.0
    heading = complex(box.left, -0.7 * _HEADING_MM)
    items: list[Item] = [label(say("handout.glance"), heading, _HEADING_MM, weight=STRONG)]
    y = -_HEADING_MM - 2.0
    for number, row in enumerate(rows):
        y -= _LINE_MM
        x = box.left
        for column, (text, width) in enumerate(zip(row, widths, strict=True)):
            weight = STRONG if column == 0 or number == 0 else 400
            if text and column < 2:
                items.append(label(text, complex(x, y), _TEXT_MM, weight=weight))
            elif text:
                items.append(label(text, complex(x + width, y), _TEXT_MM, anchor="end", weight=weight))
            x += width + gap
        if number == 0:
            items.append(Line(complex(box.left, y - 1.3), complex(box.right, y - 1.3), _RULE))
            y -= 1.0
    return items, 1.5 - y


def _row(lettering: Lettering, width_mm: float, say: Phrases) -> tuple[str, ...]:
    marker, hand, x = lettering.marker, lettering.hand, lettering.x_height_mm
    thin = "" if marker.tip == "round" else mm_text(marker.hairline_mm, say)
    count = letters_per_line(lettering, width_mm)
    heights = mm_text(x, say), times_text(hand.ascender, x, False, say)
    figures = mm_text(marker.downstroke_mm, say), thin, *heights, f"{count}" if count else ""
    return say.label(marker.label), say(f"tips.{marker.tip}"), *figures
