"""What pages are made of: frames, rows, heads, labels, proof marks, letterings."""
