"""Is an arrangement sound: the rules in `box` held against it by plain sums, whoever found it."""

from collections.abc import Iterator, Sequence
from itertools import combinations
from math import isfinite

from partgen.packing import grid as grids
from partgen.packing.box import FloorZone, Packed, Task
from partgen.packing.grid import AXES, LINES, UPWARD, Grid, Put, down, lines, need, up, way_of, zone_lines


def sound(task: Task, found: Packed) -> bool:
    """Does `found` keep every rule, with every box of `task` on the grid and its sizes and aims as stated?"""
    grid, numbers = grids.grid_of(task), [found.length / 2, found.width / 2, found.height]
    numbers += [at for spot in found.spots for at in (spot.x, spot.y, spot.z)]
    if len(found.spots) != len(task.boxes) or not all(isfinite(at) and _on_grid(at) for at in numbers):
        return False
    puts = [Put(way_of(spot.orientation, task.space), (round(spot.x * LINES), round(spot.y * LINES),
                                                      round(spot.z * LINES)), spot.on) for spot in found.spots]
    half = round(found.length * LINES / 2), round(found.width * LINES / 2)
    return all(_rules(task, grid, puts, half, round(found.height * LINES))) and _stated(task, grid, puts, half, found)


def _on_grid(at: float) -> bool:
    return abs(at * LINES - round(at * LINES)) < 1e-6


def _rules(task: Task, grid: Grid, puts: Sequence[Put], half: tuple[int, int], high: int) -> Iterator[bool]:
    """Yield of each rule whether it is kept, in a body of half length and half width `half`, `high` inside."""
    yield grid.length[0] <= half[0] <= grid.length[1] and grid.width[0] <= half[1] <= grid.width[1]
    yield high == grids.height(grid, puts) <= grid.height[1]
    for place, put in enumerate(puts):
        yield put.way.orientation in task.boxes[place].orientations
        for axis in (0, 1):
            low, end = put.at[axis], put.at[axis] + put.way.size[axis]
            for face, free in zip(AXES[axis], (low + half[axis], half[axis] - end), strict=True):
                yield free == put.way.wall[face] if put.way.fixed[face] else free >= put.way.wall[face]
        yield _carried(task, grid, puts, place) if put.on is not None else put.at[UPWARD] == put.way.lift
        yield from _on_floor(task, put, half[0])
    for one, other in combinations(range(len(puts)), 2):
        yield any(_follows(grid, puts, *pair, axis) for pair in ((one, other), (other, one)) for axis in range(3))


def _carried(task: Task, grid: Grid, puts: Sequence[Put], place: int) -> bool:
    """Does the box at `place` lie on one that carries it?"""
    put, on = puts[place], puts[place].on
    if on is None or on not in range(len(puts)) or on == place:
        return False
    under = puts[on]
    return (task.levels > 1 and task.boxes[place].climbs and task.boxes[on].carries and under.on is None
            and not put.way.floor and put.at[UPWARD] == under.at[UPWARD] + under.way.size[UPWARD] + grid.layer
            and all(under.at[axis] <= put.at[axis] and put.at[axis] + put.way.size[axis]
                    <= under.at[axis] + under.way.size[axis] for axis in (0, 1)))


def _on_floor(task: Task, put: Put, half: int) -> Iterator[bool]:
    """Yield whether window and feet lie where they may."""
    space = task.space
    if put.way.orientation.window:
        x, y = lines(put.at, put.way.orientation.window)
        yield (space.station is None or "station" in task.aims
               or 2 * down(space.station) <= x[0] + x[1] <= 2 * up(space.station))
        yield down(space.strip[0]) <= y[0] and y[1] <= up(space.strip[1])
        yield from (_off(x, y, zone, half) for zone in space.blind)
    for foot in put.way.orientation.feet if put.on is None else ():
        x, y = lines(put.at, foot)
        yield from (_off(x, y, zone, half) for zone in space.taken)


def _off(x: tuple[int, int], y: tuple[int, int], zone: FloorZone, half: int) -> bool:
    along, across = zone_lines(zone, half)
    return x[1] <= along[0] or x[0] >= along[1] or y[1] <= across[0] or y[0] >= across[1]


def _follows(grid: Grid, puts: Sequence[Put], one: int, other: int, axis: int) -> bool:
    """Is `other` far enough beyond `one` along `axis`; upwards, only what lies on something is."""
    first, second = puts[one], puts[other]
    if axis == UPWARD and not (second.on is not None and first.on is None and first.way.under):
        return False
    gap = second.at[axis] - first.at[axis] - first.way.size[axis]
    return gap >= need(grid, one, first.way, other, second.way, axis)


def _stated(task: Task, grid: Grid, puts: Sequence[Put], half: tuple[int, int], found: Packed) -> bool:
    """Does every aim state what is reached, and no more than that as what cannot be beaten?"""
    steps = {"length": half[0], "width": half[1], "height": grids.height(grid, puts),
             "balance": grids.balance(grid, puts), "runs": grids.runs(task, puts)}
    return [name for name, *_ in found.aims] == list(task.aims) and all(
        0 <= bound <= reached and (name == "station" or abs(reached - steps[name] * grids.STEP[name] / LINES) < 1e-6)
        for name, reached, bound in found.aims)
