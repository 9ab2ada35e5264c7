"""The search for one aim: a short one over everything, many over a few boxes at a time, one for the proof.

One worker, fixed seeds, and effort counted in the solver's own measure of work instead of seconds: the same
model gives the same answer, whatever the machine is doing beside it.
"""

from random import Random

from ortools.sat.python import cp_model

SEED = 7
FIRST, PART, PROOF = 0.1, 0.025, 0.3    # share of the effort: for the first search, for each part, for the proof
ROUNDS, IDLE = 35, 15       # searches among a few boxes: in all, and in a row without gain
FREED = 5                   # boxes moved at a time
FOUND = (cp_model.OPTIMAL, cp_model.FEASIBLE)


def best(model, goal, start, least: int, effort: float):
    """Return the value of every variable where `goal` is lowest, and what it cannot go below.

    Args:
        model: the constraint model.
        goal: expression to be made small.
        start: values of an arrangement to start from, or None.
        least: a bound known beforehand.
        effort: how hard to search.

    Where nothing is found the values are None, and so is the bound if nothing can be found.
    """
    model.cp.minimize(goal)
    status, values, bound = _solve(model.cp, goal, start, FIRST * effort if len(model.boxes) > FREED else effort)
    if status == cp_model.INFEASIBLE:
        return None, None
    least = max(least, bound)
    if values is None and start is None:
        status, values, bound = _solve(model.cp, goal, None, effort)
        if values is None:
            return None, None if status == cp_model.INFEASIBLE else least
        least = max(least, bound)
    values = values or start
    if status == cp_model.OPTIMAL or _value(model, goal, values) <= least:
        return values, least
    values = _by_parts(model, goal, values, least, effort)
    return _proof(model, goal, values, least, effort)


def _by_parts(model, goal, values, least: int, effort: float):
    """Move a few boxes at a time while the others keep their stand and where they are to each other."""
    chance, idle = Random(SEED), 0
    for _ in range(ROUNDS):
        if idle == IDLE or _value(model, goal, values) <= least:
            break
        part = model.cp.clone()
        freed = set(chance.sample(range(len(model.boxes)), min(FREED, len(model.boxes))))
        _hold(part, model, values, freed)
        part.add(goal <= _value(model, goal, values) - 1)
        _, found, _ = _solve(part, goal, None, PART * effort)
        idle, values = (0, found) if found else (idle + 1, values)
    return values


def _hold(part, model, values, freed):
    for place, box in enumerate(model.boxes):
        if place not in freed:
            part.add_bool_and(literal for literal in box.chosen if values[literal.index])
    for pair, ways in model.apart.items():
        if not pair & freed:
            part.add_bool_and(way for way in ways if values[way.index])


def _proof(model, goal, values, least: int, effort: float):
    """Look for anything better; that there is nothing is the proof."""
    rest = model.cp.clone()
    rest.add(goal <= _value(model, goal, values) - 1)
    status, found, bound = _solve(rest, goal, None, PROOF * effort)
    if status == cp_model.INFEASIBLE:
        return values, _value(model, goal, values)
    return found or values, max(least, bound)


def _solve(cp, goal, start, effort: float):
    """Return the status, the value of every variable or None, and the bound of the goal."""
    cp.clear_hints()
    for index, value in enumerate(start or ()):
        cp.add_hint(cp.get_int_var_from_proto_index(index), value)
    solver = cp_model.CpSolver()
    settings = solver.parameters
    settings.num_workers, settings.random_seed, settings.max_deterministic_time = 1, SEED, effort
    # Measured on ten boxes: each of the three costs more time than it saves here.
    settings.cp_model_probing_level = settings.symmetry_level = settings.linearization_level = 0
    status = solver.solve(cp)
    found = list(solver.response_proto.solution) if status in FOUND else None
    return status, found, round(solver.best_objective_bound) if status != cp_model.INFEASIBLE else 0


def _value(model, goal, values) -> int:
    return values[goal.index]
