"""What no arrangement can beat: bounds that hold before anything is searched, and what follows from them.

Every box is grown by a share of what its faces need, so that grown boxes still do not overlap: half its
border, or of a plug's room the hard part, which no two plugs share. A line across the body then crosses
grown boxes that fit beside each other: how long a body must be to offer every box its length of such
lines is a linear programme (the bar relaxation of strip packing; textbook).
"""

from ortools.linear_solver import pywraplp

from partgen.packing.box import Task
from partgen.packing.grid import AXES, LINES, Grid, Stand, grid_of

MOST_BARS = 20_000      # beyond, the programme takes longer than it helps


def grown(grid: Grid, stand: Stand) -> tuple[int, ...]:
    """Return by how many lines each of the four upright faces may be moved out without two boxes meeting."""
    half = min(grid.border) // 2
    return tuple(max(half, min(stand.hard[face], stand.room[face] - half)) for face in range(4))


def footprint(grid: Grid, stand: Stand) -> tuple[int, int]:
    """Return length and width of a grown box."""
    more = grown(grid, stand)
    return tuple(stand.size[axis] + sum(more[face] for face in AXES[axis]) for axis in (0, 1))


def floor(grid: Grid, axis: int, side: int) -> int:
    """Return how much along `axis` a body of half length or width `side` offers to grown boxes."""
    beyond = [min(stand.wall[face] - grown(grid, stand)[face] for stands in grid.stands for stand in stands)
              for face in AXES[axis]]
    return 2 * side - sum(beyond)


def least_half(grid: Grid, axis: int, on_floor) -> int:
    """Return the least half length (`axis` 0) or half width (1) for the boxes that stand on the floor.

    `on_floor` holds their places; the other side of the floor is taken at its largest.
    """
    across = floor(grid, 1 - axis, (grid.length, grid.width)[1 - axis][1])
    prints = [sorted({footprint(grid, stand) for stand in grid.stands[place]}) for place in on_floor]
    alone = max((min(sum(stand.wall[face] for face in AXES[axis]) + stand.size[axis] for stand in stands)
                 for stands in grid.stands), default=0)
    together = _programme([[(size[axis], size[1 - axis]) for size in sizes] for sizes in prints], across)
    least = max(alone, together - floor(grid, axis, 0))
    return max((grid.length, grid.width)[axis][0], -(-least // 2))


def standing(task: Task) -> tuple[int, ...]:
    """Return the places of the boxes that must stand on the floor."""
    return tuple(place for place, box in enumerate(task.boxes) if task.levels < 2 or not box.climbs)


def shortest(task: Task) -> float:
    """Return a length [mm] that no arrangement of the task goes below."""
    return 2 * least_half(grid_of(task), 0, standing(task)) / LINES


def cover(model, on_floor):
    """Tell `model` that the grown boxes on the floor cover no more than the floor."""
    grid, covered = model.grid, []
    for place in on_floor:
        areas = [along * across for along, across in (footprint(grid, stand) for stand in grid.stands[place])]
        covered += [size * literal for size, literal in zip(areas, model.boxes[place].chosen)]
    across = floor(grid, 1, grid.width[1])
    model.cp.add(sum(covered) <= across * (2 * model.half[0] + floor(grid, 0, 0)))


def half_turn(model):
    """Where an arrangement turned round is one as well, look for only one of the two."""
    space, grid = model.task.space, model.grid
    if any(stand.pose.window or space.taken and stand.pose.feet for stands in grid.stands for stand in stands):
        return
    if all({_asks(stand) for stand in stands} == {_asks(stand, turned=True) for stand in stands}
           for stands in grid.stands):
        largest = max(range(len(grid.stands)), key=lambda place: min(
            stand.size[0] * stand.size[1] for stand in grid.stands[place]))
        box = model.boxes[largest]
        model.cp.add(2 * box.at[0] + box.size[0] >= 0)


def _asks(stand: Stand, turned: bool = False):
    order = (1, 0, 3, 2, 4, 5) if turned else range(6)
    faces = (tuple(values[face] for face in order) for values in (stand.room, stand.wall, stand.fixed))
    return (stand.size, *faces, stand.lift, stand.under)


def _programme(prints, across: int) -> int:
    """Return the length that lets every box, given as (along, across) of each print, cross its length of lines."""
    bars = _bars(prints, across)
    if not prints or bars is None:
        return 0
    solver = pywraplp.Solver.CreateSolver("GLOP")
    whole = [solver.Constraint(1.0, solver.infinity()) for _ in prints]
    total = solver.Objective()
    for bar in bars:
        length = solver.NumVar(0.0, solver.infinity(), "")
        total.SetCoefficient(length, 1.0)
        for place, print_ in bar:
            whole[place].SetCoefficient(length, 1.0 / prints[place][print_][0])
    total.SetMinimization()
    if solver.Solve() != pywraplp.Solver.OPTIMAL:
        return 0
    return int(total.Value() - 1e-4) + 1        # what lies between two lines needs the next one


def _bars(prints, across: int):
    """Return every set of (box, print) that a line across can cross; None if too many."""
    bars = [((), 0)]
    for place, sizes in enumerate(prints):
        bars += [((*bar, (place, k)), used + size[1]) for bar, used in bars
                 for k, size in enumerate(sizes) if used + size[1] <= across]
        if len(bars) > MOST_BARS:
            return None
    return [bar for bar, _ in bars if bar]
