"""What ``import guidegen`` gives: markers, sizes, pages, fonts and measures, in one call each; the commands call it."""
