"""From options to pages to files: the way every command that makes pages goes."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import AbstractContextManager, nullcontext
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

import click
from click.core import ParameterSource

from guidegen.cli.app import at_success
from guidegen.cli.files import STDOUT, several_to_stdout, write_files
from guidegen.cli.options import Output, PaperChoice
from guidegen.cli.progress import waiting
from guidegen.cli.shop import Shop, for_shop
from guidegen.cli.wording import in_options
from guidegen.errors import GuidegenError, Plain, bad_input
from guidegen.saving import check_target

if TYPE_CHECKING:
    from guidegen.api.pages import Pages
    from guidegen.jobs import Progress
    from guidegen.profiles.papers import Paper
    from guidegen.profiles.printers import Printer

_NOTES = "guidegen.notes"
MARKER = "{marker}"
"""Stands in a path for the name of the marker whose pages a file holds."""


def save_pages(
    choice: PaperChoice,
    output: Output,
    make: Callable[..., Pages],
    *,
    shop: Shop | None = None,
    progress: Progress | None = None,
    told: str = "",
    each: Sequence[tuple[str, Callable[..., Pages]]] = (),
) -> None:
    """Make pages for each paper asked for, write all files or none, and print their paths.

    Args:
        choice: the papers and what surrounds the work on them.
        output: where the files go.
        make: called with the paper and what surrounds the work on it, by their names in the library.
        shop: what ``--for`` asks for.
        progress: told of finished pages, where they take long.
        told: what is printed before the paths, once the files are written.
        each: for several markers, each one's name and what makes its pages: a file each is written where ``--out`` is
            a folder or has ``{marker}`` in it.
    """
    for path in written_pages(choice, output, make, shop=shop, progress=progress, told=told, each=each)[1]:
        click.echo(path)


def written_pages(
    choice: PaperChoice,
    output: Output,
    make: Callable[..., Pages],
    *,
    shop: Shop | None = None,
    progress: Progress | None = None,
    told: str = "",
    each: Sequence[tuple[str, Callable[..., Pages]]] = (),
) -> tuple[list[Pages], list[Path]]:
    """Make and write pages as :func:`save_pages` does; return them and their paths in place of printing those."""
    file_format = output_format(output, shop)
    _check_shop(shop, file_format, corrected=choice.measured is not None or choice.printer is not None)
    papers = _papers(choice)
    if output.out == STDOUT and len(papers) > 1:
        raise several_to_stdout()
    if output.out and not output.out.is_dir() and file_format == "pdf" and len(papers) == 1 and output.out != STDOUT:
        check_target(output.out, force=output.force)  # before the work rather than after it
    printer = chosen_printer(choice)
    made = []
    with _waiting(progress):
        for name, maker in _makers(make, each, output):
            for paper in papers:
                pages = _on_printers_paper(maker, choice, printer, paper)
                made.append((name, f"-{paper.name}" if len(papers) > 1 else "", for_shop(pages, shop)))
    return [pages for *_, pages in made], _save(made, file_format, output, progress, told)


def _waiting(progress: Progress | None) -> AbstractContextManager[None]:
    """Return what tells a person who waits that pages are being made, unless a bar does so already."""
    return nullcontext() if progress is not None else waiting("making pages")


def _makers(
    make: Callable[..., Pages], each: Sequence[tuple[str, Callable[..., Pages]]], output: Output
) -> Sequence[tuple[str, Callable[..., Pages]]]:
    """Return what makes the files, with the marker that each is of ("" where one file holds all)."""
    apart = output.out is not None and (output.out.is_dir() or MARKER in str(output.out))
    return each if each and apart else [("", make)]


def _on_printers_paper(
    make: Callable[..., Pages], choice: PaperChoice, printer: Printer | None, paper: Paper
) -> Pages:
    """Return the pages, in tiles where the printer's paper is smaller: then those are corrected, as they lie."""
    pages = make(**around(choice, None if choice.printer_paper else printer), paper=paper)
    if choice.printer_paper is None:
        return pages
    if printer is not None and not pages.larger_than(choice.printer_paper):
        return make(**around(choice, printer), paper=paper)
    return pages.tiled(choice.printer_paper, choice.margin, printer=printer, language=choice.language)


def save_own_pages(
    pages: Pages, output: Output, shop: Shop | None = None, usual: str = "pdf", *, ppi_is_size: bool = False
) -> None:
    """Write pages that have their own size, and print the paths; ``usual`` is the format without ``--out``."""
    file_format = output_format(output, shop, usual, ppi_is_size=ppi_is_size)
    _check_shop(shop, file_format, corrected=False)
    for path in _save([("", "", for_shop(pages, shop))], file_format, output, None):
        click.echo(path)


def around(choice: PaperChoice, printer: Printer | None) -> dict[str, object]:
    """Return what surrounds the work on a paper, by its names in the library."""
    return {
        "landscape": choice.landscape,
        "margin_mm": choice.margin,
        "proof": choice.proof,
        "credit": choice.credit or "",
        "printer": printer,
        "language": choice.language,
    }


def _papers(choice: PaperChoice) -> list[Paper]:
    from guidegen.hands.library import load_paper

    papers = [load_paper(text) for text in choice.paper]
    return [replace(paper, inches=choice.units == "in") for paper in papers] if choice.units else papers


def _check_shop(shop: Shop | None, file_format: str, *, corrected: bool) -> None:
    if shop is not None and shop.purpose is not None:
        from guidegen.shop.orders import check_shop

        check_shop(shop.purpose, file_format, corrected=corrected)


def _save(
    made: Sequence[tuple[str, str, Pages]], file_format: str, output: Output, progress: Progress | None, told: str = ""
) -> list[Path]:
    from guidegen.api.pages import target_path

    targets = []
    for name, suffix, pages in made:
        out = Path(str(output.out).replace(MARKER, name)) if output.out is not None and name else output.out
        path = target_path(out, pages.name, file_format)
        targets.append((path if path == STDOUT else path.with_stem(path.stem + suffix), pages))
    _check_targets(targets, file_format, output)
    with _waiting(progress):
        written = write_files(_rendered(targets, file_format, output, progress), force=output.force)
    if told:
        click.echo(told)
    for *_, pages in made:
        note(*pages.notes)
    tell_notes()  # so late because an error is one line alone
    return written


def _check_targets(targets: Sequence[tuple[Path, Pages]], file_format: str, output: Output) -> None:
    """Raise before anything is drawn when a file may not be written, or several are to go to stdout."""
    for path, pages in targets:
        several = file_format != "pdf" and len(pages) > 1
        if path == STDOUT:
            if several or len(targets) > 1:
                raise several_to_stdout()
        elif not several:
            check_target(path, force=output.force)
        else:
            check_target(path.with_stem(f"{path.stem}-1"), force=output.force)


def _rendered(
    targets: Sequence[tuple[Path, Pages]], file_format: str, output: Output, progress: Progress | None
) -> Iterator[tuple[Path, bytes]]:
    for path, pages in targets:
        for suffix, data in pages.files(
            file_format, ppi=output.ppi, transparent=output.transparent, progress=progress
        ):
            yield (path if path == STDOUT else path.with_stem(path.stem + suffix)), data


def note(*notes: str) -> None:
    """Keep what is worth telling on stderr until the work is done; an empty one is none."""
    kept = click.get_current_context().meta.setdefault(_NOTES, {})
    kept.update(dict.fromkeys(text for text in notes if text))


def tell_notes() -> None:
    """Tell what :func:`note` has kept, each once."""
    context = click.get_current_context()
    for text in context.meta.pop(_NOTES, {}):
        click.echo(f"guidegen: {in_options(text, context.command.params)}", err=True)


def output_format(
    output: Output, shop: Shop | None = None, usual: str = "pdf", *, ppi_is_size: bool = False
) -> str:
    """Return the file format asked for: ``--format``, else the ending of ``--out``, else the usual one.

    Raises:
        GuidegenError: no such format, or what only pictures take (``--ppi`` not, where it is the page's size).
    """
    from guidegen.api.pages import chosen_format

    chosen = chosen_format(output.out, output.file_format, (shop and shop.default_format) or usual)
    if chosen != "png":
        asked = click.get_current_context().get_parameter_source
        for name in ("transparent", *(() if ppi_is_size else ("ppi",))):
            if asked(name) is ParameterSource.COMMANDLINE:
                raise bad_input(f"--{name}", "", Plain(f"a file of {chosen}"), "--format png", "leave it out")
    return chosen


def chosen_printer(choice: PaperChoice) -> Printer | None:
    """Return the printer's correction: ``--measured`` (kept under ``--printer``'s name), or what was kept.

    The edge that enters first belongs to the paper at hand and is not kept.
    """
    from dataclasses import replace

    measured = printer_from(choice.measured, choice.printer)
    if choice.feed is None:
        return measured
    if measured is None:
        raise GuidegenError("`feed`: it says how the paper enters a printer that is off; add `measured` or `printer`")
    return replace(measured, feed=choice.feed)


def printer_from(measured: str | None, name: str | None) -> Printer | None:
    """Return what ``--measured`` says, or what was kept under ``--printer``'s name.

    With both it is kept under that name once the command has done its work: one that fails leaves nothing behind.
    """
    from guidegen.hands.own import check_can_keep, keep_printer, kept_printer
    from guidegen.profiles.printers import parse_measured

    found = parse_measured(measured) if measured is not None else None
    if name is None:
        return found
    if found is None:
        return kept_printer(name)
    check_can_keep(name)
    at_success(partial(keep_printer, name, found))
    return found
