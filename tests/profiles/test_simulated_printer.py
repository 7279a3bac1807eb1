"""A printer that is off, simulated: sheets of every shape and lie, fed either way, are measured on its paper.

The printer knows nothing of pages that lie: it takes a sheet of paper with one edge first, makes so much of a
millimetre across its rollers and so much of one along the paper's way, and that is all it does.
"""

from __future__ import annotations

import itertools
import xml.etree.ElementTree as ET  # our own files

import pytest

import guidegen as gg

ACROSS, DOWN = 1.014, 0.991
SVG = "{http://www.w3.org/2000/svg}"


def printed(path, feed):
    """Return a function that maps a point of the file (mm) to where the printer puts it on the paper (mm).

    The paper is turned so that the edge that enters first lies across, printed, and turned back.
    """
    box = [float(side) for side in ET.parse(path).getroot().get("viewBox").split()[2:]]
    short_is_width = box[0] <= box[1]
    square = box[0] == box[1]  # has no long edge and enters as it stands
    width_lies_across = square or (short_is_width if feed == "short" else not short_is_width)

    def paper(x, y):
        return (x * ACROSS, y * DOWN) if width_lies_across else (x * DOWN, y * ACROSS)

    return paper


def lines(path, layer):
    group = next(g for g in ET.parse(path).getroot().iter(f"{SVG}g") if g.get("id") == layer)
    return [
        (tuple(float(line.get(key)) for key in ("x1", "y1", "x2", "y2")), line.get("data-line"), line.get("data-row"))
        for line in group.iter(f"{SVG}line")
    ]


def bar_mm(path, paper):
    """Return how long the proof bar's millimetre scale is on paper: from its first long tick up to its last."""
    ticks = [ends for ends, _, _ in lines(path, "proof") if abs(ends[0] - ends[2]) < 1e-6]
    tall = max(ends[1] - ends[3] for ends in ticks)
    long = [paper(ends[0], ends[1])[0] for ends in ticks if ends[1] - ends[3] > tall - 1e-3]
    return max(long) - min(long)


def x_heights_mm(path, paper):
    rows = {}
    for (_, y, _, _), role, row in lines(path, "lines"):
        rows.setdefault(row, {})[role] = paper(0, y)[1]
    return [row["baseline"] - row["x-height"] for row in rows.values() if {"baseline", "x-height"} <= set(row)]


@pytest.mark.parametrize(
    ("paper", "more", "bar"),
    [
        ("a4", (), 100),
        ("a4", ("--landscape",), 100),
        ("letter", ("--landscape",), 100),
        ("c6", (), 100),
        ("dl", ("--margin", "6mm"), 100),
        ("card", ("--margin", "4mm"), 50),
        ("100x100mm", ("--margin", "5mm"), 50),
    ],
)
@pytest.mark.parametrize("feed", ["short", "long", None])
def test_bar_and_rows_are_true_on_paper(paper, more, bar, feed, home, cli):
    file = home / "sheet.svg"
    words = ("sheet", "flint", "--x-height", "5mm", "--paper", paper, *more, "--measured", "101.4x99.1")
    cli(*words, *(("--feed", feed) if feed else ()), "-o", str(file))
    on_paper = printed(file, feed or "short")
    assert bar_mm(file, on_paper) == pytest.approx(bar, abs=0.01)
    rows = x_heights_mm(file, on_paper)
    assert rows
    assert rows == pytest.approx([5.0] * len(rows), abs=0.005)


@pytest.mark.parametrize("feed", ["short", "long"])
@pytest.mark.parametrize("lying", [False, True])
def test_tiles_are_true_as_they_lie_on_the_printers_paper(lying, feed, home, cli):
    """The poster's shape decides how the tiles lie, and a tile's paper, not the poster, runs through the printer."""
    wide, high = (700, 150) if lying else (150, 700)
    words = ("sheet", "flint", "--x-height", "6mm", "--paper", f"{wide}x{high}mm", "--measured", "101.4x99.1")
    cli(*words, "--feed", feed, "--printer-paper", "a4", "-o", str(home / "tile.svg"))
    files = sorted(home.glob("tile-*.svg"))
    assert len(files) > 1
    bars = []
    for file in files:
        on_paper = printed(file, feed)
        rows = x_heights_mm(file, on_paper)
        assert rows == pytest.approx([6.0] * len(rows), abs=0.005)
        crosses = sorted(
            on_paper((a + c) / 2, (b + d) / 2)
            for (a, b, c, d), _, _ in lines(file, "crop")
            if abs(a - c) < 1e-6 and abs(abs(on_paper(0, d)[1] - on_paper(0, b)[1]) - 6) < 0.01
        )
        assert crosses  # at the same places of the true window, whatever the tile
        size = on_paper(*(float(s) for s in ET.parse(file).getroot().get("viewBox").split()[2:]))
        for x, y in crosses:
            assert min(x - 12 - 5, size[0] - 12 - 5 - x, key=abs) == pytest.approx(0, abs=0.01)
            assert min(y - 12 - 5, size[1] - 12 - 5 - y, key=abs) == pytest.approx(0, abs=0.01)
        ticks = [ends for ends, _, _ in lines(file, "proof") if abs(ends[0] - ends[2]) < 1e-6] if has(file) else []
        xs = sorted({round(on_paper(ends[0], 0)[0], 2) for ends in ticks if ends[1] > ends[3]})
        bars += [b - a for a, b in itertools.pairwise(xs)]
    assert bars
    assert bars == pytest.approx([10.0] * len(bars), abs=0.02)


def has(file):
    return any(group.get("id") == "proof" for group in ET.parse(file).getroot().iter(f"{SVG}g"))


def test_a_page_the_printers_paper_holds_is_corrected_as_ever(home, cli):
    words = ("sheet", "flint", "--landscape", "--measured", "101.4x99.1")
    cli(*words, "-o", str(home / "a.svg"))
    cli(*words, "--printer-paper", "a3", "-o", str(home / "b.svg"))
    cli(*words, "--printer-paper", "297x210mm", "-o", str(home / "c.svg"))
    first, *others = [(home / f"{name}.svg").read_bytes() for name in "abc"]
    assert others[1] == first


def test_the_feed_may_follow_a_printers_measures_or_name():
    plain = gg.sheet("flint", landscape=True, printer="101.4x99.1").svg()
    assert gg.sheet("flint", landscape=True, printer="101.4x99.1 short").svg() == plain
    long = gg.sheet("flint", landscape=True, printer="101.4x99.1 long").svg()
    assert long != plain
    assert gg.sheet("flint", landscape=True, printer=gg.Printer(101.4, 99.1, "long")).svg() == long


def test_a_corrected_page_is_not_cut_into_tiles():
    pages = gg.sheet("flint", paper="a3", printer="101.4x99.1")
    with pytest.raises(gg.GuidegenError, match="make the page without `printer`"):
        pages.tiled("a4")
    assert len(gg.sheet("flint", paper="a3").tiled("a4", printer="101.4x99.1")) > 1


def test_a_feed_without_measures_is_told(cli):
    assert "--feed" in cli("sheet", "flint", "--feed", "long").line
