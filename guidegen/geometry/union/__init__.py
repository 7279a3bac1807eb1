"""The filled area of many outlines as one, with its curves kept."""
