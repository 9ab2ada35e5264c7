"""Is an arrangement sound: the rules held against it by plain sums, whoever found it."""

from collections.abc import Sequence
from math import isfinite

import numpy as np

from partgen.packing import grid as grids
from partgen.packing.box import Packed, Task
from partgen.packing.grid import LINES, UPWARD, Put
from partgen.packing.rules import Arrangement, Lying, tell


class Sums:
    """Takes the rules where every number is known; `kept` says whether all of them hold."""

    kept = True

    def hold(self, rule: bool, *when: np.bool) -> None:
        """Note whether `rule` holds, if all of `when` do."""
        self.kept &= bool(rule) or not all(when)

    def case(self, _name: str, *rules: bool) -> np.bool:
        """Return whether all `rules` hold."""
        return np.bool(all(rules))

    def some(self, literals: Sequence[np.bool], *when: np.bool) -> None:
        """Note whether one of `literals` holds, if all of `when` do."""
        self.hold(any(literals), *when)


def sound(task: Task, found: Packed) -> bool:
    """Does `found` keep every rule, with every box of `task` on the grid and its sizes and aims as stated?"""
    numbers = [found.length / 2, found.width / 2, found.height]
    numbers += [at for spot in found.spots for at in (spot.x, spot.y, spot.z)]
    if len(found.spots) != len(task.boxes) or not all(
            isfinite(at) and abs(at * LINES - round(at * LINES)) < 1e-6 for at in numbers):
        return False
    puts = grids.puts_of(task, found)
    length, width, high = (round(number * LINES) for number in numbers[:3])
    known = Arrangement(Sums(), task, grids.grid_of(task), (length, width), high, [])
    known.boxes += [_lying(known, place, put) for place, put in enumerate(puts)]
    tell(known)
    within = zip((length, width, high), (known.grid.length, known.grid.width, known.grid.height), strict=True)
    return bool(known.cp.kept and all(low <= size <= most for size, (low, most) in within)
                and all(put.on is None or box.on.get(put.on) for put, box in zip(puts, known.boxes, strict=True))
                and _stated(known, puts, found))


def _lying(known: Arrangement, place: int, put: Put) -> Lying:
    """Return a box as it was put, which is in one of its ways, on the floor or on another box."""
    way, climbs = put.way, known.task.levels > 1 and known.task.boxes[place].climbs
    chosen = [np.bool(way == other) for other in known.grid.ways[place]]
    known.cp.hold(sum(chosen) == 1 and (put.on is not None or put.at[UPWARD] == way.lift))
    return Lying(put.at, way.size, way.room, way.hard, chosen, np.bool(put.on is not None) if climbs else None)


def _stated(known: Arrangement, puts: Sequence[Put], found: Packed) -> bool:
    """Does every aim state what is reached, and no more than that as what cannot be beaten?"""
    steps = {"length": known.half[0], "width": known.half[1], "height": known.height,
             "balance": grids.balance(known.grid, puts), "runs": grids.runs(known.task, puts),
             "wishes": len(grids.elsewhere(known.task, puts, known.half))}
    named = tuple(name for name, *_ in found.aims) == known.task.aims
    return named and known.height == grids.height(known.grid, puts) and all(
        0 <= bound <= reached and (name == "station" or abs(reached - steps[name] * grids.STEP[name] / LINES) < 1e-6)
        for name, reached, bound in found.aims)
