"""How the page is served: who may ask, how much, and whether anything is written."""

from __future__ import annotations

import os
from dataclasses import dataclass
from pathlib import Path

LOOPBACK = ("localhost", "127.0.0.1", "[::1]")
"""The hosts that are answered unless others are named: no name of another machine leads here."""


@dataclass(frozen=True, slots=True)
class ServeSettings:
    """What whoever runs the page decides.

    Args:
        public: many use it: nothing is written, and nobody's own markers are shown.
        hosts: names it is reached by, beside the loopback ones.
        markers_folder: a folder of profiles shown before the person's own.
        processes: at work on requests; None is as many as there are processors.
        waiting: requests that may wait for them; further ones are told to come again.
        seconds, megabytes: what one request may use.
        kept_bytes: of answers that are kept to be given again.
    """

    public: bool = False
    hosts: tuple[str, ...] = ()
    markers_folder: Path | None = None
    processes: int | None = None
    waiting: int = 16
    seconds: float = 20.0
    megabytes: int = 1_000
    kept_bytes: int = 12_000_000

    @classmethod
    def from_environment(cls) -> ServeSettings:
        """Return the settings for a web server that takes the app by its name, ``guidegen.web:app``.

        ``GUIDEGEN_PUBLIC=1`` and ``GUIDEGEN_HOSTS`` (names with commas between).
        """
        hosts = tuple(name.strip().lower() for name in os.environ.get("GUIDEGEN_HOSTS", "").split(",") if name.strip())
        return cls(public=os.environ.get("GUIDEGEN_PUBLIC", "") not in {"", "0"}, hosts=hosts)

    def answers_to(self, host: str) -> bool:
        """Return whether a request that names ``host`` (perhaps with a port) is meant for us."""
        name, colon, port = host.rpartition(":")
        if not colon or (host.endswith("]") and host.startswith("[")):
            name, port = host, "0"
        return port.isdecimal() and len(port) < 6 and name.lower() in (*LOOPBACK, *self.hosts)
