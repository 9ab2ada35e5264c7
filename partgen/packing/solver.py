"""The search for the best arrangement, one aim after the other: what each reached is held while the next is sought.

One worker, a fixed seed, and effort counted in the solver's own measure of work instead of seconds: the same task gives
the same answer, whatever the machine is doing beside it.
"""

from collections.abc import Sequence

from ortools.sat.python import cp_model

from partgen.packing import grid as grids
from partgen.packing.box import NoRoom, Packed, Spot, Task
from partgen.packing.grid import LINES, Grid, Put, down
from partgen.packing.model import build, by_way
from partgen.packing.rules import Arrangement, Expression

WEIGHT = {"length": 1.0, "width": 1.0, "height": 0.2, "balance": 0.2, "runs": 0.2, "station": 0.3, "wishes": 0.2}
"""How much of the effort each aim is worth."""
MOST = 1.6                  # effort on an aim of weight 1, however much is left
SEED = 7
HALVING = 100               # conflicts from one question "any below the middle of what is open?" to the next

Values = Sequence[int]
"""The value of every variable of a model, by its place there."""


def search(task: Task) -> Packed | NoRoom:
    """Return the best arrangement found for `task`, with what is proven about it."""
    model, left = build(task), task.effort
    if not task.aims:
        found, impossible, *_ = _solve(model, None, (), left)
        return _packed(model, found, ()) if found else NoRoom(impossible)
    values: Values = ()
    goals: dict[str, Expression] = {}
    least = {name: _least(task, model.grid, name) for name in task.aims}
    for name in task.aims:
        goals[name] = _goal(model, name)
        # Where the present arrangement meets an aim already, nothing is searched.
        if not values or name == "station" or _reached(model, values, name, goals[name]) > least[name]:
            better, impossible, bound, spent = _solve(model, goals[name], values, _share(task, name, left))
            left -= spent
            if not (better or values or impossible):    # any will do: that is found sooner
                better, impossible, _, spent = _solve(model, None, (), left)
                left -= spent
            values = better or values
            if not values:
                return NoRoom(impossible)
            least[name] = max(least[name], bound)
        reached = _reached(model, values, name, goals[name])
        if name == "length" and reached > down(task.longest / 2):
            return NoRoom(least[name] > down(task.longest / 2))
        model.cp.add(goals[name] <= reached)
    # A later search may have bettered an earlier aim by the way.
    met = {name: _reached(model, values, name, goal) for name, goal in goals.items()}
    return _packed(model, values, [(name, value, min(least[name], value)) for name, value in met.items()])


def _share(task: Task, name: str, left: float) -> float:
    """Return how much of the effort `left` the aim `name` may take: what the aims before it leave over goes to those
    behind."""
    open_ = task.aims[task.aims.index(name):]
    return min(MOST * WEIGHT[name], max(left, 0.0) * WEIGHT[name] / sum(WEIGHT[one] for one in open_))


def _least(task: Task, grid: Grid, name: str) -> int:
    """Return what no arrangement can beat in the aim `name`, in its steps."""
    return {"length": grid.length[0], "width": grid.width[0], "height": grids.least_height(grid),
            "balance": grids.least_balance(grid), "runs": grids.least_runs(task, grid)}.get(name, 0)


def _solve(model: Arrangement, goal: Expression | None, start: Values,
           effort: float) -> tuple[Values, bool, int, float]:
    """Look for the arrangement whose goal is lowest, from `start` on; for any at all where there is no goal.

    Returns the best values found, none where it found none; whether none can be; what the goal cannot go below; and
    the effort that it took.
    """
    cp = model.cp
    cp.clear_hints()
    for index, value in enumerate(start):
        cp.add_hint(cp.get_int_var_from_proto_index(index), value)
    if goal is not None:
        cp.minimize(goal)
    solver = cp_model.CpSolver()
    settings = solver.parameters
    settings.num_workers, settings.random_seed, settings.max_deterministic_time = 1, SEED, effort
    # Measured on ten boxes and on 130 wagons of up to four modules: each of the three costs more time than it saves
    # here, and without halving what is open one wagon in a hundred comes out metres long.
    settings.cp_model_probing_level = settings.symmetry_level = settings.linearization_level = 0
    settings.binary_search_num_conflicts = HALVING
    status = solver.solve(cp)
    found = status in (cp_model.OPTIMAL, cp_model.FEASIBLE)
    return (list(solver.response_proto.solution) if found else (), status == cp_model.INFEASIBLE,
            round(solver.best_objective_bound) if goal is not None and status != cp_model.INFEASIBLE else 0,
            solver.response_proto.deterministic_time)


def _goal(model: Arrangement, name: str) -> Expression:
    """Return the expression of an aim, in its steps."""
    sizes = {"length": model.half[0], "width": model.half[1], "height": model.height}
    return sizes[name] if name in sizes else {
        "balance": _balance, "runs": _runs, "station": _off_station, "wishes": _elsewhere}[name](model)


def _balance(model: Arrangement) -> Expression:
    cp, grid = model.cp, model.grid
    most = grid.length[1] + grid.width[1] + grid.height[1]
    steps = cp.new_int_var(0, 2 * most, "balance")
    moments = [sum(mass * (2 * box.at[axis] + box.size[axis]) for mass, box in zip(grid.mass, model.boxes, strict=True))
               for axis in range(3)]
    over = [_size_of(cp, 2 * box.at[0] + box.size[0], 2 * most, 2 * grid.carried) for box in model.boxes]
    hanging = sum(mass * beyond for mass, beyond in zip(grid.mass, over, strict=True))
    cp.add(sum(_size_of(cp, moment, 2 * most * sum(grid.mass)) for moment in moments) + hanging
           <= grid.twice_mass * (grids.BALANCE * steps + 1))
    return steps


def _runs(model: Arrangement) -> Expression:
    cp, most = model.cp, 8 * (model.grid.length[1] + model.grid.width[1])
    steps = cp.new_int_var(0, len(model.task.wires) * most, "runs")
    twice = []
    for one, other in model.task.wires:
        twice.append(cp.new_int_var(0, 2 * most, "run"))
        cp.some([cp.case("plugs", twice[-1] >= sum(_size_of(cp, start[axis] - stop[axis], most) for axis in (0, 1))
                         + start[2] + stop[2])
                 for start in _ends(model, one) for stop in _ends(model, other)])
    cp.add(sum(twice) <= 2 * grids.RUN * steps)
    return steps


def _ends(model: Arrangement, place: int) -> list[tuple[Expression, ...]]:
    """Return for each plug of a box where its cable leaves it along x and y, and its length, all twice."""
    box, ways = model.boxes[place], model.grid.ways[place]
    found = []
    for plug in zip(*(way.ends for way in ways), strict=True):
        x, y, long = (by_way(values, box.chosen) for values in zip(*plug, strict=True))
        found.append((2 * box.at[0] + x, 2 * box.at[1] + y, long))
    return found


def _size_of(cp: cp_model.CpModel, expression: Expression, most: int, beyond: int = 0) -> Expression:
    """Return by how much the size of `expression` is more than `beyond`."""
    size = cp.new_int_var(0, most, "size")
    cp.add(size >= expression - beyond)
    cp.add(size >= -expression - beyond)
    return size


def _off_station(model: Arrangement) -> Expression:
    """Return twice the distance of the farthest window's middle from its station, in grid lines."""
    off = model.cp.new_int_var(0, 8 * model.grid.length[1], "off station")
    for _, literal, (start, end) in model.windows:
        apart = start + end - round(2 * LINES * (model.task.space.station or 0.0))
        model.cp.add(off >= apart).only_enforce_if(literal)
        model.cp.add(off >= -apart).only_enforce_if(literal)
    return off


def _elsewhere(model: Arrangement) -> Expression:
    """Return how many boxes do not lie where they shall."""
    count = model.cp.new_int_var(0, len(model.wishes), "elsewhere")
    model.cp.add(count >= len(model.wishes) - sum(model.wishes))
    return count


def _reached(model: Arrangement, values: Values, name: str, goal: Expression) -> int:
    """Return what an arrangement, given as the value of every variable, reaches in an aim, in its steps."""
    if name == "runs":
        return grids.runs(model.task, _puts(model, values))
    if name == "wishes":
        return len(grids.elsewhere(model.task, _puts(model, values), [values[half.index] for half in model.half]))
    summed = {"height": grids.height, "balance": grids.balance}.get(name)
    return summed(model.grid, _puts(model, values)) if summed else values[goal.index]


def _packed(model: Arrangement, values: Values, aims: Sequence[tuple[str, int, int]]) -> Packed:
    """Return the arrangement in millimetres; `aims` holds (name, reached, bound) in steps of each aim."""
    puts = _puts(model, values)
    length, width = (2 * values[half.index] / LINES for half in model.half)
    spots = tuple(Spot(put.way.orientation, put.at[0] / LINES, put.at[1] / LINES, put.at[2] / LINES, put.on)
                  for put in puts)
    steps = {name: grids.STEP[name] / LINES for name, *_ in aims}
    return Packed(spots, length, width, grids.height(model.grid, puts) / LINES,
                  tuple((name, reached * steps[name], bound * steps[name]) for name, reached, bound in aims))


def _puts(model: Arrangement, values: Values) -> list[Put]:
    puts = []
    for ways, box in zip(model.grid.ways, model.boxes, strict=True):
        way = next(way for way, literal in zip(ways, box.chosen, strict=True) if values[literal.index])
        on = next((place for place, literal in box.on.items() if values[literal.index]), None)
        x, y, z = (values[at.index] for at in box.at)
        puts.append(Put(way, (x, y, z), on))
    return puts
