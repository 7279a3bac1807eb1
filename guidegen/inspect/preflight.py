"""May the file go to a press or to a blade as it is? A list of named rules, each kept or not."""

from __future__ import annotations

from guidegen.errors import bad_input
from guidegen.inspect.cut_rules import CUT_CHECKS, DRAWN, min_feature
from guidegen.inspect.findings import Check, Finding
from guidegen.inspect.print_rules import PRINT_CHECKS
from guidegen.readers.contents import Contents
from guidegen.shop.cutting import VINYL_MM

PURPOSES = ("cut", "print")


def preflight(contents: Contents, purpose: str, min_feature_mm: float | None = None) -> list[Finding]:
    """Return what every rule for ``purpose`` says of the file.

    ``min_feature_mm`` is the narrowest stroke or gap asked for; without it, narrower ones than plotted vinyl
    bears (2 mm) are a warning only.

    Raises:
        GuidegenError: for an unknown purpose.
    """
    checks: tuple[Check, ...]
    if purpose == "print":
        checks = PRINT_CHECKS
    elif purpose == "cut":
        if contents.format not in DRAWN:
            asks = "an SVG, DXF, PDF or EPS file"
            return [Finding("format", "fail", asks, f"the format is {contents.format.upper()}")]
        asked = min_feature_mm is not None
        checks = (*CUT_CHECKS, min_feature(min_feature_mm or VINYL_MM, asked=asked))
    else:
        raise bad_input("`purpose`", "", purpose, "cut or print")
    found = (check.run(contents) for check in checks)
    return [finding for finding in found if finding is not None]


def failed(findings: list[Finding]) -> bool:
    """True when any rule is broken (warnings are not)."""
    return any(finding.status == "fail" for finding in findings)
