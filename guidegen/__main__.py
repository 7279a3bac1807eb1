"""``python -m guidegen``."""

from guidegen.cli.main import main

main()
