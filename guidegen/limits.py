"""How much anybody's input may ask of us: every limit on bytes, items, nesting, digits, seconds and memory.

Whoever reads from a stranger checks these before the work starts, and every command that takes such a file the same
ones. A guide sheet needs a thousandth of most of them; a limit that refuses says itself and how to stay under it.
"""

from __future__ import annotations

NUMBER = r"(?>[0-9]++(?>\.[0-9]*+)?+|\.[0-9]++)(?>[eE][-+]?+[0-9]++)?+"
"""A decimal number without its sign, as a pattern that never backtracks (possessive, so linear in any text)."""

# A process that reads a stranger's file
FENCE_SECONDS = 60.0
FENCE_MEGABYTES = 1_400
"""The outermost bound, should a library need more than the limits below let one expect."""

# Any file
MAX_FILE_BYTES = 64_000_000
MAX_DRAWING_BYTES = 16_000_000
"""Of an SVG file, whose text becomes some 15 times as much in memory."""
MAX_TEXT_BYTES = 1_000_000
"""Of a file of names or words."""
MAX_PROFILE_BYTES = 16_000_000
"""Of a colour profile."""

MAX_ICC_TAGS = 200

# TOML: profiles, hands, papers, printers
MAX_TOML_BYTES = 400_000
"""A profile has 200 bytes and a hand's largest file some 50 kB; more is not ours and is not read."""
MAX_TOML_NESTING = 12
"""Brackets in brackets, and parts of a dotted key."""
MAX_TOML_DIGITS = 40

# Hands
MAX_LENDERS = 6
"""Hands in a chain of ``letters_from``."""
MAX_STROKES = 40
"""Of one letter; those with most have a dozen."""
MAX_NODES = 120
"""Of one stroke."""
MAX_LETTER_NODES = 300

# Drawings
MAX_ITEMS = 100_000
MAX_SEGMENTS = 200_000
MAX_DEPTH = 120
MAX_NESTED_USES = 12
LARGEST_MM = 1e7
MAX_SHEET_BYTES = 200_000
"""Of all style sheets of a drawing."""
MAX_SHEET_NESTING = 12
MAX_SHEET_WORK = 3_000_000
"""Selectors times elements, each as often as a selector may have to look round."""

# Drawings to be inked
MAX_INK_LINES = 3_000
MAX_INK_SEGMENTS = 20_000
MAX_INK_MEETINGS = 10_000
"""How often lines may cross or lie over each other; a page of scribble has some thousand."""

# PDF
MAX_STREAM_BYTES = 24_000_000
"""Unpacked bytes of all content of one PDF."""
MAX_PAGES = 3_000
MAX_SAVED_STATES = 500
MAX_STREAMS = 10_000

# Pictures
MAX_PIXELS = 150_000_000
MAX_MADE_PIXELS = 150_000_000
"""Of a picture we make: A0 at 300 ppi has 140 million."""
MAX_MADE_SIDE = 32_000

# Scans and photographs
MAX_SCAN_BYTES = 300_000_000
MAX_SCAN_PIXELS = 150_000_000
"""A4 at 1200 dpi has 139 million, and a scanner's glass a little more."""
MAX_SCAN_MEGABYTES = 1_700
"""To claim, of which a tenth is never used: a picture is 600 MB, and twice that while it is turned or converted."""
MAX_JPEG_WORK = 1_500_000_000
"""Pixels times passes over them: a progressive JPEG has about ten."""
MAX_SCANS = 200
"""Pictures of one call: a class and its strokes."""

# Pages we make
MAX_MADE_PAGES = 1_000
MAX_ROWS = 1_000
"""Of guides on one page: a metre of paper, each row with its gap a millimetre."""

# Fonts
MAX_MEASURED_GLYPHS = 3_000

# Batches
MAX_JOBS = 1_000_000
"""Of one manifest."""
MAX_TABLE_BYTES = 64_000_000
"""Of a table of names (CSV) that multiplies jobs."""
