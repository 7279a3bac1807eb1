"""fontbakery's universal profile over font files: nothing FAILs, and every WARN that is left has its reason here."""

import json
import os
import re
import shutil
import subprocess

FONTBAKERY = os.environ.get("FONTBAKERY") or shutil.which("fontbakery")

WARNINGS = {
    "alt_caron": "d, l, t and L carry the caron as an apostrophe drawn with the letter's own pen, not as a component",
    "contour_count": "a written letter has the contours its strokes make; dots and guide lines add their own",
    "gpos_kerning_info": "ruled faces keep their lines unbroken: no kerning",
    "math_signs_width": "signs are written, each as wide as its strokes",
    "caps_vertically_centered": "the em holds the four lines of the hand and accents above its capitals",
    "overlapping_path_segments": "two dots or a dot and a guide line may share a short straight piece",
    "arabic_spacing_symbols": "no Arabic here",
    "opentype/caret_slope": "a slanted hand is no family's italic, so post says 0 degrees; its caret leans as it does",
}


def no_fault(program, files, folder):
    """Check ``files``, each a family of its own; return how often each WARN was given. Ruled ones have ``-ruled``."""
    warned = {}
    for path in files:
        for name in _warnings(program, path, folder / "report.json"):
            warned[name] = warned.get(name, 0) + 1
    return warned


def _warnings(program, path, report):
    command = [program, "check-universal", "--skip-network", "-n", "-q", "--json", str(report), str(path)]
    subprocess.run(command, check=False, capture_output=True, timeout=3600)
    checks = [check for section in json.loads(report.read_text())["sections"] for check in section["checks"]]
    assert len(checks) > 100
    warned = []
    for check in checks:
        name = re.search(r"[\w/]+(?=>?$)", check["key"][1].strip(">")).group()
        told = [log["message"] for log in check["logs"] if log["status"] in {"FAIL", "ERROR", "FATAL", "WARN"}]
        if check["result"] in {"FAIL", "ERROR", "FATAL"}:
            assert name == "whitespace_ink", (path.name, told)  # the spaces of ruled faces carry the guide lines
            assert "-ruled" in path.name, told
        elif check["result"] == "WARN":
            assert name in WARNINGS, (path.name, told)
            warned.append(name)
    return warned
