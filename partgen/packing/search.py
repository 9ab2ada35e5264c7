"""The search for the best arrangement, one aim after the other; the same task gives the same answer.

Each aim is searched for in `improve`; what it reached is held while the next one is searched for.
"""

from partgen.packing import measure
from partgen.packing.bound import cover, half_turn, least_half, standing
from partgen.packing.box import NoRoom, Packed, Task
from partgen.packing.grid import LINES
from partgen.packing.improve import any_at_all, best
from partgen.packing.measure import Put
from partgen.packing.model import Model, build

WEIGHT = {"length": 1.0, "width": 1.0, "height": 0.2, "balance": 0.2, "runs": 0.2, "station": 0.3}
"""How much of the task's effort each aim is worth."""


def search(task: Task) -> Packed | NoRoom:
    """Return the best arrangement found for `task`, with what is proven about it."""
    model = build(task)
    on_floor = standing(task)
    least = {name: _least(model, name, on_floor) for name in task.aims}
    for axis, name in enumerate(("length", "width")):
        if name in least:
            model.cp.add(model.half[axis] >= least[name])
    cover(model, on_floor)
    half_turn(model)
    return _in_turn(model, least) if task.aims else _any(model)


def _any(model: Model) -> Packed | NoRoom:
    values, none = any_at_all(model, model.task.effort)
    return NoRoom(none) if values is None else _packed(model, values, ())


def _least(model: Model, name: str, on_floor) -> int:
    """Return what no arrangement can beat in the aim `name`, in its units."""
    if name in ("length", "width"):
        return least_half(model.grid, ("length", "width").index(name), on_floor)
    if name == "runs":
        return measure.least_runs(model.task, model.grid)
    if name == "station":
        return 0
    return {"height": measure.least_height, "balance": measure.least_balance}[name](model.grid)


def _in_turn(model: Model, least) -> Packed | NoRoom:
    """Meet one aim after the other; where the present arrangement meets one already, nothing is searched."""
    values, goals = None, {}
    for name in model.task.aims:
        goal = _goal(model, name)
        if values is None or name == "station" or _reached(model, values, name, goal) > least[name]:
            found, bound = best(model, goal, values, least[name], WEIGHT[name] * model.task.effort)
            if found is None:
                return NoRoom(bound is None)
            values, least[name] = found, bound
        goals[name] = goal
        model.cp.add(goal <= _reached(model, values, name, goal))
    # A later search may have bettered an earlier aim by the way.
    reached = {name: _reached(model, values, name, goal) for name, goal in goals.items()}
    return _packed(model, values, [(name, value, min(least[name], value)) for name, value in reached.items()])


def _packed(model: Model, values, aims) -> Packed:
    puts = _puts(model, values)
    return measure.packed(model.grid, puts, [values[half.index] for half in model.half],
                          measure.height(model.grid, puts), aims)


def _goal(model: Model, name: str):
    """Return the expression of an aim, in its units."""
    plain = {"length": model.half[0], "width": model.half[1], "height": model.height}
    return plain[name] if name in plain else {"balance": _balance, "runs": _runs, "station": _off_station}[name](model)


def _off_station(model: Model):
    """Return twice the distance of the farthest window's middle from its station, in grid lines."""
    off = model.cp.new_int_var(0, 8 * model.grid.length[1], "off station")
    for literal, twice_middle in model.windows:
        apart = twice_middle - round(2 * LINES * model.task.space.station)
        model.cp.add(off >= apart).only_enforce_if(literal)
        model.cp.add(off >= -apart).only_enforce_if(literal)
    return off


def _balance(model: Model):
    cp, grid = model.cp, model.grid
    unit = measure.unit_moment(grid)
    most = grid.length[1] + grid.width[1] + grid.height[1]
    steps = cp.new_int_var(0, 2 * most, "balance")
    moments = [sum(mass * (2 * box.at[axis] + box.size[axis]) for mass, box in zip(grid.mass, model.boxes))
               for axis in range(3)]
    cp.add(sum(_size_of(cp, moment, 2 * most * sum(grid.mass)) for moment in moments)
           <= unit * steps + measure.free_moment(grid))
    return steps


def _runs(model: Model):
    cp, (length, width) = model.cp, (model.grid.length[1], model.grid.width[1])
    steps, twice = cp.new_int_var(0, len(model.task.wires) * (length + width), "runs"), []
    for one, other in model.task.wires:
        for axis in (0, 1):
            a, b = model.boxes[one], model.boxes[other]
            apart = 2 * a.at[axis] + a.size[axis] - 2 * b.at[axis] - b.size[axis]
            twice.append(_size_of(cp, apart, 4 * (length + width)))
    cp.add(sum(twice) <= 2 * measure.RUN * steps)
    return steps


def _size_of(cp, expression, most: int):
    size = cp.new_int_var(0, most, "size")
    cp.add(size >= expression)
    cp.add(size >= -expression)
    return size


def _reached(model: Model, values, name: str, goal) -> int:
    """Return what an arrangement, given as the value of every variable, reaches in an aim, in its units."""
    puts = _puts(model, values)
    if name == "station":
        return values[goal.index]
    if name in ("length", "width"):
        return values[model.half[("length", "width").index(name)].index]
    return {"height": lambda: measure.height(model.grid, puts), "balance": lambda: measure.balance(model.grid, puts),
            "runs": lambda: measure.runs(model.task, puts)}[name]()


def _puts(model: Model, values) -> list[Put]:
    puts = []
    for stands, box in zip(model.grid.stands, model.boxes):
        stand = next(stand for stand, literal in zip(stands, box.chosen) if values[literal.index])
        on = next((place for place, literal in box.on.items() if values[literal.index]), None)
        puts.append(Put(stand, tuple(values[at.index] for at in box.at), on))
    return puts
