"""Sizes against the standards, and the words of a paper option."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest

from guidegen.errors import GuidegenError
from guidegen.profiles.papers import Paper, paper_from_table, parse_paper

TEMPLATES = Path(__file__).parent.parent.parent / "templates" / "papers"


def shipped() -> dict[str, Paper]:
    papers: dict[str, Paper] = {}
    for file in sorted(TEMPLATES.glob("*.toml")):
        table = tomllib.loads(file.read_text(encoding="utf-8"))
        for entry in table["paper"]:
            paper = paper_from_table(entry, table["family"], file.name)
            assert paper.name not in papers
            papers[paper.name] = paper
    return papers


KNOWN = shipped()

# ISO 216:2007, tables of the A and B series (mm).
ISO_216 = {
    "a0": (841, 1189), "a1": (594, 841), "a2": (420, 594), "a3": (297, 420), "a4": (210, 297), "a5": (148, 210),
    "a6": (105, 148), "a7": (74, 105), "a8": (52, 74), "b4": (250, 353), "b5": (176, 250), "b6": (125, 176),
}  # fmt: skip
# ISO 269 (from memory): envelopes, the longer side across.
ISO_269 = {"dl": (220, 110), "c4": (324, 229), "c5": (229, 162), "c6": (162, 114), "c7": (114, 81)}
# US sizes in inches; ARCH A to D. Envelopes and cards: common practice, no source.
US_INCHES = {
    "letter": (8.5, 11), "legal": (8.5, 14), "tabloid": (11, 17), "half-letter": (5.5, 8.5), "arch-a": (9, 12),
    "arch-b": (12, 18), "arch-c": (18, 24), "arch-d": (24, 36), "no-10": (9.5, 4.125), "a7-envelope": (7.25, 5.25),
    "us-card": (3.5, 2),
}  # fmt: skip


@pytest.mark.parametrize(("name", "size"), [*ISO_216.items(), *ISO_269.items(), ("card", (85, 55))])
def test_metric_papers_have_their_standard_size(name, size):
    assert (KNOWN[name].width_mm, KNOWN[name].height_mm) == size


@pytest.mark.parametrize(("name", "size"), US_INCHES.items())
def test_inch_papers_are_inches_times_25_4_and_never_rounded(name, size):
    assert (KNOWN[name].width_mm, KNOWN[name].height_mm) == (size[0] * 25.4, size[1] * 25.4)
    assert KNOWN[name].inches


def test_each_a_size_is_the_one_before_halved_within_the_standards_rounding():
    for number in range(8):
        larger, smaller = KNOWN[f"a{number}"], KNOWN[f"a{number + 1}"]
        assert smaller.height_mm == larger.width_mm
        assert smaller.width_mm == larger.height_mm // 2


@pytest.mark.parametrize(
    ("text", "width", "height", "inches"),
    [
        ("A4", 210, 297, False),
        ("letter", 215.9, 279.4, True),
        ("210x297mm", 210, 297, False),
        ("210x297", 210, 297, False),
        ("8.5x11in", 215.9, 279.4, True),
        ("21cmx297mm", 210, 297, False),
        ("8.5in x 11in", 215.9, 279.4, True),
        ("123.4×321", 123.4, 321, False),
    ],
)
def test_a_paper_is_a_name_or_a_size(text, width, height, inches):
    paper = parse_paper(text, KNOWN)
    assert (paper.width_mm, paper.height_mm) == pytest.approx((width, height), abs=1e-9)
    assert paper.inches is inches


@pytest.mark.parametrize(
    "text", ["a44", "", "0x0", "210x", "x297mm", "-210x297", "1e9x1e9", "9x9", "210x297furlong", "9" * 99]
)
def test_a_paper_that_cannot_be_is_one_line_that_says_so(text):
    with pytest.raises(GuidegenError) as failure:
        parse_paper(text, KNOWN)
    assert "`paper`" in str(failure.value)
    assert "\n" not in str(failure.value)


@pytest.mark.parametrize(
    ("table", "field"),
    [
        ({"name": "x", "label": "X", "width_mm": 10}, "height_mm"),
        ({"name": "x", "label": "X", "width_mm": float("nan"), "height_mm": 20}, "width_mm"),
        ({"name": "x", "label": "X", "width_mm": True, "height_mm": 20}, "width_mm"),
        ({"name": "x", "label": "X", "width_mm": 10, "height_mm": 0}, "height_mm"),
        ({"name": "X Y", "label": "X", "width_mm": 10, "height_mm": 20}, "name"),
        ({"name": "x", "width_mm": 10, "height_mm": 20}, "label"),
        ({"name": "x", "label": "X", "width_mm": 10, "height_mm": 20, "depth_mm": 3}, "depth_mm"),
    ],
)
def test_a_bad_table_names_file_and_field(table, field):
    with pytest.raises(GuidegenError, match=rf"my\.toml: {field}:"):
        paper_from_table(table, "custom", "my.toml")
