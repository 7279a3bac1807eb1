"""ezdxf, loaded without what it does on the side: it would list the machine's fonts and keep the list in one's home."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Any

_EMPTY_LIST = Path(__file__).with_name("no_fonts")


def dxf_library() -> Any:
    """Return ezdxf with an empty list of fonts; our files hold no text, and of others' the letters are not drawn.

    Raises:
        ImportError: when ezdxf (the extra ``cut``) is not installed.
    """
    before = os.environ.get("XDG_CACHE_HOME")
    os.environ["XDG_CACHE_HOME"] = str(_EMPTY_LIST)
    try:
        import ezdxf
    finally:
        if before is None:
            del os.environ["XDG_CACHE_HOME"]
        else:
            os.environ["XDG_CACHE_HOME"] = before
    return ezdxf
