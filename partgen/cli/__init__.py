"""The command line: thin commands that parse, call one pipeline function, print and set the exit code."""

import atexit
import gc
import os
import sys

# What `check` needs costs it most of its time before it begins and after it ends: collecting again and again what
# the imports build up, and once more at the end, where all of it goes anyway; a search of every installed package
# for plugins that nobody here has; and threads that no sum needs.
gc.set_threshold(200_000, 20, 20)
os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

from partgen.cli.commands import main  # noqa: E402 (what it imports is to find all this set)

__all__ = ["main"]


def _leave() -> None:
    """Collect nothing at the end, unless a library is there that reports as lost what is left over."""
    if "manifold3d" not in sys.modules:
        gc.freeze()


atexit.register(_leave)
