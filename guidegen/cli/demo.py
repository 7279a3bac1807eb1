"""``demo``: the whole scenario into a folder, with an index page that shows it."""

from __future__ import annotations

import base64
import re
from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import partial
from html import escape
from itertools import groupby
from pathlib import Path
from typing import Any

import click

from guidegen.cli.given import GivenPath
from guidegen.cli.scenario import Exhibit
from guidegen.errors import GuidegenError, Plain, bad_input

MadeExhibit = tuple[Exhibit, list[Path], list[Path]]
PICTURES = "pictures"
GALLERY = "gallery"
_PAGE_NUMBER = re.compile(r"-[0-9]++$")


@click.command()
@click.option(
    "-o",
    "--out",
    type=GivenPath(path_type=Path),
    default="output",
    show_default=True,
    metavar="DIR",
    help="The folder.",
)
@click.option("--force", is_flag=True, help="Make everything again over an earlier run, the gallery included.")
def demo(out: Path, force: bool) -> None:
    """Make the whole demo scenario: the main job in one command.

    An evening lettering class in a harbour town, with seven markers: guide sheets, model letters and all else
    a teacher there would hand out. The folder's index.html shows every page and the command that made it.

    \b
    Examples:
      guidegen demo
      guidegen demo -o harbour
      guidegen demo --force
    """
    from guidegen.cli.progress import bar
    from guidegen.cli.scenario import exhibits
    from guidegen.jobs import run_in_order
    from guidegen.saving import new_folders, write_files

    index = out / "index.html"
    told = exhibits()
    _check_folder(out)
    taken = None if force else next(_in_the_way(told, out), None)
    if taken is not None:
        raise GuidegenError(f"{taken}: exists already and was left as it is; choose another folder or add --force")
    with new_folders(out, out / PICTURES, out / GALLERY), bar("harbour class", len(told)) as progress:
        write_files(((out / name, text.encode()) for name, text in _drawings(told)), force=True)
        made = list(run_in_order(partial(_make, out=out, force=force), told, batch=1, progress=progress.advance))
        write_files([(index, _index_page(made, out).encode())], force=True)
    click.echo(index)


def _check_folder(out: Path) -> None:
    for folder in (out / PICTURES, out, *out.parents):
        if folder.exists() and not folder.is_dir():
            raise bad_input(str(folder), "", Plain("a file"), "a folder, or a name for a new one")


def _drawings(told: Sequence[Exhibit]) -> list[tuple[str, str]]:
    return [exhibit.drawing for exhibit in told if exhibit.drawing]


def _in_the_way(told: Sequence[Exhibit], out: Path) -> Iterator[Path]:
    """Yield the files in the folder that have a name that is about to be written. The gallery is kept anyway."""
    names = [out / "index.html", *(out / name for name, _ in _drawings(told))]
    names += [out / f"{exhibit.name}.{ending}" for exhibit in told for ending in exhibit.files]
    names += [out / name for exhibit in told for name in exhibit.also]
    yield from (path for path in names if path.exists() or path.is_symlink())
    pictures = {exhibit.name for exhibit in told if exhibit.ppi}
    for path in sorted((out / PICTURES).glob("*.png")):
        if pictures & {path.stem, _PAGE_NUMBER.sub("", path.stem)}:
            yield path


def _make(exhibit: Exhibit, out: Path, *, force: bool) -> MadeExhibit:
    """Make each of an exhibit's files and its picture; return it with the files and the pictures."""
    from guidegen.saving import write_files

    made = _result(exhibit, out)
    files: list[Path] = []
    for ending in exhibit.files:
        beside = {"specimen": True} if exhibit.also else {}
        written = made.save(out / f"{exhibit.name}.{ending}", force=True, **beside)
        files += [path for path in written if path.name not in exhibit.also]
    files += [out / name for name in exhibit.also]
    if not exhibit.ppi:
        return exhibit, files, []
    pictures = made.save(out / PICTURES / f"{exhibit.name}.png", ppi=exhibit.ppi, force=True)
    kept = out / GALLERY / f"{exhibit.name}.png"
    if exhibit.gallery and (force or not kept.exists()):
        write_files([(kept, pictures[0].read_bytes())], force=True)
    return exhibit, files, pictures


def _result(exhibit: Exhibit, out: Path) -> Any:
    """Return the pages or font that the exhibit's job makes; its drawing lies in the folder."""
    job = exhibit.job
    if exhibit.drawing:
        job = replace(job, values={**job.values, "drawing": str(out / exhibit.drawing[0])})
    found = job.run()
    return found.layout() if hasattr(found, "layout") else found


def _index_page(made: list[MadeExhibit], out: Path) -> str:
    """Return the index as one HTML file with its pictures inside."""
    parts = [_HEAD]
    for section, group in groupby(made, key=lambda entry: entry[0].section):
        figures = "\n".join(_figure(exhibit, files, pictures, out) for exhibit, files, pictures in group)
        parts.append(f"<h2>{escape(section)}</h2>\n<div>\n{figures}\n</div>")
    parts.append("</main>\n</html>\n")
    return "\n".join(parts)


def _figure(exhibit: Exhibit, files: list[Path], pictures: list[Path], out: Path) -> str:
    links = " ".join(
        f'<a href="{escape(path.relative_to(out).as_posix())}">{escape(path.suffix.lstrip(".").upper())}</a>'
        for path in files
    )
    images = "".join(_image(path, exhibit.caption) for path in pictures[exhibit.shown - 1 : exhibit.shown])
    pages = f" ({len(pictures)} pages)" if len(pictures) > 1 else ""
    caption = f"{escape(exhibit.caption)}{pages} {links}"
    if exhibit.command:
        caption += f"<br><code>guidegen {escape(exhibit.command)}</code>"
    return f"<figure>{images}<figcaption>{caption}</figcaption></figure>"


def _image(path: Path, alt: str) -> str:
    data = base64.b64encode(path.read_bytes()).decode()
    return f'<img alt="{escape(alt)}" src="data:image/png;base64,{data}">'


_HEAD = """<!doctype html>
<html lang="en">
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>An evening lettering class in a harbour town</title>
<style>
  body { font: 16px/1.5 system-ui, sans-serif; color: #1b1b1b; background: #f4f2ee; margin: 0 }
  main { max-width: 76rem; margin: 0 auto; padding: 2rem 1rem }
  h2 { margin: 2.5rem 0 .75rem; font-weight: 600 }
  div { display: grid; grid-template-columns: repeat(auto-fill, minmax(15rem, 1fr)); gap: 1.5rem; align-items: start }
  figure { margin: 0 }
  img { display: block; width: 100%; height: auto; background: #fff; border: 1px solid #cfcac0; margin-bottom: .4rem }
  figcaption { font-size: .9rem }
  code { font-size: .8rem; color: #555; overflow-wrap: anywhere }
</style>
<main>
<h1>An evening lettering class in a harbour town</h1>
<p>Seven markers, each at the size its letters look right at. The pictures are small; the files linked below them
print at true scale: 1 mm in the file is 1 mm on paper. Under each stands the command that makes it.</p>"""
