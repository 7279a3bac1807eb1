"""Everything that is chosen, as it stands in the address of the page: a link, a bookmark and Back bring it back.

A marker stands there by its widths, never by a saved name alone: whoever is sent the link has no such profile.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, fields, replace
from typing import Any
from urllib.parse import urlencode

from guidegen.errors import Plain, bad_input, did_you_mean
from guidegen.hands.hand import Hand
from guidegen.hands.library import DEFAULT_HANDS, hand_names, load_hand, load_paper
from guidegen.limits import NUMBER
from guidegen.profiles.markers import DEFAULT_NIB_ANGLE_DEG, LARGEST_X_HEIGHT_MM, TIPS, Marker
from guidegen.sheets.parts.phrases import ENGLISH, language_names
from guidegen.units import parse_length_mm
from guidegen.web.kinds import KINDS, Kind

LONGEST_ADDRESS = 8_000
MOST_MARKERS = 12
_USUAL_PAPER = "a4"
_KEYS = {
    "tip": "tip",
    "down": "downstroke_mm",
    "hair": "hairline_mm",
    "angle": "nib_angle_deg",
    "found": "x_height_mm",
    "down_sd": "downstroke_sd_mm",
    "hair_sd": "hairline_sd_mm",
    "samples": "samples",
    "measured": "measured_on",
}
"""Keys of a marker in the address, and its fields."""
_DEGREES = re.compile(NUMBER, re.ASCII)
_NAMED = re.compile(r"[^a-z0-9]++")


@dataclass(frozen=True, slots=True)
class Address:
    """What is chosen. ``x_height_mm`` None is the right size, ``hand`` "" the tip's usual one, ``need`` "" nothing."""

    marker: Marker
    hand: str = ""
    x_height_mm: float | None = None
    paper: str = _USUAL_PAPER
    landscape: bool = False
    need: str = ""
    choices: Mapping[str, str] = field(default_factory=dict)
    also: tuple[Marker, ...] = ()
    language: str = ""

    @property
    def kind(self) -> Kind | None:
        """What is to be taken."""
        return KINDS.get(self.need)

    @property
    def hand_or_none(self) -> str | None:
        """The hand, as the library takes it."""
        return self.hand or None

    @property
    def style(self) -> Hand:
        """The hand that is written."""
        return load_hand(self.hand or DEFAULT_HANDS[self.marker.tip])

    def pairs(self) -> list[tuple[str, str]]:
        """Return keys and values in their one order; what is usual is left out."""
        found = marker_pairs(self.marker)
        found += [("hand", self.hand)] if self.hand else []
        found += [("x", number_text(self.x_height_mm))] if self.x_height_mm is not None else []
        found += [("paper", self.paper)] if self.paper != _USUAL_PAPER else []
        found += [("landscape", "1")] if self.landscape else []
        if self.kind:
            found.append(("need", self.need))
            found += [(key, value) for key, value in self.choices.items() if value]
            found += [("also", token_of(marker)) for marker in self.also]
        found += [("language", self.language)] if self.language else []
        return found

    def query(self) -> str:
        """Return the pairs as they stand behind the question mark."""
        return urlencode(self.pairs())

    def but(self, **changes: Any) -> Address:
        """Return another address with some things chosen otherwise."""
        return replace(self, **changes)


def marker_pairs(marker: Marker) -> list[tuple[str, str]]:
    """Return a marker as it stands in the address."""
    found = [("label", marker.label)]
    if marker.name != name_of(marker.label):
        found.append(("name", marker.name))
    for key, attribute in _KEYS.items():
        value = getattr(marker, attribute)
        if value is not None and not (key == "hair" and marker.tip == "round"):
            found.append((key, value if isinstance(value, str) else number_text(value)))
    return found


def token_of(marker: Marker) -> str:
    """Return a further marker as one value: its pairs with bars between."""
    return "|".join(f"{key}={value.replace('|', '/')}" for key, value in marker_pairs(marker))


def number_text(value: float) -> str:
    """Return a number as short as it can be read back; of a length a hundred-thousandth of a mm is kept."""
    return f"{round(value, 5):.10g}"


def name_of(label: str) -> str:
    """Return the name of a profile for a marker that is called ``label``."""
    plain = unicodedata.normalize("NFKD", label.split(",", maxsplit=1)[0]).encode("ascii", "ignore").decode().lower()
    return _NAMED.sub("-", plain).strip("-")[:40].strip("-") or "my-marker"


def read_address(pairs: Iterable[tuple[str, str]], known: Iterable[Marker], usual: Marker, own_label: str) -> Address:
    """Return what the pairs of an address or of a form say. Keys that are none of ours are left out.

    Args:
        pairs: keys and values; of a key that comes again the last one counts, but for ``also``.
        known: markers that ship. One of their labels beside other widths becomes ``own_label``.
        usual: the marker where none is said.
        own_label: what a marker is called that has no name.

    Raises:
        GuidegenError: a value that is none.
    """
    given = [(key, value.strip()) for key, value in pairs]
    for key, value in given:
        if any(not (char.isprintable() or char in "\r\n") for char in value):
            raise bad_input(f"`{key[:20]}`", "", value, "text without control characters")
    last = dict(given)
    marker = _marker(last, known, usual, own_label)
    need = last.get("need", "")
    if need and need not in KINDS:
        raise bad_input("`need`", "", need, "one of " + ", ".join(KINDS), did_you_mean(need, KINDS))
    kind = KINDS.get(need)
    paper = _paper(last.get("paper", ""))
    return Address(
        marker,
        _hand(last.get("hand", ""), marker),
        _x_height(last.get("x", "")),
        paper,
        last.get("landscape", "") not in {"", "0"},
        need,
        _choices(kind, last) if kind else {},
        _others([value for key, value in given if key == "also"], marker, own_label) if kind else (),
        _language_of(last.get("language", "")),
    )


def _marker(given: Mapping[str, str], known: Iterable[Marker], usual: Marker, own_label: str) -> Marker:
    if not given.get("down"):
        return usual
    label = given.get("label", "") or own_label
    made = _made(given, label)
    same_name = next((one for one in known if one.label == label), None)
    if same_name is not None and same_name != made and _widths(same_name) != _widths(made):
        return _made(dict(given, name=""), own_label)
    return made


def _widths(marker: Marker) -> tuple[object, ...]:
    return marker.tip, marker.downstroke_mm, marker.hairline_mm, marker.nib_angle_deg


def _made(given: Mapping[str, str], label: str) -> Marker:
    tip = given.get("tip", "") or "brush"
    if tip not in TIPS:
        raise bad_input("`tip`", "", tip, "one of " + ", ".join(TIPS))
    values: dict[str, Any] = {"name": given.get("name", "") or name_of(label), "label": label, "tip": tip}
    for key, attribute in _KEYS.items():
        text = given.get(key, "")
        if not text or attribute in values:
            continue
        if key == "measured":
            values[attribute] = text
        elif key == "samples":
            values[attribute] = _whole(text, key)
        else:
            values[attribute] = _plain_number(text, key) if key == "angle" else _length(text, key)
    if tip == "round":
        values["hairline_mm"] = values["downstroke_mm"]
    if "hairline_mm" not in values:
        raise bad_input("`hair`", "", Plain("nothing"), "the width of the thinnest stroke")
    if tip == "broad":
        values.setdefault("nib_angle_deg", DEFAULT_NIB_ANGLE_DEG)
    else:
        values.pop("nib_angle_deg", None)
    return Marker(**values)


def _length(text: str, key: str) -> float:
    return parse_length_mm(text.replace(",", "."), f"`{key}`")


def _whole(text: str, key: str) -> int:
    if not (text.isascii() and text.isdecimal() and len(text) < 8):
        raise bad_input(f"`{key}`", "", text, "a whole number")
    return int(text)


def _plain_number(text: str, key: str) -> float:
    pointed = text.replace(",", ".").removesuffix("°").strip()
    if len(pointed) > 20 or not _DEGREES.fullmatch(pointed):
        raise bad_input(f"`{key}`", "", text, "a number")
    value = float(pointed)
    if not value < 1e9:
        raise bad_input(f"`{key}`", "", text, "a number of ordinary size")
    return value


def _x_height(text: str) -> float | None:
    if not text:
        return None
    found = _length(text, "x")
    if not 0.1 <= found <= LARGEST_X_HEIGHT_MM:
        raise bad_input("`x`", "", text, f"a height from 0.1 to {LARGEST_X_HEIGHT_MM:g} mm")
    return found


def _paper(text: str) -> str:
    if not text:
        return _USUAL_PAPER
    load_paper(text)
    return text.lower()


def _hand(text: str, marker: Marker) -> str:
    """Return the hand's name, "" for the usual one and where the tip does not write it; a path is none."""
    if not text or text == DEFAULT_HANDS[marker.tip]:
        return ""
    if text not in hand_names():
        raise bad_input("`hand`", "", text, "one of " + ", ".join(hand_names()), did_you_mean(text, hand_names()))
    return text if marker.tip in load_hand(text).tips else ""


def _language_of(text: str) -> str:
    """Return the language of pages, "" for English and for one that only the page speaks; a path is none."""
    return text if text in language_names() and text != ENGLISH else ""


def _choices(kind: Kind, given: Mapping[str, str]) -> dict[str, str]:
    kept = {}
    for choice in kind.choices:
        value = given.get(choice.name, "").replace("\r\n", "\n")
        if choice.form == "markers" or not kind.asks(choice, given) or value == choice.usual:
            continue
        if choice.form in {"one", "pixels"} and value == choice.options[0] and not choice.usual:
            continue
        choice.value(value)
        if value and not (choice.form == "flag" and value == "0"):
            kept[choice.name] = value
    return kept


def _others(tokens: list[str], marker: Marker, own_label: str) -> tuple[Marker, ...]:
    if len(tokens) > MOST_MARKERS:
        raise bad_input("`also`", "", Plain(f"{len(tokens)} markers"), f"at most {MOST_MARKERS}")
    found = {}
    for token in tokens:
        given = dict(part.split("=", 1) for part in token.split("|") if "=" in part)
        if not given.get("down"):
            raise bad_input("`also`", "", token, "a marker's widths")
        other = _made(given, given.get("label", "") or own_label)
        if other.name != marker.name:
            found[other.name] = other
    return tuple(found.values())


assert set(_KEYS.values()) == {one.name for one in fields(Marker)} - {"name", "label"}, "a field has no key"
