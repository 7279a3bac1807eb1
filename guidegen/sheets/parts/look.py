"""How the guide lines of a page look, and what of a page a teacher may leave out."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, replace

from guidegen.checks import check_fields
from guidegen.errors import BadInputError, bad_input
from guidegen.scene import Document, Ink, Item, Layer, Line, Page, Placed, Purpose, Shape, Style, Symbol, grey

GUIDE_STYLES = ("fine", "grey", "copy")
_GREY = grey(0.5)
_COPY_MM = 0.18
"""No guide for the copier is thinner: a copy of a copy keeps it."""
_COLOUR = re.compile(r"#[0-9a-fA-F]{6}", re.ASCII)


def guide_style(value: object) -> str:
    """Return ``value`` if guides can look so.

    Raises:
        GuidegenError: it is neither a style nor a colour.
    """
    if isinstance(value, str) and (value in GUIDE_STYLES or _COLOUR.fullmatch(value)):
        return value
    raise bad_input("`guide_style`", "", value, "fine, grey, copy, or a colour such as #4477aa")


def _guide_style(value: object) -> str:
    try:
        return guide_style(value)
    except BadInputError as error:
        raise bad_input("", "", value, error.expected) from None


@dataclass(frozen=True, slots=True)
class Look:
    """How guide lines look, and what stands on a page beside them.

    ``guide_style`` is ``fine`` (black, no heavier than the ink allows), ``grey``, ``copy`` (black and strong enough
    for a copy of a copy) or a colour as ``#rrggbb``. ``slant_lines``, ``header``, ``model`` (the sample letter) and
    ``strokes`` (the sample strokes of the header) are left out where they are False.

    Raises:
        GuidegenError: a style that is none.
    """

    guide_style: str = "fine"
    slant_lines: bool = True
    header: bool = True
    model: bool = True
    strokes: bool = True

    def __post_init__(self) -> None:
        check_fields(self, {"guide_style": _guide_style})


PLAIN_LOOK = Look()


def looking(document: Document, look: Look) -> Document:
    """Return ``document`` with its guide lines as ``look`` says."""
    if look.guide_style == "fine" and look.slant_lines:
        return document
    change = _change(look.guide_style)
    suffix = f" {look.guide_style}"

    def page_of(page: Page) -> Page:
        layers = [layer for layer in page.layers if look.slant_lines or layer.purpose is not Purpose.SLANT]
        return replace(page, layers=tuple(_layer(layer, change, suffix) for layer in layers))

    return replace(document, pages=tuple(page_of(page) for page in document.pages))


def in_black(document: Document) -> Document:
    """Return ``document`` with every guide line in black, as a press or a copier wants it."""

    def page_of(page: Page) -> Page:
        return replace(page, layers=tuple(_layer(layer, _black, " black") for layer in page.layers))

    return replace(document, pages=tuple(page_of(page) for page in document.pages))


def _layer(layer: Layer, change: Callable[[Style], Style], suffix: str) -> Layer:
    if not layer.purpose.is_guide:
        return layer
    return replace(layer, items=tuple(_item(item, change, suffix) for item in layer.items))


def _item(item: Item, change: Callable[[Style], Style], suffix: str) -> Item:
    if isinstance(item, Placed):
        parts: tuple[Line | Shape, ...] = tuple(replace(part, style=change(part.style)) for part in item.symbol.items)
        return Placed(Symbol(f"{item.symbol.name}{suffix}", parts), item.at)
    return replace(item, style=change(item.style))


def _change(style: str) -> Callable[[Style], Style]:
    if style == "copy":
        return _strong
    if style == "fine":
        return _same
    ink = _GREY if style == "grey" else _colour(style)
    return lambda drawn: replace(drawn, stroke=ink)


def _same(drawn: Style) -> Style:
    return drawn


def _strong(drawn: Style) -> Style:
    return replace(_black(drawn), stroke_mm=max(_COPY_MM, drawn.stroke_mm or 0.0))


def _black(drawn: Style) -> Style:
    return replace(drawn, stroke=Ink())


def _colour(text: str) -> Ink:
    """Return a colour for screen and press; on a press black takes over what the three inks share."""
    red, green, blue = (int(text[start : start + 2], 16) / 255 for start in (1, 3, 5))
    most = max(red, green, blue)
    inks = tuple(0.0 if most == 0.0 else (most - part) / most for part in (red, green, blue))
    return Ink((red, green, blue), (inks[0], inks[1], inks[2], 1.0 - most))
