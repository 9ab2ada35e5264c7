"""The search for one aim: a short one over everything, then questions that halve what is open, then many
over a few boxes at a time.

One worker, fixed seeds, and effort counted in the solver's own measure of work instead of seconds: the same
model gives the same answer, whatever the machine is doing beside it.
"""

from math import inf
from random import Random

from ortools.sat.python import cp_model

SEED = 7
FIRST, ASK, PART = 0.05, 0.4, 0.025     # share of the effort: for the first search, each question, each part
ROUNDS, IDLE = 30, 12       # searches among a few boxes: in all, and in a row without gain
FREED = 5                   # boxes moved at a time
SURE = 10.0                 # more than it takes to fill in what follows from the rest
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
    status, values, bound, _ = _solve(model.cp, goal, start, FIRST * effort if len(model.boxes) > FREED else effort)
    if status == cp_model.UNKNOWN and start is None:
        status, values, bound, _ = _solve(model.cp, goal, None, effort)
    if status == cp_model.INFEASIBLE:
        return None, None
    least = max(least, bound)
    if values is None and start is None:
        return None, least
    values = values or _completed(model, goal, start)
    if status == cp_model.OPTIMAL:
        return values, least
    values, least = _between(model, goal, values, least, effort)
    return _by_parts(model, goal, values, least, effort), least


def any_at_all(model, effort: float):
    """Return the value of every variable in any arrangement, and whether there is none for certain."""
    status, values, _, _ = _solve(model.cp, None, None, effort)
    return values, status == cp_model.INFEASIBLE


def _completed(model, goal, start):
    """Return the value of every variable where those that `start` has are as it says."""
    rest = model.cp.clone()
    for index, value in enumerate(start):
        rest.add(rest.get_int_var_from_proto_index(index) == value)
    return _solve(rest, goal, None, SURE)[1]


def _between(model, goal, values, least: int, effort: float):
    """Halve what is open between bound and value: ask for any arrangement at or below the middle.

    A plain question is answered far sooner than a search for the best proves the same; the nearer it is to
    the best, the longer it takes.
    """
    left, unknown = effort, inf
    while left > 0.0:
        value = _value(model, goal, values)
        most = int(min((least + value - 1) // 2, unknown - 1))
        if value <= least or unknown <= least:
            break
        if unknown < inf:
            most = int((unknown + value) // 2)
            if most >= value or most <= unknown:
                break
        rest = model.cp.clone()
        rest.clear_objective()
        rest.add(goal <= most)
        status, found, _, spent = _solve(rest, None, None, min(ASK * effort, left))
        left -= max(spent, 1e-3 * effort)
        if status == cp_model.INFEASIBLE:
            least = most + 1
        elif found:
            values = found
        else:
            unknown = most
    return values, least


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
        _, found, _, _ = _solve(part, goal, None, PART * effort)
        idle, values = (0, found) if found else (idle + 1, values)
    return values


def _hold(part, model, values, freed):
    for place, box in enumerate(model.boxes):
        if place not in freed:
            part.add_bool_and(literal for literal in box.chosen if values[literal.index])
    for pair, ways in model.apart.items():
        if not pair & freed:
            part.add_bool_and(way for way in ways if values[way.index])


def _solve(cp, goal, start, effort: float):
    """Return the status, the value of every variable or None, the bound of the goal, and the effort spent."""
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
    bound = round(solver.best_objective_bound) if goal is not None and status != cp_model.INFEASIBLE else 0
    return status, found, bound, solver.response_proto.deterministic_time


def _value(model, goal, values) -> int:
    return values[goal.index]
