"""From options to pages to files: the way every command that makes pages goes."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import click

from guidegen.cli.files import STDOUT, several_to_stdout, write_files
from guidegen.cli.options import Output, PaperChoice
from guidegen.cli.shop import Shop, check_shop, prepared, shop_files
from guidegen.cli.wording import in_options
from guidegen.errors import bad_input, did_you_mean
from guidegen.saving import check_target

if TYPE_CHECKING:
    from guidegen.profiles.papers import Paper
    from guidegen.profiles.printers import Printer
    from guidegen.scene import Document
    from guidegen.sheets.parts.frame import Proof, Setup

_NOTES = "guidegen.notes"
_TILE_MARGIN_MM = 5.0
"""The least white round a tile: no home printer prints nearer to the edge."""


def save_pages(
    name: str,
    choice: PaperChoice,
    output: Output,
    make: Callable[[Setup], Document],
    *,
    proof: Proof = "bar",
    shop: Shop | None = None,
) -> None:
    """Make a document for each paper asked for, write all files or none, and print their paths.

    Args:
        name: stem of the file without ``--out``, such as ``sheet-cobble``.
        choice: the papers and what surrounds the work on them.
        output: where the files go.
        make: lays the document out on one paper.
        proof: the proof marks where ``--proof`` does not say.
        shop: what ``--for`` asks for.
    """
    default = (shop and shop.default_format) or "pdf"
    base = output_path(output, name, default)
    file_format = output_format(output, default)
    check_shop(shop, file_format, corrected=choice.measured is not None or choice.printer is not None)
    if base == STDOUT and len(choice.paper) > 1:
        raise several_to_stdout()
    setups = page_setups(choice, proof)
    if file_format == "pdf" and len(setups) == 1 and base != STDOUT:
        check_target(base, force=output.force)  # before the work rather than after it
    tiled = tiles(choice)
    documents = [(_for_paper(base, setup, len(setups)), prepared(tiled(make(setup)), shop)) for setup in setups]
    _save(documents, file_format, output, shop)


def tiles(choice: PaperChoice) -> Callable[[Document], Document]:
    """Return what cuts pages larger than ``--printer-paper`` into tiles; nothing is cut without it.

    Raises:
        GuidegenError: for a paper that is none.
    """
    if choice.printer_paper is None:
        return lambda document: document
    from guidegen.hands.library import load_paper
    from guidegen.sheets.tiles import tile_document

    paper = load_paper(choice.printer_paper, "--printer-paper")
    return lambda document: tile_document(document, paper, max(_TILE_MARGIN_MM, choice.margin))


def save_document(name: str, document: Document, output: Output, default: str, shop: Shop | None = None) -> None:
    """Write a document that has its own page, and print the paths; ``default`` is the format without ``--out``."""
    default = (shop and shop.default_format) or default
    file_format = output_format(output, default)
    check_shop(shop, file_format, corrected=False)
    _save([(output_path(output, name, default), prepared(document, shop))], file_format, output, shop)


def _save(documents: list[tuple[Path, Document]], file_format: str, output: Output, shop: Shop | None) -> None:
    _check_targets(documents, file_format, output, shop)
    written = write_files(_rendered(documents, file_format, output, shop), force=output.force)
    for _, document in documents:
        note(*document.notes, _boxes(document))
    tell_notes()  # so late because an error is one line alone
    for path in written:
        click.echo(path)


def _check_targets(documents: list[tuple[Path, Document]], file_format: str, output: Output, shop: Shop | None) -> None:
    """Raise before anything is drawn when a file may not be written, or several are to go to stdout."""
    one_file = file_format == "pdf" or (shop is not None and shop.purpose == "print")
    for path, document in documents:
        several = len(document.pages) > 1 and not one_file
        if path == STDOUT:
            if several or len(documents) > 1:
                raise several_to_stdout()
        elif not several:
            check_target(path, force=output.force)
        else:
            check_target(path.with_stem(f"{path.stem}-1"), force=output.force)


def note(*notes: str) -> None:
    """Keep what is worth telling on stderr until the work is done; an empty one is none."""
    kept = click.get_current_context().meta.setdefault(_NOTES, {})
    kept.update(dict.fromkeys(text for text in notes if text))


def tell_notes() -> None:
    """Tell what :func:`note` has kept, each once."""
    for text in click.get_current_context().meta.pop(_NOTES, {}):
        click.echo(f"guidegen: {in_options(text)}", err=True)


def _boxes(document: Document) -> str:
    """Return what to say of characters on the pages that the labels' face lacks, "" where it lacks none."""
    from guidegen.scene import Shape
    from guidegen.sheets.parts.labels import lacking

    layers = (layer for page in document.pages for layer in page.layers if layer.purpose.has_words)
    words = (item.name for layer in layers for item in layer.items if isinstance(item, Shape))
    missing = lacking("".join(char for word in words for char in word or "" if not " " <= char <= "~"))
    return f"the labels' face lacks {missing!r}; empty boxes stand for it" if missing else ""


def _for_paper(base: Path, setup: Setup, papers: int) -> Path:
    return base.with_stem(f"{base.stem}-{setup.paper.name}") if papers > 1 and base != STDOUT else base


def _rendered(
    documents: list[tuple[Path, Document]], file_format: str, output: Output, shop: Shop | None
) -> Iterator[tuple[Path, bytes]]:
    from guidegen.writers import render

    for path, document in documents:
        if shop is not None and shop.purpose is not None:
            files = shop_files(document, file_format, shop)
        else:
            files = render(document, file_format, ppi=output.ppi, transparent=output.transparent)
        for suffix, data in files:
            yield (path if path == STDOUT else path.with_stem(path.stem + suffix)), data


def page_setups(choice: PaperChoice, proof: Proof = "bar") -> list[Setup]:
    """Return the page to lay out on for each paper asked for."""
    from guidegen.hands.library import list_papers, load_paper
    from guidegen.sheets.parts.frame import Setup

    printer = chosen_printer(choice)
    known = tuple(list_papers().values())
    papers = [load_paper(text) for text in choice.paper]
    marks: Proof = choice.proof or proof  # type: ignore[assignment]
    return [
        Setup(_laid(paper, choice.landscape), choice.margin, marks, choice.credit or "", printer, known)
        for paper in papers
    ]


def _laid(paper: Paper, landscape: bool) -> Paper:
    return paper.landscape() if landscape else paper


def output_path(output: Output, name: str, default: str) -> Path:
    """Return the path to write to: ``--out``, or ``name`` in the current folder with the format's ending.

    A folder given as ``--out`` gets a file of that name.
    """
    ending = output_format(output, default)
    if output.out is None:
        return Path(f"{name}.{ending}")
    return output.out / f"{name}.{ending}" if output.out.is_dir() else output.out


def output_format(output: Output, default: str) -> str:
    """Return the file format asked for: ``--format``, else the ending of ``--out``, else ``default``."""
    from guidegen.writers import FORMATS

    out = output.out
    ending = "" if out is None or out == STDOUT or out.is_dir() else out.suffix.lstrip(".").lower()
    name = (output.file_format or ending or default).lower()
    if name not in FORMATS:
        where = "--format" if output.file_format else f"--out {out}"
        raise bad_input(where, "", name, "one of " + ", ".join(FORMATS), did_you_mean(name, FORMATS))
    return name


def chosen_printer(choice: PaperChoice) -> Printer | None:
    """Return the printer's correction: ``--measured`` (kept under ``--printer``'s name), or what was kept."""
    from guidegen.hands.own import keep_printer, kept_printer
    from guidegen.profiles.printers import parse_measured

    measured = parse_measured(choice.measured) if choice.measured is not None else None
    if choice.printer is None:
        return measured
    if measured is None:
        return kept_printer(choice.printer)
    keep_printer(choice.printer, measured)
    return measured
