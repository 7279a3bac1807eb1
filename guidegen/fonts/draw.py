"""The glyphs of one face: solid, hollow or dotted, with or without guide lines."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence

from guidegen.fonts import ink
from guidegen.fonts.alphabet import AT_ONCE, Alphabet
from guidegen.fonts.charset import is_mark
from guidegen.fonts.dotted import Dots, Traced, all_dots
from guidegen.fonts.faces import FaceStyle, Fineness, guide_heights_mm
from guidegen.fonts.forms import Written
from guidegen.fonts.glyphs import DOT, RING, RULE, Component, Glyph
from guidegen.fonts.whole import whole
from guidegen.geometry.measure import bounds
from guidegen.geometry.path import Outline, Path, polyline, scale
from guidegen.geometry.shape.inset_line import Opening
from guidegen.hands.hand import Hand
from guidegen.lettering.spacing import word_space_mm

NOTDEF = ".notdef"
HINTED_UNITS = 20
"""Of 2048 to the em: points nearer to each other are one to FreeType's light hinting (``near_limit`` in its afhints.c,
from memory; measured with 2.13)."""
LINE_OVERLAP = 0.003
"""How far (em) a guide line reaches over its glyph's bounds, so that no seam shows where edges are smoothed."""
SPACES = {"space": 0x20, "uni00A0": 0xA0}
FaceProgress = Callable[[str, int, int], None]
"""Called with what is being done, how much of it is done, and how much there is."""


def drawn(letters: Alphabet, style: FaceStyle, fine: Fineness, progress: FaceProgress) -> tuple[Glyph, ...]:
    """Return the glyphs of a face in their final order: ``.notdef``, spaces, marks, letters, shared parts."""
    space = letters.units(word_space_mm(letters.lettering))
    glyphs = [_notdef(letters, fine)]
    glyphs += [Glyph(name, (code,), space) for name, code in SPACES.items()]
    if style.look == "dotted":
        traced = [_traced(letters.hand, item) for item in letters.items]
        dots = all_dots(traced, fine.spacing_mm, starts=style.starts)
        glyphs += [_dotted(letters, item, found) for item, found in zip(letters.items, dots, strict=True)]
    else:
        glyphs += _outlined(letters, style, fine, progress)
    progress(style.style_name, len(letters.items), len(letters.items))
    if style.ruled:
        glyphs = list(_ruled(letters, glyphs, fine, apart=style.look == "dotted"))
    if style.look == "dotted":
        glyphs += _dot_glyphs(letters, fine, style)
    return tuple(glyphs)


def _outlined(letters: Alphabet, style: FaceStyle, fine: Fineness, progress: FaceProgress) -> list[Glyph]:
    """Return solid or hollow glyphs: each an outline, or base and mark where the letter is exactly these."""
    done = len(letters.items) - sum(not item.parts for item in letters.items)
    for number, _ in enumerate(letters.ink_all([item for item in letters.items if not item.parts])):
        progress(style.style_name, done + number, len(letters.items))
    boxes = {name: bounds(outline) for name, outline in letters.inks.items() if outline}
    apart = {item.name for item in letters.items if item.parts and not _meet(item, boxes)}
    inked = [item for item in letters.items if item.name not in apart]
    list(letters.ink_all(inked))
    outlines = {item.name: letters.inks[item.name] for item in inked}
    if style.look == "hollow":
        tasks = [(outlines[item.name], fine.contour_mm, tuple(_openings(letters.hand, item))) for item in inked]
        outlines = dict(zip(outlines, letters.mapper(_hollow, tasks), strict=True))
    glyphs = []
    for item in letters.items:
        if item.name in apart:
            parts = tuple(Component(part.name, letters.point(part.at)) for part in item.parts)
            glyphs.append(_glyph(letters, item, components=parts))
        else:
            glyphs.append(_glyph(letters, item, outline=scale(outlines[item.name], 1 / letters.size.unit_mm)))
    return glyphs


def _hollow(task: tuple[Outline, float, tuple[Opening, ...]]) -> Outline:
    return ink.hollow(*task)


def _meet(item: Written, boxes: Mapping[str, tuple[complex, complex]]) -> bool:
    """Tell whether base and mark may touch, so that their ink must be united: their boxes come together."""
    (low, high), (low2, high2) = ((boxes[p.name][0] + p.at, boxes[p.name][1] + p.at) for p in item.parts)
    across = low.real <= high2.real and low2.real <= high.real
    return across and low.imag <= high2.imag and low2.imag <= high.imag


def _openings(hand: Hand, item: Written) -> list[Opening]:
    """Return the ends at which a joined letter runs on into its neighbours."""
    found = [ink.opening(item.strokes[0], at_start=True)] if item.before in hand.joins else []
    if item.after in hand.joins:
        found.append(ink.opening(item.strokes[item.exit_at], at_start=False))
    return [end for end in found if end is not None]


def _traced(hand: Hand, item: Written) -> list[Traced]:
    return [
        Traced(stroke.path, i == 0 and item.before in hand.joins, i == item.exit_at and item.after in hand.joins)
        for i, stroke in enumerate(item.strokes)
    ]


def _dotted(letters: Alphabet, item: Written, dots: Dots) -> Glyph:
    components = [Component(RING, letters.point(at)) for at in dots.starts]
    components += [Component(DOT, letters.point(at)) for at in dots.places]
    return _glyph(letters, item, components=tuple(components))


def _glyph(
    letters: Alphabet, item: Written, outline: Outline = (), components: tuple[Component, ...] = ()
) -> Glyph:
    codes = (ord(item.char),) if item.encoded else ()
    outline = whole(outline)
    anchors = {name: letters.point(at) for name, at in item.anchors_mm.items()}
    return Glyph(item.name, codes, letters.units(item.advance_mm), outline, components, anchors, is_mark(item.char))


def _dot_glyphs(letters: Alphabet, fine: Fineness, style: FaceStyle) -> list[Glyph]:
    """Return the shared dot and, on request, the open ring of a start: of the same reach, told apart by its white."""
    radius = letters.size.units(fine.dot_mm / 2)
    glyphs = [Glyph(DOT, (), 0, whole((ink.circle(radius),)))]
    if style.starts:
        outer, line = 2.1 * radius, 0.7 * radius
        ring = (ink.circle(outer), ink.circle(outer - line, clockwise=True))
        glyphs.append(Glyph(RING, (), 0, whole(ring)))
    return glyphs


def guide_bars(letters: Alphabet, fine: Fineness, advance: int) -> Outline:
    """Return the four guide lines in whole units, from 0 to ``advance`` and a trifle further.

    The ends are cut aslant, and those of neighbours run along each other: FreeType's light hinting passes over points
    nearer to each other than 20 units of 2048 to the em, and would take a thin line with upright ends for a stroke of
    no height. They overlap by less than a pixel of a screen, so that no seam shows, and no dark spot either.
    """
    em = letters.size.units_per_em
    aslant, over = math.ceil(HINTED_UNITS * em / 2048) + 1, math.ceil(LINE_OVERLAP * em)
    bars = []
    for i, height in enumerate(guide_heights_mm(letters.lettering)):
        weight = max(2, letters.units(fine.baseline_mm if i == 1 else fine.guide_mm))
        low = letters.units(height) - weight // 2
        left, right = -over, advance + over
        corners = [(left, low), (right, low), (right - aslant, low + weight), (left - aslant, low + weight)]
        bars.append(polyline([complex(x, y) for x, y in corners], closed=True))
    return tuple(bars)


def _ruled(letters: Alphabet, glyphs: Sequence[Glyph], fine: Fineness, *, apart: bool) -> Iterator[Glyph]:
    """Put the guide lines into every glyph that has a width: as a shared part (``apart``) or united with the ink."""
    plain = [
        glyph.advance <= 0 or glyph.name == NOTDEF or (bool(glyph.components) and not apart) for glyph in glyphs
    ]  # an accented letter has its lines from its base
    if not apart:
        lined = [glyph for glyph, skip in zip(glyphs, plain, strict=True) if not skip]
        tasks = [(*glyph.outline, *guide_bars(letters, fine, glyph.advance)) for glyph in lined]
        batches = [tasks[at : at + AT_ONCE] for at in range(0, len(tasks), AT_ONCE)]
        done = [outline for batch in letters.mapper(_united, batches) for outline in batch]
        united = dict(zip((glyph.name for glyph in lined), done, strict=True))
        yield from (_with(glyph, united[glyph.name]) if glyph.name in united else glyph for glyph in glyphs)
        return
    rules: dict[int, Glyph] = {}
    for glyph, skip in zip(glyphs, plain, strict=True):
        if skip:
            yield glyph
            continue
        bars = guide_bars(letters, fine, glyph.advance)
        rule = rules.setdefault(glyph.advance, Glyph(f"{RULE}{glyph.advance}", (), glyph.advance, bars))
        yield _with(glyph, components=(*glyph.components, Component(rule.name, 0j)))
    yield from rules.values()


def _united(outlines: Sequence[Outline]) -> list[Outline]:
    """Return ink and guide lines (font units) of glyphs as one outline each; guide lines alone stay as they are."""
    inked = iter(ink.united_all([outline for outline in outlines if len(outline) > 4], 0.5))
    return [whole(next(inked)) if len(outline) > 4 else outline for outline in outlines]


def _with(glyph: Glyph, outline: Outline = (), components: tuple[Component, ...] = ()) -> Glyph:
    return Glyph(glyph.name, glyph.codepoints, glyph.advance, outline, components, glyph.anchors, glyph.mark)


def _notdef(letters: Alphabet, fine: Fineness) -> Glyph:
    """Return an upright frame, as wide as an ``o`` about, for characters the font lacks."""
    x = letters.lettering.x_height_mm
    width, height = 0.7 * x, x * min(letters.hand.capital, 1.6)
    line, side = max(fine.contour_mm, 0.15), 0.15 * x
    outer = ink.bar(complex(side, 0), complex(side + width, height))
    inner = ink.bar(complex(side + line, line), complex(side + width - line, height - line))
    hole = tuple(segment[::-1] for segment in inner.segments[::-1])
    paths = (outer, Path(hole, closed=True))
    return Glyph(NOTDEF, (), letters.units(width + 2 * side), whole(scale(paths, 1 / letters.size.unit_mm)))
