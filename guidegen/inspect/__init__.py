"""From a file to what it measures, in millimetres, and whether it may go to a press or a blade as it is."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

from guidegen.errors import bad_input
from guidegen.inspect.against import Target, fit
from guidegen.inspect.notes import notes_of
from guidegen.inspect.scaled import as_corrected, scaled
from guidegen.inspect.shapes import measure_shapes
from guidegen.inspect.slant_and_rows import measure_lines, rows_in
from guidegen.profiles.papers import Paper
from guidegen.profiles.printers import correction_in
from guidegen.readers import read_file
from guidegen.readers.contents import Contents


def measure(contents: Contents, page: int = 1, papers: Iterable[Paper] = ()) -> dict[str, Any]:
    """Return what page number ``page`` (from 1) of a file measures, as ``inspect --json`` tells it.

    ``papers`` are the known ones, to recognise a page that was scaled.

    Raises:
        GuidegenError: when there is no such page.
    """
    result: dict[str, Any] = {"format": contents.format, "page_mm": None}
    if not contents.pages:
        return {**result, **contents.facts}
    if not 1 <= page <= len(contents.pages):
        raise bad_input("`page`", "", page, f"a page from 1 to {len(contents.pages)}")
    shown = contents.pages[page - 1]
    if shown.size_mm is not None:
        result["page_mm"] = list(shown.size_mm)
    result["pages"] = len(contents.pages)
    result["page"] = page
    if shown.boxes:
        result["boxes_mm"] = {key: list(box) for key, box in shown.boxes.items()}
    if contents.format == "png":
        result["lines"] = _pixel_lines(contents.facts)
    elif contents.facts.get("contents_read", True):
        result |= {**measure_lines(shown), **measure_shapes(shown)}
    result |= {key: value for key, value in contents.facts.items() if key not in result}
    result["notes"] = notes_of(contents, shown)
    verdict = as_corrected(scaled(shown, papers), correction_in(contents.facts.get("description", "")))
    result["scaled"] = None if verdict is None else verdict.figures()
    return result


def _pixel_lines(facts: Mapping[str, Any]) -> dict[str, Any]:
    """Return what the horizontal lines of a picture tell; each is known to about half a pixel."""
    heights: list[float] = facts["line_heights_mm"]
    slack = 2 * 25.4 / facts["ppi"][1] if facts["ppi"] else 0.0
    shares: list[float] = facts["line_shares"]
    usual = sorted(shares)[len(shares) // 2] if shares else 0.0
    long = [height for height, share in zip(heights, shares, strict=True) if share >= 0.95 * usual]
    return {"count": len(heights), "heights_mm": heights, **rows_in(long, slack)}


def inspect_file(
    path: Path,
    page: int = 1,
    papers: tuple[Paper, ...] = (),
    against: Target | None = None,
    purpose: str | None = None,
    min_feature_mm: float | None = None,
) -> dict[str, Any]:
    """Read, measure and check one file: the whole of the command, fit to run behind a fence.

    Raises:
        GuidegenError: for a file that cannot be read, or a page that is not there.
        OSError: when the file cannot be opened.
    """
    contents = read_file(path)
    result = measure(contents, page, papers)
    if against is not None:
        result["against"] = fit(contents, page, result.get("lines", {}), against)
    if purpose is not None:
        from guidegen.inspect.preflight import preflight

        result["preflight"] = [finding.figures() for finding in preflight(contents, purpose, min_feature_mm)]
    return result
