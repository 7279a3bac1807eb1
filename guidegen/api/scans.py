"""A scan or photograph of a swatch page measured: widths with their intervals, profiles, a page that shows it all."""

from __future__ import annotations

import os
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

from guidegen.api.pages import FilePath, Pages
from guidegen.api.paper import PrinterLike, printer_of
from guidegen.errors import Plain, bad_input
from guidegen.limits import FENCE_SECONDS, MAX_SCANS
from guidegen.profiles.markers import DEFAULT_NIB_ANGLE_DEG, SMALLEST_WIDTH_MM, Marker, Tip, check_name

if TYPE_CHECKING:
    from guidegen.scan.measure import MeasuredMarker, ReadPicture
    from guidegen.scan.statistics import Width

_MEGABYTES = 2_600
"""A page of 180 million pixels takes 540 MB, and twice that while it is decoded."""


@dataclass(frozen=True, slots=True)
class Measured:
    """What pictures of a swatch page gave: :attr:`markers`, one for each block of the page, and how they were found."""

    markers: tuple[Marker, ...]
    _pictures: tuple[ReadPicture, ...]
    _found: tuple[MeasuredMarker, ...]

    @property
    def notes(self) -> tuple[str, ...]:
        """What is worth telling about the pictures and the strokes; each once."""
        told = [note for picture in self._pictures for note in picture.notes]
        told += [note for one in self._found for note in one.notes]
        for marker, found in zip(self.markers, self._found, strict=True):
            for fault, count in _faults(found).items():
                told.append(f"{marker.name}: {count} of {len(found.strokes)} strokes left out: {fault}")
        return tuple(dict.fromkeys(told))

    def as_dict(self) -> dict[str, Any]:
        """Return what ``guidegen measure --json`` tells; of several markers ``markers``, a list of such."""
        told = [_values(marker, found) for marker, found in zip(self.markers, self._found, strict=True)]
        return told[0] if len(told) == 1 else {"markers": told}

    def lines(self) -> tuple[str, ...]:
        """Return two lines for a person for each marker."""
        from guidegen.scan.report import width_words

        lines = []
        for marker, found in zip(self.markers, self._found, strict=True):
            thick, thin = width_words("downstroke", found.downstroke), ("", "")
            if found.hairline is not None:
                thin = width_words("hairline", found.hairline)
            lines += [f"{marker.name}: {thick[0]}; {thick[1]}"]
            lines += [f"{marker.name}: {thin[0]}; {thin[1]}"] if thin[0] else []
        return tuple(lines)

    def report(self) -> Pages:
        """Return the page with every edge that was used, every width, and the strokes left out and why."""
        from guidegen.scan.report import measure_report

        name = "measured-" + "-".join(marker.name for marker in self.markers)
        return Pages(name, measure_report(self._pictures, self._found, self.markers))


def measure(
    images: FilePath | Sequence[FilePath],
    name: str | Sequence[str],
    *,
    label: str | None = None,
    tip: Tip | None = None,
    nib_angle_deg: float | None = None,
    dpi: float | None = None,
    printer: PrinterLike | None = None,
    kind: Literal["scan", "photo"] | None = None,
) -> Measured:
    """Measure the strokes on a swatch page from scans or photographs of it.

    The pictures are read in a process of its own, bounded in time and memory, and nothing of them is kept.

    Args:
        images: JPEG, PNG, TIFF, WebP or a scan in a PDF; several pictures of one page or of copies of it are pooled.
        name: of the marker: a-z, 0-9, hyphens; of a page of several blocks one for each, in order.
        label: the name on pages; None for the name with a capital.
        tip: in place of the tip the page was made for (``pointed`` for a ``brush`` page, or the other way round).
        nib_angle_deg: a broad tip: how its edge was held; None for the direction of its thin strokes.
        dpi: a scan's resolution, in place of the file's.
        printer: what two 100 mm bars of the print measured, such as ``98.6x99.1``, or the name it was kept under:
            the scale of a photograph. A scan tells it itself.
        kind: ``scan`` or ``photo``, where the picture does not tell.

    Raises:
        GuidegenError: a picture that cannot be measured, in one line that says what to do.
        OSError: there is no such file, or it may not be read.
    """
    from guidegen.fence import fenced
    from guidegen.scan.measure import ReadOptions

    paths = _paths(images)
    names = (name,) if isinstance(name, str) else tuple(name)
    for one in names:
        check_name(one, "`name`")
    if dpi is not None and not 50 <= dpi <= 10_000:
        raise bad_input("`dpi`", "", dpi, "a scan's resolution from 50 to 10000 pixels per inch")
    measured = printer_of(printer)
    shares = None if measured is None else (measured.across_mm / 100, measured.down_mm / 100)
    job = ("guidegen.scan.measure:measure_files", (paths, ReadOptions(dpi, shares, kind)))
    pictures, found = fenced(*job, str(paths[0]), FENCE_SECONDS * len(paths), _MEGABYTES)
    if len(names) != len(found):
        blocks = Plain(f"{len(names)} name{'s' * (len(names) > 1)} for a page of {len(found)}")
        raise bad_input("`name`", "", blocks, "a name for each marker on the page, in order")
    markers = tuple(
        _marker(one, of, label if len(names) == 1 else None, tip, nib_angle_deg)
        for one, of in zip(names, found, strict=True)
    )
    return Measured(markers, tuple(pictures), tuple(found))


def _paths(images: FilePath | Sequence[FilePath]) -> tuple[Path, ...]:
    paths = (Path(images),) if isinstance(images, str | os.PathLike) else tuple(Path(image) for image in images)
    if not 1 <= len(paths) <= MAX_SCANS:
        raise bad_input("`images`", "", Plain(f"{len(paths)} pictures"), f"1 to {MAX_SCANS}")
    return paths


def _marker(
    name: str, found: MeasuredMarker, label: str | None, tip: Tip | None, nib_angle_deg: float | None
) -> Marker:
    kind = found.use
    if kind == "letters":
        raise bad_input("`images`", "", Plain("a page of letters"), "a page of strokes")
    if tip is not None and tip != kind and {tip, kind} != {"brush", "pointed"}:
        raise bad_input("`tip`", "", tip, f"{kind}, the tip the page was made for")
    kept: Tip = tip or kind
    thin = found.hairline or found.downstroke
    widths = [max(SMALLEST_WIDTH_MM, round(width.mm, 4)) for width in (found.downstroke, thin)]
    angle = None
    if kept == "broad":
        angle = round(nib_angle_deg if nib_angle_deg is not None else found.nib_angle_deg or DEFAULT_NIB_ANGLE_DEG, 1)
    return Marker(
        name,
        label or name.replace("-", " ").capitalize(),
        kept,
        widths[0],
        widths[0] if kept == "round" else widths[1],
        nib_angle_deg=angle,
        downstroke_sd_mm=round(found.downstroke.sd_mm, 4),
        hairline_sd_mm=round(thin.sd_mm, 4),
        samples=found.downstroke.samples + (found.hairline.samples if found.hairline else 0),
    )


def _values(marker: Marker, found: MeasuredMarker) -> dict[str, Any]:
    thin = found.hairline or found.downstroke
    values: dict[str, Any] = {"name": marker.name, "kind": found.kind}
    widths: dict[str, Width] = {"downstroke": found.downstroke, "hairline": thin}
    for key, width in widths.items():
        values |= {
            f"{key}_mm": width.mm,
            f"{key}_95_mm": list(width.interval_mm),
            f"{key}_measuring_95_mm": list(width.measuring_mm),
            f"{key}_sd_mm": width.sd_mm,
        }
    values["samples"] = {key: width.samples for key, width in widths.items()}
    values["dropped"] = _faults(found)
    values["scale"] = {"from": found.scale.source, "printer": list(found.scale.printer)}
    return values


def _faults(found: MeasuredMarker) -> dict[str, int]:
    faults = [stroke.fault for _, stroke in found.strokes if stroke.fault]
    return {fault: faults.count(fault) for fault in dict.fromkeys(faults)}
