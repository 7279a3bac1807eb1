"""A process of its own for files of strangers: bounded in time and memory, so that no file can take the machine.

The readers bound what they do themselves; the libraries under them do not always, and a reader written in C can
end its process. Here that is one line to the person who asked.
"""

from __future__ import annotations

import logging
import multiprocessing
import os
import signal
import sys
import threading
from multiprocessing.connection import Connection
from typing import Any

from guidegen.errors import GuidegenError, Plain, bad_input, one_line
from guidegen.jobs import PATIENCE, follow_parent, limit_data, limit_seconds, signals_held
from guidegen.limits import FENCE_MEGABYTES, FENCE_SECONDS


def fenced(
    job: str,
    arguments: tuple[Any, ...],
    name: str,
    seconds: float = FENCE_SECONDS,
    megabytes: int = FENCE_MEGABYTES,
    ordinary: tuple[str, str] = ("a drawing, page or font of ordinary size", "read it in parts"),
) -> Any:
    """Return what the function ``job`` ("module:function") returns for ``arguments``, run in a process of its own.

    ``name`` is the file's name in messages, ``ordinary`` what would do instead and how to come by it.

    Raises:
        GuidegenError: the job's own; or when it takes longer than ``seconds`` or more than ``megabytes``.
    """
    context: Any = multiprocessing.get_context("fork" if _may_fork() else "spawn")
    ours, theirs = context.Pipe(duplex=False)
    by_main_thread = threading.current_thread() is threading.main_thread()
    start = (os.getpid(), by_main_thread, theirs, job, arguments, seconds, megabytes)
    process = context.Process(target=_run, args=start, daemon=True)
    with signals_held():
        process.start()
    theirs.close()
    try:
        answered = ours.poll(PATIENCE * seconds)
        kind, value = ours.recv() if answered else ("late", None)
    except EOFError:
        process.join(1.0)
        kind, value = ("late" if process.exitcode == -getattr(signal, "SIGXCPU", 0) else "died"), None
    finally:
        if process.is_alive():
            process.join(0.2)
        if process.is_alive():
            process.kill()
        process.join()
        ours.close()
    if kind == "value":
        return value
    if kind == "told":
        raise GuidegenError(value)
    if kind == "os":
        raise OSError(*(value or ()))
    found = {
        "late": f"a file that takes more than {seconds:g} s to read",
        "memory": f"a file that takes more than {megabytes} MB to read",
        "died": "a file that stops its reader",
    }.get(kind, f"a file that cannot be read ({value})")
    raise bad_input(name, "", Plain(found), *ordinary)


def _may_fork() -> bool:
    """Tell whether a copy of this process will do, which spares a start: few threads, of which none holds a lock."""
    return sys.platform == "linux" and threading.active_count() <= 2


def _run(
    parent: int,
    by_main_thread: bool,
    pipe: Connection,
    job: str,
    arguments: tuple[Any, ...],
    seconds: float,
    megabytes: int,
) -> None:
    follow_parent(parent, by_main_thread=by_main_thread)
    os.dup2(os.open(os.devnull, os.O_WRONLY), 2)  # what a library says as it ends the process is told by us
    os.environ["OPENBLAS_NUM_THREADS"] = "1"  # every thread of it claims address space
    logging.disable(logging.CRITICAL)  # what libraries have to say is told in one line, or not at all
    limit_data(megabytes)
    limit_seconds(seconds)
    try:
        import importlib

        module, function = job.split(":")
        answer = ("value", getattr(importlib.import_module(module), function)(*arguments))
    except GuidegenError as error:
        answer = ("told", str(error))
    except MemoryError:
        answer = ("memory", None)
    except OSError as error:
        answer = ("os", (error.errno, error.strerror, error.filename))
    except Exception as error:  # noqa: BLE001  the other process has nobody else to tell
        answer = ("other", one_line(f"{type(error).__name__}: {error}", 120))
    try:
        pipe.send(answer)
    except MemoryError:
        pipe.send(("memory", None))
