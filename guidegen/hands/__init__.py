"""Hands: styles of lettering as data, from their files to the strokes and the pressure of their letters."""
