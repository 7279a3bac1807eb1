"""The command line: the only part that prints and writes files. One file per family of commands."""
