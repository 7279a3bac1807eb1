"""Type 2 charstrings (CFF): a part used often, such as the dot of a tracing face, becomes one subroutine."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from typing import Any

from guidegen.fonts.glyphs import PART, Component, FontFace, Glyph
from guidegen.fonts.sinks import draw
from guidegen.geometry.path import Outline

_SHARED_FROM = 20
"""A component used at least this often is worth a subroutine."""


def charstrings(face: FontFace) -> tuple[dict[str, Any], dict[str, int], list[Any]]:
    """Return Type 2 charstrings by glyph name, the private dictionary, and the global subroutines they call.

    Shared parts (the dot of a tracing face) have no charstring: they are subroutines, or drawn where they stand.
    """
    from fontTools.misc.psCharStrings import T2CharString

    uses = Counter(part.name for glyph in face.glyphs for part in glyph.components)
    shared = [name for name, count in uses.most_common() if count >= _SHARED_FROM]
    known = {glyph.name: glyph for glyph in face.glyphs}
    numbers = {name: index for index, name in enumerate(shared)}
    programs = {glyph.name: _program(glyph.outline) for glyph in face.glyphs}
    bias = 107  # of fewer than 1240 subroutines (Type 2 charstring format, section 4.7)
    subroutines = [T2CharString(program=[*_from_start(programs[name]), "return"]) for name in shared]
    strings = {}
    for glyph in face.glyphs:
        if glyph.name.startswith(PART):
            continue
        program: list[Any] = [glyph.advance]
        if glyph.components:
            program += _composed(glyph.components, known, numbers, programs, bias)
        elif glyph.name in numbers:
            start = _start(known[glyph.name].outline)
            program += [*start, "rmoveto", numbers[glyph.name] - bias, "callgsubr"]
        else:
            program += programs[glyph.name]
        strings[glyph.name] = T2CharString(program=[*program, "endchar"])
    return strings, {"defaultWidthX": 0, "nominalWidthX": 0}, subroutines


def _program(outline: Outline) -> list[Any]:
    """Return the drawing operators of an outline (rounded), relative to the origin."""
    from fontTools.pens.t2CharStringPen import T2CharStringPen

    sink = T2CharStringPen(None, None)
    draw(outline, sink)
    program = list(sink.getCharString().program)
    return program[:-1] if program and program[-1] == "endchar" else program


def _start(outline: Outline) -> tuple[int, int]:
    z = outline[0].start
    return round(z.real), round(z.imag)


def _from_start(program: list[Any]) -> list[Any]:
    """Return a program without its first moveto: the caller moves there."""
    first = next(i for i, token in enumerate(program) if isinstance(token, str))
    assert program[first] in {"rmoveto", "hmoveto", "vmoveto"}, program[first]
    return program[first + 1 :]


def _composed(
    parts: tuple[Component, ...],
    known: Mapping[str, Glyph],
    numbers: Mapping[str, int],
    programs: Mapping[str, list[Any]],
    bias: int,
) -> list[Any]:
    """Return one program that draws the parts one after the other; between them only the pen position counts."""
    program: list[Any] = []
    x = y = 0
    for part in parts:
        outline = known[part.name].outline
        if not outline:
            continue
        start = _start(outline)
        to_x, to_y = start[0] + round(part.at.real), start[1] + round(part.at.imag)
        program += [to_x - x, to_y - y, "rmoveto"]
        body = [numbers[part.name] - bias, "callgsubr"] if part.name in numbers else _from_start(programs[part.name])
        program += body
        last = _last(outline)
        x, y = last[0] + round(part.at.real), last[1] + round(part.at.imag)
    return program


def _last(outline: Outline) -> tuple[int, int]:
    """Return where the pen is after the last contour: a closing line is implied and not drawn."""
    path = outline[-1]
    closing = path.segments[-1]
    z = closing[0] if len(closing) == 2 and closing[1] == path.start and len(path.segments) > 1 else closing[-1]
    return round(z.real), round(z.imag)
