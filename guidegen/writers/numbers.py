"""How a number is written into a file."""

from __future__ import annotations


def number(value: float, digits: int = 3) -> str:
    """Return ``value`` rounded to ``digits`` decimals without trailing zeros, never as ``-0``."""
    text = f"{value:.3f}" if digits == 3 else f"{value:.{digits}f}"  # a format that is known beforehand is quicker
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return "0" if text == "-0" else text
