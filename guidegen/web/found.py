"""What the processes found, as the page shows it: plain values, so that whoever leads requests loads nothing more."""

from __future__ import annotations

from dataclasses import dataclass

_LARGEST_ROW_MM = 130.0


@dataclass(frozen=True, slots=True)
class Sample:
    """The letter at one size, lengths in mm. ``svg`` is its picture; ``problem`` says why there is none."""

    svg: str = ""
    width_mm: float = 0.0
    height_mm: float = 0.0
    x_height_mm: float = 0.0
    right_mm: float = 0.0
    smallest_mm: float = 0.0
    largest_mm: float = 0.0
    ascender_mm: float = 0.0
    descender_mm: float = 0.0
    verdict: str = ""
    rule: str = ""
    counter_mm: float | None = None
    downstroke_mm: float | None = None
    letters: int | None = None
    hand_label: str = ""
    slant_deg: float = 0.0
    problem: str = ""

    @property
    def row_mm(self) -> float:
        """Return the height of a whole row."""
        return self.ascender_mm + self.descender_mm

    @property
    def too_tall(self) -> bool:
        """Return whether it is shown smaller than it is: a row that no screen has room for."""
        return self.row_mm > _LARGEST_ROW_MM

    @property
    def size(self) -> int:
        """Return the bytes it takes to keep."""
        return 1_000 + len(self.svg)


@dataclass(frozen=True, slots=True)
class Made:
    """A result as the page shows it. ``svgs`` are its pages, compressed; a font has its help page."""

    name: str
    title: str
    notes: tuple[str, ...]
    page_mm: tuple[tuple[float, float], ...]
    svgs: tuple[bytes, ...]
    true_size_pt: int | None = None

    @property
    def size(self) -> int:
        """Return the bytes it takes to keep."""
        return 2_000 + sum(len(svg) for svg in self.svgs)
