"""What a shape measures: counters, chords, insets, dots."""
