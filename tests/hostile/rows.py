"""The table of bad inputs: each row a command that must be refused in one line. Anybody can add a row.

A row is a name, the words after ``guidegen``, and the files that lie in its folder. ``FAMILIES`` makes many rows of a
few values; ``ROWS`` is all of them. Each must end with exit code 2 and one line on stderr, write nothing, leave
nothing behind, and say nothing of a defect, within ten seconds and 1.5 GB on a quiet core.
"""

from __future__ import annotations

import sqlite3
import struct
import zlib
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field

from pictures import PICTURES, pdf

Content = bytes | Callable[[], bytes]


@dataclass(frozen=True)
class Row:
    name: str
    words: tuple[str, ...]
    files: Mapping[str, Content] = field(default_factory=dict)

    def written(self) -> dict[str, bytes]:
        """Return the files' bytes; the large ones are made only when they are asked for."""
        return {name: data() if callable(data) else data for name, data in self.files.items()}


def svg(body: str, head: str = 'width="90mm" height="90mm" viewBox="0 0 90 90"') -> bytes:
    return f'<svg xmlns="http://www.w3.org/2000/svg" {head}>{body}</svg>'.encode()


# Words of the command line ------------------------------------------------------------------------------------------

NO_NUMBER = ("", " ", "x", "1x", "--", "1e999", "-1e999", "nan", "inf", "٤٠", "4_0", "0x9", "1" * 400, "1,5", "½", "\x1b[2J")
NO_LENGTH = (*NO_NUMBER, "5ft", "mm", "5 5mm", "-5mm", "1e9mm", "٥mm")
NO_NAME = ("", " ", "nobody", "../..", "x" * 5000, "\x1b[2J", "/nowhere/x.toml", "a\u202eb")
NO_PAPER = ("", "a99", "0x0", "1x1", "9e9x9", "210x", "x297", "210x297ft", "nanx5", "1" * 80 + "x5", "a4,", ",", "5x5mm")
SHEETS = {
    "sheet": ("sheet", "flint"),
    "letter": ("letter", "flint"),
    "alphabet": ("alphabet", "flint"),
    "handout": ("handout", "flint", "slate"),
    "compare": ("compare", "flint", "slate"),
    "worksheet": ("worksheet", "flint", "tide"),
    "write": ("write", "flint", "tide"),
    "plan": ("plan", "flint", "tide"),
}


def option_rows() -> Iterator[Row]:
    numbers = ("--slant", "--ppi")
    lengths = ("--x-height", "--margin")
    for command, words in SHEETS.items():
        for options, values in ((numbers, NO_NUMBER), (lengths, NO_LENGTH), (("--paper",), NO_PAPER)):
            for option in options:
                for value in values:
                    yield Row(f"{command} {option} {value[:12]!r}", (*words, option, value))
        for value in NO_NAME:
            yield Row(f"{command} --hand {value[:12]!r}", (*words, "--hand", value))
        for value in ("", "docx", "x" * 200, "\x1b", "PDF2"):
            yield Row(f"{command} --format {value[:12]!r}", (*words, "--format", value))
        for value in ("", "1x1", "98.6", "98x", "nanx99", "9" * 80, "٩٨x٩٩", "98.6x99.1x5"):
            yield Row(f"{command} --measured {value[:12]!r}", (*words, "--measured", value))
        for value in ("", "none", "A B", "../x", "x" * 100):
            yield Row(f"{command} --printer {value[:12]!r}", (*words, "--printer", value))
        for option in ("--proof", "--at", "--nothing", "--paper", "--slant"):
            yield Row(f"{command} {option} with nothing right", (*words, option, "\x00"[:0] or "?"))
        for value in ("a\u202eb", "\x07", "\u0378", "x" * 300):
            yield Row(f"{command} --credit {value[:6]!r}", (*words, "--credit", value))
        for value in NO_NAME:
            yield Row(f"{command} of {value[:12]!r}", (words[0], value, *words[2:]))


def other_option_rows() -> Iterator[Row]:
    for value in NO_LENGTH:
        for words in (
            ("size", "--downstroke", value),
            ("size", "--downstroke", "3", "--hairline", value),
            ("size", "cobble", "--x-height", value),
            ("trial", "--from", value),
            ("markers", "--x-height", value),
            ("add", "kai", "--tip", "round", "--downstroke", value),
            ("add", "kai", "--tip", "round", "--downstroke", "1", "--from-x-height", value),
            ("font", "flint", "--x-height", value),
            ("write", "flint", "tide", "--for", "print", "--bleed", value),
            ("write", "flint", "tide", "--for", "cut", "--bridges", value),
            ("write", "flint", "tide", "--for", "cut", "--kerf", value),
            ("write", "flint", "tide", "--for", "cut", "--weed-gap", value),
            ("write", "flint", "tide", "--for", "print", "--up", "2", "--gutter", value),
            ("worksheet", "flint", "tide", "--binding", value),
        ):
            yield Row(f"{' '.join(words[:1] + words[-2:-1])} {value[:12]!r}", words)
    for value in NO_NUMBER:
        for words in (
            ("add", "kai", "--tip", "broad", "--downstroke", "3", "--hairline", "0.3", "--nib-angle", value),
            ("plan", "flint", "tide", "--lines", value),
            ("write", "flint", "tide", "--for", "print", "--up", value),
            ("size", "cobble", "--slant", value),
            ("font", "flint", "--slant", value),
        ):
            yield Row(f"{words[0]} {words[-2]} {value[:12]!r}", words)
    for value in ("", "A=.", "A=.,.,.,.", "A=1,2,3", "A=1,2,3,4,5", "A=101,0,0,0", "=1,2,3,4", "A=0,0,0,0", "\x1b", "A" * 60, "All", "black=1,2,3,4"):
        yield Row(f"--spot {value[:12]!r}", ("write", "flint", "tide", "--for", "print", "--spot", value))
    for value in ("", "1", "1,2,3", "1,2,3,4,5", "0,0,0,101", "90,90,90,90", "#ffffff", "nan,0,0,0", "٩,0,0,0", "9," * 400):
        yield Row(f"--ground {value[:12]!r}", ("write", "flint", "tide", "--for", "print", "--ground", value))
    for value in ("", "Tuesday", "FOGRA", "x" * 61, "\x1b"):
        yield Row(f"--output-intent {value[:12]!r}", ("write", "flint", "tide", "--for", "print", "--output-intent", value))
    for value in ("", "cut", "cut=red", "sky=#000000", "cut=#00000", "cut=#0000000", "cut=#00000g", "=#000000"):
        yield Row(f"--colour {value!r}", ("write", "flint", "tide", "--for", "cut", "--colour", value))
    for value in ("", "0x0", "99x99", "20001x500", "1620", "1620x", "nanxnan", "٩٩٩x٩٩٩", "20000x20000", "9" * 400 + "x9"):
        yield Row(f"planner --size {value[:12]!r}", ("planner", "flint", "--size", value, "--format", "png"))
    for value in ("", " ", "a-", "z-a", "a-Z", "\u0301", ",", "a\u0301\u0301", "中"):
        for command in ("worksheet", "planner"):
            yield Row(f"{command} --letters {value!r}", (command, "flint", "--letters", value))
    for words in (("-o", "there.svg"), ("-o", "there.pdf", "--json"), ("-o", "none/x.svg"), ("--format", "docx", "--json")):
        yield Row(f"plan {words}", ("plan", "flint", "tide", *words), {"there.svg": b"old", "there.pdf": b"old"})
    for value in ("", "waves", "all,waves", ",", "x" * 300):
        yield Row(f"--drills {value[:12]!r}", ("worksheet", "cobble", "--drills", value))
    for value in ("", "solid,", "wavy", ",".join(["solid"] * 41), "solid;hollow"):
        yield Row(f"--rows {value[:12]!r}", ("worksheet", "cobble", "tide", "--rows", value))
    for value in ("", "ab", "中", "\u0301", "\x07", " "):
        yield Row(f"letter --char {value!r}", ("letter", "flint", "--char", value))
    for value in ("A B", "", "Kai", "k" * 61, "../kai", "kai.toml", "ка", "-", "\x1b"):
        yield Row(f"add {value[:12]!r}", ("add", "--tip", "round", "--downstroke", "1", "--", value))
    for words in (
        ("add", "kai", "--tip", "brush", "--downstroke", "1"),
        ("add", "kai", "--tip", "brush", "--downstroke", "1", "--hairline", "2"),
        ("add", "kai", "--tip", "round", "--downstroke", "1", "--hairline", "0.5"),
        ("add", "kai", "--tip", "round", "--downstroke", "1", "--nib-angle", "40"),
        ("add", "kai", "--tip", "quill", "--downstroke", "1"),
        ("size",), ("size", "cobble", "--downstroke", "3"), ("worksheet", "flint"), ("write", "flint"), ("plan",),
        ("handout",), ("compare",), ("nothing",), ("--nothing",), ("sheet",), ("inspect",), ("ink",), ("font",),
        ("worksheet", "flint", "tide", "--letters", "a"), ("font", "flint", "--starts"), ("inspect", "x.svg", "--hand", "joined"),
        ("font", "flint", "--set", "all", "--ruled"), ("font", "flint", "--set", "all", "-o", "-"),
        ("sheet", "flint", "--paper", "a4,letter", "-o", "-"), ("--markers", "", "markers"), ("--markers", "nowhere", "markers"),
        ("write", "flint", "tide", "--bleed", "0"), ("write", "flint", "tide", "--for", "cut", "--bleed", "0"),
        ("write", "flint", "tide", "--for", "print", "--sheet", "", "--up", "2"), ("write", "flint", "tide", "--for", "print", "--sheet", "a4"),
        ("sheet", "flint", "--x-height", "0.1mm", "--paper", "5000x5000mm"),
    ):  # fmt: skip
        yield Row(" ".join(words), words)


PACKETS = {
    "empty": b"", "no page": b"[packet]\n", "pages": b"page = 3\n", "unknown": b'[[page]]\nmake = "tide"\n',
    "no marker": b'[[page]]\nmake = "sheet"\n', "a number": b'[packet]\nmarkers = 3\n[[page]]\nmake = "sheet"\n',
    "a kind": b'[packet]\nmarkers = ["flint"]\n[[page]]\nmake = "sheet"\nmargin_mm = "wide"\n',
    "a ring": b'[packet]\nmarkers = ["flint"]\n[[page]]\nmake = "packet"\nsource = "p.toml"\n',
    "many": b'[packet]\nmarkers = ["flint"]\n' + b'[[page]]\nmake = "sheet"\n' * 101,
}  # fmt: skip
LANGUAGES = {
    "unknown key": b'[language]\ncode = "de"\n[head]\nnick = "N"\n', "other slots": b'[language]\ncode = "de"\n[head]\npage = "{x}"\n',
    "attributes": b'[language]\ncode = "de"\n[head]\npage = "{page.__class__} {pages}"\n', "no code": b'[head]\nname = "N"\n',
    "controls": b'[language]\ncode = "de"\n[head]\nname = "a\\u0007"\n', "a list": b'[language]\ncode = "de"\n[head]\nname = ["N"]\n',
}  # fmt: skip


def own_rows() -> Iterator[Row]:
    for name, body in PACKETS.items():
        yield Row(f"packet: {name}", ("packet", "p.toml"), {"p.toml": body})
    for name, body in LANGUAGES.items():
        yield Row(f"language: {name}", ("sheet", "flint", "--language", "x.toml"), {"x.toml": body})
    for value in NO_NAME:
        yield Row(f"language {value[:12]!r}", ("sheet", "flint", "--language", value))
        yield Row(f"packet {value[:12]!r}", ("packet", value))
        yield Row(f"usual --hand {value[:12]!r}", ("usual", "--hand", value))
        yield Row(f"markers --remove {value[:12]!r}", ("markers", "--remove", value))
    for value in ("", "beige", "#12", "#1234567", "\x1b"):
        yield Row(f"planner --theme {value!r}", ("planner", "flint", "--theme", value))
    for value in NO_PAPER:
        yield Row(f"usual --paper {value[:12]!r}", ("usual", "--paper", value))
    for words in (("usual", "--forget", "tide"), ("usual", "--units", "ft"), ("usual", "--margin", "wide"), ("alphabet",),
                  ("alphabet", "flint", "--order", "zyx"), ("alphabet", "slate", "--hand", "uncial"), ("packet",),
                  ("markers", "--rename", "cobble", "kai"), ("sheet", "flint", "slate", "-o", "-", "--paper", "a4,a5")):  # fmt: skip
        yield Row(" ".join(words), words)


# Texts and files of names -------------------------------------------------------------------------------------------

NO_TEXT = ("", " ", "\n", "\\n", "\u0301", "\u0301\u0302", "a\u202eb", "\x07", "a\tb\x00"[:3] + "\x01", "中文", "\u0378", "x" * 3000,
           "\ud800"[:0] + "\u2028", "\ufeff", "é" * 5000)  # fmt: skip


def text_rows() -> Iterator[Row]:
    for text in NO_TEXT:
        for words in (("write", "cobble"), ("worksheet", "cobble"), ("plan", "cobble"), ("compare", "cobble", "--text")):
            yield Row(f"{words[0]} the text {text[:8]!r}", (*words, text))
    bodies: dict[str, Content] = {
        "empty": b"", "blank": b" \n\n", "no encoding": b"M\x81\x8dller\n", "half of utf-16": "Mara\n".encode("utf-16")[:-1],
        "zeros": b"\0" * 100, "controls": b"Mara\x07Lund\n", "a long name": b"x" * 100 + b"\n", "a mark": "\u0301\n".encode(),
        "no letters": "中\n".encode(), "large": lambda: b"Mara Lund\n" * 150_000, "too many": lambda: b"Mara\n" * 10_001,
    }  # fmt: skip
    for name, body in bodies.items():
        for words in (("worksheet", "flint", "--names", "n.txt"), ("plan", "flint", "--names", "n.txt")):
            yield Row(f"{words[0]} names: {name}", words, {"n.txt": body})
    for name, table in (("a quote", b'Ada,"8b\nTom,8b\n'), ("nothing in it", b"Name\n;;\n"), ("numbers", b"\x00;\x01\n")):
        yield Row(f"names in a table: {name}", ("worksheet", "flint", "--names", "n.csv"), {"n.csv": table})
    for missing in ("none.txt", ".", "none/n.txt", ""):
        yield Row(f"names file {missing!r}", ("worksheet", "flint", "--names", missing))


# Profiles -----------------------------------------------------------------------------------------------------------

GOOD = {"name": '"kai"', "label": '"Kai"', "tip": '"brush"', "downstroke_mm": "3.2", "hairline_mm": "0.6"}
NO_WIDTH = ('""', '"3"', "-1", "0", "1e999", "inf", "nan", "true", "[]", "{}", "1" * 400, "-" + "9" * 4000, "1979-05-27",
            "0x" + "f" * 300, "1e-999", "100.1", "'3'")  # fmt: skip


def toml(entries: Mapping[str, str], table: str = "marker") -> bytes:
    return f"[{table}]\n".encode() + "".join(f"{key} = {value}\n" for key, value in entries.items()).encode()


def profile_rows() -> Iterator[Row]:
    bad: dict[str, Content] = {}
    for key in ("downstroke_mm", "hairline_mm", "x_height_mm", "downstroke_sd_mm", "nib_angle_deg"):
        for value in NO_WIDTH:
            if (key, value) not in {("downstroke_sd_mm", "0"), ("downstroke_sd_mm", "1e-999"), ("x_height_mm", "100.1")}:
                bad[f"{key} = {value[:12]}"] = toml(GOOD | {key: value})
    for key in ("name", "label", "tip"):
        for value in ('""', '" "', "1", "[]", "{}", "true", '"\\u001b[2J"', f'"{"x" * 300}"', '"a\\nb"', '"\\u202e"'):
            bad[f"{key} = {value[:12]}"] = toml(GOOD | {key: value})
    for key in GOOD:
        bad[f"no {key}"] = toml({other: value for other, value in GOOD.items() if other != key})
    for value in ("0", "-1", "1.5", '"5"', "9" * 400, "true", "[]"):
        bad[f"samples = {value[:12]}"] = toml(GOOD | {"samples": value})
    good = toml(GOOD)
    bad |= {
        "nothing": b"", "blank": b"\n \n", "no TOML": b"marker", "half": good[:30], "latin-1": good + b"# \xff\n",
        "zeros": b"\0" * 500, "another table": toml(GOOD, "pen"), "twice": good + good, "list": b"[[marker]]\n",
        "unknown key": good + b"colour = 1\n", "unknown table": good + b"[more]\n", "a number": b"marker = 5\n",
        "utf-16": "[marker]".encode("utf-16"), "deep brackets": lambda: b"x = " + b"[" * 100_000,
        "deep tables": lambda: b"x = " + b"{a=" * 50_000, "dotted key": lambda: b".".join([b"a"] * 20_000) + b" = 1\n",
        "quoted dotted key": lambda: b".".join([b'"a"'] * 20_000) + b" = 1\n", "dotted table": lambda: b"[" + b".".join([b"a"] * 20_000) + b"]\n",
        "many dotted tables": lambda: b"".join(b"[a.b.c.d%d]\n" % k for k in range(20_000)),
        "large": lambda: good + b"#" * 5_000_000, "an open string": lambda: b'a = """' + b'\\"""' * 90_000,
        "open strings": lambda: b'"\\' * 150_000, "digits": lambda: b"a = " + b"1" * 300_000,
        "digits with lines": lambda: b"a = " + b"1_" * 150_000 + b"1", "dates": lambda: b"a = " + b"1979-05-27T" * 30_000,
        "backslashes": lambda: b'a = "' + b"\\" * 300_001 + b'"', "a null": good + b"\0", "tabs": b"\t" * 300_000 + b"=",
    }  # fmt: skip
    for name, body in bad.items():
        yield Row(f"profile: {name}", ("size", "./kai.toml"), {"kai.toml": body})
    for name in list(bad)[::9]:
        yield Row(f"sheet of a profile: {name}", ("sheet", "./kai.toml"), {"kai.toml": bad[name]})
        yield Row(f"named profile: {name}", ("--markers", "m", "sheet", "kai"), {"m/kai.toml": bad[name]})
    two = {"m/a.toml": good, "m/b.toml": good}
    yield Row("two of one name", ("--markers", "m", "sheet", "kai"), two)


# Hands --------------------------------------------------------------------------------------------------------------

HAND = """[hand]
name = "quay"
label = "Quay"
tips = ["brush", "round"]
slant_deg = 60
[size]
rule = "counter"
value = 1.0
smallest = 0.6
largest = 1.5
"""
LETTER = '[letters.e]\nstrokes = ["{}"]\nadvance = 0.6\n'
NO_STROKE = (
    "", " ", "x", "0,0", "0,0 0,0", "0,0 nan,1", "0,0 inf,1", "0,0 1e308,1", "0,0 1,1e3", "0,0 51,0", "0,0 0,1,", "0,0 0,1,1e9",
    "0,0 0,1,721", "0,0 0,1,90*0", "0,0 0,1,90*11", "0,0 0,1^2", "0,0 0,1^", "0,0 0,1|", "0,0 none@1,1", "0,0 0,1,90|", "-,0 1,1",
    "0,0 0,1,+90", "0,0 --1,1", "٠,٠ ١,١", "0,0 0;1", "0,0,0,0 1,1", "0,0 1.,1", "0 0 1 1",
)  # fmt: skip
LONG_STROKES: dict[str, Callable[[], str]] = {
    "digits": lambda: "0,0 " + "1" * 100_000,
    "digits and a dot": lambda: "0,0 " + "1" * 100_000 + ".",
    "a heading of 400 digits": lambda: "0,0 0,1," + "9" * 400,
    "a place of 400 digits": lambda: "0,0 " + "9" * 400 + ",1",
    "a tension of 400 digits": lambda: "0,0 0,1,9*" + "9" * 400,
    "dots": lambda: "0,0 " + "." * 100_000,
    "minus signs": lambda: "0,0 " + "-" * 100_000,
    "commas": lambda: "0,0 " + "1," * 50_000,
    "nodes": lambda: "0,0 " + "0,1 0,0 " * 20_000,
    "500 nodes": lambda: " ".join(f"{k * 37 % 50 / 10},{k * 53 % 50 / 10},{k * 71 % 360}" for k in range(500)),
    "letters": lambda: "a" * 100_000,
    "a name and numbers": lambda: "a" + "-" * 50_000 + "@1,1*" + "1" * 50_000,
    "bars": lambda: "0,0 0,1,1|" + "1" * 90_000 + "|",
}  # fmt: skip


def hand_rows() -> Iterator[Row]:
    bodies: dict[str, Content] = {}
    for stroke in NO_STROKE:
        bodies[f"stroke {stroke!r}"] = (HAND + LETTER.format(stroke)).encode()
    for name, stroke in LONG_STROKES.items():
        bodies[f"a stroke of {name}"] = lambda stroke=stroke: (HAND + LETTER.format(stroke())).encode()  # type: ignore[misc]
    for key in ("slant_deg", "ascender", "descender", "row_gap", "width", "capital", "pen_angle_deg"):
        for value in ("nan", "inf", "-inf", '"60"', "true", "[]", "1e308", "9" * 400, "-1000"):
            head = "".join(line for line in HAND.splitlines(keepends=True) if not line.startswith(f"{key} "))
            bodies[f"{key} = {value[:9]}"] = head.replace("[size]", f"{key} = {value}\n[size]").encode()
    for key in ("value", "smallest", "largest", "rule"):
        for value in ("nan", "inf", '"x"', "true", "0", "-1", "9" * 400, "[]"):
            bodies[f"size.{key} = {value[:9]}"] = "\n".join(
                f"{key} = {value}" if line.startswith(f"{key} ") else line for line in HAND.splitlines()
            ).encode()
    good = HAND + LETTER.format("0,0 0,1")
    bodies |= {
        "no table": b"x = 1\n", "half": HAND[:40].encode(), "hand = 5": b"hand = 5\n", "no size": HAND.split("[size]", maxsplit=1)[0].encode(),
        "unknown key": HAND.replace("[size]", "colour = 1\n[size]").encode(), "letters = 5": ("letters = 5\n" + HAND).encode(),
        "two characters": (HAND + LETTER.replace(".e]", ".ee]").format("0,0 0,1")).encode(), "borrows from nobody": HAND.replace("[size]", 'letters_from = "nobody"\n[size]').encode(),
        "borrows from itself": HAND.replace("[size]", 'letters_from = "h"\n[size]').encode(), "borrows from a number": HAND.replace("[size]", "letters_from = 5\n[size]").encode(),
        "400 strokes": (HAND + "[letters.e]\nstrokes = [" + ", ".join(f'"0,{k / 400} 1,{k / 300}"' for k in range(400)) + "]\nadvance = 1\n").encode(),
        "many nodes": (HAND + "[letters.e]\nstrokes = [" + ", ".join('"' + " ".join(f"{k * j % 7},{k % 5}" for k in range(1, 20)) + '"' for j in range(1, 30)) + "]\nadvance = 1\n").encode(),
        "no strokes": (HAND + "[letters.e]\nstrokes = []\n").encode(), "strokes of numbers": (HAND + "[letters.e]\nstrokes = [1]\n").encode(),
        "from nothing": (HAND + '[letters.e]\nfrom = "q"\n').encode(), "scale 0": (good + '[letters.f]\nfrom = "e"\nscale = 0\n').encode(),
        "scale inf": (good + '[letters.f]\nfrom = "e"\nscale = inf\n').encode(), "at of one": (good + '[letters.f]\nfrom = "e"\nat = [1]\n').encode(),
        "joins = 1": (HAND + "[joins]\na = 1\n").encode(), "pressure unknown": (HAND + "[pressure]\nq = 1\n").encode(), "tips none": HAND.replace('["brush", "round"]', "[]").encode(),
        "tips number": HAND.replace('["brush", "round"]', "[1]").encode(), "tips nested": HAND.replace('["brush", "round"]', "[[]]").encode(), "marks = 3": ("marks = 3\n" + HAND).encode(),
    }  # fmt: skip
    for name, body in bodies.items():
        yield Row(f"hand: {name}", ("sheet", "cobble", "--hand", "./h"), {"h/hand.toml": body})
    chain = {f"h{k}/hand.toml": HAND.replace("[size]", f'letters_from = "h{k + 1}"\n[size]').encode() for k in range(400)}
    yield Row("hand: a chain of 400", ("sheet", "cobble", "--hand", "./h0"), chain)
    yield Row("hand: a ring", ("sheet", "cobble", "--hand", "./h0"), {
        f"h{k}/hand.toml": HAND.replace("[size]", f'letters_from = "h{(k + 1) % 4}"\n[size]').encode() for k in range(4)
    })  # fmt: skip
    yield Row("hand: the same twice", ("sheet", "cobble", "--hand", "./h"), {"h/hand.toml": good.encode(), "h/b.toml": LETTER.format("0,0 1,1").encode()})
    for value in ("h", "h/none", ".", "h/hand.toml"):
        yield Row(f"hand: no {value}", ("sheet", "cobble", "--hand", value), {"x.txt": b""})


# Drawings to ink ----------------------------------------------------------------------------------------------------

LINE = '<path d="M5 5L40 40"/>'
NO_TRANSFORM = (
    "junk", "matrix(1 0 0 1 0", "matrix(1 0 0 1 0)", "matrix(1;0 0 1 0 0)", "translate()", "translate(a)", "rotate(1 2)", "scale(1,2,3)",
    "translate(1)) x", "matrix(1e999 0 0 1 0 0)", "skewX(90 1)", "translate(1 2)translate(", "none none", "scale(--1)", "rotate(٣)",
)  # fmt: skip
NO_PATH = (
    "L5 5", "M", "M5", "M5 5L", "M5 5L6", "M5 5 L--6 6", "M5 5L6--6", "M5 5X6 6", "M5 5L1e 6", "M5 5L6,,;7", "M5 5L6 nan", "M5 5L∞ 6",
    "M5 5C1 1", "M5 5A1 1", "M5 5A1 1 0 5 5 9 9", "M5 5A1 1 0 1 5 9 9", "M5 5L1e999 5", "M1e308 5L-1e308 5", "M5 5L+-6 6", "M5 5L6 6.7.", "5 5", "z",
)  # fmt: skip
NO_WIDTHS = ("", " ", "1", "1 2 3", "a b", "1 -2", "1 nan", "1 inf", "1 1e999", "1 1e308", "1;2", "1 1001", "--1 2", "٣ ٣")


def ink_rows() -> Iterator[Row]:
    bodies: dict[str, Content] = {}
    for text in NO_TRANSFORM:
        bodies[f"transform {text}"] = svg(f'<path transform="{text}" d="M5 5L40 40"/>')
        bodies[f"transform of a group {text}"] = svg(f'<g transform="{text}">{LINE}</g>')
    for text in NO_PATH:
        bodies[f"path {text}"] = svg(f'<path d="{text}"/>')
    for text in NO_WIDTHS:
        bodies[f"widths {text!r}"] = svg(f'<path data-widths="{text}" d="M5 5L40 40"/>')
    for key in ("x1", "y2"):
        for text in ("a", "1e", "--1", "1mm2", "nan", "", "1 2", "9" * 60 + "x"):
            bodies[f"{key}={text[:9]!r}"] = svg(f'<line x1="1" y1="1" x2="9" y2="9" {key}="{text}"/>'.replace(f' {key}="{1 if key == "x1" else 9}"', "", 1))
    for text in ("1", "1,2,3", "a,b", "1,2 3,nan", "1;2 3;4", "1,2 --3,4"):
        bodies[f"points {text!r}"] = svg(f'<polyline points="{text}"/>')
    heads = ("", 'width="9" height="9"', 'width="0mm" height="9mm"', 'width="nan" height="9mm"', 'width="1e300mm" height="1e300mm"', 'width="-5mm" height="5mm"', 'width="9%" height="9%"')
    for head in heads:
        bodies[f"head {head}"] = svg(LINE, head)
    bodies |= {
        "empty": b"", "blank": b" ", "no XML": b"tide", "half": svg(LINE)[:80], "html": b"<html><body/></html>", "nothing drawn": svg(""), "zeros": b"\0" * 999,
        "only text": svg("<text>tide</text>"), "hidden": svg(f'<g display="none">{LINE}</g>'), "in defs": svg(f"<defs>{LINE}</defs>"), "script": svg(LINE + "<script>1</script>"),
        "onload": svg(LINE, 'width="9mm" height="9mm" viewBox="0 0 9 9" onload="x()"'), "elsewhere": svg(LINE + '<image href="http://a.example/x.png"/>'), "import": svg(f"<style>@import 'x';</style>{LINE}"),
        "url": svg('<path d="M5 5L9 9" style="fill:url(x.svg#a)"/>'), "entity": b'<!DOCTYPE svg [<!ENTITY a "b">]>' + svg("<text>&a;</text>"), "a link": svg(f'<a href="javascript:x">{LINE}</a>'),
        "foreign object": svg(f"<foreignObject/>{LINE}"), "encoding": b'<?xml version="1.0" encoding="tide-8"?><svg/>', "two roots": svg(LINE) + svg(LINE),
        "deep": lambda: svg("<g>" * 5_000 + LINE + "</g>" * 5_000), "large": lambda: svg(LINE) + b" " * 17_000_000, "many elements": lambda: svg("<g/>" * 150_000 + LINE),
        "long numbers": lambda: svg(f'<path d="M5 5L{"1" * 200_000}x"/>'), "long widths": lambda: svg(f'<path data-widths="{"1" * 200_000}x 1" d="M5 5L9 9"/>'),
        "long dots": lambda: svg(f'<path data-widths="{"." * 200_000}" d="M5 5L9 9"/>'), "long length": lambda: svg(f'<line x1="{"1" * 200_000}x" y1="1" x2="5" y2="5"/>'),
        "long points": lambda: svg(f'<polyline points="{"1 " * 200_000}x"/>'), "an open matrix": lambda: svg(f'<path transform="matrix({"1 " * 200}" d="M5 5L9 9"/>'),
        "a long matrix": lambda: svg(f'<path transform="matrix({"1" * 100_000};" d="M5 5L9 9"/>'), "many moves": lambda: svg(f'<path d="{"M5 5L9 9" * 200_000}"/>'),
        "many lines": lambda: svg("".join(f'<path d="M5 {k / 300}L40 {k / 300}"/>' for k in range(20_000))), "rays": lambda: svg("".join(f'<path d="M45 45L{k % 90} {k // 90 * 45}"/>' for k in range(270))),
        "near lines": lambda: svg("".join(f'<path d="M5 {5 + k / 500}L40 {5 + k / 500}"/>' for k in range(1_500))), "a scribble": lambda: svg('<path d="M0 0' + "".join(f"L{k * 37 % 89} {k * 53 % 83}" for k in range(3_000)) + '"/>'),
        "uses": lambda: svg('<g id="g0">' + LINE + "</g>" + "".join(f'<g id="g{n}">{f"""<use href="#g{n - 1}"/>""" * 10}</g>' for n in range(1, 30))),
    }  # fmt: skip
    bodies |= {f"style: {name}": body for name, body in STYLES.items()}
    for name, body in bodies.items():
        yield Row(f"ink: {name}", ("ink", "d.svg", "--marker", "cobble"), {"d.svg": body})
    for words in (("none.svg",), (".",), ("",), ("d.svg", "--tolerance", "0"), ("d.svg", "--width", "nan"), ("d.svg", "--marker", "nobody")):
        yield Row(f"ink {words}", ("ink", *words, *(() if "--marker" in words else ("--marker", "cobble"))), {"d.svg": svg(LINE)})


RECT = '<path d="M5 5L9 9"/>'
STYLES: dict[str, Content] = {
    "deep": lambda: svg(f"<style>{'a{' * 20_000}</style>{RECT}"),
    "deep brackets": lambda: svg(f"<style>a{'(' * 90_000}</style>{RECT}"),
    "has": lambda: svg(f"<style>*:has(path){{fill:red}}</style>{RECT * 5_000}"),
    "universal": lambda: svg(f"<style>{'* * * *{fill:red}' * 1_000}</style>{RECT * 5_000}"),
    "siblings": lambda: svg(f"<style>* ~ * ~ * ~ *{{fill:red}}</style>{RECT * 2_000}"),
    "long": lambda: svg(f"<style>{'a{fill:red}' * 30_000}</style>{RECT}"),
    "children counted": lambda: svg(f"<style>path:nth-child(2n+1){{fill:red}}</style>{RECT * 4_000}"),
}  # fmt: skip


# Files to inspect ---------------------------------------------------------------------------------------------------


def png(width: int, height: int, data: bytes, kind: int = 2) -> bytes:
    def chunk(name: bytes, body: bytes) -> bytes:
        return struct.pack(">I", len(body)) + name + body + struct.pack(">I", zlib.crc32(name + body))

    header = struct.pack(">IIBBBBB", width, height, 8, kind, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", header) + chunk(b"IDAT", data) + chunk(b"IEND", b"")


def page(content: bytes = b"", more: bytes = b"/MediaBox[0 0 99 99]/Resources<<>>") -> bytes:
    return pdf(
        b"<</Type/Catalog/Pages 2 0 R>>", b"<</Type/Pages/Kids[3 0 R]/Count 1>>",
        b"<</Type/Page/Parent 2 0 R/Contents 4 0 R" + more + b">>", b"<</Length %d>>stream\n%s\nendstream" % (len(content), content),
    )  # fmt: skip


def dxf(body: str) -> bytes:
    return ("\n".join(f"0 SECTION {body} 0 EOF".split()) + "\n").encode()


def inspect_rows() -> Iterator[Row]:
    bodies: dict[str, Content] = {
        "empty": b"", "noise": bytes(range(256)) * 9, "words": b"high tide at seven\n", "html": b"<html/>", "zeros": b"\0" * 999, "svg half": svg(LINE)[:70], "svg no page": svg(LINE, 'width="0"'),
        "svg nowhere": svg('<path d="M1e999 0L-1e999 5"/>'), "svg huge": svg('<path d="M1e300 0L-1e300 5"/>'), "svg entity": b'<!DOCTYPE svg [<!ENTITY a "b">]>' + svg("&a;"),
        "svg many points": lambda: svg('<path d="M0 0' + "".join(f"L{k % 90} {k % 77}" for k in range(1_000_000)) + '"/>'), "svg many elements": lambda: svg("<g/>" * 300_000),
        "svg deep": lambda: svg("<g>" * 100_000), "svg uses": lambda: svg('<g id="g0"><rect width="1" height="1"/></g>' + "".join(f'<g id="g{n}">{f"""<use href="#g{n - 1}"/>""" * 10}</g>' for n in range(1, 30))),
        "png half": png(50, 50, zlib.compress(b"\0" * 7_550))[:60], "png bomb": lambda: png(60_000, 60_000, zlib.compress(b"\0" * 1_000_000)), "png of nothing": png(0, 0, b""),
        "png damaged": png(50, 50, b"tide"), "png large": lambda: png(12_300, 12_300, zlib.compress(b"\0" * 1_000)), "png head only": b"\x89PNG\r\n\x1a\n",
        "font of nothing": b"OTTO" + b"\xff" * 300, "font tables": b"\0\1\0\0\0\x05" + b"\xff" * 5_000, "woff": b"wOFF" + b"\0" * 200, "woff2": b"wOF2" + b"\xff" * 200, "ttc": b"ttcf" + b"\xff" * 200,
        "eps no box": b"%!PS-Adobe-3.0 EPSF-3.0\nshowpage\n", "eps no numbers": b"%!PS-Adobe-3.0 EPSF-3.0\n%%BoundingBox: - . -. 5\nshowpage\n%%EOF", "eps no end": b"%!PS\n%%BoundingBox: 0 0 9 9\n",
        "eps spaces": lambda: b"%!PS\n%%BoundingBox:" + b" " * 90_000 + b"x\n%%EOF", "eps empty lines": lambda: b"%!PS\n" + b"%%BoundingBox:\n" * 6_000 + b"%%EOF",
        "dxf no end": b"0\nSECTION\n2\nHEADER\n", "dxf half": dxf("2 ENTITIES 0 LINE 8 0 10"), "dxf words": b"0\nSECTION\ntide\ntide\n0\nEOF\n", "dxf binary": b"AutoCAD Binary DXF\r\n\x1a\x00" + b"\xff" * 99,
        "dxf loop": dxf("2 BLOCKS" + "".join(f" 0 BLOCK 8 0 2 {a} 70 0 10 0 20 0 30 0" + f" 0 INSERT 8 0 2 {b} 10 0 20 0" * 10 + " 0 ENDBLK 8 0" for a, b in ("AB", "BA")) + " 0 ENDSEC 0 SECTION 2 ENTITIES 0 INSERT 8 0 2 A 10 0 20 0 0 ENDSEC"),
        "dxf array": dxf("2 BLOCKS 0 BLOCK 8 0 2 A 70 0 10 0 20 0 30 0 0 LINE 8 0 10 0 20 0 11 1 21 1 0 ENDBLK 8 0 0 ENDSEC 0 SECTION 2 ENTITIES 0 INSERT 8 0 2 A 10 0 20 0 70 30000 71 30000 44 1 45 1 0 ENDSEC"),
        "pdf head only": b"%PDF-1.4\n", "pdf half": page()[:120], "pdf no pages": pdf(b"<</Type/Catalog/Pages 2 0 R>>", b"<</Type/Pages/Kids[]/Count 0>>"),
        "pdf page loop": pdf(b"<</Type/Catalog/Pages 2 0 R>>", b"<</Type/Pages/Kids[2 0 R 3 0 R]/Parent 2 0 R/Count 2>>", b"<</Type/Page/Parent 2 0 R/MediaBox[0 0 9 9]>>"),
        "pdf huge box": page(more=b"/MediaBox[0 0 99999999999 99999999999]"), "pdf box of nothing": page(more=b"/MediaBox[0 0 0 0]"),
        "pdf user unit": page(more=b"/MediaBox[0 0 9 9]/UserUnit/tide"), "pdf matrix of five": page(b"1 0 0 1 0 cm"), "pdf move of one": page(b"5 m"), "pdf words for numbers": page(b"/a /b m"), "pdf no operand": page(b"cm"),
        "pdf nowhere": page(b"1e38 1e38 1e38 1e38 1e38 1e38 cm 0 0 m 9e9 9e9 l S"), "pdf colour of words": page(b"/x /y /z rg"), "pdf form of nothing": page(b"/F Do 5 Do Do"), "pdf states": page(b"q " * 9_000),
        "pdf marks": page(b"/a BMC " * 9_000), "pdf rotate": page(more=b"/MediaBox[0 0 9 9]/Rotate/tide"), "pdf many pages": lambda: pdf(b"<</Type/Catalog/Pages 2 0 R>>", b"<</Type/Pages/Kids[" + b"3 0 R " * 5_000 + b"]/Count 5000>>", b"<</Type/Page/Parent 2 0 R/MediaBox[0 0 9 9]>>"),
        "pdf much": lambda: page(b"0 0 m 9 9 l S " * 1_500_000), "pdf open text": page(b"(" * 90_000),
    }  # fmt: skip
    for name, body in bodies.items():
        yield Row(f"inspect: {name}", ("inspect", "x.file"), {"x.file": body})
    bodies = {f"style: {name}": body for name, body in STYLES.items()}
    for name, body in bodies.items():
        yield Row(f"inspect: {name}", ("inspect", "x.svg"), {"x.svg": body})
    good = {"x.svg": svg(LINE)}
    for words in (
        ("none.svg",), (".",), ("x.svg", "--page", "0"), ("x.svg", "--page", "2"), ("x.svg", "--page", "٢"), ("x.svg", "--against", "nobody"), ("x.svg", "--for", "burn"),
        ("x.svg", "--min-feature", "1"), ("x.svg", "--slant", "50"), ("x.svg", "--page", "1" * 400), ("x.svg", "--for", "cut", "--min-feature", "nan"), ("x.svg", "y.svg"),
    ):  # fmt: skip
        yield Row(f"inspect {words}", ("inspect", *words), good)


# Colour profiles, kept printers, places to write to -----------------------------------------------------------------


def icc(size: int | None = None, *, version: int = 4, tags: int = 0, space: bytes = b"CMYK", kind: bytes = b"prtr", table: bytes = b"") -> bytes:
    body = bytearray(128)
    body[8], body[12:16], body[16:20], body[36:40] = version, kind, space, b"acsp"
    body += struct.pack(">I", tags) + table
    body[:4] = struct.pack(">I", len(body) if size is None else size)
    return bytes(body)


def workshop_rows() -> Iterator[Row]:
    entry = struct.pack(">4sII", b"A2B0", 144, 4)
    profiles = {
        "empty": b"", "noise": bytes(range(256)), "no tags": icc(), "version 255": icc(version=255, tags=1, table=entry + b"tide"), "2^32 tags": icc(tags=2**32 - 1), "more tags than bytes": icc(tags=50, table=entry),
        "a tag outside": icc(tags=1, table=struct.pack(">4sII", b"A2B0", 9_999, 99)), "rgb": icc(space=b"RGB "), "a screen": icc(kind=b"mntr"), "wrong size": icc(9_999), "half": icc()[:100], "version 0": icc(version=0, tags=1, table=entry + b"tide"),
        "no transform": icc(tags=1, table=struct.pack(">4sII", b"desc", 144, 4) + b"tide"), "a tag in the head": icc(tags=1, table=struct.pack(">4sII", b"A2B0", 4, 40) + b"tide"),
    }  # fmt: skip
    write = ("write", "flint", "tide", "--for", "print", "--icc")
    for name, body in profiles.items():
        yield Row(f"icc: {name}", (*write, "p.icc"), {"p.icc": body})
    for path in ("", "none.icc", "."):
        yield Row(f"icc {path!r}", (*write, path))
    for name, body in {
        "a number": b"printers = 5\n", "a list": b"[[printers]]\n", "numbers in it": b"[printers]\na = 3\n", "words in it": b'[printers]\na = "x"\n', "another table": b"[pens]\n", "no TOML": b"printers", "empty": b"", "zeros": b"\0\0",
        "digits": b"[printers]\na = " + b"9" * 400 + b"\n", "tables in it": b"[printers.a]\nb = 1\n", "names": b'[printers]\n"A B" = "98x99"\n', "far out": b'[printers]\na = "1x1"\n',
    }.items():  # fmt: skip
        kept = {"config/guidegen/printers.toml": body}
        yield Row(f"printers: {name}", ("sheet", "flint", "--printer", "a"), kept)
        yield Row(f"printers kept: {name}", ("sheet", "flint", "--printer", "b", "--measured", "98x99"), kept)
    there = {"there.svg": b"old", "a/b.svg": b"old"}
    for words in (
        ("-o", "there.svg"), ("-o", "none/x.svg"), ("-o", "there.svg/x.svg"), ("-o", "x.docx"), ("-o", "a/b.svg"), ("-o", "/dev/x.svg"), ("-o", "/proc/x.svg"), ("-o", "x" * 300 + ".svg"), ("-o", "/dev/full", "--format", "svg"),
        ("-o", "a/../there.svg"), ("-o", "/x/y/z.svg"), ("-o", "./there.svg"),
    ):  # fmt: skip
        yield Row(f"sheet {words[1][:20]}", ("sheet", "flint", *words), there)
        yield Row(f"write {words[1][:20]}", ("write", "flint", "tide", *words), there)
    for words in (("font", "flint", "-o", "there.ttf"), ("font", "flint", "-o", "x.svg"), ("demo", "-o", "there.ttf"), ("demo", "-o", ""), ("demo", "-o", "there.ttf/x"), ("add", "kai", "--tip", "round", "--downstroke", "1", "-o", "there.ttf")):
        yield Row(" ".join(words), words, {"there.ttf": b"old"})


# Lists of jobs --------------------------------------------------------------------------------------------------------

JOB = '[[job]]\ncommand = "sheet"\nmarker = "flint"\nout = "a.svg"\n'
NO_VALUE = ("nan", "inf", "1e308", "9" * 400, "true", "1979-05-27", '""', '"x"', "[]", "[[]]", '"\\u001b[2J"')


def ledger(*statements: str, version: int = 1) -> Callable[[], bytes]:
    """Return a ledger of a run with what ``statements`` do to it."""

    def made() -> bytes:
        from guidegen.batch.ledger import _TABLES

        connection = sqlite3.connect(":memory:")
        connection.executescript(_TABLES.replace("values (1)", f"values ({version})"))
        for statement in statements:
            connection.execute(statement)
        connection.commit()
        whole = bytearray(connection.serialize())
        whole[18:20] = b"\2\2"  # as a run leaves it: with a log for what is written (sqlite.org/fileformat.html)
        return bytes(whole)

    return made


def known(files: str, placing: str = "null") -> str:
    return f"insert into jobs (out, key, files, placing, state) values ('a.svg', 'x', '{files}', {placing}, 'done')"


def batch_rows() -> Iterator[Row]:
    bodies: dict[str, Content] = {
        "empty": b"", "no job": b"[batch]\n", "job = 5": b"job = 5\n", "jobs of numbers": b"job = [1]\n", "one table": b'[job]\ncommand = "sheet"\n', "another table": b"[jobs]\n",
        "folder = 5": b"[batch]\nfolder = 5\n" + JOB.encode(), "folder of nothing": b'[batch]\nfolder = ""\n' + JOB.encode(), "folder that is a file": b'[batch]\nfolder = "x.csv"\n' + JOB.encode(),
        "two of one name": (JOB + JOB).encode(), "names apart by case": (JOB + JOB.replace("a.svg", "A.SVG")).encode(), "large": (JOB * 9_000).encode, "deep": lambda: b"job = " + b"[" * 90_000,
        "millions": (JOB.replace("a.svg", "{number}.svg") + "".join(f"{key} = [{', '.join(map(str, range(30, 130)))}]\n" for key in ("margin", "x_height", "row_gap", "ppi"))).encode(),
    }  # fmt: skip
    for command in ("5", '""', '"nothing"', '"serve"', '"batch"', '"demo"', '"size"', '"inspect"', '"packet"', "[]", '"--help"'):
        bodies[f"command = {command}"] = JOB.replace('"sheet"', command).encode()
    for out in ("5", '""', '"../a.svg"', '"/a.svg"', '"a\\\\b.svg"', '"{nobody}.svg"', '"{.svg"', '"}.svg"', '"a:b.svg"', '".a.svg"', '"a\\u0007.svg"', f'"{"x" * 2000}.svg"', "[]", '"."'):
        bodies[f"out = {out[:12]}"] = JOB.replace('"a.svg"', out).encode()
    for key in ("x_height", "paper", "hand", "marker", "margin", "landscape", "nobody", "format", "force", "json", "out_", "printer", "names"):
        for value in NO_VALUE:
            if (key, value) != ("landscape", "true"):
                body = JOB if key != "marker" else JOB.replace('marker = "flint"\n', "")
                bodies[f"{key} = {value[:12]}"] = (body + f"{key} = {value}\n").encode()
    for name, body in bodies.items():
        yield Row(f"batch: {name}", ("batch", "j.toml"), {"j.toml": body, "x.csv": b"name\nMara\n"})
    text = '[[job]]\ncommand = "write"\nmarker = "flint"\nout = "{number}.svg"\ntext = '
    tables: dict[str, Content] = {
        "none": b"", "blank": b"\n \n", "no column": b"nom,age\nMara,9\n", "twice": b"name\nMara\nMara\n", "latin-1": b"name\nM\xfcller\n", "an open quote": lambda: b'name\n"' + b"x,\n" * 90_000,
        "a long cell": lambda: b"name\n" + b"x" * 200_000 + b"\n", "many columns": lambda: b"nam," * 2_000_000 + b"\nMara\n", "empty rows": lambda: b"name\n" + b"\n" * 9_000_000, "large": lambda: b"name\n" + b"Mara\n" * 13_000_000,
    }  # fmt: skip
    for name, body in tables.items():
        yield Row(f"batch: a table: {name}", ("batch", "j.toml"), {"j.toml": f'{text}{{ csv = "x.csv", column = "name" }}\n'.encode(), "x.csv": body})
    for value in ('{ csv = "none.csv" }', '{ csv = "." }', '{ csv = "" }', "{ csv = 5 }", '{ column = "name" }', '{ csv = "x.csv", column = 5 }', '{ csv = "x.csv", more = 1 }', '{ csv = "x\\u0000.csv" }'):
        yield Row(f"batch: text = {value}", ("batch", "j.toml"), {"j.toml": f"{text}{value}\n".encode(), "x.csv": b"name\nMara\n"})
    for words in (
        ("--shard", ""), ("--shard", "0/1"), ("--shard", "2/1"), ("--shard", "1"), ("--shard", "٣/٤"), ("--shard", "1/999999"), ("--processes", "0"), ("--processes", "x"), ("--processes", "999"), ("--folder", ""), ("--folder", "j.toml"),
        ("--folder", "nope://x"), ("--folder", "zip://nothing::j.toml"), ("--ledger", ""), ("--ledger", "j.toml"), ("--ledger", "j.toml/x"), ("--scheduler", ""), ("--scheduler", "x"), ("--scheduler", "a\nb"), ("--scheduler", "x", "--processes", "2"),
        ("--merge",), ("--check",), ("--merge", "--plan"), ("--plan", "--check"), ("--plan", "--stop"), ("--check", "--force"), ("--merge", "--shard", "1/2"), ("--check", "--scheduler", "x"), ("--merge", "--processes", "2"),
    ):  # fmt: skip
        yield Row(f"batch {words}", ("batch", "j.toml", *words), {"j.toml": JOB.encode()})
    for value in NO_NAME:
        yield Row(f"batch {value[:12]!r}", ("batch", value))
    ledgers: dict[str, Content] = {
        "noise": bytes(range(256)) * 40, "a head alone": b"SQLite format 3\0" + b"\xff" * 5000, "of a newer": ledger(version=2),
        "without tables": ledger("drop table jobs", "create table jobs (x)"), "files of junk": ledger(known("junk")), "files of numbers": ledger(known("[1, 2]")), "a file of one": ledger(known('[["a.svg"]]')),
        "files far off": ledger(known('[["../../x", 1, 1, "x"]]')), "files at the root": ledger(known('[["/etc/x", 1, 1, "x"]]')), "files to come far off": ledger(known("[]", "'[\"../x\"]'")), "files deep": ledger(known("[" * 90_000)),
        "a number as a file": ledger(known('[[5, 1, 1, "x"]]')),
    }  # fmt: skip
    for name, body in ledgers.items():
        yield Row(f"batch: ledger: {name}", ("batch", "j.toml"), {"j.toml": JOB.encode(), "output/.guidegen/ledger.sqlite": body})


def usual_rows() -> Iterator[Row]:
    """What is kept is a file that a person may have written, or that is older than what it names."""
    bodies = {
        "empty": b"", "no TOML": b"usual", "another table": b"[usuals]\n", "two tables": b"[usual]\n[more]\n", "unknown": b"[usual]\ninks = 3\n", "a number": b"[usual]\npaper = 4\n", "a list": b'[usual]\npaper = ["a4"]\n',
        "no paper": b'[usual]\npaper = "a99"\n', "no margin": b'[usual]\nmargin = "wide"\n', "margin of 400 digits": b'[usual]\nmargin = "' + b"9" * 400 + b'"\n', "no style": b'[usual]\nguide_style = "beige"\n', "no hand": b'[usual]\nhand = "nobody"\n',
        "controls": b'[usual]\ncredit = "a\\u001b[2Jb"\n', "no units": b'[usual]\nunits = "ft"\n', "no printer": b'[usual]\nprinter = "kai"\n', "no language": b'[usual]\nlanguage = "tide"\n', "left_handed of words": b'[usual]\nleft_handed = "yes"\n',
        "zeros": b"\0" * 99, "deep": b"usual = " + b"[" * 9_000, "nothing said": b'[usual]\npaper = ""\n', "a bomb": b'[usual]\ncredit = "' + b"x" * 300_000 + b'"\n',
    }  # fmt: skip
    for name, body in bodies.items():
        yield Row(f"usual: {name}", ("sheet", "flint"), {"config/guidegen/usual.toml": body})
        if name not in {"no paper", "no margin", "margin of 400 digits", "no style", "no hand", "controls", "no units", "no printer", "no language", "nothing said", "a bomb"}:
            yield Row(f"usual shown: {name}", ("usual",), {"config/guidegen/usual.toml": body})
            yield Row(f"usual changed: {name}", ("usual", "--paper", "a5"), {"config/guidegen/usual.toml": body})
    yield Row("usual: a folder", ("sheet", "flint"), {"config/guidegen/usual.toml/x": b""})
    printer = ("--measured", "98x99", "--printer", "kai")
    for words in (
        ("sheet", "flint", "--paper", "10x10mm"), ("worksheet", "flint", "中"), ("write", "flint", "\x07"), ("swatch", "--paper", "a8"), ("measure", "x.png", "--name", "kai"), ("check", "x.png", "--marker", "flint"), ("packet", "none.toml"),
    ):  # fmt: skip
        yield Row(f"nothing is kept of what failed: {words[0]}", (*words, *printer), {"x.png": b"no picture"})


def page_rows() -> Iterator[Row]:
    """What a page has no use for, and packets whose values are of another kind."""
    for words in (
        ("swatch", "--letters"), ("swatch", "--x-height", "6"), ("swatch", "--nib-angle", "40"), ("swatch", "slate", "--letters", "--nib-angle", "40"), ("swatch", "slate", "--slant", "60"), ("swatch", "cobble", "--tip", "round"),
        ("swatch", "cobble", "--marker", "flint"), ("swatch", "--json", "--paper", "a4,letter"), ("swatch", "--json", "-o", "-"), ("swatch", "--copies", "5"), ("swatch", "--copies", "0"), ("swatch", "--copies", "4", "--paper", "a6"),
        ("swatch", "--transparent"), ("sheet", "flint", "--ppi", "100"), ("sheet", "flint", "--transparent", "-o", "x.svg"), ("write", "flint", "tide", "--ppi", "100", "-o", "x.svg"), ("planner", "flint", "--transparent"), ("ink", "d.svg", "--marker", "flint", "--transparent"),
        ("packet", "p.toml", "--names", "n.txt"), ("packet", "p.toml", "--names", "none.txt"), ("packet", "class", "--marker", "flint", "--names", "d.svg"), ("packet", "p.toml", "--ppi", "50"), ("packet", "p.toml", "--marker", ","),
        ("markers", "--remove", "cobble"), ("markers", "--rename", "kai"), ("markers", "--rename", "kai", "kai"), ("markers", "--rename", "none", "kai"), ("markers", "--rename", "flint", "A B"), ("markers", "--rename", "flint", "../x"),
        ("markers", "--remove", "kai", "--json"), ("markers", "--remove", "kai", "--rename", "kai", "kay"), ("markers", "--rename", "", ""), ("markers", "--remove", "kai.toml"), ("markers", "--remove", "../markers/kai"),
        ("serve", "--port", "65536"), ("serve", "--port", "-1"), ("serve", "--port", "x"), ("serve", "--port", "٨٠"), ("serve", "--host", ""), ("serve", "--host", "a b"), ("serve", "--host", "\x1b[2J"),
    ):  # fmt: skip
        yield Row(f"{' '.join(words)[:60]!r} has no use", words, {"d.svg": svg(LINE), "n.txt": b"Mara\n", "p.toml": PAGE.encode(), "config/guidegen/markers/kai.toml": toml(GOOD)})
    sure = {("margin_mm", "0"), ("credit", '""'), ("landscape", "true"), ("header", "true"), ("row_gap_mm", "0"), ("name_line", "true"), ("arrows", "true"), ("binding_mm", "0"), ("title", '""'), ("note", '""'), ("credit", '"x"'), ("title", '"x"'),
            ("note", '"x"'), ("text", '"x"'), ("text", '["x"]'), ("letters", '"x"'), ("names", "true"), ("char", '"x"'), ("guides", "true")}  # fmt: skip
    values = ('""', '"x"', '"\\u001b[2J"', "0", "-1", "1e308", "nan", "inf", "9" * 400, "true", "[]", '["x"]', "{}", "1979-05-27")
    places = {
        "sheet": ("x_height_mm", "slant_deg", "at", "landscape", "margin_mm", "proof", "credit", "printer", "language", "guide_style", "header", "row_count", "row_gap_mm", "hand", "paper"),
        "worksheet": ("text", "letters", "order", "drills", "rows", "repeats", "arrows", "tint", "title", "note", "name_line", "binding_mm", "missing"), "alphabet": ("order", "guides", "text"), "letter": ("char",), "trial": ("from_mm", "to_mm"), "compare": ("markers",),
    }  # fmt: skip
    for command, keys in places.items():
        for key in keys:
            for value in values:
                if (key, value) not in sure:
                    text = 'text = "tide"\n' if command == "worksheet" and key not in {"text", "letters", "drills"} else ""
                    body = PAGE.replace('"sheet"', f'"{command}"') + f"{text}{key} = {value}\n"
                    yield Row(f"packet: {command}: {key} = {value[:12]}", ("packet", "p.toml", "--format", "svg"), {"p.toml": body.encode()})


def picture_rows() -> Iterator[Row]:
    for number, (name, made) in enumerate(PICTURES.items()):
        yield Row(f"measure: {name}", ("measure", "x.png", "--name", "kai"), {"x.png": made})
        if number % 3 == 0:  # both read pictures the same way
            yield Row(f"check: {name}", ("check", "x.png", "--marker", "flint"), {"x.png": made})
    for words in (
        (), ("none.png",), (".",), ("",), ("x.png", "--name", ""), ("x.png", "--name", "A B"), ("x.png", "--name", "a,a"), ("x.png", "--name", "a,"), ("x.png", "--dpi", "nan"), ("x.png", "--dpi", "49"), ("x.png", "--dpi", "٣٠٠"), ("x.png", "--measured", "1x1"), ("x.png", "--printer", "nobody"),
        ("x.png", "--card", "--measured", "99x99"), ("x.png", "--kind", "film"), ("x.png", "--report", "x.docx"), ("x.png", "--report", "none/x.pdf"), ("x.png", "--language", "tide"), ("x.png", "--nib-angle", "91"), ("x.png", "--tip", "quill"), ("x.png", "--name", "a,b", "--label", "A"), ("x.png", "-o", "none/x.toml"),
    ):  # fmt: skip
        yield Row(f"measure {words}", ("measure", *words, *(() if "--name" in words else ("--name", "kai"))), {"x.png": b"no picture"})
    for words in (
        (), ("none.png",), (".",), ("x.png", "--marker", "nobody"), ("x.png", "--hand", "nobody"), ("x.png", "--slant", "nan"), ("x.png", "--x-height", "0"), ("x.png", "--dpi", "inf"), ("x.png", "--report", "x.pdf"), ("x.png", "--report", "x.png"), ("x.png", "--report", "none/x.png"), ("x.png", "--language", "tide"), ("x.png",) * 201,
    ):  # fmt: skip
        yield Row(f"check {words[:3]} {len(words)}", ("check", *words, *(() if "--marker" in words else ("--marker", "flint"))), {"x.png": b"no picture"})


PAGE = '[packet]\nmarkers = ["flint"]\n[[page]]\nmake = "sheet"\n'
FAMILIES = (
    option_rows, other_option_rows, own_rows, text_rows, profile_rows, hand_rows, ink_rows, inspect_rows, workshop_rows, batch_rows, usual_rows, page_rows, picture_rows,
)  # fmt: skip
ROWS = tuple(row for family in FAMILIES for row in family())
