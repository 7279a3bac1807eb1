"""Pages at true scale: what every function that makes a page returns. They show themselves and save themselves."""

from __future__ import annotations

import os
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

from guidegen.errors import GuidegenError, bad_input, did_you_mean
from guidegen.saving import write_files
from guidegen.scene import Document, Shape

if TYPE_CHECKING:
    from guidegen.jobs import Progress
    from guidegen.profiles.papers import Paper
    from guidegen.profiles.printers import Printer
    from guidegen.sheets.name_sheets import NameSheets
    from guidegen.shop.orders import Operation
    from guidegen.shop.printshop import PrintOptions, Standard

FilePath = str | os.PathLike[str]
PPI = 300.0
_TILE_MARGIN_MM = 5.0
"""The least white round a tile: no home printer prints nearer to the edge."""


@dataclass(frozen=True, slots=True)
class _ForCutting:
    """How a file for a cutting machine is written."""

    reader_ppi: float | None = None
    splines: bool = True
    operation: Operation | None = None


if TYPE_CHECKING:
    Shop = _ForCutting | PrintOptions


class Pages:
    """One or more pages in true millimetres, made by a function such as :func:`guidegen.sheet`.

    In a notebook the first page shows itself; ``pages[1]`` is the second one alone. :meth:`save` writes SVG, PDF,
    PNG, EPS or DXF; a PDF holds all pages, the other formats are one file a page. Two calls with the same arguments
    give the same bytes.
    """

    def __init__(
        self,
        name: str,
        document: Document,
        warnings: Sequence[str] = (),
        *,
        ppi: float = PPI,
        corrected: bool = False,
        shop: Shop | None = None,
        slant_deg: float = 90.0,
    ) -> None:
        self._name, self._ppi = name, ppi
        self._document = document
        self._warnings = tuple(warnings)
        self._corrected = corrected
        self._shop = shop
        self._slant_deg = slant_deg

    @property
    def name(self) -> str:
        """The stem of the file that :meth:`save` writes when it is given no name."""
        return self._name

    @property
    def ppi(self) -> float:
        """Pixels per inch of a PNG, unless it is told otherwise."""
        return self._ppi

    @property
    def document(self) -> Document:
        """The pages as data: lines and shapes in mm, y up (:mod:`guidegen.scene`; not promised to stay)."""
        return self._document

    @property
    def slant_deg(self) -> float:
        """The slant of the letters, along which bridges of a stencil may stand; from the baseline."""
        return self._slant_deg

    @property
    def is_corrected(self) -> bool:
        """Whether the pages are corrected for a printer."""
        return self._corrected

    @property
    def notes(self) -> tuple[str, ...]:
        """What is worth telling about these pages, such as a size outside the marker's band; each once."""
        told = (*self._warnings, *self.document.notes, _boxes(self.document))
        return tuple(dict.fromkeys(note for note in told if note))

    @property
    def page_mm(self) -> tuple[tuple[float, float], ...]:
        """Width and height of each page, in mm."""
        return tuple((page.width_mm, page.height_mm) for page in self.document.pages)

    def as_dict(self) -> dict[str, Any]:
        """Return ``title``, ``description``, ``page_mm`` (a list of [width, height]) and ``notes``."""
        document = self.document
        return {
            "title": document.title,
            "description": document.description,
            "page_mm": [list(size) for size in self.page_mm],
            "notes": list(self.notes),
        }

    def __len__(self) -> int:
        return len(self.document.pages)

    def __getitem__(self, number: int) -> Pages:
        page = self.document.pages[number]
        return self._with(replace(self.document, pages=(page,)))

    def __repr__(self) -> str:
        sizes = dict.fromkeys(f"{width:g} x {height:g} mm" for width, height in self.page_mm)
        return f"<{self.name}: {len(self)} page{'s' if len(self) > 1 else ''}, {', '.join(sizes)}>"

    def svg(self, page: int = 1) -> str:
        """Return page number ``page`` (from 1) as SVG, 1 user unit a millimetre."""
        (data,) = (data for _, data in self[page - 1].files("svg"))
        return data.decode("utf-8")

    def _repr_svg_(self) -> str:
        return self.svg()

    def files(
        self,
        file_format: str = "pdf",
        *,
        ppi: float | None = None,
        transparent: bool = False,
        progress: Progress | None = None,  # noqa: ARG002  # there is something to tell only where it takes long
    ) -> Iterator[tuple[str, bytes]]:
        """Yield ``(suffix, bytes)`` of each file: the suffix is ``""``, or ``-1``, ``-2``, ... for files of one page.

        Args:
            file_format: ``svg``, ``pdf``, ``png``, ``eps`` or ``dxf``.
            ppi: PNG: pixels per inch; None for :attr:`ppi`.
            transparent: PNG and SVG: no paper behind the ink.
            progress: called with the number of pages finished since the last call.

        Raises:
            GuidegenError: no such format, one that the workshop does not take, or a picture too large to draw.
        """
        if self._shop is None:
            from guidegen.writers import render

            yield from render(self.document, file_format, ppi=ppi or self.ppi, transparent=transparent)
            return
        from guidegen.shop.orders import check_shop, cut_files, print_files

        if isinstance(self._shop, _ForCutting):
            check_shop("cut", file_format, corrected=self._corrected)
            how = self._shop
            yield from cut_files(
                self.document,
                file_format,
                reader_ppi=how.reader_ppi,
                splines=how.splines,
                operation=how.operation,
            )
        else:
            check_shop("print", file_format, corrected=self._corrected)
            yield from print_files(self.document, self._shop)

    def save(
        self,
        path: FilePath | None = None,
        *,
        file_format: str | None = None,
        ppi: float | None = None,
        transparent: bool = False,
        force: bool = False,
    ) -> list[Path]:
        """Write the pages, whole files or none, and return their paths.

        Args:
            path: the file; its ending sets the format. A folder gets a file called :attr:`name`; None is the current
                folder. Several pages in a format of one page a file become ``name-1.svg``, ``name-2.svg``, ...
            file_format: in place of the path's ending.
            ppi: PNG: pixels per inch; None for :attr:`ppi`.
            transparent: PNG: no paper behind the ink.
            force: overwrite files that exist.

        Raises:
            GuidegenError: no such format, or a file that exists (without ``force``).
            OSError: a folder cannot be written, the disk is full.
        """
        wanted = chosen_format(path, file_format, self.usual_format)
        target = target_path(path, self.name, wanted)
        files = self.files(wanted, ppi=ppi, transparent=transparent)
        return write_files(((target.with_stem(target.stem + suffix), data) for suffix, data in files), force=force)

    @property
    def usual_format(self) -> str:
        """The format of a file whose name does not say: ``pdf``, for a cutting machine ``svg``."""
        return "svg" if isinstance(self._shop, _ForCutting) else "pdf"

    def tiled(
        self,
        paper: str | Paper,
        margin_mm: float = _TILE_MARGIN_MM,
        *,
        printer: str | Printer | None = None,
        language: str = "en",
    ) -> Pages:
        """Return the pages cut into tiles for a smaller paper, with 10 mm overlap and register crosses.

        Args:
            paper: what the printer takes, such as ``a4``.
            margin_mm: white round each tile, at least 5 mm.
            printer: as of :func:`guidegen.sheet`: what each tile is corrected for. The page itself is then made
                without it, at true scale.
            language: of the words that name the tiles.

        Raises:
            GuidegenError: no such paper or printer, paper too small for tiles, or a page larger than it that was
                itself corrected for a printer.
        """
        from guidegen.api.page_setup import printer_of
        from guidegen.hands.library import load_paper
        from guidegen.sheets.tiles import larger, tile_document

        sheet = load_paper(paper, "`printer_paper`") if isinstance(paper, str) else paper
        chosen = printer_of(printer)
        if self._corrected and any(larger(page, sheet) for page in self.document.pages):
            raise GuidegenError(
                "`printer`: tiles lie on the printer's paper, not as the page does; make the page without `printer` "
                "and give it to its tiles"
            )
        tiles = tile_document(self.document, sheet, max(_TILE_MARGIN_MM, margin_mm), chosen, language)
        return self._with(tiles, corrected=self._corrected or chosen is not None)

    def larger_than(self, paper: str | Paper) -> bool:
        """Tell whether a page is larger than ``paper`` as it lies, so that :meth:`tiled` cuts it.

        Raises:
            GuidegenError: no such paper.
        """
        from guidegen.hands.library import load_paper
        from guidegen.sheets.tiles import larger

        sheet = load_paper(paper, "`printer_paper`") if isinstance(paper, str) else paper
        return any(larger(page, sheet) for page in self.document.pages)

    def for_cut(
        self,
        *,
        bridges_mm: float | None = None,
        min_feature_mm: float | None = None,
        mirror: bool = False,
        colours: Mapping[str, str] | None = None,
        reader_ppi: float | None = None,
        splines: bool = True,
        operation: Operation | None = None,
        thin_marks: bool = True,
        bridges_along: Literal["vertical", "slant"] = "vertical",
        kerf_mm: float | None = None,
        weed_box_mm: float | None = None,
        register: bool = False,
    ) -> Pages:
        """Return the pages for a cutting machine: layers cut, score and engrave, shapes closed and united.

        The proof bar, words and the rings round thin places stand on layers that are not plotted; EPS and PDF, which
        have none, hold nothing but one operation.

        Args:
            bridges_mm: tie the white in letters to the sheet by bridges so wide; None cuts letters whole.
            min_feature_mm: narrower strokes and gaps are told and ringed; None for 2 mm.
            mirror: for iron-on film and the inside of windows.
            colours: ``#rrggbb`` by layer (cut, score, engrave, proof, thin).
            reader_ppi: SVG for a program that ignores mm and takes so many units for an inch.
            splines: DXF with true splines; False for R12 polylines within 0.01 mm.
            operation: ``cut``, ``score`` or ``engrave`` alone; None for all of them, in EPS and PDF for ``cut``.
            thin_marks: ring what is narrower than ``min_feature_mm``.
            bridges_along: bridges stand ``vertical``, or along the letters' ``slant``.
            kerf_mm: what a beam burns away: half of it is added to the letters or, with bridges, to the sheet round
                them, so that what is kept keeps its size. A dragged knife's offset is set at the machine.
            weed_box_mm: cut a frame round the work, so much white between, to peel the waste off by.
            register: cut squares in three corners of the page, to lay sheets on each other by.

        Raises:
            GuidegenError: nothing to cut, bridges that hold nothing, or pages corrected for a printer.
        """
        from guidegen.shop.cutting import prepare_for_cut
        from guidegen.shop.orders import check_shop, cut_options

        check_shop("cut", "svg", corrected=self._corrected)
        options = cut_options(
            bridges_mm, min_feature_mm, mirror=mirror, colours=colours, thin_marks=thin_marks,
            bridges_along=bridges_along, slant_deg=self._slant_deg, kerf_mm=kerf_mm, weed_box_mm=weed_box_mm,
            register=register,
        )  # fmt: skip
        return self._with(prepare_for_cut(self._for_blade(), options), _ForCutting(reader_ppi, splines, operation))

    def for_print(
        self,
        *,
        bleed_mm: float | None = None,
        marks: bool = True,
        spot: str | None = None,
        guides_spot: bool = False,
        output_intent: str | None = None,
        icc: FilePath | None = None,
        pdfx: Standard | None = None,
        up: int | None = None,
        sheet: str | Paper | None = None,
        gutter_mm: float | None = None,
        ground: str | None = None,
        guides: Literal["overprint", "knockout"] | None = None,
    ) -> Pages:
        """Return the pages for a print shop: a PDF with trim and bleed, crop marks, layers and an output intent.

        Args:
            bleed_mm: bleed on every side; None for 3 mm.
            marks: draw crop marks.
            spot: ``NAME`` or ``NAME=C,M,Y,K`` (per cent): the letters' plate and its stand-in.
            guides_spot: guide lines on a plate of their own, ``Guides``.
            output_intent: the registered printing condition, such as FOGRA39.
            icc: the file of the printer's CMYK profile, put into the PDF.
            pdfx: ``x-4`` has layers, ``x-1a`` has none.
            up: so many on a sheet, with cut marks.
            sheet: the paper of that sheet, such as ``sra3``; None for a4.
            gutter_mm: white between them; None for edge to edge, or twice the bleed where they print to their edge.
            ground: ``C,M,Y,K`` (per cent) printed under everything, out into the bleed.
            guides: guide lines ``overprint`` or ``knockout``; None: solid black overprints, other inks knock out.

        Raises:
            GuidegenError: a value that is none of these, or pages corrected for a printer.
        """
        from guidegen.sheets.parts.look import in_black
        from guidegen.shop.orders import check_shop, print_notes, print_options

        check_shop("print", "pdf", corrected=self._corrected)
        order = print_options(
            bleed_mm,
            marks=marks,
            spot=spot,
            guides_spot=guides_spot,
            output_intent=output_intent,
            icc=None if icc is None else Path(icc),
            pdfx=pdfx,
            up=up,
            sheet=sheet,
            gutter_mm=gutter_mm,
            ground=ground,
            guides=guides,
        )
        document = in_black(self.document)
        return self._with(replace(document, notes=(*document.notes, *print_notes(order))), order)

    def _for_blade(self) -> Document:
        """Return the pages as a blade should follow them."""
        return self.document

    def _with(self, document: Document, shop: Shop | None = None, *, corrected: bool | None = None) -> Pages:
        """Return other pages that are named, sized and, unless ``shop`` says otherwise, made for the same."""
        was = self._corrected if corrected is None else corrected
        return Pages(
            self.name,
            document,
            self._warnings,
            ppi=self.ppi,
            corrected=was,
            shop=shop or self._shop,
            slant_deg=self._slant_deg,
        )


def bound(name: str, parts: Sequence[Pages], title: str = "") -> Pages:
    """Return several makes as one: their pages one after the other, each bookmarked; one alone stays as it is.

    ``title`` is that of the whole; without it the titles of the parts.
    """
    if len(parts) == 1 and not title:
        return parts[0]
    documents = [part.document for part in parts]
    pages = tuple(
        replace(page, bookmark=page.bookmark or page.title or document.title)
        for document in documents
        for page in document.pages
    )
    whole = title or ", ".join(dict.fromkeys(document.title for document in documents))
    description = " ".join(dict.fromkeys(document.description for document in documents))
    notes = [note for part in parts for note in part.notes]
    return Pages(
        name,
        Document(pages, whole, description),
        notes,
        ppi=parts[0].ppi,
        corrected=any(part.is_corrected for part in parts),
        slant_deg=parts[0].slant_deg,
    )


class NamePages(Pages):
    """The practice pages of a class of names: a PDF of them is written as the pages come, with flat memory."""

    def __init__(
        self,
        name: str,
        sheets: NameSheets,
        names: Sequence[str],
        warnings: Sequence[str] = (),
        *,
        corrected: bool = False,
    ) -> None:
        super().__init__(name, Document((), f"{len(names)} names"), warnings, corrected=corrected)
        self._sheets = sheets
        self._names = tuple(names)
        self._told: tuple[str, ...] | None = None

    @property
    def document(self) -> Document:
        """The pages of all names as data, made when they are first asked for."""
        if not self._document.pages:
            self._document = self._sheets.document(self._names)
        return self._document

    @property
    def notes(self) -> tuple[str, ...]:
        """What is worth telling about these pages; each once."""
        if self._told is None:
            return super().notes
        return tuple(dict.fromkeys((*self._warnings, *self._told)))

    def files(
        self,
        file_format: str = "pdf",
        *,
        ppi: float | None = None,
        transparent: bool = False,
        progress: Progress | None = None,
    ) -> Iterator[tuple[str, bytes]]:
        """Yield as :meth:`Pages.files` does; a PDF's pages are made in several processes."""
        if file_format != "pdf":
            yield from super().files(file_format, ppi=ppi, transparent=transparent)
            return
        from guidegen.writers.names_pdf import names_pdf

        data, self._told = names_pdf(self._names, self._sheets, progress)
        yield "", data


def chosen_format(
    path: FilePath | None, file_format: str | None, usual: str, known: Sequence[str] | None = None
) -> str:
    """Return the format asked for: ``file_format``, else the ending of ``path``, else ``usual``.

    Raises:
        GuidegenError: it is none of ``known`` (by default those that pages are written in).
    """
    from guidegen.writers import FORMATS

    formats = tuple(known or FORMATS)
    out = None if path is None else Path(path)
    ending = "" if out is None or str(out) == "-" or out.is_dir() else out.suffix.lstrip(".").lower()
    name = (file_format or ending or usual).lower()
    if name not in formats:
        where = "`file_format`" if file_format else f"`path` {path}"
        raise bad_input(where, "", name, "one of " + ", ".join(formats), did_you_mean(name, formats))
    return name


def target_path(path: FilePath | None, name: str, file_format: str) -> Path:
    """Return the file to write: ``path``, in a folder (or, for None, here) a file called ``name``."""
    if path is None:
        return Path(f"{name}.{file_format}")
    return Path(path) / f"{name}.{file_format}" if Path(path).is_dir() else Path(path)


def _boxes(document: Document) -> str:
    """Return what to say of characters on the pages that the labels' face lacks, "" where it lacks none."""
    layers = (layer for page in document.pages for layer in page.layers if layer.purpose.has_words)
    words = (item.name for layer in layers for item in layer.items if isinstance(item, Shape))
    unusual = "".join(char for word in words for char in word or "" if not " " <= char <= "~")
    if not unusual:
        return ""
    from guidegen.sheets.parts.labels import lacking

    missing = lacking(unusual)
    return f"the labels' face lacks {missing!r}; empty boxes stand for it" if missing else ""
