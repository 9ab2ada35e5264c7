"""Why boxes do not fit, and by how much: every number is from an arrangement found."""

from collections.abc import Sequence
from functools import lru_cache
from math import inf

from msgspec import Struct
from msgspec.structs import replace

from partgen.finding import up
from partgen.packing.box import NoRoom, Packed, Task
from partgen.packing.pack import pack

LIMITS = ("length", "width", "height")
MORE = (("length",), ("width",), ("height",), ("width", "length"), ("height", "width", "length"))
"""What of the inside may have to be larger, in the order in which it is asked."""

EFFORT = 0.3            # of each question
UNMEASURED = -1.0       # mm: what is said to be missing where no larger body helps


class Misfit(Struct, frozen=True):
    """The boxes that do not fit an inside (length, width, height) [mm], and the least sizes of it by name [mm] with
    which they would, none where no larger one does.

    `alone` are those that do not fit even by themselves; `proven` says that there is no arrangement,
    not only that none was found.
    """

    names: tuple[str, ...]
    alone: tuple[str, ...]
    enough: tuple[tuple[str, float], ...]
    inside: tuple[float, float, float]
    station: float | None
    proven: bool

    @property
    def missing(self) -> float:
        """How much larger the body must be [mm], as a negative number, in the first size that is too small."""
        have = dict(zip(LIMITS, self.inside, strict=True))
        return next((have[limit] - size for limit, size in self.enough), UNMEASURED)

    @property
    def takes(self) -> str:
        """The room that it takes inside, in words; "" where no larger one does."""
        return " and ".join(f"{up(size)} mm of {limit}" for limit, size in self.enough)

    @property
    def reason(self) -> str:
        """Say it: what does not fit into what, and which room it takes."""
        who = _listed(tuple(dict.fromkeys(self.alone)) or self.names) + (" even alone" if self.alone else "")
        fit = "no room" if self.proven else "no room was found"
        sizes = [f"{size:.1f} mm {word}" for size, word in zip(self.inside, ("long", "wide", "high"), strict=True)
                 if size < inf]
        at = "" if self.station is None else f" with sensor_station = {self.station:g}"
        takes = f": that takes {self.takes}" if self.enough else ""
        return f"{fit} for {who} in a body {' and '.join(sizes)} inside{at}{takes}"


@lru_cache(maxsize=256)
def explain(task: Task, found: NoRoom) -> Misfit:
    """Return what is wrong with `task`, for which nothing was found, and the room it takes."""
    names, space = tuple(box.name for box in task.boxes), task.space
    return Misfit(names, tuple(names[place] for place in misfits(task)), enough(task),
                  (space.length[1], space.width[1], space.height[1]), space.station, found.proven)


def _listed(names: tuple[str, ...]) -> str:
    *others, last = names
    return f"{', '.join(others)} and {last}" if others else last


def misfits(task: Task) -> tuple[int, ...]:
    """Return the places of the boxes that do not fit even when each is alone."""
    return tuple(place for place, box in enumerate(task.boxes)
                 if not _tried(replace(task, boxes=(box,), wires=(), aims=())))


def enough(task: Task) -> tuple[tuple[str, float], ...]:
    """Return the first sizes [mm] found, by name, with which the boxes of `task` fit."""
    return next(filter(None, (larger(task, limits) for limits in MORE)), ())


def larger(task: Task, limits: Sequence[str]) -> tuple[tuple[str, float], ...]:
    """Return the least sizes that do, one after the other in the order given; empty where one is free anyway."""
    sizes = {limit: (getattr(task.space, limit)[0], inf) for limit in limits}
    slim = () if "width" in limits else task.space.slim
    if any(getattr(task.space, limit)[1] == inf for limit in limits):
        return ()
    found = _tried(replace(task, space=replace(task.space, **sizes, slim=slim), aims=tuple(limits)))
    return tuple((limit, getattr(found, limit)) for limit in limits
                 if getattr(found, limit) > getattr(task.space, limit)[1]) if found else ()


def _tried(task: Task) -> Packed | None:
    found = pack(replace(task, effort=EFFORT))
    return None if isinstance(found, NoRoom) else found
