"""``inspect``: what a file measures, whoever wrote it, and whether it may go to a press or a blade."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

import click

from guidegen.cli.given import Given, GivenPath
from guidegen.cli.options import SLANT, json_option, print_json
from guidegen.cli.params import Length, MarkerRef, Whole
from guidegen.errors import printable

if TYPE_CHECKING:
    from guidegen.profiles.markers import Marker

CHECK_FAILED = 1


@click.command()
@click.argument("file", type=GivenPath(path_type=Path))
@click.option("--page", type=Whole(1, 100_000), default=1, show_default=True, help="Which page to measure.")
@click.option("--against", metavar="MARKER", type=MarkerRef(), help="Say whether the file fits this marker.")
@click.option("--hand", type=Given(), metavar="NAME|PATH", help="With --against: the hand; default by tip.")
@click.option("--slant", type=SLANT, help="With --against: slant from the baseline instead of the hand's.")
@click.option(
    "--for", "purpose", type=click.Choice(["cut", "print"]), help="Check it by named rules; exit 1 if one fails."
)
@click.option("--min-feature", type=Length(0.01, 100.0), help="With --for cut: narrower strokes and gaps fail.")
@json_option
def inspect(
    file: Path,
    page: int,
    against: Marker | None,
    hand: str | None,
    slant: float | None,
    purpose: Literal["cut", "print"] | None,
    min_feature: float | None,
    as_json: bool,
) -> int:
    """Read an SVG, PDF, PNG, DXF, EPS or font file back and say what it measures, in millimetres.

    Page and boxes, guide lines and slants, shapes and strokes, nodes, open and doubled paths, colours and
    layers, resolution; of a font its heights and stems. A file that a program scaled by taking its unit for 1/72
    or 1/90 inch is recognised by its proof bar or its paper.

    \b
    Examples:
      guidegen inspect sheet-cobble.pdf
      guidegen inspect tide.svg --against cobble
      guidegen inspect tide.dxf --for cut
      guidegen inspect cards.pdf --for print --json
    """
    import guidegen as gg
    from guidegen.cli.progress import waiting

    with waiting("reading"):
        result = gg.inspect_file(
            file, page=page, against=against, hand=hand, slant_deg=slant, purpose=purpose, min_feature_mm=min_feature
        )
    if as_json:
        print_json(result.as_dict())
    else:
        for line in _told(result.as_dict(), str(file)):
            click.echo(printable(line))
    return 0 if result.passed else CHECK_FAILED


def _told(result: dict[str, Any], name: str) -> list[str]:
    """Return the measures as lines for a person."""
    page = result.get("page_mm")
    rows: list[tuple[str, str]] = [("file", f"{name} ({result['format']})")]
    if page:
        sheets = f", page {result['page']} of {result['pages']}" if result.get("pages", 1) > 1 else ""
        rows.append(("page", f"{page[0]:.2f} x {page[1]:.2f} mm{sheets}"))
    elif result["format"] != "font":
        rows.append(("page", "the file does not say how large it is"))
    rows += [(key, f"{b[2] - b[0]:.2f} x {b[3] - b[1]:.2f} mm") for key, b in result.get("boxes_mm", {}).items()]
    tellers = {"font": _font_rows, "png": _png_rows}
    rows += tellers.get(result["format"], _vector_rows)(result)
    rows += _verdict_rows(result)
    width = max(len(name) for name, _ in rows)
    lines = [f"{name.ljust(width)}  {text}" for name, text in rows]
    return lines + [_finding_line(finding) for finding in result.get("preflight", ())]


def _vector_rows(result: dict[str, Any]) -> list[tuple[str, str]]:
    rows: list[tuple[str, str]] = []
    lines = result.get("lines", {})
    if lines.get("count"):
        gaps = ", ".join(f"{s['mm']:.2f} mm ({s['count']}x)" for s in lines["spacings_mm"][:5])
        rows.append(("lines", f"{lines['count']} horizontal; spacings {gaps or 'none'}"))
    if lines.get("x_height_mm"):
        rest = (("ascender", "ascender_height_mm"), ("descender", "descender_mm"))
        more = "".join(f", {name} {lines[key]:.2f} mm" for name, key in rest if lines.get(key))
        rows.append(("rows", f"{lines['rows']}; x-height {lines['x_height_mm']:.2f} mm{more}"))
    for slant in result.get("slants", [])[:3]:
        apart = f", {slant['spacing_mm']:.2f} mm apart" if slant["spacing_mm"] else ""
        rows.append(("slant", f"{slant['deg']:.2f} degrees, {slant['count']} lines{apart}"))
    shapes = result.get("shapes", {})
    if shapes.get("count"):
        (w, h), (v, k) = shapes["largest_mm"], shapes["smallest_mm"]
        rows.append(("shapes", f"{shapes['count']}; largest {w:.2f} x {h:.2f} mm, smallest {v:.2f} x {k:.2f} mm"))
        tall = ", ".join(f"{h['mm']:.2f} mm ({h['count']}x)" for h in shapes["heights_mm"][:6])
        rows.append(("heights", tall))
    paths = result.get("paths")
    if paths:
        said = ", ".join(f"{paths[key]} {key.replace('_', ' ')}" for key in ("open", "duplicate", "zero_length"))
        rows.append(("paths", f"{paths['count']} with {paths['nodes']} nodes; {said}"))
        rows.append(("strokes", ", ".join(f"{s['mm']:.3g} mm ({s['count']}x)" for s in result["strokes_mm"]) or "none"))
        rows.append(("colours", ", ".join(dict.fromkeys(c["colour"] for c in result["colours"])) or "none"))
        rows.append(("layers", ", ".join(str(layer["id"]) for layer in result["layers"] if layer["id"]) or "none"))
        fonts = sorted({f"{t['font']}{'' if t['embedded'] else ' (not embedded)'}" for t in result["text"]})
        rows.append(("fonts", ", ".join(fonts) or "none"))
    rows += [
        ("picture", f"{p['pixels'][0]} x {p['pixels'][1]} px" + (f" at {p['ppi']:.0f} ppi" if p["ppi"] else ""))
        for p in result.get("pictures", [])[:5]
    ]
    return rows


def _png_rows(result: dict[str, Any]) -> list[tuple[str, str]]:
    wide, high = result["pixels"]
    ppi = result["ppi"]
    rows = [("pixels", f"{wide} x {high}" + (f" at {ppi[0]:.2f} x {ppi[1]:.2f} ppi" if ppi else ", no resolution"))]
    if result["ink_mm"]:
        left, bottom, right, top = result["ink_mm"]
        rows.append(("ink", f"{right - left:.2f} x {top - bottom:.2f} mm"))
    if result["line_heights_mm"]:
        rows.append(("lines", f"{len(result['line_heights_mm'])} across at least half of the ink"))
    return rows


def _font_rows(result: dict[str, Any]) -> list[tuple[str, str]]:
    units = result["units_per_em"]
    rows = [("family", f"{result['family']}; {result['glyphs']} glyphs, {units} units per em, {result['nodes']} nodes")]
    for name, key in (("x-height", "x_height"), ("capitals", "cap_height"), ("descender", "descender")):
        if result[key] is not None:
            rows.append((name, f"{result[key]:.0f} units, {result[key] / units:.3f} em"))
    if result.get("true_size_pt"):
        rows.append(("true size", f"{result['true_size_pt']:g} pt: x-height {result['true_x_height_mm']:.2f} mm"))
    stem = result["stem"]
    rows.append(("stem", f"{stem['thickness']:.0f} units, the last of {stem['letter']}" if stem else "none"))
    return rows


def _verdict_rows(result: dict[str, Any]) -> list[tuple[str, str]]:
    rows = [("note", note) for note in result.get("notes", [])]
    scale = result.get("scaled")
    if scale and scale["true"] is None:
        rows.append(("scale", f"{scale['cause']} ({scale['told_by']})"))
    elif scale and not scale["true"]:
        rows.append(("scale", f"{scale['ratio']:.4f} of the true size by the {scale['told_by']}: {scale['cause']}"))
    elif scale:
        rows.append(("scale", f"true by the {scale['told_by']}"))
    fit = result.get("against")
    if fit and result["format"] == "font" and fit["right_size_pt"]:
        rows.append(("marker", f"{fit['marker']}: its right x-height at {fit['right_size_pt']:.1f} pt"))
        if fit["true_stroke_pt"]:
            rows.append(("", f"stems as thick as its downstroke at {fit['true_stroke_pt']:.1f} pt: {fit['verdict']}"))
    elif fit:
        height = fit.get("x_height_mm")
        found = "no x-height found" if height is None else f"{height:.2f} mm: {fit['verdict']}"
        rows.append(("marker", f"{fit['marker']} wants x-height {fit['right_x_height_mm']:.2f} mm; {found}"))
        if fit.get("thickest_stroke_mm"):
            thickest, downstroke = fit["thickest_stroke_mm"], fit["downstroke_mm"]
            rows.append(("", f"thickest stroke {thickest:.2f} mm, its downstroke {downstroke:g} mm"))
    return rows


def _finding_line(finding: dict[str, str]) -> str:
    said = f": {finding['found']}" if finding["found"] else ""
    return f"{finding['status'].upper():4}  {finding['rule']}: {finding['asks']}{said}"
