"""How much anybody's input may ask of us: every limit on bytes, items, nesting, digits, seconds and memory.

Whoever reads from a stranger checks these before the work starts. A guide sheet needs a thousandth of most of them;
a limit that refuses says itself and how to stay under it.
"""

from __future__ import annotations

NUMBER = r"(?>[0-9]++(?>\.[0-9]*+)?+|\.[0-9]++)(?>[eE][-+]?+[0-9]++)?+"
"""A decimal number without its sign, as a pattern that never backtracks (possessive, so linear in any text)."""
