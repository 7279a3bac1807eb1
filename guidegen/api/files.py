"""Files of others: a drawing inked with a marker, any file measured."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any, Literal

from guidegen.api.nouns import HandLike, MarkerLike, Slant, lettering_at, right_size
from guidegen.api.pages import FilePath, Pages
from guidegen.errors import GuidegenError
from guidegen.hands.library import list_papers
from guidegen.lettering.letters import INK_TOLERANCE_MM


def ink(
    drawing: FilePath,
    marker: MarkerLike,
    *,
    hand: HandLike | None = None,
    slant_deg: Slant | None = None,
    x_height_mm: float | None = None,
    width_mm: float | None = None,
    tolerance_mm: float = INK_TOLERANCE_MM,
    centrelines: bool = False,
) -> Pages:
    """Ink a centreline drawing (SVG) with a marker: thick where the pen travels down, thin where it travels up.

    The file is read in a process of its own, bounded in time and memory. Lines are inked in the direction they were
    drawn. A polyline, line or path may state its own widths instead, in mm, one for each vertex:
    ``data-widths="0.4 1.2 3.2"``.

    Args:
        drawing: the file.
        marker: a marker, the name or path of its profile, or a lettering.
        hand: whose pressure and slant to ink with; None for the usual one of the tip.
        slant_deg: the axis, from the baseline, along which down is thick.
        x_height_mm: the size of lettering whose pressure is used; None for the right one.
        width_mm: the drawing's real width, when it does not say.
        tolerance_mm: how true the edges are.
        centrelines: keep the centrelines beside the outlines.

    Raises:
        GuidegenError: no such file, no whole SVG, nothing to ink, or widths that do not fit the lines.
    """
    from guidegen.fence import fenced

    path = Path(drawing)
    chosen = lettering_at(marker, hand, x_height_mm, slant_deg)
    made = fenced("guidegen.readers.inking:ink_file", (path, chosen, width_mm, tolerance_mm, centrelines), str(path))
    return Pages(f"ink-{path.stem}-{chosen.marker.name}", made, slant_deg=chosen.hand.slant_deg)


class Measures(Mapping[str, Any]):
    """What a file measures, as a mapping with the keys of ``guidegen inspect --json``; lengths in mm."""

    def __init__(self, values: Mapping[str, Any]) -> None:
        self._values = dict(values)

    def as_dict(self) -> dict[str, Any]:
        """Return the values as a plain dictionary."""
        return dict(self._values)

    @property
    def passed(self) -> bool:
        """Whether no rule of the preflight failed; True where none was asked for."""
        return all(finding["status"] != "fail" for finding in self._values.get("preflight", ()))

    def __getitem__(self, key: str) -> Any:
        return self._values[key]

    def __iter__(self) -> Iterator[str]:
        return iter(self._values)

    def __len__(self) -> int:
        return len(self._values)

    def __repr__(self) -> str:
        return f"Measures({self._values!r})"


def inspect_file(
    path: FilePath,
    *,
    page: int = 1,
    against: MarkerLike | None = None,
    hand: HandLike | None = None,
    slant_deg: Slant | None = None,
    purpose: Literal["cut", "print"] | None = None,
    min_feature_mm: float | None = None,
) -> Measures:
    """Read an SVG, PDF, PNG, DXF, EPS or font file back and tell what it measures.

    The file is read in a process of its own, bounded in time and memory, so that none can take the machine.

    Args:
        path: the file.
        page: which page to measure, from 1.
        against: a marker: tell whether the file fits it.
        hand: with ``against``: the hand; None for the usual one of the tip.
        slant_deg: with ``against``: from the baseline, in place of the hand's.
        purpose: check it by named rules for ``cut`` or ``print``.
        min_feature_mm: for ``cut``: narrower strokes and gaps fail.

    Raises:
        GuidegenError: a file that is none of these, or options that do not go together.
        OSError: there is no such file, or it may not be read.
    """
    from guidegen.fence import fenced
    from guidegen.inspect.against import target

    if min_feature_mm is not None and purpose != "cut":
        raise GuidegenError("`min_feature_mm`: it belongs to a check for cutting; add `purpose` cut")
    if against is None and (hand is not None or slant_deg is not None):
        raise GuidegenError("`hand`, `slant_deg`: they say how a marker is used; add `against` MARKER")
    size = None if against is None else target(right_size(against, hand=hand, slant_deg=slant_deg))
    arguments = (Path(path), page, tuple(list_papers().values()), size, purpose, min_feature_mm)
    return Measures(fenced("guidegen.inspect:inspect_file", arguments, str(path)))
