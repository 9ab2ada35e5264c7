"""Run the command line with `python -m partgen`."""

from partgen.cli import main

main()
