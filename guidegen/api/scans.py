"""Scans and photographs of swatch pages: strokes measured, with intervals, as profiles; letters judged."""

from __future__ import annotations

import os
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

from guidegen.api.nouns import HandLike, MarkerLike, Size, Slant, right_size
from guidegen.api.page_setup import PrinterLike, printer_of
from guidegen.api.pages import FilePath, Pages
from guidegen.errors import GuidegenError, Plain, bad_input, printable
from guidegen.limits import FENCE_SECONDS, MAX_SCAN_MEGABYTES, MAX_SCANS
from guidegen.profiles.markers import (
    DEFAULT_NIB_ANGLE_DEG,
    LARGEST_X_HEIGHT_MM,
    SMALLEST_WIDTH_MM,
    Marker,
    Tip,
    check_name,
)
from guidegen.sheets.parts.phrases import ENGLISH, phrases

if TYPE_CHECKING:
    from guidegen.scan.check import CheckedPicture
    from guidegen.scan.measure import MeasuredMarker, ReadOptions, ReadPicture
    from guidegen.scan.statistics import Width


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
                thin = width_words("upstroke" if marker.tip == "brush" else "hairline", found.hairline)
            lines += [f"{marker.name}: {thick[0]}; {thick[1]}"]
            lines += [f"{marker.name}: {thin[0]}; {thin[1]}"] if thin[0] else []
        return tuple(lines)

    def words(self, language: str = ENGLISH) -> tuple[str, ...]:
        """Return what the report says of widths and pictures, and how many strokes were left out and why; each once.

        ``language``: see :func:`sheet`.
        """
        from guidegen.scan.report import measured_words

        return measured_words(self._pictures, self._found, phrases(language))

    def report(self, language: str = ENGLISH) -> Pages:
        """Return the page with every edge that was used, every width, and the strokes left out and why.

        ``language``: of its words; see :func:`sheet`.
        """
        from guidegen.scan.report import measure_report

        name = "measured-" + "-".join(marker.name for marker in self.markers)
        sizes = [_right_x_height_mm(marker) for marker in self.markers]
        return Pages(name, measure_report(self._pictures, self._found, self.markers, sizes, phrases(language)))


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
    card: bool = False,
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
        card: every picture shows a bank card (ISO/IEC 7810 ID-1), lying flat on the page beside the block: the scale,
            in place of ``printer`` and of a scan's resolution.

    Raises:
        GuidegenError: a picture that cannot be measured, in one line that says what to do.
        OSError: there is no such file, or it may not be read.
    """
    paths = _paths(images)
    names = (name,) if isinstance(name, str) else tuple(name)
    for one in names:
        check_name(one, "`name`")
    if len(set(names)) < len(names):
        raise bad_input("`name`", "", ",".join(names), "each name once")
    if label is not None and len(names) > 1:
        raise bad_input("`label`", "", label, "one marker for it", "leave it out, and change the profiles")
    _one_scale(printer, card=card)
    job = ("guidegen.scan.measure:measure_files", (paths, _options(dpi, printer, kind, card=card)))
    pictures, found = _fenced(*job, str(paths[0]), len(paths))
    if len(names) != len(found):
        blocks = Plain(f"{len(names)} name{'s' * (len(names) > 1)} for a page of {len(found)}")
        raise bad_input("`name`", "", blocks, "a name for each marker on the page, in order")
    markers = tuple(
        _marker(one, of, label, tip, nib_angle_deg)
        for one, of in zip(names, found, strict=True)
    )
    return Measured(markers, tuple(pictures), tuple(found))


def _fenced(job: str, arguments: tuple[Any, ...], name: str, count: int) -> Any:
    """Return what a job over pictures returns, done behind the fence; ``name`` is the first one's."""
    from guidegen.fence import fenced

    ordinary = "a scan of one page", "scan at 600 dpi, and the block alone"
    return fenced(job, arguments, name, FENCE_SECONDS * count, MAX_SCAN_MEGABYTES, ordinary)


def _one_scale(printer: PrinterLike | None, *, card: bool) -> None:
    if card and printer is not None:
        raise bad_input("`card`", "", Plain("`printer` too"), "one scale: a card in the picture, or the print's bars")


def _interval(middle: float | None, within: float) -> list[float] | None:
    return None if middle is None or not within else [middle - within, middle + within]


def _options(
    dpi: float | None, printer: PrinterLike | None, kind: Literal["scan", "photo"] | None, *, card: bool = False
) -> ReadOptions:
    """Return how pictures are to be read, in the words of :func:`measure`."""
    from guidegen.scan.measure import ReadOptions

    if dpi is not None and not 50 <= dpi <= 10_000:
        raise bad_input("`dpi`", "", dpi, "a scan's resolution from 50 to 10000 pixels per inch")
    measured = printer_of(printer)
    shares = None if measured is None else (measured.across_mm / 100, measured.down_mm / 100)
    return ReadOptions(dpi, shares, kind, card)


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
    if nib_angle_deg is not None and kept != "broad":
        raise bad_input("`nib_angle_deg`", "", nib_angle_deg, f"a page for a broad tip; this one is for {kind}")
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


def _right_x_height_mm(marker: Marker) -> float | None:
    """Return the right size of a marker's letters; None for one whose usual hand has none."""
    try:
        return right_size(marker).x_height_mm
    except GuidegenError:
        return None


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


@dataclass(frozen=True, slots=True)
class Checked:
    """What pictures of written letters say, each against a marker's right size."""

    size: Size
    _pictures: tuple[CheckedPicture, ...]
    _language: str = ENGLISH

    @property
    def notes(self) -> tuple[str, ...]:
        """What is worth telling; each once."""
        several = len(self._pictures) > 1
        told = [f"{printable(one.name)}: {note}" if several else note for one in self._pictures for note in one.notes]
        return tuple(dict.fromkeys(told))

    def as_dict(self) -> dict[str, Any]:
        """Return what ``guidegen check --json`` tells; of several pictures ``pictures``, a list of such."""
        if len(self._pictures) == 1:
            return self._values(self._pictures[0])
        told = [{"image": one.name, **self._values(one)} for one in self._pictures]
        return {"marker": self.size.marker.name, "pictures": told}

    def lines(self) -> tuple[str, ...]:
        """Return what to tell a person: two lines, or of several pictures a table."""
        from guidegen.scan.check_report import advice, height_words

        if len(self._pictures) > 1:
            return _table([_row(one, self.size.x_height_mm) for one in self._pictures])
        (one,) = self._pictures
        slant = (
            "" if one.slant_deg is None else f"; slant {one.slant_deg:.0f}°, the hand's {self.size.hand.slant_deg:g}°"
        )
        height = "" if one.x_height_mm is None else f"x-height {height_words(one)}"
        count = one.letters or sum(faulty for _, faulty in one.faults)
        return " ".join(advice(one, self.size, phrases(ENGLISH))), f"{count} letters, {height}{slant}"

    def report(self, file_format: str = "png") -> bytes:
        """Return a picture (``png`` or ``jpg``) of every letter with what was measured, beside the good one."""
        from guidegen.scan.check_report import check_picture_of

        return check_picture_of(self._pictures, self.size, report_format(file_format), self._language)

    def _values(self, one: CheckedPicture) -> dict[str, Any]:
        if one.error:
            return {"error": one.error}
        return {
            "marker": self.size.marker.name,
            "letters": one.letters,
            "counter_mm": one.counter_mm,
            "downstroke_mm": one.downstroke_mm,
            "ratio": one.ratio,
            "ratio_95": None if one.ratio_95 is None else list(one.ratio_95),
            "x_height_mm": one.x_height_mm,
            "x_height_95_mm": _interval(one.x_height_mm, one.x_height_within_mm),
            "verdict": one.verdict,
            "size_to_write_mm": self.size.x_height_mm,
            "left_out": dict(one.faults),
            "slant_deg": one.slant_deg,
            "hand_slant_deg": self.size.hand.slant_deg,
            "kind": one.kind,
            "scale": None if one.scale is None else {"from": one.scale.source, "printer": list(one.scale.printer)},
        }


def report_format(asked: str) -> Literal["png", "jpg"]:
    """Return the format of a report of :func:`check`.

    Raises:
        GuidegenError: it is no picture's.
    """
    if asked not in ("png", "jpg", "jpeg"):
        raise bad_input("`report`", "", asked, "a picture: png or jpg")
    return "png" if asked == "png" else "jpg"


def check(
    images: FilePath | bytes | Sequence[FilePath | bytes],
    marker: MarkerLike,
    *,
    hand: HandLike | None = None,
    slant_deg: Slant | None = None,
    x_height_mm: float | None = None,
    names: Sequence[str] | None = None,
    dpi: float | None = None,
    printer: PrinterLike | None = None,
    kind: Literal["scan", "photo"] | None = None,
    card: bool = False,
    language: str = ENGLISH,
) -> Checked:
    """Judge letters written on a page of :func:`swatch` (``letters``) or on any sheet from a scan or photograph of it.

    The white inside each ``e``, across the slant, is compared with its full downstroke, as the right size is found.
    On sheets without ring marks letters are found by themselves, alone or in words. Millimetres are then by the scan's
    resolution, the sheet's proof bar, the height of its rows, or else the marker's own downstroke.
    The pictures are read in a process of its own, bounded in time and memory, and nothing of them is kept.

    Args:
        images: one picture, or those of a class: one that cannot be read is then told in its place. A picture is the
            path of a file, or the bytes of one.
        marker: what they were written with, as :func:`sheet` takes one.
        hand, slant_deg: see :func:`right_size`.
        x_height_mm: the height of the rows the letters stand on: the scale, where nothing else tells one.
        names: what the pictures are called in what is told; None for the names of their files.
        dpi, printer, kind: see :func:`measure`.
        card: as for :func:`measure`, on a page of boxes alone.
        language: of the words of the report; see :func:`sheet`.

    Raises:
        GuidegenError: a picture that cannot be judged, in one line that says what to do.
        OSError: there is no such file, or it may not be read.
    """
    pictures = _pictures(images, names)
    size = right_size(marker, hand=hand, slant_deg=slant_deg)
    if x_height_mm is not None and not 0.1 <= x_height_mm <= LARGEST_X_HEIGHT_MM:
        raise bad_input("`x_height_mm`", "", x_height_mm, f"a height from 0.1 to {LARGEST_X_HEIGHT_MM:g} mm")
    phrases(language)
    _one_scale(printer, card=card)
    job = ("guidegen.scan.check:check_files", (pictures, size, _options(dpi, printer, kind, card=card), x_height_mm))
    found = _fenced(*job, pictures[0][0], len(pictures))
    return Checked(size, tuple(found), language)


def _pictures(
    images: FilePath | bytes | Sequence[FilePath | bytes], names: Sequence[str] | None
) -> tuple[tuple[str, Path | bytes], ...]:
    """Return each picture with what it is called: of several the names of their files alone."""
    given = [images] if isinstance(images, str | bytes | os.PathLike) else list(images)
    if not 1 <= len(given) <= MAX_SCANS:
        raise bad_input("`images`", "", Plain(f"{len(given)} pictures"), f"1 to {MAX_SCANS}")
    if names is not None and len(names) != len(given):
        raise bad_input("`names`", "", Plain(f"{len(names)} names"), f"{len(given)}, one for each picture")
    made: list[tuple[str, Path | bytes]] = []
    for number, one in enumerate(given, start=1):
        source = one if isinstance(one, bytes) else Path(one)
        own = f"picture {number}" if isinstance(source, bytes) else source.name if len(given) > 1 else str(source)
        made.append((names[number - 1] if names else own, source))
    return tuple(made)


def _row(one: CheckedPicture, x_height_mm: float) -> tuple[str, ...]:
    if one.error:
        return printable(one.name), "", "", "", one.error.removeprefix(f"{one.name}: ")
    if one.verdict is None:
        return printable(one.name), "", "", "open", "close the bowl"
    ratio = "" if one.ratio is None else f"{one.ratio:.2f}"
    height = "" if one.x_height_mm is None else f"{one.x_height_mm:.1f} mm"
    return printable(one.name), ratio, height, str(one.verdict), f"{x_height_mm:.1f} mm"


def _table(rows: Sequence[tuple[str, ...]]) -> tuple[str, ...]:
    whole = [("picture", "white / stroke", "x-height", "verdict", "write"), *rows]
    widths = [max(len(row[n]) for row in whole) for n in range(4)]
    lines = ("  ".join([*(row[n].ljust(widths[n]) for n in range(4)), row[4]]).rstrip() for row in whole)
    return tuple(lines)
