"""Arrangements that were searched for once, kept on disk by what was asked: the solver need not start again.

A file holds one answer as plain numbers. Its name is a digest of the task and of this folder's own code, so
neither another task nor another version of the search ever reads it; a damaged or foreign file counts as none.
Nothing depends on it but time: where nothing can be written, nothing is kept.
"""

import json
import os
from contextlib import suppress
from functools import cache
from hashlib import sha256
from pathlib import Path

from partgen.errors import OutputError
from partgen.files import put
from partgen.packing.box import NoRoom, Packed, Spot, Task

FOLDER = "PARTGEN_CACHE"    # environment: another folder; empty keeps nothing
MOST = 400                  # files; some kilobytes each


def recall(task: Task) -> Packed | NoRoom | None:
    """Return the answer kept for `task`, None where there is none."""
    with suppress(OSError, RuntimeError, ValueError, KeyError, TypeError, IndexError):
        return _answer(task, json.loads(_place(task).read_text(encoding="ascii")))
    return None


def keep(task: Task, found: Packed | NoRoom) -> None:
    """Keep the answer to `task`, if it can be; the oldest answers make room for it."""
    with suppress(OSError, RuntimeError, OutputError):   # there may be no home
        place = _place(task)
        kept = sorted(place.parent.glob("*.json"), key=lambda path: path.stat().st_mtime)
        for path in kept[:max(len(kept) - MOST + 1, 0)]:
            path.unlink(missing_ok=True)
        put(place, json.dumps(_record(task, found)).encode())


def _place(task: Task) -> Path:
    home = os.environ.get(FOLDER)
    if home == "":
        raise FileNotFoundError("nothing is to be kept")
    folder = Path(home) if home else Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache") / "partgen"
    return folder / f"{sha256((_version() + repr(task)).encode()).hexdigest()[:32]}.json"


@cache
def _version() -> str:
    """Return a digest of the code that finds arrangements."""
    return sha256(b"".join(path.read_bytes() for path in sorted(Path(__file__).parent.glob("*.py")))).hexdigest()


def _record(task, found):
    if isinstance(found, NoRoom):
        return {"proven": found.proven}
    spots = [[box.poses.index(spot.pose), spot.x, spot.y, spot.z, spot.on]
             for box, spot in zip(task.boxes, found.spots)]
    return {"spots": spots, "size": [found.length, found.width, found.height], "aims": found.aims}


def _answer(task, record):
    if "proven" in record:
        return NoRoom(bool(record["proven"]))
    spots = tuple(Spot(box.poses[pose], float(x), float(y), float(z), on)
                  for box, (pose, x, y, z, on) in zip(task.boxes, record["spots"], strict=True))
    length, width, height = map(float, record["size"])
    return Packed(spots, length, width, height,
                  tuple((str(name), float(reached), float(bound)) for name, reached, bound in record["aims"]))
