"""The head of a page that is handed out: a title, who it is for, and a line for name and date."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from guidegen.scene import Item, Line, Style
from guidegen.sheets.frame import Box
from guidegen.sheets.labels import STRONG, Anchor, label, label_width_mm

TITLE_MM = 5.4
CAPTION_MM = 2.5
_RULE = Style(stroke_mm=0.15)
_NAME_RULE_MM = (62.0, 40.0)
_DATE_RULE_MM = (26.0, 18.0)
_GAP_MM = 1.6


@dataclass(frozen=True, slots=True)
class Title:
    """What stands at the head of a page. ``mirrored`` puts the name line on the left, as left-handers hold it."""

    title: str
    caption: str
    page: int = 1
    pages: int = 1
    name_line: bool = True
    mirrored: bool = False
    note: str = ""


def page_head(box: Box, head: Title) -> tuple[tuple[Item, ...], float]:
    """Return the head at the top of ``box`` and the height it takes, with the white below it."""
    if box.width < 60 or box.height < 60:
        return (), 0.0
    near, far = (box.right, box.left) if head.mirrored else (box.left, box.right)
    sides: tuple[Anchor, Anchor] = ("end", "start") if head.mirrored else ("start", "end")
    items: list[Item] = []
    rules = _name_and_date(box, head) if head.name_line else []
    size = _title_size(head.title, box.width - (_rules_width(box) + 6.0 if rules else 0.0))
    y = box.top - 0.66 * TITLE_MM
    if rules and size is None:
        items += _shifted(rules, -1j * (TITLE_MM + 2.0))
        size, extra = _title_size(head.title, box.width) or 3.0, TITLE_MM + 2.0
    else:
        items += rules
        size, extra = size or 3.0, 0.0
    items.append(label(_cut(head.title, box.width, size), complex(near, y), size, anchor=sides[0], weight=STRONG))
    y -= extra + 5.2
    number = f"page {head.page} of {head.pages}" if head.pages > 1 else ""
    room = box.width - (label_width_mm(number, CAPTION_MM) + 4.0 if number else 0.0)
    items.append(label(_cut(head.caption, room, CAPTION_MM), complex(near, y), CAPTION_MM, anchor=sides[0]))
    if number:
        items.append(label(number, complex(far, y), CAPTION_MM, anchor=sides[1]))
    if head.note:
        y -= 3.6
        items.append(label(_cut(head.note, box.width, CAPTION_MM), complex(near, y), CAPTION_MM, anchor=sides[0]))
    return tuple(items), box.top - y + 6.0


def running_head(box: Box, head: Title) -> tuple[tuple[Item, ...], float]:
    """Return the one small line at the top of a further page and the height it takes."""
    if box.width < 60 or box.height < 60:
        return (), 0.0
    near, far = (box.right, box.left) if head.mirrored else (box.left, box.right)
    sides: tuple[Anchor, Anchor] = ("end", "start") if head.mirrored else ("start", "end")
    y = box.top - 0.66 * CAPTION_MM
    number = f"page {head.page} of {head.pages}"
    title = _cut(head.title, box.width - label_width_mm(number, CAPTION_MM) - 4.0, CAPTION_MM)
    first = label(title, complex(near, y), CAPTION_MM, anchor=sides[0], weight=STRONG)
    return (first, label(number, complex(far, y), CAPTION_MM, anchor=sides[1])), box.top - y + 5.0


def _title_size(title: str, width: float) -> float | None:
    sizes: Sequence[float] = (TITLE_MM, 4.6, 4.0)
    return next((size for size in sizes if label_width_mm(title, size, STRONG) <= width), None)


def _cut(text: str, width: float, size: float) -> str:
    """Return ``text``, shortened with an ellipsis where it is wider than ``width``."""
    if label_width_mm(text, size, STRONG) <= width:
        return text
    while text and label_width_mm(text + "…", size, STRONG) > width:
        text = text[:-1]
    return text.rstrip(" ·,") + "…"


def _rules_width(box: Box) -> float:
    narrow = box.width < 150
    words = sum(label_width_mm(word, CAPTION_MM) + _GAP_MM for word in ("Name", "Date"))
    return words + _NAME_RULE_MM[narrow] + _DATE_RULE_MM[narrow] + 4.0


def _name_and_date(box: Box, head: Title) -> list[Item]:
    narrow = box.width < 150
    x = box.left if head.mirrored else box.right - _rules_width(box)
    y = box.top - 0.66 * TITLE_MM
    items: list[Item] = []
    for word, length in (("Name", _NAME_RULE_MM[narrow]), ("Date", _DATE_RULE_MM[narrow])):
        items.append(label(word, complex(x, y), CAPTION_MM))
        x += label_width_mm(word, CAPTION_MM) + _GAP_MM
        items.append(Line(complex(x, y - 0.3), complex(x + length, y - 0.3), _RULE))
        x += length + 4.0
    return items


def _shifted(items: Sequence[Item], by: complex) -> list[Item]:
    from guidegen.sheets.tiles import moved

    return [moved(item, by) for item in items]
