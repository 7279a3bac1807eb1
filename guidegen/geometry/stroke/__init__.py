"""What a pen draws: discs or a nib moved along a centreline, and the outline of it."""
