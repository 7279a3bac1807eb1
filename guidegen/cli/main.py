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
    gc.freeze()
    sys.exit(code)


if __name__ == "__main__":
    main()
