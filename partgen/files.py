"""An output folder that is complete or not there: written beside, then moved into place."""

import os
import shutil
import tempfile
from contextlib import contextmanager
from pathlib import Path

from partgen.errors import OutputError


def ensure_room(out: Path) -> None:
    """Raise OutputError at once, before any work, when `out` cannot hold a folder."""
    nearest = next((place for place in (out, *out.absolute().parents) if place.exists()), Path("/"))
    if not nearest.is_dir():
        raise OutputError(f"{nearest} is a file: name a folder with -o, or move the file away")
    if not os.access(nearest, os.W_OK | os.X_OK):
        raise OutputError(f"{nearest} cannot be written: name another folder with -o")


@contextmanager
def replaced(target: Path):
    """Give a fresh folder beside `target`; on leaving without an error it takes the target's place.

    Whatever goes wrong, Ctrl-C and a full disk included, what stood at `target` stays as it was.
    Raises OutputError, naming the place, when it cannot be written.
    """
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        ensure_room(target)
        fresh = Path(tempfile.mkdtemp(prefix=f".{target.name}-", dir=target.parent))
    except OSError as error:
        raise OutputError(f"{target} cannot be written ({error.strerror}): name another folder with -o") from error
    try:
        yield fresh
        _swap(fresh, target)
    except OSError as error:
        raise OutputError(f"{target} cannot be written ({error.strerror}); what was there is untouched") from error
    finally:
        shutil.rmtree(fresh, ignore_errors=True)


def put(path: Path, data: bytes) -> None:
    """Write one file, complete or not at all, its folder with it. Raises OutputError when it cannot be written."""
    fresh = path.with_name(f".{path.name}.{os.getpid()}")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        fresh.write_bytes(data)
        fresh.replace(path)
    except OSError as error:
        fresh.unlink(missing_ok=True)
        raise OutputError(f"{path} cannot be written ({error.strerror}): name another place with -o") from error


def _swap(fresh: Path, target: Path) -> None:
    """Move `fresh` to `target`; an older folder steps aside first and comes back if that fails."""
    fresh.chmod(0o755)
    if not target.exists():
        fresh.rename(target)
        return
    aside = Path(tempfile.mkdtemp(prefix=f".{target.name}-old-", dir=target.parent))
    try:
        target.rename(aside / "was")
        fresh.rename(target)
    except BaseException:
        if (aside / "was").exists() and not target.exists():
            (aside / "was").rename(target)
        raise
    finally:
        shutil.rmtree(aside, ignore_errors=True)
