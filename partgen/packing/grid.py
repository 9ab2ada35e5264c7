"""Boxes and space in whole grid lines, so that every sum and comparison is exact, and what an arrangement comes to.

Sizes round up and limits round down: what is packed on the grid fits in millimetres.
"""

from collections.abc import Sequence
from math import ceil, floor
from typing import Any

from msgspec import Struct

from partgen.packing.box import FACES, HARD, SIDES, FloorZone, Orientation, Packed, Rectangle, Space, Span, Task
from partgen.packing.cables import End, ends, shortest

LINES = 20              # a mm
FAR = 2000 * LINES      # beyond every body
AXES = ((1, 0), (3, 2), (5, 4))     # of FACES along x, y, z: the one at the low end, the one at the high end
UPWARD = 2
BALANCE, RUN = 10, 20   # grid lines a step: half a millimetre off balance, a millimetre of wire
STEP = {"length": 2, "width": 2, "height": 1, "balance": BALANCE, "runs": RUN, "station": 0.5, "wishes": LINES}
"""Grid lines in one unit of each aim; length and width are counted in halves."""

Corner = tuple[int, int, int]


class Way(Struct, frozen=True):
    """A way to lie, an orientation in grid lines: `wall` is what each face wants from wall, floor or lid, `room` from
    a neighbour's face, `hard` how much of that is plug or cut, `ends` where cables leave its plugs."""

    orientation: Orientation
    size: Corner
    room: tuple[int, ...]
    hard: tuple[int, ...]
    wall: tuple[int, ...]
    fixed: tuple[bool, ...]     # faces that stand at their wall, no nearer and no farther
    lift: int
    under: bool                 # may anything lie above it?
    floor: bool                 # must it stand on the floor?
    ends: tuple[End, ...]


class Grid(Struct, frozen=True):
    """A task in grid lines; `length`, `width` and `carried` count from the middle."""

    ways: tuple[tuple[Way, ...], ...]
    border: tuple[int, ...]
    mass: tuple[int, ...]       # in tenths of a gram, so that light boxes count too
    length: tuple[int, int]
    width: tuple[int, int]
    height: tuple[int, int]
    layer: int
    carried: int

    @property
    def twice_mass(self) -> int:
        """Return twice the mass of all boxes: so much twice their moment is when all are a grid line off balance."""
        return 2 * sum(self.mass)


class Put(Struct, frozen=True):
    """A box put down: the way it lies, its low corner, and the place of the box that carries it."""

    way: Way
    at: Corner
    on: int | None = None

    def twice_middle(self, axis: int) -> int:
        """Return twice the middle along `axis`."""
        return 2 * self.at[axis] + self.way.size[axis]

    def twice_over(self, carried: int) -> int:
        """Return twice how far beyond where the body is carried the middle lies."""
        return max(abs(self.twice_middle(0)) - 2 * carried, 0)


def up(value: float) -> int:
    """Return the first grid line at or after `value` [mm], which may be infinite."""
    return ceil(min(max(value * LINES, -FAR), FAR) - 1e-6)


def down(value: float) -> int:
    """Return the last grid line at or before `value` [mm], which may be infinite."""
    return floor(min(max(value * LINES, -FAR), FAR) + 1e-6)


def grid_of(task: Task) -> Grid:
    """Return `task` on the grid; orientations that ask the same of everything count once."""
    space = task.space
    return Grid(
        ways=tuple(tuple(dict.fromkeys(way_of(one, space) for one in box.orientations)) for box in task.boxes),
        border=tuple(up(box.border) for box in task.boxes),
        mass=tuple(round(10 * box.mass) for box in task.boxes),
        length=_halves(space.length), width=_halves(space.width),
        height=(up(space.height[0]), down(space.height[1])), layer=up(space.layer), carried=down(space.carried))


def need(grid: Grid, one: int, way: Way, other: int, beyond: Way, axis: int) -> int:
    """Return the least free distance from box `one` to box `other` that follows it along `axis`."""
    low, high = AXES[axis]
    return max(border(grid, one, other, axis), way.room[high], beyond.room[low], way.hard[high] + beyond.hard[low])


def border(grid: Grid, one: int, other: int, axis: int) -> int:
    """Return the least free distance of two boxes whose faces need no room."""
    return grid.layer if axis == UPWARD else max(grid.border[one], grid.border[other])


def _halves(limits: Span) -> tuple[int, int]:
    """Return half the least and half the largest size; one that is fixed rounds down, like every limit."""
    most = down(limits[1] / 2)
    return (most if limits[0] == limits[1] else up(limits[0] / 2), most)


def way_of(orientation: Orientation, space: Space) -> Way:
    """Return `orientation` in grid lines."""
    wall = orientation.to_wall(space.gap, space.touch, space.rim)
    length, width, height = map(up, orientation.size)
    plug = tuple(up(HARD * room) for room in orientation.room)
    return Way(orientation=orientation, size=(length, width, height), room=tuple(map(up, orientation.room)),
               hard=tuple(map(max, plug, map(up, orientation.through))), wall=tuple(map(up, wall)),
               fixed=tuple(face in orientation.out and face in SIDES for face in FACES),
               lift=up(orientation.lift), under="top" not in orientation.out,
               floor="bottom" in orientation.out or orientation.window is not None,
               ends=ends((length, width), plug, orientation.plugs))


# Rectangles on the floor. A corner, and half the length, may be expressions of the solver: they are only added up

def lines(at: Sequence[Any], rectangle: Rectangle) -> tuple[tuple[Any, Any], tuple[Any, Any]]:
    """Return from where to where along x and y the grid lines go that enclose a rectangle, given from a corner `at`."""
    (x0, x1), (y0, y1) = rectangle
    return (at[0] + down(x0), at[0] + up(x1)), (at[1] + down(y0), at[1] + up(y1))


def zone_lines(zone: FloorZone, half: Sequence[Any]) -> tuple[tuple[Any, Any], tuple[Any, Any]]:
    """Return from where to where a zone reaches along x and y, in a body of half length and half width `half`."""
    x, y = ((down(low) + wall * far, up(high) + wall * far)
            for (low, high), wall, far in zip((zone.x, zone.y), (zone.end, zone.side), half, strict=True))
    return x, y


def wished(at: str, twice_middle: Sequence[Any], half: Sequence[Any]) -> tuple[Any, ...]:
    """Return what must hold for a box to lie where it shall, its middle counted from that of a body of half length and
    half width `half`; all of it may be expressions of the solver."""
    x, y = twice_middle
    return {"front": (3 * x >= 2 * half[0],), "back": (3 * x <= -2 * half[0],), "left": (y >= 1,), "right": (y <= -1,),
            "middle": (3 * x <= 2 * half[0], 3 * x >= -2 * half[0])}.get(at, ())


# What an arrangement comes to, in steps of each aim

def elsewhere(task: Task, puts: Sequence[Put], half: Sequence[int]) -> tuple[int, ...]:
    """Return the places of the boxes that do not lie where they shall."""
    return tuple(place for place, (box, put) in enumerate(zip(task.boxes, puts, strict=True))
                 if not all(wished(box.at, (put.twice_middle(0), put.twice_middle(1)), half)))


def astray(task: Task, found: Packed) -> tuple[int, ...]:
    """Return the places of the boxes of an arrangement that do not lie where they shall."""
    return elsewhere(task, puts_of(task, found), [round(size * LINES / 2) for size in (found.length, found.width)])


def puts_of(task: Task, found: Packed) -> list[Put]:
    """Return an arrangement's boxes on the grid."""
    return [Put(way_of(spot.orientation, task.space), (round(spot.x * LINES), round(spot.y * LINES),
                                                      round(spot.z * LINES)), spot.on) for spot in found.spots]


def height(grid: Grid, puts: Sequence[Put]) -> int:
    """Return the height that the boxes need, at least the space's least."""
    return max(grid.height[0], *(put.at[UPWARD] + put.way.size[UPWARD] + put.way.wall[4] for put in puts))


def least_height(grid: Grid) -> int:
    """Return the height below which some box has no place at all."""
    return max(grid.height[0], *(min(way.lift + way.size[UPWARD] + way.wall[4] for way in ways) for ways in grid.ways))


def balance(grid: Grid, puts: Sequence[Put]) -> int:
    """Return how far the centre of gravity is from the floor's middle, x, y and z added, and how far its mass hangs
    over, in steps."""
    weighed = list(zip(grid.mass, puts, strict=True))
    return _steps(grid, sum(abs(sum(mass * put.twice_middle(axis) for mass, put in weighed)) for axis in range(3))
                  + sum(mass * put.twice_over(grid.carried) for mass, put in weighed))


def least_balance(grid: Grid) -> int:
    """Return what `balance` comes to when every box lies as low as it can and all balance along x and y."""
    return _steps(grid, sum(mass * min(2 * way.lift + way.size[UPWARD] for way in ways)
                            for mass, ways in zip(grid.mass, grid.ways, strict=True)))


def _steps(grid: Grid, moments: int) -> int:
    """Return the steps off balance, rounded up, that twice the moments come to; a grid line off is none."""
    return max(-(-(moments - grid.twice_mass) // (grid.twice_mass * BALANCE)), 0)


def runs(task: Task, puts: Sequence[Put]) -> int:
    """Return how far all wires run, in steps rounded up."""
    return -(-sum(shortest(puts[one].way.ends, puts[one].at, puts[other].way.ends, puts[other].at)[0]
                  for one, other in task.wires) // (2 * RUN))


def least_runs(task: Task, grid: Grid) -> int:
    """Return what the wires come to when every connected pair stands as close as its sizes allow."""
    if task.levels > 1:
        return 0
    twice = sum(min(2 * (a.size[axis] + need(grid, first, a, second, b, axis)) + stop[axis] - start[axis]
                    + start[2] + stop[2]
                    for axis in (0, 1) for first, second in ((one, other), (other, one))
                    for a in grid.ways[first] for b in grid.ways[second] for start in a.ends for stop in b.ends)
                for one, other in task.wires)
    return -(-twice // (2 * RUN))
