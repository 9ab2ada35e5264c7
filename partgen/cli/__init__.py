"""The command line: thin commands that parse, call one pipeline function, print and set the exit code."""

import gc

# Collecting again and again what the imports build up costs `check` a tenth of its time.
gc.set_threshold(200_000, 20, 20)

from partgen.cli.commands import main  # noqa: E402

__all__ = ["main"]
