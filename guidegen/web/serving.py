"""The web server for one computer, or behind another web server: it listens on the loopback address only."""

from __future__ import annotations

import contextlib
import errno
import logging
import os
import signal
import sys
import threading
from collections.abc import Callable
from types import FrameType
from typing import Any

from guidegen.errors import Plain, bad_input
from guidegen.web.application import MOST_PHOTO_BYTES, Served, make_app
from guidegen.web.settings import ServeSettings
from guidegen.web.words import words

LOOPBACK = "127.0.0.1"
_THREADS_BESIDE = 16
"""For what is answered at once while others wait for the processes."""
_SLOW_SENDER_S = 20
_MOST_HEADER_BYTES = 16_000
_MOST_CONNECTIONS = 200
_IN_MEMORY_BYTES = 64_000_000
"""Bodies stay in memory up to here, which is more than is ever taken or given: no temporary file is written."""


def run(settings: ServeSettings, port: int, ready: Callable[[str], None]) -> None:
    """Serve until the process is told to stop; ``ready`` is called with the address once it answers.

    Raises:
        GuidegenError: somebody listens there already.
    """
    from waitress.server import create_server

    logging.basicConfig(level=logging.WARNING, stream=sys.stderr, format="guidegen serve: %(message)s")
    logging.getLogger("waitress.queue").setLevel(logging.ERROR)
    app = make_app(settings)
    served: Served = app.extensions["guidegen"]
    workers = served.workers
    try:
        server = create_server(
            app,
            host=LOOPBACK,
            port=port,
            threads=workers.processes + settings.waiting + _THREADS_BESIDE,
            ident=None,
            channel_timeout=_SLOW_SENDER_S,
            cleanup_interval=5,
            connection_limit=_MOST_CONNECTIONS,
            max_request_header_size=_MOST_HEADER_BYTES,
            max_request_body_size=MOST_PHOTO_BYTES,
            inbuf_overflow=_IN_MEMORY_BYTES,
            outbuf_overflow=_IN_MEMORY_BYTES,
            asyncore_use_poll=True,
        )
    except OSError as error:
        if error.errno not in {errno.EADDRINUSE, errno.EACCES}:
            raise
        found = Plain(f"{port}, where this may not listen" if error.errno == errno.EACCES else f"{port}, taken already")
        raise bad_input("`port`", "", found, "a free port", "try `port` 0") from None
    server.channel_class = _plain_channels()
    _until_told()
    _few_arenas()
    try:
        threading.Thread(target=workers.warm, daemon=True).start()
        ready(f"http://{LOOPBACK}:{server.effective_port}/")
        server.run()
    finally:
        server.close()
        served.close()
    sys.stdout.flush()
    os._exit(0)  # threads that still wait for slow readers hold nothing


def _plain_channels() -> type[Any]:
    """Return the server's channels with our own sentence, as short as all others, for what is no request at all."""
    from waitress.channel import HTTPChannel
    from waitress.task import ErrorTask

    say = words()
    sentences = {413: say("web.too_long"), 414: say("web.too_long"), 431: say("web.too_long"), 500: say("web.defect")}

    class PlainErrorTask(ErrorTask):  # type: ignore[misc]  # it has no types
        def execute(self) -> None:
            error = self.request.error
            body = sentences.get(error.code, say("web.bad_request")).encode() + b"\n"
            self.status = f"{error.code} {error.reason}"
            self.response_headers.append(("Content-Type", "text/plain; charset=utf-8"))
            self.set_close_on_finish()
            self.content_length = len(body)
            self.write(body)

    class PlainChannel(HTTPChannel):  # type: ignore[misc]
        error_task_class = PlainErrorTask

    return PlainChannel


def _few_arenas() -> None:
    """Let all threads share two heaps (mallopt(3), M_ARENA_MAX): with one each, what one frees the others never use."""
    if sys.platform == "linux":
        import ctypes

        with contextlib.suppress(OSError, AttributeError):  # a C library without it
            ctypes.CDLL(None).mallopt(-8, 2)


def _until_told() -> None:
    """Let SIGTERM, a hang-up and Ctrl-C end the server as it likes: requests at work are answered first."""

    def stop(_number: int, _frame: FrameType | None) -> None:
        raise SystemExit(0)

    signal.set_wakeup_fd(-1)
    for name in ("SIGINT", "SIGTERM", "SIGHUP"):
        number = getattr(signal, name, None)
        if number is not None:
            signal.signal(number, stop)
