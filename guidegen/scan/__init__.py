"""From a picture of a swatch page to the widths of a marker's strokes, and from a letter to what it should become.

``pictures`` opens files, ``rings`` and ``grid`` find the page in them, ``camera`` says where each millimetre of it is,
``light`` what is ink and what paper. ``strokes`` finds strokes, ``stroke_widths`` measures them, ``statistics`` makes a
marker of them.
"""
