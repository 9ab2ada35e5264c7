"""Modules on a floor: the best arrangement in a body, searched for once and kept on disk by what was asked.

What is kept pays: a `check` of the demo takes 0.3 s with it, and 0.8 s where the solver has to be loaded and asked.
A file holds one answer under a digest of it, of the task and of this folder's own code. So neither
another task's answer nor another version's is ever read, and one that has changed, or keeps not every rule, counts as
none and is replaced. Nothing depends on it but time: where nothing can be written, nothing is kept.
"""

import os
from contextlib import suppress
from functools import cache, lru_cache
from hashlib import sha256
from math import inf
from pathlib import Path

import msgspec
from msgspec.structs import replace

from partgen.errors import OutputError
from partgen.files import put
from partgen.packing.box import NoRoom, Packed, Task
from partgen.packing.sound import sound

FOLDER = "PARTGEN_CACHE"    # environment: another folder; empty keeps nothing
MOST = 400                  # files; some kilobytes each


def pack(task: Task) -> Packed | NoRoom:
    """Return the best arrangement of the task's boxes, or that there is none."""
    if not task.boxes:
        return Packed((), task.space.length[0], task.space.width[0], task.space.height[0], ())
    return _answered(_asked(task))


def _asked(task: Task) -> Task:
    """Return the task without what none of its boxes asks, so that more tasks are one and the same."""
    orientations = [orientation for box in task.boxes for orientation in box.orientations]
    space = task.space
    if not any(one.feet for one in orientations):
        space = replace(space, taken=())
    if not any(one.window for one in orientations):
        space = replace(space, blind=(), station=None, strip=(-inf, inf))
    if not any(one.seen for one in orientations):
        space = replace(space, rim=0.0)
    return replace(task, space=space)


@lru_cache(maxsize=512)
def _answered(task: Task) -> Packed | NoRoom:
    found = recall(task)
    if found is None:
        # The solver takes half a second to import: only where something has to be searched for.
        from partgen.packing.solver import search
        found = search(task)
        keep(task, found)
    return found


def recall(task: Task) -> Packed | NoRoom | None:
    """Return the answer kept for `task`; None where there is none that can be believed."""
    with suppress(OSError, RuntimeError, ValueError):   # there may be no home, and anything in the file
        place = _place(task)
        digest, _, body = place.read_bytes().partition(b"\n")
        if digest == _digest(place, body):
            found = msgspec.json.decode(body, type=Packed | NoRoom)
            return found if isinstance(found, NoRoom) or sound(task, found) else None
    return None


def keep(task: Task, found: Packed | NoRoom) -> None:
    """Keep the answer to `task`, if it can be; the oldest answers make room for it."""
    with suppress(OSError, RuntimeError, OutputError):
        place, body = _place(task), msgspec.json.encode(found)
        put(place, _digest(place, body) + b"\n" + body)
        others = sorted(place.parent.glob("*.json"), key=lambda path: path.stat().st_mtime)
        for path in others[:-MOST]:
            path.unlink(missing_ok=True)


def _place(task: Task) -> Path:
    home = os.environ.get(FOLDER)
    if home == "":
        raise FileNotFoundError("nothing is to be kept")
    folder = Path(home) if home else Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache") / "partgen"
    return folder / f"{sha256((_version() + repr(task)).encode()).hexdigest()[:32]}.json"


def _digest(place: Path, body: bytes) -> bytes:
    return sha256(place.name.encode() + body).hexdigest().encode()


@cache
def _version() -> str:
    """Return a digest of the code that finds arrangements."""
    return sha256(b"".join(path.read_bytes() for path in sorted(Path(__file__).parent.glob("*.py")))).hexdigest()
