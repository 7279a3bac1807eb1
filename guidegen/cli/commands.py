"""The table of commands. Registering one is one line: name, where its function lives, its line in ``--help``.

A module is imported only when its command runs, so ``guidegen --help`` loads nothing of it.
"""

from __future__ import annotations

COMMANDS: dict[str, tuple[str, str]] = {
    "markers": ("guidegen.cli.profiles:markers", "List the known markers and their right sizes."),
    "add": ("guidegen.cli.profiles:add", "Save a marker's measured widths as a profile."),
    "trial": ("guidegen.cli.pages:trial", "Make a page to find a new marker's size by hand."),
    "size": ("guidegen.cli.sizes:size", "Tell a marker's right size and its band."),
    "sheet": ("guidegen.cli.pages:sheet", "Make a guideline sheet for a marker."),
    "letter": ("guidegen.cli.pages:letter", "Draw the sample letter at the right size."),
    "alphabet": ("guidegen.cli.pages:alphabet", "Make a model page of a hand in a marker's own ink."),
    "handout": ("guidegen.cli.classroom:handout", "Make a class handout of every marker at true size."),
    "compare": ("guidegen.cli.classroom:compare", "Write one word at one size and at each marker's right size."),
    "worksheet": ("guidegen.cli.classroom:worksheet", "Make practice rows that fade to the learner's own hand."),
    "packet": ("guidegen.cli.packets:packet", "Make the pages of one class as one file, from a small list."),
    "planner": ("guidegen.cli.planners:planner", "Make linked pages for a digital planner, light or dark."),
    "write": ("guidegen.cli.pieces:write", "Write a text as ink outlines in the marker's hand."),
    "plan": ("guidegen.cli.pieces:plan", "Plan a piece: does the text fit, and what would make it fit?"),
    "font": ("guidegen.cli.font:font", "Make a font of the marker's true strokes that types at real size."),
    "ink": ("guidegen.cli.ink:ink", "Ink a centreline drawing (SVG) with a marker."),
    "inspect": ("guidegen.cli.inspect:inspect", "Say what a file measures; check it for cut or print."),
    "serve": ("guidegen.cli.serve:serve", "Do the main job in a browser."),
    "batch": ("guidegen.cli.batch:batch", "Do many jobs from one list, in parallel, and only what changed."),
    "swatch": ("guidegen.cli.swatches:swatch", "Make a page to draw strokes on, to be scanned or photographed."),
    "measure": ("guidegen.cli.swatches:measure", "Measure a marker from scans or photographs of its swatch page."),
    "check": ("guidegen.cli.swatches:check", "Judge written letters from a scan or photograph."),
    "usual": ("guidegen.cli.usual:usual", "Keep the settings that hold unless a command says otherwise."),
    "demo": ("guidegen.cli.demo:demo", "Make the whole demo scenario: the main job in one command."),
}
