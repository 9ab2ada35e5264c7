"""Hidden folders and files for what is not whole yet: in use, gone, or swept by the next run.

The process that makes one holds a lock on it, which the system opens when that process ends, by whatever: so what a
killed run has left is told from what another run is at work on. Its number would not do: by then another process may
have it, or one in another container. Where a folder cannot be locked, as on Windows, nothing is swept.
"""

import os
import shutil
import sys
from collections.abc import Callable, Iterator
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
    with _fresh(beside or Path(gettempdir()), "", lambda path: path.mkdir(0o700)) as path:
        yield path


@contextmanager
def scratch_file(beside: Path, suffix: str) -> Iterator[Path]:
    """Give a fresh file likewise, of that suffix; moved elsewhere it stays. To remove a folder takes some file systems
    3 ms, ten times as long."""
    with _fresh(beside, suffix, lambda path: path.open("xb").close()) as path:
        yield path


@contextmanager
def locked(folder: Path) -> Iterator[None]:
    """Let no other process, nor another block of this one, be in such a block for the same `folder` meanwhile: where it
    can be locked, and is no folder of `scratch`, which is locked already."""
    lock = _lock(folder, wait=True)
    try:
        yield
    finally:
        if lock is not None:
            os.close(lock)


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


@contextmanager
def _fresh(home: Path, suffix: str, make: Callable[[Path], None]) -> Iterator[Path]:
    """Sweep `home`, `make` something in it and lock it; it goes with the block."""
    sweep(home)
    while True:
        path = home / f"{PREFIX}{os.urandom(6).hex()}{suffix}"
        make(path)
        lock = _lock(path, wait=True)
        if path.exists():       # else another run swept it before it was locked
            break
    try:
        yield path
    finally:
        _end(path, lock)


def _lock(path: Path, wait: bool) -> int | None:
    """Lock what is at `path` and return what holds the lock; None where another run does, or nothing can."""
    if sys.platform == "win32":
        return None
    with suppress(OSError):
        held = os.open(path, os.O_RDONLY | os.O_NOFOLLOW | os.O_NONBLOCK)
        try:
            fcntl.flock(held, fcntl.LOCK_EX | (0 if wait else fcntl.LOCK_NB))
            return held
        except OSError:
            os.close(held)
    return None


def _end(path: Path, lock: int | None) -> None:
    """Remove a file or a folder; what stands aside in the folder, and is not there any more beside it, comes back."""
    with suppress(OSError):
        if path.is_dir():
            for old in list((path / ASIDE).glob("*")):
                if not os.path.lexists(path.parent / old.name):
                    old.rename(path.parent / old.name)
            shutil.rmtree(path, ignore_errors=True)
        else:
            path.unlink(missing_ok=True)
    if lock is not None:
        os.close(lock)
