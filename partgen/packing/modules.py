"""Modules on a floor: the best arrangement in a body, by arithmetic where that proves it, else by search."""

from functools import lru_cache
from math import inf

from msgspec.structs import replace

from partgen.packing.box import NoRoom, Packed, Task
from partgen.packing.known import keep, recall
from partgen.packing.row import in_a_row

ANYWHERE = (-inf, inf)


@lru_cache(maxsize=512)
def pack(task: Task) -> Packed | NoRoom:
    """Return the best arrangement of the task's boxes, or that there is none."""
    if not task.boxes:
        (length, _), (width, _), (height, _) = task.space.length, task.space.width, task.space.height
        return Packed((), length, width, height, ())
    task = _asked(task)
    row = in_a_row(task)
    if row is not None:
        return row
    found = recall(task)
    if found is None:
        found = _searched(task)
        keep(task, found)
    return found


def _asked(task: Task) -> Task:
    """Return the task without what none of its boxes asks, so that more tasks are one and the same."""
    poses = [pose for box in task.boxes for pose in box.poses]
    space = task.space
    if not any(pose.feet for pose in poses):
        space = replace(space, taken=())
    if not any(pose.window for pose in poses):
        space = replace(space, blind=(), station=None, strip=ANYWHERE)
    if not any(pose.seen for pose in poses):
        space = replace(space, rim=0.0)
    return replace(task, space=space)


def _searched(task: Task) -> Packed | NoRoom:
    """Return what a search finds; where the boxes need more than the least length, that has no say."""
    # The solver takes most of a second to import: only where something has to be searched for.
    from partgen.packing.bound import shortest
    free = replace(task, space=replace(task.space, length=(0.0, task.space.length[1])))
    return _search(free if task.space.length[0] <= shortest(free) else task)


@lru_cache(maxsize=512)
def _search(task: Task) -> Packed | NoRoom:
    from partgen.packing.search import search
    return search(task)
