"""What the processes found, as the page shows it: plain values, so that whoever leads requests loads nothing more."""

from __future__ import annotations

from dataclasses import dataclass

LARGEST_ROW_MM = 130.0


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
        return self.row_mm > LARGEST_ROW_MM

    @property
    def size(self) -> int:
        """Return the bytes it takes to keep."""
        return 1_000 + len(self.svg)


@dataclass(frozen=True, slots=True)
class Judged:
    """What a picture of written letters says; lengths in mm, ``picture`` a JPEG of every letter and what was measured.

    ``verdict`` is one of the words of ``check``, or None where no bowl is closed; without white in any letter there is
    no ``ratio``.
    """

    verdict: str | None
    letters: int
    ratio: float | None
    ratio_95: tuple[float, float] | None
    x_height_mm: float | None
    size_to_write_mm: float
    notes: tuple[str, ...]
    picture: bytes


@dataclass(frozen=True, slots=True)
class Planned:
    """What a plan tells beside its pages, lengths in mm."""

    fits: bool
    lines: tuple[str, ...]
    width_mm: float
    height_mm: float
    x_height_mm: float
    white_mm: tuple[float, float]
    smallest_paper: str
    smallest_lies: bool
    largest_marker: str
    fitting_x_height_mm: float | None


@dataclass(frozen=True, slots=True)
class Made:
    """A result as the page shows it. ``svgs`` are its pages, compressed; a font has its help page.

    A plan that does not fit has no pages.
    """

    name: str
    title: str
    notes: tuple[str, ...]
    page_mm: tuple[tuple[float, float], ...]
    svgs: tuple[bytes, ...]
    true_size_pt: int | None = None
    plan: Planned | None = None

    @property
    def size(self) -> int:
        """Return the bytes it takes to keep."""
        return 2_000 + sum(len(svg) for svg in self.svgs)
