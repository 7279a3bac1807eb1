"""Being told to stop: SIGTERM and a hang-up end as Ctrl-C does, and all of them within a moment.

Python tells its own code of a signal only between two of its steps, and a step inside a library may take long. So a
thread listens too; when the main thread has not ended soon after, it removes what has no name yet and ends the process.
"""

from __future__ import annotations

import os
import signal
import sys
import threading
import time
from types import FrameType

PATIENCE_S = 1.0
"""How long the ordinary way out may take; it removes files and ends worker processes."""


def listen() -> None:
    """Take signals that ask to stop, but for those that whoever started us wants ignored (nohup)."""
    for name in ("SIGTERM", "SIGHUP"):
        number = getattr(signal, name, None)
        if number is not None and signal.getsignal(number) == signal.SIG_DFL:
            signal.signal(number, _stop)
    if sys.platform == "win32":
        return
    reading, writing = os.pipe()
    os.set_blocking(writing, False)
    signal.set_wakeup_fd(writing, warn_on_full_buffer=False)
    threading.Thread(target=_insist, args=(reading,), daemon=True).start()


def _stop(number: int, _frame: FrameType | None) -> None:
    raise KeyboardInterrupt(128 + number)


def _insist(reading: int) -> None:
    while True:
        told = os.read(reading, 1)
        if told and told[0] in {signal.SIGINT, signal.SIGTERM, signal.SIGHUP}:
            break
    time.sleep(PATIENCE_S)
    from guidegen.saving import forget_unnamed

    forget_unnamed()
    os.write(2, b"guidegen: stopped; no file was left half written\n")
    os._exit(128 + told[0])
