"""Modules on a floor: the best arrangement in a body, searched for once and kept on disk by what was asked.

What is kept pays: a `check` of the demo takes 0.3 s with it, and 0.8 s where the solver has to be loaded and asked.
A file holds one answer as plain numbers under a digest of them, of the task and of this folder's own code. So neither
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
from msgspec import Struct
from msgspec.structs import replace

from partgen.errors import OutputError
from partgen.files import put
from partgen.packing.box import NoRoom, Packed, Spot, Task
from partgen.packing.sound import sound

ANYWHERE = (-inf, inf)
FOLDER = "PARTGEN_CACHE"    # environment: another folder; empty keeps nothing
MOST = 400                  # files; some kilobytes each


@lru_cache(maxsize=512)
def pack(task: Task) -> Packed | NoRoom:
    """Return the best arrangement of the task's boxes, or that there is none."""
    if not task.boxes:
        (length, _), (width, _), (height, _) = task.space.length, task.space.width, task.space.height
        return Packed((), length, width, height, ())
    return _answered(_asked(task))


def _asked(task: Task) -> Task:
    """Return the task without what none of its boxes asks, so that more tasks are one and the same."""
    orientations = [orientation for box in task.boxes for orientation in box.orientations]
    space = task.space
    if not any(one.feet for one in orientations):
        space = replace(space, taken=())
    if not any(one.window for one in orientations):
        space = replace(space, blind=(), station=None, strip=ANYWHERE)
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


class Kept(Struct, frozen=True):
    """An answer on disk: the place of each box's orientation, its corner [mm] and what carries it; length, width and
    height [mm]; the aims. Without a size: there is no room, for certain or not."""

    spots: tuple[tuple[int, float, float, float, int | None], ...] = ()
    size: tuple[float, float, float] | None = None
    aims: tuple[tuple[str, float, float], ...] = ()
    proven: bool = False


def recall(task: Task) -> Packed | NoRoom | None:
    """Return the answer kept for `task`; None where there is none that can be believed."""
    with suppress(OSError, RuntimeError, ValueError, IndexError):   # there may be no home, and anything in the file
        place = _place(task)
        digest, _, body = place.read_bytes().partition(b"\n")
        if digest == _digest(place, body):
            return _answer(task, msgspec.json.decode(body, type=Kept))
    return None


def keep(task: Task, found: Packed | NoRoom) -> None:
    """Keep the answer to `task`, if it can be; the oldest answers make room for it."""
    if isinstance(found, NoRoom):
        kept = Kept(proven=found.proven)
    else:
        spots = tuple((box.orientations.index(spot.orientation), spot.x, spot.y, spot.z, spot.on)
                      for box, spot in zip(task.boxes, found.spots, strict=True))
        kept = Kept(spots, (found.length, found.width, found.height), found.aims)
    with suppress(OSError, RuntimeError, OutputError):
        place, body = _place(task), msgspec.json.encode(kept)
        put(place, _digest(place, body) + b"\n" + body)
        others = sorted(place.parent.glob("*.json"), key=lambda path: path.stat().st_mtime)
        for path in others[:-MOST]:
            path.unlink(missing_ok=True)


def _answer(task: Task, kept: Kept) -> Packed | NoRoom | None:
    if kept.size is None:
        return NoRoom(kept.proven)
    spots = tuple(Spot(box.orientations[way], x, y, z, on)
                  for box, (way, x, y, z, on) in zip(task.boxes, kept.spots, strict=True))
    found = Packed(spots, *kept.size, kept.aims)
    return found if sound(task, found) else None


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
