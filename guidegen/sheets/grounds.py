"""Grounds of screen pages: light, dark or coloured, each with an ink to read on it and guides dimmer than that."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace

from guidegen.errors import bad_input, did_you_mean
from guidegen.scene import BLACK, WHITE, Ink, Layer, Page, grey, painted

_COLOUR = re.compile(r"#[0-9a-fA-F]{6}")
_LIGHT_ENOUGH = 0.18
"""Black and white contrast alike with a ground of this luminance (WCAG 2, relative luminance, from memory)."""


@dataclass(frozen=True, slots=True)
class Ground:
    """A page's colour, and what is drawn on it in place of black: ink, and guide lines."""

    paper: Ink
    ink: Ink
    guide: Ink


THEMES = {
    "light": "#ffffff", "cream": "#f6edd9", "mint": "#dff0e4", "sky": "#dfeaf5", "rose": "#f6e3e4",
    "dark": "#1a1a1a", "night": "#14233b", "pine": "#15302a", "plum": "#33203a",
}  # fmt: skip


def ground(theme: str) -> Ground:
    """Return the ground that ``theme`` names: a word, or a colour such as ``#f6edd9``.

    Raises:
        GuidegenError: neither.
    """
    if theme == "light":
        return Ground(WHITE, BLACK, BLACK)
    if theme == "dark":
        return Ground(grey(0.9), grey(0.12), grey(0.5))
    if theme not in THEMES and not _COLOUR.fullmatch(theme):
        expected = f"one of {', '.join(THEMES)}, or a colour such as #f6edd9"
        raise bad_input("`theme`", "", theme, expected, did_you_mean(theme, THEMES))
    paper = _colour(THEMES.get(theme, theme))
    dark = _luminance(paper.rgb) < _LIGHT_ENOUGH
    ink = grey(0.08) if dark else BLACK
    return Ground(paper, ink, _between(paper, ink))


def grounded(page: Page, under: Ground) -> Page:
    """Return ``page`` on a ground: what was black in its ink, guides in theirs, what was white in its colour."""
    if under.ink == BLACK and under.paper == WHITE:
        return replace(page, background=WHITE)

    def on(layer: Layer) -> Layer:
        drawn = under.guide if layer.purpose.is_guide else under.ink
        marked = {BLACK: drawn, WHITE: under.paper}
        name = "".join(f"{round(255 * part):02x}" for part in under.paper.rgb)
        return replace(
            layer, items=tuple(painted(item, lambda ink: marked.get(ink, ink), f" {name}") for item in layer.items)
        )

    return replace(page, layers=tuple(on(layer) for layer in page.layers), background=under.paper)


def _colour(text: str) -> Ink:
    red, green, blue = (int(text[place : place + 2], 16) / 255 for place in (1, 3, 5))
    black = 1.0 - max(red, green, blue)
    rest = 1.0 - black
    cyan, magenta, yellow = ((rest - part) / rest if rest else 0.0 for part in (red, green, blue))
    return Ink((red, green, blue), (cyan, magenta, yellow, black))


def _between(paper: Ink, ink: Ink) -> Ink:
    """Return the colour of guides: halfway between ground and ink, so that letters stand out before them."""

    def mixed(one: tuple[float, ...], other: tuple[float, ...]) -> tuple[float, ...]:
        return tuple((a + b) / 2 for a, b in zip(one, other, strict=True))

    return Ink(mixed(paper.rgb, ink.rgb), mixed(paper.cmyk, ink.cmyk))  # type: ignore[arg-type]


def _luminance(rgb: tuple[float, float, float]) -> float:
    """Return the relative luminance of a colour, 0 to 1 (WCAG 2.2, from memory)."""
    red, green, blue = (part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in rgb)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue
