"""Hidden folders for what is not whole yet, in use, gone, or swept by the next run.

The process that makes one holds a lock on it, which the system opens when that process ends, by whatever: so what a
killed run has left is told from what another run is at work on. Its number would not do: by then another process may
have it, or one in another container. Where folders cannot be locked, as on Windows, nothing is swept.
"""

import os
import shutil
import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from functools import cache
from pathlib import Path

if sys.platform != "win32":
    import fcntl

PREFIX = ".partgen-"
ASIDE = "aside"         # in such a folder: what made room for something new beside it, and comes back if that fails


@contextmanager
def scratch(beside: Path | None = None) -> Iterator[Path]:
    """Give a fresh folder within the folder `beside`, None for the system's temporary one; it goes with the block.

    What dead runs have left there goes first. Raises OSError where there can be none.
    """
    from tempfile import gettempdir  # 5 ms that `check` does without
    home = beside or Path(gettempdir())
    sweep(home)
    path, lock = _fresh(home)
    try:
        yield path
    finally:
        _end(path, lock)


@cache
def sweep(home: Path) -> None:
    """Remove from the folder `home`, once in this process, what dead runs have left, and put back what they had moved
    aside."""
    with suppress(OSError):
        for path in list(home.glob(f"{PREFIX}*")):
            lock = _lock(path, wait=False)
            if lock is not None:
                _end(path, lock)


def sweep_temporary() -> None:
    """Sweep the system's temporary folder."""
    from tempfile import gettempdir
    sweep(Path(gettempdir()))


def _fresh(home: Path) -> tuple[Path, int | None]:
    """Make a folder; return it and what holds its lock, None where there are no locks."""
    from tempfile import mkdtemp
    while True:
        path = Path(mkdtemp(prefix=PREFIX, dir=home))
        lock = _lock(path, wait=True)
        if path.exists():       # else another run swept it before it was locked
            return path, lock


def _lock(path: Path, wait: bool) -> int | None:
    """Lock the folder at `path` and return what holds the lock; None where another run does, or nothing can."""
    if sys.platform == "win32":
        return None
    with suppress(OSError):
        held = os.open(path, os.O_RDONLY | os.O_DIRECTORY | os.O_NOFOLLOW)
        try:
            fcntl.flock(held, fcntl.LOCK_EX | (0 if wait else fcntl.LOCK_NB))
            return held
        except OSError:
            os.close(held)
    return None


def _end(path: Path, lock: int | None) -> None:
    """Put back beside the folder what stands aside in it and is not there any more; remove the folder."""
    with suppress(OSError):
        for old in list((path / ASIDE).glob("*")):
            if not os.path.lexists(path.parent / old.name):
                old.rename(path.parent / old.name)
    shutil.rmtree(path, ignore_errors=True)
    if lock is not None:
        os.close(lock)
