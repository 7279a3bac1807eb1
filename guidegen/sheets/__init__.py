"""Pages as scenes, in millimetres: they know markers, hands and papers, and no file format."""
