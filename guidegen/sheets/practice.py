"""What is practised: which rows a text gets, how it breaks over them, and which rows share a page.

By default a text goes through solid, hollow, dotted and starts only, and ends in copying and in writing from
memory: copying beat tracing in Hirsch and Niedermeyer (1973) and in Askov and Greff (1975), and numbered arrows
with writing from memory did best of the treatments in Berninger et al. (1997).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from guidegen.errors import GuidegenError, bad_input
from guidegen.hands.accents import lacking
from guidegen.lettering.lettering import Lettering
from guidegen.lettering.spacing import word_space_mm
from guidegen.sheets.parts.enlarging import enlarged
from guidegen.sheets.parts.figures import mm_text
from guidegen.sheets.parts.frame import Box, Frame, Setup, holding
from guidegen.sheets.parts.line_breaking import break_evenly
from guidegen.sheets.parts.order_pictures import OrderPicture, order_pictures, stretched_mm
from guidegen.sheets.parts.rows import heights_of
from guidegen.sheets.parts.schemes import DEFAULT_ROWS, MANY_ROWS, RowKind, Scheme, cell_mm, one_by_one, scheme
from guidegen.sheets.parts.stroke_order import marks_for
from guidegen.sheets.parts.word_parts import word_parts
from guidegen.sheets.parts.words import DRILL, joined_words, over_of, width_of, words_of

GROUP_GAP_MM = 5.0
"""White that parts the rows of one text from those of the next."""
_MOST_SHARING, _FEW_SHARING = 4, 2
"""How many letters may share a page with one row of pictures, and how many even where some of their forms stay out."""
_LABEL_ROOM_MM = 6.0
_BESIDE_SHARE = 0.48
_ORDER_X_HEIGHT_MM = 11.0
"""Letters whose strokes are numbered stand at least this high, or the numbers could not be read."""


@dataclass(frozen=True, slots=True)
class Practice:
    """What is practised with one marker.

    ``texts`` are lines or letters, each with rows of its own; a text that begins with ``DRILL`` names a basic
    stroke. ``repeats`` is how often a text stands in a row, None for as often as fits. With ``arrows`` single
    letters and basic strokes are numbered where they stand; the letters of a longer text come first, one by one,
    in a row of their own, enlarged where the marker is small. ``tint`` (0..1) prints the
    rows to trace in grey. With ``by_letter`` words are set from letters that all sheets share,
    so that a file of a thousand names holds each letter once; ``drawn`` names those whose artwork is in the file
    already. With ``fill_page`` the rows are arranged as the page holds them (see :mod:`guidegen.sheets.parts.schemes`)
    and what is left of a page becomes bare rows. ``row_gap_mm`` is the white between rows, None for the hand's own; it
    is never less than the words above a row need.
    """

    lettering: Lettering
    texts: tuple[str, ...]
    rows: tuple[RowKind, ...] = DEFAULT_ROWS
    repeats: int | None = 1
    arrows: bool = False
    left_handed: bool = False
    tint: float | None = None
    by_letter: bool = False
    fill_page: bool = False
    drawn: frozenset[str] = frozenset()
    slants_deg: tuple[float, ...] = ()
    row_gap_mm: float | None = None


@dataclass(frozen=True, slots=True)
class Row:
    """One row. ``kind`` is a :data:`RowKind`, or ``below`` (room to copy), ``more`` (bare) or ``order``.

    A row of ``order`` shows ``pictures`` one by one in ``lettering``, which may be an enlarged one. ``beside`` are
    further kinds side by side with the first, each in an equal part of the row; ``called`` is the name of what is
    practised, where the row has to say it. ``tight`` rows have no more white above them than their words need;
    ``gap_mm`` is the white that was asked for in place of the hand's. Rows of a ``cluster`` share a page.
    """

    kind: str
    text: str
    lettering: Lettering
    count: int = 1
    pitch_mm: float = 0.0
    arrows: bool = False
    group: int = 0
    pictures: tuple[OrderPicture, ...] = ()
    enlarged: float = 1.0
    beside: tuple[str, ...] = ()
    called: str = ""
    tight: bool = False
    gap_mm: float | None = None
    cluster: int | None = None

    @property
    def kinds(self) -> tuple[str, ...]:
        """Return what stands in the row, from the side where writing begins."""
        return (self.kind, *self.beside)

    @property
    def height_mm(self) -> float:
        """Return the height with the white above, where the row's words stand."""
        own = self.lettering.hand.row_gap * self.lettering.x_height_mm / self.enlarged
        wanted = own if self.gap_mm is None else self.gap_mm
        gap = _LABEL_ROOM_MM if self.tight else max(_LABEL_ROOM_MM, wanted)
        return heights_of(self.lettering).row_mm + self.over_mm + gap

    @property
    def over_mm(self) -> float:
        """Return how far what is written reaches above the ascender line."""
        pictured = tuple(dict.fromkeys(picture.text for picture in self.pictures))
        shown = pictured if self.kind == "order" else (self.text,) * (self.count > 0)
        return max((over_of(self.lettering, text) for text in shown), default=0.0)


def numbered_where_it_stands(lettering: Lettering, text: str) -> bool:
    """Tell whether a model carries its numbers: a letter or basic stroke, large, with all marks in one picture."""
    return _alone(text) and lettering.x_height_mm >= _ORDER_X_HEIGHT_MM and len(order_pictures(lettering, text)) == 1


def indent_mm(practice: Practice) -> float:
    """Return the white between a row's ends and what stands in it; numbered rings need room beside a letter."""
    lettering = practice.lettering
    numbered = practice.arrows and any(numbered_where_it_stands(lettering, text) for text in practice.texts)
    ring = marks_for(lettering.x_height_mm).ring_mm if numbered else 0.0
    return max(min(4.0, 0.2 * lettering.x_height_mm), 2.6 * ring)


def all_rows(
    practice: Practice, box: Box, heights: tuple[float, float], setup: Setup, binding_mm: float, notes: list[str]
) -> tuple[list[Row], tuple[RowKind, ...]]:
    """Return the rows of every text, broken to the width of ``box``, and the forms that found no room.

    ``heights`` is what the first page and a further one have for rows. Where rows are scarce and less white between
    them lets a page hold one more, they have less. Words that had to be cut are told in ``notes``.

    Raises:
        GuidegenError: when a letter is wider than a row, or ``repeats`` asks for too many.
    """
    room = box.width - 2 * indent_mm(practice)
    rows: list[Row] = []
    left_out: dict[RowKind, None] = {}
    usual, least = ([_per_page(practice, height, tight=tight) for height in heights] for tight in (False, True))
    tight = practice.fill_page and practice.row_gap_mm is None and min(usual) < MANY_ROWS and sum(least) > sum(usual)
    height_mm = max(heights)
    few = _per_page(practice, height_mm, tight=tight) == 1
    broken = [_broken(practice, text, room, few, setup, binding_mm, notes) for text in practice.texts]
    if few and all(_alone(text) for text in practice.texts):
        broken = [[line for parts in broken for line in parts]]
    lines = [(line, number == len(parts)) for parts in broken for number, line in enumerate(parts, start=1)]
    if practice.fill_page and practice.arrows and not few and all(_alone(text) for text, _ in lines):
        return _clustered(practice, [text for text, _ in lines], room, heights, box.height, tight=tight)
    shown: set[str] = set()
    for group, (text, last) in enumerate(lines):
        made: list[Row] = []
        if practice.arrows and not numbered_where_it_stands(practice.lettering, text):
            made = list(_order_rows(practice.lettering, [text], shown, room, box.height))
        free = height_mm - 2 * sum(row.height_mm for row in made)
        found = _scheme(practice, text, room, max(1, _per_page(practice, free, tight=tight)))
        left_out |= dict.fromkeys(found.left_out)
        if few and not last and practice.fill_page:  # a text that takes a page for each row is remembered once
            found = found.without("memory")
        made += _rows_of(practice, text, room, found)
        called = text.removeprefix(DRILL) if text.startswith(DRILL) else ""
        made[0] = replace(made[0], called=called)
        rows += [replace(row, group=group, tight=tight, gap_mm=practice.row_gap_mm) for row in made]
    return rows, tuple(left_out)


def _clustered(
    practice: Practice, texts: Sequence[str], room: float, heights: tuple[float, float], page_mm: float, *, tight: bool
) -> tuple[list[Row], tuple[RowKind, ...]]:
    """Return the rows of letters or basic strokes: as many as share a page, up to four, share one row of pictures."""
    rows: list[Row] = []
    left_out: dict[RowKind, None] = {}
    done = cluster = 0

    def shared(count: int) -> tuple[list[Row], list[Scheme], bool]:
        """Return the pictures of the next ``count`` letters, the rows of each, and whether a page holds them."""
        chosen = texts[done : done + count]
        pictured = [text for text in chosen if not numbered_where_it_stands(practice.lettering, text)]
        order = list(_order_rows(practice.lettering, pictured, set(), room, page_mm)) if pictured else []
        order = [replace(row, tight=tight, gap_mm=practice.row_gap_mm) for row in order]
        free = heights[min(cluster, 1)] - sum(row.height_mm for row in order) - (count - 1) * GROUP_GAP_MM
        each = math.floor(free / count / _bare_mm(practice, tight=tight) + 1e-6)
        found = [_scheme(practice, text, room, max(1, 2 * each)) for text in chosen]
        short = any(scheme.left_out for scheme in found) and count > _FEW_SHARING
        return order, found, len(order) <= 1 and each >= max(len(scheme.rows) for scheme in found) and not short

    while done < len(texts):
        left = len(texts) - done
        most = next((count for count in range(min(_MOST_SHARING, left), 1, -1) if shared(count)[2]), 1)
        even = math.ceil(left / math.ceil(left / most))
        order, found, held = shared(even)
        if even > 1 and not held:
            order, found, _ = shared(most)
        chosen = texts[done : done + len(found)]
        for number, (text, scheme_of) in enumerate(zip(chosen, found, strict=True)):
            made = list(_rows_of(practice, text, room, scheme_of))
            made[0] = replace(made[0], called=text.removeprefix(DRILL) if text.startswith(DRILL) else "")
            together = [*order, *made] if number == 0 else made
            rows += [
                replace(row, group=done + number, tight=tight, gap_mm=practice.row_gap_mm, cluster=cluster)
                for row in together
            ]
            left_out |= dict.fromkeys(scheme_of.left_out)
        done += len(found)
        cluster += 1
    return rows, tuple(left_out)


def _bare_mm(practice: Practice, *, tight: bool) -> float:
    return Row("solid", "", practice.lettering, 0, tight=tight, gap_mm=practice.row_gap_mm).height_mm


def _per_page(practice: Practice, height_mm: float, *, tight: bool) -> int:
    """Return how many rows of a practice a height holds, the white that parts two texts counted once."""
    return max(0, math.floor((height_mm - GROUP_GAP_MM) / _bare_mm(practice, tight=tight) + 1e-6))


def _scheme(practice: Practice, text: str, room: float, per_page: int) -> Scheme:
    if not practice.fill_page:
        return one_by_one(practice.rows)
    return scheme(practice.rows, per_page, width_of(practice.lettering, text), room, alone=_alone(text))


def _alone(text: str) -> bool:
    """Tell whether a text is one letter or a basic stroke."""
    return len(text) == 1 or text.startswith(DRILL)


def _order_rows(
    lettering: Lettering, texts: Sequence[str], shown: set[str], room: float, height: float
) -> Iterator[Row]:
    """Yield rows of the letters of ``texts`` not ``shown`` before, as large as numbers want them and a page allows."""
    letters = [letter for text in texts for letter in _letters_of(lettering, text, shown)]
    shown.update(letters)
    factor = max(1.0, math.ceil(2 * _ORDER_X_HEIGHT_MM / lettering.x_height_mm) / 2)
    while factor > 1.0 and letters and (
        max(width_of(enlarged(lettering, factor), char) for char in letters) > 0.5 * room
        or factor * heights_of(lettering).row_mm > 0.4 * height
    ):
        factor -= 0.5
    large = enlarged(lettering, factor)
    for row in _filled([order_pictures(large, char) for char in letters], large, room):
        yield Row("order", "", large, pictures=row, enlarged=factor)


def _letters_of(lettering: Lettering, text: str, shown: set[str]) -> list[str]:
    """Return a letter or basic stroke itself, and of a longer text the letters that the hand has."""
    if _alone(text):
        return [text]
    absent = lacking(lettering.hand, text.replace(" ", ""))
    return [char for char in dict.fromkeys(text) if char.isalnum() and char not in shown and char not in absent]


def _filled(
    letters: Sequence[tuple[OrderPicture, ...]], lettering: Lettering, room: float
) -> Iterator[tuple[OrderPicture, ...]]:
    """Yield rows of pictures: those of a letter together where a row holds them."""
    row: tuple[OrderPicture, ...] = ()
    for pictures in letters:
        whole = stretched_mm(pictures, lettering) <= room
        for part in (pictures,) if whole else [(picture,) for picture in pictures]:
            if row and stretched_mm((*row, *part), lettering) > room:
                yield row
                row = ()
            row += part
    if row:
        yield row


def _broken(
    practice: Practice, text: str, room: float, few: bool, setup: Setup, binding_mm: float, notes: list[str]
) -> list[str]:
    """Return ``text`` as lines that fit: broken at words, and inside a word that no line can hold.

    Where a page holds a ``few`` rows only, the parts of a word are so small that two forms stand side by side.
    """
    lettering = practice.lettering
    if text.startswith(DRILL) or width_of(lettering, text) <= room:
        if width_of(lettering, text) > room:
            raise _too_wide(practice, text, setup, binding_mm)
        return [text]
    words, cut = words_of(lettering, text, room)
    if cut:
        notes += [_cut_note(practice, word, setup, binding_mm) for word in cut]
        half = cell_mm(room, 2)
        narrow = few and practice.fill_page and all(width_of(lettering, char) <= half for word in cut for char in word)
        found: list[str] = []
        for word in text.split(" "):
            part_mm = half if narrow and word in cut else room
            parts = word_parts(word, lambda part, most=part_mm: width_of(lettering, part) <= most)  # type: ignore[misc]
            found += parts if word in cut else [word]
        if too_wide := [part for part in found if width_of(lettering, part) > room]:
            raise _too_wide(practice, too_wide[0], setup, binding_mm)
        return found
    if any(word.width > room for word in words):
        raise _too_wide(practice, max(words, key=lambda word: word.width).text, setup, binding_mm)
    breaks = break_evenly(words, room)
    assert breaks is not None, "every word fits, so a breaking exists"
    lines = [joined_words(words[first:stop]) for first, stop in breaks]
    # A joined line may reach a little further than its words add up to.
    widest = max(width_of(lettering, line) for line in lines)
    if widest > room + 1e-6:
        tighter = break_evenly(words, room - (widest - room) - 0.01)
        lines = [joined_words(words[first:stop]) for first, stop in tighter] if tighter else lines
    return lines


def _cut_note(practice: Practice, word: str, setup: Setup, binding_mm: float) -> str:
    """Return what to say of a word that is practised in parts: which paper would hold it whole."""
    lettering = practice.lettering
    needed = width_of(lettering, word) + 2 * indent_mm(practice) + binding_mm
    whole = holding(needed, Row("solid", word, lettering, 0).height_mm)
    turned = replace(setup, paper=setup.paper.turned())
    lying = turned.paper.width_mm > turned.paper.height_mm
    if lying and _holds(whole, turned):
        advice = f"{setup.paper.name} `landscape` holds it whole"
    else:
        advice = setup.suggestion(whole, "that holds it whole")
    return f"{word!r} is wider than a row of {setup.paper.label} and is practised in parts; {advice}"


def _holds(test: Callable[[Setup], bool], setup: Setup) -> bool:
    try:
        return test(setup)
    except GuidegenError:  # no room for the footer
        return False


def _too_wide(practice: Practice, text: str, setup: Setup, binding_mm: float) -> GuidegenError:
    lettering = practice.lettering
    needed = width_of(lettering, text) + 2 * indent_mm(practice) + binding_mm
    shown = text.removeprefix(DRILL)
    return GuidegenError(
        f"{setup.paper.label}: {shown!r} is {width_of(lettering, text):.0f} mm wide at x-height "
        f"{mm_text(lettering.x_height_mm)} and no row holds it; {setup.suggestion(holding(needed, 0.0))}"
    )


def _rows_of(practice: Practice, text: str, room: float, found: Scheme) -> Iterator[Row]:
    lettering = practice.lettering
    width = width_of(lettering, text)
    arrows = practice.arrows and numbered_where_it_stands(lettering, text)
    first = True
    for kinds in found.rows:
        kind, beside = kinds[0], kinds[1:]
        count, pitch = _repeats(practice, text, cell_mm(room, len(kinds)))
        if beside:
            yield Row(kind, text, lettering, count, pitch, arrows and first, beside=beside)
            first = False
        elif kind in ("blank", "memory"):
            yield Row(kind, text, lettering, 0)
        elif kind == "copy":
            by_its_side = width <= _BESIDE_SHARE * room
            yield Row("copy", text, lettering)
            if not by_its_side:
                yield Row("below", text, lettering, 0)
        else:
            yield Row(kind, text, lettering, count, pitch, arrows and first)
            first = False


def _repeats(practice: Practice, text: str, room: float) -> tuple[int, float]:
    """Return how often ``text`` stands in a row and the distance from one to the next."""
    lettering = practice.lettering
    width = width_of(lettering, text)
    gap = max(0.8 * lettering.x_height_mm, word_space_mm(lettering))
    if practice.arrows and numbered_where_it_stands(lettering, text):
        gap = max(gap, 5.0 * marks_for(lettering.x_height_mm).ring_mm)
    fitting = max(1, math.floor((room + gap) / (width + gap)))
    if practice.repeats is None:
        count = fitting
    elif practice.repeats > fitting:
        raise bad_input("`repeats`", "", practice.repeats, f"at most {fitting} for {text.removeprefix(DRILL)!r} here")
    else:
        count = practice.repeats
    pitch = (room - width) / (count - 1) if count >= 4 and practice.repeats is None else width + gap
    return count, pitch


def paginated(
    rows: Sequence[Row], practice: Practice, heights: tuple[float, float], setup: Setup, page: Frame
) -> list[list[Row]]:
    """Return the rows page by page; rows of one text stay together where a page holds them.

    ``heights`` is the room on the first page and on a further one.

    Raises:
        GuidegenError: when a page holds no row.
    """
    highest = max(row.height_mm for row in rows)
    if min(heights) < highest - 1e-9:
        row_mm = max(heights_of(row.lettering).row_mm for row in rows)
        needed = page.box.height - min(heights) + highest
        raise GuidegenError(
            f"{setup.paper.label}: no row of {mm_text(row_mm)} fits; {setup.suggestion(holding(0.0, needed))}"
        )
    pages: list[list[Row]] = [[]]
    groups: dict[int, list[Row]] = {}
    for row in rows:
        groups.setdefault(row.group, []).append(row)

    clusters: dict[int, list[Row]] = {}
    for row in rows:
        if row.cluster is not None:
            clusters.setdefault(row.cluster, []).append(row)

    def fits(more: Sequence[Row]) -> bool:
        return stacked_mm([*pages[-1], *more]) <= heights[len(pages) > 1] + 1e-9

    def fill() -> None:
        """Put bare rows on what is left of the page, for more of the text last practised there."""
        last = pages[-1][-1]
        kind = "more" if last.kind == "blank" else "blank"
        bare = Row(kind, last.text, practice.lettering, 0, group=last.group, tight=last.tight, gap_mm=last.gap_mm)
        while practice.fill_page and last.kind != "order" and fits([bare]):
            pages[-1].append(bare)
            bare = replace(bare, kind="more")

    for group in groups.values():
        together = clusters.get(group[0].cluster, group) if group[0].cluster is not None else group
        together = together if together[0] is group[0] else group
        if pages[-1] and not fits(together) and stacked_mm(together) <= heights[1]:
            fill()
            pages.append([])
        for row, following in zip(group, [*group[1:], None], strict=True):
            # A model to copy stays on one page with the row below it, and letters with the row they are for.
            kept = following is not None and (following.kind == "below" or row.kind == "order")
            pair = [row, following] if kept and following is not None else [row]
            if pages[-1] and not fits(pair):
                fill()
                pages.append([])
            pages[-1].append(row)
    fill()
    return pages


def stacked_mm(rows: Sequence[Row]) -> float:
    """Return the height of rows one below the other."""
    parts = sum(here.group != before.group for before, here in pairwise(rows))
    return sum(row.height_mm for row in rows) + parts * GROUP_GAP_MM
