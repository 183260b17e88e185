"""Let ``python -m gaitgen`` be the command."""

from gaitgen.commands import main

main()
