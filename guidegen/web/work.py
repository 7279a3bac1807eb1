"""What is worked out for the page, in processes of their own: plain values in, bytes and numbers out.

What a page shows and what is taken come from the functions that the commands call, so they are the same to the byte.
"""

from __future__ import annotations

import contextlib
import gzip
import os
import tempfile
from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

from guidegen.api.fonts import Font
from guidegen.api.jobs import Job
from guidegen.api.pages import Pages
from guidegen.api.plans import PlannedPiece
from guidegen.errors import GuidegenError, Plain, bad_input
from guidegen.hands.library import list_markers
from guidegen.profiles.markers import Marker
from guidegen.scene import Document, Item, Line, Placed, Shape
from guidegen.sheets.parts.phrases import ENGLISH
from guidegen.units import MM_PER_INCH
from guidegen.web.address import Address
from guidegen.web.found import Judged, Made, Planned
from guidegen.web.kinds import KINDS, OF_THE_SHOP
from guidegen.writers import render

MOST_PAGES = 60
PICTURE_PX = 250.0
_LARGER = ("a4", "a2", "a0")
_SEEN_MM = 0.35


def do(task: str, *arguments: Any) -> Any:
    """Do one of the tasks of this module, by its name."""
    found: Any = _TASKS[task]
    return found(*arguments)


def job(address: Address) -> Job:
    """Return the call of the library that makes what ``address`` asks for.

    Raises:
        GuidegenError: nothing is asked for, or a choice that is none.
    """
    kind = address.kind
    if kind is None:
        raise bad_input("`need`", "", Plain("nothing"), "one of " + ", ".join(KINDS))
    chosen = kind.values(address.choices)
    values = {name: value for name, value in chosen.items() if name not in OF_THE_SHOP}
    _practise(values)
    if kind.takes == "markers":
        values["markers"] = [address.marker, *address.also]
    elif kind.takes:
        values["marker"] = address.marker
    if kind.hand:
        values["hand"] = address.hand_or_none
        values["x_height_mm"] = address.x_height_mm
    if address.language and kind.speaks:
        values["language"] = address.language
    if kind.paper == "page":
        values |= {"paper": address.paper, "landscape": address.landscape}
    if kind.make == "plan":
        values["known"] = _shipped()  # the answer is the address's, whoever asks
    return Job(kind.make, values)


@cache
def _shipped() -> tuple[Marker, ...]:
    return tuple(entry.marker for entry in list_markers()[0])


def _practise(values: dict[str, Any]) -> None:
    """What is practised has one name in the library for each way of saying it."""
    if values.pop("practise", "") == "drills":
        values["drills"] = "all"


def result(address: Address) -> Pages | Font:
    """Return what ``address`` asks for, as the library gives it.

    Raises:
        GuidegenError: as the library's own; a plan that does not fit has no pages.
    """
    return _finished(address, job(address).run())


def _finished(address: Address, made: Any) -> Pages | Font:
    kind = address.kind
    assert kind is not None, "checked where the job was made"
    if isinstance(made, PlannedPiece):
        made = made.layout()
    chosen = kind.values(address.choices)
    shop = {name: chosen[name] for name in OF_THE_SHOP if name in chosen}
    if kind.finish == "cut":
        made = made.for_cut(**shop)
    elif kind.finish == "print":
        claimed = {"pdfx": "x-1a"} if "output_intent" in shop else {}  # the one standard that takes a name alone
        made = made.for_print(**shop, **claimed)
    if isinstance(made, Pages) and len(made) > MOST_PAGES:
        raise bad_input("`need`", "", Plain(f"{len(made)} pages"), f"at most {MOST_PAGES} at a time", "ask for less")
    assert isinstance(made, Pages | Font), f"{kind.name} makes neither pages nor a font"
    return made


def _seen(document: Document) -> Document:
    """Return pages as they are shown: a blade's path is a line of no width, which no screen draws."""
    pages = tuple(
        replace(page, layers=tuple(replace(layer, items=tuple(map(_thickened, layer.items))) for layer in page.layers))
        for page in document.pages
    )
    return replace(document, pages=pages)


def _thickened(item: Item) -> Item:
    if isinstance(item, Placed):
        return replace(item, symbol=replace(item.symbol, items=tuple(map(_thickened_drawing, item.symbol.items))))
    return _thickened_drawing(item)


def _thickened_drawing(item: Line | Shape) -> Line | Shape:
    width = item.style.stroke_mm
    if width is None or width >= _SEEN_MM:
        return item
    return replace(item, style=replace(item.style, stroke_mm=_SEEN_MM))


def _shown(address: Address) -> Made:
    found = job(address).run()
    plan = _planned(found) if isinstance(found, PlannedPiece) else None
    if plan is not None and not plan.fits:
        return Made("", "", found.notes, (), (), plan=plan)
    made = _finished(address, found)
    if isinstance(made, Font):
        size, pages = made.true_size_pt, made.specimen(address.language or ENGLISH)
    else:
        size, pages = None, made
    drawn = pages.files("svg")
    if address.kind is not None and address.kind.finish in {"cut", "print"}:
        drawn = render(_seen(pages.document) if address.kind.finish == "cut" else pages.document, "svg")
    svgs = tuple(gzip.compress(data, 5, mtime=0) for _, data in drawn)
    return Made(made.name, pages.document.title, tuple(pages.notes), pages.page_mm, svgs, size, plan)


def _planned(piece: PlannedPiece) -> Planned:
    told, paper = piece.as_dict(), piece.smallest_paper
    white = told["white_mm"]
    return Planned(
        fits=piece.fits,
        lines=piece.lines,
        width_mm=told["width_mm"],
        height_mm=told["height_mm"],
        x_height_mm=told["x_height_mm"],
        white_mm=(white["across"], white["down"]),
        smallest_paper=paper.label if paper else "",
        smallest_lies=bool(told["smallest_paper_landscape"]),
        largest_marker=next((one.label for one in _shipped() if one.name == piece.largest_marker), ""),
        fitting_x_height_mm=told["fitting_x_height_mm"],
    )


def _file(address: Address, file_format: str, page: int | None) -> tuple[str, bytes]:
    """Return the name and the bytes that the command would write; of one page where the format holds but one."""
    kind = address.kind
    if kind is None or file_format not in kind.formats:
        raise bad_input("`format`", "", file_format, "one of " + ", ".join(kind.formats if kind else ()))
    made = result(address)
    if isinstance(made, Font):
        return f"{made.name}.{file_format}", made.data(file_format)  # type: ignore[arg-type]  # one of the kind's own
    if file_format == "pdf" or len(made) == 1:
        ((suffix, data),) = made.files(file_format)
        return f"{made.name}{suffix}.{file_format}", data
    if page is None or not 1 <= page <= len(made):
        raise bad_input("`page`", "", "none" if page is None else page, f"a page from 1 to {len(made)}")
    ((_, data),) = made[page - 1].files(file_format)
    return f"{made.name}-{page}.{file_format}", data


def _picture(address: Address) -> bytes:
    """Return a small picture of the first page of a result, as PNG in a few greys."""
    first = _pictured(address)[0]
    ((width_mm, height_mm),) = first.page_mm
    ppi = PICTURE_PX / max(width_mm, 0.75 * height_mm) * MM_PER_INCH
    from guidegen.writers.png import in_greys

    is_fine = address.need in {"cut", "plan"}
    ((_, data),) = render(_seen(first.document) if is_fine else first.document, "png", ppi=ppi)
    return in_greys(data)


def _pictured(address: Address) -> Pages:
    kind = address.kind
    if kind is not None and kind.pictured is not None:
        make, values = kind.pictured
        lettering = {"hand": address.hand_or_none, "x_height_mm": address.x_height_mm}
        made = Job(make, {"marker": address.marker, **dict(values), **lettering}).run()
    else:
        made = _on_a_paper_that_holds_it(address)
    assert isinstance(made, Pages), f"{address.need} has no pages to picture"
    return made


def _on_a_paper_that_holds_it(address: Address) -> Pages | Font:
    """Return the result on the first paper it fits; where it fits none, on that of another marker's."""
    for paper in _LARGER:
        try:
            return result(address.but(paper=paper))
        except GuidegenError:
            continue
    usual = next(marker for marker in _shipped() if marker.tip == address.marker.tip)
    return result(address.but(marker=usual, hand="", x_height_mm=None))


def _names(address: Address, names: tuple[str, ...]) -> tuple[str, bytes]:
    """Return practice sheets for pupils as one PDF."""
    if len(names) > MOST_PAGES:
        raise bad_input("`names`", "", Plain(f"{len(names)} names"), f"at most {MOST_PAGES} at a time")
    kind = KINDS["worksheet"]
    keep = {name: value for name, value in address.choices.items() if name in {"arrows", "left_handed", "margin_mm"}}
    chosen = kind.values(keep)
    for name in ("practise", "text"):
        chosen.pop(name, None)
    around = {"paper": address.paper, "landscape": address.landscape}
    size = {"hand": address.hand_or_none, "x_height_mm": address.x_height_mm}
    if address.language:
        size["language"] = address.language
    made = Job("worksheet", {"markers": address.marker, "names": list(names), **chosen, **around, **size}).run()
    ((_, data),) = made.files("pdf")
    return f"{made.name}.pdf", data


def _measured(photo: bytes, label: str, tip: str | None, name: str, language: str) -> tuple[Marker, tuple[str, ...]]:
    """Return the marker whose strokes a picture of a swatch page shows, and what there is to tell in a language.

    The picture stays in memory: a file without a name or a place on a disk holds it while it is read.
    """
    from guidegen.api.scans import measure

    with _nameless(photo) as path:
        try:
            found = measure(path, name, label=label, tip=tip)  # type: ignore[arg-type]  # one of the tips
        except GuidegenError as error:
            raise GuidegenError(str(error).replace(str(path), "`photo`")) from None
    return found.markers[0], found.words(language)


def _checked(photo: bytes, called: str, address: Address) -> Judged:
    """Return what a picture of written letters, called ``called``, says of them. It stays in memory."""
    from guidegen.api.scans import check

    try:
        found = check(
            photo,
            address.marker,
            hand=address.hand_or_none,
            x_height_mm=address.x_height_mm,
            names=(called,),
            language=address.language or ENGLISH,
        )
    except GuidegenError as error:
        raise GuidegenError(str(error).replace(f"{called}:", "`photo`:", 1)) from None
    told = found.as_dict()
    return Judged(
        verdict=told["verdict"],
        letters=told["letters"],
        ratio=told["ratio"],
        ratio_95=None if told["ratio_95"] is None else tuple(told["ratio_95"]),
        x_height_mm=told["x_height_mm"],
        size_to_write_mm=told["size_to_write_mm"],
        notes=found.notes,
        picture=found.report("jpg"),
    )


@contextlib.contextmanager
def _nameless(data: bytes) -> Iterator[Path]:
    if not hasattr(os, "memfd_create"):
        with tempfile.NamedTemporaryFile() as file:
            file.write(data)
            file.flush()
            yield Path(file.name)
        return
    descriptor = os.memfd_create("photo")
    try:
        with os.fdopen(os.dup(descriptor), "wb") as file:
            file.write(data)
        yield Path(f"/proc/{os.getpid()}/fd/{descriptor}")
    finally:
        os.close(descriptor)


def _sample(address: Address) -> Any:
    from guidegen.web.sample import sample

    return sample(address)


def _face() -> bytes:
    from guidegen.web.face import page_face

    return page_face()


_TASKS = {
    "shown": _shown,
    "file": _file,
    "picture": _picture,
    "names": _names,
    "measured": _measured,
    "checked": _checked,
    "sample": _sample,
    "face": _face,
}
