"""The page in the browser: the main job without a terminal, for one person or behind a web server for many.

A face of the library: every picture and file comes from the functions that the commands call. ``guidegen serve`` runs
it; any WSGI server takes it as ``guidegen.web:app``.
"""

from __future__ import annotations

from typing import Any


def __getattr__(name: str) -> Any:
    if name != "app":
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    from guidegen.web.application import make_app
    from guidegen.web.settings import ServeSettings

    globals()["app"] = made = make_app(ServeSettings.from_environment())
    return made
