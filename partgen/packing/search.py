"""The search for the best arrangement, one aim after the other; the same task gives the same answer.

One worker, a fixed seed, and effort counted in the solver's own measure of work instead of seconds.
"""

from ortools.sat.python import cp_model

from partgen.packing.box import Packed, Spot, Task
from partgen.packing.grid import LINES
from partgen.packing.model import Model, build

BALANCE_STEP, RUN_STEP = 0.5, 1.0       # mm: finer is not worth the search
SEED = 7


def search(task: Task) -> Packed | None:
    """Return the best arrangement found for `task`; None where there is none, or none was found."""
    model = build(task)
    goals, solver = _goals(model), None
    aims = []
    for name, goal, step in goals:
        found = _best(model, goal, task.effort)
        if found is None:
            if solver is None:
                return None
            aims.append((name, solver.value(goal) * step, 0.0))     # nothing better in time: what stood before
            continue
        solver, bound = found
        aims.append((name, solver.value(goal) * step, bound * step))
        model.cp.add(goal <= solver.value(goal))
        _hint(model, solver)
    return _packed(model, solver, tuple(aims))


def _best(model: Model, goal, effort: float):
    """Return (solver, lowest value that `goal` may have) after the search, or None where nothing was found."""
    model.cp.minimize(goal)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = SEED
    solver.parameters.max_deterministic_time = effort
    status = solver.solve(model.cp)
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return None
    return solver, round(solver.best_objective_bound)


def _goals(model: Model):
    """Return (name, expression, mm a unit) of every aim, the weightiest first."""
    line = 1 / LINES
    goals = [("length", model.half[0], 2 * line), ("width", model.half[1], 2 * line), ("height", model.height, line),
             ("balance", _balance(model), BALANCE_STEP)]
    return goals + ([("runs", _runs(model), RUN_STEP)] if model.task.wires else [])


def _balance(model):
    """Return the centre of gravity's distance from the floor's middle along x, y and z, in BALANCE_STEP."""
    cp, mass = model.cp, model.grid.mass
    reach = 2 * sum(mass) * 2000 * LINES
    total = 0
    for axis in range(3):
        moment = sum(m * (2 * box.at[axis] + box.size[axis]) for m, box in zip(mass, model.boxes))
        if axis < 2:
            moment = _size_of(cp, moment, reach)
        total = total + moment
    steps = cp.new_int_var(0, 20_000, "balance")
    cp.add(total <= round(2 * sum(mass) * LINES * BALANCE_STEP) * steps)
    return steps


def _runs(model):
    """Return the length of all wires from middle to middle, along x and y, in RUN_STEP."""
    cp, steps = model.cp, model.cp.new_int_var(0, 100_000, "runs")
    twice = []
    for one, other in model.task.wires:
        for axis in (0, 1):
            a, b = model.boxes[one], model.boxes[other]
            twice.append(_size_of(cp, 2 * a.at[axis] + a.size[axis] - 2 * b.at[axis] - b.size[axis], 8000 * LINES))
    cp.add(sum(twice) <= round(2 * LINES * RUN_STEP) * steps)
    return steps


def _size_of(cp, expression, reach):
    size = cp.new_int_var(0, reach, "size")
    cp.add(size >= expression)
    cp.add(size >= -expression)
    return size


def _hint(model, solver):
    model.cp.clear_hints()
    for index in range(len(model.cp.proto.variables)):
        var = model.cp.get_int_var_from_proto_index(index)
        model.cp.add_hint(var, solver.value(var))


def _packed(model, solver, aims) -> Packed:
    spots = []
    for stands, box in zip(model.grid.stands, model.boxes):
        pose = next(stand.pose for stand, literal in zip(stands, box.chosen) if solver.value(literal))
        on = next((k for k, literal in box.on.items() if solver.value(literal)), None)
        spots.append(Spot(pose, *(solver.value(at) / LINES for at in box.at), on))
    length, width = (2 * solver.value(half) / LINES for half in model.half)
    return Packed(tuple(spots), length, width, solver.value(model.height) / LINES, aims)
