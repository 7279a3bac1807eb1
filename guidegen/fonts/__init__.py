"""Fonts whose letters are a marker's true strokes: solid, hollow and dotted faces that type at real size."""
