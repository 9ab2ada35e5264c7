"""Why boxes do not fit, and the smallest change that makes them: every number is from an arrangement found."""

from collections.abc import Iterator, Sequence
from functools import lru_cache
from math import inf

from msgspec import Struct
from msgspec.structs import replace

from partgen.finding import down, up
from partgen.packing.box import NoRoom, Packed, Task
from partgen.packing.pack import pack

LIMITS = ("length", "width", "height")
EFFORT = 0.3            # of each question
ASKED = 6               # boxes: of more, leaving one out is asked only of the largest
UNMEASURED = -1.0       # mm: what is said to be missing where no larger body helps


class Change(Struct, frozen=True):
    """Something to change: `what` is length, width, height [mm of the inside], levels, station [mm], no station
    or leave out; `value` what it must be; `box` the place of the box that is left out."""

    what: str
    value: float
    box: int | None = None


class Misfit(Struct, frozen=True):
    """The boxes that do not fit an inside (length, width, height) [mm], and the changes that help, each a group to be
    made together, their sizes again of the inside.

    `alone` are those that do not fit even by themselves; `proven` says that there is no arrangement,
    not only that none was found.
    """

    names: tuple[str, ...]
    alone: tuple[str, ...]
    cures: tuple[tuple[Change, ...], ...]
    inside: tuple[float, float, float]
    station: float | None
    proven: bool

    @property
    def missing(self) -> float:
        """How much larger the body must be [mm], as a negative number, by the first limit that helps."""
        have = dict(zip(LIMITS, self.inside, strict=True))
        lacks = [have[change.what] - change.value for group in self.cures for change in group if change.what in have]
        return lacks[0] if lacks else UNMEASURED

    def remedy(self, walls: float, above: float) -> str:
        """Say it for a body that is `walls` [mm] longer and wider than its inside and `above` [mm] higher."""
        who = _listed(tuple(dict.fromkeys(self.alone)) or self.names) + (" even alone" if self.alone else "")
        fit = "no room" if self.proven else "no room was found"
        sizes = [f"{size:.1f} mm {word}" for size, word in zip(self.inside, ("long", "wide", "high"), strict=True)
                 if size < inf]
        return (f"{fit} for {who} in a body {' and '.join(sizes)} inside: "
                f"{', or '.join(self.said(walls, above)) or 'make it larger, and take 1 module out'}")

    def said(self, walls: float, above: float) -> tuple[str, ...]:
        """Return what helps, in words, for a body as in `remedy`."""
        return tuple(dict.fromkeys(" and ".join(self._said(change, walls, above) for change in group)
                                   for group in self.cures))

    def _said(self, change: Change, walls: float, above: float) -> str:
        if change.what == "station":
            # Farther from the wish than the nearest place is farther from what is in the way.
            away = up if change.value > (self.station or 0.0) else down
            return f"set sensor_station = {away(change.value)}"
        return {"length": f"lengthen it to {up(change.value + walls)} mm",
                "width": f"widen it to {up(change.value + walls)} mm",
                "height": f"make it {up(change.value + above)} mm high",
                "levels": "set levels = 2",
                "no station": "leave sensor_station out",
                "leave out": f"take {self.names[change.box or 0]} out"}[change.what]


@lru_cache(maxsize=256)
def explain(task: Task, found: NoRoom) -> Misfit:
    """Return what is wrong with `task`, for which nothing was found, and what helps."""
    names, space = tuple(box.name for box in task.boxes), task.space
    return Misfit(names, tuple(names[place] for place in misfits(task)), cures(task),
                  (space.length[1], space.width[1], space.height[1]), space.station, found.proven)


def _listed(names: tuple[str, ...]) -> str:
    *others, last = names
    return f"{', '.join(others)} and {last}" if others else last


def misfits(task: Task) -> tuple[int, ...]:
    """Return the places of the boxes that do not fit even when each is alone."""
    return tuple(place for place, box in enumerate(task.boxes)
                 if not _tried(replace(task, boxes=(box,), wires=(), aims=())))


def cures(task: Task) -> tuple[tuple[Change, ...], ...]:
    """Return every way to make the boxes of `task` fit, the limits first; each is made of as few changes as do."""
    found = [*(_larger(task, [limit]) for limit in LIMITS), _two_levels(task), _other_station(task), *_one_less(task)]
    if not any(found):
        found = [_larger(task, ("width", "length")), _larger(task, ("height", "width", "length"))]
    return tuple(changes for changes in found if changes)


def _larger(task: Task, limits: Sequence[str]) -> tuple[Change, ...]:
    """Return the least sizes that do, one after the other in the order given; empty where one is free anyway."""
    sizes = {limit: (getattr(task.space, limit)[0], inf) for limit in limits}
    slim = () if "width" in limits else task.space.slim
    if any(getattr(task.space, limit)[1] == inf for limit in limits):
        return ()
    found = _tried(replace(task, space=replace(task.space, **sizes, slim=slim), aims=tuple(limits)))
    return tuple(Change(limit, getattr(found, limit)) for limit in limits
                 if getattr(found, limit) > getattr(task.space, limit)[1]) if found else ()


def _two_levels(task: Task) -> tuple[Change, ...]:
    climbs = task.levels == 1 and any(box.climbs for box in task.boxes)
    return (Change("levels", 2),) if climbs and _tried(replace(task, levels=2, aims=())) else ()


def _other_station(task: Task) -> tuple[Change, ...]:
    """Return the nearest place along the body where the window through the floor may be."""
    found = _tried(replace(task, aims=("station",))) if task.space.station is not None else None
    middles = [spot.x + sum(spot.orientation.window[0]) / 2 for spot in found.spots if spot.orientation.window] \
        if found else []
    return (Change("station", middles[0]),) if middles else ()


def _one_less(task: Task) -> Iterator[tuple[Change, ...]]:
    """Yield each box without which the others fit; of many boxes only the largest are asked about."""
    size = [min(way.size[0] * way.size[1] for way in box.orientations) for box in task.boxes]
    largest = sorted(range(len(size)), key=lambda place: -size[place])[:ASKED]
    for place in sorted(largest) if len(size) > 1 else ():
        others = replace(task, boxes=task.boxes[:place] + task.boxes[place + 1:], wires=(), aims=())
        wish = task.space.station is not None and any(
            way.window for box in task.boxes if box.name == task.boxes[place].name for way in box.orientations)
        if _tried(others):
            yield (Change("leave out", len(others.boxes), place), *([Change("no station", 0.0)] if wish else ()))


def _tried(task: Task) -> Packed | None:
    found = pack(replace(task, effort=EFFORT))
    return None if isinstance(found, NoRoom) else found
