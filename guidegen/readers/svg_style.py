"""Styles of SVG elements: attributes, ``style``, style sheets, and what is inherited."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any
from xml.etree.ElementTree import Element

from guidegen import limits
from guidegen.errors import GuidegenError
from guidegen.readers.budget import too_much
from guidegen.readers.contents import Paint
from guidegen.readers.svg_frame import local

INHERITED = (
    "fill", "stroke", "stroke-width", "visibility", "color", "font-family", "font-size", "fill-opacity",
    "stroke-opacity",
)  # fmt: skip
OWN = ("display", "opacity", "mask", "filter", "clip-path", "mix-blend-mode")
START: dict[str, str] = {"fill": "black", "stroke": "none", "stroke-width": "1", "visibility": "visible"}

Sheet = Callable[[Element], Mapping[str, str]]


def declarations(text: str) -> dict[str, str]:
    """Return the properties of a ``style`` attribute."""
    pairs = (part.split(":", 1) for part in text[:20_000].split(";") if ":" in part)
    return {name.strip().lower(): value.replace("!important", "").strip() for name, value in pairs}


def style_sheet(root: Element, name: str) -> Sheet | None:
    """Return a function from an element to what the style sheets in ``root`` say of it; None without any sheet.

    Selectors are matched by cssselect2, so every CSS selector of level 3 counts; rules inside @media are left out.

    Raises:
        GuidegenError: for a sheet that is longer, deeper or more work than a drawing has use for.
    """
    text = "\n".join(element.text or "" for element in root.iter() if local(element) == "style")
    if not text.strip():
        return None
    check_sheet(text, name)
    try:
        return _sheet(text, root, name)
    except RecursionError:  # brackets that close in strings only
        raise _too_deep(name) from None


def _sheet(text: str, root: Element, name: str) -> Sheet:
    import cssselect2
    import tinycss2

    matcher = cssselect2.Matcher()
    work, around = 0, _Around.of(root)
    for rule in tinycss2.parse_stylesheet(text, skip_comments=True, skip_whitespace=True):
        if rule.type != "qualified-rule":
            continue
        found = {
            d.lower_name: tinycss2.serialize(d.value).strip()
            for d in tinycss2.parse_blocks_contents(rule.content)
            if d.type == "declaration"
        }
        for part in _selectors(tinycss2.serialize(rule.prelude)):
            work += around.work(part)
            if work > limits.MAX_SHEET_WORK:
                fix = "use fewer and simpler selectors, or attributes"
                raise too_much(name, "steps to find what a style sheet means", limits.MAX_SHEET_WORK, fix)
        try:
            for selector in cssselect2.compile_selector_list(rule.prelude):
                matcher.add_selector(selector, found)
        except cssselect2.SelectorError:
            continue
    tree = cssselect2.ElementWrapper.from_xml_root(root)
    wrapped: dict[Element, Any] = {wrapper.etree_element: wrapper for wrapper in tree.iter_subtree()}

    def of(element: Element) -> Mapping[str, str]:
        merged: dict[str, str] = {}
        wrapper = wrapped.get(element)
        for *_, payload in matcher.match(wrapper) if wrapper is not None else ():
            merged.update(payload)
        return merged

    return of


def check_sheet(text: str, name: str) -> None:
    """Raise when a style sheet is longer or nested deeper than a drawing has use for.

    Raises:
        GuidegenError: with the limit.
    """
    if len(text) > limits.MAX_SHEET_BYTES:
        raise too_much(name, "characters of style sheets", limits.MAX_SHEET_BYTES, "use attributes")
    depth = 0
    for bracket in _NO_BRACKETS.sub("", text):
        depth = depth + 1 if bracket in "({[" else max(0, depth - 1)
        if depth > limits.MAX_SHEET_NESTING:
            raise _too_deep(name)


def _too_deep(name: str) -> GuidegenError:
    what, fix = "brackets inside brackets of a style sheet", "use attributes"
    return too_much(name, what, limits.MAX_SHEET_NESTING, fix)


@dataclass(frozen=True, slots=True)
class _Around:
    """How far a selector may have to look from one element: how many there are, how deep, how many side by side."""

    elements: int
    depth: int
    beside: int

    @staticmethod
    def of(root: Element) -> _Around:
        elements, deepest, beside = 0, 0, 0
        todo = [(root, 1)]
        while todo:
            element, depth = todo.pop()
            elements, deepest, beside = elements + 1, max(deepest, depth), max(beside, len(element))
            todo += [(child, depth + 1) for child in element]
        return _Around(elements, deepest, beside)

    def work(self, selector: str) -> int:
        """Return the steps that a selector may cost over all elements: its way back through parents and siblings."""
        steps = self.elements
        for combined in _COMBINED.findall(selector):
            steps *= {"~": self.beside, ">": 1, "+": 1}.get(combined.strip(), self.depth)
            if steps > limits.MAX_SHEET_WORK:
                return steps
        for function in _FUNCTIONS.findall(selector.lower()):
            steps *= self.elements if function == "has" else self.beside if function.startswith("nth-") else 4
            if steps > limits.MAX_SHEET_WORK:
                return steps
        return steps


_NO_BRACKETS = re.compile(r"[^(){}\[\]]++")
_COMBINED = re.compile(r"[ \t\r\n\f]*+[~>+][ \t\r\n\f]*+|[ \t\r\n\f]++(?![,)~>+])")
_FUNCTIONS = re.compile(r":([a-z-]++)\(")


def _selectors(prelude: str) -> list[str]:
    """Return the selectors of a list; commas inside brackets part them too, which only counts more."""
    return [part.strip() for part in prelude.split(",")]


def styled(element: Element, parent: Mapping[str, str], sheet: Sheet | None) -> dict[str, str]:
    """Return the computed style of ``element``: inherited, attributes, sheets, then its own ``style``."""
    style = {name: parent[name] for name in INHERITED if name in parent}
    given = {name: element.attrib[name] for name in (*INHERITED, *OWN) if name in element.attrib}
    if sheet is not None:
        given.update(sheet(element))
    if "style" in element.attrib:
        given.update(declarations(element.attrib["style"]))
    style.update((name, value) for name, value in given.items() if value != "inherit")
    style["transparent"] = "yes" if parent.get("transparent") or _is_see_through(style) else ""
    return style


def _is_see_through(style: Mapping[str, str]) -> bool:
    if style.get("mask", "none") != "none" or style.get("mix-blend-mode", "normal") != "normal":
        return True
    for name in ("opacity", "fill-opacity", "stroke-opacity"):
        text = style.get(name, "1").strip()
        try:
            value = float(text.rstrip("%")) / (100 if text.endswith("%") else 1)
        except ValueError:
            continue
        if value < 1:
            return True
    return False


def paint(style: Mapping[str, str], use: str) -> Paint | None:
    """Return the ``fill`` or ``stroke`` of a style, None for none."""
    text = style.get(use, "none").strip()
    if text in ("none", "transparent", ""):
        return None
    if text.startswith("url("):
        return Paint("pattern", ())
    if text.lower() == "currentcolor":
        text = style.get("color", "black")
    if text.startswith("#") and len(text) == 7:
        try:
            return Paint("rgb", tuple(int(text[k : k + 2], 16) / 255 for k in (1, 3, 5)))
        except ValueError:
            return Paint("rgb", (0.0, 0.0, 0.0))
    import tinycss2.color3

    colour = tinycss2.color3.parse_color(text[:200])
    if colour is None or isinstance(colour, str):
        return Paint("rgb", (0.0, 0.0, 0.0))
    return None if colour.alpha == 0 else Paint("rgb", (colour.red, colour.green, colour.blue))
