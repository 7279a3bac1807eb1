"""Guide lines and slant lines of a page: heights, spacings, angles."""

from __future__ import annotations

import cmath
import math
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

from guidegen.geometry.path import Path
from guidegen.readers.contents import Edges, PageContents
from guidegen.scene import Purpose

HORIZONTAL_DEG = 0.05
SAME_MM = 0.006
SHORTEST_SLANT_MM = 1.5
ROLES = ("ascender", "x-height", "baseline", "descender")


@dataclass(frozen=True, slots=True)
class FoundLine:
    """A straight line on the page, left to right."""

    start: complex
    end: complex
    role: str | None
    row: str | None
    layer: str | None
    width_mm: float

    @property
    def length_mm(self) -> float:
        return abs(self.end - self.start)

    @property
    def angle_deg(self) -> float:
        """Direction from the baseline, 0 up to 180."""
        return math.degrees(cmath.phase(self.end - self.start)) % 180.0


def rules_of(page: PageContents) -> list[FoundLine]:
    """Return every straight line: single strokes, and filled rectangles thin enough to be meant as one."""
    found: list[FoundLine] = []
    for drawn in page.drawn:
        role, row = drawn.data.get("data-line"), drawn.data.get("data-row")
        for path in drawn.paths:
            ends: tuple[complex, complex] | None = None
            width = drawn.stroke_mm or 0.0
            if drawn.stroke is not None and len(path.segments) == 1 and len(path.segments[0]) == 2:
                ends = path.start, path.end
            elif drawn.fill is not None and (bar := _thin_bar(path)) is not None:
                ends, width = (bar[0], bar[1]), bar[2]
            if ends is not None and ends[0] != ends[1]:
                a, b = sorted(ends, key=lambda z: (z.real, z.imag))
                found.append(FoundLine(a, b, role, row, drawn.layer, width))
    return found


def _thin_bar(path: Path) -> tuple[complex, complex, float] | None:
    corners = [s[0] for s in path.segments]
    if len(corners) != 4 or any(len(s) != 2 for s in path.segments):
        return None
    left, right = min(z.real for z in corners), max(z.real for z in corners)
    low, high = min(z.imag for z in corners), max(z.imag for z in corners)
    if any(z.real not in (left, right) or z.imag not in (low, high) for z in corners):
        return None
    thin, long = sorted((right - left, high - low))
    if thin > 0.6 or long < 20 * thin:
        return None
    middle = complex((left + right) / 2, (low + high) / 2)
    along = complex(long / 2, 0) if right - left > high - low else complex(0, long / 2)
    return middle - along, middle + along, thin


def measure_lines(page: PageContents) -> dict[str, Any]:
    """Return ``lines`` (horizontal) and ``slants`` as ``inspect --json`` tells them, without our layers of marks."""
    trim = page.boxes.get("TrimBox") or page.boxes.get("ArtBox")
    rules = [r for r in rules_of(page) if not _is_mark(r.layer) and not _is_outside(r, trim)]
    flat = [r for r in rules if min(r.angle_deg, 180 - r.angle_deg) < HORIZONTAL_DEG]
    slanted = [r for r in rules if min(r.angle_deg, 180 - r.angle_deg) >= HORIZONTAL_DEG]
    return {"lines": _horizontal(flat), "slants": _slants(slanted)}


def _is_mark(layer: str | None) -> bool:
    purpose = Purpose.of(layer)
    return purpose is not None and purpose.is_mark


def _is_outside(rule: FoundLine, trim: Edges | None) -> bool:
    """True for a line outside the trim, where crop marks are and nothing to write on."""
    if trim is None:
        return False
    middle = (rule.start + rule.end) / 2
    return not (trim[0] <= middle.real <= trim[2] and trim[1] <= middle.imag <= trim[3])


def _horizontal(flat: list[FoundLine]) -> dict[str, Any]:
    if not flat:
        return {"count": 0}
    heights = _merged(sorted((r.start.imag + r.end.imag) / 2 for r in flat))
    spacings = [b - a for a, b in pairwise(heights)]
    roles = Counter(r.role for r in flat if r.role is not None)
    return {
        "count": len(flat),
        "heights_mm": heights[:400],
        "spacings_mm": [{"mm": mm, "count": n} for mm, n in clusters(spacings, 0.01)[:20]],
        "longest_mm": max(r.length_mm for r in flat),
        "shortest_mm": min(r.length_mm for r in flat),
        "widths_mm": [{"mm": mm, "count": n} for mm, n in clusters([r.width_mm for r in flat], 0.005)[:10]],
        "roles": dict(sorted(roles.items())),
        **(_labelled(flat) if roles else _guessed(flat)),
    }


def _labelled(flat: list[FoundLine]) -> dict[str, Any]:
    """Return the heights of the guide rows from what the lines say they are."""
    rows: dict[str, dict[str, float]] = {}
    for r in flat:
        if r.role in ROLES and r.row is not None:
            rows.setdefault(r.row, {})[r.role] = (r.start.imag + r.end.imag) / 2
    based = [row for row in rows.values() if "baseline" in row]

    def above(role: str) -> float | None:
        values = [row[role] - row["baseline"] for row in based if role in row]
        return abs(sorted(values)[len(values) // 2]) if values else None

    return _rows(len(rows), above("x-height"), above("ascender"), above("descender"), "labels")


def _guessed(flat: list[FoundLine]) -> dict[str, Any]:
    """Return the heights of guide rows of lines that don't say what they are; short ones belong to marks."""
    median = sorted(r.length_mm for r in flat)[len(flat) // 2]
    long = [r for r in flat if r.length_mm >= 0.8 * median]
    return rows_in(_merged(sorted((r.start.imag + r.end.imag) / 2 for r in long)))


def rows_in(heights_mm: Sequence[float], slack_mm: float = 0.03) -> dict[str, Any]:
    """Return guide rows where three spacings repeat: ascender, x-height, baseline, descender line; {} where not."""
    heights = list(heights_mm)[::-1]
    if len(heights) < 4 or len(heights) % 4:
        return {}
    rows = [heights[k : k + 4] for k in range(0, len(heights), 4)]
    first = [a - b for a, b in pairwise(rows[0])]
    same = all(abs((a - b) - f) < slack_mm for row in rows for (a, b), f in zip(pairwise(row), first, strict=True))
    if not same:
        return {}
    gaps = [above[3] - below[0] for above, below in pairwise(rows)]
    if gaps and all(abs(gap - first[0]) < slack_mm for gap in (*gaps, *first)):
        return {}  # evenly ruled or squared paper: any line may be a baseline
    return _rows(len(rows), first[1], first[0] + first[1], first[2], "the pattern of the spacings")


def _rows(
    count: int, x_height: float | None, ascender: float | None, descender: float | None, told_by: str
) -> dict[str, Any]:
    return {
        "rows": count,
        "x_height_mm": x_height,
        "ascender_height_mm": ascender,
        "descender_mm": descender,
        "rows_told_by": told_by,
    }


def _slants(slanted: Sequence[FoundLine]) -> list[dict[str, Any]]:
    groups: dict[float, list[FoundLine]] = {}
    for angle, _ in clusters([r.angle_deg for r in slanted if r.length_mm >= SHORTEST_SLANT_MM], 0.05):
        groups[angle] = [r for r in slanted if abs(r.angle_deg - angle) < 0.08 and r.length_mm >= SHORTEST_SLANT_MM]
    result = []
    for members in sorted(groups.values(), key=lambda rules: -len(rules))[:10]:
        gaps = clusters(_gaps(members), 0.02)
        mean = sum(r.angle_deg for r in members) / len(members)
        result.append({"deg": mean, "count": len(members), "spacing_mm": gaps[0][0] if gaps else None})
    return result


def _gaps(members: Sequence[FoundLine]) -> list[float]:
    """Return the distances along the baseline between neighbours that stand on one height."""
    feet: dict[int, list[float]] = {}
    for r in members:
        low = min((r.start, r.end), key=lambda z: z.imag)
        feet.setdefault(round(low.imag / 0.05), []).append(low.real)
    return [b - a for row in feet.values() for a, b in pairwise(_merged(sorted(row)))]


def clusters(values: Iterable[float], width: float) -> list[tuple[float, int]]:
    """Return (mean, count) of values that lie within ``width`` of their neighbour's start, the most frequent first."""
    groups: list[list[float]] = []
    for value in sorted(values):
        if groups and value - groups[-1][0] <= width:
            groups[-1].append(value)
        else:
            groups.append([value])
    return sorted(((sum(g) / len(g), len(g)) for g in groups), key=lambda pair: (-pair[1], pair[0]))


def _merged(values: Sequence[float]) -> list[float]:
    kept: list[float] = []
    for value in values:
        if not kept or value - kept[-1] > SAME_MM:
            kept.append(value)
    return kept
