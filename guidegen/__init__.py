"""guidegen: from a measured marker to the size its letters look right at, and the pages to practise them.

Everything inside works in millimetres with y up; other units carry their name
(``_pt``, ``_px``, ``_deg``). The library never prints and never writes a file:
only :mod:`guidegen.cli` does.
"""

__version__ = "0.1.0"
