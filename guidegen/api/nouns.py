"""A marker, its hand, its right size, the page: what the functions of the API take, from names or from values."""

from __future__ import annotations

import os
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import fields
from typing import Any, Literal, get_args

from guidegen.checks import number, one_of, optional
from guidegen.errors import BadInputError, GuidegenError, Plain, bad_input
from guidegen.hands.hand import Hand
from guidegen.hands.library import DEFAULT_HANDS, list_markers, load_hand, load_marker, load_paper
from guidegen.hands.own import own_markers
from guidegen.lettering.lettering import Lettering
from guidegen.lettering.letters import SAMPLE_LETTER
from guidegen.lettering.sizing import At, RightSize, SampleCounter, counter_at
from guidegen.lettering.sizing import right_size as sized
from guidegen.profiles.markers import DEFAULT_NIB_ANGLE_DEG, Marker, Tip, marker_from_table, usual_edge_mm, usual_label

Missing = Literal["error", "box"]
_HEIGHT = number(0.01, 100_000.0, "a height in mm above 0")
MarkerLike = str | os.PathLike[str] | Marker | Lettering
HandLike = str | os.PathLike[str] | Hand
Slant = float | Sequence[float]

LINE_PAPERS = ("a4", "letter", "a5", "a3", "legal")
LINE_MARGIN_MM = 12.0


def marker(
    name: MarkerLike,
    *,
    tip: Tip | None = None,
    downstroke_mm: float | None = None,
    hairline_mm: float | None = None,
    nib_angle_deg: float | None = None,
    x_height_mm: float | None = None,
    label: str | None = None,
) -> Marker:
    """Load a marker's profile, or make a marker of measured widths.

    Args:
        name: with no widths: the name of a profile, looked up among your own and then the built-in ones, or the path
            of a ``.toml`` file. With widths: the new marker's name (a-z, 0-9, hyphens).
        tip: ``brush``, ``pointed``, ``broad`` or ``round``; None for brush.
        downstroke_mm: of a downstroke at comfortable pressure; of a broad tip the nib's width.
        hairline_mm: of a brush's upstroke or a pen's hairline. Of a broad tip the edge's thickness, usual when None. A
            round tip has none.
        nib_angle_deg: how a broad edge is held, from the writing line; None for 40.
        x_height_mm: the size found by trial, in place of the one that follows from the widths.
        label: the name on pages; None for the name with a capital.

    Raises:
        GuidegenError: no such profile (near names are suggested), or widths that are none of one marker.
    """
    if isinstance(name, Marker):
        return name
    if isinstance(name, Lettering):
        return name.marker
    if downstroke_mm is None:
        given = {"tip": tip, "hairline_mm": hairline_mm, "nib_angle_deg": nib_angle_deg}
        if lone := [field for field, value in given.items() if value is not None]:
            raise bad_input("`downstroke_mm`", "", Plain("nothing"), f"the width of a downstroke beside `{lone[0]}`")
        return load_marker(os.fspath(name), (own_markers(),))
    return marker_from_table({"marker": _table(str(name), locals())}, f"marker {name}")


def _table(name: str, given: Mapping[str, Any]) -> dict[str, Any]:
    """Return a profile's table of measured widths, with what follows from the tip filled in."""
    tip, downstroke_mm, hairline_mm = given["tip"] or "brush", given["downstroke_mm"], given["hairline_mm"]
    if hairline_mm is None and tip == "broad":
        hairline_mm = usual_edge_mm(downstroke_mm)
    if hairline_mm is None and tip != "round":
        expected = "the width of a brush's upstroke, or of a pen's hairline"
        raise bad_input("`hairline_mm`", "", Plain("nothing"), expected, "only round and broad tips do without")
    angle = given["nib_angle_deg"]
    table = {
        "name": name,
        "label": given["label"] or usual_label(name),
        "tip": tip,
        "downstroke_mm": downstroke_mm,
        "hairline_mm": downstroke_mm if hairline_mm is None else hairline_mm,
        "nib_angle_deg": DEFAULT_NIB_ANGLE_DEG if angle is None and tip == "broad" else angle,
        "x_height_mm": given["x_height_mm"],
    }
    return {key: value for key, value in table.items() if value is not None}


def markers() -> tuple[Marker, ...]:
    """Return every known marker, thinnest first: your own profiles, and the built-in ones they do not hide.

    A file that cannot be used is left out.
    """
    found, _ = list_markers((own_markers(),))
    return tuple(entry.marker for entry in found)


def hand(ref: HandLike | None = None, *, marker: Marker | None = None, slant_deg: Slant | None = None) -> Hand:
    """Return a hand: a style of lettering.

    Args:
        ref: the name of a hand that ships, or the path of a folder with a ``hand.toml``; None for the hand that is
            usual for ``marker``'s tip (joined without a marker).
        marker: whose usual hand is meant.
        slant_deg: from the baseline, in place of the hand's; of several the first counts.

    Raises:
        GuidegenError: no such hand, or a file that is not valid.
    """
    usual = DEFAULT_HANDS[marker.tip if marker else "brush"]
    found = ref if isinstance(ref, Hand) else load_hand(usual if ref is None else os.fspath(ref))
    slants = slants_of(slant_deg)
    return found.slanted(slants[0]) if slants else found


def slants_of(slant_deg: Slant | None) -> tuple[float, ...]:
    """Return one or several slants as a tuple."""
    if slant_deg is None:
        return ()
    return tuple(slant_deg) if isinstance(slant_deg, Sequence) else (slant_deg,)


class Size(RightSize):
    """A marker's right size in a hand: the x-height at which its letters stay open and look right.

    All lengths are in mm. ``smallest_x_height_mm`` and ``largest_x_height_mm`` bound the sizes that still look right;
    ``verdict(x_height_mm)`` is ``too small``, ``right`` or ``too large``. In a notebook it shows the sample letter.
    """

    __slots__ = ()

    def as_dict(self) -> dict[str, Any]:
        """Return what ``guidegen size --json`` tells. ``letters_per_line`` is by paper, at the usual margin."""
        return size_values(self)

    def _repr_svg_(self) -> str | None:
        """Return the sample letter on the smallest paper that holds it; None for a hand without one."""
        from guidegen.sheets.parts.frame import Setup
        from guidegen.sheets.sample import sample_sheet
        from guidegen.writers.svg import svg_bytes

        for name in ("a5", "a4", "a3", "a1"):
            try:
                made = sample_sheet(self, Setup(load_paper(name).landscape()))
            except GuidegenError:
                continue
            return svg_bytes(made.pages[0], made.title, made.description).decode()
        return None


def right_size(marker: MarkerLike, *, hand: HandLike | None = None, slant_deg: Slant | None = None) -> Size:
    """Return the right size of a marker.

    For brush and pointed tips that is where the white inside ``e`` is as wide as the downstroke beside it; for broad
    tips the hand's number of nib widths, for round tips 7 line widths.

    Args:
        marker: a marker, the name or path of its profile, or a lettering (its marker in its hand).
        hand: the hand; None for the usual one of the tip.
        slant_deg: from the baseline, in place of the hand's.

    Raises:
        GuidegenError: the hand can't open this marker's ``e`` at any size.
    """
    tool, chosen = _tool_and_hand(marker, hand, slant_deg)
    found = sized(tool, chosen)
    return Size(*(getattr(found, entry.name) for entry in fields(RightSize)))


def lettering_of(
    marker: MarkerLike,
    *,
    hand: HandLike | None = None,
    x_height_mm: float | None = None,
    slant_deg: Slant | None = None,
    at: At = "right",
    missing: Missing = "error",
) -> Lettering:
    """Return how words are lettered: a marker, in a hand, at a size. Every page takes one in place of a marker.

    Args:
        marker: a marker, or the name or path of its profile.
        hand: the hand; None for the usual one of the tip.
        x_height_mm: the size; None for the place in the band that ``at`` names.
        slant_deg: from the baseline, in place of the hand's.
        at: ``smallest``, ``right`` or ``largest`` of the marker's band; beginners do best with the largest.
        missing: a character the hand lacks is an ``error``, or an open ``box``.

    Raises:
        GuidegenError: no such marker or hand, or no size is right.
    """
    return chosen_lettering(marker, hand, x_height_mm, slant_deg, at, missing)[0]


def chosen_lettering(
    marker: MarkerLike,
    hand: HandLike | None,
    x_height_mm: float | None,
    slant_deg: Slant | None,
    at: At,
    missing: Missing = "error",
) -> tuple[Lettering, str]:
    """Return the lettering, and a warning when its size lies outside the marker's band ("" for none)."""
    from guidegen.sheets.guides import band_warning, chosen_x_height_mm

    _check_size(x_height_mm, at)
    boxes = missing == "box"
    if isinstance(marker, Lettering) and x_height_mm is None and at == "right":
        chosen = _tool_and_hand(marker, hand, slant_deg)[1]
        found = Lettering(marker.marker, chosen, marker.x_height_mm, boxes=boxes or marker.boxes)
        return found, band_warning(sized(found.marker, chosen), found.x_height_mm)
    tool, chosen = _tool_and_hand(marker, hand, slant_deg)
    size = sized(tool, chosen)
    x_height = chosen_x_height_mm(size, at) if x_height_mm is None else x_height_mm
    return Lettering(tool, chosen, x_height, boxes=boxes), band_warning(size, x_height)


def lettering_at(
    marker: MarkerLike, hand: HandLike | None, x_height_mm: float | None, slant_deg: Slant | None
) -> Lettering:
    """Return the lettering at any size, also where no size is right; None is the right one."""
    tool, chosen = _tool_and_hand(marker, hand, slant_deg)
    own = marker.x_height_mm if isinstance(marker, Lettering) else None
    given = own if x_height_mm is None else x_height_mm
    return Lettering(tool, chosen, sized(tool, chosen).x_height_mm if given is None else given)


def chosen_size(
    marker: MarkerLike, hand: HandLike | None, x_height_mm: float | None, slant_deg: Slant | None, at: At
) -> tuple[RightSize, float | None, At]:
    """Return a marker's right size, and what is drawn: an x-height, or None for the place in the band beside it."""
    _check_size(x_height_mm, at)
    tool, chosen = _tool_and_hand(marker, hand, slant_deg)
    size = sized(tool, chosen)
    if isinstance(marker, Lettering) and x_height_mm is None and at == "right":
        if marker.x_height_mm == size.x_height_mm:
            return size, None, "right"
        ends: dict[At, float] = {"smallest": size.smallest_x_height_mm, "largest": size.largest_x_height_mm}
        place = next((end for end, height in ends.items() if height == marker.x_height_mm), None)
        return (size, None, place) if place else (size, marker.x_height_mm, at)
    return size, x_height_mm, at


def _check_size(x_height_mm: object, at: object) -> None:
    for name, check, value in (("at", one_of(get_args(At)), at), ("x_height_mm", optional(_HEIGHT), x_height_mm)):
        try:
            check(value)
        except BadInputError as error:
            raise error.at(f"`{name}`", "") from None


def _tool_and_hand(written: MarkerLike, ref: HandLike | None, slant_deg: Slant | None) -> tuple[Marker, Hand]:
    tool = marker(written)
    own = written.hand if isinstance(written, Lettering) and ref is None else ref
    return tool, hand(own, marker=tool, slant_deg=slant_deg)


def several(markers: MarkerLike | Sequence[MarkerLike]) -> tuple[MarkerLike, ...]:
    """Return one marker or several as a tuple, each once.

    Raises:
        GuidegenError: none at all.
    """
    given = (markers,) if isinstance(markers, str | os.PathLike | Marker | Lettering) else tuple(markers)
    if not given:
        raise bad_input("`markers`", "", Plain("nothing"), "at least one marker")
    return tuple({marker(one).name: one for one in given}.values())


def size_values(found: RightSize) -> dict[str, Any]:
    """Return a right size as plain values, by the keys of ``guidegen size --json``."""
    tool, style, counter = found.marker, found.hand, found.counter
    if counter is None and SAMPLE_LETTER in style.letters:  # told, though the rule does not use it
        counter = counter_at(found.lettering)
    advance = found.mean_advance_mm
    return {
        "marker": tool.name,
        "tip": tool.tip,
        "hand": style.name,
        "rule": found.rule,
        "slant_deg": style.slant_deg,
        "downstroke_mm": tool.downstroke_mm,
        "hairline_mm": tool.hairline_mm,
        "x_height_mm": found.x_height_mm,
        "ascender_height_mm": found.ascender_height_mm,
        "descender_mm": found.descender_mm,
        "smallest_x_height_mm": found.smallest_x_height_mm,
        "largest_x_height_mm": found.largest_x_height_mm,
        "counter": None if counter is None else _counter_values(counter),
        "mean_advance_mm": advance,
        "letters_per_line": _letters_per_line(advance),
    }


def _counter_values(counter: SampleCounter) -> dict[str, Any]:
    form = counter.form
    return {
        "width_mm": counter.width_mm,
        "length_mm": form.length,
        "shape": form.shape,
        "skew": form.skew,
        "widest_at": form.widest_at,
        "length_to_width": form.length_to_width,
        "tip_deg": form.tip_deg,
    }


def _letters_per_line(advance_mm: float | None) -> dict[str, int]:
    """Return floor(line / mean advance) for each paper, portrait, at the default margin."""
    if advance_mm is None:
        return {}
    return {name: int((load_paper(name).width_mm - 2 * LINE_MARGIN_MM) // advance_mm) for name in LINE_PAPERS}


def known_letterings(lettering: Lettering, candidates: Sequence[Marker]) -> Iterator[Lettering]:
    """Yield every candidate that writes the same hand, thickest first, at its right size; the given marker too."""
    tools = {tool.name: tool for tool in candidates} | {lettering.marker.name: lettering.marker}
    for tool in sorted(tools.values(), key=lambda tool: (-tool.downstroke_mm, tool.name)):
        if tool.tip not in lettering.hand.tips and tool != lettering.marker:
            continue
        try:
            size = sized(tool, lettering.hand)
        except GuidegenError:  # a marker with no right size in this hand is no candidate
            continue
        yield Lettering(tool, lettering.hand, size.x_height_mm)
