"""The entry point. It imports the rest inside a guard, so that Ctrl-C is quiet from the first moment."""

from __future__ import annotations

import sys

INTERRUPTED = 130
"""128 + SIGINT, the shell's convention."""


def main() -> None:
    """Run the command line and leave with its exit code."""
    try:
        from guidegen.cli.app import run

        code = run(sys.argv[1:])
    except KeyboardInterrupt:
        code = INTERRUPTED
    sys.exit(code)


if __name__ == "__main__":
    main()
