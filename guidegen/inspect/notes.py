"""What has to be known about a file before its measures are believed."""

from __future__ import annotations

from guidegen.profiles.printers import correction_in
from guidegen.readers.contents import Contents, PageContents


def notes_of(contents: Contents, page: PageContents) -> list[str]:
    """Return what a file leaves open, and what it was made for, a sentence each."""
    facts = contents.facts
    found = []
    if contents.format == "dxf" and not facts["states_units"]:
        unit = "mm" if facts["unit_mm"] == 1.0 else "inches"
        found.append(f"no unit stated; read as {unit}")
    if not facts.get("contents_read", True):
        found.append("what is on the page was not read: Ghostscript, which draws it, is missing or did not get through")
    hidden = sorted({d.layer or "without a name" for d in page.hidden})
    if hidden:
        found.append(f"not shown or plotted, and not measured: {', '.join(hidden)}")
    if facts.get("clipped"):
        found.append(f"{facts['clipped']} clipped at an edge; what is cut off is not measured")
    if abs(facts.get("skew_deg") or 0.0) > 0:
        found.append(f"skewed by {facts['skew_deg']:.2f} degrees; lines are measured along themselves")
    told = correction_in(facts.get("description", ""))
    if told is not None:
        across, down = told
        found.append(
            f"corrected for a printer: 100 mm on paper are {across:g} mm across and {down:g} mm down in this file"
        )
    return found
