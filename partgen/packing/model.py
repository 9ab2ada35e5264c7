"""The packing as a constraint model: every arrangement that the rules in `box` allow, in whole grid lines.

Imports the solver, which takes most of a second: import this file only where something has to be searched.
"""

from itertools import permutations

from msgspec import Struct, field
from ortools.sat.python import cp_model

from partgen.packing.box import Task
from partgen.packing.floor import off_taken, windows
from partgen.packing.grid import AXES, UPWARD, Grid, border, grid_of, need


class Stood(Struct):
    """One box in the model: low corner, size, and each face's room and hard part as expressions of its pose."""

    at: tuple
    size: tuple
    room: tuple
    hard: tuple
    chosen: list                # a literal for each of its stands
    upper: object | None        # literal: it lies on another box; None where it may not
    on: dict = field(default_factory=dict)      # the same by the place of the box that carries it


class Model(Struct):
    """The constraint model of a task: its boxes, half length and half width, and the height of the inside;
    `apart` holds, by pair of boxes, a literal for each way in which they may be apart; `windows` a literal
    and twice the middle along x for each window that a box may need."""

    cp: cp_model.CpModel
    task: Task
    grid: Grid
    half: tuple
    height: object
    boxes: list[Stood]
    apart: dict
    windows: list


def build(task: Task) -> Model:
    """Return the model of `task`."""
    cp, grid = cp_model.CpModel(), grid_of(task)
    half = (cp.new_int_var(*grid.length, "half length"), cp.new_int_var(*grid.width, "half width"))
    model = Model(cp, task, grid, half, cp.new_int_var(*grid.height, "height"), [], {}, [])
    model.boxes += [_stood(model, place) for place in range(len(task.boxes))]
    for place, box in enumerate(model.boxes):
        _inside(model, place, box)
        _carried(model, place, box)
        windows(model, place, box)
        off_taken(model, place, box)
    _all_apart(model)
    return model


def _stood(model, place) -> Stood:
    cp, grid, stands = model.cp, model.grid, model.grid.stands[place]
    chosen = [cp.new_bool_var(f"{place} stands {k}") for k in range(len(stands))]
    cp.add_exactly_one(chosen)
    reach = (grid.length[1], grid.width[1], grid.height[1])
    at = tuple(cp.new_int_var(-far if axis < UPWARD else 0, far, f"{axis} of {place}")
               for axis, far in enumerate(reach))
    climbs = model.task.levels > 1 and model.task.boxes[place].climbs
    upper = cp.new_bool_var(f"{place} on top") if climbs else None
    on_floor = cp.add(at[UPWARD] == _by_stand([stand.lift for stand in stands], chosen))
    if climbs:
        on_floor.only_enforce_if(~upper)

    def faces(values):
        return tuple(_by_stand(per_face, chosen) for per_face in zip(*values))

    return Stood(at, faces(s.size for s in stands), faces(s.room for s in stands), faces(s.hard for s in stands),
                 chosen, upper)


def _by_stand(values, chosen):
    """Return the value that goes with the chosen stand: a number where all are alike."""
    alike = len(set(values)) == 1
    return values[0] if alike else sum(value * literal for value, literal in zip(values, chosen))


def _inside(model, place, box):
    """Keep a box and the room of its faces inside; a face that looks out stands at its wall."""
    cp = model.cp
    for stand, literal in zip(model.grid.stands[place], box.chosen):
        for axis in (0, 1):
            low, high = AXES[axis]
            below, beyond = box.at[axis] + model.half[axis], model.half[axis] - box.at[axis] - stand.size[axis]
            for face, free in ((low, below), (high, beyond)):
                at_wall = free == stand.wall[face] if stand.fixed[face] else free >= stand.wall[face]
                cp.add(at_wall).only_enforce_if(literal)
        cp.add(box.at[UPWARD] + stand.size[UPWARD] + stand.wall[4] <= model.height).only_enforce_if(literal)
        if stand.floor and box.upper is not None:
            cp.add_implication(literal, ~box.upper)


def _carried(model, place, box):
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


def _all_apart(model):
    """Any two boxes are apart: in front, behind, left, right, or above."""
    for one, other in permutations(range(len(model.boxes)), 2):
        found = [_follows(model, one, other, axis) for axis in (0, 1)] + [_above(model, one, other)]
        model.apart.setdefault(frozenset((one, other)), []).extend(way for way in found if way is not None)
    for literals in model.apart.values():
        model.cp.add_bool_or(literals)


def _follows(model, one, other, axis):
    """Return a literal for: `other` follows `one` along `axis` at the distance they need; None if it cannot."""
    grid = model.grid
    low, high = AXES[axis]
    shortest = min(a.wall[low] + a.size[axis] + need(grid, one, a, other, b, axis) + b.size[axis] + b.wall[high]
                   for a in grid.stands[one] for b in grid.stands[other])
    if shortest > 2 * (grid.length, grid.width)[axis][1]:
        return None
    literal = model.cp.new_bool_var(f"{other} follows {one} along {axis}")
    _keep_apart(model, one, other, axis, literal)
    return literal


def _above(model, below, above):
    """Return a literal for: `above` lies on something, and higher than `below`; None if it cannot."""
    lower, upper = model.boxes[below], model.boxes[above]
    if upper.upper is None:
        return None
    literal = model.cp.new_bool_var(f"{above} above {below}")
    _keep_apart(model, below, above, UPWARD, literal)
    model.cp.add_implication(literal, upper.upper)
    if lower.upper is not None:
        model.cp.add_implication(literal, ~lower.upper)
    for stand, chosen in zip(model.grid.stands[below], lower.chosen):
        if not stand.under:
            model.cp.add_implication(literal, ~chosen)
    return literal


def _keep_apart(model, one, other, axis, literal):
    """Where `literal` holds, keep what the two faces need between box `one` and box `other` beyond it."""
    low, high = AXES[axis]
    first, second = model.boxes[one], model.boxes[other]
    gap = second.at[axis] - first.at[axis] - first.size[axis]
    for least in (border(model.grid, one, other, axis), first.room[high], second.room[low],
                  first.hard[high] + second.hard[low]):
        model.cp.add(gap >= least).only_enforce_if(literal)
