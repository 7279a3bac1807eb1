"""What stands in a file, whoever wrote it: pages of painted paths, pictures and words, in millimetres, y up.

Readers fill these nouns; :mod:`guidegen.inspect` measures them. The origin of a page is its lower left corner.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from guidegen.geometry.path import Path

Edges = tuple[float, float, float, float]
"""Left, bottom, right, top in mm."""


@dataclass(frozen=True, slots=True)
class Paint:
    """A colour as the file states it. ``space`` is ``gray``, ``rgb``, ``cmyk``, ``spot``, ``lab`` or ``pattern``.

    ``values`` are 0..1; for a spot colour they are tints, and ``plates`` names its plates. ``rgb`` is what a
    screen would about show.
    """

    space: str
    values: tuple[float, ...]
    plates: tuple[str, ...] = ()

    @property
    def name(self) -> str:
        """A short text such as ``cmyk 0 0 0 1``, ``spot Guides 1`` or ``#d00000``."""
        if self.space == "rgb":
            return "#" + "".join(f"{round(255 * min(max(part, 0.0), 1.0)):02x}" for part in self.values)
        return " ".join((self.space, *self.plates, *(f"{value:.4g}" for value in self.values)))


BLACK_INK = Paint("gray", (0.0,))


@dataclass(frozen=True, slots=True)
class Drawn:
    """Paths painted together. ``stroke_mm`` is None when nothing is stroked.

    ``layer`` is the group, layer or optional content they belong to; ``data`` holds what the file says about
    them besides (``data-line``, ``data-row``, ``data-marker``, ``data-widths``). ``transparent`` is true under
    any opacity, mask or blend mode.
    """

    paths: tuple[Path, ...]
    fill: Paint | None = None
    stroke: Paint | None = None
    stroke_mm: float | None = None
    layer: str | None = None
    overprint: bool = False
    transparent: bool = False
    data: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Picture:
    """A picture of pixels and the box it is placed in."""

    box: Edges
    width_px: int
    height_px: int
    space: str = ""
    layer: str | None = None

    @property
    def ppi(self) -> float | None:
        """Pixels per inch, the lower of both axes (for pictures that are not turned)."""
        across, down = self.box[2] - self.box[0], self.box[3] - self.box[1]
        if min(across, down) <= 0 or min(self.width_px, self.height_px) <= 0:
            return None
        return min(self.width_px / across, self.height_px / down) * 25.4


@dataclass(frozen=True, slots=True)
class Words:
    """Text set in a font: the font's name, its size, and whether the file carries the font."""

    font: str
    size_mm: float
    embedded: bool
    layer: str | None = None
    fill: Paint | None = None


@dataclass(frozen=True, slots=True)
class PageContents:
    """One page. ``size_mm`` is None where the file does not say how large it is.

    ``hidden`` is what the file holds and nobody sees or plots: on layers that are off, frozen or not plotted, in groups
    that are not displayed.
    """

    size_mm: tuple[float, float] | None
    drawn: tuple[Drawn, ...] = ()
    pictures: tuple[Picture, ...] = ()
    words: tuple[Words, ...] = ()
    boxes: Mapping[str, Edges] = field(default_factory=dict)
    hidden: tuple[Drawn, ...] = ()
    annotations: tuple[Edges, ...] = ()


@dataclass(frozen=True, slots=True)
class Contents:
    """A whole file. ``facts`` are what only its format has (units stated, version, output intents, ...)."""

    format: str
    pages: tuple[PageContents, ...]
    facts: Mapping[str, Any] = field(default_factory=dict)
