"""The entry point. It imports the rest inside a guard, so that Ctrl-C is quiet from the first moment."""

from __future__ import annotations

import gc
import os
import sys

from guidegen.cli.codes import INTERRUPTED


def main() -> None:
    """Run the command line and leave with its exit code."""
    # Most commands live for less than a second and make fewer than 100,000 objects, few of them in cycles: looking for
    # unreachable ones every thousand, and once more at the end, takes a tenth of that. Our arrays are small, so threads
    # for linear algebra cost more than they give.
    gc.set_threshold(300_000, 20, 50)
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    try:
        from guidegen.cli import stops, streams

        closed = streams.prepare()
        stops.listen()
        from guidegen.cli.app import run

        code = streams.refuse_closed() if closed else run(sys.argv[1:])
    except KeyboardInterrupt as stopped:
        code = stopped.args[0] if stopped.args else INTERRUPTED
    from signal import SIG_IGN, SIGINT, signal

    signal(SIGINT, SIG_IGN)  # all is done: what Python still clears away needs no stopping
    # Ctrl-C inside code that is made from text (named tuples and dataclasses are) leaves a mark in Python, by which it
    # ends itself with that signal even where the interruption was dealt with; running such code anew takes it off.
    eval("0")  # noqa: S307
    gc.freeze()
    sys.exit(code)


if __name__ == "__main__":
    main()
