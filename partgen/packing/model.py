"""The packing as a constraint model: every arrangement that the rules in `box` allow, in whole grid lines.

Imports the solver, which takes half a second: import this file only where something has to be searched.
"""

from collections.abc import Iterable, Sequence
from itertools import permutations
from typing import Any

from msgspec import Struct, field
from ortools.sat.python import cp_model

from partgen.packing.box import FloorZone, Task
from partgen.packing.grid import AXES, UPWARD, Grid, Way, border, down, grid_of, lines, need, up, zone_lines

Expression = Any        # of the solver: a whole number, a variable, a sum of them
Literal = Any           # a variable of the solver that is true or false, or its opposite


class Variables(Struct):
    """One box in the model: low corner, size, and each face's room and hard part as expressions of the way it lies."""

    at: tuple[Expression, ...]
    size: tuple[Expression, ...]
    room: tuple[Expression, ...]
    hard: tuple[Expression, ...]
    chosen: list[Literal]       # one for each of its ways to lie
    upper: Literal | None       # it lies on another box; None where it may not
    on: dict[int, Literal] = field(default_factory=dict)    # the same by the place of the box that carries it


class Model(Struct):
    """The constraint model of a task: its boxes, half length and half width, and the height of the inside;
    `windows` holds a literal and twice the middle along x for each window that a box may need."""

    cp: cp_model.CpModel
    task: Task
    grid: Grid
    half: tuple[Expression, Expression]
    height: Expression
    boxes: list[Variables]
    windows: list[tuple[Literal, Expression]]


def build(task: Task) -> Model:
    """Return the model of `task`."""
    cp, grid = cp_model.CpModel(), grid_of(task)
    half = (cp.new_int_var(*grid.length, "half length"), cp.new_int_var(*grid.width, "half width"))
    model = Model(cp, task, grid, half, cp.new_int_var(*grid.height, "height"), [], [])
    model.boxes += [_box(model, place) for place in range(len(task.boxes))]
    for place, box in enumerate(model.boxes):
        _inside(model, place, box)
        _carried(model, place, box)
        _floor(model, place, box)
    _all_apart(model)
    _half_turn(model)
    return model


def _box(model: Model, place: int) -> Variables:
    cp, grid, ways = model.cp, model.grid, model.grid.ways[place]
    chosen = [cp.new_bool_var(f"{place} lies {k}") for k in range(len(ways))]
    cp.add_exactly_one(chosen)
    reach = (grid.length[1], grid.width[1], grid.height[1])
    at = tuple(cp.new_int_var(-far if axis < UPWARD else 0, far, f"{axis} of {place}")
               for axis, far in enumerate(reach))
    climbs = model.task.levels > 1 and model.task.boxes[place].climbs
    upper = cp.new_bool_var(f"{place} on top") if climbs else None
    on_floor = cp.add(at[UPWARD] == _by_way([way.lift for way in ways], chosen))
    if upper is not None:
        on_floor.only_enforce_if(~upper)

    def faces(values: Iterable[Sequence[int]]) -> tuple[Expression, ...]:
        return tuple(_by_way(per_face, chosen) for per_face in zip(*values, strict=True))

    return Variables(at, faces(way.size for way in ways), faces(way.room for way in ways),
                     faces(way.hard for way in ways), chosen, upper)


def _by_way(values: Sequence[int], chosen: Sequence[Literal]) -> Expression:
    """Return the value that goes with the chosen way to lie: a number where all are alike."""
    alike = len(set(values)) == 1
    return values[0] if alike else sum(value * literal for value, literal in zip(values, chosen, strict=True))


def _inside(model: Model, place: int, box: Variables) -> None:
    """Keep a box and the room of its faces inside; a face that looks out stands at its wall."""
    cp = model.cp
    for way, literal in zip(model.grid.ways[place], box.chosen, strict=True):
        for axis in (0, 1):
            low, high = AXES[axis]
            below, beyond = box.at[axis] + model.half[axis], model.half[axis] - box.at[axis] - way.size[axis]
            for face, free in ((low, below), (high, beyond)):
                at_wall = free == way.wall[face] if way.fixed[face] else free >= way.wall[face]
                cp.add(at_wall).only_enforce_if(literal)
        cp.add(box.at[UPWARD] + way.size[UPWARD] + way.wall[4] <= model.height).only_enforce_if(literal)
        if way.floor and box.upper is not None:
            cp.add_implication(literal, ~box.upper)


def _carried(model: Model, place: int, box: Variables) -> None:
    """A box on top lies within the outline of exactly one box that carries, which stands on the floor."""
    if box.upper is None:
        return
    cp = model.cp
    for k, carrier in enumerate(model.boxes):
        if k == place or not model.task.boxes[k].carries:
            continue
        literal = box.on[k] = cp.new_bool_var(f"{place} on {k}")
        for axis in (0, 1):
            gap = box.at[axis] - carrier.at[axis]
            cp.add(gap >= 0).only_enforce_if(literal)
            cp.add(gap + box.size[axis] <= carrier.size[axis]).only_enforce_if(literal)
        top = carrier.at[UPWARD] + carrier.size[UPWARD]
        cp.add(box.at[UPWARD] == top + model.grid.layer).only_enforce_if(literal)
        if carrier.upper is not None:
            cp.add_implication(literal, ~carrier.upper)
    cp.add(sum(box.on.values()) == box.upper)


def _floor(model: Model, place: int, box: Variables) -> None:
    """A window has its middle at the station, and lies in its strip and clear of every blind zone; the feet of a box on
    the floor stand clear of every zone that is taken."""
    cp, space = model.cp, model.task.space
    standing = [] if box.upper is None else [~box.upper]
    for way, literal in zip(model.grid.ways[place], box.chosen, strict=True):
        if way.orientation.window:
            x, y = lines(box.at, way.orientation.window)
            if space.station is not None and "station" not in model.task.aims:
                # Where a wish falls between two grid lines, either does.
                cp.add(x[0] + x[1] >= 2 * down(space.station)).only_enforce_if(literal)
                cp.add(x[0] + x[1] <= 2 * up(space.station)).only_enforce_if(literal)
            model.windows.append((literal, x[0] + x[1]))
            cp.add(y[0] >= down(space.strip[0])).only_enforce_if(literal)
            cp.add(y[1] <= up(space.strip[1])).only_enforce_if(literal)
            for zone in space.blind:
                _clear(model, x, y, zone, [literal])
        for foot in way.orientation.feet:
            for zone in space.taken:
                _clear(model, *lines(box.at, foot), zone, [literal, *standing])


def _clear(model: Model, x: tuple[Expression, ...], y: tuple[Expression, ...], zone: FloorZone,
           literals: list[Literal]) -> None:
    """Where all `literals` hold, keep the rectangle `x`, `y` off a zone."""
    along, across = zone_lines(zone, model.half[0])
    clear = []
    for before, after in ((x[1], along[0]), (along[1], x[0]), (y[1], across[0]), (across[1], y[0])):
        clear.append(model.cp.new_bool_var("clear of zone"))
        model.cp.add(before <= after).only_enforce_if(clear[-1])
    model.cp.add_bool_or(clear).only_enforce_if(*literals)


def _all_apart(model: Model) -> None:
    """Any two boxes are apart: in front, behind, left, right, or above."""
    apart: dict[frozenset[int], list[Literal]] = {}
    for one, other in permutations(range(len(model.boxes)), 2):
        found = [_follows(model, one, other, axis) for axis in (0, 1)] + [_above(model, one, other)]
        apart.setdefault(frozenset((one, other)), []).extend(literal for literal in found if literal is not None)
    for literals in apart.values():
        model.cp.add_bool_or(literals)


def _follows(model: Model, one: int, other: int, axis: int) -> Literal | None:
    """Return a literal for: `other` follows `one` along `axis` at the distance they need; None if it cannot."""
    grid = model.grid
    low, high = AXES[axis]
    shortest = min(a.wall[low] + a.size[axis] + need(grid, one, a, other, b, axis) + b.size[axis] + b.wall[high]
                   for a in grid.ways[one] for b in grid.ways[other])
    if shortest > 2 * (grid.length, grid.width)[axis][1]:
        return None
    literal = model.cp.new_bool_var(f"{other} follows {one} along {axis}")
    _keep_apart(model, one, other, axis, literal)
    return literal


def _above(model: Model, below: int, above: int) -> Literal | None:
    """Return a literal for: `above` lies on something, and higher than `below`; None if it cannot."""
    lower, upper = model.boxes[below], model.boxes[above]
    if upper.upper is None:
        return None
    literal = model.cp.new_bool_var(f"{above} above {below}")
    _keep_apart(model, below, above, UPWARD, literal)
    model.cp.add_implication(literal, upper.upper)
    if lower.upper is not None:
        model.cp.add_implication(literal, ~lower.upper)
    for way, chosen in zip(model.grid.ways[below], lower.chosen, strict=True):
        if not way.under:
            model.cp.add_implication(literal, ~chosen)
    return literal


def _keep_apart(model: Model, one: int, other: int, axis: int, literal: Literal) -> None:
    """Where `literal` holds, keep what the two faces need between box `one` and box `other` beyond it."""
    low, high = AXES[axis]
    first, second = model.boxes[one], model.boxes[other]
    gap = second.at[axis] - first.at[axis] - first.size[axis]
    for least in (border(model.grid, one, other, axis), first.room[high], second.room[low],
                  first.hard[high] + second.hard[low]):
        model.cp.add(gap >= least).only_enforce_if(literal)


def _half_turn(model: Model) -> None:
    """Where an arrangement turned round is one as well, look for only one of the two.

    Measured over tests/bench/bench_packing.py: a quarter of the solver's work (2.5 against 3.3 in its own measure).
    """
    space, grid = model.task.space, model.grid
    if any(way.orientation.window or space.taken and way.orientation.feet for ways in grid.ways for way in ways):
        return
    if all({_asks(way) for way in ways} == {_asks(way, turned=True) for way in ways} for ways in grid.ways):
        largest = max(range(len(grid.ways)), key=lambda place: min(
            way.size[0] * way.size[1] for way in grid.ways[place]))
        box = model.boxes[largest]
        model.cp.add(2 * box.at[0] + box.size[0] >= 0)


def _asks(way: Way, turned: bool = False) -> tuple[object, ...]:
    order = (1, 0, 3, 2, 4, 5) if turned else range(6)
    return (way.size, *(tuple(values[face] for face in order) for values in (way.room, way.wall, way.fixed)), way.lift,
            way.under)
