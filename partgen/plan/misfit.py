"""Why modules do not fit a body, in words with the number to change."""

from functools import lru_cache
from math import inf

from msgspec import Struct

from partgen.finding import down, up
from partgen.packing.box import NoRoom, Task
from partgen.packing.explain import LIMITS, Change, cures, misfits

UNMEASURED = -1.0       # mm: what is said to be missing where no larger body helps


class Misfit(Struct, frozen=True):
    """What does not fit an inside (length, width, height) [mm], and the changes that help, each a group to be
    made together, their sizes again of the inside.

    `alone` are the modules that do not fit even by themselves; `proven` says that there is no arrangement,
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
        have = dict(zip(LIMITS, self.inside))
        lacks = [have[change.what] - change.value for group in self.cures for change in group if change.what in have]
        return lacks[0] if lacks else UNMEASURED

    def remedy(self, walls: float, above: float) -> str:
        """Say it for a body that is `walls` [mm] longer and wider than its inside and `above` [mm] higher."""
        who = _listed(tuple(dict.fromkeys(self.alone)) or self.names) + (" even alone" if self.alone else "")
        fit = "no room" if self.proven else "no room was found"
        sizes = [f"{size:.1f} mm {word}" for size, word in zip(self.inside, ("long", "wide", "high")) if size < inf]
        said = dict.fromkeys(" and ".join(self._said(change, walls, above) for change in group)
                             for group in self.cures)
        return (f"{fit} for {who} in a body {' and '.join(sizes)} inside: "
                f"{', or '.join(said) if said else 'make it larger, and take 1 module out'}")

    def _said(self, change: Change, walls: float, above: float) -> str:
        return {
            "length": lambda: f"lengthen it to {up(change.value + walls)} mm",
            "width": lambda: f"widen it to {up(change.value + walls)} mm",
            "height": lambda: f"make it {up(change.value + above)} mm high",
            "levels": lambda: "set levels = 2",
            # Farther from the wish than the nearest place is farther from what is in the way.
            "station": lambda: f"set sensor_station = {(up if change.value > self.station else down)(change.value)}",
            "no station": lambda: "leave sensor_station out",
            "leave out": lambda: f"take {self.names[change.box]} out",
        }[change.what]()


@lru_cache(maxsize=256)
def explain(task: Task, found: NoRoom) -> Misfit:
    """Find out what is wrong with `task`, for which nothing was found, and what helps."""
    names, space = tuple(box.name for box in task.boxes), task.space
    return Misfit(names, tuple(names[place] for place in misfits(task)), cures(task),
                  (space.length[1], space.width[1], space.height[1]), space.station, found.proven)


def _listed(names) -> str:
    *others, last = names
    return f"{', '.join(others)} and {last}" if others else last
