"""Whether a program that takes a file's unit for 1/72 or 1/90 inch has scaled it.

A CSS pixel is 1/96 inch; programs that assume 90 or 72 of them to the inch leave a drawing at 90/96 = .9375,
72/96 = .75 or, the other way, at 96/90 = 1.0667, 96/72 = 1.3333, or at 72/90 and 90/72 between the two. Our own
proof bar tells it, and where there is none, a page that is a known paper at one of these ratios.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Any

from guidegen.inspect.slant_and_rows import HORIZONTAL_DEG, FoundLine, rules_of
from guidegen.profiles.papers import Paper
from guidegen.profiles.printers import BAR_MM
from guidegen.readers.contents import PageContents

RATIOS = {
    90 / 96: "96 px/in read as 90",
    72 / 96: "96 px/in read as 72",
    72 / 90: "90 px/in read as 72",
    96 / 90: "90 px/in read as 96",
    96 / 72: "72 px/in read as 96",
    90 / 72: "72 px/in read as 90",
}
"""What the drawing's size was multiplied with, and how that comes about."""
METRIC_TICKS = {11: 100.0, 6: 50.0, 5: 20.0}
INCH_TICKS = {9: 4.0, 5: 2.0, 4: 0.75}
"""How long a proof bar is by the number of its ticks: above the axis every 10 or 5 mm, below it every half or
quarter inch."""
RATIO_TOLERANCE = 5e-4


@dataclass(frozen=True, slots=True)
class ScaleVerdict:
    """The ratio found (1.0: true), by what, and in words.

    A page of the right size is not ``proven``: what is on it may have been fitted to it.
    """

    ratio: float
    told_by: str
    cause: str
    proven: bool = True

    def figures(self) -> dict[str, Any]:
        """Return the verdict as ``--json`` tells it."""
        known = self.ratio != 1.0 or self.proven
        return {
            "ratio": self.ratio if known else None,
            "told_by": self.told_by,
            "cause": self.cause,
            "true": self.ratio == 1.0 if known else None,
        }


def scaled(page: PageContents, papers: Iterable[Paper] = ()) -> ScaleVerdict | None:
    """Return whether the page has been scaled; None when nothing on it can tell."""
    by_bar = _by_bar(page)
    if by_bar is not None:
        return by_bar
    return _by_paper(page, list(papers))


def as_corrected(verdict: ScaleVerdict | None, correction: tuple[float, float] | None) -> ScaleVerdict | None:
    """Return the verdict on a file that says it was corrected: what 100 mm on paper are in it, across and down.

    A bar that is off by just that is as it should be; whether the print comes true, the print alone can tell.
    """
    if verdict is None or correction is None or verdict.told_by != "proof bar":
        return verdict
    meant = correction[0] / BAR_MM
    if abs(verdict.ratio / meant - 1) < RATIO_TOLERANCE:
        return ScaleVerdict(1.0, verdict.told_by, "as corrected for a printer", proven=False)
    return verdict


def _by_bar(page: PageContents) -> ScaleVerdict | None:
    """Find a proof bar by its ticks, whatever layer it stands on: both its scales must tell the same ratio."""
    rules = rules_of(replace(page, drawn=(*page.drawn, *page.hidden)))  # a cut file's bar is not plotted
    uprights = [r for r in rules if abs(r.angle_deg - 90) < HORIZONTAL_DEG and r.length_mm < 5]
    for axis in rules:
        if axis.length_mm < 10 or min(axis.angle_deg, 180 - axis.angle_deg) > HORIZONTAL_DEG:
            continue
        above, below = (_ticks(axis, uprights, end) for end in ("low", "high"))
        if len(above) not in METRIC_TICKS or len(below) not in INCH_TICKS:
            continue
        ratio = (max(above) - min(above)) / METRIC_TICKS[len(above)]
        twin = (max(below) - min(below)) / (INCH_TICKS[len(below)] * 25.4)
        if abs(ratio / twin - 1) < RATIO_TOLERANCE:
            return _verdict(ratio, "proof bar")
    return None


def _ticks(axis: FoundLine, uprights: list[FoundLine], end: str) -> list[float]:
    """Return where ticks stand on the axis with their ``low`` end, or hang from it by their ``high`` end."""
    y, slack = axis.start.imag, 0.03
    found = []
    for tick in uprights:
        low, high = sorted((tick.start.imag, tick.end.imag))
        x = tick.start.real
        touches = abs((low if end == "low" else high) - y) < slack
        if touches and axis.start.real - slack <= x <= axis.end.real + slack:
            found.append(x)
    return sorted({round(x, 3) for x in found})


def _verdict(ratio: float, told_by: str) -> ScaleVerdict:
    for known, cause in ((1.0, "drawn at true size"), *RATIOS.items()):
        if abs(ratio / known - 1) < RATIO_TOLERANCE:
            return ScaleVerdict(known, told_by, cause)
    return ScaleVerdict(ratio, told_by, "scaled by something else")


def _by_paper(page: PageContents, papers: list[Paper]) -> ScaleVerdict | None:
    if page.size_mm is None:
        return None
    sides = sorted(page.size_mm)
    for ratio, cause in ((1.0, "paper size matches; scale not proven"), *RATIOS.items()):
        for paper in papers:
            known = sorted((paper.width_mm, paper.height_mm))
            if all(abs(side / (whole * ratio) - 1) < RATIO_TOLERANCE for side, whole in zip(sides, known, strict=True)):
                return ScaleVerdict(ratio, f"paper {paper.name}", cause, proven=ratio != 1.0)
    return None
