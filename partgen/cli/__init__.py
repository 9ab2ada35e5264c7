"""The command line: thin commands that parse, call one pipeline function, print and set the exit code."""

from partgen.cli.commands import main

__all__ = ["main"]
