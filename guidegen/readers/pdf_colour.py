"""Colour spaces of PDF (ISO 32000-1, 8.6), reduced to what a press wants to know: which plates they print on."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from guidegen.readers.contents import Paint

_BY_COUNT = {1: "gray", 3: "rgb", 4: "cmyk"}
_NAMES = {
    "/DeviceGray": "gray", "/G": "gray", "/CalGray": "gray",
    "/DeviceRGB": "rgb", "/RGB": "rgb", "/CalRGB": "rgb",
    "/DeviceCMYK": "cmyk", "/CMYK": "cmyk",
    "/Lab": "lab", "/Pattern": "pattern",
}  # fmt: skip
_COUNTS = {"gray": 1, "rgb": 3, "cmyk": 4, "lab": 3, "pattern": 0}


@dataclass(frozen=True, slots=True)
class Space:
    """A colour space: what it is, how many numbers make a colour, and the plates of a spot colour."""

    kind: str
    count: int
    plates: tuple[str, ...] = ()

    def paint(self, values: list[float]) -> Paint:
        """Return a colour of this space."""
        return Paint(self.kind, tuple(values[: max(self.count, 0)]), self.plates)

    def start(self) -> Paint:
        """Return the colour a space begins with (8.6.8): black, or full tints."""
        first = {"cmyk": [0.0, 0.0, 0.0, 1.0], "spot": [1.0] * self.count}.get(self.kind, [0.0] * self.count)
        return self.paint(first)


def device(kind: str) -> Space:
    """Return DeviceGray, DeviceRGB or DeviceCMYK."""
    return Space(kind, _COUNTS[kind])


def space_of(value: Any, resources: Any, depth: int = 0) -> Space:  # noqa: PLR0911  # one for each family
    """Return the space that a name or array stands for; profiles count by their number of channels."""
    if depth > 4:
        return Space("unknown", 0)
    if not _is_array(value):
        text = str(value)
        if text in _NAMES:
            return Space(_NAMES[text], _COUNTS[_NAMES[text]])
        named = resources.get("/ColorSpace") if hasattr(resources, "get") else None
        found = None if named is None or not text.startswith("/") else named.get(text)
        return Space("unknown", 0) if found is None else space_of(found, {}, depth + 1)
    kind = str(value[0])
    if kind == "/ICCBased":
        count = int(value[1].get("/N", 0))
        return Space(_BY_COUNT.get(count, "unknown"), count)
    if kind == "/Separation":
        return Space("spot", 1, (str(value[1])[1:],))
    if kind == "/DeviceN":
        plates = tuple(str(plate)[1:] for plate in value[1])
        return Space("spot", len(plates), plates)
    if kind == "/Indexed":
        return space_of(value[1], resources, depth + 1)
    if kind == "/Pattern":
        return Space("pattern", 0)
    return Space(_NAMES[kind], _COUNTS[_NAMES[kind]]) if kind in _NAMES else Space("unknown", 0)


def _is_array(value: Any) -> bool:
    import pikepdf

    return isinstance(value, (pikepdf.Array, list))
