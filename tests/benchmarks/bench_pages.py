"""The table of pages: twelve markers, every kind of page, three papers; printed, with what is under 40 % used."""

from __future__ import annotations

from statistics import median

import pytest
from page_table import COMMANDS, FREE, PAPERS, WIDTHS, row, too_small


@pytest.mark.benchmark
@pytest.mark.parametrize("command", COMMANDS)
def test_table(command):
    papers = PAPERS if command not in ("planner", "letter, any paper") else ("a4",)
    markers = WIDTHS if command != "trial" else ("cobble",)
    rows = [row(command, marker, paper) for marker in markers for paper in papers]
    made = [one for one in rows if not one.refused]
    shares = [share for one in made for share in one.used]
    print(f"\n{command}: {sum(one.pages for one in made)} pages, median used {median(shares):.0%}")
    for one in rows:
        if one.refused:
            print(f"  refused  {one.marker:8} {one.paper:7} {one.refused}")
            continue
        low = [f"page {number} {share:.0%}" for number, share in enumerate(one.used[:-1], start=1) if share < 0.4]
        low += [f"the only page {one.used[0]:.0%}"] if one.pages == 1 and one.used[0] < 0.4 else []
        told = (f"{one.marker:8} {one.paper:7} {one.pages:2} pages, {median(one.used):4.0%} used, "
                f"labels from {one.smallest_mm / 25.4 * 72:.1f} pt")  # fmt: skip
        print("  " + told + (f"; under 40 %: {', '.join(low)}" if low else ""))
        for fault in one.faults:
            print(f"    FAULT {fault}")
    if command not in FREE:
        assert median(shares) > 0.7
    assert not [one for one in made if one.faults or too_small(one)]
