"""Modules on a floor: the best arrangement in a body, by arithmetic where that proves it, else by search."""

from dataclasses import replace
from functools import lru_cache

from partgen.packing.box import NoRoom, Packed, Task
from partgen.packing.row import in_a_row


@lru_cache(maxsize=512)
def pack(task: Task) -> Packed | NoRoom:
    """Return the best arrangement of the task's boxes, or that there is none."""
    if not task.boxes:
        (length, _), (width, _), (height, _) = task.space.length, task.space.width, task.space.height
        return Packed((), length, width, height, ())
    row = in_a_row(task)
    return row if row is not None else _searched(_as_if_free(task))


def _as_if_free(task: Task) -> Task:
    """Return the task with no least length, where its boxes need more anyway: so it is searched for only once."""
    # The solver takes most of a second to import: only where something has to be searched for.
    from partgen.packing.bound import shortest
    free = replace(task, space=replace(task.space, length=(0.0, task.space.length[1])))
    return free if task.space.length[0] <= shortest(free) else task


@lru_cache(maxsize=512)
def _searched(task: Task) -> Packed | NoRoom:
    from partgen.packing.search import search
    return search(task)
