"""Modules on a floor: the best arrangement in a body, searched for once and kept on disk by what was asked.

What is kept pays: a `check` of the demo takes 0.3 s with it, and 0.8 s where the solver has to be loaded and asked.
It is kept under a digest of the task and of this folder's own code, so that neither another task's answer nor another
version's is ever read, and judged again when it is read: one that keeps not every rule counts as none and is replaced.
"""

import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from contextvars import ContextVar
from functools import lru_cache
from math import inf
from time import process_time

import msgspec
from msgspec.structs import replace

from partgen.kept import code, key_of, store
from partgen.packing.box import NoRoom, Packed, Task
from partgen.packing.sound import sound

KIND = "arrangements"
_LATEST: ContextVar[float] = ContextVar("the latest that a search ends", default=inf)


class TooLate(Exception):
    """An arrangement would have to be searched for, and there is no time to."""


@contextmanager
def searching_until(latest: float) -> Iterator[None]:
    """Have `pack` raise TooLate where a search would last beyond `latest`, by `time.process_time` [s]. What is found
    hangs on no clock: only whether anything is looked for."""
    token = _LATEST.set(latest)
    try:
        yield
    finally:
        _LATEST.reset(token)


def pack(task: Task) -> Packed | NoRoom:
    """Return the best arrangement of the task's boxes, or that there is none. Raises TooLate where it was told to."""
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
        if process_time() + _lasts(task) > _LATEST.get():
            raise TooLate
        # The solver takes half a second to import: only where something has to be searched for.
        from partgen.packing.solver import search
        found = search(task)
        keep(task, found)
    return found


def _lasts(task: Task) -> float:
    """Return about how long a search takes [s]: measured 0.1 s with four boxes, 0.5 with six, 1 with ten, 1 to 1.8 with
    twelve, and 0.6 until the solver is there."""
    return (len(task.boxes) / 10)**2 + 0.6 * ("ortools" not in sys.modules)


def recall(task: Task) -> Packed | NoRoom | None:
    """Return the answer kept for `task`; None where there is none that can be believed."""
    with suppress(ValueError):          # anything may be in the file
        body = store().recall(KIND, _key(task))
        found = msgspec.json.decode(body, type=Packed | NoRoom) if body is not None else None
        return found if not isinstance(found, Packed) or sound(task, found) else None
    return None


def keep(task: Task, found: Packed | NoRoom) -> None:
    """Keep the answer to `task`, if it can be."""
    store().keep(KIND, _key(task), msgspec.json.encode(found))


def _key(task: Task) -> str:
    return key_of(code("packing"), task)
