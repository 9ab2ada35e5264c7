"""How far a cable runs: from plug face to plug face, straight out through each plug and then along and across.

Whole grid lines and millimetres go in alike, and come out as they went in.
"""

from collections.abc import Sequence
from typing import Any

from partgen.packing.box import FACES

OUTWARD = dict(zip(FACES, ((1, 0), (-1, 0), (0, 1), (0, -1), (0, 0), (0, 0)), strict=True))

End = tuple[Any, Any, Any]
"""Where a cable leaves its plug: twice that along x and y, and twice how long the plug is."""
Cable = tuple[Any, tuple[Any, Any], tuple[Any, Any]]
"""Twice how far it runs, and twice where it leaves both its plugs."""


def ends(size: Sequence[Any], hard: Sequence[Any], plugs: Sequence[str]) -> tuple[End, ...]:
    """Return the end of the plug in each of a box's faces `plugs`, from the box's rear right corner.

    size: the box along x, y, z; hard: how far a plug stands out of each of FACES. A box without plugs has one end,
    in its middle: wires are soldered to it wherever that suits.
    """
    found: list[End] = [(size[0], size[1], 0)] if not plugs else []
    for face in plugs:
        (x, y), long = OUTWARD[face], hard[FACES.index(face)]
        found.append(((1 + x) * size[0] + 2 * x * long, (1 + y) * size[1] + 2 * y * long, 2 * long))
    return tuple(found)


def shortest(one: Sequence[End], at: Sequence[Any], other: Sequence[End], there: Sequence[Any]) -> Cable:
    """Return the shortest cable from any end of one box, its corner `at`, to any end of another, its corner `there`."""
    return min((abs(start[0] - stop[0]) + abs(start[1] - stop[1]) + a + b, start, stop)
               for start, a in _moved(one, at) for stop, b in _moved(other, there))


def _moved(every: Sequence[End], at: Sequence[Any]) -> list[tuple[tuple[Any, Any], Any]]:
    return [((2 * at[0] + x, 2 * at[1] + y), long) for x, y, long in every]
