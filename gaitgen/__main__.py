"""Let ``python -m gaitgen`` be the command."""

from gaitgen.cli import main

main()
