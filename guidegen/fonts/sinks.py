"""Outlines into fontTools pens (called sinks here, for a marker is the writing tool)."""

from __future__ import annotations

from typing import Any

from guidegen.geometry.path import Outline


def draw(outline: Outline, sink: Any) -> None:
    """Draw an outline into a fontTools pen."""
    for path in outline:
        segments = path.segments
        sink.moveTo(_pair(path.start))
        for i, segment in enumerate(segments):
            if len(segment) == 4:
                sink.curveTo(*(_pair(z) for z in segment[1:]))
            elif i < len(segments) - 1 or segment[1] != path.start:
                sink.lineTo(_pair(segment[1]))
        sink.closePath()


def _pair(z: complex) -> tuple[float, float]:
    return (z.real, z.imag)
