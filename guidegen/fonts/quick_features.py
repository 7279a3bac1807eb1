"""Feature code to feaLib's statements: feaLib parses it all, but for the thousands of like lines of our own making.

Kerning pairs, mark attachments and single substitutions make up most of a face's code and take feaLib's parser longer
than all the rest of a font. Their lines, as :mod:`guidegen.fonts.features` writes them, are read by patterns here and
handed over as the same statements; the tests compile both ways and compare the tables.
"""

from __future__ import annotations

import re
from typing import Any

_PAIR = re.compile(r"  pos (@?)(\S+) @?(\S+) (-?\d+);")
_MARK = re.compile(r"  pos (base|mark) (\S+) <anchor .*;")
_SPOT = re.compile(r"<anchor (-?\d+) (-?\d+)> mark @([\w.-]+)")
_SINGLE = re.compile(r"  sub ([^\s\[\]']+) by ([^\s\[\]']+);")
_BLOCK = re.compile(r"^feature (\w+) \{$")


def feature_statements(code: str, glyph_names: frozenset[str]) -> Any:
    """Return feaLib's syntax tree of feature ``code``.

    Raises:
        fontTools.feaLib.error.FeatureLibError: the code is not valid.
    """
    from io import StringIO

    from fontTools.feaLib.parser import Parser

    slow: list[str] = []
    quick: list[tuple[str, list[str]]] = []
    block = ""
    for line in code.split("\n"):
        if match := _BLOCK.match(line):
            block = match[1]
        if block and (_PAIR.fullmatch(line) or _SPOT.search(line) or _SINGLE.fullmatch(line)):
            if not quick or quick[-1][0] != block:
                quick.append((block, []))
            quick[-1][1].append(line)
            continue
        if block and line == f"}} {block};":
            block = ""
        slow.append(line)
    tree = Parser(StringIO("\n".join(slow)), glyph_names).parse()
    blocks = {statement.name: statement for statement in _blocks(tree)}
    classes = {s.name: s for s in tree.statements if type(s).__name__ == "GlyphClassDefinition"}
    marks = _mark_classes(tree)
    for name, lines in quick:
        blocks[name].statements += [_statement(line, classes, marks) for line in lines]
    return tree


def _blocks(tree: Any) -> list[Any]:
    return [statement for statement in tree.statements if type(statement).__name__ == "FeatureBlock"]


def _mark_classes(tree: Any) -> dict[str, Any]:
    found = [s for s in tree.statements if type(s).__name__ == "MarkClassDefinition"]
    return {definition.markClass.name: definition.markClass for definition in found}


def _statement(line: str, classes: dict[str, Any], marks: dict[str, Any]) -> Any:
    from fontTools.feaLib import ast

    if match := _PAIR.fullmatch(line):
        names = match[2], match[3]
        left, right = (ast.GlyphClassName(classes[name]) if match[1] else ast.GlyphName(name) for name in names)
        return ast.PairPosStatement(left, ast.ValueRecord(xAdvance=int(match[4])), right, None)
    if match := _SINGLE.fullmatch(line):
        return ast.SingleSubstStatement([ast.GlyphName(match[1])], [ast.GlyphName(match[2])], [], [], False)
    spots = [(ast.Anchor(int(x), int(y)), marks[name]) for x, y, name in _SPOT.findall(line)]
    match = _MARK.fullmatch(line)
    assert match, line
    base = ast.GlyphName(match[2])
    return ast.MarkBasePosStatement(base, spots) if match[1] == "base" else ast.MarkMarkPosStatement(base, spots)
