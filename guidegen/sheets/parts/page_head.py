"""The head of a page that is handed out: a title, who it is for, and a line for name and date."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from guidegen.scene import Item, Line, Style, moved
from guidegen.sheets.parts.frame import Box
from guidegen.sheets.parts.labels import RISE, STRONG, Anchor, label, label_width_mm, wrapped
from guidegen.sheets.parts.phrases import Phrases, phrases

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
    say: Phrases = field(default_factory=phrases)
    more: str = ""

    @property
    def number(self) -> str:
        """Return which page this is, in words."""
        return self.say("head.page", page=self.page, pages=self.pages)


def page_head(box: Box, head: Title) -> tuple[tuple[Item, ...], float]:
    """Return the head at the top of ``box`` and the height it takes, with the white below it."""
    if not has_room(box):
        return (), 0.0
    near, far = (box.right, box.left) if head.mirrored else (box.left, box.right)
    sides: tuple[Anchor, Anchor] = ("end", "start") if head.mirrored else ("start", "end")
    rules = _name_and_date(box, head) if head.name_line else []
    extra = 0.0 if title_fits(box, head) else TITLE_MM + 2.0
    items = [*(moved(rule, -1j * extra) for rule in rules), *title_items(box, head)]
    y = box.top - RISE * TITLE_MM - extra - 5.2
    number = head.number if head.pages > 1 else ""
    room = box.width - (label_width_mm(number, CAPTION_MM) + 4.0 if number else 0.0)
    lines = wrapped(head.caption, room, CAPTION_MM)
    for count, line in enumerate(lines):
        y -= 3.6 * (count > 0)
        items.append(label(shortened(line, room, CAPTION_MM), complex(near, y), CAPTION_MM, anchor=sides[0]))
        if number and count == 0:
            items.append(label(number, complex(far, y), CAPTION_MM, anchor=sides[1]))
    for line in (head.note, *wrapped(head.more, box.width, CAPTION_MM)):
        if line:
            y -= 3.6
            items.append(label(shortened(line, box.width, CAPTION_MM), complex(near, y), CAPTION_MM, anchor=sides[0]))
    return tuple(items), box.top - y + 6.0


def has_room(box: Box) -> bool:
    """Tell whether a page is large enough to carry a head at all: a card's rows need the room."""
    return box.width >= 60 and box.height >= 60


def title_fits(box: Box, head: Title) -> bool:
    """Tell whether the title fits beside the line for the name."""
    return _title_size(head.title, _title_room(box, head)) is not None


def title_items(box: Box, head: Title) -> tuple[Item, ...]:
    """Return the title alone, where the head has it; nothing for an empty one."""
    if not head.title or not has_room(box):
        return ()
    size = _title_size(head.title, _title_room(box, head)) or _title_size(head.title, box.width) or 3.6
    near = box.right if head.mirrored else box.left
    at = complex(near, box.top - RISE * TITLE_MM)
    text = shortened(head.title, box.width, size)
    return (label(text, at, size, anchor="end" if head.mirrored else "start", weight=STRONG),)


def _title_room(box: Box, head: Title) -> float:
    return box.width - (_rules_width(box, head.say) + 6.0 if head.name_line else 0.0)


def running_head(box: Box, head: Title) -> tuple[tuple[Item, ...], float]:
    """Return the one small line at the top of a further page and the height it takes."""
    if not has_room(box):
        return (), 0.0
    near, far = (box.right, box.left) if head.mirrored else (box.left, box.right)
    sides: tuple[Anchor, Anchor] = ("end", "start") if head.mirrored else ("start", "end")
    y = box.top - RISE * CAPTION_MM
    number = head.number
    title = shortened(head.title, box.width - label_width_mm(number, CAPTION_MM) - 4.0, CAPTION_MM)
    first = label(title, complex(near, y), CAPTION_MM, anchor=sides[0], weight=STRONG)
    return (first, label(number, complex(far, y), CAPTION_MM, anchor=sides[1])), box.top - y + 5.0


def _title_size(title: str, width: float) -> float | None:
    sizes: Sequence[float] = (TITLE_MM, 4.6, 4.0)
    return next((size for size in sizes if label_width_mm(title, size, STRONG) <= width), None)


def shortened(text: str, width: float, size: float) -> str:
    """Return ``text``, shortened with an ellipsis where it is wider than ``width``."""
    if label_width_mm(text, size, STRONG) <= width:
        return text
    while text and label_width_mm(text + "…", size, STRONG) > width:
        text = text[:-1]
    return text.rstrip(" ·,") + "…"


def _blanks(say: Phrases) -> tuple[str, str]:
    return say("head.name"), say("head.date")


def _rules_width(box: Box, say: Phrases) -> float:
    narrow = box.width < 150
    words = sum(label_width_mm(word, CAPTION_MM) + _GAP_MM for word in _blanks(say))
    return words + _NAME_RULE_MM[narrow] + _DATE_RULE_MM[narrow] + 4.0


def _name_and_date(box: Box, head: Title) -> list[Item]:
    narrow = box.width < 150
    x = box.left if head.mirrored else box.right - _rules_width(box, head.say)
    y = box.top - RISE * TITLE_MM
    items: list[Item] = []
    for word, length in zip(_blanks(head.say), (_NAME_RULE_MM[narrow], _DATE_RULE_MM[narrow]), strict=True):
        items.append(label(word, complex(x, y), CAPTION_MM))
        x += label_width_mm(word, CAPTION_MM) + _GAP_MM
        items.append(Line(complex(x, y - 0.3), complex(x + length, y - 0.3), _RULE))
        x += length + 4.0
    return items
