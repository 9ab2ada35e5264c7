"""The packing as a constraint model: every arrangement that the rules in `box` allow, in whole grid lines.

Imports the solver, which takes half a second: import this file only where something has to be searched.
"""

from collections.abc import Sequence

from ortools.sat.python import cp_model

from partgen.packing.box import ANYWHERE, FACES, Task
from partgen.packing.grid import UPWARD, Way, grid_of
from partgen.packing.rules import Arrangement, Expression, Literal, Lying, tell

TURNED = (1, 0, 3, 2, 4, 5)     # FACES of what is turned round


class Constraints(cp_model.CpModel):
    """The solver's model, which takes the rules as constraints."""

    def hold(self, rule: Expression, *when: Literal) -> None:
        """Let `rule`, a comparison or a literal, hold where all literals of `when` do."""
        comparison = isinstance(rule, cp_model.BoundedLinearExpression)
        (self.add(rule) if comparison else self.add_bool_and([rule])).only_enforce_if(*when)

    def case(self, name: str, *rules: Expression) -> Literal:
        """Return a literal that holds only where all `rules` do."""
        literal = self.new_bool_var(name)
        for rule in rules:
            self.hold(rule, literal)
        return literal

    def some(self, literals: Sequence[Literal], *when: Literal) -> None:
        """Let one of `literals` hold where all of `when` do."""
        self.add_bool_or(literals).only_enforce_if(*when)


def build(task: Task) -> Arrangement:
    """Return the model of `task`."""
    cp, grid = Constraints(), grid_of(task)
    half = (cp.new_int_var(*grid.length, "half length"), cp.new_int_var(*grid.width, "half width"))
    model = Arrangement(cp, task, grid, half, cp.new_int_var(*grid.height, "height"), [])
    model.boxes += [_box(model, place) for place in range(len(task.boxes))]
    tell(model)
    _half_turn(model)
    return model


def _box(model: Arrangement, place: int) -> Lying:
    cp, grid, ways = model.cp, model.grid, model.grid.ways[place]
    chosen = [cp.new_bool_var(f"{place} lies {k}") for k in range(len(ways))]
    cp.add_exactly_one(chosen)
    reach = (grid.length[1], grid.width[1], grid.height[1])
    at = tuple(cp.new_int_var(-far if axis < UPWARD else 0, far, f"{axis} of {place}")
               for axis, far in enumerate(reach))
    climbs = model.task.levels > 1 and model.task.boxes[place].climbs
    upper = cp.new_bool_var(f"{place} on top") if climbs else None
    cp.hold(at[UPWARD] == by_way([way.lift for way in ways], chosen), *([] if upper is None else [~upper]))

    asked = zip(*((way.size, way.room, way.hard) for way in ways), strict=True)
    size, room, hard = (tuple(by_way(per_face, chosen) for per_face in zip(*values, strict=True)) for values in asked)
    return Lying(at, size, room, hard, chosen, upper)


def by_way(values: Sequence[int], chosen: Sequence[Literal]) -> Expression:
    """Return the value that goes with the chosen way to lie: a number where all are alike."""
    alike = len(set(values)) == 1
    return values[0] if alike else sum(value * literal for value, literal in zip(values, chosen, strict=True))


def _half_turn(model: Arrangement) -> None:
    """Where an arrangement turned round is one as well, look for only one of the two.

    Measured over tests/bench/bench_packing.py: a quarter of the solver's work (2.5 against 3.3 in its own measure).
    """
    space, grid = model.task.space, model.grid
    if any(box.at != ANYWHERE for box in model.task.boxes):
        return
    if any(way.orientation.window or space.taken and way.orientation.feet for ways in grid.ways for way in ways):
        return
    if all({_asks(way) for way in ways} == {_asks(way, TURNED) for way in ways} for ways in grid.ways):
        areas = [min(way.size[0] * way.size[1] for way in ways) for ways in grid.ways]
        box = model.boxes[areas.index(max(areas))]
        model.cp.add(2 * box.at[0] + box.size[0] >= 0)


def _asks(way: Way, order: Sequence[int] = range(6)) -> tuple[object, ...]:
    """Return what a way to lie asks for, its faces in an order."""
    plugs = tuple(face in way.orientation.plugs for face in FACES)
    return (way.size, *(tuple(values[face] for face in order) for values in (way.room, way.hard, way.wall, way.fixed,
                                                                             plugs)),
            way.lift, way.under)
