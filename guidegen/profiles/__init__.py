"""Markers, papers, printers: what was measured, as frozen values."""
