"""What the command line leaves with, beside 0 for done and 1 for a check that was asked for and failed."""

BAD_INPUT = 2
OUR_FAULT = 70
"""EX_SOFTWARE of sysexits.h: a defect of the program, not of the input."""
INTERRUPTED = 130
"""128 + SIGINT, the shell's convention."""
READER_LEFT = 141
"""128 + SIGPIPE, the shell's convention."""
