"""What ``plan`` does: a piece or a set of names, told in words or JSON, and written as a layout when asked."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from guidegen.cli.hand_of import in_hand
from guidegen.cli.options import LetteringChoice, Output, PaperChoice, print_json
from guidegen.cli.params import marker_folders
from guidegen.cli.saving import page_setups, save_pages, tell_notes
from guidegen.cli.shop import Shop
from guidegen.cli.texts import check_names, read_text_file, texts
from guidegen.errors import GuidegenError, bad_input
from guidegen.units import inches

if TYPE_CHECKING:
    from collections.abc import Iterator

    from guidegen.lettering.lettering import Lettering
    from guidegen.profiles.markers import Marker
    from guidegen.profiles.papers import Paper
    from guidegen.sheets.name_set import SetPlan
    from guidegen.sheets.parts.forms import Form
    from guidegen.sheets.parts.frame import Setup
    from guidegen.sheets.plan import Piece, Plan


def marker_named(name: str) -> Marker:
    """Return the marker called ``name``."""
    from guidegen.hands.library import load_marker

    return load_marker(name, marker_folders(click.get_current_context()))


def plan_piece(
    words: tuple[str, ...],
    own_lines: tuple[str, ...],
    lines: int | None,
    align: Any,
    options: LetteringChoice,
    page: PaperChoice,
    output: Output,
    *,
    envelope: bool,
    as_json: bool,
    shop: Shop,
) -> None:
    """Plan one piece on the (first) paper asked for, tell the result, and write the layout when ``--out`` is given."""
    from guidegen.sheets.plan import envelope_box, layout_sheet, plan, whole_box

    piece = _piece(words, own_lines, lines, align, options)
    setup = page_setups(page, "bar")[0]
    others = () if piece.own else known_letterings(piece.lettering)
    room = envelope_box if envelope else whole_box
    found = plan(piece, setup, others, room)
    if as_json:
        print_json(plan_values(found, piece))
    else:
        click.echo("\n".join(plan_words(found, piece, setup)))
    if output.out is not None or output.file_format is not None:

        def make(setup: Setup) -> Any:
            form: Form = "solid" if shop.purpose == "cut" else "ghost"
            return layout_sheet(plan(piece, setup, (), room), piece, setup, envelope=envelope, form=form)

        save_pages(f"plan-{piece.lettering.marker.name}", page, output, make, shop=shop)
    tell_notes()


def _piece(
    words: tuple[str, ...], own_lines: tuple[str, ...], lines: int | None, align: Any, options: LetteringChoice
) -> Piece:
    from guidegen.lettering.text import check_characters
    from guidegen.sheets.parts.wording import one_text
    from guidegen.sheets.plan import Piece

    if own_lines:
        if words or lines is not None:
            raise GuidegenError("--line: each line has its own marker and text; leave out MARKER, TEXT and --lines")
        own = []
        for entry in own_lines:
            name, colon, text = entry.partition(":")
            if not colon:
                raise bad_input("--line", "", entry, "MARKER:TEXT such as cobble:tide")
            lettering = in_hand(marker_named(name.strip()), options)
            own.append((lettering, one_text(text, "--line")))
            check_characters(lettering.hand, own[-1][1])
        return Piece(own[0][0], tuple(text for _, text in own), align, None, tuple(own))
    if len(words) < 2:
        raise bad_input("plan", "", " ".join(words) or "nothing", "MARKER TEXT, or --line MARKER:TEXT, or --names FILE")
    lettering = in_hand(marker_named(words[0]), options)
    paragraphs = texts(words[1:])
    check_characters(lettering.hand, "".join(paragraphs))
    if lines is not None and len(paragraphs) > 1:
        raise GuidegenError("--lines: the text has line breaks of its own; give it as one line to have it broken")
    count = len(paragraphs[0].split(" "))
    if lines is not None and lines > count:
        raise bad_input("--lines", "", lines, f"at most {count}, one word a line")
    return Piece(lettering, paragraphs, align, lines)


def known_letterings(lettering: Lettering) -> Iterator[Lettering]:
    """Yield every known marker that writes the same hand, thickest first, at its right size; the given one too."""
    from guidegen.hands.library import list_markers
    from guidegen.lettering.sizing import right_size

    found, _ = list_markers(marker_folders(click.get_current_context()))
    markers = {entry.marker.name: entry.marker for entry in found} | {lettering.marker.name: lettering.marker}
    for marker in sorted(markers.values(), key=lambda marker: (-marker.downstroke_mm, marker.name)):
        if marker.tip not in lettering.hand.tips and marker != lettering.marker:
            continue
        try:
            size = right_size(marker, lettering.hand)
        except GuidegenError:  # a marker with no right size in this hand is no candidate
            continue
        yield size.lettering


def plan_values(found: Plan, piece: Piece) -> dict[str, Any]:
    """Return the plan as the contract's JSON object."""
    paper = found.smallest_paper
    return {
        "fits": found.fits,
        "lines": len(found.block.lines),
        "width_mm": found.block.width_mm,
        "height_mm": found.block.height_mm,
        "x_height_mm": piece.lettering.x_height_mm,
        "smallest_paper": paper.name if paper else None,
        "smallest_paper_landscape": paper.width_mm > paper.height_mm if paper else None,
        "largest_marker": found.largest_marker,
        "fitting_x_height_mm": found.fitting_x_height_mm,
        "fitting_in_band": found.in_band,
        "white_mm": {"across": found.white_mm.real, "down": found.white_mm.imag},
        "text": [line.text for line in found.block.lines],
    }


def plan_words(found: Plan, piece: Piece, setup: Setup) -> list[str]:
    """Return the plan as lines to read."""
    from guidegen.sheets.parts.figures import mm_text

    block, paper = found.block, setup.paper
    lying = " landscape" if paper.width_mm > paper.height_mm else ""

    def size(width_mm: float, height_mm: float) -> str:
        metric = f"{width_mm:.0f} x {height_mm:.0f} mm"
        return f"{metric} ({inches(width_mm):.2f} x {inches(height_mm):.2f} in)" if paper.inches else metric

    verdict = "fits" if found.fits else "does not fit"
    lines = f"{len(block.lines)} line{'s' if len(block.lines) != 1 else ''}"
    told = [f"{verdict} {paper.label}{lying}: {lines} at x-height {mm_text(piece.lettering.x_height_mm)}"]
    told += [f"  {line.text}" for line in block.lines]
    told.append(f"block            {size(block.width_mm, block.height_mm)}")
    if found.fits:
        told.append(f"white left       {size(found.white_mm.real, found.white_mm.imag)}")
    told.append(smallest_paper_words(found.smallest_paper))
    if not piece.own:
        told.append(f"largest marker   {found.largest_marker or 'none of the known ones fits'}")
    if found.fitting_x_height_mm is not None:
        band = "in the band" if found.in_band else "outside the band"
        told.append(f"largest x-height {mm_text(found.fitting_x_height_mm)}, {band} of {piece.lettering.marker.name}")
    return told


def plan_names(
    name: str,
    path: Path,
    up: int | None,
    options: LetteringChoice,
    page: PaperChoice,
    output: Output,
    *,
    as_json: bool,
    shop: Shop,
) -> None:
    """Plan a set of names at one x-height, tell what breaks it, and write the cards when ``--out`` is given."""
    from guidegen.sheets.cards import card_box, card_sheets
    from guidegen.sheets.name_set import plan_set, set_marker, set_paper
    from guidegen.sheets.names import read_names

    lettering = in_hand(marker_named(name), options)
    names = read_names(read_text_file(path, "--names"), str(path))
    check_names(lettering, names, path)
    setup = page_setups(page, "none" if up is None else "bar")[0]
    card = card_box(setup, up)
    found = plan_set(lettering, names, card)
    ways_out = set_paper(found, setup, up), set_marker(names, card, known_letterings(lettering))
    if as_json:
        print_json(set_values(found, *ways_out))
    else:
        click.echo("\n".join(set_words(found, *ways_out)))
    if output.out is not None or output.file_format is not None:
        set_lettering = lettering.at(found.x_height_mm)
        form: Form = "solid" if shop.purpose == "cut" else "ghost"
        save_pages(
            f"cards-{lettering.marker.name}",
            replace(page, proof=page.proof or ("none" if up is None else "bar")),
            output,
            lambda here: card_sheets(set_lettering, names, here, up, form),
            shop=shop,
        )
    tell_notes()


def set_values(found: SetPlan, paper: Paper | None, marker: str | None) -> dict[str, Any]:
    """Return a set's plan as the contract's JSON object; each name is one line, the widest tells the width."""
    return {
        "fits": found.fits,
        "lines": 1,
        "width_mm": found.width_mm,
        "height_mm": found.height_mm,
        "x_height_mm": found.x_height_mm,
        "smallest_paper": paper.name if paper else None,
        "smallest_paper_landscape": paper.width_mm > paper.height_mm if paper else None,
        "largest_marker": marker,
        "in_band": found.in_band,
        "longest": found.longest,
        "names": len(found.names),
        "breaks": [entry.name for entry in found.names if not entry.fits],
    }


def set_words(found: SetPlan, paper: Paper | None, marker: str | None) -> list[str]:
    """Return a set's plan as lines to read."""
    from guidegen.sheets.parts.figures import mm_text

    band = "in the band" if found.in_band else "outside the band"
    broken = [entry for entry in found.names if not entry.fits]
    names = f"{len(found.names)} name{'s' if len(found.names) != 1 else ''}"
    told = [
        f"{names} at x-height {mm_text(found.x_height_mm)}, {band}",
        f"longest          {found.longest}",
    ]
    told += [f"does not fit     {entry.name} ({entry.width_mm:.0f} mm)" for entry in broken]
    told.append(smallest_paper_words(paper))
    told.append(f"largest marker   {marker or 'none of the known ones fits'}")
    return told


def smallest_paper_words(paper: Paper | None) -> str:
    """Return the line that names the smallest paper that would do."""
    if paper is None:
        return "smallest paper   none of this family holds it"
    turned = " landscape" if paper.width_mm > paper.height_mm else ""
    return f"smallest paper   {paper.name}{turned}"
