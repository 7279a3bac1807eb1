"""What a TOML file may hold, checked before it is parsed: numbers and dotted keys that grow beyond all use.

A parser makes a table of every part of a dotted key and an integer of every digit; both cost more than their text.
"""

from __future__ import annotations

import re

from guidegen.errors import GuidegenError, Plain, bad_input
from guidegen.limits import MAX_TOML_DIGITS, MAX_TOML_NESTING

_TOKEN = re.compile(
    r'(?P<open>"""|\'\'\')'  # strings of several lines are looked for by hand
    r'|(?P<string>"(?>[^"\\\n]++|\\[^\n])*+"|\'[^\'\n]*+\')'
    r"|(?P<comment>\#[^\n]*+)"
    r"|(?P<bracket>[\[{])|(?P<closing>[\]}])|(?P<dot>[ \t]*+\.[ \t]*+)|(?P<end>[\n=,])"
    r"|(?P<word>[^\s\"\'\#\[\]{}=,.]++)|[ \t\r]++|.",
    re.DOTALL,
)

_LONG_NUMBER = re.compile(rf"[0-9](?>[0-9A-Za-z_.]{{{MAX_TOML_DIGITS}}})")
_PART = r"""(?>[A-Za-z0-9_-]{1,60}+|"[^"\n]{0,200}+"|'[^'\n]{0,200}+')[ \t]{0,9}+"""
_LONG_KEY = re.compile(rf"(?>{_PART}\.[ \t]{{0,9}}+){{{MAX_TOML_NESTING}}}")
_NO_BRACKETS = re.compile(r"[^\[\]{}]++")


def check_toml(text: str, where: str) -> None:
    """Raise when a file nests deeper, or writes longer numbers, than a profile or a hand has use for.

    Text that is no TOML passes: the parser names its mistakes.

    Raises:
        GuidegenError: naming the line.
    """
    if not _is_suspect(text):
        return
    place, depth, parts = 0, 0, 1
    while token := _TOKEN.match(text, place):
        place, kind = token.end(), token.lastgroup
        if token[0] in ("'", '"'):  # a string that does not end: no TOML, and what follows cannot be told apart
            return
        if kind == "open":
            place = _after_long_string(text, place, token["open"])
        elif kind == "word" and len(token["word"]) > MAX_TOML_DIGITS and token["word"][:2].strip("+-.")[:1].isdecimal():
            found = f"a number of {len(token['word'])} digits"
            raise _at(text, token.start(), where, found, f"at most {MAX_TOML_DIGITS} digits", "round it")
        elif kind in ("bracket", "closing"):
            depth, parts = max(0, depth + (1 if kind == "bracket" else -1)), 1
        elif kind in ("dot", "end"):
            parts = parts + 1 if kind == "dot" else 1
        if max(depth, parts) > MAX_TOML_NESTING:
            found, fix = "tables nested too deeply", "a profile needs one table, a letter three"
            raise _at(text, token.start(), where, found, f"at most {MAX_TOML_NESTING} deep", fix)


def _is_suspect(text: str) -> bool:
    """Tell whether a closer look is needed; strings and comments may cause one for nothing. Most files need none."""
    if _LONG_NUMBER.search(text) or _LONG_KEY.search(text):
        return True
    depth = 0
    for bracket in _NO_BRACKETS.sub("", text):
        depth = depth + 1 if bracket in "[{" else max(0, depth - 1)
        if depth > MAX_TOML_NESTING:
            return True
    return False


def _after_long_string(text: str, place: int, quotes: str) -> int:
    """Return where a string of several lines ends; the end of the text when it does not."""
    while (end := text.find(quotes, place)) >= 0:
        slashes = end - len(text[place:end].rstrip("\\")) - place if quotes == '"""' else 0
        if slashes % 2 == 0:
            return end + 3
        place = end + 1
    return len(text)


def _at(text: str, place: int, where: str, found: str, expected: str, fix: str) -> GuidegenError:
    return bad_input(where, f"line {text.count(chr(10), 0, place) + 1}", Plain(found), expected, fix)
